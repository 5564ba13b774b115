"""Text to tokens: in goes a text or a Markdown source, out come columns that cut up all of it.

The text is parted at white space into chunks, and each *distinct* chunk is looked at once: spaCy's
tokenizer finds addresses and emoticons in it, the rest is cut by what its characters are, so that
*can't* and *boys'* stay whole and *daisy-chain* and *_very_* come apart, and each piece gets a kind
and a key. All else is arithmetic on columns. Only a quotation mark after an s needs its neighbours.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from enum import IntEnum
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from decodable.markdown import Block, Plain, plain
from decodable.resources import rules_dir
from decodable.rules import nearest, read_toml

Ints = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

_PART = 1 << 20  # code points looked at together: bounds memory, and paces the progress report
_LONG = 100  # longest chunk that spaCy sees: its time grows with the square of the length
_SPACE = re.compile(r"\s")
_LINE_END = re.compile(r"\r\n?|\n")
_APOSTROPHES = "'\u2019\u02bc\u2018\u201b\uff07\u2032`\u00b4"
_STRAIGHT = {ord(mark): "'" for mark in _APOSTROPHES}
_OPENING, _CLOSING = "'\u2018\u201b`", "'\u2019\u00b4"  # as quotation marks
_CLASSES = {  # characters whose class is not that of their Unicode category
    **dict.fromkeys(_APOSTROPHES, "'"), **dict.fromkeys('"\u201e\u201a', '"'), "*": "_", "_": "_",
    "!": "!", "?": "!", "\u203d": "!", ".": ".", "\u2026": "e", ",": ",", ":": ":", "/": "/",
    "\u2044": "/", "\u2212": "-", "\u20e3": "k",
}  # fmt: skip
_CATEGORIES = {
    "Lu": "A", "Lt": "A", "L": "a", "M": "m", "Cf": "m", "N": "9", "Pd": "-", "Pi": '"', "Pf": '"',
    "Ps": "(", "Pe": "(", "S": "s",
}  # fmt: skip
_WORD = re.compile(r"[aA][aAm]*(?:'m*[aA][aAm]*)*")
_PIECE = re.compile(  # over classes: A a letters, m marks, 9 digits, $ % & symbols, k keycap ...
    rf"""(?xs)
    (?P<picture> [9_$]m*k | s[sm]* )
  | (?P<numeral> '99a(?![aAm9']) | [$]?9[9m]*(?:[.:/]9+|,999(?!9))*(?:'?[aA]{{1,3}}(?![aAm9]))?%? )
  | (?P<dotted> (?<![aA9m'])
        (?:(?:a\.){{2,}}(?:a(?![aAm']))? | (?:A\.){{2,}}(?:A(?![aAm']))? | (?:a\.a|A\.A)(?![aAm'.]))
        (?:'a(?![aAm]))? )
  | (?P<word> {_WORD.pattern} )
  | (?P<symbol> [$%&](?![$%&]) ) | (?P<quote> ['"(] ) | (?P<mark> _+ ) | (?P<dots> e[.e]*|\.[.e]+ )
  | (?P<end> !+|\. ) | (?P<lead> -+|[,:] ) | (?P<other> [$%&]+|. )
    """
)
_READ = frozenset(["numeral", "dotted", "word", "symbol", "address"])  # the other groups are silent
_ROMAN = re.compile(r"(?=..)M{0,4}(?:CM|CD|D?C{0,3})(?:XC|XL|L?X{0,3})(?:IX|IV|V?I{0,3})")
_END, _DOTS, _QUOTE, _LEAD = 1, 2, 3, 4  # what a piece means for the start of a sentence
_ROLES = {"end": _END, "dots": _DOTS, "quote": _QUOTE, "lead": _LEAD}
_OPENS, _CLOSES = 1, 2  # what a single quotation mark does
_TABLES = (
    *("symbols", "numerals", "abbreviations", "abbreviations_with_stop"),
    *("initialisms", "apostrophes", "addresses"),
)
_Pieces = list[tuple[int, int, str]]  # start and end in the chunk, and group
_Atoms = dict[int, tuple[int, str]]  # start to end and group of what stays whole


class Kind(IntEnum):
    """What a token is. All up to ``SYMBOL`` are read, and count as words of the text."""

    WORD = 0
    NUMERAL = 1
    INITIALISM = 2
    ABBREVIATION = 3
    SYMBOL = 4
    PUNCTUATION = 5
    SPACE = 6
    MARKUP = 7


@dataclass(frozen=True, slots=True)
class Type:
    """All tokens that look alike."""

    text: str
    """As it stands in the text, without markup inside."""
    key: str
    """What is looked up: small letters, composed, ligatures unfolded, apostrophes ``'``, without
    soft hyphens, zero-width characters and the stop of an abbreviation."""
    kind: Kind
    """Never ``SPACE``."""
    capital: bool
    """Whether its first letter is a capital."""
    spoken: str
    """How an abbreviation or symbol is read, where the rules say; else empty."""


@dataclass(frozen=True, slots=True)
class TextRules:
    """The facts of ``rules/text.toml``; its comments say more."""

    symbols: Mapping[str, str]
    """Symbol to its spoken form."""
    before: frozenset[str]
    """Symbols that join the numeral behind them."""
    after: frozenset[str]
    """Symbols that join the numeral in front of them."""
    not_roman: frozenset[str]
    """Capitals that look like a Roman numeral and are none."""
    abbreviations: Mapping[str, str]
    """Every accepted form, stop included, to its spoken form."""
    initialisms: frozenset[str]
    """Those that no rule finds."""
    letters: frozenset[str]
    """Single capitals that are words."""
    stopped_letters: frozenset[str]
    """Those that are words even before a full stop."""
    vowels: frozenset[str]
    """Capital vowel letters."""
    noises: frozenset[str]
    """Words in capitals without a vowel letter."""
    apostrophes: frozenset[str]
    """Words that begin or end with an apostrophe."""
    endings: tuple[str, ...]
    """Of web addresses."""


@lru_cache(maxsize=4)
def load_text_rules(path: Path) -> TextRules:
    """Read the rules; raises :class:`FaultsError` with every fault as ``file:line: what``."""
    file = read_toml(path)
    for name in (name for name in file.data if name not in (*_TABLES, "title")):
        line = file.line_of(name)
        file.fault(line, f"unknown entry {name!r}{nearest(name, _TABLES)}")
    for name in _TABLES:
        if not isinstance(file.data.get(name), dict):
            file.fault(1, f"expected a table [{name}], got {file.data.get(name)!r}")

    def table(name: str) -> dict[str, Any]:
        found = file.data.get(name)
        return found if isinstance(found, dict) else {}

    def fault(name: str, key: str, expected: str) -> None:
        line = file.line_of(key, "=", start=(file.header_lines(name) or [1])[0])
        file.fault(line, f"expected {expected}, got {table(name).get(key)!r}")

    def spoken(name: str) -> dict[str, str]:
        for key, value in table(name).items():
            if not isinstance(value, str):
                fault(name, key, f"how {key!r} is read, in quotes")
        return {key: str(value) for key, value in table(name).items()}

    def words(name: str, key: str) -> list[str]:
        found = table(name).get(key, [] if name not in file.data else None)
        if isinstance(found, list) and all(isinstance(word, str) for word in found):
            return found
        fault(name, key, f"a list of words, each in quotes, as {key} in [{name}]")
        return []

    bare = spoken("abbreviations")
    bare |= {key.upper(): value for key, value in bare.items() if key[:1].isupper()}
    stopped = bare | spoken("abbreviations_with_stop")
    rules = TextRules(
        symbols=spoken("symbols"),
        before=frozenset(words("numerals", "before")),
        after=frozenset(words("numerals", "after")),
        not_roman=frozenset(words("numerals", "not_roman")),
        abbreviations=bare | {f"{key}.": value for key, value in stopped.items()},
        initialisms=frozenset(words("initialisms", "listed")),
        letters=frozenset(words("initialisms", "words")),
        stopped_letters=frozenset(words("initialisms", "words_with_stop")),
        vowels=frozenset(words("initialisms", "vowels")),
        noises=frozenset(words("initialisms", "noises")),
        apostrophes=frozenset(words("apostrophes", "words")),
        endings=tuple(words("addresses", "endings")),
    )
    file.check()
    return rules


def key_of(text: str) -> str:
    """The form under which a word is looked up; see :attr:`Type.key`."""
    key = _normal(text).lower()
    return key if key.isascii() else unicodedata.normalize("NFC", key)


def _normal(text: str) -> str:
    """Composed, ligatures unfolded, apostrophes straight, what has no width left out."""
    if not text.isascii():
        text = text.replace("\u00b4", "'")  # NFKC would make it a space and an accent
        kept = (c for c in text if unicodedata.category(c) != "Cf" and not "\ufe00" <= c <= "\ufe0f")
        text = unicodedata.normalize("NFKC", "".join(kept))
    return text.translate(_STRAIGHT)


class _Classes(dict[int, str]):
    """Code point to the class that ``_PIECE`` sees, worked out when first met."""

    def __init__(self, rules: TextRules) -> None:
        symbols = dict.fromkeys(rules.symbols, "&") | dict.fromkeys(rules.before, "$")
        known = symbols | dict.fromkeys(rules.after, "%") | _CLASSES
        super().__init__({ord(char): sort for char, sort in known.items()})

    def __missing__(self, code: int) -> str:
        category = unicodedata.category(chr(code))
        found = _CATEGORIES.get(category) or _CATEGORIES.get(category[0], "p")
        return self.setdefault(code, found)


class _Chunk(NamedTuple):
    """One distinct chunk: a row of columns."""

    size: int  # code points
    first: int  # its first piece
    pieces: int  # how many
    mark: int  # what its first single quotation mark does: _OPENS, _CLOSES or 0
    last_mark: int  # and its last
    other: int  # the chunk that it is if a mark behind an s is an apostrophe, or -1
    bare: bool  # that mark ends it
    reads: bool  # its first piece is read


class _Cutter:
    """Cuts each distinct chunk into pieces; ``ids`` gives a chunk its number."""

    def __init__(self, rules: TextRules) -> None:
        self.ids: dict[str, int] = {}
        self.chunks: list[_Chunk] = []
        self.pieces: list[tuple[int, int, int]] = []  # start in the chunk, size, type
        self.types: list[Type] = []
        self.roles: list[tuple[int, bool]] = []  # of types; and whether the first letter is small
        self._rules = rules
        self._type_ids: dict[str, int] = {}
        self._classes = _Classes(rules)
        endings = "|".join(map(re.escape, rules.endings))
        self._address = re.compile(
            r"(?:https?://|www\.)\S+|[\w.+-]+@[\w-]+(?:\.[\w-]+)+"
            rf"|(?:[\w-]+\.)+(?:{endings})(?:/\S*)?",
            re.IGNORECASE,
        )

    def learn(self, chunks: Iterable[str]) -> None:
        """Take in the chunks that are new."""
        fresh = [chunk for chunk in dict.fromkeys(chunks) if chunk not in self.ids]
        # spaCy can't take lone surrogates, which are not printable, nor long chunks in good time.
        asked = [c for c in fresh if not _letters(c) and len(c) <= _LONG and c.isprintable()]
        atoms = self._atoms(asked)
        for chunk in fresh:
            pieces, unsure = self._cut(chunk, atoms.get(chunk, {}), possessive=False)
            other = -1
            if unsure:
                others, _ = self._cut(chunk, atoms.get(chunk, {}), possessive=True)
                other = self._store(chunk, others, set(), -1)
            self.ids[chunk] = self._store(chunk, pieces, unsure, other)

    def _atoms(self, chunks: list[str]) -> dict[str, _Atoms]:
        """spaCy's tokens that stay whole in each chunk: emoticons and addresses."""
        atoms: dict[str, _Atoms] = {}
        if not chunks:
            return atoms
        tokenizer = _tokenizer()
        doc = tokenizer(" ".join(chunks))
        orth, length, space = doc.to_array(["ORTH", "LENGTH", "SPACY"]).T  # uint64
        kinds, which = np.unique(orth, return_inverse=True)
        groups: list[str] = []
        for text in (doc.vocab.strings[kind] for kind in kinds.tolist()):
            smiles = len(text) > 1 and text[0] in ":;<" and text in tokenizer.rules
            groups.append("face" if smiles else "address" if self._address.fullmatch(text) else "")
        ends = np.cumsum(length + space) - space
        owners = np.array([len(chunk) + 1 for chunk in chunks]).cumsum()
        for hit in np.flatnonzero(np.array([group != "" for group in groups])[which]).tolist():
            end, size = int(ends[hit]), int(length[hit])
            owner = int(np.searchsorted(owners, end))
            chunk = chunks[owner]
            end -= int(owners[owner]) - len(chunk) - 1
            atoms.setdefault(chunk, {})[end - size] = end, groups[which[hit]]
        return atoms

    def _cut(self, chunk: str, atoms: _Atoms, *, possessive: bool) -> tuple[_Pieces, set[int]]:
        """The pieces of a chunk; and where a mark stands that may close a quotation or else be the
        apostrophe of a possessive (``boys'``), which ``possessive`` decides."""
        if _letters(chunk):
            return [(0, len(chunk), "word")], set()
        shape = chunk.translate(self._classes)
        known = self._rules.apostrophes
        pieces: _Pieces = []
        unsure: set[int] = set()
        at = 0
        while at < len(chunk):
            later = [start for start in atoms if start > at] if atoms else ()
            limit = min(later, default=len(chunk))
            found = _PIECE.match(shape, at, limit)
            assert found is not None  # its last alternative takes anything
            end, group = atoms.get(at, (found.end(), str(found.lastgroup)))
            if group == "quote" and (word := _WORD.match(shape, at + 1)) and shape[at] == "'":
                for stop in (min(word.end() + 1, len(chunk)), word.end()):  # 'n' before 'n
                    if key_of(chunk[at:stop]) in known:
                        end, group = stop, "word"
                        break
            elif group == "word" and shape.startswith("'", end):
                if key_of(chunk[at : end + 1]) in known:
                    end += 1
                elif chunk[end - 1] in "sS" and shape[at - 1 : at] != "'":
                    unsure.add(end)
                    end += possessive
            elif group == "word" and shape.startswith(".", end) and self._stopped(chunk, at, end):
                end += 1
            pieces.append((at, end, group))
            at = end
        return pieces, unsure

    def _stopped(self, chunk: str, at: int, end: int) -> bool:
        """Whether the full stop behind a word belongs to it, as in *Mr.* or the initial *J.*"""
        if end - at > 1:
            known = chunk[at : end + 1] in self._rules.abbreviations
        else:
            known = chunk[at].isupper() and chunk[at] not in self._rules.stopped_letters
        return known and not chunk.startswith("..", end) and chunk[at - 1 : at] not in ("-", ".")

    def _store(self, chunk: str, pieces: _Pieces, unsure: set[int], other: int) -> int:
        """Add a chunk and its pieces; its number."""
        read = [False, *(group in _READ for _, _, group in pieces), False]
        marks: list[int] = []
        for n, (start, end, group) in enumerate(pieces):
            if group == "quote" and start not in unsure:
                if chunk[start] in _OPENING and read[n + 2] and not read[n]:
                    marks.append(_OPENS)
                elif chunk[start] in _CLOSING and n:
                    marks.append(_CLOSES)
            self.pieces.append((start, end - start, self._type_id(chunk[start:end], group)))
        first = len(self.pieces) - len(pieces)
        mark, last_mark = (marks[0], marks[-1]) if marks else (0, 0)
        bare = len(chunk) - 1 in unsure
        row = _Chunk(len(chunk), first, len(pieces), mark, last_mark, other, bare, read[1])
        self.chunks.append(row)
        return len(self.chunks) - 1

    def _type_id(self, text: str, group: str) -> int:
        """The number of a type, which is new if its text is."""
        number = self._type_ids.setdefault(text, len(self.types))
        if number == len(self.types):
            kind = self._kind(text, group)
            key = key_of(text) if group in ("word", "dotted") else text
            if kind in (Kind.ABBREVIATION, Kind.INITIALISM):
                key = key.removesuffix(".")
            rules = self._rules
            spoken = rules.abbreviations.get(text, "") or rules.symbols.get(text, "")
            letter = next(filter(str.isalpha, text), "")
            self.types.append(Type(text, key, kind, letter.isupper(), spoken))
            self.roles.append((_ROLES.get(group, 0), letter.islower()))
        return number

    def _kind(self, text: str, group: str) -> Kind:
        if group in ("word", "dotted"):
            return self._word_kind(text, dotted=group == "dotted")
        if group in ("symbol", "address"):
            return Kind.SYMBOL
        if group == "numeral":
            return Kind.NUMERAL
        return Kind.MARKUP if group == "mark" else Kind.PUNCTUATION

    def _word_kind(self, text: str, *, dotted: bool) -> Kind:
        """An abbreviation, initialism or Roman numeral, or else a word."""
        rules = self._rules
        if text in rules.abbreviations:
            return Kind.ABBREVIATION
        if dotted or text in rules.initialisms:
            return Kind.INITIALISM
        if text.islower():
            return Kind.WORD
        whole = _normal(text)
        base = re.sub(r"'?s$", "", whole)  # TVs, TV's
        if base in rules.initialisms:
            return Kind.INITIALISM
        if not base.isupper() or not base.isascii():
            return Kind.WORD
        if len(base) < 3 and len(base.rstrip(".")) == 1:  # a letter: B, J., B's; but not As
            letter = whole != base + "s" and whole not in rules.letters
            return Kind.INITIALISM if letter else Kind.WORD
        if _ROMAN.fullmatch(base) and base not in rules.not_roman:
            return Kind.NUMERAL
        noise = base in rules.noises or re.search(r"(.)\1\1", base)
        if noise or not rules.vowels.isdisjoint(base):
            return Kind.WORD
        return Kind.INITIALISM


def _letters(chunk: str) -> bool:
    """Whether a chunk is one word, whatever a tokenizer says."""
    return chunk.isascii() and chunk.isalpha()


@lru_cache(maxsize=1)
def _tokenizer() -> Any:
    import spacy  # half a second: only when there is a text to cut

    return spacy.blank("en").tokenizer


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
    cutter = _Cutter(rules or load_text_rules(rules_dir() / "text.toml"))
    starts, ids = _chunks(visible.text if visible else text, cutter, progress)
    rows = np.array(cutter.chunks, dtype=np.int32).reshape(-1, len(_Chunk._fields))
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


def _chunks(text: str, cutter: _Cutter, progress: Callable[[int, int], None] | None) -> tuple[Ints, Ints]:
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
    inside = (owner[last] == block[unsure]) & (np.append(0, last_mark[marked])[last] == _OPENS)
    closed = (owner[last + 1] == block[unsure]) & (np.append(mark[marked], 0)[last] == _CLOSES)
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

    ended, dots, quote, lead = map(between, (_END, _DOTS, _QUOTE, _LEAD))
    speech = lead & (role[words - 1] == _QUOTE) & ~spaced[words - 1]
    fresh = block[words] != block[before]
    fresh[:1] = True
    start = np.where(small[words], ended & ~(dots | quote | lead), ended | dots | speech)
    out = np.zeros(len(kind), dtype=bool)
    out[words] = fresh | start
    return out
