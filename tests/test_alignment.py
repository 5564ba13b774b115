"""Letters to sounds: a table of divisions as teachers show them, and what holds for every word of the dictionary."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.alignment import Aligner
from decodable.engine import Engine
from decodable.lexicon import load_rules
from decodable.model import Reading, bare, is_vowel

CASES = Path(__file__).parent / "cases" / "alignments.tsv"
# Rows that the program does not meet yet.
FAULTS = {
    "suite": "the inventory has no split digraph i-e as /ee/",
}


def _rows() -> list[tuple[str, str, str]]:
    with CASES.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
        return [(row["word"], row["division"], row["note"]) for row in rows]


def _params() -> list[object]:
    out: list[object] = []
    for word, division, note in _rows():
        marks = [pytest.mark.xfail(strict=True, reason=FAULTS[word])] if word in FAULTS else []
        out.append(pytest.param(word, division, note, id=word, marks=marks))
    return out


def _division(reading: Reading) -> str:
    def one(letters: str, sounds: tuple[str, ...]) -> str:
        return f"{letters.replace('-', '_')}={'+'.join(bare(s) for s in sounds) or '-'}"

    return " ".join(one(g.letters, g.sounds) for g in reading.graphemes)


def test_table_is_wide_enough() -> None:
    words = [word for word, _, _ in _rows()]
    assert len(words) >= 250
    assert len(set(words)) == len(words)
    assert set(FAULTS) <= set(words)


@pytest.mark.parametrize(("word", "division", "note"), _params())
def test_division(engine: Engine, word: str, division: str, note: str) -> None:
    found = [_division(r) for r in engine.readings(word)]
    if "another reading" in note:
        assert division in found[1:], note
    else:
        assert found[:1] == [division], note


@pytest.mark.parametrize("word", [word for word, _, _ in _rows()])
def test_division_letters_are_the_word(word: str) -> None:
    """The table itself: its letters, put in order, give the word."""
    division = next(d for w, d, _ in _rows() if w == word)
    letters = "".join(piece.split("=")[0].replace("_", "") for piece in division.split())
    assert sorted(letters) == sorted(word.replace("'", ""))


@settings(max_examples=400, deadline=None)
@given(data=st.data())
def test_graphemes_partition_letters_and_sounds(engine: Engine, data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(engine.lexicon.words))
    for reading in engine.readings(word):
        assert reading.word == word
        places = [p for g in reading.graphemes for p in g.at]
        assert sorted(places) == [p for p, letter in enumerate(word) if letter != "'"]
        assert [g.at[0] for g in reading.graphemes] == sorted(g.at[0] for g in reading.graphemes)
        assert tuple(s for g in reading.graphemes for s in g.sounds) == reading.sounds
        for g in reading.graphemes:
            assert g.letters.replace("-", "") == "".join(word[p] for p in g.at)
            assert ("-" in g.letters) == (
                len(g.at) == 2 and g.at[1] > g.at[0] + 1 and "'" not in word[g.at[0] : g.at[1]]
            )
            assert g.pattern


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_morphemes_and_syllables_span_the_word(engine: Engine, data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(engine.lexicon.words))
    for reading in engine.readings(word):
        assert "".join(p.text for p in reading.parts) == word
        vowels = sum(is_vowel(s) for s in reading.sounds)
        if vowels:
            edges = [s.start for s in reading.syllables] + [len(word)]
            assert edges[0] == 0
            assert edges == sorted(set(edges))
            assert [s.end for s in reading.syllables] == edges[1:]
            assert len(reading.syllables) <= vowels
        else:
            assert reading.syllables == ()


@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_same_word_same_reading(engine: Engine, data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(engine.lexicon.words))
    assert engine.readings(word) == engine.readings(word)


def test_aligner_is_deterministic(engine: Engine) -> None:
    """Two aligners, each from its own reading of the rules, divide alike."""
    first, second = (Aligner(load_rules().inventory) for _ in range(2))
    for word in engine.lexicon.words[::500]:
        for reading in engine.lexicon.readings(word):
            letters = word.replace("'", "")
            assert first.align(letters, reading.sounds) == second.align(letters, reading.sounds)


@pytest.mark.parametrize(
    ("letters", "sounds"),
    [
        pytest.param("cat", "D AO1 G", id="other-sounds"),
        pytest.param("c", "K AE1 T", id="too-many-sounds"),
        pytest.param("", "K", id="no-letters"),
    ],
)
def test_no_division_is_none(engine: Engine, letters: str, sounds: str) -> None:
    assert Aligner(engine.rules.inventory).align(letters, tuple(sounds.split())) is None


@pytest.mark.parametrize("text", ["Cake", " cake ", "CAKE"])
def test_word_as_typed(engine: Engine, text: str) -> None:
    assert engine.readings(text) == engine.readings("cake")


@pytest.mark.parametrize("word", ["can't", "didn't", "sam's", "o'clock"])
def test_curly_apostrophe_reads_as_straight(engine: Engine, word: str) -> None:
    assert engine.readings(word.replace("'", "\N{RIGHT SINGLE QUOTATION MARK}")) == engine.readings(word) != ()


@pytest.mark.parametrize("text", ["", "   "])
def test_no_word_has_no_reading(engine: Engine, text: str) -> None:
    assert engine.readings(text) == ()
