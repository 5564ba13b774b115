"""How a word that the dictionary lacks is read: in go letters, out come readings in order of likelihood.

:func:`train` turns aligned readings into a few arrays: a language model over graphemes that carry their sounds
(interpolated Kneser-Ney n-grams, laid out as a trie). :class:`Predictor` reads a word with them: a beam search over its
letters that offers only correspondences which the inventory has and lets stand there. Its ``single_reading`` is the
stricter judgement *read as spelled*: the inventory says what each grapheme means, and words spelled alike may object.
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
from decodable.morphology import must_double

# Five units reach about as far as six (0.3 % of words), with two thirds of the size.
ORDER = 5
# Rarer words are mostly surnames from other languages and mislead more than they teach (measured on a sample apart
# from that of the standards test: 1.0 to 2.0 are alike, 0 and 2.5 are worse).
LEAST_FREQUENCY = 1.5
# A log probability is kept in one byte: 1/12 nat a step reaches down to e-21.
_STEPS = 12
# Twice as many change no result of the sample, and cost twice the time.
_BEAM = 16
_MAX_LETTERS = 4
_START, _END = 0, 1
# Endings, and spellings called as evidence, count once they were seen in so many words.
_LEAST_SEEN = 3
# For *read as spelled*, most words spelled alike must agree with the inventory (cost, host, lost, most do not agree),
# and nearly all where it lets the neighbours of a letter change its sound (c is soft before e, g is only often so).
_MOST, _NEARLY_ALL = 0.8, 0.9
_USUAL = ("main", "often")
_VOWEL_KINDS = ("vowel", "split digraph", "vowel team", "r-controlled", "consonant-le")

Arrays: TypeAlias = dict[str, npt.NDArray[Any]]
_Ints: TypeAlias = npt.NDArray[np.int64]
# All sequences of one length, sorted: the number of each without its last unit, that unit, the count.
_Level: TypeAlias = tuple[_Ints, _Ints, _Ints]
_Found: TypeAlias = tuple[float, tuple[Grapheme, ...]]


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
    """The base, named as it would stand alone, then the suffixes."""
    probability: float
    """Its share among the readings that were found, 0 to 1; readings that differ only in sounds taught as one, or in
    stress, are counted together."""


# ---------------------------------------------------------------------- training
def train(words: Iterable[tuple[Reading, float]]) -> Arrays:
    """Count graphemes in context.

    Args:
        words: the first reading of each word, with the word's Zipf frequency.

    Returns:
        Arrays for :class:`Predictor`. The trie has n nodes: the root, then all sequences of one unit, of two ... ; m of
        them are shorter than the longest. ``predict_meta`` u1, JSON; ``predict_unit`` u2 [n]; ``predict_cost`` u1 [n]
        and ``predict_backoff`` u1 [m], negative log probabilities in steps; ``predict_suffix`` i4 [n], the node without
        its first unit; ``predict_children`` u2 [m], how many nodes continue this one.
    """
    numbers: dict[_Unit, int] = {}
    sequences: list[list[int]] = []
    endings, tails, middles = Counter[tuple[int, ...]](), Counter[str](), Counter[tuple[int, ...]]()
    seen: dict[str, Counter[str]] = defaultdict(Counter)
    for reading, frequency in words:
        if frequency < LEAST_FREQUENCY or not reading.word.isalpha():
            continue
        graphemes = sorted(reading.graphemes, key=lambda g: g.at)
        units = [_unit(g) for g in graphemes]
        row = [numbers.setdefault(u, len(numbers) + 2) for u in units]
        sequences.append([_START, *row, _END])
        for g in graphemes:
            if "-" in g.letters:
                inside = (n for n, o in zip(row, graphemes, strict=True) if g.at[0] < o.at[0] < g.at[1])
                middles[tuple(inside)] += 1
        ends = [list(group) for _, group in groupby(units, key=lambda u: u.unit)]
        for n in range(len(ends)):
            if all(group[0].unit for group in ends[n:]):
                endings[tuple(numbers[u] for u in ends[n])] += 1
                tails["".join(u.letters for group in ends[n:] for u in group)] += 1
        if not any(u.note for u in units):
            one = sum(is_vowel(s) for s in reading.sounds) == 1
            for g in graphemes:
                vowel = any(map(is_vowel, g.sounds))
                if one or not vowel:
                    seen[_alike(reading.word, g.at, vowel)][g.pattern] += 1
    meta = {
        "units": list(numbers),
        "endings": [k for k, n in sorted(endings.items()) if n >= _LEAST_SEEN],
        "tails": [k for k, n in sorted(tails.items()) if n >= _LEAST_SEEN],
        "middles": sorted(middles),
        "seen": {k: dict(sorted(n.items())) for k, n in sorted(seen.items()) if n.total() >= _LEAST_SEEN},
    }
    text = json.dumps(meta, ensure_ascii=False, separators=(",", ":")).encode()
    return {"predict_meta": np.frombuffer(text, np.uint8), **_trie(_counted(sequences, len(numbers) + 2))}


def _unit(g: Grapheme) -> _Unit:
    """Suffixes are units of their own; a prefix is spelled like any other letters."""
    prefix = g.unit and not g.unit.startswith("-")
    return _Unit(g.letters, g.sounds, g.pattern, "" if prefix else g.note, "" if prefix else g.unit)


def _alike(letters: str, at: Sequence[int], vowel: bool) -> str:
    """What spells alike: for a vowel the letters to the end (the rime), for a consonant itself and its neighbour."""
    if vowel:
        return letters[at[0] :]
    after = letters[at[-1] + 1 : at[-1] + 2]
    before = " " if at[0] == 0 else "" if after else letters[at[0] - 1]
    return f"{before}{letters[at[0] : at[-1] + 1]}|{after or ' '}"


def _counted(sequences: Sequence[Sequence[int]], size: int) -> list[_Level]:
    lengths = np.array([len(s) for s in sequences], np.int64)
    flat = np.fromiter((u for s in sequences for u in s), np.int64, int(lengths.sum()))
    left = np.repeat(np.cumsum(lengths), lengths) - np.arange(len(flat))
    levels: list[_Level] = [(np.zeros(size, np.int64), np.arange(size), np.bincount(flat, minlength=size))]
    place, number = np.arange(len(flat)), flat
    for length in range(2, ORDER + 1):
        inside = left[place] >= length
        place, number = place[inside], number[inside]
        keys = number * size + flat[place + length - 1]
        keys, number, count = np.unique(keys, return_inverse=True, return_counts=True)
        levels.append((keys // size, keys % size, count))
    return levels


def _trie(levels: Sequence[_Level]) -> Arrays:
    """Probabilities by interpolated Kneser-Ney smoothing with three discounts, as arrays."""
    size = len(levels[0][0])
    suffix: list[_Ints] = [np.zeros(size, np.int64)]
    first: list[_Ints] = [np.arange(size)]
    for k, (parent, unit, _) in enumerate(levels[1:]):
        keys = levels[k][0] * size + levels[k][1]
        suffix.append(np.searchsorted(keys, suffix[k][parent] * size + unit) if k else unit)
        first.append(first[k][parent])
    chances: list[npt.NDArray[np.float64]] = []
    given: list[npt.NDArray[np.float64]] = []
    for k, (parent, _, times) in enumerate(levels):
        count = times.astype(np.float64)
        if k + 1 < len(levels):  # what counts is how many units a shorter sequence follows, unless it begins a word
            count = np.where(first[k] == _START, count, np.bincount(suffix[k + 1], minlength=len(count)))
        if k == 0:
            count[_START] = 0
        n = [max(float(np.sum(count == c)), 1.0) for c in (1, 2, 3, 4)]
        share = n[0] / (n[0] + 2 * n[1])
        discounts = np.array([0.0, *(max(c - (c + 1) * share * n[c] / n[c - 1], 0.1) for c in (1, 2, 3))])
        discount = discounts[np.minimum(count, 3).astype(np.int64)]
        above = len(levels[k - 1][0]) if k else 1
        total = np.maximum(np.bincount(parent, count, above), 1)
        given.append(np.where(np.bincount(parent, count, above) > 0, np.bincount(parent, discount, above) / total, 1.0))
        lower = chances[k - 1][suffix[k]] if k else np.full(size, 1 / size)
        chances.append(np.maximum(count - discount, 0) / total[parent] + given[k][parent] * lower)
    starts = np.cumsum([1, *(len(level[0]) for level in levels)])
    children = [np.bincount(parent, minlength=len(g)) for (parent, _, _), g in zip(levels, given, strict=True)]
    links = [s + (starts[k - 1] if k else 0) for k, s in enumerate(suffix)]
    return {
        "predict_unit": np.concatenate([[0], *(unit for _, unit, _ in levels)]).astype(np.uint16),
        "predict_cost": _steps(np.concatenate([[1.0], *chances])),
        "predict_backoff": _steps(np.concatenate(given)),
        "predict_suffix": np.concatenate([[0], *links]).astype(np.int32),
        "predict_children": np.concatenate(children).astype(np.uint16),
    }


def _steps(chance: npt.NDArray[np.float64]) -> npt.NDArray[np.uint8]:
    steps: npt.NDArray[np.float64] = np.rint(-_STEPS * np.log(np.maximum(chance, 1e-12)))
    return np.clip(steps, 0, 255).astype(np.uint8)


# ---------------------------------------------------------------------- reading
class _State(NamedTuple):
    """A beginning of the word, read."""

    cost: int
    node: int
    """Where in the trie it stands."""
    stressed: bool
    """Whether a vowel with the main stress has come."""
    vowel: bool
    owes: int
    """Whether a suffix must follow: 0 no, 1 at once, 2 before the next vowel (*hoping*)."""
    ending: bool
    back: _State | None
    units: tuple[int, ...]


class _Expected(NamedTuple):
    """What the inventory says of one grapheme of a word."""

    letters: str
    at: tuple[int, ...]
    vowel: bool
    usual: frozenset[str]
    """Patterns that the letters mean by themselves there."""
    also: frozenset[str]
    """Other patterns, which the letters beside them suggest."""


def fits(item: Correspondence, letters: str, start: int, end: int) -> bool:
    """Whether a correspondence may stand at these letters of a morpheme that is no suffix."""
    rest, before = letters[end:], letters[:start]
    kind = "end" if not rest else "vowel" if rest[0] in VOWEL_LETTERS else "consonant"

    def begins(groups: tuple[str, ...]) -> bool:
        return kind in groups or rest.startswith(groups)

    places = {"": True, "start": not before, "end": not rest, "not-start": before, "not-end": rest}
    after = before.endswith(item.after) if item.after else True
    outside = begins(item.not_before) or before.endswith(item.not_after)
    return bool(places.get(item.where)) and after and not outside and (not item.before or begins(item.before))


def _plain(word: str) -> tuple[str, tuple[int, ...]]:
    """The letters from a to z, accents and apostrophes off, and where they stand; empty for a word with others."""
    base = [unicodedata.normalize("NFD", c)[0].lower() for c in word]
    places = tuple(n for n, c in enumerate(base) if c not in "'\u2019")
    letters = "".join(base[n] for n in places)
    return (letters, places) if letters.isascii() and letters.isalpha() else ("", ())


class Predictor:
    """Reads words with the arrays of :func:`train` and the inventory that they were trained under."""

    def __init__(self, arrays: Mapping[str, npt.NDArray[Any]], inventory: Inventory) -> None:
        meta = json.loads(arrays["predict_meta"].tobytes())
        self._inventory = inventory
        self._units = [_Unit("", (), "", "", "")] * 2 + [_Unit(u[0], tuple(u[1]), *u[2:]) for u in meta["units"]]
        self._seen: dict[str, dict[str, int]] = meta["seen"]
        self._tails = frozenset(meta["tails"])
        self._endings, self._middles = self._spelled(meta["endings"]), self._spelled(meta["middles"])
        self._rows: dict[str, list[Correspondence]] = defaultdict(list)
        for item in inventory.correspondences:
            self._rows[item.letters].append(item)
        self._numbers: dict[str, list[int]] = defaultdict(list)
        self._contexts: list[list[Correspondence]] = []
        for number, u in enumerate(self._units):
            if not u.unit:
                self._numbers[u.letters].append(number)
            said = [bare(s) for s in u.sounds]
            rows = (r for r in self._rows.get(u.letters, ()) if r.pattern == u.pattern)
            self._contexts.append([r for r in rows if any([bare(s) for s in form] == said for form in r.sounds)])
        self._vowel = [any(map(is_vowel, u.sounds)) for u in self._units]
        self._stressed = [any(s[-1] == "1" for s in u.sounds) for u in self._units]
        split = {name for name, pattern in inventory.patterns.items() if "-" in pattern.letters}
        self._owes = [1 + (u.pattern in split) if u.note else 0 for u in self._units]
        self._unit, self._cost, self._backoff, self._suffix = (
            memoryview(arrays[f"predict_{name}"].data) for name in ("unit", "cost", "backoff", "suffix")
        )
        self._child = memoryview(np.cumsum(np.append(1, arrays["predict_children"]), dtype=np.int64).data)

    def _spelled(self, rows: Iterable[Sequence[int]]) -> dict[str, list[tuple[int, ...]]]:
        """Sequences of units by their letters."""
        out: dict[str, list[tuple[int, ...]]] = defaultdict(list)
        for row in rows:
            out["".join(self._units[u].letters for u in row)].append(tuple(row))
        return out

    def predict(self, word: str, limit: int = 5) -> tuple[Prediction, ...]:
        """The likeliest readings, each with other graphemes or patterns; empty for letters that are not of a to z."""
        letters, places = _plain(word)
        merged: dict[tuple[Any, ...], list[_Found]] = {}
        for found in self._search(letters):
            merged.setdefault(tuple((g.at, g.pattern) for g in found[1]), []).append(found)
        rows = [(sum(share for share, _ in group), group[0][1]) for group in merged.values()]
        rows.sort(key=lambda row: -row[0])
        return tuple(_prediction(word, letters, places, row) for row in rows[:limit])

    def single_reading(self, word: str) -> Prediction | None:
        """The reading of a word that is read as it is spelled; ``None`` where a person should be asked.

        Every grapheme must have one plausible reading. Only words of one syllable, or of two that a doubled consonant
        divides, with or without suffixes that change no more of the base than that doubling: elsewhere letters alone
        cannot tell a long vowel from a short one.
        """
        letters, places = _plain(word)
        found = self._search(letters) if letters == word.lower() else []
        if not found:
            return None
        base, *suffixes = _parts(letters, found[0][1])
        notes = {g.note for g in found[0][1] if not g.unit} - {""}
        short = bool(suffixes) and suffixes[0].text[0] in VOWEL_LETTERS and must_double(base.name)
        kept = bool(suffixes) and (notes == {"doubling"} or not (notes or short))
        for seam, stem in [(len(base.text), base.name)] * kept + [(len(letters), letters)]:
            if agreed := self._agreed(found, self._expected(stem), seam, stem):
                return _prediction(word, letters, places, agreed)
        return None

    # ------------------------------------------------------------------ the search
    def _step(self, node: int, unit: int) -> tuple[int, int]:
        """The cost of a unit after the units that a node stands for, and the node after it."""
        paid = 0
        while True:
            if node < len(self._backoff):
                end = self._child[node + 1]
                found = bisect_left(self._unit, unit, self._child[node], end)
                if found < end and self._unit[found] == unit:
                    return paid + self._cost[found], found
                paid += self._backoff[node]
            if node == 0:
                return paid + 255, 0
            node = self._suffix[node]

    def _options(self, letters: str, i: int) -> Iterator[tuple[int, tuple[int, ...], int, bool]]:
        """What may stand next: where it ends, its units, whether a suffix must follow, whether it is one."""
        length = len(letters)
        for end in range(i + 1, min(i + _MAX_LETTERS, length) + 1):
            stem = letters[:end] if letters[end:] in self._tails else ""
            for unit in self._numbers.get(letters[i:end], ()):
                rows = self._contexts[unit]
                if not rows or any(fits(r, letters, i, end) for r in rows):
                    yield end, (unit,), self._owes[unit], False
                elif stem and any(fits(r, stem, i, end) for r in rows):
                    yield end, (unit,), 1, False
        for vowel in self._numbers.get(f"{letters[i]}-e", ()):
            for middle, inner in self._middles.items():
                end = i + len(middle) + 2
                if letters.startswith(f"{middle}e", i + 1) and (end == length or letters[end] not in VOWEL_LETTERS):
                    yield from ((end, (vowel, *units), 0, False) for units in inner)
        for tail, endings in self._endings.items():
            end = i + len(tail)
            if letters.startswith(tail, i) and (end == length or letters[end:] in self._tails):
                yield from ((end, units, 0, True) for units in endings)

    def _search(self, letters: str) -> list[_Found]:
        """Whole readings with their shares, the likeliest first, positions counted in ``letters``."""
        beams: list[list[_State]] = [[] for _ in range(len(letters) + 1)]
        beams[0].append(_State(0, self._step(0, _START)[1], False, False, 0, False, None, ()))
        for i in range(len(letters)):
            states = sorted(beams[i], key=lambda s: s.cost)[:_BEAM]
            beams[i] = []
            for end, *option in self._options(letters, i) if states else ():
                beams[end].extend(filter(None, (self._after(state, *option) for state in states)))
        whole = [s for s in beams[-1] if not s.owes and s.back]
        whole = [s for s in whole if s.stressed] or whole
        ended = sorted(((s.cost + self._step(s.node, _END)[0], s) for s in whole), key=lambda e: e[0])
        weights = [math.exp((ended[0][0] - cost) / _STEPS) for cost, _ in ended]
        total = sum(weights)
        return [(w / total, self._graphemes(s)) for w, (_, s) in zip(weights, ended, strict=True)]

    def _after(self, state: _State, units: tuple[int, ...], owes: int, ending: bool) -> _State | None:
        """The state after a step; ``None`` where the step may not follow."""
        cost, node, stressed, vowel = state[:4]
        if not vowel if ending else state.ending or state.owes == 1:
            return None
        for unit in units:
            paid, node = self._step(node, unit)
            cost += paid
            if (stressed and self._stressed[unit]) or (state.owes and self._vowel[unit] and not ending):
                return None
            stressed, vowel = stressed or self._stressed[unit], vowel or self._vowel[unit]
        return _State(cost, node, stressed, vowel, owes or (0 if ending else state.owes), ending, state, units)

    def _graphemes(self, state: _State) -> tuple[Grapheme, ...]:
        steps: list[tuple[int, ...]] = []
        while state.back is not None:
            steps.insert(0, state.units)
            state = state.back
        out: list[Grapheme] = []
        place = 0
        for step in steps:
            end = place + sum(len(self._units[u].letters.replace("-", "")) for u in step)
            for u in (self._units[number] for number in step):
                size = 1 if "-" in u.letters else len(u.letters)
                at = (place, end - 1) if "-" in u.letters else tuple(range(place, place + size))
                out.append(Grapheme(u.letters, at, u.sounds, u.pattern, u.note, u.unit))
                place += size
            place = end
        return tuple(out)

    # ------------------------------------------------------------------ the rules
    def _expected(self, stem: str) -> list[_Expected]:
        """The graphemes of a word as a reader divides it; none where its letters cannot tell how its vowels sound."""
        out: list[_Expected] = []
        alone, i, stop = self._inventory.alone, 0, len(stem)
        while i < stop:
            vowels, split = [n for n, e in enumerate(out) if e.vowel], f"{stem[i]}-e"
            if split in alone and self._splits(stem, i):
                stop -= 1
                end, at, letters = i + 1, (i, stop), split
            else:
                sizes = range(min(_MAX_LETTERS, stop - i), 0, -1)
                end = i + next((n for n in sizes if self._usual(stem, i, i + n, vowels)), 1)
                at, letters = tuple(range(i, end)), stem[i:end]
            rows = self._usual(stem, i, end, vowels, letters)
            rows = [r for r in rows if r.kind == "consonant"] or rows
            if not rows:
                return []
            usual = frozenset(r.pattern for r in rows if r.pattern in alone.get(letters, ()))
            also = frozenset(r.pattern for r in rows if r.before or r.after) - usual
            if rows[0].kind == "vowel" and end == len(stem):
                # open: the long sound; in a second syllable, where no sound is the letter's own, the commonest
                long = frozenset(r.pattern for r in rows if set(r.sounds) & self._said(split))
                usual = frozenset([rows[0].pattern]) if vowels and not usual else long
            out.append(_Expected(letters, at, rows[0].kind in _VOWEL_KINDS, usual, also))
            i = end
        vowels = [n for n, e in enumerate(out) if e.vowel]
        if len(vowels) == 2 and vowels[1] == vowels[0] + 2 and len(out[vowels[0]].letters) == 1:
            between = out[vowels[0] + 1].letters  # bb, ck: each letter by itself has the sound of both
            whole = self._said(between)
            divided = len(between) == 2 and bool(whole) and all(whole & self._said(c) for c in between)
        else:
            divided = len(vowels) == 1
        return out if divided and len(stem) > 1 else []

    def _usual(self, stem: str, start: int, end: int, vowels: Sequence[int], letters: str = "") -> list[Correspondence]:
        """The correspondences that a reader expects there, commonest first; a final e needs a vowel before it."""
        rows = (r for r in self._rows.get(letters or stem[start:end], ()) if r.use in _USUAL)
        fitting = (r for r in rows if fits(r, stem, start, end) and (vowels or r.kind != "final e"))
        return sorted(fitting, key=lambda r: _USUAL.index(r.use))

    def _said(self, letters: str) -> set[tuple[str, ...]]:
        """The sounds that letters have when they are taught without a keyword."""
        names = self._inventory.alone.get(letters, ())
        return {form for r in self._rows.get(letters, ()) if r.pattern in names for form in r.sounds}

    def _splits(self, stem: str, i: int) -> bool:
        """Whether a vowel letter and the last e are a split digraph: one consonant, or a digraph for one, between."""
        middle = stem[i + 1 : -1]
        digraph = any(r.kind == "consonant digraph" and not r.where for r in self._rows.get(middle, ()))
        return stem.endswith("e") and middle in self._middles and (len(middle) == 1 or digraph)

    def _spelled_alike(self, e: _Expected, stem: str) -> dict[str, float]:
        """How often each pattern stands in words spelled alike; those left out that could not stand in this one."""
        rows = self._rows[e.letters]
        fitting = {r.pattern for r in rows if fits(r, stem, e.at[0], e.at[-1] + 1)}
        others = {r.pattern for r in rows} - fitting
        seen = self._seen.get(_alike(stem, e.at, e.vowel), {})
        return {name: count for name, count in seen.items() if name not in others}

    def _agreed(self, found: list[_Found], expected: list[_Expected], seam: int, stem: str) -> _Found | None:
        """The likeliest reading that follows the rules, unless words spelled alike, or the model, disagree."""
        several = sum(e.vowel for e in expected) > 1
        weak = self._inventory.schwa_of if several else {}
        wanted: dict[tuple[int, ...], str] = {}
        for e in expected:
            model: dict[str, float] = defaultdict(float)
            for share, graphemes in found:
                if name := _patterns(graphemes).get(e.at):
                    model[weak.get(name, name)] += share
            # a rime tells nothing of a first syllable, nor of an open one that is not stressed
            silent = e.vowel and several and (e is expected[-1] or not any(o.vowel for o in expected[: e.at[0]]))
            shares = {} if silent else self._spelled_alike(e, stem)
            shares = shares or model
            best = max(sorted(e.usual | e.also), key=lambda name: shares.get(name, 0), default="")
            least = _NEARLY_ALL if e.also or not e.usual else _MOST if e.vowel and not several else 0.5
            if not best or shares.get(best, 0) < least * sum(shares.values()):
                return None
            if e.vowel and (best not in e.usual or (e.also and model[best] < _MOST)):
                return None
            wanted[e.at] = best
        rows: list[tuple[int, _Found]] = []
        for share, graphemes in found:
            names = _patterns(graphemes)
            follows = all(weak.get(names.get(at, ""), names.get(at)) == name for at, name in wanted.items())
            if wanted and follows and all(g.unit for g in graphemes if g.at[0] >= seam):
                rows.append((sum(names[at] != name for at, name in wanted.items()), (share, graphemes)))
        rows.sort(key=lambda row: row[0])
        return (sum(share for _, (share, _) in rows), rows[0][1][1]) if rows else None


def _patterns(graphemes: Sequence[Grapheme]) -> dict[tuple[int, ...], str]:
    """Patterns by the letters of the base that they stand for, a letter doubled before a suffix taken once."""
    return {g.at[:-1] if g.note == "doubling" else g.at: g.pattern for g in graphemes}


def _prediction(word: str, letters: str, places: Sequence[int], found: _Found) -> Prediction:
    share, graphemes = found
    shown: list[Grapheme] = []
    for g in graphemes:
        at = tuple(places[p] for p in g.at)
        shown.append(replace(g, letters=("-" if "-" in g.letters else "").join(word[p].lower() for p in at), at=at))
    sounds = tuple(s for g in shown for s in g.sounds)
    return Prediction(tuple(shown), sounds, _parts(letters, graphemes), share)


def _parts(letters: str, graphemes: Sequence[Grapheme]) -> tuple[Part, ...]:
    """The base and the suffixes at the end of the word."""
    groups = [list(group) for _, group in groupby(graphemes, key=lambda g: g.unit)]
    first = next((n + 1 for n in range(len(groups) - 1, -1, -1) if not groups[n][0].unit), 0)
    seam = groups[first][0].at[0] if first < len(groups) else len(letters)
    base, last = letters[:seam], groups[first - 1][-1]
    if last.note == "doubling":
        base = base[:-1]
    elif last.note == "y to i":
        base = base[: last.at[0]] + "y"
    elif any(g.note == "dropped e" for g in groups[first - 1]):
        base += "e"
    suffixes = (Part("".join(g.letters for g in group), "suffix", group[0].unit) for group in groups[first:])
    return (Part(letters[:seam], "base", base), *suffixes)
