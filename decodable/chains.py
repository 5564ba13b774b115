"""Word chains: from word to word by one grapheme at a time (sat, sit, sip, ship, shop).

In go the words of a reader and a length; out comes the best :class:`Chain` that a seeded search over the graph of
readable words finds, or the longest there is with the statement that every path was tried.
"""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable.errors import DecodableError
from decodable.rules import nearest
from decodable.word_links import Link, Step, WordLinks, links_of
from decodable.words import Query, WordIndex

SHORTEST, LONGEST = 2, 30
# So many chains are found and the best is given; each may look at so many words before it gives up.
_TRIES, _EFFORT = 5, 300
# To prove that there is none, so many words may be looked at: the graph of an early step has some twenty.
_PROOF = 100_000
# Points vary by so much from try to try, so that another seed gives another chain.
_CHANCE = 6.0
# A chain begins with one of so many best words; a try gives up after so many of them.
_BEGINNINGS, _STARTS = 200, 8
_ORDERS = 24

Points = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """Words of which each differs from the one before by one grapheme and one sound."""

    words: tuple[str, ...]
    """In order; none twice. Empty where the reader has no two words that differ by one sound."""
    links: tuple[Link, ...]
    """What happens between the words: one fewer than words."""
    asked: int
    """The length asked for."""
    complete: bool
    """Whether every path was tried, so that no chain is longer; only where it is shorter than asked."""
    left_out: tuple[str, ...] = ()
    """Words asked for that the chain does not pass: they cannot be reached in this length."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "words": list(self.words),
            "links": [link.to_dict() for link in self.links],
            "asked": self.asked,
            "complete": self.complete,
            "left_out": list(self.left_out),
        }


def chain(index: WordIndex, *, length: int = 6, seed: int = 0, through: Sequence[str] = (), pattern: str = "") -> Chain:
    """The best chain for a reader.

    Args:
        index: the reader's words.
        length: how many words, 2 to 30.
        seed: the same seed gives the same chain.
        through: words that it is to pass; the first of them begins it. What can't be passed is named in ``left_out``.
        pattern: a phrase of a sequence; words that have it are preferred.

    Raises :class:`DecodableError` for a word that the reader cannot read.
    """
    if not SHORTEST <= length <= LONGEST:
        raise DecodableError(f"A chain has {SHORTEST} to {LONGEST} words, not {length}.")
    if len(set(through)) > length:
        raise DecodableError(f"A chain of {length} words cannot pass {len(set(through))} words; ask for a longer one.")
    search = _Search(index, pattern, random.Random(seed))
    asked = [search.number(word) for word in dict.fromkeys(w.strip().lower() for w in through)]
    for size in range(len(asked), -1, -1):
        if asked and not size:
            break
        found = search.best(length, asked[:size])
        if found:
            return search.told(found, length, False, asked[size:])
    if asked:
        found, complete = search.longest(length, asked[0])
        return search.told(found, length, complete, [n for n in asked if n not in [s.to for s in found]])
    found, complete = search.longest(length)
    return search.told(found, length, complete, [])


Path = list[Step]


class _Search:
    """One question: which words are open, how good each is, and the searches among them."""

    def __init__(self, index: WordIndex, pattern: str, rng: random.Random) -> None:
        self.index, self.rng = index, rng
        self.links: WordLinks = links_of(index.table)
        self.points: Mapping[str, float] = self.links.rules.points
        self.open: npt.NDArray[np.bool_] = self.links.fit & (index.sounded <= index.step)
        self.worth = self._worth(pattern)
        self.spent = 0

    def number(self, word: str) -> int:
        """The number of a word asked for."""
        found = self.links.index.get(word)
        if found is not None and self.open[found]:
            return found
        if found is not None:
            raise DecodableError(
                f"This reader can't sound out {word!r} yet; choose a word that `decodable words` lists."
            )
        if word in self.index.table.index:
            raise DecodableError(
                f"{word!r} cannot stand in a chain: it has a capital or one sound, or is said in two ways."
            )
        raise DecodableError(f"{word!r} is no word of the vocabulary{nearest(word, self.links.index)}.")

    def _worth(self, pattern: str) -> Points:
        """What each word adds to the mean of a chain, float64 [words]."""
        points, index = self.points, self.index
        out: Points = points["clear"] * index.clearness + points["inflected"] * self.links.inflected
        if index.judge.reader.step:
            out = out + points["new"] * (index.sounded == index.step)
        if pattern:
            having = [index.table.index[word] for word in index.texts(Query(pattern=pattern))]
            out[having] += points["pattern"]
        return out

    # ------------------------------------------------------------------ the best of many
    def best(self, length: int, targets: Sequence[int]) -> Path:
        """The best of many chains; empty where none was found. Variety of places gives way before length does."""
        orders = self._orders(targets)
        for in_a_row in (1, 2, length):
            found: list[tuple[float, Path]] = []
            for turn in range(_TRIES):
                order = orders[turn % len(orders)] if orders else ()
                self.spent = 0
                path = self._walk(length, order, in_a_row)
                if path:
                    found.append((self.goodness(path), path))
            if found:
                return max(found, key=lambda f: f[0])[1]
        return []

    def _orders(self, targets: Sequence[int]) -> list[tuple[tuple[int, ...], list[Mapping[int, int]]]]:
        """Ways to pass the words asked for, the first one first: the order given, then the shortest."""
        if not targets:
            return []
        away = {t: self._distances(t) for t in targets}
        orders: list[tuple[int, ...]] = [tuple(targets)]
        rest = sorted(permutations(targets[1:]), key=lambda o: sum(away[b].get(a, LONGEST) for a, b in pairwise(o)))
        orders += [(targets[0], *o) for o in rest[: _ORDERS - 1] if (targets[0], *o) != orders[0]]
        return [(order, [away[t] for t in order]) for order in orders]

    def _distances(self, target: int) -> Mapping[int, int]:
        """How many links each word that can be reached is away from a word."""
        out, queue = {target: 0}, deque([target])
        while queue:
            at = queue.popleft()
            for step in self.links.links(at):
                if self.open[step.to] and step.to not in out:
                    out[step.to] = out[at] + 1
                    queue.append(step.to)
        return out

    def _walk(self, length: int, order: Any, in_a_row: int) -> Path:
        """One chain by depth-first search, the most promising word first; empty where the effort was not enough."""
        targets, away = order or ((), ())
        for start in [targets[0]] if targets else self._starts():
            path = [Step(start, "", 0, "")]
            if self._further(path, {start}, length, targets, away, 1 if targets else 0, in_a_row):
                return path
            if self.spent > _EFFORT:
                break
        return []

    def _starts(self) -> Iterator[int]:
        """Words to begin with: good ones, as chance has it."""
        ranked = [(self.rng.random() * 2 * _CHANCE + worth, number) for worth, number in self._good]
        yield from (number for _, number in sorted(ranked, reverse=True)[:_STARTS])

    @cached_property
    def _good(self) -> list[tuple[float, int]]:
        """The best words to begin with."""
        numbers = np.flatnonzero(self.open)
        order = np.argsort(-self.worth[numbers], kind="stable")[:_BEGINNINGS]
        return [(float(self.worth[n]), int(n)) for n in numbers[order]]

    def _further(
        self, path: Path, used: set[int], length: int, targets: Any, away: Any, passed: int, in_a_row: int
    ) -> bool:
        """Lengthen the path in place until it is done."""
        while passed < len(targets) and targets[passed] in used:
            passed += 1
        if len(path) == length:
            return passed == len(targets)
        self.spent += 1
        if self.spent > _EFFORT:
            return False
        for step in self._next(path, used, in_a_row):
            left = length - len(path) - 1
            if passed < len(targets) and self._least(step.to, targets, away, passed) > left:
                continue
            path.append(step)
            used.add(step.to)
            if self._further(path, used, length, targets, away, passed, in_a_row):
                return True
            used.discard(step.to)
            path.pop()
        return False

    def _least(self, at: int, targets: Any, away: Any, passed: int) -> int:
        """The fewest links that still pass all words asked for."""
        out: int = away[passed].get(at, LONGEST)
        for n in range(passed + 1, len(targets)):
            out += away[n].get(targets[n - 1], LONGEST)
        return out

    def _next(self, path: Path, used: set[int], in_a_row: int) -> list[Step]:
        last = path[-1]
        tail = [step.place for step in path[-in_a_row:]]
        barred = tail[0] if len(tail) == in_a_row and len(set(tail)) == 1 else ""
        seen = {(step.place, step.how) for step in path}
        ranked: list[tuple[float, int, Step]] = []
        for n, step in enumerate(self.links.links(last.to)):
            if self.open[step.to] and step.to not in used and step.place != barred:
                points = float(self.worth[step.to]) + self.rng.random() * _CHANCE
                points += self.points["same_place"] * (step.place == last.place)
                points += self.points["kinds"] * ((step.place, step.how) not in seen)
                ranked.append((-points, n, step))
        return [step for _, _, step in sorted(ranked)]

    def goodness(self, path: Path) -> float:
        """The points of a chain, by the rules."""
        points, links = self.points, path[1:]
        out = float(np.mean(self.worth[[step.to for step in path]]))
        out += points["places"] * len({step.place for step in links}) + points["kinds"] * len({s.how for s in links})
        return out + points["same_place"] * sum(a.place == b.place for a, b in pairwise(links))

    # ------------------------------------------------------------------ the proof that there is none
    def longest(self, length: int, start: int | None = None) -> tuple[Path, bool]:
        """The longest chain of at most this length, and whether every path was tried or the length was reached."""
        best: Path = []
        budget = _PROOF
        stack: list[tuple[Path, frozenset[int]]] = []
        begin = [start] if start is not None else np.flatnonzero(self.open).tolist()[::-1]
        for number in begin:
            stack.append(([Step(number, "", 0, "")], frozenset([number])))
        while stack and budget:
            budget -= 1
            path, used = stack.pop()
            if (len(path), self.goodness(path)) > (len(best), self.goodness(best) if best else 0.0):
                best = path
                if len(best) == length:
                    return best, False
            for step in self.links.links(path[-1].to):
                if self.open[step.to] and step.to not in used:
                    stack.append(([*path, step], used | {step.to}))
        return (best if len(best) > 1 or start is not None else []), not stack

    def told(self, path: Path, asked: int, complete: bool, left_out: Sequence[int]) -> Chain:
        """A path as a chain."""
        words = self.links.words
        links = tuple(self.links.link(a.to, b) for a, b in pairwise(path))
        left = tuple(words[n] for n in left_out)
        return Chain(tuple(words[s.to] for s in path), links, asked, complete, left)
