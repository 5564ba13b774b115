"""How a word that the dictionary lacks is read: in go letters, out come readings in order of likelihood.

:func:`train` turns aligned readings into a few arrays: a language model over graphemes that carry their sounds
(interpolated Kneser-Ney n-grams, laid out as a trie). :class:`Predictor` reads a word with them: a beam search over its
letters that offers only correspondences which the inventory has and lets stand there. Its ``single_reading`` is the
stricter judgement *read as spelled*: the inventory says what each grapheme means, and words spelled alike may object.
"""

from __future__ import annotations

import json
import math
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from decodable.alignment import VOWEL_LETTERS, fits
from decodable.inventory import Inventory
from decodable.model import Correspondence, Grapheme, Part, Reading, bare, is_vowel
from decodable.morphology import must_double

# Five units do as well as six, with seven tenths of the size (as all settings here, measured on samples of hidden words
# apart from that of the standards test).
ORDER = 5
# Rarer words are mostly surnames from other languages, and mislead: without any limit 1 % more words go wrong.
LEAST_FREQUENCY = 1.5
# A log probability is kept in one byte: 1/12 nat a step reaches down to e-21.
_STEPS = 12
# Twice as many readings in hand gain 0.3 % of words for half as much time again.
_BEAM, _KEPT = 16, 100
_START, _END, _MAX_LETTERS = 0, 1, 4
# Endings, and spellings called as evidence, count when met so often; evidence only in words that a reader may know.
_LEAST_SEEN, _WELL_KNOWN = 3, 2.5
# For *read as spelled*, most words spelled alike must agree with the inventory on a vowel (*cost, host, lost, most* do
# not), fewer on a consonant, nearly all where it names neighbours that change the sound (c before e is sure, g is not);
# and the model must find the whole conceivable.
_MOST, _MORE, _NEARLY_ALL, _CONCEIVABLE = 0.75, 0.6, 0.9, 0.05
_USUAL = ("main", "often")
_VOWEL_KINDS = ("vowel", "split digraph", "vowel team", "r-controlled", "consonant-le")

_Array: TypeAlias = npt.NDArray[Any]
_Found: TypeAlias = tuple[float, tuple[Grapheme, ...]]


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
    """Its share among the readings found, 0 to 1, whatever the stress and the choice among sounds taught as one."""


# ---------------------------------------------------------------------- training
def train(words: Iterable[tuple[Reading, float]]) -> dict[str, _Array]:
    """Count graphemes in context, in the first reading of each word, which comes with the word's Zipf frequency.

    Returns arrays for :class:`Predictor`. The trie has n nodes: the root, then all sequences of one unit, of two ...;
    m of them are shorter than the longest. ``predict_meta`` u1, JSON; ``predict_unit`` u2 [n]; ``predict_cost`` u1 [n]
    and ``predict_backoff`` u1 [m], negative log probabilities in steps; ``predict_suffix`` i4 [n], the node without its
    first unit; ``predict_children`` u2 [m], how many nodes continue this one.
    """
    numbers, sequences, tails = dict[Grapheme, int](), list[list[int]](), Counter[str]()
    endings, middles, seen = (defaultdict[str, Counter[Any]](Counter) for _ in range(3))
    for reading, frequency in words:
        if frequency < LEAST_FREQUENCY or not reading.word.isalpha():
            continue
        graphemes = sorted(reading.graphemes, key=lambda g: g.at)
        # a suffix's graphemes are units of their own; a prefix is spelled like any other letters
        units = [replace(g, at=()) for g in graphemes]
        units = [u if u.unit[:1] in ("", "-") else replace(u, note="", unit="") for u in units]
        row = [numbers.setdefault(u, len(numbers) + 2) for u in units]
        sequences.append([_START, *row, _END])
        for g in graphemes:
            if "-" in g.letters:
                inside = [n for n, o in zip(row, graphemes, strict=True) if g.at[0] < o.at[0] < g.at[1]]
                middles[reading.word[g.at[0] + 1 : g.at[1]]][tuple(inside)] += 1
        groups, tail = [tuple(group) for _, group in groupby(units, key=lambda u: u.unit)], ""
        while groups and groups[-1][0].unit:
            ending = groups.pop()
            letters = "".join(u.letters for u in ending)
            endings[letters][tuple(numbers[u] for u in ending)] += 1
            tail = letters + tail
            tails[tail] += 1
        seam = sum(p.kind != "suffix" for p in reading.parts) > 1
        if frequency >= _WELL_KNOWN and not seam and not any(u.note for u in units):
            one = sum(map(is_vowel, reading.sounds)) == 1
            for g in graphemes:
                vowel = any(map(is_vowel, g.sounds))
                if one or not vowel:
                    seen[_alike(reading.word, g.at, vowel)][g.pattern] += 1
                if one and vowel and g.at[0] + 1 < len(reading.word):
                    seen[g.letters][g.pattern] += 1
    meta = {
        "units": [[u.letters, u.sounds, u.pattern, u.note, u.unit] for u in numbers],
        "tails": [tail for tail, n in sorted(tails.items()) if n >= _LEAST_SEEN],
        "middles": {k: sorted(found) for k, found in sorted(middles.items())},
        "endings": {k: sorted(e for e, n in v.items() if n >= _LEAST_SEEN) for k, v in sorted(endings.items())},
        "seen": {k: dict(sorted(v.items())) for k, v in sorted(seen.items()) if v.total() >= _LEAST_SEEN},
    }
    text = json.dumps(meta, ensure_ascii=False, separators=(",", ":")).encode()
    return {"predict_meta": np.frombuffer(text, np.uint8), **_trie(sequences, len(numbers) + 2)}


