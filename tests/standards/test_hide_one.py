"""How well words are predicted that the model has not seen, beside a general-purpose program.

In: one common word in forty of the dictionary; it, and every word built on it, is left out of training; and one in
forty of the rare words (most are names), which are never in training. Out: a table by syllables and by letters.
Sounds are compared without stress, unstressed IH and AH as one (the dictionary uses both freely) and AO as AA outside r
(taught as one); *strict* compares them as they are, stress included. A word is right if one of its pronunciations is
met. The other program, ``espeak-ng``, is asked for American English. It has rules and a list of exceptions, in which
many common words stand, so that only the rare words show how the rules compare; and conventions of its own for weak
vowels. It is left out where it is not installed.
"""

# ruff: noqa: RUF001 (phonetic letters)
from __future__ import annotations

import shutil
import subprocess
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from zlib import crc32

import pytest

from decodable.engine import Engine
from decodable.lexicon import Lexicon
from decodable.model import Reading, bare, is_vowel
from decodable.prediction import LEAST_FREQUENCY, Predictor, train

Sounds = tuple[str, ...]
EVERY = 40
COMMON = 2.5
"""The least Zipf frequency of a word of the sample."""

ESPEAK: Mapping[str, str] = {
    "ɑː": "AA", "ɑ̃": "AA", "æ": "AE", "ʌ": "AH", "ə": "AH", "ɐ": "AH", "ᵻ": "IH", "ɔː": "AO", "ɔ": "AO", "oː": "AO",
    "aʊ": "AW", "aɪ": "AY", "ɛ": "EH", "ɚ": "ER", "ɜː": "ER", "eɪ": "EY", "ɪ": "IH", "i": "IY", "iː": "IY", "oʊ": "OW",
    "ɔɪ": "OY", "ʊ": "UH", "uː": "UW", "iə": "IY AH", "aɪə": "AY AH", "aɪɚ": "AY ER", "əl": "AH L", "n̩": "AH N",
    "ɑːɹ": "AA R", "ɔːɹ": "AO R", "oːɹ": "AO R", "ʊɹ": "UH R", "ɪɹ": "IH R", "ɛɹ": "EH R",
    "b": "B", "tʃ": "CH", "d": "D", "ð": "DH", "f": "F", "ɡ": "G", "h": "HH", "dʒ": "JH", "k": "K", "l": "L", "m": "M",
    "n": "N", "ŋ": "NG", "p": "P", "ɹ": "R", "s": "S", "ʃ": "SH", "t": "T", "ɾ": "T", "ʔ": "T", "θ": "TH", "v": "V",
    "w": "W", "j": "Y", "z": "Z", "ʒ": "ZH",
}  # fmt: skip


def level(sounds: Sequence[str]) -> Sounds:
    """The sounds as they are compared."""
    out = []
    for sound, following in zip(sounds, [*sounds, ""][1:], strict=True):
        plain = "AH" if sound in ("IH0", "AH0") else bare(sound)
        out.append("AA" if plain == "AO" and following != "R" else plain)
    return tuple(out)


def distance(a: Sequence[str], b: Sequence[str]) -> int:
    """Sounds to change, add or leave out between two pronunciations."""
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (x != y))
    return row[-1]


@dataclass(slots=True)
class Score:
    """Counts for one row of the table."""

    words: int = 0
    right: int = 0
    among: int = 0
    """Right within the first three."""
    strict: int = 0
    sounds: int = 0
    errors: int = 0

    def add(self, guesses: Sequence[Sounds], known: Sequence[Sounds]) -> None:
        """Count one word with its guesses, the likeliest first."""
        wanted = [level(k) for k in known]
        first = guesses[0] if guesses else ()
        errors, sounds = min((distance(level(first), w), len(w)) for w in wanted)
        self.words += 1
        self.right += errors == 0
        self.among += any(level(g) in wanted for g in guesses[:3])
        self.strict += first in known
        self.errors += errors
        self.sounds += sounds

    def line(self) -> str:
        """The shares: right, right among three, right with stress, sounds that are wrong."""
        parts = (self.right / self.words, self.among / self.words, self.strict / self.words, self.errors / self.sounds)
        return "".join(f"{100 * part:>9.1f}" for part in parts)


