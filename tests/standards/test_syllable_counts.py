"""How many syllables a word has, against the vowel sounds of the dictionary.

In: the CMU Pronouncing Dictionary, through the package ``pronouncing`` and its own count of syllables. Out: a failure
where a word of the compiled dictionary is divided into another number of syllables than each of its pronunciations has
vowel sounds, where a syllable does not hold just one grapheme with a vowel sound, or where the syllables are not all of
the word. A grapheme may hold two vowel sounds (*ire* in *fire*): it stands in one syllable, as it is taught.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from itertools import pairwise

import pytest

from decodable.engine import Engine
from decodable.model import Grapheme, Reading, bare, is_vowel

pytestmark = [pytest.mark.standards, pytest.mark.slow]

TWO_SOUNDS: Mapping[str, str] = {
    "ire=AY+ER": "fire, entire: one r-controlled grapheme, said in one syllable or two",
    "ir=AY+ER": "tired, inspiring: the same before a suffix",
    "yre=AY+ER": "pyre: the same with y",
    "our=AW+ER": "hour, flour: one r-controlled grapheme; in flower and power the ow and the er are two",
    "oir=W+AY+ER": "choir: an oddity, one grapheme",
    "uoy=UW+IY": "buoy: an oddity, one grapheme",
}
"""Graphemes with two vowel sounds that make one syllable, and why."""


def written(g: Grapheme) -> str:
    """A grapheme with its sounds."""
    return f"{g.letters}={'+'.join(bare(s) for s in g.sounds)}"


def vowel_sounds(g: Grapheme) -> int:
    """How many vowel sounds it holds."""
    return sum(map(is_vowel, g.sounds))


def whole(reading: Reading) -> bool:
    """Whether the syllables, one after the other, are all the letters of the word."""
    spans = [(s.start, s.end) for s in reading.syllables]
    joined = all(a[1] == b[0] and a[0] < a[1] for a, b in pairwise(spans))
    return not spans or ((spans[0][0], spans[-1][1]) == (0, len(reading.word)) and joined)


def centres(reading: Reading) -> list[int]:
    """For each syllable, how many graphemes with a vowel sound begin in it."""
    vowels = [g.at[0] for g in reading.graphemes if vowel_sounds(g)]
    return [sum(s.start <= at < s.end for at in vowels) for s in reading.syllables]


def test_every_syllable_has_one_vowel(engine: Engine) -> None:
    lexicon = engine.lexicon
    for word in lexicon.words:
        for reading in lexicon.readings(word):
            assert whole(reading), word
            assert set(centres(reading)) <= {1}, word


def test_as_many_as_vowel_sounds(engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    pronouncing = pytest.importorskip("pronouncing")
    lexicon = engine.lexicon
    alike: Counter[int] = Counter()
    classes: defaultdict[str, list[str]] = defaultdict(list)
    other: set[str] = set()
    missing = 0
    for word in lexicon.words:
        if lexicon.column("corrected")[lexicon.index[word]]:
            continue
        said = pronouncing.phones_for_word(word)
        missing += not said
        counts = {pronouncing.syllable_count(sounds) for sounds in said}
        for reading in lexicon.readings(word) if said else ():
            double = [written(g) for g in reading.graphemes if vowel_sounds(g) > 1]
            syllables = len(reading.syllables)
            if double:
                classes[double[0]].append(word)
                assert syllables + len(double) in counts, word
            elif syllables in counts:
                alike[syllables] += 1
            else:
                other.add(word)
    with capsys.disabled():
        print(f"\nsyllables, against the vowel sounds of the dictionary: {alike.total()} readings alike, of them")
        print(", ".join(f"{alike[n]} with {n}" for n in sorted(alike)))
        for name, words in sorted(classes.items()):
            print(f"{name:<13}{len(words):>4}  {TWO_SOUNDS[name]}")
        print(f"{len(other)} words with a reading of another number: {', '.join(sorted(other))}; {missing} not in it")
    assert set(classes) == set(TWO_SOUNDS)
    assert not other
    assert alike.total() > 120_000