def _alike(letters: str, at: Sequence[int], vowel: bool) -> str:
    """What spells alike: for a vowel the letters to the end (the rime), for a consonant itself and its neighbour."""
    after = letters[at[-1] + 1 : at[-1] + 3]
    after = after[: 1 if after[:1] in VOWEL_LETTERS else 2]
    before = "<" if at[0] == 0 else "" if after else letters[at[0] - 1]
    return f"-{letters[at[0] :]}" if vowel else f"{before}|{letters[at[0] : at[-1] + 1]}|{after}"


def _trie(sequences: Sequence[Sequence[int]], size: int) -> dict[str, _Array]:
    """Probabilities by interpolated Kneser-Ney smoothing with three discounts, as arrays."""
    lengths = np.array([len(s) for s in sequences], np.int64)
    flat = np.fromiter((u for s in sequences for u in s), np.int64, int(lengths.sum()))
    left = np.repeat(np.cumsum(lengths), lengths) - np.arange(len(flat))
    # for each length all sequences, sorted: the number of each without its last unit, that unit, the count
    levels = [(np.zeros(size, np.int64), np.arange(size), np.bincount(flat, minlength=size))]
    suffix: list[_Array] = [levels[0][0]]
    place, number = np.arange(len(flat)), flat
    for k in range(1, ORDER):
        place, number = place[left[place] > k], number[left[place] > k]
        keys = number * size + flat[place + k]
        keys, number, count = np.unique(keys, return_inverse=True, return_counts=True)
        parent, unit = keys // size, keys % size
        shorter = levels[-1][0] * size + levels[-1][1]
        suffix.append(unit if k == 1 else np.searchsorted(shorter, suffix[-1][parent] * size + unit))
        levels.append((parent, unit, count))
    chances, given, opening = [np.array([1 / size])], list[_Array](), 0
    for k, (parent, _, times) in enumerate(levels):
        counts = times.astype(np.float64)
        # what counts is how many units a shorter sequence follows, unless it opens a word: those come first
        opening = int(np.searchsorted(parent, max(opening, 1))) if k else 0
        if k + 1 < ORDER:
            counts[opening:] = np.bincount(suffix[k + 1], minlength=len(counts))[opening:]
        n = [max(float(np.sum(counts == c)), 1.0) for c in (1, 2, 3, 4)]
        share = n[0] / (n[0] + 2 * n[1])
        discounts = np.array([0.0, *(max(c - (c + 1) * share * n[c] / n[c - 1], 0.1) for c in (1, 2, 3))])
        discount = discounts[np.minimum(counts, 3).astype(np.int64)]
        above = len(levels[k - 1][0]) if k else 1
        total = np.maximum(np.bincount(parent, counts, above), 1)
        given.append(np.bincount(parent, discount, above) / total)
        chances.append(np.maximum(counts - discount, 0) / total[parent] + given[k][parent] * chances[k][suffix[k]])
    starts = np.cumsum([1, *(len(level[0]) for level in levels)])
    children = [np.bincount(parent, minlength=len(g)) for (parent, _, _), g in zip(levels, given, strict=True)]
    links = [s + (starts[k - 1] if k else 0) for k, s in enumerate(suffix)]
    costs, backoffs = (-_STEPS * np.log(np.maximum(np.concatenate(c), 1e-12)) for c in (chances, given))
    return {
        "predict_unit": np.concatenate([[0], *(unit for _, unit, _ in levels)]).astype(np.uint16),
        "predict_cost": np.clip(np.rint(costs), 0, 255).astype(np.uint8),
        "predict_backoff": np.clip(np.rint(backoffs), 0, 255).astype(np.uint8),
        "predict_suffix": np.concatenate([[0], *links]).astype(np.int32),
        "predict_children": np.concatenate(children).astype(np.uint16),
    }


