"""Pairs of words that differ in one sound: minimal pairs, and pairs for letters that children confuse (b and d).

In go the words of a reader; out come :class:`Pair` values, the clearest first, each word once for a contrast.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from decodable.errors import DecodableError
from decodable.word_links import CHANGE, Link, Step, WordLinks, links_of
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
    asked = links_of(index.table).rules.confusables
    found = _pairs(index, [c.between for c in asked], limit, place)
    return tuple(Contrast(c.between, c.reason, made) for c, made in zip(asked, found, strict=True) if made)


def pairs(index: WordIndex, between: Sequence[str] = (), *, limit: int = 0, place: str = "") -> tuple[Pair, ...]:
    """Pairs of words that a reader can read, the clearest first.

    Args:
        index: the reader's words.
        between: two phrases of a sequence, of which the first word has the one and the second the other; empty: any.
        limit: at most so many; 0: all.
        place: where they differ: first, middle, last.
    """
    if between and len(between) != 2:
        raise DecodableError(f"A contrast is between two patterns, such as b and d, not {len(between)}.")
    return _pairs(index, [tuple(between)], limit, place)[0]


def _pairs(index: WordIndex, asked: Sequence[tuple[str, ...]], limit: int, place: str) -> list[tuple[Pair, ...]]:
    """Pairs for each contrast asked for, in one pass over all links; a contrast without phrases admits any pair."""
    if place and place not in _PLACES:
        raise DecodableError(f"A place is first, middle or last, not {place!r}.")
    wanted: dict[tuple[str, str], list[int]] = {}
    starting: set[str] = set()
    for number, between in enumerate(asked):
        if between:
            old, new = (index.phrases.parse(text).patterns for text in between)
            starting |= set(old)
            for pair in product(old, new):
                wanted.setdefault(pair, []).append(number)
    everything = [number for number, between in enumerate(asked) if not between]
    found: list[list[tuple[float, int, Step]]] = [[] for _ in asked]
    links = links_of(index.table)
    open_ = (links.fit & (index.sounded <= index.step)).tolist()
    worth = (index.clearness + links.rules.points["inflected"] * links.inflected).tolist()
    for word in (n for n, is_open in enumerate(open_) if is_open):
        if not everything and starting.isdisjoint(unit.pattern for unit in links.units[word]):
            continue
        for step in links.links(word):
            if step.how != CHANGE or not open_[step.to] or place not in ("", step.place):
                continue
            old_new = links.units[word][step.at].pattern, links.units[step.to][step.at].pattern
            for number in (*wanted.get(old_new, ()), *(everything if word < step.to else ())):
                found[number].append((-min(worth[word], worth[step.to]), word, step))
    return [tuple(_spread(links, sorted(rows), limit)) for rows in found]


def _spread(links: WordLinks, rows: Sequence[tuple[float, int, Step]], limit: int) -> Iterator[Pair]:
    """Pairs in order, each word once, at most so many."""
    seen: set[int] = set()
    given = 0
    for _, word, step in rows:
        if seen.isdisjoint((word, step.to)):
            seen |= {word, step.to}
            given += 1
            yield Pair(links.words[word], links.words[step.to], links.link(word, step))
            if given == limit:
                return
