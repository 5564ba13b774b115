"""Sequences: phrases that parse and print back, faults that say what to write, spreadsheets, round trips."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.sequence import (
    Sequence,
    check_sequences,
    find_sequence,
    from_toml,
    load_sequence,
    normal,
    sequence_names,
    split_cell,
    write_toml,
)

SHIPPED = ("common-core", "england-appendix-1", "gull-point")


# ---------------------------------------------------------------- phrases
@pytest.mark.parametrize("name", SHIPPED)
def test_every_phrase_of_a_shipped_sequence_prints_back(engine: Engine, name: str) -> None:
    sequence = engine.sequence(name)
    phrases = [phrase for step in sequence.steps for phrase in step.teach]
    assert len(phrases) > 50
    for phrase in phrases:
        assert phrase.patterns, phrase.text
        assert engine.phrases.parse(phrase.text) == phrase


def test_every_pattern_parses_to_itself_and_prints_back(engine: Engine) -> None:
    patterns = engine.lexicon.teaching.patterns
    assert len(patterns) > 400
    for name in patterns:
        phrase = engine.phrases.parse(name)
        assert name in phrase.patterns
        assert engine.phrases.parse(phrase.text) == phrase


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_any_phrase_prints_back(engine: Engine, data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(engine.phrases.phrases()))
    dash = data.draw(st.sampled_from("-_\N{EN DASH}\N{EM DASH}\N{NON-BREAKING HYPHEN}"))
    space = data.draw(st.sampled_from((" ", "  ", "\t")))
    phrase = engine.phrases.parse(text)
    again = engine.phrases.parse(f"  {text.replace('-', dash).replace(' ', space)} ")
    assert again == phrase
    assert normal(phrase.text) == phrase.text


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("ea as in head", "ea as in bread"),
        ("ea as in beach", "ea as in sea"),
        ("ow as in grow", "ow as in snow"),
        ("o as in dog", "o as in hot"),
        ("a_e", "a-e"),
        ("a\N{EN DASH}e", "a-e"),
        ("a_e as in make", "a-e as in cake"),
        ("ow (snow)", "ow as in snow"),
        ("ow (as in snow)", "ow as in snow"),
        ("EA  as in  sea", "ea as in sea"),
        ("soft c", "c as in city"),
        ("nk", "n as in sink"),
    ],
)
def test_written_otherwise_means_the_same(engine: Engine, one: str, other: str) -> None:
    wanted = engine.phrases.parse(other).patterns
    assert engine.phrases.parse(one).patterns[: len(wanted)] == wanted


@pytest.mark.parametrize(
    ("phrase", "patterns"),
    [
        ("th", {"th as in thin", "th as in this"}),
        ("sh", {"sh as in ship"}),
        ("bl-", {"bl-"}),
        ("CVC", {"CVC"}),
        ("two syllables", {"two syllables"}),
        ("-ind as in find", {"rime ind AY N D"}),
        ("-all as in ball", {"rime all AO L"}),
    ],
)
def test_meaning(engine: Engine, phrase: str, patterns: set[str]) -> None:
    assert set(engine.phrases.parse(phrase).patterns) == patterns


def test_affix_brings_all_its_sounds(engine: Engine) -> None:
    assert set(engine.phrases.parse("-ed").patterns) >= {"-ed", "ed as in jumped", "ed as in filled"}
    assert "s as in dogs" in engine.phrases.parse("-s").patterns


def test_family_name_means_all_members(engine: Engine) -> None:
    for family in engine.lexicon.teaching.families:
        found = engine.phrases.parse(family.name).patterns
        assert set(family.members) <= set(found), family.name


@pytest.mark.parametrize(
    ("phrase", "parts"),
    [
        pytest.param("sch as in", ["no pattern", "sch"], id="half-a-phrase"),
        pytest.param("two sylables", ["no pattern 'two sylables'", "two syllables"], id="misspelled"),
        pytest.param("ow", ["ow", "several sounds", "ow as in snow", "ow as in cow"], id="alone-ambiguous-ow"),
        pytest.param("ea", ["several sounds", "ea as in sea", "ea as in bread"], id="alone-ambiguous-ea"),
        pytest.param("y", ["several sounds", "y as in yes", "y as in my", "y as in happy"], id="alone-ambiguous-y"),
        pytest.param("ea as in fish", ["'fish'", "no grapheme 'ea'", "f i sh"], id="keyword-without"),
        pytest.param("a as in banana", ["'banana'", "more than one sound"], id="keyword-in-two-sounds"),
        pytest.param("ea as in read", ["'read'", "more than one sound"], id="heteronym"),
        pytest.param("ow as in bow", ["'bow'", "more than one sound"], id="heteronym-bow"),
        pytest.param("ea as in xqzt", ["'xqzt'", "not in the dictionary"], id="keyword-unknown"),
        pytest.param("-ind as in hat", ["no rime", "-ind"], id="rime-without"),
    ],
)
def test_phrase_faults(engine: Engine, phrase: str, parts: list[str]) -> None:
    with pytest.raises(DecodableError) as caught:
        engine.phrases.parse(phrase)
    assert "\n" not in str(caught.value)
    for part in parts:
        assert part in str(caught.value)


# ---------------------------------------------------------------- files
def test_all_faults_at_once_with_lines(engine: Engine) -> None:
    text = """title = "Faulty"
