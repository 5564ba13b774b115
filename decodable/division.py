"""Where a word divides: in go aligned graphemes, morphemes and ``rules/syllables.toml``, out come breaks of syllables.

Between one vowel sound and the next there is one break. The order in which the rules are asked is stated at the head of
the rule file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

from decodable import resources
from decodable.inventory import parse_sounds
from decodable.model import VOWEL_SOUNDS, Grapheme, Part, bare
from decodable.rules import RuleFile, expect_keys, read_toml

VOWEL_LETTERS = frozenset("aeiou")
_VOWELS_OR_Y = VOWEL_LETTERS | {"y"}
# Of suffixes and contracted endings: has-n't, it'll.
_SUFFIX_VOWELS = _VOWELS_OR_Y | {"'"}


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
        if isinstance(file.data.get(table), dict):
            expect_keys(file, _line(file, table), file.data[table], _LISTS[table], repr(table))
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
        line = _line(file, table) if table else 1
        line = file.line_of(f"{key} =", start=line) if found is not None else line
        file.fault(line, f"{f'{table}.' if table else ''}{key} should be a list of texts, not {found!r}")
        return frozenset()
    return frozenset(found)


def _line(file: RuleFile, table: str) -> int:
    return next(iter(file.header_lines(table)), file.line_of(f"{table} ="))


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


def glide(g: Grapheme) -> bool:
    """Of a grapheme that is no nucleus: whether it is a vowel letter said as a consonant (*onion, language*)."""
    return bool(g.sounds) and g.letters[0] in VOWEL_LETTERS


def breaks(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> list[int]:
    """Letter positions at which a new syllable begins (0 left out); ``graphemes`` stand in the order of letters."""
    centres = [i for i, g in enumerate(graphemes) if nucleus(g)]
    if len(centres) < 2:
        return []
    rules, seams = _shipped(), _seams(parts) if len(parts) > 1 else []
    return [_Gap(rules, word, graphemes, left, right).divided(seams) for left, right in pairwise(centres)]


@dataclass(frozen=True, slots=True)
class _Seam:
    """Where two morphemes meet."""

    at: int
    """The position of the first letter after it."""
    vowel: bool
    """Whether a suffix with a vowel comes after it."""
    merged: bool
    """Whether that suffix shares a letter with the base (*final-ly, simp-ly*): the word does not divide there."""
    le: bool
    """Whether the base ends in -le and has lost its e: *handl-ing*, *simpl-y*."""


def _seams(parts: Sequence[Part]) -> list[_Seam]:
    at, out = 0, []
    for base, part in pairwise(parts):
        at += len(base.text)
        out.append(
            _Seam(
                at,
                vowel=part.kind in ("suffix", "contraction") and part.text[:1] in _SUFFIX_VOWELS,
                merged=part.kind == "suffix" and _merged(part),
                le=base.name.endswith("le") and base.name.removeprefix("-") == base.text + "e",
            )
        )
    return out


def _merged(suffix: Part) -> bool:
    """Whether a suffix has lost its first letter to the base."""
    letters = suffix.name.removeprefix("-")
    return len(suffix.text) < len(letters) and not letters.startswith(suffix.text)


class _Gap:
    """What stands between one vowel sound and the next."""

    __slots__ = ("between", "following", "graphemes", "left", "rules", "vowel", "word")

    def __init__(self, rules: SyllableRules, word: str, graphemes: Sequence[Grapheme], left: int, right: int) -> None:
        """``graphemes`` are those of the whole word; ``left`` and ``right`` number the two vowels."""
        self.rules, self.word, self.graphemes, self.left = rules, word, graphemes, left
        self.vowel, self.following = graphemes[left], graphemes[right]
        self.between = graphemes[left + 1 : right]

    def divided(self, seams: Sequence[_Seam]) -> int:
        """The position of the first letter of the next syllable."""
        vowel, following = self.vowel, self.following
        low, high = vowel.at[-1] + 1, following.at[0]
        if "-" in vowel.letters:  # what stands inside a split digraph belongs to its syllable
            self.between = [g for g in self.between if g.at[0] >= low]
        heard = [g for g in self.between if g.sounds]
        two_sounds = len(following.sounds) == 2
        le = two_sounds and following.letters in ("le", "l")
        for seam in reversed(seams):
            if not low <= seam.at <= high:
                continue
            if seam.le and len(heard) > 1 and heard[-1].letters == "l":
                heard, le = heard[:-1], True
            elif not seam.merged and not (seam.vowel and seam.at < high):
                doubled = (g.at[-1] for g in (vowel, *heard) if g.note == "doubling" and g.at[-1] == seam.at - 1)
                return next(doubled, seam.at)
        if two_sounds and not le and not _VOWELS_OR_Y & set(following.letters):
            return high  # the m of rhyth-m
        if not heard:
            return self._without_consonant()
        if le:
            return self._inside(heard[-1], short=True) or self._one(heard[-1], closes=False)
        return self._doubled(heard) or self._consonants(heard)

    def _without_consonant(self) -> int:
        """No consonant is heard: *li-on, ve-hi-cle, hur-ry*."""
        doubled = self.vowel.letters.find("rr")
        if doubled >= 0:
            return self.vowel.at[doubled] + 1
        return next((g.at[0] for g in self.between if g.letters[0] not in VOWEL_LETTERS), self.following.at[0])

    def _doubled(self, heard: Sequence[Grapheme]) -> int:
        """Where a doubled letter divides, if its second can begin the next syllable; else 0."""
        for n, g in enumerate(heard):
            if _twice(g):
                rest = "".join([o.letters for o in heard[n:]])[len(g.letters) - 1 :]
                if n == len(heard) - 1 or rest in self.rules.blends or glide(heard[n + 1]):
                    return g.at[0] + 1
        return 0

    def _consonants(self, heard: Sequence[Grapheme]) -> int:
        """Where the consonants share themselves out."""
        silent = _silent_vowel(self.between) if len(heard) < len(self.between) else None
        if silent is not None:
            after = [g for g in self.between[silent + 1 :] if g.sounds]
            if after and not self._silent_goes_on(self.between[silent], after):
                return after[self._first_together(after, 0)].at[0]
            heard = [g for g in self.between[:silent] if g.sounds]
        if len(heard) > 1 and glide(heard[-1]):
            heard = heard[:-1]
        closes = self._closes()
        last = heard[-1]
        if len(heard) == 1:
            return self._inside(last, short=closes) or self._one(last, closes=closes)
        first = 0 if self._blend_goes_on(heard, closes=closes) else 1
        return self._inside(last, short=False) or heard[self._first_together(heard, first)].at[0]

    def _silent_goes_on(self, silent: Grapheme, after: Sequence[Grapheme]) -> bool:
        """Whether a vowel letter that is not heard is of the next syllable: *ev-ery*, not *vine-yard, wednes-day*."""
        if silent.letters == "e" and not self.word.startswith(self.rules.silent_e_goes_on_before, silent.at[-1] + 1):
            return False
        return len(after) < 2 or self._together(after)

    def _closes(self) -> bool:
        """Whether a consonant closes the syllable of the vowel: it is short, and stressed."""
        sound = self.vowel.sounds[-1]
        if sound[-1] not in "12" or sound[:-1] not in self.rules.short or self._listed_open():
            return False
        if sound[-1] == "1" or sound[:-1] not in self.rules.half_stress:
            return True
        later = not any(_stress(g) == "1" for g in self.graphemes[: self.left])
        return self.vowel.letters not in self.rules.half_stress_never and later and _stress(self.following) == "0"

    def _listed_open(self) -> bool:
        sound = self.rules.open.get(self.vowel.pattern)
        return sound is not None and sound in ("", bare(self.vowel.sounds[-1]))

    def _inside(self, consonant: Grapheme, *, short: bool) -> int:
        """Where a grapheme divides; 0 where it does not. ``short``: a short stressed vowel comes before it."""
        if _twice(consonant):
            return consonant.at[0] + 1
        after, only_short = self.rules.divided.get(consonant.letters, (0, False))
        return consonant.at[0] + after if after and (short or not only_short) else 0

    def _one(self, consonant: Grapheme, *, closes: bool) -> int:
        """Before or after a single consonant."""
        if consonant.letters in self.rules.stay or consonant.sounds[0] in self.rules.stay_sounds:
            return consonant.at[-1] + 1
        return consonant.at[-1] + 1 if closes and consonant.letters not in self.rules.go_on else consonant.at[0]

    def _blend_goes_on(self, consonants: Sequence[Grapheme], *, closes: bool) -> bool:
        """Whether the first of several consonants may begin the next syllable."""
        rules, sound = self.rules, self.vowel.sounds[-1]
        phoneme = bare(sound)
        if phoneme in ("R", "ER"):
            return True
        weak = sound in rules.weak or phoneme not in rules.short or phoneme in rules.half_stress
        if closes or not (weak or self._listed_open()):
            return False
        return consonants[0].letters[0] != "s" or self._s_goes_on(len(consonants))

    def _s_goes_on(self, consonants: int) -> bool:
        """Whether a blend with s begins the next syllable: *a-sleep, re-spect*, not *es-cape, min-is-ter*."""
        vowel, stress = self.vowel, _stress(self.following)
        if vowel.letters not in self.rules.s_goes_on_after or vowel.sounds[-1][-1] == "1":
            return False
        if vowel.at[0] == 0 and vowel.letters in self.rules.s_stays_after_first:
            return False
        first = not any(map(nucleus, self.graphemes[: self.left]))
        return stress == "1" or (stress == "2" and (first or consonants > 2))

    def _together(self, consonants: Sequence[Grapheme]) -> bool:
        """Whether consonants begin a syllable together."""
        return "".join([g.letters for g in consonants]) in self.rules.blends

    def _first_together(self, consonants: Sequence[Grapheme], first: int) -> int:
        """The first consonant, from ``first`` on, that begins a syllable together with all those after it."""
        last = len(consonants) - 1
        return next((n for n in range(first, last) if self._together(consonants[n:])), last)


def _stress(g: Grapheme) -> str:
    """The stress of a grapheme's vowel sound: "1", "2" or "0"; "" where it has none."""
    return next((s[-1] for s in g.sounds if s[-1] in "012"), "")


def _twice(g: Grapheme) -> bool:
    """Whether it begins with a letter doubled."""
    return len(g.letters) > 1 and g.letters[0] == g.letters[1]


def _silent_vowel(between: Sequence[Grapheme]) -> int | None:
    """Which grapheme is a vowel letter that is not heard, after a consonant that is."""
    heard = False
    for n, g in enumerate(between):
        if not g.sounds and heard and g.letters[0] in VOWEL_LETTERS:
            return n
        heard = heard or bool(g.sounds)
    return None
