"""Syllables and shapes: where a word divides, what type each syllable is, how many consonants stand around its vowel.

In go aligned graphemes and morphemes, and ``rules/syllables.toml``; out come :class:`~decodable.model.Syllable` spans of
letters and a shape such as ``CVC.CVC``. Shapes are counted on the stem, in sounds as taught: a digraph, qu, x and a vowel
with its /y/ are one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeAlias

from decodable import resources
from decodable.inventory import parse_sounds
from decodable.model import VOWEL_SOUNDS, Grapheme, Part, Syllable, bare
from decodable.rules import RuleFile, expect_keys, read_toml

Stems: TypeAlias = list[tuple[list[Grapheme], Grapheme, list[Grapheme]]]
_VOWEL_LETTERS = frozenset("aeiou")
_VOWELS_OR_Y = _VOWEL_LETTERS | {"y"}


# ---------------------------------------------------------------- the rules
@dataclass(frozen=True, slots=True)
class SyllableRules:
    """``rules/syllables.toml``, read."""

    short: frozenset[str]
    """Vowel sounds after which, stressed, a consonant closes the syllable."""
    weak: frozenset[str]
    """Unstressed vowel sounds, digit included, that let a blend go on."""
    half_stress: frozenset[str]
    """Vowel sounds that close nothing with half a stress, unless the main stress comes later."""
    half_stress_never: frozenset[str]
    """Letters of these that are weak even then."""
    open: Mapping[str, str]
    """Correspondences that end their syllable though their sound is among the short ones; of which sound, or ""."""
    blends: frozenset[str]
    """Consonants that begin a syllable together, joined."""
    s_goes_on_after: frozenset[str]
    """Unstressed vowel letters after which a blend with s begins a stressed syllable."""
    s_stays_after_first: frozenset[str]
    """Those of them after which it does not where they begin the word."""
    silent_e_goes_on_before: tuple[str, ...]
    """Letters before which an e that is not heard belongs to the next syllable."""
    stay: frozenset[str]
    """Graphemes that never begin a syllable."""
    stay_sounds: frozenset[str]
    """Consonant sounds that never do."""
    go_on: frozenset[str]
    """Graphemes that begin a syllable even after a short vowel."""
    divided: Mapping[str, tuple[int, bool]]
    """Graphemes that divide: after how many of their letters, and whether only after a short stressed vowel."""


_LISTS = {
    "": ("short", "weak"),
    "half_stress": ("sounds", "never"),
    "blends": ("begin", "s_goes_on_after", "s_stays_after_first"),
    "silent_e": ("goes_on_before",),
    "stay": ("letters", "sounds"),
    "go_on": ("letters",),
}
_TABLES = ("title", "short", "weak", "half_stress", "open", "blends", "silent_e", "stay", "go_on", "divided")


def load_syllable_rules(path: Path) -> SyllableRules:
    """Read and check ``syllables.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    expect_keys(file, 1, file.data, _TABLES, "the file")
    lists = {f"{table}.{key}": _list(file, table, key) for table, keys in _LISTS.items() for key in keys}
    for table in ("half_stress", "blends", "silent_e", "stay", "go_on"):
        expect_keys(file, file.line_of(table), file.data.get(table, {}), _LISTS[table], repr(table))
    for name in (".short", ".weak", "half_stress.sounds", "stay.sounds"):
        for sound in lists[name]:
            _sound(file, file.line_of(f'"{sound}"'), sound, vowel=name != "stay.sounds")
    rules = SyllableRules(
        short=lists[".short"],
        weak=lists[".weak"],
        half_stress=lists["half_stress.sounds"],
        half_stress_never=lists["half_stress.never"],
        open=MappingProxyType(dict(_open(file))),
        blends=lists["blends.begin"],
        s_goes_on_after=lists["blends.s_goes_on_after"],
        s_stays_after_first=lists["blends.s_stays_after_first"],
        silent_e_goes_on_before=tuple(sorted(lists["silent_e.goes_on_before"])),
        stay=lists["stay.letters"],
        stay_sounds=lists["stay.sounds"],
        go_on=lists["go_on.letters"],
        divided=MappingProxyType(dict(_divided(file))),
    )
    file.check()
    return rules


