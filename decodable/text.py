"""Text to tokens: in goes a text or a Markdown source, out come columns that cut up all of it.

The text is parted at white space into chunks, and each distinct one is cut once (:mod:`decodable.chunks`). All else is
arithmetic on columns. Only a quotation mark after an s needs its neighbours.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from decodable.chunks import (
    CLOSES,
    DOTS,
    END,
    LEAD,
    OPENS,
    QUOTE,
    Chunk,
    Cutter,
    Kind,
    TextRules,
    Type,
    key_of,
    load_text_rules,
)
from decodable.markdown import Block, Plain, plain
from decodable.resources import rules_dir

__all__ = ["Kind", "TextRules", "Tokens", "Type", "key_of", "load_text_rules", "tokenize"]

Ints = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

_PART = 1 << 20  # code points looked at together: bounds memory, and paces the progress report
_SPACE = re.compile(r"\s")
_LINE_END = re.compile(r"\r\n?|\n")


@dataclass(frozen=True, slots=True, eq=False)
class Tokens:
    """The tokens of a text, in order. Their spans partition the source: joined, they are it again.

    Columns have one entry a token; offsets count code points of ``source``.
    """

    source: str
    """The whole text as it was given."""
    types: tuple[Type, ...]
    """Unique by ``text``."""
    start: Ints
    """int32."""
    end: Ints
    """int32, exclusive. A word with markup inside (``S**a**m``) spans it."""
    kind: npt.NDArray[np.uint8]
    """uint8, a :class:`Kind`."""
    type_id: Ints
    """int32, index into ``types``; -1 for white space and for the markup of Markdown."""
    block: Ints
    """int32, index into ``blocks``; what stands between two has the first's; -1 before any."""
    sentence_start: Flags
    """bool, true for the first word of a sentence, or of speech within one."""
    capital: Flags
    """bool, the type's ``capital``."""
    spaced: Flags
    """bool, whether white space or the end of a block follows, as a reader sees it."""
    blocks: tuple[Block, ...]
    """Paragraphs parted by blank lines, or the blocks of Markdown; offsets into ``source``."""
    lines: Ints
    """int32, where each line begins."""
    front_matter: tuple[int, int] | None
    """Offsets of Markdown's front matter (it is in a token of markup), if there is some."""

    def __len__(self) -> int:
        return len(self.start)

    def word_indices(self) -> Ints:
        """The tokens that count as words, int32, shape (words,)."""
        return np.flatnonzero(self.kind <= Kind.SYMBOL).astype(np.int32)

    def text_of(self, i: int) -> str:
        """The source text of token ``i``, with the markup inside it."""
        return self.source[self.start[i] : self.end[i]]

    def line_column(self, i: int) -> tuple[int, int]:
        """Line and column where token ``i`` begins, from 1, in code points."""
        line, column = self.lines_columns(np.array([i])).tolist()[0]
        return line, column

    def lines_columns(self, indices: npt.NDArray[np.integer]) -> Ints:
        r"""The same for many, int32, shape (tokens, 2). \n, \r\n and \r end a line."""
        starts = self.start[indices]
        line = np.searchsorted(self.lines, starts, side="right")
        return np.stack([line, starts - self.lines[line - 1] + 1], axis=1).astype(np.int32)

    def sentences(self) -> Ints:
        """First token of each sentence and the one behind its last, int32, shape (sentences, 2).

        They partition the tokens; marks that stand right before its first word belong to it.
        """
        seen = np.flatnonzero(self.type_id >= 0)
        word = self.kind[seen] <= Kind.SYMBOL
        fresh = np.append(True, self.spaced[seen[:-1]])[: len(seen)]  # nothing stands right before
        begins = np.maximum.accumulate(np.where(fresh | word, np.arange(len(seen)), 0))
        first = np.flatnonzero(self.sentence_start[seen])
        marks = begins[np.maximum(first - 1, 0)]  # the first of the marks before it, or a word
        first = np.where(~fresh[first] & ~word[marks], marks, first)
        cuts = np.unique(np.concatenate([[0], seen[first][1:], [len(self)]]))
        return np.stack([cuts[:-1], cuts[1:]], axis=1).astype(np.int32)

    def doc_parts(self, first: int, last: int) -> tuple[list[str], list[bool], Ints]:
        """``words`` and ``spaces`` for a ``spacy.tokens.Doc`` of tokens ``first`` to ``last - 1``,
        one a word or mark of punctuation; and the index of each, int32."""
        span = slice(first, last)
        seen = (self.type_id[span] >= 0) & (self.kind[span] != Kind.MARKUP)
        indices = np.flatnonzero(seen) + first
        gaps = np.append(0, np.cumsum(self.spaced[span]))  # what is left out hands its space on
        spaces = gaps[np.append(indices[1:], last) - first] > gaps[indices - first]
        words = [self.types[number].text for number in self.type_id[indices].tolist()]
        return words, spaces.tolist(), indices.astype(np.int32)


