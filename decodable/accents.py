"""Accents: which words another accent says otherwise, and how sounds are written in the phonetic alphabet.

The dictionary is General American. Another accent is derived over aligned words: in go ``rules/accents/CODE.toml`` and
words with their alignments; out come the words whose dictionary sounds change (so that they are aligned anew), and for
any reading the phonetic letters of each grapheme. Sounds keep the dictionary's symbols, r included; that r is not heard
in *car*, that o in *hot* is short, is a matter of how they are written.
"""

# ruff: noqa: RUF001 (phonetic letters)
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from decodable import resources
from decodable.errors import DecodableError
from decodable.model import PHONEMES, VOWEL_SOUNDS, Grapheme, Part, Reading, bare, is_vowel
from decodable.rules import RuleFile, expect_keys, nearest, read_toml
from decodable.sounds import Dictionary, Sounds, parse_pronunciation

DICTIONARY_ACCENT = "general-american"
Aligned = tuple[Sequence[Grapheme], Sequence[Part]]
_VOWEL_SIGNS = "aeiouæɑɒɔəɛɜɝɚɪʊʌ"


@dataclass(frozen=True, slots=True)
class Change:
    """A class of words with another vowel."""

    name: str
    before: tuple[str, ...]
    """Sounds of the dictionary, without stress where any stress will do."""
    after: tuple[str, ...]
    words: frozenset[str]
    """Bases: the words, and all that are built on them."""
    ending: str
    """Or an ending of letters."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A sound that some words write otherwise."""

    letters: frozenset[str]
    ipa: str
    words: frozenset[str]


@dataclass(frozen=True, slots=True)
class Accent:
    """One accent."""

    code: str
    title: str
    rhotic: bool
    j_after: frozenset[str]
    """Consonants after which the vowel of *new* has a y before it."""
    ipa: Mapping[str, str]
    """Sounds joined by ``+`` (a 0 for unstressed only) to phonetic letters."""
    patterns: Mapping[str, str]
    """A taught correspondence, or ``pattern/SOUND``, to phonetic letters."""
    changes: tuple[Change, ...]
    said: Mapping[str, tuple[Sounds, ...]]
    shown: tuple[Shown, ...]


def accent_codes(folder: Path | None = None) -> tuple[str, ...]:
    """The accents there are, the dictionary's own first."""
    found = sorted(p.stem for p in ((folder or resources.rules_dir()) / "accents").glob("*.toml"))
    return (DICTIONARY_ACCENT, *(code for code in found if code != DICTIONARY_ACCENT))


@cache
def accent(code: str) -> Accent:
    """An accent by its code; an unknown one gets the nearest."""
    if code not in accent_codes():
        raise DecodableError(f"There is no accent {code!r}{nearest(code, accent_codes())}")
    return load_accent(resources.rules_dir() / "accents" / f"{code}.toml")