def _list(file: RuleFile, table: str, key: str) -> frozenset[str]:
    holder = file.data.get(table, {}) if table else file.data
    found = holder.get(key) if isinstance(holder, dict) else None
    if not isinstance(found, list) or not all(isinstance(item, str) and item for item in found):
        file.fault(file.line_of(key), f"{f'{table}.' if table else ''}{key} should be a list of texts, not {found!r}")
        return frozenset()
    return frozenset(found)


def _sound(file: RuleFile, line: int, sound: str, *, vowel: bool) -> None:
    try:
        (said,) = parse_sounds(sound)
    except ValueError as error:
        file.fault(line, str(error))
        return
    if (bare(said) in VOWEL_SOUNDS) != vowel:
        file.fault(line, f"{sound!r} should be a {'vowel' if vowel else 'consonant'} sound")


def _open(file: RuleFile) -> Iterator[tuple[str, str]]:
    for table, line in zip(file.data.get("open", []), file.header_lines("open"), strict=True):
        expect_keys(file, line, table, ("pattern", "sound"), "an open vowel")
        pattern, sound = table.get("pattern", ""), table.get("sound", "")
        if " as in " not in pattern:
            file.fault(line, f'pattern should be a correspondence such as "a as in father", not {pattern!r}')
        if sound:
            _sound(file, line, sound, vowel=True)
        yield pattern, sound


def _divided(file: RuleFile) -> Iterator[tuple[str, tuple[int, bool]]]:
    for table, line in zip(file.data.get("divided", []), file.header_lines("divided"), strict=True):
        expect_keys(file, line, table, ("letters", "after", "short", "as"), "a grapheme that divides")
        letters, after = table.get("letters", ""), table.get("after", 0)
        if not isinstance(after, int) or not 0 < after <= len(letters):
            file.fault(line, f"{letters!r} should divide after 1 to {len(letters)} of its letters, not {after!r}")
        elif not table.get("as"):
            file.fault(line, f'{letters!r} needs a word that shows it: as = "..."')
        yield letters, (after, bool(table.get("short", False)))


@cache
def _shipped() -> SyllableRules:
    return load_syllable_rules(resources.rules_dir() / "syllables.toml")


# ---------------------------------------------------------------- where a word divides
def nucleus(g: Grapheme) -> bool:
    """Whether the grapheme holds a vowel sound."""
    for sound in g.sounds:  # noqa: SIM110 (asked for every grapheme of the dictionary)
        if sound[-1] in "012":
            return True
    return False