unstressed = "sometimes"
accent = "martian"
colour = "red"
[[step]]
id = "one"
teach = ["s", "zzzq"]
[[step]]
id = "one"
teach = ["ow"]
[[step]]
id = "Three Four"
teach = ["t"]
lesson = 3
[[step]]
id = "empty"
[[step]]
id = "lists"
teach = "s"
words = ["two words here"]
"""
    with pytest.raises(FaultsError) as caught:
        from_toml(text, "faulty.toml", engine.phrases)
    faults = caught.value.faults
    wanted = [
        ("faulty.toml:2:", "'sometimes'"),
        ("faulty.toml:3:", "'martian'"),
        ("faulty.toml:", "'colour'"),
        ("faulty.toml:7:", "'zzzq'"),
        ("faulty.toml:10:", "ow as in snow"),
        ("faulty.toml:8:", "'one' stands twice, first at step 1"),
        ("faulty.toml:11:", "'Three Four'"),
        ("faulty.toml:11:", "'lesson'"),
        ("faulty.toml:15:", "teaches nothing"),
        ("faulty.toml:17:", "teach should be a list"),
        ("faulty.toml:20:", "'two words here'"),
    ]
    for place, what in wanted:
        assert any(f.startswith(place) and what in f for f in faults), (place, what, faults)


def test_one_fault_is_reported_once(engine: Engine) -> None:
    with pytest.raises(FaultsError) as caught:
        from_toml('[[step]]\nid = "x"\nteach = ["zzzq"]\n', "f.toml", engine.phrases)
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param('title = "No steps"', "f.toml:1: a sequence needs at least one", id="no-steps"),
        pytest.param('title = "x"\n[[step]\nid = "a"', "f.toml:2: not valid TOML", id="no-toml"),
        pytest.param('[[step]]\nteach = ["s"]', "f.toml:1: a step needs an id", id="no-id"),
    ],
)
def test_file_faults(engine: Engine, text: str, fault: str) -> None:
    with pytest.raises(FaultsError) as caught:
        from_toml(text, "f.toml", engine.phrases)
    assert any(f.startswith(fault) for f in caught.value.faults)


def test_shipped_names_and_unknown_name() -> None:
    assert set(SHIPPED) <= set(sequence_names())
    with pytest.raises(DecodableError, match="nearest: gull-point"):
        find_sequence("gull-pint")


def test_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(DecodableError, match=r"No such sequence file.*gone\.toml"):
        find_sequence(tmp_path / "gone.toml")


def test_check_sequences_reports_every_file(engine: Engine, tmp_path: Path) -> None:
    for name, phrase in (("a", "zzzq"), ("b", "ow"), ("c", "sh")):
        (tmp_path / f"{name}.toml").write_text(f'[[step]]\nid = "x"\nteach = ["{phrase}"]\n', encoding="utf-8")
    faults = check_sequences([tmp_path / f"{n}.toml" for n in "abc"], engine.phrases)
    assert list(dict.fromkeys(f.split(":")[0] for f in faults)) == ["a.toml", "b.toml"]


# ---------------------------------------------------------------- steps
@pytest.mark.parametrize("step", [3, "3", " 3 ", "three-sounds", "Three-sound words, d", "THREE-SOUND WORDS, D"])
def test_step_by_number_id_or_name(engine: Engine, step: int | str) -> None:
    assert engine.sequence("gull-point").step_number(step) == 3


@pytest.mark.parametrize(
    ("step", "says"), [(0, "has steps 1 to"), (999, "has steps 1 to"), ("three-sound", "nearest: three-sounds")]
)
def test_unknown_step(engine: Engine, step: int | str, says: str) -> None:
    with pytest.raises(DecodableError, match=says):
        engine.sequence("gull-point").step_number(step)


def test_taught_and_whole_give_first_steps(engine: Engine) -> None:
    sequence = engine.sequence("england-appendix-1")
    assert sequence.taught["s as in sun"] == 1
    assert sequence.whole["i"] == 2
    assert sequence.whole["the"] == 3


# ---------------------------------------------------------------- round trips and spreadsheets
def _meaning(sequence: Sequence) -> object:
    return sequence.title, sequence.accent, sequence.unstressed, sequence.note, sequence.steps


@pytest.mark.parametrize("name", SHIPPED)
def test_written_sequence_reads_back(engine: Engine, name: str) -> None:
    sequence = engine.sequence(name)
    again = from_toml(write_toml(sequence), f"{name}.toml", engine.phrases)
    assert again == sequence
    assert write_toml(again) == write_toml(sequence)


@settings(max_examples=50, deadline=None)
@given(
    title=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1),
    note=st.text(st.characters(codec="utf-8", exclude_categories=["Cs"], exclude_characters="\r\0")),
)
def test_titles_and_notes_survive(engine: Engine, title: str, note: str) -> None:
    printable = "".join(c for c in note if c.isprintable() or c == "\n")
    base = engine.sequence("gull-point")
    sequence = Sequence("gull-point", title, base.accent, base.unstressed, printable, base.steps[:2])
    assert _meaning(from_toml(write_toml(sequence), "gull-point.toml", engine.phrases)) == _meaning(sequence)


def test_spreadsheet(engine: Engine, tmp_path: Path) -> None:
    path = tmp_path / "my-order.csv"
    path.write_text(
        "Step,Name,Teach,Words\n"
        'First Sounds,,s a t p,"a, I"\n'
        ",,,\n"
        '2,More,"ow (snow), sh; two syllables",the\n'
        ",Third,ea as in head CVC,\n",
        encoding="utf-8-sig",
    )
    sequence = load_sequence(path, engine.phrases)
    assert (sequence.name, sequence.title) == ("my-order", "My order")
    assert [step.id for step in sequence.steps] == ["first-sounds", "step-2", "step-3"]
    assert [step.name for step in sequence.steps] == ["First sounds", "More", "Third"]
    texts = [[p.text for p in step.teach] for step in sequence.steps]
    assert texts == [["s", "a", "t", "p"], ["ow as in snow", "sh", "two syllables"], ["ea as in head", "CVC"]]
    assert [step.words for step in sequence.steps] == [("a", "I"), ("the",), ()]
    assert from_toml(write_toml(sequence), "my-order.toml", engine.phrases) == sequence


def test_spreadsheet_faults_name_their_row(engine: Engine, tmp_path: Path) -> None:
    path = tmp_path / "order.csv"
    path.write_text("step,name,teach,words\none,,s,\ntwo,,zzzq,\nthree,,ow,\n", encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load_sequence(path, engine.phrases)
    assert [f.split(" ")[0] for f in caught.value.faults] == ["order.csv:3:", "order.csv:4:"]


def test_spreadsheet_without_header(engine: Engine, tmp_path: Path) -> None:
    path = tmp_path / "order.csv"
    path.write_text("one,two\n", encoding="utf-8")
    with pytest.raises(FaultsError, match=r"order\.csv:1: .*step, name, teach, words"):
        load_sequence(path, engine.phrases)


@pytest.mark.parametrize(
    ("cell", "phrases"),
    [
        ("s a t p", ["s", "a", "t", "p"]),
        ("s, a;t", ["s", "a", "t"]),
        ("ow (snow), sh", ["ow (snow)", "sh"]),
        ("ea as in sea ee", ["ea as in sea", "ee"]),
        ("two syllables -ed", ["two syllables", "-ed"]),
        ("initial blends", ["initial blends"]),
        ("", []),
    ],
)
def test_split_cell(cell: str, phrases: list[str]) -> None:
    assert split_cell(cell) == phrases
