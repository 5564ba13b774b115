"""Words that the dictionary pronounces as a word and a suffix.

In: the CMU Pronouncing Dictionary, through the package ``pronouncing``. Where a word's letters are those of a known word
with -s, -ed, -ing or -ly (an e dropped), and its sounds those of that word with the suffix's, it is most likely made of
the two. Out: the share of such words that the program takes apart, and a failure for each of a list of common ones that
it does not. What is left are names and words that only look suffixed (*news*, *need*).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pytest

from decodable.engine import Engine
from decodable.model import is_vowel

pytestmark = pytest.mark.standards

SUFFIXES: Mapping[str, tuple[str, ...]] = {"s": ("S", "Z"), "ed": ("T", "D"), "ing": ("IH0 NG",), "ly": ("L IY0",)}
LEAST_FREQUENCY = 2.2
"""Below it bases are mostly names (Zipf scale, wordfreq)."""

COMMON = (
    "arrived arriving arrested careers correctly corrections directed directly directors favorites restaurants truly "
    "easily happily beautifully"
).split()
"""Common words whose base is changed in them: its r, its last letter or a weak vowel."""


def plain(sounds: str) -> str:
    """A pronunciation with one weak vowel for the two that the dictionary uses freely."""
    return sounds.replace("IH0", "AH0")


def bases(engine: Engine, word: str, suffix: str) -> Iterator[str]:
    """Known words that it may be built on."""
    stem = word.removesuffix(suffix)
    for base in (stem, f"{stem}e"):
        if len(base) > 2 and engine.lexicon.frequency(base) >= LEAST_FREQUENCY and engine.lexicon.readings(base):
            yield base


def suffixed(engine: Engine) -> Iterator[tuple[str, str]]:
    """Words with the base on which they seem to be built."""
    pronouncing = pytest.importorskip("pronouncing")
    for word in engine.lexicon.words:
        for suffix, sounds in SUFFIXES.items():
            if not word.isalpha() or not word.endswith(suffix):
                continue
            said = [plain(p) for p in pronouncing.phones_for_word(word)[:1]]
            for base in bases(engine, word, suffix):
                first = pronouncing.phones_for_word(base)[:1]
                if any(plain(f"{p} {s}") in said for p in first for s in sounds):
                    yield word, base
                    break


def weak_r(sounds: tuple[str, ...]) -> bool:
    """Whether a schwa and an r stand before a vowel, as the program reads an unstressed ER there."""
    return any(a == "AH0" and b == "R" and is_vowel(c) for a, b, c in zip(sounds, sounds[1:], sounds[2:], strict=False))


@pytest.mark.parametrize("word", COMMON)
def test_common_word_is_taken_apart(word: str, engine: Engine) -> None:
    assert len(engine.readings(word)[0].parts) > 1


def test_summary(engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    lexicon = engine.lexicon
    pairs = list(suffixed(engine))
    left = sorted((w for w, _ in pairs if len(lexicon.readings(w)[0].parts) == 1), key=lexicon.frequency, reverse=True)
    weak = [w for w in left if weak_r(lexicon.readings(w)[0].sounds)]
    other = [w for w in left if w not in weak]
    with capsys.disabled():
        print(f"\nwords said as a word with -s, -ed, -ing or -ly: {len(pairs) - len(left)} of {len(pairs)} taken apart")
        print(f"{len(weak)} of the others have a weak r before a vowel: {', '.join(weak[:12])} ...")
        print(f"{len(other)} have not: {', '.join(other[:30])} ...")
    assert len(left) / len(pairs) < 0.02
