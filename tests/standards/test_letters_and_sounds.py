"""The first word bank of *Letters and Sounds*, against its own order of letters.

In: Department for Education and Skills (2007), *Letters and Sounds: Principles and Practice of High Quality Phonics*,
phase two: five sets of letters, the words that each new letter makes readable, and the tricky words. Out: a failure for
each word that is not readable from just the step of its letters, in a sequence made of the sets alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from decodable.engine import Engine
from decodable.judge import Judge
from decodable.judging import NEVER

pytestmark = pytest.mark.standards

FILE = "letters_and_sounds_2007_words.tsv"
SETS = (
    ("s a t p",),
    ("+i", "+n", "+m", "+d"),
    ("+g", "+o", "+c", "+k"),
    ("+ck", "+e", "+u", "+r"),
    ("+h", "+b", "+f ff", "+l ll", "+ss"),
)
"""The five sets, each letter or group of letters a step of its own; as the table names them."""
STEPS = tuple(step for members in SETS for step in members)
TRICKY = "tricky"
Row = dict[str, str]

EXCEPTIONS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("s a t p", "a"): ("a as in about", "the article has an unstressed vowel; the handbook lets a in a pass"),
    ("s a t p", "as"): ("s as in has", "the handbook lets s in as pass"),
    ("+i", "is"): ("s as in has", "the handbook lets s in is pass"),
    ("+h", "his"): ("s as in has", "the handbook lets s in his pass"),
    ("+h", "has"): ("s as in has", "the handbook lets s in has pass"),
    ("+f ff", "of"): ("f as in of", "the handbook lets f in of pass"),
}
"""Letters and word that the sets never make readable, what the word lacks (empty: no reading to rely on), and why."""

ELSEWHERE: Mapping[tuple[str, str], tuple[str, str]] = {
    ("+i", "sat"): ("s a t p", "repeated: the bank has it in the first set too"),
    ("+k", "Ken"): ("+e", "printed under k, before e"),
    ("+r", "carrot"): ("+f ff", "rr is a grapheme of its own, which opens with the first doubled consonant, ff"),
}
"""Letters and word that become readable in another set: with which letters, and why."""

PROGRAM_ERRORS: Mapping[tuple[str, str], str] = {}
"""Letters and word, where the program is known to be wrong."""


@pytest.fixture(scope="module")
def judge(engine: Engine, tmp_path_factory: pytest.TempPathFactory, gold: Callable[[str], list[Row]]) -> Judge:
    """A reader of the sets, which hold back nothing but letters."""
    tricky = [row["word"] for row in gold(FILE) if row["gpc"] == TRICKY]
    lines = ['title = "Letters and Sounds, phase two"']
    for number, step in enumerate(STEPS, 1):
        letters = ", ".join(f'"{g}"' for g in step.removeprefix("+").split())
        lines += ["[[step]]", f'id = "step-{number}"', f"teach = [{letters}]"]
    lines += ["[[step]]", f'id = "{TRICKY}"', f"words = [{', '.join(repr(word) for word in tricky)}]"]
    path: Path = tmp_path_factory.mktemp("sequences") / "letters-and-sounds.toml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return engine.judge(engine.reader(path))


def set_of(step: int) -> int:
    """The set that a step belongs to; -1 for none."""
    return next((n for n, members in enumerate(SETS) if 0 < step <= len(STEPS) and STEPS[step - 1] in members), -1)


def fits(judge: Judge, row: Row) -> bool:
    """Whether the word becomes readable in the set that the bank has it in."""
    return set_of(judge.entry(row["word"].lower()).sounded) == set_of(STEPS.index(row["gpc"]) + 1)


@pytest.mark.rows(FILE, "gpc", "word")
def test_readable_in_its_set(row: Row, judge: Judge) -> None:
    word, key = row["word"].lower(), (row["gpc"], row["word"])
    entry = judge.entry(word)
    if key in PROGRAM_ERRORS:
        assert not fits(judge, row), "take it out of the errors"
        pytest.xfail(PROGRAM_ERRORS[key])
    if row["gpc"] == TRICKY:
        assert entry.whole == len(STEPS) + 1
        assert entry.sounded == NEVER
    elif key in EXCEPTIONS:
        assert entry.sounded == NEVER
        assert entry.trusted == bool(EXCEPTIONS[key][0])
        if entry.trusted and entry.bank is not None:
            lacks = [m.pattern for m in judge.missing(word, entry.bank, entry.row, len(STEPS))]
            assert EXCEPTIONS[key][0] in lacks
    elif key in ELSEWHERE:
        assert STEPS[entry.sounded - 1] == ELSEWHERE[key][0]
    else:
        assert fits(judge, row), entry.sounded


def test_summary(judge: Judge, gold: Callable[[str], list[Row]], capsys: pytest.CaptureFixture[str]) -> None:
    rows = [row for row in gold(FILE) if row["gpc"] != TRICKY]
    right = sum(fits(judge, row) for row in rows)
    exact = sum(judge.entry(row["word"].lower()).sounded == STEPS.index(row["gpc"]) + 1 for row in rows)
    with capsys.disabled():
        print(
            f"\nLetters and Sounds (2007), phase two: {right} of {len(rows)} words become readable in their set, "
            f"{exact} with the very letters they stand under; {len(EXCEPTIONS)} never, {len(ELSEWHERE)} elsewhere"
        )
    assert right == len(rows) - len(EXCEPTIONS) - len(ELSEWHERE) - len(PROGRAM_ERRORS)
