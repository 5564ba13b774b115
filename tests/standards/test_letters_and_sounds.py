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

EXCEPTIONS: Mapping[str, str] = {}
"""Words of the bank that are not readable where it has them, and why."""

EARLIER: Mapping[tuple[str, str], str] = {}
"""Letters and word, where the word is readable before its letters."""

PROGRAM_ERRORS: Mapping[str, str] = {}
"""Words that the program is known to get wrong, and how."""


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


def test_x(judge: Judge, gold: Callable[[str], list[Row]]) -> None:
    for row in gold(FILE):
        e = judge.entry(row["word"].lower())
        if row["gpc"] == TRICKY:
            print(row["word"], e.whole, e.sounded)
        elif e.sounded != STEPS.index(row["gpc"]) + 1:
            print(row, e.sounded, STEPS[e.sounded - 1] if e.sounded < NEVER else None, e.bank and [n.pattern for n in judge.missing(row["word"].lower(), e.bank, e.row, len(STEPS))])
