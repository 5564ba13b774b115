"""Whether letters or sounds are those of a real word: of the dictionary in any accent, of rare words and names.

In go the compiled dictionary, ``rules/rare_words.txt`` and the rules of what sounds alike; out comes, for letters or
for sounds, the real word that they are, sound like, or are a form of. By sound only words of one syllable are found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from decodable import resources
from decodable.errors import FaultsError
from decodable.lexicon import PHONEME_CODES, Lexicon
from decodable.made_up_rules import MadeUpRules
from decodable.model import PHONEMES, bare, is_vowel
from decodable.never_offered import NeverOffered

RARE_FILE = "rare_words.txt"
_MOST_SOUNDS = 9
_RUDE = "*"


class RealWords:
    """Real words by letters and by sound."""

    def __init__(self, lexicon: Lexicon, never: NeverOffered, rules: MadeUpRules) -> None:
        self._lexicon, self._never, self._rules = lexicon, never, rules
        self._rare = load_rare()
        self._plain: dict[str, str] = {}
        self._alike: list[dict[str, str]] = [self._plain, *({} for _ in rules.alike[1:])]
        for word, sounds in self._said():
            for alike, kept in zip(rules.alike, self._alike, strict=True):
                kept.setdefault(alike.key(sounds), word)

    def _said(self) -> Iterator[tuple[str, Sequence[str]]]:
        """What is said and by which word: rude sounds first, then the dictionary, then rare words."""
        for sounds in sorted(self._never.sounds):
            yield _RUDE, sounds
        yield from _syllables(self._lexicon)
        for word, sounds in self._rare.items():
            if sounds:
                yield word, sounds

    def same(self, word: str) -> bool:
        """Whether lower-case letters are a word of the dictionary, a rare word or a name."""
        return word in self._lexicon.index or word in self._rare

    def sounds_like(self, sounds: Sequence[str]) -> str:
        """What sounds without stress are in some accent, or are a form of; empty for nothing real."""
        for alike, kept in zip(self._rules.alike, self._alike, strict=True):
            found = kept.get(alike.key(sounds))
            if found is not None:
                return self._named(found)
        for ending in self._rules.endings:
            if ending.ends(sounds):
                found = self._plain.get(self._rules.alike[0].key(sounds[:-1]))
                if found is not None:
                    return f"a form of {self._named(found)}"
        return ""

    def _named(self, word: str) -> str:
        return "a word that is never offered" if word == _RUDE or word in self._never else word


def load_rare(path: Path | None = None) -> Mapping[str, tuple[str, ...]]:
    """Rare words and names with how they are probably said, without stress; all faults at once."""
    path = path or resources.rules_dir() / RARE_FILE
    out: dict[str, tuple[str, ...]] = {}
    faults: list[str] = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line or line.startswith("#"):
            continue
        word, *sounds = line.split()
        wrong = [sound for sound in sounds if sound not in PHONEMES]
        if not (word.isascii() and word.isalpha() and word.islower()) or wrong or word in out:
            faults.append(
                f"{path.name}:{number}: a line is a word in small letters, once, and its sounds; not {line!r}"
            )
        out[word] = tuple(sounds)
    if faults:
        raise FaultsError(faults)
    return out


def _syllables(lexicon: Lexicon) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Every pronunciation of one syllable, in the dictionary's accent and in the others, commoner words first."""
    vowel = np.array([is_vowel(code) for code in PHONEME_CODES])
    plain = [bare(code) for code in PHONEME_CODES]
    codes, edges = lexicon.column("sound"), lexicon.column("sound_start")
    vowels = np.concatenate([[0], np.cumsum(vowel[codes])])
    start, end = edges[:-1], edges[1:]
    short = (vowels[end] - vowels[start] == 1) & (end - start <= _MOST_SOUNDS)
    # the readings of the dictionary's own accent, then those that other accents say otherwise
    own, others = lexicon.column("word_start"), lexicon.column("accent_start")
    numbers = np.arange(len(own) - 1)
    owner = np.concatenate(
        [np.repeat(numbers, np.diff(own)), np.repeat(lexicon.column("accent_word"), np.diff(others))]
    )
    rows = np.flatnonzero(short)
    rows = rows[np.argsort(-lexicon.column("frequency")[owner[rows]], kind="stable")]
    said = codes.tolist()
    for first, last, word in zip(start[rows].tolist(), end[rows].tolist(), owner[rows].tolist(), strict=True):
        yield lexicon.words[word], tuple(plain[code] for code in said[first:last])
