"""Words aligned by hand, feature by feature.

In: a table written for this project and checked against a US pronouncing dictionary; each row has a word, its letters
with their sounds (ARPAbet, no stress; ``a_e`` a split digraph, ``-`` no sound), and the number of sounds. Out: a
failure for each word none of whose readings is aligned just so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from decodable.engine import Engine
from decodable.model import Reading, bare

pytestmark = pytest.mark.standards

FILE = "hand_alignments.tsv"
Row = dict[str, str]

PROGRAM_ERRORS: Mapping[str, str] = {}
"""Words that the program is known to get wrong, and how."""


def written(reading: Reading) -> str:
    """The alignment in the notation of the table."""
    return " ".join(
        f"{g.letters.replace('-', '_')}={'+'.join(bare(s) for s in g.sounds) or '-'}" for g in reading.graphemes
    )


def aligned(engine: Engine, row: Row) -> bool:
    """Whether a reading of the word is aligned as the row has it, with as many sounds."""
    return any(
        written(r) == row["alignment_ARPABET_US"] and len(r.sounds) == int(row["phones"])
        for r in engine.readings(row["word"])
    )


def aligned_first(engine: Engine, row: Row) -> bool:
    """Whether the taught reading is the one of the row."""
    return written(engine.readings(row["word"])[0]) == row["alignment_ARPABET_US"]


@pytest.mark.rows(FILE, "feature", "word")
def test_aligned_as_by_hand(row: Row, engine: Engine) -> None:
    if row["word"] in PROGRAM_ERRORS:
        assert not aligned(engine, row), "take it out of the errors"
        pytest.xfail(PROGRAM_ERRORS[row["word"]])
    assert aligned(engine, row), [written(r) for r in engine.readings(row["word"])]


def test_summary(gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    rows = gold(FILE)
    right = sum(aligned(engine, row) for row in rows)
    first = sum(aligned_first(engine, row) for row in rows)
    with capsys.disabled():
        print(f"\nhand alignments: {right} of {len(rows)} words aligned as by hand, {first} in the taught reading")
    assert right == len(rows) - len(PROGRAM_ERRORS)