def tokenize(
    text: str,
    *,
    markdown: bool = False,
    progress: Callable[[int, int], None] | None = None,
    rules: TextRules | None = None,
) -> Tokens:
    """Cut a text into tokens; any text will do.

    ``progress`` is called about once a million code points with how many are done, and of how
    many; ``rules`` stands in for the shipped ones.
    """
    visible = plain(text) if markdown else None
    lines = np.array([0, *(m.end() for m in _LINE_END.finditer(text))], dtype=np.int32)
    cutter = Cutter(rules or load_text_rules(rules_dir() / "text.toml"))
    starts, ids = _chunks(visible.text if visible else text, cutter, progress)
    rows = np.array(cutter.chunks, dtype=np.int32).reshape(-1, len(Chunk._fields))
    blocks, block = _blocks(visible, starts, starts + rows[ids, 0], lines)
    ids = _possessives(ids, block, rows)
    # Piece p of chunk c is row first[c] + p of the pieces.
    first, count = rows[ids, 1], rows[ids, 2]
    behind = np.cumsum(count, dtype=np.int32)
    piece = np.repeat(first + count - behind, count) + np.arange(count.sum(), dtype=np.int32)
    offset, size, type_id = np.array(cutter.pieces, dtype=np.int32).reshape(-1, 3).T
    start = np.repeat(starts, count) + offset[piece]
    end = start + size[piece]
    spaced = np.append(start[1:] > end[:-1], True)[: len(start)]
    block = np.repeat(block, count)
    type_id = type_id[piece]
    role, small = np.array(cutter.roles, dtype=np.int8).reshape(-1, 2).T
    used = np.bincount(type_id, minlength=len(cutter.types)) > 0  # some stem from the other reading
    types = tuple(cutter.types[number] for number in np.flatnonzero(used).tolist())
    kind = np.array([t.kind for t in cutter.types], dtype=np.uint8)[type_id]
    capital = np.array([t.capital for t in cutter.types], dtype=bool)[type_id]
    sentence = _sentence_starts(kind, role[type_id], small[type_id] > 0, spaced, block)
    type_id = (np.cumsum(used, dtype=np.int32) - np.int32(1))[type_id]
    if visible:
        start, end = visible.starts[start], visible.ends[end - 1]
    begins, ends = np.append(np.int32(0), end), np.append(start, np.int32(len(text)))
    gap = np.flatnonzero(ends > begins)  # what is left out stands before these tokens
    gap_kind = np.full(len(gap), Kind.SPACE, dtype=np.uint8)
    if visible:
        ink = np.append(0, np.cumsum(~_white(text)))
        gap_kind[ink[ends[gap]] > ink[begins[gap]]] = Kind.MARKUP
    tokens = Tokens(
        source=text,
        types=types,
        start=np.insert(start, gap, begins[gap]),
        end=np.insert(end, gap, ends[gap]),
        kind=np.insert(kind, gap, gap_kind),
        type_id=np.insert(type_id, gap, -1),
        block=np.insert(block, gap, np.append(np.int32(-1), block)[gap]),
        sentence_start=np.insert(sentence, gap, False),
        capital=np.insert(capital, gap, False),
        spaced=np.insert(spaced, gap, False),
        blocks=blocks,
        lines=lines,
        front_matter=visible.front_matter if visible else None,
    )
    for column in (getattr(tokens, field.name) for field in fields(tokens)):
        if isinstance(column, np.ndarray):
            column.flags.writeable = False
    return tokens


def _chunks(text: str, cutter: Cutter, progress: Callable[[int, int], None] | None) -> tuple[Ints, Ints]:
    """Where each chunk begins, and its number; new ones are made known to the cutter."""
    starts, ids = [np.zeros(0, dtype=np.int32)], [np.zeros(0, dtype=np.int32)]
    at = 0
    while at < len(text):
        space = _SPACE.search(text, at + _PART)
        part = text[at : space.start() if space else len(text)]
        words = part.split()
        cutter.learn(words)
        white = _white(part)
        first = np.flatnonzero(~white & np.append(True, white[:-1]))
        starts.append((first + at).astype(np.int32))
        ids.append(np.fromiter(map(cutter.ids.__getitem__, words), np.int32, len(words)))
        at += len(part)
        if progress:
            progress(at, len(text))
    return np.concatenate(starts), np.concatenate(ids)


