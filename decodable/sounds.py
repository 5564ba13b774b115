"""How words are said: the CMU dictionary with corrections, and word frequencies.

Out comes a :class:`Dictionary`: for every lower-case word its pronunciations, the taught one first. Reading the
source packages (``pronouncing``, ``wordfreq``) is needed only where the lexicon is compiled.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from decodable.errors import DecodableError
from decodable.model import CONSONANT_SOUNDS, VOWEL_SOUNDS, is_vowel
from decodable.rules import expect_keys, read_toml

Sounds = tuple[str, ...]
_WORD = re.compile(r"[a-z]+('[a-z]+)?'?$|'[a-z]+$")
_LETTER_NAMES = {
    "a": "EY", "b": "B IY", "c": "S IY", "d": "D IY", "e": "IY", "f": "EH F", "g": "JH IY", "h": "EY CH", "i": "AY",
    "j": "JH EY", "k": "K EY", "l": "EH L", "m": "EH M", "n": "EH N", "o": "OW", "p": "P IY", "q": "K Y UW",
    "r": "AA R", "s": "EH S", "t": "T IY", "u": "Y UW", "v": "V IY", "w": "D AH B AH L Y UW", "x": "EH K S",
    "y": "W AY", "z": "Z IY",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Dictionary:
    """Pronunciations and frequencies of words."""

    pronunciations: Mapping[str, tuple[Sounds, ...]]
    """Lower-case word, apostrophe straight, to its pronunciations (phonemes with stress)."""
    corrected: frozenset[str]
    """Words whose pronunciation a rule file states."""
    frequency: Mapping[str, float]
    """Zipf frequency (wordfreq): 3 is once in a million words, 6 once in a thousand."""


def parse_pronunciation(text: str) -> Sounds:
    """``"K AE1 T"`` as phonemes; :class:`ValueError` names what is none, or a vowel without stress."""
    sounds = tuple(text.split())
    for sound in sounds:
        if sound in CONSONANT_SOUNDS or (sound[:-1] in VOWEL_SOUNDS and sound[-1] in "012"):
            continue
        raise ValueError(f"{sound!r} is no ARPAbet sound (a vowel needs its stress: AE1)")
    if not sounds:
        raise ValueError("no sounds given")
    return sounds


def spelled_out(word: str, sounds: Sounds) -> bool:
    """Whether the pronunciation only names the letters (*tv*), so that it is no reading of a word."""
    if len(word) > 5 or not word.isascii() or not word.isalpha() or word in ("a", "i", "o"):
        return False
    names = " ".join(_LETTER_NAMES[c] for c in word).split()
    return names == [s.rstrip("012") for s in sounds]


def strong_forms(entries: tuple[Sounds, ...]) -> tuple[Sounds, ...]:
    """Without the reduced forms of a one-syllable word that has a stressed one."""
    stressed = tuple(e for e in entries if any(s[-1] in "12" for s in e))
    one_syllable = all(sum(is_vowel(s) for s in e) == 1 for e in entries)
    return stressed if stressed and one_syllable else entries


def source_pronunciations() -> dict[str, tuple[Sounds, ...]]:
    """The CMU dictionary's plain words, through ``pronouncing``; comments and odd entries left out."""
    try:
        import pronouncing
    except ImportError:
        raise DecodableError(
            "Compiling the dictionary needs the packages pronouncing and wordfreq: pip install 'decodable[compile]'."
        ) from None
    pronouncing.init_cmu()
    found: dict[str, list[Sounds]] = {}
    for word, phones in pronouncing.pronunciations:
        if _WORD.match(word):
            sounds = tuple(phones.split("#")[0].split())
            entries = found.setdefault(word, [])
            if sounds not in entries:
                entries.append(sounds)
    return {word: tuple(found[word]) for word in sorted(found)}


def source_frequencies(words: Mapping[str, object]) -> dict[str, float]:
    """Zipf frequency of each word, from ``wordfreq``'s large list; 0 where it has none."""
    try:
        import wordfreq
    except ImportError:
        raise DecodableError(
            "Compiling the dictionary needs the packages pronouncing and wordfreq: pip install 'decodable[compile]'."
        ) from None
    raw = wordfreq.get_frequency_dict("en", "best")
    return {w: wordfreq.freq_to_zipf(raw[w]) if w in raw else 0.0 for w in words}


@dataclass(frozen=True, slots=True)
class Corrections:
    """What a pronunciation file says."""

    said: Mapping[str, tuple[Sounds, ...]]
    """Replaces all entries; an empty tuple takes the word out."""
    add: Mapping[str, tuple[Sounds, ...]]
    """Entries added at the end."""
    drop: Mapping[str, frozenset[Sounds]]
    """Entries taken out."""
    reasons: Mapping[str, str]
    """Why, by word."""


def load_corrections(path: Path) -> Corrections:
    """Read a pronunciation file; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    said: dict[str, tuple[Sounds, ...]] = {}
    add: dict[str, tuple[Sounds, ...]] = {}
    drop: dict[str, frozenset[Sounds]] = {}
    reasons: dict[str, str] = {}
    start = (file.header_lines("words") or [1])[0]
    for word, entry in file.data.get("words", {}).items():
        line = file.line_of(word, "=", start=start)
        expect_keys(file, line, entry, ("said", "add", "drop", "reason"), f"{word!r}")
        if not entry.get("reason"):
            file.fault(line, f"{word!r} needs a reason")
        try:
            if "said" in entry:
                said[word] = tuple(parse_pronunciation(s) for s in entry["said"])
            if "add" in entry:
                add[word] = tuple(parse_pronunciation(s) for s in entry["add"])
            if "drop" in entry:
                drop[word] = frozenset(parse_pronunciation(s) for s in entry["drop"])
        except ValueError as error:
            file.fault(line, f"{word!r}: {error}")
        reasons[word] = entry.get("reason", "")
    file.check()
    return Corrections(MappingProxyType(said), MappingProxyType(add), MappingProxyType(drop), MappingProxyType(reasons))


def corrected(
    source: Mapping[str, tuple[Sounds, ...]],
    frequency: Mapping[str, float],
    corrections: Corrections,
    contracted_s: frozenset[str],
) -> Dictionary:
    """The dictionary as the tool uses it: corrected, strong forms only, letter names and possessives out.

    ``contracted_s`` holds the words after which 's is a contraction; any other word's is a possessive, which the
    analysis derives.
    """
    out: dict[str, tuple[Sounds, ...]] = {}
    for word in sorted({*source, *corrections.said}):
        if word.endswith("'") or (word.endswith("'s") and word[:-2] not in contracted_s):
            continue
        if word in corrections.said:
            entries = corrections.said[word]
        else:
            dropped = corrections.drop.get(word, frozenset())
            entries = tuple(e for e in source.get(word, ()) if e not in dropped and not spelled_out(word, e))
            entries = strong_forms(entries) + corrections.add.get(word, ())
        if entries and not (len(word) == 1 and word not in ("a", "i", "o")):
            out[word] = entries
    touched = frozenset({*corrections.said, *corrections.add, *corrections.drop})
    return Dictionary(MappingProxyType(out), touched, frequency)
