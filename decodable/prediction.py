"""How a word that the dictionary lacks is read: in go letters, out come readings in order of likelihood.

:func:`train` turns aligned readings into a few arrays, a language model over graphemes that carry their sounds
(interpolated Kneser-Ney n-grams laid out as a trie). :class:`Predictor` reads a word with them: a beam search over its
letters that offers only correspondences which the inventory has and lets stand there. :meth:`Predictor.single_reading`
is the stricter judgement *read as spelled*: it follows the inventory, and the model can only object.
"""

from __future__ import annotations

import json
import math
import unicodedata
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
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
_USUAL = ("main", "often")
_VOWEL_KINDS = ("vowel", "split digraph", "vowel team", "r-controlled", "consonant-le")
# How much of the probability a rule's reading needs before the word counts as read as spelled. Where the inventory has
# one reading the model need only not contradict it; where it has several, all but that one must be remote.
_UNDISPUTED_VOWEL = 0.5
_UNDISPUTED_CONSONANT = 0.3
_DISPUTED = 0.95

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
                inner = [
                    n for n, o in zip(row, graphemes, strict=True) if g.at[0] < o.at[0] < g.at[1]
                ]
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
        suffix.append(
            levels[k].unit if k == 1 else np.searchsorted(keys, shorter * size + levels[k].unit)
        )
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
        discounts = np.array(
            [0.0, *(max(n - (n + 1) * share * once[n] / once[n - 1], 0.1) for n in (1, 2, 3))]
        )
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
    children = [
        np.bincount(v.parent, minlength=len(g)) for v, g in zip(levels, backoff, strict=True)
    ]
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
    """How many vowels have the main stress."""
    vowel: bool
    owes: int
    """Whether a suffix must follow: 0 no, 1 at once, 2 before the next vowel (*hoping*)."""
    ending: bool


class _State(NamedTuple):
    """A beginning of the word, read: what it cost, where in the trie it stands, the steps taken."""

    cost: int
    node: int
    stressed: int
    vowel: bool
    owes: int
    ending: bool
    back: _State | None
    units: tuple[int, ...]


class _Expected(NamedTuple):
    """What the inventory says of one grapheme of a word."""

    at: tuple[int, ...]
    usual: set[str]
    """Patterns that the letters mean by themselves there."""
    also: set[str]
    """Other patterns that their neighbours suggest."""
    letters: str
    vowel: bool


_Found: TypeAlias = tuple[float, tuple[Grapheme, ...]]


def fits(item: Correspondence, letters: str, start: int, end: int) -> bool:
    """Whether a correspondence may stand at these letters of a morpheme that is no suffix."""
    rest, before = letters[end:], letters[:start]
    kind = "end" if not rest else "vowel" if rest[0] in VOWEL_LETTERS else "consonant"

    def begins(groups: tuple[str, ...]) -> bool:
        return kind in groups or rest.startswith(groups)

    places = {"": True, "start": not before, "end": not rest, "not-start": before, "not-end": rest}
    return bool(
        places.get(item.where)
        and (not item.before or begins(item.before))
        and (not item.after or before.endswith(item.after))
        and not begins(item.not_before)
        and not before.endswith(item.not_after)
    )


def _plain(word: str) -> tuple[str, tuple[int, ...]]:
    """The letters from a to z, accents and apostrophes off, and where they stand; empty for other words."""
    base = [unicodedata.normalize("NFD", c)[0].lower() for c in word]
    places = tuple(n for n, c in enumerate(base) if c not in "'\u2019")
    letters = "".join(base[n] for n in places)
    return (letters, places) if letters.isascii() and letters.isalpha() else ("", ())


