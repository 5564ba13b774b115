"""How a word that the dictionary lacks is read: in go letters, out come readings in order of likelihood.

:func:`train` turns aligned readings into a few arrays, a language model over graphemes that carry their sounds
(interpolated Kneser-Ney n-grams laid out as a trie). :class:`Predictor` reads a word with them: a beam search over its
letters that offers only correspondences which the inventory has and lets stand there. :meth:`Predictor.single_reading`
is the stricter judgement *read as spelled*: it follows the inventory, and the model can only object.
"""

from __future__ import annotations

import heapq
import json
import math
import unicodedata
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from decodable.alignment import VOWEL_LETTERS
from decodable.inventory import Inventory
from decodable.model import Correspondence, Grapheme, Part, Reading, bare, is_vowel

# Five units reach about as far as six (0.3 % of words), with two thirds of the size.
ORDER = 5
# Rarer words are mostly surnames from other languages and mislead more than they teach (measured on a sample apart
# from the one that the standards test uses: 1.0 to 2.0 are alike, 0 and 2.5 are worse).
LEAST_FREQUENCY = 1.5
# A log probability is kept in one byte: 1/12 nat a step reaches down to e-21.
_STEPS = 12
_START, _END = 0, 1
_BEAM = 16
_MAX_LETTERS = 4
# An ending counts once it was seen in so many words.
_LEAST_TAIL = 3
# How much of the probability a rule's reading needs before the word counts as read as spelled. Where the inventory has
# one reading the model need only not contradict it; where it has several, all but that one must be remote.
_UNDISPUTED_VOWEL = 0.5
_UNDISPUTED_CONSONANT = 0.3
_DISPUTED = 0.95

Arrays: TypeAlias = Mapping[str, npt.NDArray[Any]]
_Ints: TypeAlias = npt.NDArray[np.int64]


class _Unit(NamedTuple):
    """A grapheme as the model counts it, wherever it stands."""

    letters: str
    sounds: tuple[str, ...]
    pattern: str
    note: str
    unit: str


@dataclass(frozen=True, slots=True)
class Prediction:
    """One way to read a word that the dictionary lacks."""

    graphemes: tuple[Grapheme, ...]
    """In the order of their first letters; their positions partition the word's letters."""
    sounds: tuple[str, ...]
    """Phonemes with stress."""
    parts: tuple[Part, ...]
    """The base as it would stand alone, then the suffixes."""
    probability: float
    """Its share among the readings that were found, 0 to 1; readings that differ in stress only are counted as one."""


# ---------------------------------------------------------------------- training
def _unit(g: Grapheme) -> _Unit:
    """Suffixes are units of their own; a prefix is spelled like any other letters."""
    note, unit = ("", "") if g.unit and not g.unit.startswith("-") else (g.note, g.unit)
    return _Unit(g.letters, g.sounds, g.pattern, note, unit)


def _endings(units: Sequence[_Unit]) -> list[tuple[_Unit, ...]]:
    """The suffixes at the end of a word, each with its graphemes."""
    out: list[tuple[_Unit, ...]] = []
    end = len(units)
    while end and units[end - 1].unit:
        start = end - 1
        while start and units[start - 1].unit == units[end - 1].unit:
            start -= 1
        out.insert(0, tuple(units[start:end]))
        end = start
    return out if end else []


