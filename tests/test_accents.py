"""Accents: words in phonetic letters, and what a southern British reader needs that an American one does not."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import decodable
from decodable.accents import DICTIONARY_ACCENT, accent, accent_codes, load_accent, transcribed
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError

BRITISH = "southern-british"
CASES = Path(__file__).parent / "cases" / "accents.tsv"


def _rows() -> list[dict[str, str]]:
    with CASES.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))


@pytest.mark.parametrize("code", [DICTIONARY_ACCENT, BRITISH])
@pytest.mark.parametrize("row", _rows(), ids=lambda row: row["word"])
def test_word_in_phonetic_letters(row: dict[str, str], code: str, engine: Engine) -> None:
    reading = engine.readings(row["word"], code)[0]
    assert transcribed(reading, accent(code))[1] in row[code].split("|")


def patterns(engine: Engine, word: str, code: str) -> set[str]:
    """What the letters of a word need."""
    return {g.pattern for g in engine.readings(word, code)[0].graphemes}


@pytest.mark.parametrize(
    ("word", "american", "british"),
    [
        ("path", "a as in cat", "a as in father"),
        ("grasshopper", "a as in cat", "a as in father"),
        ("worry", "orr as in worry", "o as in son"),
        ("been", "ee as in been", "ee as in see"),
        ("from", "o as in son", "o as in hot"),
        ("missile", "le as in whale", "i-e as in time"),
    ],
)
def test_what_a_word_needs(word: str, american: str, british: str, engine: Engine) -> None:
    assert american in patterns(engine, word, DICTIONARY_ACCENT) - patterns(engine, word, BRITISH)
    assert british in patterns(engine, word, BRITISH) - patterns(engine, word, DICTIONARY_ACCENT)


def test_a_sequence_judges_in_its_own_accent(engine: Engine, tmp_path: Path) -> None:
    """The same steps in two accents: *path* opens with a in one, never in the other."""
    steps = '[[step]]\nid = "one"\nteach = ["p", "a", "th"]\n'
    opened = {}
    for code in (DICTIONARY_ACCENT, BRITISH):
        path = tmp_path / f"{code}.toml"
        path.write_text(f'title = "T"\naccent = "{code}"\n{steps}', encoding="utf-8")
        report = decodable.check("path", engine.reader(path, step=1))
        opened[code] = [word.verdict for word in report.words()]
    assert opened == {DICTIONARY_ACCENT: ["decodable"], BRITISH: ["irregular"]}


def test_a_keyword_holds_in_every_accent(engine: Engine) -> None:
    """*a as in grass* is the a of father where grass is said so."""
    assert engine.phrases.parse("a as in grass").patterns == ("a as in cat",)
    assert engine.phrases.in_accent(BRITISH).parse("a as in grass").patterns == ("a as in father",)


def test_a_word_beyond_the_dictionary_is_derived_in_the_accent(engine: Engine) -> None:
    american, british = (engine.readings("grassland's", code)[0] for code in (DICTIONARY_ACCENT, BRITISH))
    assert american.sounds[2] == "AE1"
    assert british.sounds[2] == "AA1"


@given(st.data())
def test_the_letters_are_the_same_in_every_accent(data: st.DataObject) -> None:
    """Another accent divides the same letters, and writes a sound for every grapheme but the silent ones."""
    engine = decodable.shared_engine()
    word = data.draw(st.sampled_from(engine.lexicon.words))
    for code in accent_codes():
        for reading in engine.readings(word, code):
            places = sorted(p for g in reading.graphemes for p in g.at)
            assert places == [p for p, letter in enumerate(word) if letter != "'"]
            signs, whole = transcribed(reading, accent(code))
            assert "".join(signs) or not reading.sounds
            assert len(signs) == len(reading.graphemes)
            assert not set(whole) & set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+")


def test_words_that_the_accent_changes_are_as_many_as_their_readings(engine: Engine) -> None:
    american, british = engine.dictionary(), engine.dictionary(BRITISH)
    assert british.words == american.words
    changed = [w for w in american.words if american.readings(w) != british.readings(w)]
    assert 1000 < len(changed) < 6000
    assert len(british.table.need_start) - 1 == int(british.table.word_start[-1])


def test_unknown_accent() -> None:
    with pytest.raises(DecodableError, match="nearest: southern-british"):
        accent("southern-britsh")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('title = "T"\nrhotic = true\n[ipa]\nAAA = "ɑ"\n', "test.toml:4: 'AAA' is no ARPAbet sound"),  # noqa: RUF001
        ('title = "T"\n[[change]]\nname = "x"\nfrom = "AE"\nto = "AA"\n', "a change needs name, from, to, and words"),
        ('title = "T"\n[said]\npath = ["P AA TH"]\n', "'path': 'AA' is no ARPAbet sound"),
        ('title = "T"\ncolour = 1\n', "an accent has an unknown key 'colour'"),
    ],
)
def test_faults_of_an_accent_file(text: str, fault: str, tmp_path: Path) -> None:
    path = tmp_path / "test.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FaultsError) as raised:
        load_accent(path)
    assert any(fault in found for found in raised.value.faults), raised.value.faults