class Predictor:
    """Reads words with the arrays of :func:`train` and the inventory that they were trained under."""

    def __init__(self, arrays: Mapping[str, npt.NDArray[Any]], inventory: Inventory) -> None:
        meta = json.loads(arrays["predict_meta"].tobytes())
        self._inventory = inventory
        units = [_Unit(u[0], tuple(u[1]), *u[2:]) for u in meta["units"]]
        self._units = [_Unit("", (), "", "", "")] * 2 + units
        self._tails = frozenset(meta["tails"])
        self._endings = self._spelled(meta["endings"])
        self._middles = self._spelled(meta["middles"])
        self._rows: dict[str, list[Correspondence]] = defaultdict(list)
        for item in inventory.correspondences:
            self._rows[item.letters].append(item)
        self._numbers: dict[str, list[int]] = defaultdict(list)
        self._contexts: list[list[Correspondence]] = []
        for number, u in enumerate(self._units):
            if not u.unit:
                self._numbers[u.letters].append(number)
            self._contexts.append([r for r in self._rows.get(u.letters, ()) if _is_one(u, r)])
        self._unit, self._cost, self._backoff, self._suffix = (
            memoryview(arrays[f"predict_{name}"]) for name in ("unit", "cost", "backoff", "suffix")
        )
        self._child = memoryview(
            np.cumsum(np.append(1, arrays["predict_children"]), dtype=np.int64)
        )

    def _spelled(self, rows: Iterable[Sequence[int]]) -> dict[str, list[tuple[int, ...]]]:
        """Sequences of units by their letters."""
        out: dict[str, list[tuple[int, ...]]] = defaultdict(list)
        for row in rows:
            out["".join(self._units[u].letters for u in row)].append(tuple(row))
        return out

    def predict(self, word: str, limit: int = 5) -> tuple[Prediction, ...]:
        """The likeliest readings, each with other graphemes or patterns; empty where a letter is not of a to z."""
        letters, places = _plain(word)
        merged: dict[tuple[tuple[str, ...], ...], list[_Found]] = {}
        for found in self._search(letters):
            merged.setdefault(tuple((*map(str, g.at), g.pattern) for g in found[1]), []).append(
                found
            )
        rows = [(sum(share for share, _ in group), group[0][1]) for group in merged.values()]
        rows.sort(key=lambda row: -row[0])
        return tuple(_prediction(word, letters, places, *row) for row in rows[:limit])

    def single_reading(self, word: str) -> Prediction | None:
        """The reading of a word that can be read as it is spelled; ``None`` where a person should be asked.

        Every grapheme must have one plausible reading by the inventory, and the model must not think otherwise. Words
        of one syllable only, or of two that a doubled consonant divides, with or without a suffix that changes at most
        that: elsewhere the letters alone do not tell a long vowel from a short one.
        """
        letters, places = _plain(word)
        found = self._search(letters) if letters == word.lower() else []
        for seam, stem in _stems(letters, found[0][1]) if found else ():
            expected = self._expected(stem)
            agreed = _agreed(found, expected, seam, self._inventory.schwa_of)
            if agreed:
                return _prediction(word, letters, places, *agreed)
        return None

    # ------------------------------------------------------------------ the search
    def _step(self, node: int, unit: int) -> tuple[int, int]:
        """The cost of a unit after the units that a node stands for, and the node after it."""
        paid, inner = 0, len(self._backoff)
        while True:
            if node < inner:
                end = self._child[node + 1]
                found = bisect_left(self._unit, unit, self._child[node], end)
                if found < end and self._unit[found] == unit:
                    return paid + self._cost[found], found
                paid += self._backoff[node]
            if node == 0:
                return paid + 255, 0
            node = self._suffix[node]

    def _option(
        self, end: int, units: tuple[int, ...], owes: bool, ending: bool = False
    ) -> _Option:
        sounds = [s for u in units for s in self._units[u].sounds]
        debt, last = int(owes), self._units[units[-1]]
        if last.note and not ending:
            split = "-" in self._inventory.patterns[last.pattern].letters
            debt = 2 if split else 1
        stressed = sum(s.endswith("1") for s in sounds)
        return _Option(end, units, stressed, any(map(is_vowel, sounds)), debt, ending)

    def _options(self, letters: str, i: int) -> Iterator[_Option]:
        length = len(letters)
        for end in range(i + 1, min(i + _MAX_LETTERS, length) + 1):
            stem = letters[:end] if letters[end:] in self._tails else letters
            for unit in self._numbers.get(letters[i:end], ()):
                rows = self._contexts[unit]
                if not rows or any(fits(r, letters, i, end) for r in rows):
                    yield self._option(end, (unit,), False)
                elif stem != letters and any(fits(r, stem, i, end) for r in rows):
                    yield self._option(end, (unit,), True)
        for vowel in self._numbers.get(f"{letters[i]}-e", ()):
            for middle, inner in self._middles.items():
                end = i + len(middle) + 2
                team = end < length and letters[end] in VOWEL_LETTERS
                if letters.startswith(f"{middle}e", i + 1) and not team:
                    for units in inner:
                        yield self._option(end, (vowel, *units), False)
        for tail, endings in self._endings.items():
            end = i + len(tail)
            if letters.startswith(tail, i) and (end == length or letters[end:] in self._tails):
                for units in endings:
                    yield self._option(end, units, False, True)

    def _search(self, letters: str) -> list[_Found]:
        """Whole readings and their shares, the likeliest first, positions counted in ``letters``."""
        beams: list[list[_State]] = [[] for _ in range(len(letters) + 1)]
        beams[0].append(_State(0, self._step(0, _START)[1], 0, False, 0, False, None, ()))
        for i in range(len(letters)):
            states = sorted(beams[i], key=lambda s: s.cost)[:_BEAM]
            beams[i] = []
            for option in self._options(letters, i) if states else ():
                for state in states:
                    if after := self._taken(state, option):
                        beams[option.end].append(after)
        whole = [s for s in beams[-1] if not s.owes and s.back]
        whole = [s for s in whole if s.stressed] or whole
        ended = [(s.cost + self._step(s.node, _END)[0], s) for s in whole]
        ended.sort(key=lambda e: e[0])
        weights = [math.exp((ended[0][0] - cost) / _STEPS) for cost, _ in ended]
        return [
            (w / sum(weights), self._graphemes(s)) for w, (_, s) in zip(weights, ended, strict=True)
        ]

    def _taken(self, state: _State, option: _Option) -> _State | None:
        """The state after a step; ``None`` where the step may not follow."""
        _, units, stressed, vowel, owes, ending = option
        if ending:
            allowed = state.vowel
        else:
            allowed = not (state.ending or state.owes == 1 or (state.owes and vowel))
            owes = owes or state.owes
        if not allowed or state.stressed + stressed > 1:
            return None
        cost, node = state.cost, state.node
        for unit in units:
            paid, node = self._step(node, unit)
            cost += paid
        return _State(
            cost, node, state.stressed + stressed, state.vowel or vowel, owes, ending, state, units
        )

    def _graphemes(self, state: _State) -> tuple[Grapheme, ...]:
        steps: list[tuple[int, ...]] = []
        while state.back is not None:
            steps.insert(0, state.units)
            state = state.back
        out: list[Grapheme] = []
        place = 0
        for step in steps:
            units = [self._units[u] for u in step]
            split = "-" in units[0].letters
            end = place + sum(len(u.letters) for u in units) - split
            for n, u in enumerate(units):
                at = (
                    (place, end - 1)
                    if split and n == 0
                    else tuple(range(place, place + len(u.letters)))
                )
                place = place + 1 if split and n == 0 else at[-1] + 1
                out.append(Grapheme(u.letters, at, u.sounds, u.pattern, u.note, u.unit))
            place = end
        return tuple(out)

    # ------------------------------------------------------------------ the rules
    def _expected(self, stem: str) -> list[_Expected]:
        """The graphemes of a word as a reader divides it; none where its vowels cannot be told from the letters."""
        out: list[_Expected] = []
        alone = self._inventory.alone
        i, end_of_word = 0, len(stem)
        while i < end_of_word:
            split = f"{stem[i]}-e"
            if split in alone and self._splits(stem, i):
                end_of_word -= 1
                end, letters, at = i + 1, split, (i, end_of_word)
            else:
                ends = range(min(i + _MAX_LETTERS, end_of_word), i, -1)
                end = next((e for e in ends if self._usual(stem[i:e], stem, i, e)), 0)
                letters, at = stem[i:end], tuple(range(i, end))
            rows = self._usual(letters, stem, i, end)
            if not rows:
                return []
            rows = [r for r in rows if r.kind == "consonant"] or rows
            usual = {r.pattern for r in rows if r.pattern in alone.get(letters, ())}
            also = {r.pattern for r in rows if r.before or r.after} - usual
            vowel = rows[0].kind in _VOWEL_KINDS
            if rows[0].kind == "vowel" and end == len(stem):
                # open: the long sound, or where no sound is the letter's own, the commonest in a second syllable
                second = not usual and any(e.vowel for e in out)
                long = {r.pattern for r in rows if set(r.sounds) & self._said(split)}
                usual = {rows[0].pattern} if second else long
            out.append(_Expected(at, usual, also, letters, vowel))
            i = end
        vowels = [n for n, e in enumerate(out) if e.vowel]
        divided = (
            len(vowels) == 2
            and vowels[1] - vowels[0] == 2
            and len(out[vowels[0]].letters) == 1
            and self._doubled(out[vowels[0] + 1].letters)
        )
        return out if len(stem) > 1 and (len(vowels) == 1 or divided) else []

    def _usual(self, letters: str, stem: str, start: int, end: int) -> list[Correspondence]:
        rows = (
            r for r in self._rows.get(letters, ()) if r.use in _USUAL and fits(r, stem, start, end)
        )
        return sorted(rows, key=lambda r: _USUAL.index(r.use))

    def _said(self, letters: str) -> set[tuple[str, ...]]:
        """The sounds that letters have when they are taught without a keyword."""
        names = self._inventory.alone.get(letters, ())
        return {
            form for r in self._rows.get(letters, ()) if r.pattern in names for form in r.sounds
        }

    def _splits(self, stem: str, i: int) -> bool:
        """Whether a vowel letter and the last e are a split digraph: one consonant that does not close stands between."""
        middle = stem[i + 1 : -1]
        rows = self._rows.get(middle, ())
        digraph = any(r.kind == "consonant digraph" and not r.where for r in rows)
        return stem.endswith("e") and middle in self._middles and (len(middle) == 1 or digraph)

    def _doubled(self, letters: str) -> bool:
        """Whether each letter by itself has the sound of the whole (*bb*, *ck*)."""
        whole = self._said(letters)
        return len(letters) == 2 and bool(whole) and all(whole & self._said(c) for c in letters)


