"""Readers: from plain values and from their files, with faults that name file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.readers import Reader

FILE = """name = "Blue group"
sequence = "gull-point"
step = "sh"
patterns = ["ee as in see"]
not_secure = ["b"]
words = ["said", "Was"]
names = ["Pip", "Mabel"]
told = ["Lighthouse"]
unstressed = "strict"
"""


def _write(folder: Path, text: str, name: str = "blue.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_reader_file(engine: Engine, tmp_path: Path) -> None:
    reader = engine.reader_file(_write(tmp_path, FILE))
    assert (reader.name, reader.sequence.name, reader.step_id) == ("Blue group", "gull-point", "sh")
    assert [p.text for p in reader.patterns] == ["ee as in see"]
    assert [p.text for p in reader.not_secure] == ["b"]
    assert reader.words == {"said", "was"}
    assert reader.names == {"pip", "mabel"}
    assert reader.told == {"lighthouse"}
    assert reader.unstressed == "strict"


def test_file_and_values_make_the_same_reader(engine: Engine, tmp_path: Path) -> None:
    made = engine.reader(
        "gull-point",
        "sh",
        name="Blue group",
        patterns=["ee as in see"],
        not_secure=["b"],
        words=["said", "Was"],
        names=["Pip", "Mabel"],
        told=["Lighthouse"],
        unstressed="strict",
    )
    read = engine.reader_file(_write(tmp_path, FILE))
    for field in Reader.__slots__:
        if field != "sequence":
            assert getattr(read, field) == getattr(made, field)
    assert read.sequence.steps == made.sequence.steps


def test_empty_file_has_defaults(engine: Engine, tmp_path: Path) -> None:
    reader = engine.reader_file(_write(tmp_path, "", "kit.toml"))
    assert (reader.name, reader.sequence.name, reader.step, reader.step_id) == ("kit", "gull-point", 0, "")
    assert (reader.patterns, reader.not_secure) == ((), ())
    assert (reader.words, reader.names, reader.told) == (frozenset(), frozenset(), frozenset())


@pytest.mark.parametrize("step", [14, "14", "sh", "SH"])
def test_step_in_any_form(engine: Engine, step: int | str) -> None:
    assert engine.reader("gull-point", step).step_id == "sh"


def test_sequence_and_step_may_be_replaced(engine: Engine, tmp_path: Path) -> None:
    path = _write(tmp_path, FILE)
    assert engine.reader_file(path, step="ch").step_id == "ch"
    other = engine.reader_file(path, sequence="common-core", step="1-digraphs")
    assert (other.sequence.name, other.step_id) == ("common-core", "1-digraphs")


def test_sequence_file_beside_the_reader(engine: Engine, tmp_path: Path) -> None:
    _write(tmp_path, '[[step]]\nid = "one"\nteach = ["s"]\n', "ours.toml")
    reader = engine.reader_file(_write(tmp_path, 'sequence = "ours.toml"\nstep = "one"\n'))
    assert (reader.sequence.name, reader.step) == ("ours", 1)


def test_all_faults_at_once_with_lines(engine: Engine, tmp_path: Path) -> None:
    text = 'name = "Blue"\nlevel = 3\npatterns = ["s", "zzzq"]\nnot_secure = ["ow"]\nwords = "said"\nnames = [1]\n'
    with pytest.raises(FaultsError) as caught:
        engine.reader_file(_write(tmp_path, text))
    wanted = [
        ("blue.toml:", "'level'"),
        ("blue.toml:3:", "'zzzq'"),
        ("blue.toml:4:", "ow as in snow"),
        ("blue.toml:5:", "words should be a list"),
        ("blue.toml:6:", "names should be a list"),
    ]
    assert len(caught.value.faults) == len(wanted)
    for place, what in wanted:
        assert any(f.startswith(place) and what in f for f in caught.value.faults), (place, what)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param('step = "shh"', "no step 'shh'; nearest: sh", id="step"),
        pytest.param("step = 999", "has steps 1 to", id="step-number"),
        pytest.param('sequence = "gull-pint"', "nearest: gull-point", id="sequence"),
        pytest.param('unstressed = "maybe"', "allow or strict, not 'maybe'", id="policy"),
        pytest.param("name = ", "blue.toml:1: not valid TOML", id="toml"),
    ],
)
def test_one_fault(engine: Engine, tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(DecodableError) as caught:
        engine.reader_file(_write(tmp_path, text))
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param('step = "shh"', id="step"),
        pytest.param('unstressed = "maybe"', id="policy"),
    ],
)
def test_fault_of_step_or_policy_names_the_line(engine: Engine, tmp_path: Path, text: str) -> None:
    with pytest.raises(DecodableError) as caught:
        engine.reader_file(_write(tmp_path, f'name = "Blue"\n{text}\n'))
    assert str(caught.value).startswith("blue.toml:2:")


def test_missing_file(engine: Engine, tmp_path: Path) -> None:
    with pytest.raises(DecodableError, match=r"gone\.toml"):
        engine.reader_file(tmp_path / "gone.toml")
