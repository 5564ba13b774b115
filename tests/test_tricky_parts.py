"""The tricky part of a word: the letters that a teacher would point at, whoever the reader is.

In: ``cases/tricky_parts.tsv``, irregular words with their tricky letters as teachers show them (a spelling that hardly
another word has for its sound, a silent letter that belongs to no group), and words that only look hard: each of their
spellings belongs to a family that is taught. Where the column ``fault`` says why, the program is known to differ.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from decodable.describe import tricky_part
from decodable.engine import Engine
from decodable.judging import NEVER

NOT_TAUGHT = {"ghost", "league"}
"""Words whose family (gh as in ghost, gue as in league) the sequence never teaches."""
CASES = Path(__file__).parent / "cases" / "tricky_parts.tsv"


def _rows() -> list[dict[str, str]]:
    with CASES.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))


def _params() -> list[object]:
    out: list[object] = []
    for row in _rows():
        marks = [pytest.mark.xfail(strict=True, reason=row["fault"])] if row["fault"] else []
        out.append(pytest.param(row["word"], row["tricky"].split(), id=row["word"], marks=marks))
    return out


@pytest.mark.parametrize(("word", "letters"), _params())
def test_tricky_part(engine: Engine, word: str, letters: list[str]) -> None:
    assert tricky_part(engine, engine.readings(word)[0]) == letters


def test_letters_of_the_table_stand_in_the_word() -> None:
    for row in _rows():
        at = 0
        for letters in row["tricky"].split():
            assert letters in row["word"].lower()[at:], row
            at = row["word"].lower().index(letters, at) + len(letters)


def test_words_without_a_tricky_part_can_be_sounded_out(engine: Engine) -> None:
    """A sequence that teaches the families of letters leaves none of them irregular, but for a family it leaves out."""
    judge = engine.judge(engine.reader("gull-point"))
    plain = [row["word"].lower() for row in _rows() if not row["tricky"]]
    assert {word for word in plain if judge.entry(word).sounded == NEVER} == NOT_TAUGHT
