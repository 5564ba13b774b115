"""Parts of words: affixes, compounds, contractions, and what a suffix did to the base."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from decodable.engine import Engine

CASES = Path(__file__).parent / "cases" / "morphemes.tsv"
SUFFIX_NOTES = {"doubling", "dropped e", "y to i"}


def _params() -> list[object]:
    with CASES.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    return [pytest.param(row["word"], row["parts"], row["notes"] or "", id=row["word"]) for row in rows]


@pytest.mark.parametrize(("word", "parts", "notes"), _params())
def test_parts(engine: Engine, word: str, parts: str, notes: str) -> None:
    reading = engine.readings(word)[0]
    assert " + ".join(p.name or p.text for p in reading.parts) == parts
    assert ", ".join(f"{g.letters}: {g.note}" for g in reading.graphemes if g.note in SUFFIX_NOTES) == notes


@pytest.mark.parametrize(
    "word",
    [
        "bed",
        "shed",
        "red",
        "sled",
        "hundred",
        "need",
        "seed",
        "corner",
        "number",
        "under",
        "paper",
        "tiger",
        "letter",
        "dinner",
        "sister",
        "finger",
        "spring",
        "king",
        "thing",
        "ring",
        "this",
        "his",
        "bus",
        "gas",
        "less",
        "rest",
        "best",
        "forest",
        "honest",
        "silly",
        "candy",
        "only",
        "family",
        "uncle",
        "until",
        "mister",
        "present",
        "carrot",
        "carpet",
        "reach",
        "father",
        "mother",
    ],
)
def test_only_looks_like_a_suffix_or_compound(engine: Engine, word: str) -> None:
    reading = engine.readings(word)[0]
    assert [(p.text, p.kind) for p in reading.parts] == [(word, "base")]


@pytest.mark.parametrize(
    ("word", "letters"),
    [("jumped", "ed"), ("filled", "ed"), ("landed", "e d"), ("cats", "s"), ("boxes", "e s"), ("making", "i ng")],
)
def test_suffix_letters_are_marked(engine: Engine, word: str, letters: str) -> None:
    reading = engine.readings(word)[0]
    suffix = reading.parts[-1]
    assert suffix.kind == "suffix"
    assert " ".join(g.letters for g in reading.graphemes if g.unit == suffix.name) == letters


@pytest.mark.parametrize(
    ("word", "pattern"),
    [
        ("baked", "a-e as in cake"),
        ("making", "a-e as in cake"),
        ("hoped", "o-e as in home"),
        ("nicest", "i-e as in time"),
        ("shiny", "i-e as in time"),
        ("stored", "ore as in more"),
    ],
)
def test_derived_word_needs_the_pattern_of_its_base(engine: Engine, word: str, pattern: str) -> None:
    assert pattern in {g.pattern for g in engine.readings(word)[0].graphemes}


@pytest.mark.parametrize("word", ["loved", "announced", "jumped", "hopping"])
def test_base_without_split_digraph_needs_none(engine: Engine, word: str) -> None:
    assert not any("-" in g.pattern.split(" ")[0] for g in engine.readings(word)[0].graphemes)


@pytest.mark.parametrize(
    ("word", "single"), [("hopping", "p as in pan"), ("running", "n as in net"), ("biggest", "g as in go")]
)
def test_letter_doubled_before_a_suffix_needs_no_doubled_pattern(engine: Engine, word: str, single: str) -> None:
    doubled = next(g for g in engine.readings(word)[0].graphemes if g.note == "doubling")
    assert doubled.pattern == single


@pytest.mark.parametrize("word", ["happy", "rabbit", "filled", "less"])
def test_other_doubled_letters_are_no_doubling(engine: Engine, word: str) -> None:
    assert all(g.note != "doubling" for g in engine.readings(word)[0].graphemes)


@pytest.mark.parametrize(("word", "seam"), [("mishap", 3), ("hothead", 3), ("uphill", 2), ("midday", 3), ("being", 2)])
def test_no_grapheme_crosses_a_seam(engine: Engine, word: str, seam: int) -> None:
    for g in engine.readings(word)[0].graphemes:
        assert (min(g.at) < seam) == (max(g.at) < seam)