def breaks(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> list[int]:
    """Letter positions at which a new syllable begins (the first, 0, left out)."""
    ordered = sorted((g for g in graphemes if g.at), key=lambda g: g.at[0])
    centres = [i for i, g in enumerate(ordered) if nucleus(g)]
    if len(centres) < 2:
        return []
    seams = _seams(parts)
    return [_break(_shipped(), word, ordered, left, right, seams) for left, right in pairwise(centres)]


@dataclass(frozen=True, slots=True)
class _Seam:
    at: int
    """The position of the first letter after it."""
    vowel: bool
    """Whether a suffix with a vowel comes after it."""
    merged: bool
    """Whether that suffix shares a letter with the base: *final-ly*, *simp-ly*. The word does not divide there."""
    le: bool
    """Whether the base ends in -le and has lost its e: *handl-ing*, *simpl-y*."""


def _seams(parts: Sequence[Part]) -> list[_Seam]:
    at, out = 0, []
    for base, part in pairwise(parts):
        at += len(base.text)
        added = part.kind in ("suffix", "contraction")
        out.append(
            _Seam(
                at,
                vowel=added and part.text[:1] in "aeiouy'",
                merged=part.kind == "suffix" and _merged(part),
                le=base.name.endswith("le") and base.name.removeprefix("-") == base.text + "e",
            )
        )
    return out


def _merged(suffix: Part) -> bool:
    """Whether a suffix has lost its first letter to the base."""
    letters = suffix.name.removeprefix("-")
    return len(suffix.text) < len(letters) and not letters.startswith(suffix.text)


def _break(
    rules: SyllableRules, word: str, ordered: Sequence[Grapheme], left: int, right: int, seams: Sequence[_Seam]
) -> int:
    """Where the syllable of the vowel ``ordered[right]`` begins."""
    vowel, following = ordered[left], ordered[right]
    low, high = vowel.at[-1] + 1, following.at[0]
    between = [g for g in ordered[left + 1 : right] if g.at[0] >= low]
    heard = [g for g in between if g.sounds]
    le = following.letters in ("le", "l") and len(following.sounds) == 2
    for seam in reversed(seams):
        if not low <= seam.at <= high:
            continue
        if seam.le and len(heard) > 1 and heard[-1].letters == "l":
            heard, le = heard[:-1], True
        elif not seam.merged and not (seam.vowel and seam.at < high):
            return next(
                (g.at[-1] for g in (vowel, *heard) if g.note == "doubling" and g.at[-1] == seam.at - 1), seam.at
            )
    if len(following.sounds) > 1 and not le and not _VOWELS_OR_Y & set(following.letters):
        return high  # the m of rhyth-m
    if not heard:
        return _without_consonant(vowel, between, high)
    if le:
        return _inside(rules, heard[-1], short=True) or _one(rules, heard[-1], closes=False)
    for n, g in enumerate(heard):
        if _doubled(g) and (
            n == len(heard) - 1 or _begin(rules, heard[n:], len(g.letters) - 1) or _glide(heard[n + 1])
        ):
            return g.at[0] + 1
    silent = _silent_vowel(between)
    if silent is not None:
        after = [g for g in between[silent + 1 :] if g.sounds]
        if after and not _silent_goes_on(rules, word, between[silent], after):
            return after[_first_together(rules, after, 0)].at[0]
        heard = [g for g in between[:silent] if g.sounds]
    if _glide(heard[-1]) and len(heard) > 1:
        heard = heard[:-1]
    closes = _closes(rules, ordered, left, right)
    if len(heard) == 1:
        return _inside(rules, heard[0], short=closes) or _one(rules, heard[0], closes=closes)
    return (
        _inside(rules, heard[-1], short=False)
        or heard[_first_of_next(rules, ordered, left, right, heard, closes)].at[0]
    )


def _without_consonant(vowel: Grapheme, silent: Sequence[Grapheme], high: int) -> int:
    """No consonant is heard between two vowels: *li-on, ve-hi-cle*; the r of an r-controlled vowel divides: *hur-ry*."""
    doubled = vowel.letters.find("rr")
    if doubled >= 0:
        return vowel.at[doubled] + 1
    return next((g.at[0] for g in silent if g.letters[0] not in _VOWEL_LETTERS), high)


def _doubled(g: Grapheme) -> bool:
    return len(g.letters) > 1 and g.letters[0] == g.letters[1]


def _glide(g: Grapheme) -> bool:
    """Whether it is a vowel letter said as a consonant: the i of *onion*, the u of *language*."""
    return g.letters[0] in _VOWEL_LETTERS


def _begin(rules: SyllableRules, consonants: Sequence[Grapheme], skipped: int = 0) -> bool:
    """Whether consonants, the first ``skipped`` letters apart, begin a syllable together."""
    return "".join([g.letters for g in consonants])[skipped:] in rules.blends


def _silent_vowel(between: Sequence[Grapheme]) -> int | None:
    """Which grapheme is a vowel letter that is not heard, after a consonant that is."""
    heard = False
    for n, g in enumerate(between):
        if not g.sounds and heard and g.letters[0] in _VOWEL_LETTERS:
            return n
        heard = heard or bool(g.sounds)
    return None


def _silent_goes_on(rules: SyllableRules, word: str, vowel: Grapheme, after: Sequence[Grapheme]) -> bool:
    """Whether a vowel letter that is not heard belongs to the next syllable: *ev-ery*, not *vine-yard, wednes-day*."""
    if vowel.letters == "e" and not word.startswith(rules.silent_e_goes_on_before, vowel.at[-1] + 1):
        return False
    return len(after) < 2 or _begin(rules, after)


def _closes(rules: SyllableRules, ordered: Sequence[Grapheme], left: int, right: int) -> bool:
    """Whether a consonant closes the syllable of the vowel: it is short, and stressed."""
    vowel = ordered[left]
    sound = vowel.sounds[-1]
    if sound[-1] not in "12" or sound[:-1] not in rules.short or _listed_open(rules, vowel):
        return False
    if sound[-1] == "1" or sound[:-1] not in rules.half_stress:
        return True
    earlier = any(s[-1] == "1" for g in ordered[:left] for s in g.sounds)
    return vowel.letters not in rules.half_stress_never and not earlier and ordered[right].sounds[-1][-1] == "0"


def _listed_open(rules: SyllableRules, vowel: Grapheme) -> bool:
    sound = rules.open.get(vowel.pattern)
    return sound is not None and sound in ("", bare(vowel.sounds[-1]))


def _inside(rules: SyllableRules, consonant: Grapheme, *, short: bool) -> int:
    """Where a grapheme divides; 0 where it does not. ``short``: a short stressed vowel comes before it."""
    if _doubled(consonant):
        return consonant.at[0] + 1
    after, only_short = rules.divided.get(consonant.letters, (0, False))
    return consonant.at[0] + after if after and (short or not only_short) else 0


def _one(rules: SyllableRules, consonant: Grapheme, *, closes: bool) -> int:
    """Before or after a single consonant."""
    if consonant.letters in rules.stay or consonant.sounds[0] in rules.stay_sounds:
        return consonant.at[-1] + 1
    return consonant.at[-1] + 1 if closes and consonant.letters not in rules.go_on else consonant.at[0]


def _first_of_next(
    rules: SyllableRules,
    ordered: Sequence[Grapheme],
    left: int,
    right: int,
    consonants: Sequence[Grapheme],
    closes: bool,
) -> int:
    """Which of several consonants begins the next syllable."""
    sound = ordered[left].sounds[-1]
    coloured = sound[-1] not in "012" or sound[:-1] == "ER"
    weak = sound in rules.weak or sound[:-1] not in rules.short or sound[:-1] in rules.half_stress
    goes_on = coloured or (
        not closes
        and (weak or _listed_open(rules, ordered[left]))
        and (consonants[0].letters[0] != "s" or _s_goes_on(rules, ordered, left, right, len(consonants)))
    )
    return _first_together(rules, consonants, 0 if goes_on else 1)


def _first_together(rules: SyllableRules, consonants: Sequence[Grapheme], first: int) -> int:
    """The first consonant, from ``first`` on, that begins a syllable together with all those after it."""
    last = len(consonants) - 1
    return next((n for n in range(first, last) if _begin(rules, consonants[n:])), last)


def _s_goes_on(rules: SyllableRules, ordered: Sequence[Grapheme], left: int, right: int, consonants: int) -> bool:
    """Whether a blend with s begins the next syllable: *a-sleep, re-spect*, not *es-cape, min-is-ter*."""
    vowel = ordered[left]
    if vowel.letters not in rules.s_goes_on_after or vowel.sounds[-1][-1] == "1":
        return False
    if vowel.at[0] == 0 and vowel.letters in rules.s_stays_after_first:
        return False
    stresses = {s[-1] for s in ordered[right].sounds}
    first_syllable = not any(nucleus(g) for g in ordered[:left])
    return "1" in stresses or ("2" in stresses and (first_syllable or consonants > 2))


# ---------------------------------------------------------------- syllables
def syllabify(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> tuple[Syllable, ...]:
    """The syllables of a word; an empty tuple where it has no vowel sound."""
    centres = [g for g in sorted(graphemes, key=lambda g: g.at[0]) if nucleus(g)]
    if not centres:
        return ()
    edges = [0, *breaks(word, graphemes, parts), len(word)]
    out: list[Syllable] = []
    for g, start, end in zip(centres, edges[:-1], edges[1:], strict=True):
        stressed = any(s[-1] in "12" for s in g.sounds)
        out.append(Syllable(start, end, _kind(g, graphemes, end), stressed))
    return tuple(out)


def _kind(g: Grapheme, graphemes: Sequence[Grapheme], end: int) -> str:
    if g.letters == "le":
        return "-le"
    if "-" in g.pattern.split(" ")[0]:
        return "split e"
    if any(bare(s) in ("ER", "R") for s in g.sounds):
        return "r-controlled"
    if len(g.letters.strip("'")) > 1:
        return "vowel team"
    closed = any(o.at[0] > g.at[-1] and o.at[0] < end and o.sounds and not nucleus(o) for o in graphemes)
    return "closed" if closed else "open"


def stem_syllables(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> Stems:
    """Onset, vowel and coda graphemes of each syllable of the stem (suffixes and contracted endings left out)."""
    stem = [g for g in sorted(graphemes, key=lambda g: g.at[0]) if not _affixed(g, parts)]
    kept = [g for g in stem if g.sounds]
    centres = [i for i, g in enumerate(kept) if nucleus(g)]
    if not centres:
        return []
    edges = [0, *breaks(word, stem, parts), len(word)]
    silent = [g.at[0] for g in stem if not g.sounds and g.letters[0] in _VOWEL_LETTERS]
    out: list[tuple[list[Grapheme], Grapheme, list[Grapheme]]] = []
    onset = kept[: centres[0]]
    for n, centre in enumerate(centres):
        last = n == len(centres) - 1
        between = kept[centre + 1 :] if last else kept[centre + 1 : centres[n + 1]]
        coda = [g for g in between if not _lost_le(g)]
        following: list[Grapheme] = []
        if not last:
            coda, following = _shared(coda, edges[n + 1], [p for p in silent if p < kept[centres[n + 1]].at[0]])
        out.append((onset, kept[centre], coda))
        onset = following
    return out


def _shared(consonants: Sequence[Grapheme], edge: int, silent: Sequence[int]) -> tuple[list[Grapheme], list[Grapheme]]:
    """The consonants heard before and after the break at ``edge``; ``silent``: where vowel letters are not heard.

    A letter doubled across the break, and a consonant before a vowel letter that is not heard (*gro-cery*), closes the
    syllable before it, unless another consonant does. A glide is one with the consonant with which it begins a syllable.
    """
    heard_edge = max((p for p in silent if p >= edge), default=edge)
    before: list[Grapheme] = []
    after: list[Grapheme] = []
    for g in consonants:
        if g.at[-1] < edge or (g.at[0] < heard_edge and not before):
            before.append(g)
        elif not (after and _glide(g)):
            after.append(g)
    return before, after


def _lost_le(g: Grapheme) -> bool:
    """The l of -le whose vowel is not heard before a suffix (*handling*)."""
    return g.letters == "l" and g.note == "dropped e" and len(g.sounds) == 1


def _affixed(g: Grapheme, parts: Sequence[Part]) -> bool:
    return g.unit == "possessives" or any(p.name == g.unit and p.kind in ("suffix", "contraction") for p in parts)


def shape_of(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> str:
    """Consonant and vowel sounds of the stem: ``CVC``, ``CCVC``, ``CVC.CVC``."""
    shapes = ["C" * len(onset) + "V" + "C" * len(coda) for onset, _, coda in stem_syllables(word, graphemes, parts)]
    return ".".join(shapes)