def sample(lexicon: Lexicon, least: float, below: float) -> list[str]:
    """One word in forty of a range of frequencies, the same ones whatever else the dictionary holds."""
    words = (w for w in lexicon.words if least <= lexicon.frequency(w) < below and w.isalpha())
    return [w for w in words if crc32(w.encode()) % EVERY == 0]


def trained_without(engine: Engine, hidden: set[str]) -> Predictor:
    """A predictor that has seen neither the hidden words nor any word built on one of them."""
    lexicon = engine.lexicon

    def kept() -> Iterator[str]:
        for word in lexicon.words:
            if lexicon.frequency(word) >= LEAST_FREQUENCY and word not in hidden:
                names = {p.name for n in lexicon.reading_numbers(word) for p in lexicon.parts_of(n)}
                if names.isdisjoint(hidden):
                    yield word

    readings = ((lexicon.reading(w, lexicon.reading_numbers(w)[0]), lexicon.frequency(w)) for w in kept())
    return Predictor(train(readings), engine.rules.inventory)


def asked(words: Sequence[str]) -> dict[str, Sounds] | None:
    """What espeak-ng says, all words in one call; ``None`` where it is not installed."""
    program = shutil.which("espeak-ng")
    if program is None:
        return None
    command = [program, "-v", "en-us", "-q", "--ipa", "--sep=_"]
    said = subprocess.run(command, input="\n".join(words) + "\n", capture_output=True, text=True, check=True)
    lines = said.stdout.strip().splitlines()
    assert len(lines) == len(words)
    out = {}
    for word, line in zip(words, lines, strict=True):
        sounds: list[str] = []
        for piece in line.replace("\u200d", "").split("_"):
            plain = piece.strip().lstrip("ˈˌ")
            stress = "0" if plain == piece.strip() else "1"
            sounds += [s + stress if is_vowel(s) else s for s in ESPEAK.get(plain, "?").split()] if plain else []
        out[word] = tuple(sounds)
    return out


def rows_of(word: str, readings: Sequence[Reading], common: bool) -> tuple[str, ...]:
    """The rows of the table that a word counts in."""
    if not common:
        return ("rare words",)
    syllables = min(sum(map(is_vowel, readings[0].sounds)), 5)
    built = "with affixes" if len(readings[0].parts) > 1 else "simple"
    length = max(3, min(len(word), 12))
    return ("common words", f"  {built}", f"  syllables: {syllables}", f"  letters: {length:>2}")


@pytest.mark.standards
@pytest.mark.slow
def test_hidden_words(engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    lexicon = engine.lexicon
    common, rare = sample(lexicon, COMMON, 9), sample(lexicon, 0, LEAST_FREQUENCY)
    predictor = trained_without(engine, set(common))
    other = asked([*common, *rare])
    ours, theirs = defaultdict[str, Score](Score), defaultdict[str, Score](Score)
    for word in (*common, *rare):
        readings = lexicon.readings(word)
        known = [r.sounds for r in readings]
        rows = rows_of(word, readings, word in common)
        guesses = [p.sounds for p in predictor.predict(word)]
        for row in rows:
            ours[row].add(guesses, known)
            if other is not None:
                theirs[row].add([other[word]], known)
        single = predictor.single_reading(word) if len(rows) > 1 else None
        if single is not None:
            ours[f"spelled, {rows[2].strip()}"].add([single.sounds], known)
    with capsys.disabled():
        print(f"\n{'':<24}{'words':>6}{'right':>9}{'of 3':>9}{'strict':>9}{'wrong sounds, %':>17}")
        for name, scores in (("predicted", ours), ("espeak-ng", theirs)):
            print(name if scores else f"{name} is not installed")
            for row in sorted(scores):
                print(f"{row:<24}{scores[row].words:>6}{scores[row].line()}")
    every, one, spelled = ours["common words"], ours["  syllables: 1"], ours["spelled, syllables: 1"]
    assert every.words > 1000
    assert every.right / every.words > 0.765
    assert every.among / every.words > 0.885
    assert every.strict / every.words > 0.69
    assert every.errors / every.sounds < 0.06
    assert one.right / one.words > 0.85
    assert spelled.right / spelled.words > 0.94
    assert spelled.words / one.words > 0.6
    assert ours["rare words"].right / ours["rare words"].words > 0.57
    if other is not None:
        assert ours["rare words"].right > 1.1 * theirs["rare words"].right