# ---------------------------------------------------------------------- reading
class _State(NamedTuple):
    """A beginning of the word, read. ``owes``: 1 if a suffix must follow, 2 if before the next vowel (*hoping*)."""

    cost: int = 0
    node: int = 0
    stressed: bool = False
    vowel: bool = False
    owes: int = 0
    ending: bool = False
    end: int = 0
    units: Sequence[int] = ()
    back: _State | None = None


class _Expected(NamedTuple):
    """One grapheme by the inventory: the patterns its letters mean by themselves, those their neighbours suggest."""

    letters: str
    at: tuple[int, ...]
    vowel: bool
    usual: set[str]
    also: set[str]


class Predictor:
    """Reads words with the arrays of :func:`train` and the inventory that they were trained under."""

    def __init__(self, arrays: Mapping[str, _Array], inventory: Inventory) -> None:
        meta = json.loads(arrays["predict_meta"].tobytes())
        self._inventory = inventory
        self._units = [Grapheme(u[0], (), tuple(u[1]), *u[2:]) for u in [("", (), "")] * 2 + meta["units"]]
        self._seen, self._tails = meta["seen"], frozenset(meta["tails"])
        self._endings, self._middles = meta["endings"], meta["middles"]
        self._rows: dict[str, list[Correspondence]] = defaultdict(list)
        for row in inventory.correspondences:
            self._rows[row.letters].append(row)
        digraphs = (r for r in inventory.correspondences if (r.kind, r.where) == ("consonant digraph", ""))
        self._digraphs = {r.letters for r in digraphs}
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

    def predict(self, word: str, limit: int = 5) -> tuple[Prediction, ...]:
        """The likeliest readings, each with other graphemes or patterns; empty for letters that are not of a to z."""
        merged: dict[tuple[Any, ...], list[_Found]] = defaultdict(list)
        for found in self._search(word.lower()):
            merged[tuple((g.at, g.pattern) for g in found[1])].append(found)
        rows = [(sum(share for share, _ in group), group[0][1]) for group in merged.values()]
        return tuple(_prediction(word.lower(), row) for row in sorted(rows, key=lambda row: -row[0])[:limit])

    def single_reading(self, word: str) -> Prediction | None:
        """The reading of a word that is read as it is spelled; ``None`` where a person should be asked.

        Only words of one syllable, or of two that a doubled consonant divides, and suffixes that change no more of the
        base than that doubling: elsewhere letters alone cannot tell a long vowel from a short one.
        """
        letters = word.lower()
        found = self._search(letters)
        stems = {len(letters): letters}
        for graphemes in (graphemes for share, graphemes in found if share >= _CONCEIVABLE):
            base, *suffixes = _parts(letters, graphemes)
            notes = {g.note for g in graphemes if not g.unit} - {""}
            undoubled = suffixes and suffixes[0].text[0] in VOWEL_LETTERS and must_double(base.name[-3:])
            if notes == {"doubling"} or not (notes or undoubled):
                stems[len(base.text)] = base.name
        agreed = [self._agreed(found, self._expected(stem), seam, stem) for seam, stem in stems.items()]
        best = max(filter(None, agreed), key=lambda reading: reading[0], default=None)
        return _prediction(letters, best) if best and best[0] >= _CONCEIVABLE else None

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

    def _options(self, letters: str, i: int) -> Iterator[tuple[int, Sequence[int], int, bool]]:
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
        """Whole readings with their shares, the likeliest first."""
        if not (letters.isascii() and letters.isalpha()):
            return []
        beams: list[list[_State]] = [[] for _ in range(len(letters) + 1)]
        beams[0].append(_State(node=self._step(0, _START)[1]))
        for i in range(len(letters)):
            states = sorted(beams[i], key=lambda s: s.cost)[:_BEAM]
            beams[i] = []
            for end, units, owes, ending in self._options(letters, i) if states else ():
                beams[end].extend(filter(None, (self._after(s, units, owes, ending, end) for s in states)))
        whole = [s for s in beams[-1] if not s.owes]
        whole = [s for s in whole if s.stressed] or [s for s in whole if not s.vowel]
        ended = sorted(((s.cost + self._step(s.node, _END)[0], s) for s in whole), key=lambda e: e[0])
        total = sum(math.exp((ended[0][0] - cost) / _STEPS) for cost, _ in ended)
        return [(math.exp((ended[0][0] - cost) / _STEPS) / total, self._graphemes(s)) for cost, s in ended[:_KEPT]]

    def _after(self, state: _State, units: Sequence[int], owes: int, ending: bool, end: int) -> _State | None:
        """The state after a step; ``None`` where the step may not follow."""
        cost, node, stressed, vowel, owed, *_ = state
        if not vowel if ending else state.ending or owed == 1:
            return None
        for unit in units:
            paid, node = self._step(node, unit)
            cost += paid
            if (stressed and self._stressed[unit]) or (owed and self._vowel[unit] and not ending):
                return None
            stressed, vowel = stressed or self._stressed[unit], vowel or self._vowel[unit]
        return _State(cost, node, stressed, vowel, owes or (0 if ending else owed), ending, end, units, state)

    def _graphemes(self, state: _State) -> tuple[Grapheme, ...]:
        out: list[Grapheme] = []
        while state.back is not None:
            place, group = state.back.end, []
            for unit in state.units:
                u = self._units[unit]
                split = "-" in u.letters
                end = place + (1 if split else len(u.letters))
                at = (place, state.end - 1) if split else range(place, end)
                group.append(replace(u, at=tuple(at)))
                place = end
            out[:0] = group
            state = state.back
        return tuple(out)

    def _expected(self, stem: str) -> list[_Expected]:
        """The graphemes of a word as a reader divides it; none where its letters cannot tell how its vowels sound."""
        out, vowels = list[_Expected](), list[int]()
        alone, i, stop = self._inventory.alone, 0, len(stem)
        while i < stop:
            split, inside = f"{stem[i]}-e", stem[i + 1 : -1] if stem[-1] == "e" else ""
            if split in alone and inside in self._middles and (len(inside) == 1 or inside in self._digraphs):
                letters, stop = split, stop - 1
            else:
                sizes = range(min(_MAX_LETTERS, stop - i), 0, -1)
                letters = next((w for n in sizes if self._usual(w := stem[i : i + n], stem, i, bool(vowels))), "")
            at = (i, stop) if letters == split else tuple(range(i, i + len(letters)))
            rows = self._usual(letters, stem, i, bool(vowels))
            rows = [r for r in rows if r.kind == "consonant"] or rows
            if not rows:
                return []
            usual = {r.pattern for r in rows if r.pattern in alone.get(letters, ())}
            also = {r.pattern for r in rows if r.before or r.after} - usual
            if rows[0].kind == "vowel" and at[-1] + 1 == len(stem):
                # open: the long sound; in a second syllable, where no sound is the letter's own, the commonest
                long = {r.pattern for r in rows if set(r.sounds) & self._said(split)}
                usual = {rows[0].pattern} if vowels and not usual else long
            if rows[0].kind in _VOWEL_KINDS:
                vowels.append(len(out))
            out.append(_Expected(letters, at, rows[0].kind in _VOWEL_KINDS, usual, also))
            i += 1 if letters == split else len(letters)
        known = len(vowels) == 1
        if len(vowels) == 2 and vowels[1] == vowels[0] + 2 and len(out[vowels[0]].letters) == 1:
            between = out[vowels[0] + 1].letters  # bb, ck: each letter by itself has the sound of both
            known = len(between) == 2 and all(self._said(between) & self._said(c) for c in between)
        return out if known and len(stem) > 1 else []

    def _usual(self, letters: str, stem: str, start: int, vowel: bool) -> list[Correspondence]:
        """The correspondences that a reader expects there, commonest first. A consonant's e is seen only at the end."""
        end = start + (1 if "-" in letters else len(letters))
        rows = (r for r in self._rows.get(letters, ()) if r.use in _USUAL and (vowel or r.kind != "final e"))
        if letters[-1:] in VOWEL_LETTERS and stem[end : end + 1] not in ("", *VOWEL_LETTERS):
            rows = (r for r in rows if r.kind in _VOWEL_KINDS)
        return sorted((r for r in rows if fits(r, stem, start, end)), key=lambda r: _USUAL.index(r.use))

    def _said(self, letters: str) -> set[tuple[str, ...]]:
        """The sounds that letters have when they are taught without a keyword."""
        names = self._inventory.alone.get(letters, ())
        return {form for r in self._rows.get(letters, ()) if r.pattern in names for form in r.sounds}

    def _agreed(self, found: list[_Found], expected: list[_Expected], seam: int, stem: str) -> _Found | None:
        """The likeliest reading that follows the rules, unless words spelled alike, or the model, disagree."""
        vowels = [e for e in expected if e.vowel]
        weak = self._inventory.schwa_of if len(vowels) > 1 else {}
        patterns = [
            (share, {g.at[:-1] if g.note == "doubling" else g.at: g.pattern for g in graphemes})
            for share, graphemes in found
        ]
        wanted: dict[tuple[int, ...], str] = {}
        for e in expected:
            model: dict[str, float] = defaultdict(float)
            for share, names in patterns:
                if e.at in names:
                    model[weak.get(names[e.at], names[e.at])] += share
            # a rime tells nothing of a first syllable, nor of an open one without stress
            apart = weak and e.vowel and (e is vowels[0] or e is expected[-1])
            keys = () if apart else (_alike(stem, e.at, e.vowel), e.letters if e.vowel else "")
            seen: dict[str, int] = next((self._seen[key] for key in keys if key in self._seen), {})
            stands = {r.pattern for r in self._rows[e.letters] if fits(r, stem, e.at[0], e.at[-1] + 1)}
            barred = {r.pattern for r in self._rows[e.letters]} - stands
            shares = {name: n for name, n in seen.items() if name not in barred or name in e.usual} or model
            name = max(sorted(e.usual | e.also), key=lambda name: shares.get(name, 0), default="")
            share, others = shares.get(name, 0), sum(shares.values()) - shares.get(name, 0)
            least = _NEARLY_ALL if e.also or not e.usual else _MOST if e.vowel and shares is not model else _MORE
            rivals = shares is model or others > 1  # one word alone is no rival
            doubted = e.vowel and (name not in e.usual or (e.also and model[name] < _MOST))
            if doubted or not share or (rivals and share < least * (share + others)):
                return None
            wanted[e.at] = name
        follow = [
            (sum(names[at] == name for at, name in wanted.items()), share, graphemes)
            for (share, names), (_, graphemes) in zip(patterns, found, strict=True)
            if all(at in names and weak.get(names[at], names[at]) == name for at, name in wanted.items())
            and all(g.unit for g in graphemes if g.at[0] >= seam)
        ]
        best = max(follow, key=lambda f: f[:2], default=None) if wanted else None
        return (sum(f[1] for f in follow), best[2]) if best else None


def _prediction(letters: str, found: _Found) -> Prediction:
    share, graphemes = found
    return Prediction(graphemes, tuple(s for g in graphemes for s in g.sounds), _parts(letters, graphemes), share)


def _parts(letters: str, graphemes: Sequence[Grapheme]) -> tuple[Part, ...]:
    """The base and the suffixes at the end of the word."""
    groups = [list(group) for _, group in groupby(graphemes, key=lambda g: g.unit)]
    out: list[Part] = []
    end = len(letters)
    while groups[-1][0].unit:
        start = groups[-1][0].at[0]
        out.insert(0, Part(letters[start:end], "suffix", groups.pop()[0].unit))
        end = start
    base, last = letters[:end], groups[-1][-1]
    if last.note == "doubling":
        base = base[:-1]
    elif last.note == "y to i":
        base = letters[: last.at[0]] + "y"
    elif any(g.note == "dropped e" for g in groups[-1]):
        base += "e"
    return (Part(letters[:end], "base", base), *out)