def _stems(letters: str, graphemes: Sequence[Grapheme]) -> Iterator[tuple[int, str]]:
    """Where a suffix may begin, and the base as it would stand alone: the whole word first."""
    yield len(letters), letters
    seam = _seam(graphemes)
    base = [g for g in graphemes if not seam or g.at[0] < seam]
    if seam and all(g.note in ("", "doubling") for g in base):
        yield seam, letters[: seam - (base[-1].note == "doubling")]


def _seam(graphemes: Sequence[Grapheme]) -> int:
    """Where the suffixes begin; 0 where there is none."""
    seam = 0
    for g in reversed(graphemes):
        if not g.unit:
            break
        seam = g.at[0]
    return seam


def _agreed(
    found: Sequence[_Found], expected: Sequence[_Expected], seam: int, schwa_of: Mapping[str, str]
) -> _Found | None:
    """The likeliest reading that follows the rules, if the model does not object to any grapheme of it."""
    if not expected:
        return None
    weak = schwa_of if sum(e.vowel for e in expected) > 1 else {}

    def pattern_at(graphemes: Sequence[Grapheme], at: tuple[int, ...]) -> str:
        near = (g for g in graphemes if g.at == at or (g.note == "doubling" and g.at[:-1] == at))
        return next((g.pattern for g in near), "")

    wanted: list[str] = []
    for e in expected:
        shares: Counter[str] = Counter()
        for share, graphemes in found:
            name = pattern_at(graphemes, e.at)
            shares[weak.get(name, name)] += share
        plausible = sorted(e.usual | e.also)
        best = max(plausible, key=lambda name: shares[name], default="")
        settled = len(plausible) == 1 and bool(e.usual)
        least = (
            _DISPUTED if not settled else _UNDISPUTED_VOWEL if e.vowel else _UNDISPUTED_CONSONANT
        )
        if not best or shares[best] < least or (e.vowel and best not in e.usual):
            return None
        wanted.append(best)
    for schwa in ({}, weak):
        rows = [
            (share, graphemes)
            for share, graphemes in found
            if all(g.unit for g in graphemes if g.at[0] >= seam)
            and all(
                schwa.get(name, name) == want
                for e, want in zip(expected, wanted, strict=True)
                for name in [pattern_at(graphemes, e.at)]
            )
        ]
        if rows:
            return sum(share for share, _ in rows), rows[0][1]
    return None