def train(words: Iterable[tuple[Reading, float]]) -> dict[str, npt.NDArray[Any]]:
    """Count graphemes in context.

    Args:
        words: the first reading of each word, with the word's Zipf frequency.

    Returns:
        Arrays for :class:`Predictor` (n nodes of the trie, root first, then all sequences of one unit, of two ...; m of
        them shorter than the longest): ``predict_meta`` u1, JSON; ``predict_unit`` u2 [n]; ``predict_cost`` u1 [n] and
        ``predict_backoff`` u1 [m], negative log probabilities in steps; ``predict_suffix`` i4 [n], the node without
        its first unit; ``predict_children`` u2 [m], how many nodes continue this one.
    """
    numbers: dict[_Unit, int] = {}
    sequences: list[list[int]] = []
    endings: Counter[tuple[int, ...]] = Counter()
    tails: Counter[str] = Counter()
    middles: Counter[tuple[int, ...]] = Counter()
    for reading, frequency in words:
        if frequency < LEAST_FREQUENCY or not reading.word.isalpha():
            continue
        graphemes = sorted(reading.graphemes, key=lambda g: g.at)
        units = [_unit(g) for g in graphemes]
        row = [numbers.setdefault(u, len(numbers) + 2) for u in units]
        sequences.append([_START, *row, _END])
        for i, g in enumerate(graphemes):
            if "-" in g.letters:
                inner = [n for n, o in zip(row, graphemes, strict=True) if g.at[0] < o.at[0] < g.at[1]]
                middles[tuple(inner)] += 1
        found = _endings(units)
        for n, ending in enumerate(found):
            endings[tuple(numbers[u] for u in ending)] += 1
            tails["".join(u.letters for e in found[n:] for u in e)] += 1
    meta = {
        "order": ORDER,
        "units": list(numbers),
        "endings": [k for k, n in sorted(endings.items()) if n >= _LEAST_TAIL],
        "tails": [k for k, n in sorted(tails.items()) if n >= _LEAST_TAIL],
        "middles": sorted(middles),
    }
    text = json.dumps(meta, ensure_ascii=False, separators=(",", ":"))
    return {
        "predict_meta": np.frombuffer(text.encode("utf-8"), np.uint8),
        **_trie(*_counted(sequences, len(numbers) + 2)),
    }


class _Level(NamedTuple):
    """All sequences of one length, sorted: the number of the sequence without its last unit, that unit, the count."""

    parent: _Ints
    unit: _Ints
    count: _Ints


