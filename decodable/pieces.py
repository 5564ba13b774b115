"""A long text that changes, cut into tokens piece by piece: what did not change is not cut again.

In goes a whole text; out come the same :class:`~decodable.text.Tokens` that :func:`~decodable.text.tokenize` gives.
Nothing in a token depends on what stands in another block, so a text may be cut wherever a new block is certain to
begin: in a plain text behind a blank line; in Markdown only before a line that begins with a letter or a quotation
mark, and not at all where something reaches over blank lines (fences, HTML, link definitions).
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from decodable.markdown import Block
from decodable.text import Tokens, Type, tokenize

# A piece ends behind a paragraph whose length leaves no rest: where pieces end depends on the paragraphs alone, so an
# edit moves no boundary but its own. Pieces of some six paragraphs cost least to cut and to join.
_EVERY = 6
# Code points in all pieces that are remembered: several novels.
_MOST = 8_000_000
_BLANK = re.compile(r"\n[^\S\n]*\n\s*")
_BEGINS = re.compile(r"[^\W\d_]|[\"'\u2018\u201c]")
_REACHES = re.compile(r"^ {0,3}(?:```|~~~|<|\[[^\]\n]*\]:)|\r", re.MULTILINE)
_LINE_END = re.compile(r"\n")


class Pieces:
    """Cuts texts into tokens and remembers the pieces."""

    def __init__(self) -> None:
        self._known: OrderedDict[tuple[str, bool], Tokens] = OrderedDict()
        self._size = 0
        self.cut = 0
        """How many code points were cut into tokens so far, over all texts."""

    def tokens(self, text: str, *, markdown: bool = False) -> Tokens:
        """As :func:`~decodable.text.tokenize` gives them; only ``types`` may stand in another order."""
        bounds = list(boundaries(text, markdown=markdown))
        if len(bounds) < 3:
            return self._piece(text, markdown)
        return joined(text, bounds, [self._piece(text[a:b], markdown) for a, b in pairwise(bounds)])

    def _piece(self, text: str, markdown: bool) -> Tokens:
        key = (text, markdown)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = tokenize(text, markdown=markdown)
            self.cut += len(text)
            self._size += len(text)
            while self._size > _MOST and len(self._known) > 1:
                (old, _), _ = self._known.popitem(last=False)
                self._size -= len(old)
        else:
            self._known.move_to_end(key)
        return found


def boundaries(text: str, *, markdown: bool) -> Iterator[int]:
    """Offsets at which pieces begin, from 0, and the end of the text."""
    yield 0
    if "\r" not in text and not (markdown and (text.startswith("---") or _REACHES.search(text))):
        before = 0
        for gap in _BLANK.finditer(text):
            size = gap.start() - before
            before = gap.end()
            if size % _EVERY == 0 and before < len(text) and gap.start() > 0:
                if markdown and not (text[before - 1] == "\n" and _BEGINS.match(text, before)):
                    continue
                yield before
    yield len(text)


def joined(text: str, bounds: Sequence[int], parts: Sequence[Tokens]) -> Tokens:
    """One table of tokens from those of the pieces of a text, which begin and end at ``bounds``."""
    numbers: dict[str, int] = {}
    types: list[Type] = []
    ids, firsts = [], []
    blocks: list[Block] = []
    for begin, part in zip(bounds, parts, strict=False):
        own = np.empty(len(part.types) + 1, np.int32)
        own[-1] = -1  # what is no type stays none
        for n, kind in enumerate(part.types):
            number = numbers.setdefault(kind.text, len(types))
            if number == len(types):
                types.append(kind)
            own[n] = number
        ids.append(own[part.type_id])
        # What stands before a piece's first block (-1) belongs to the last block of the piece before.
        firsts.append(part.block.astype(np.int64) + len(blocks))
        blocks += [replace(b, start=b.start + begin, end=b.end + begin) for b in part.blocks]
    sizes = [len(part) for part in parts]
    shift = np.repeat(np.array(bounds[: len(parts)], np.int32), sizes)
    lines = np.array([0, *(m.end() for m in _LINE_END.finditer(text))], dtype=np.int32)
    return Tokens(
        source=text,
        types=tuple(types),
        start=np.concatenate([p.start for p in parts]) + shift,
        end=np.concatenate([p.end for p in parts]) + shift,
        kind=np.concatenate([p.kind for p in parts]),
        type_id=np.concatenate(ids),
        block=np.concatenate(firsts).astype(np.int32),
        sentence_start=np.concatenate([p.sentence_start for p in parts]),
        capital=np.concatenate([p.capital for p in parts]),
        spaced=np.concatenate([p.spaced for p in parts]),
        blocks=tuple(blocks),
        lines=lines,
        front_matter=None,
    )
