"""Where words divide into syllables, what type each is, and the shape of the stem."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from decodable.engine import Engine

CASES = Path(__file__).parent / "cases" / "syllables.tsv"
FAULTS = {"castle": "st with one sound leaves the first syllable open, though its vowel is short"}


def _params() -> list[object]:
    with CASES.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    out: list[object] = []
    for row in rows:
        word = row["word"]
        marks = [pytest.mark.xfail(strict=True, reason=FAULTS[word])] if word in FAULTS else []
        out.append(pytest.param(word, row["division"], row["types"], row["shape"], id=word, marks=marks))
    return out


@pytest.mark.parametrize(("word", "division", "types", "shape"), _params())
def test_syllables(engine: Engine, word: str, division: str, types: str, shape: str) -> None:
    reading = engine.readings(word)[0]
    assert ".".join(word[s.start : s.end] for s in reading.syllables) == division
    assert ", ".join(s.kind for s in reading.syllables) == types
    assert reading.shape == shape


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