def _counted(sequences: Sequence[Sequence[int]], size: int) -> tuple[list[_Level], int]:
    lengths = np.array([len(s) for s in sequences], np.int64)
    flat = np.fromiter((u for s in sequences for u in s), np.int64, int(lengths.sum()))
    left = np.repeat(np.cumsum(lengths), lengths) - np.arange(len(flat))
    levels = [_Level(np.zeros(size, np.int64), np.arange(size), np.bincount(flat, minlength=size))]
    place, number = np.arange(len(flat)), flat
    for length in range(2, ORDER + 1):
        inside = left[place] >= length
        place, number = place[inside], number[inside]
        keys, number, count = np.unique(
            number * size + flat[place + length - 1], return_inverse=True, return_counts=True
        )
        levels.append(_Level(keys // size, keys % size, count))
    return levels, size


def _trie(levels: Sequence[_Level], size: int) -> dict[str, npt.NDArray[Any]]:
    """Probabilities by interpolated Kneser-Ney smoothing with three discounts, as arrays."""
    suffix: list[_Ints] = [np.zeros(size, np.int64)]
    first: list[_Ints] = [np.arange(size)]
    for k in range(1, len(levels)):
        shorter = suffix[k - 1][levels[k].parent]
        keys = levels[k - 1].parent * size + levels[k - 1].unit
        suffix.append(levels[k].unit if k == 1 else np.searchsorted(keys, shorter * size + levels[k].unit))
        first.append(first[k - 1][levels[k].parent])
    cost: list[npt.NDArray[np.float64]] = []
    backoff: list[npt.NDArray[np.float64]] = []
    lower: npt.NDArray[np.float64] = np.full(size, 1.0 / size)
    for k, level in enumerate(levels):
        count = level.count.astype(np.float64)
        if k + 1 < len(levels):
            before = np.bincount(suffix[k + 1], minlength=len(count)).astype(np.float64)
            count = np.where(first[k] == _START, count, before)
        if k == 0:
            count[_START] = 0
        once = [max(float(np.sum(count == n)), 1.0) for n in (1, 2, 3, 4)]
        share = once[0] / (once[0] + 2 * once[1])
        discounts = np.array([0.0, *(max(n - (n + 1) * share * once[n] / once[n - 1], 0.1) for n in (1, 2, 3))])
        discount = discounts[np.minimum(count, 3).astype(np.int64)]
        above = 1 if k == 0 else len(levels[k - 1].unit)
        total = np.maximum(np.bincount(level.parent, count, above), 1e-9)
        given = np.bincount(level.parent, discount, above) / total
        given = np.where(given > 0, np.minimum(given, 1.0), 1.0)
        lower = np.maximum(count - discount, 0) / total[level.parent] + given[level.parent] * (
            lower if k == 0 else lower[suffix[k]]
        )
        cost.append(lower)
        backoff.append(given)
    starts = np.cumsum([1, *(len(level.unit) for level in levels)])
    children = [np.bincount(v.parent, minlength=len(g)) for v, g in zip(levels, backoff, strict=True)]
    links = [s + (0 if k == 0 else starts[k - 1]) for k, s in enumerate(suffix)]
    return {
        "predict_unit": np.concatenate([[0], *(level.unit for level in levels)]).astype(np.uint16),
        "predict_cost": _bytes(np.concatenate([[1.0], *cost])),
        "predict_backoff": _bytes(np.concatenate(backoff)),
        "predict_suffix": np.concatenate([[0], *links]).astype(np.int32),
        "predict_children": np.concatenate(children).astype(np.uint16),
    }


def _bytes(probability: npt.NDArray[np.float64]) -> npt.NDArray[np.uint8]:
    steps = np.rint(-_STEPS * np.log(np.maximum(probability, 1e-12)))
    return np.clip(steps, 0, 255).astype(np.uint8)


# ---------------------------------------------------------------------- reading
class _Option(NamedTuple):
    """One step of the search: what may stand next."""

    end: int
    units: tuple[int, ...]
    stressed: int
    """How many vowels with the main stress."""
    vowel: bool
    owes: int
    """Whether a suffix must follow: 0 no, 1 at once, 2 before the next vowel (*hoping*)."""
    ending: bool


class _State(NamedTuple):
    """A beginning of the word, read."""

    score: float
    node: int
    stressed: int
    vowel: bool
    owes: int
    ending: bool
    back: _State | None
    units: tuple[int, ...]


class _Found(NamedTuple):
    """A whole reading of the letters with its share of the probability."""

    graphemes: tuple[Grapheme, ...]
    share: float


class _Expected(NamedTuple):
    """What the inventory says of one grapheme of a word."""

    at: tuple[int, ...]
    settled: tuple[str, ...]
    """Patterns that the letters mean by themselves there."""
    also: tuple[str, ...]
    """Patterns that their neighbours suggest."""
    vowel: bool


def fits(item: Correspondence, letters: str, start: int, end: int) -> bool:
    """Whether a correspondence may stand at these letters of a morpheme; never true of one kept for suffixes."""
    rest, before = letters[end:], letters[:start]
    standing = {"": True, "start": not start, "end": not rest, "not-start": bool(start), "not-end": bool(rest)}
    return (
        standing.get(item.where, False)
        and (not item.before or _begins(rest, item.before))
        and (not item.after or before.endswith(item.after))
        and not (item.not_before and _begins(rest, item.not_before))
        and not (item.not_after and before.endswith(item.not_after))
    )


def _begins(rest: str, groups: tuple[str, ...]) -> bool:
    kind = "end" if not rest else "vowel" if rest[0] in VOWEL_LETTERS else "consonant"
    return kind in groups or rest.startswith(groups)


def _plain(word: str) -> tuple[str, tuple[int, ...]] | None:
    """The word's letters from a to z, accents off, and where they stand; ``None`` where it has others."""
    letters, places = [], []
    for place, character in enumerate(word):
        if character in "'\u2019":
            continue
        base = unicodedata.normalize("NFD", character)[0].lower()
        if not (base.isascii() and base.isalpha()):
            return None
        letters.append(base)
        places.append(place)
    return "".join(letters), tuple(places)


class Predictor:
    """Reads words with the arrays of :func:`train` and the inventory that they were trained under."""

    def __init__(self, arrays: Arrays, inventory: Inventory) -> None:
        self.inventory = inventory
        self._arrays = arrays

    # ------------------------------------------------------------------ tables, made when first needed
    @cached_property
    def _meta(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self._arrays["predict_meta"].tobytes())
        return found

    @cached_property
    def _units(self) -> list[_Unit]:
        none = _Unit("", (), "", "", "")
        return [none, none, *(_Unit(u[0], tuple(u[1]), *u[2:]) for u in self._meta["units"])]

    @cached_property
    def _numbers(self) -> dict[str, list[int]]:
        out: dict[str, list[int]] = defaultdict(list)
        for number, unit in enumerate(self._units):
            if not unit.unit:
                out[unit.letters].append(number)
        return dict(out)

    @cached_property
    def _rows(self) -> dict[str, list[Correspondence]]:
        """The correspondences of each grapheme."""
        out: dict[str, list[Correspondence]] = defaultdict(list)
        for item in self.inventory.correspondences:
            out[item.letters].append(item)
        return dict(out)

    @cached_property
    def _contexts(self) -> list[list[Correspondence]]:
        """The correspondences that a unit is one of; none where a suffix has changed the letters."""
        out = []
        for unit in self._units:
            said = tuple(bare(s) for s in unit.sounds)
            rows = (i for i in self._rows.get(unit.letters, ()) if i.pattern == unit.pattern)
            out.append([i for i in rows if any(tuple(bare(s) for s in f) == said for f in i.sounds)])
        return out

    @cached_property
    def _endings(self) -> dict[str, list[tuple[int, ...]]]:
        out: dict[str, list[tuple[int, ...]]] = defaultdict(list)
        for ending in self._meta["endings"]:
            out["".join(self._units[u].letters for u in ending)].append(tuple(ending))
        return dict(out)

    @cached_property
    def _tails(self) -> frozenset[str]:
        return frozenset(self._meta["tails"])

    @cached_property
    def _middles(self) -> dict[str, list[tuple[int, ...]]]:
        """What may stand inside a split digraph."""
        out: dict[str, list[tuple[int, ...]]] = defaultdict(list)
        for middle in self._meta["middles"]:
            out["".join(self._units[u].letters for u in middle)].append(tuple(middle))
        return dict(out)

    @cached_property
    def _nodes(self) -> tuple[memoryview, memoryview, memoryview, memoryview, memoryview]:
        """Units, costs, backoff costs, suffixes and first children of the trie's nodes."""
        children = self._arrays["predict_children"].astype(np.int64)
        first = np.concatenate([[1], 1 + np.cumsum(children)])
        names = ("unit", "cost", "backoff", "suffix")
        return (*(memoryview(self._arrays[f"predict_{n}"]) for n in names), memoryview(first))  # type: ignore[return-value]

    def _step(self, node: int, unit: int) -> tuple[int, int]:
        """The cost of a unit after the units that a node stands for, and the node after it."""
        units, costs, backoffs, suffixes, first = self._nodes
        inner, paid = len(backoffs), 0
        while True:
            if node < inner:
                end = first[node + 1]
                found = bisect_left(units, unit, first[node], end)
                if found < end and units[found] == unit:
                    return paid + costs[found], found
                paid += backoffs[node]
            if node == 0:
                return paid + 255, 0
            node = suffixes[node]

    # ------------------------------------------------------------------ the search
    def _option(self, end: int, units: tuple[int, ...], owes: bool, ending: bool = False) -> _Option:
        found = [self._units[u] for u in units]
        sounds = [s for u in found for s in u.sounds]
        debt = int(owes)
        last = found[-1]
        if not ending and last.note:
            split = "-" in self.inventory.patterns[last.pattern].letters
            debt = 2 if split and is_vowel(last.sounds[-1]) else 1
        stressed = sum(s.endswith("1") for s in sounds)
        return _Option(end, units, stressed, any(map(is_vowel, sounds)), debt, ending)

    def _options(self, letters: str, i: int) -> Iterator[_Option]:
        for end in range(i + 1, min(i + _MAX_LETTERS, len(letters)) + 1):
            for unit in self._numbers.get(letters[i:end], ()):
                rows = self._contexts[unit]
                if not rows or any(fits(r, letters, i, end) for r in rows):
                    yield self._option(end, (unit,), False)
                elif letters[end:] in self._tails and any(fits(r, letters[:end], i, end) for r in rows):
                    yield self._option(end, (unit,), True)
        for vowel in self._numbers.get(f"{letters[i]}-e", ()):
            for middle, inner in self._middles.items():
                e = i + 1 + len(middle)
                if letters.startswith(middle + "e", i + 1) and letters[e + 1 : e + 2] not in _VOWELS_NEXT:
                    for units in inner:
                        if self._inside(units, letters, i + 1):
                            yield self._option(e + 1, (vowel, *units), False)
        for tail, endings in self._endings.items():
            end = i + len(tail)
            if i and letters.startswith(tail, i) and (end == len(letters) or letters[end:] in self._tails):
                for units in endings:
                    yield self._option(end, units, False, True)

    def _inside(self, units: Sequence[int], letters: str, start: int) -> bool:
        for unit in units:
            end = start + len(self._units[unit].letters)
            if not any(fits(r, letters, start, end) for r in self._contexts[unit]):
                return False
            start = end
        return True

    def _search(self, letters: str) -> list[_Found]:
        """Whole readings, the likeliest first, positions counted in ``letters``; their shares add up to 1."""
        step = self._step
        beams: list[list[_State]] = [[] for _ in range(len(letters) + 1)]
        beams[0].append(_State(0, step(0, _START)[1], 0, False, 0, False, None, ()))
        for i in range(len(letters)):
            kept = heapq.nsmallest(_BEAM, beams[i], key=_score)
            beams[i] = []
            options = list(self._options(letters, i)) if kept else []
            for state in kept:
                for option in options:
                    if option.ending:
                        if not state.vowel:
                            continue
                        owes = option.owes
                    elif state.ending or state.owes == 1 or (state.owes and option.vowel):
                        continue
                    else:
                        owes = option.owes or state.owes
                    stressed = state.stressed + option.stressed
                    if stressed > 1:
                        continue
                    score, node = state.score, state.node
                    for unit in option.units:
                        cost, node = step(node, unit)
                        score += cost
                    beams[option.end].append(
                        _State(
                            score, node, stressed, state.vowel or option.vowel, owes, option.ending, state, option.units
                        )
                    )
        whole = [s for s in beams[-1] if not s.owes]
        whole = [s for s in whole if s.stressed] or whole
        ended = sorted(((s.score + step(s.node, _END)[0], n, s) for n, s in enumerate(whole)), key=lambda e: e[:2])
        weights = [math.exp((ended[0][0] - score) / _STEPS) for score, _, _ in ended]
        total = sum(weights)
        return [_Found(self._graphemes(s), w / total) for w, (_, _, s) in zip(weights, ended, strict=True)]

    def _graphemes(self, state: _State) -> tuple[Grapheme, ...]:
        numbers: list[int] = []
        while state.back is not None:
            numbers[:0] = state.units
            state = state.back
        taken: set[int] = set()
        out: list[Grapheme] = []
        for number in numbers:
            unit = self._units[number]
            at = min(set(range(len(taken) + 1)) - taken)
            ...
        return tuple(out)


def _score(state: _State) -> float:
    return state.score
