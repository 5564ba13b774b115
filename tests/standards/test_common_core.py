"""The sounds of English and their spellings in the Common Core State Standards.

In: National Governors Association and Council of Chief State School Officers (2010), *Common Core State Standards for
English Language Arts*, Appendix A, figures 8 and 9: each phoneme, its graphemes, example words. Out: a failure for each
example word that holds none of the graphemes with the phoneme.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

import pytest

from decodable.engine import Engine
from decodable.model import Reading, bare

pytestmark = pytest.mark.standards

FILE = "common_core_2010_appendix_a.tsv"
Row = dict[str, str]

ACCEPTED: Mapping[tuple[str, str], tuple[str, ...]] = {}
"""Sounds that count as the row's in one word, beside its own."""

EXCEPTIONS: Mapping[tuple[str, str], str] = {}
"""Phoneme as printed and word that cannot be satisfied, and why."""

PROGRAM_ERRORS: Mapping[tuple[str, str], str] = {}
"""The same, where the program is known to be wrong."""


def graphemes(row: Row) -> set[str]:
    """The graphemes as the program writes them: no dashes for places, brackets opened."""
    names = re.split(r"[,/]\s*", re.sub(r"[()]", "", row["graphemes_as_printed"]))
    return {name.strip().strip("-").replace("_", "-") for name in names}


def examples(rows: list[Row]) -> Iterator[tuple[Row, str]]:
    """Each example word with its row."""
    for row in rows:
        for word in row["word_examples"].split(", "):
            yield row, word


def holds(reading: Reading, row: Row) -> bool:
    """Whether one of the row's graphemes has its phoneme in the reading."""
    sounds = tuple(row["arpabet"].split())
    return any(
        g.letters in graphemes(row) and tuple(bare(s) for s in g.sounds) == sounds for g in reading.graphemes
    )


def test_x(gold: Callable[[str], list[Row]], engine: Engine) -> None:
    for row, word in examples(gold(FILE)):
        rs = engine.readings(word)
        if not any(holds(r, row) for r in rs):
            print(row["phoneme_as_printed"], row["graphemes_as_printed"], word, [[(g.letters, g.sounds) for g in r.graphemes] for r in rs])