def _is_one(unit: _Unit, item: Correspondence) -> bool:
    said = [bare(s) for s in unit.sounds]
    return item.pattern == unit.pattern and any(
        [bare(s) for s in form] == said for form in item.sounds
    )


def _prediction(
    word: str, letters: str, places: Sequence[int], share: float, graphemes: Sequence[Grapheme]
) -> Prediction:
    shown: list[Grapheme] = []
    for g in graphemes:
        at = tuple(places[p] for p in g.at)
        text = ("-" if "-" in g.letters else "").join(word[p].lower() for p in at)
        shown.append(replace(g, letters=text, at=at))
    sounds = tuple(s for g in shown for s in g.sounds)
    return Prediction(tuple(shown), sounds, _parts(letters, graphemes), share)


def _parts(letters: str, graphemes: Sequence[Grapheme]) -> tuple[Part, ...]:
    seam = _seam(graphemes)
    if not seam:
        return (Part(letters, "base", letters),)
    last = [g for g in graphemes if g.at[0] < seam][-1]
    stem = letters[:seam]
    match last.note:
        case "doubling":
            stem = stem[:-1]
        case "y to i":
            stem = stem[: last.at[0]] + "y"
    dropped = any(g.note == "dropped e" for g in graphemes)
    out = [Part(letters[:seam], "base", stem + "e" * dropped)]
    for name, group in groupby((g for g in graphemes if g.at[0] >= seam), key=lambda g: g.unit):
        text = "".join(letters[p] for g in group for p in g.at)
        out.append(Part(text, "suffix", name))
    return tuple(out)