def _white(text: str) -> Flags:
    """Which code points are white space, as ``str.split`` has it: bool, one a code point."""
    codes = np.frombuffer(text.encode("utf-32-le", "surrogatepass"), dtype=np.uint32)
    return _white_table()[np.minimum(codes, 0x3001)]


@lru_cache(maxsize=1)
def _white_table() -> Flags:
    return np.array([chr(code).isspace() for code in range(0x3002)], dtype=bool)  # the last: U+3000


def _blocks(visible: Plain | None, starts: Ints, ends: Ints, lines: Ints) -> tuple[tuple[Block, ...], Ints]:
    """The blocks of a text, in source offsets, and the block of each chunk."""
    if visible:
        firsts = [block.start for block in visible.blocks]
        blocks = tuple(
            replace(b, start=int(visible.starts[b.start]), end=int(visible.ends[b.end - 1])) for b in visible.blocks
        )
        return blocks, (np.searchsorted(firsts, starts, side="right") - 1).astype(np.int32)
    line = np.searchsorted(lines, starts, side="right")
    fresh = np.append(True, np.diff(line) > 1)[: len(starts)]  # a blank line before
    final = np.append(fresh[1:], True)[: len(starts)]
    spans = zip(starts[fresh].tolist(), ends[final].tolist(), strict=True)
    blocks = tuple(Block("paragraph", 0, start, end) for start, end in spans)
    return blocks, np.cumsum(fresh, dtype=np.int32) - np.int32(1)


def _possessives(ids: Ints, block: Ints, rows: Ints) -> Ints:
    """Decide each mark behind an s: the apostrophe of a possessive, or the end of a quotation.

    Where no single quotation mark is open in its block, it is an apostrophe. Where one is open, it
    is an apostrophe if a word follows it directly and a later mark ends the quotation before the
    next begins (*'I like the dogs' tails,' said Pip*); else it ends the quotation.
    """
    _, _, _, mark, last_mark, other, bare, reads = rows[ids].T
    unsure = np.flatnonzero(other >= 0)
    marked = np.flatnonzero(mark)
    last = np.searchsorted(marked, unsure, side="right")  # in the arrays below, which are padded
    owner = np.concatenate([[-1], block[marked], [-1]])
    inside = (owner[last] == block[unsure]) & (np.append(0, last_mark[marked])[last] == OPENS)
    closed = (owner[last + 1] == block[unsure]) & (np.append(mark[marked], 0)[last] == CLOSES)
    follows = bare & np.append(reads[1:], 0) & (np.append(block[1:], -1) == block)
    apostrophe = ~inside | (closed & (follows[unsure] > 0))
    # Of several that end the same quotation, the first does.
    ending = np.flatnonzero(~apostrophe)
    _, earliest = np.unique(last[ending], return_index=True)
    apostrophe[:] = True
    apostrophe[ending[earliest]] = False
    ids = ids.copy()
    ids[unsure[apostrophe]] = other[unsure[apostrophe]]
    return ids


def _sentence_starts(
    kind: npt.NDArray[np.uint8],
    role: npt.NDArray[np.int8],
    small: Flags,
    spaced: Flags,
    block: Ints,
) -> Flags:
    """Which tokens begin a sentence, told by the marks between a word and the one before it.

    A word does at the start of a block; with a capital (or a digit, or without case) after a full
    stop, ! ? or dots, and right behind a quotation mark that follows a comma, colon or dash; in
    small letters only after a full stop, ! or ? with nothing else (not *"Stop!" said Pip*).
    """
    words = np.flatnonzero(kind <= Kind.SYMBOL)
    before = np.append(-1, words[:-1])[: len(words)]

    def between(what: int) -> Flags:
        count = np.append(np.int32(0), np.cumsum(role == what, dtype=np.int32))
        found: Flags = count[words] > count[before + 1]
        return found

    ended, dots, quote, lead = map(between, (END, DOTS, QUOTE, LEAD))
    speech = lead & (role[words - 1] == QUOTE) & ~spaced[words - 1]
    fresh = block[words] != block[before]
    fresh[:1] = True
    start = np.where(small[words], ended & ~(dots | quote | lead), ended | dots | speech)
    out = np.zeros(len(kind), dtype=bool)
    out[words] = fresh | start
    return out
