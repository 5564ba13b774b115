"""Pairs of words that differ in one sound: minimal pairs, and pairs for letters that children confuse (b and d).

In go the words of a reader; out come :class:`Pair` values, the clearest first, each word once for a contrast.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from decodable.errors import DecodableError
from decodable.word_links import CHANGE, Confusable, Link, Step, WordLinks, links_of
from decodable.words import WordIndex

_PLACES = ("first", "middle", "last")


@dataclass(frozen=True, slots=True)
class Pair:
    """Two words that differ in one grapheme and one sound."""

    first: str
    second: str
    link: Link
    """What changes from the first to the second, and where."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"first": self.first, "second": self.second, "link": self.link.to_dict()}


@dataclass(frozen=True, slots=True)
class Contrast:
    """Pairs for two correspondences that children confuse."""

    between: tuple[str, str]
    """Phrases of sequences; empty texts for pairs of any kind."""
    reason: str
    """Why they are confused; empty where somebody asked."""
    pairs: tuple[Pair, ...]

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"between": list(self.between), "reason": self.reason, "pairs": [p.to_dict() for p in self.pairs]}


def contrasts(index: WordIndex, *, limit: int = 8, place: str = "") -> tuple[Contrast, ...]:
    """For every pair of letters that children confuse and that the reader can read in words: pairs of words."""
    found = (
        Contrast(c.between, c.reason, pairs(index, c.between, limit=limit, place=place)) for c in confusables(index)
    )
    return tuple(contrast for contrast in found if contrast.pairs)


def confusables(index: WordIndex) -> tuple[Confusable, ...]:
    """What ``rules/chains.toml`` says that children confuse."""
    return links_of(index.table).rules.confusables


def pairs(index: WordIndex, between: Sequence[str] = (), *, limit: int = 0, place: str = "") -> tuple[Pair, ...]:
    """Pairs of words that a reader can read, the clearest first.

    Args:
        index: the reader's words.
        between: two phrases of a sequence, of which the first word has the one and the second the other; empty: any.
        limit: at most so many; 0: all.
        place: where they differ: first, middle, last.
    """
    if place and place not in _PLACES:
        raise DecodableError(f"A place is first, middle or last, not {place!r}.")
    if between and len(between) != 2:
        raise DecodableError(f"A contrast is between two patterns, such as b and d, not {len(between)}.")
    wanted = [frozenset(index.phrases.parse(text).patterns) for text in between]
    links = links_of(index.table)
    open_ = links.fit & (index.sounded <= index.step)
    numbers = np.flatnonzero(open_).tolist()
    worth = index.clearness + links.rules.points["inflected"] * links.inflected
    found: list[tuple[float, str, int, Step]] = []
    for number in numbers:
        if wanted and not any(unit.pattern in wanted[0] for unit in links.units[number]):
            continue  # spares the search for its links
        for step in links.links(number):
            there = step.how == CHANGE and open_[step.to] and place in ("", step.place)
            if there and _asked(links, number, step, wanted):
                points = float(min(worth[number], worth[step.to]))
                found.append((-points, links.words[number], number, step))
    out: list[Pair] = []
    for number, step in _spread(sorted(found, key=lambda f: (f[0], f[1], f[3].to))):
        out.append(Pair(links.words[number], links.words[step.to], links.link(number, step)))
        if len(out) == limit:
            break
    return tuple(out)


def _asked(links: WordLinks, number: int, step: Step, wanted: Sequence[frozenset[str]]) -> bool:
    old, new = links.units[number][step.at], links.units[step.to][step.at]
    if not wanted:
        return number < step.to
    return old.pattern in wanted[0] and new.pattern in wanted[1]


def _spread(found: Sequence[tuple[float, str, int, Step]]) -> Iterator[tuple[int, Step]]:
    """Pairs in order, each word once."""
    seen: Counter[int] = Counter()
    for _, _, number, step in found:
        if not seen[number] and not seen[step.to]:
            seen[number] = seen[step.to] = 1
            yield number, step