def load_accent(path: Path) -> Accent:
    """Read and check an accent file; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    data = file.data
    keys = ("title", "origin", "rhotic", "j_after", "ipa", "pattern", "change", "said", "shown")
    expect_keys(file, 1, data, keys, "an accent")
    ipa: dict[str, str] = data.get("ipa", {})
    for key in ipa:
        if any(bare(sound) not in PHONEMES for sound in key.split("+")):
            file.fault(file.line_of(key), f"{key!r} is no ARPAbet sound, nor several joined by +")
    for sound in sorted(PHONEMES - set(ipa)):
        file.fault(file.line_of("[ipa]"), f"no phonetic letters for {sound}")
    found = Accent(
        path.stem,
        data.get("title", ""),
        bool(data.get("rhotic", True)),
        frozenset(data.get("j_after", ())),
        MappingProxyType(ipa),
        MappingProxyType(data.get("pattern", {})),
        tuple(_changes(file)),
        MappingProxyType(_said(file)),
        tuple(_shown(file)),
    )
    file.check()
    return found


def _changes(file: RuleFile) -> Iterator[Change]:
    seen: dict[str, str] = {}
    for table, line in zip(file.data.get("change", []), file.header_lines("change"), strict=True):
        expect_keys(file, line, table, ("name", "reason", "from", "to", "words", "ending"), "a change")
        name, words = table.get("name", ""), table.get("words", ())
        before, after = tuple(table.get("from", "").split()), tuple(table.get("to", "").split())
        for sound in (*before, *after):
            if bare(sound) not in PHONEMES:
                file.fault(line, f"{name!r}: {sound!r} is no ARPAbet sound")
        if not (name and before and after and (words or table.get("ending"))):
            file.fault(line, "a change needs name, from, to, and words or an ending")
        for word in words:
            if word in seen:
                file.fault(file.line_of(f'"{word}"', start=line), f"{word!r} stands in {seen[word]!r} too")
            seen[word] = name
        yield Change(name, before, after, frozenset(words), table.get("ending", ""))


def _said(file: RuleFile) -> dict[str, tuple[Sounds, ...]]:
    out: dict[str, tuple[Sounds, ...]] = {}
    start = (file.header_lines("said") or [1])[0]
    for word, entries in file.data.get("said", {}).items():
        try:
            out[word] = tuple(parse_pronunciation(entry) for entry in entries)
        except ValueError as error:
            file.fault(file.line_of(word, "=", start=start), f"{word!r}: {error}")
    return out


def _shown(file: RuleFile) -> Iterator[Shown]:
    for table, line in zip(file.data.get("shown", []), file.header_lines("shown"), strict=True):
        expect_keys(file, line, table, ("name", "reason", "letters", "ipa", "words"), "shown")
        yield Shown(frozenset(table.get("letters", ())), table.get("ipa", ""), frozenset(table.get("words", ())))


# ---------------------------------------------------------------------- words that change
def changed(
    accent: Accent, dictionary: Dictionary, aligned: Callable[[str], Sequence[Aligned]]
) -> dict[str, tuple[Sounds, ...]]:
    """Words that the accent says otherwise, with all their sounds, in the dictionary's order.

    ``aligned`` gives the graphemes and morphemes of each of a word's pronunciations.
    """
    bases = {word: change for change in accent.changes for word in change.words}
    endings = [change for change in accent.changes if change.ending]
    out: dict[str, tuple[Sounds, ...]] = {}
    for word in dictionary.pronunciations:
        if word in accent.said:
            out[word] = accent.said[word]
            continue
        ended = [change for change in endings if word.endswith(change.ending)]
        new: list[Sounds] = []
        touched = False
        for graphemes, parts in aligned(word):
            sounds = before = tuple(s for g in graphemes for s in g.sounds)
            start = 0
            if word in bases:
                sounds = _replaced(sounds, bases[word], 0, len(sounds))
            for part in () if word in bases else parts:
                change = bases.get(part.name) if part.kind == "base" else None
                end = start + len(part.text)
                if change is not None:
                    first = sum(len(g.sounds) for g in graphemes if g.at[-1] < start)
                    last = first + sum(len(g.sounds) for g in graphemes if start <= g.at[0] < end)
                    sounds = _replaced(sounds, change, first, last)
                start = end
            for change in ended:
                sounds = _replaced(sounds, change, 0, len(sounds))
            touched |= sounds != before
            if sounds not in new:
                new.append(sounds)
        if touched:
            out[word] = tuple(new)
    return out


def _replaced(sounds: Sounds, change: Change, first: int, last: int) -> Sounds:
    """The sounds with the change made once, where the stress is strongest."""
    size = len(change.before)
    places = [
        i
        for i in range(first, last - size + 1)
        if all(a == b or bare(a) == b for a, b in zip(sounds[i : i + size], change.before, strict=True))
    ]
    if not places:
        return sounds
    i = min(places, key=lambda i: ("120".find(sounds[i][-1]) if is_vowel(sounds[i]) else 3, -i))
    stress = next((s[-1] for s in sounds[i : i + size] if is_vowel(s)), "0")
    new = tuple(s + stress if s in VOWEL_SOUNDS else s for s in change.after)
    return (*sounds[:i], *new, *sounds[i + size :])


# ---------------------------------------------------------------------- phonetic letters
def transcribed(reading: Reading, accent: Accent) -> tuple[tuple[str, ...], str]:
    """The phonetic letters of each grapheme, and of the word with its stress marked (one syllable has no mark)."""
    names = {part.name for part in reading.parts} | {reading.word}
    order = sorted(range(len(reading.graphemes)), key=lambda i: reading.graphemes[i].at[0])
    ordered = [reading.graphemes[i] for i in order]
    signs = [_signs(g, ordered[n - 1] if n else None, accent, names) for n, g in enumerate(ordered)]
    if not accent.rhotic:
        for n, g in enumerate(ordered):
            after = next((s for s in signs[n + 1 :] if s), "")
            vowel_follows = after[:1] in _VOWEL_SIGNS and bool(after)
            ends_in_r = bool(g.sounds) and bare(g.sounds[-1]) in ("R", "ER")
            if g.sounds == ("R",) and not vowel_follows and after != "j":
                signs[n] = ""
            elif ends_in_r and g.sounds != ("R",) and vowel_follows:
                signs[n] += "r"
    whole = "".join(_with_stress(reading, ordered, signs))
    return tuple(signs[order.index(i)] for i in range(len(order))), whole


def _signs(g: Grapheme, before: Grapheme | None, accent: Accent, names: set[str]) -> str:
    if not g.sounds:
        return ""
    joined = "+".join(bare(s) for s in g.sounds)
    for shown in accent.shown:
        heard = any(s[-1] in "12" for s in g.sounds)
        if heard and g.letters in shown.letters and not names.isdisjoint(shown.words):
            return shown.ipa
    weak = g.sounds[-1] in ("AH0", "IH0")
    found = accent.patterns.get(f"{g.pattern}/{joined}") or ("" if weak else accent.patterns.get(g.pattern))
    if found is None or not found:
        found = accent.ipa.get(joined) if len(g.sounds) > 1 else None
        found = found or "".join(accent.ipa.get(s) or accent.ipa[bare(s)] for s in g.sounds)
    if joined == "UW" and g.letters[0] in "eu" and before is not None and before.sounds[-1:] and accent.j_after:
        return ("j" if before.sounds[-1] in accent.j_after else "") + found
    return found


def _with_stress(reading: Reading, ordered: Sequence[Grapheme], signs: Sequence[str]) -> Iterator[str]:
    marks: dict[int, str] = {}
    if len(reading.syllables) > 1:
        for syllable in reading.syllables:
            inside = [n for n, g in enumerate(ordered) if syllable.start <= g.at[-1] and g.at[0] < syllable.end]
            digit = next((s[-1] for n in inside for s in ordered[n].sounds if is_vowel(s)), "0")
            if inside and digit in "12":
                marks[inside[0]] = "ˈ" if digit == "1" else "ˌ"
    for n, sign in enumerate(signs):
        yield marks.get(n, "") + sign
