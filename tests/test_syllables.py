"""Where words divide into syllables, what type each is, and the shape of the stem."""

from __future__ import annotations

import csv
import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.engine import Engine
from decodable.model import Grapheme, Reading, is_vowel

TANGLED = {"tyres": "aligned with y-e around an r that is a vowel of its own"}
"""Words whose vowels cannot be told apart by letters, and why."""
CASES = Path(__file__).parent / "cases" / "syllables.tsv"


def _rows() -> list[dict[str, str]]:
    with CASES.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))


@pytest.mark.parametrize("row", _rows(), ids=lambda row: row["word"])
def test_syllables(engine: Engine, row: dict[str, str]) -> None:
    word, reading = row["word"], engine.readings(row["word"])[0]
    assert ".".join(word[s.start : s.end] for s in reading.syllables) == row["division"]
    assert ", ".join(s.kind for s in reading.syllables) == row["types"]
    assert reading.shape == row["shape"]


def _vowels(reading: Reading) -> list[Grapheme]:
    return [g for g in reading.graphemes if any(map(is_vowel, g.sounds))]


def _seams(reading: Reading) -> set[int]:
    return {sum(len(p.text) for p in reading.parts[:n]) for n in range(1, len(reading.parts))}


@settings(max_examples=500, deadline=None)
@given(data=st.data())
def test_each_syllable_is_drawn_around_one_vowel(engine: Engine, data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(engine.lexicon.words).filter(lambda w: w not in TANGLED))
    for reading in engine.readings(word):
        assert "".join(word[s.start : s.end] for s in reading.syllables) in (word, "")
        for syllable, vowel in zip(reading.syllables, _vowels(reading), strict=True):
            assert syllable.start <= vowel.at[0] < syllable.end
            # the letters of a split digraph are not parted either; only the second r of hur-ry goes on
            apart = [p for p in vowel.at if not syllable.start <= p < syllable.end]
            assert not apart or (word[apart[0] - 1 : apart[0] + 1] == "rr" and syllable.end == apart[0]), word


@pytest.fixture(scope="module")
def doubled(engine: Engine) -> list[str]:
    """Words with a doubled consonant between vowel letters."""
    pattern = re.compile(r"[aeiouy]([b-df-hj-np-tv-z])\1[aeiouy]")
    return [word for word in engine.lexicon.words if pattern.search(word)]


@settings(max_examples=500, deadline=None)
@given(data=st.data())
def test_a_doubled_letter_divides(engine: Engine, doubled: list[str], data: st.DataObject) -> None:
    """Between two vowels, unless the word divides where a morpheme ends (*fall-ing*)."""
    word = data.draw(st.sampled_from(doubled))
    for reading in engine.readings(word):
        starts = {s.start for s in reading.syllables}
        for left, right in pairwise(_vowels(reading)):
            between = [g for g in reading.graphemes if left.at[-1] < g.at[0] < right.at[0]]
            if len(between) == 1 and len(between[0].at) == 2 and len(set(between[0].letters)) == 1:
                at = between[0].at[1]
                assert at in starts or _seams(reading) & {at - 1, at, at + 1} & starts, word


@pytest.mark.parametrize(("word", "stressed"), [("rabbit", [True, False]), ("about", [False, True]), ("cat", [True])])
def test_stress(engine: Engine, word: str, stressed: list[bool]) -> None:
    assert [s.stressed for s in engine.readings(word)[0].syllables] == stressed


@pytest.mark.parametrize(
    ("word", "base"), [("stops", "stop"), ("stopped", "stop"), ("jumping", "jump"), ("it's", "it")]
)
def test_shape_leaves_suffixes_out(engine: Engine, word: str, base: str) -> None:
    assert engine.readings(word)[0].shape == engine.readings(base)[0].shape


def test_noise_without_vowel_has_no_syllable(engine: Engine) -> None:
    (reading,) = engine.readings("hmm")
    assert reading.sounds == ("HH", "M")
    assert (reading.syllables, reading.shape) == ((), "")
