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

EXCEPTIONS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("/k/", "quiet"): ("qu=K+W", "qu is taught as one grapheme"),
    ("/th/ (voiced)", "breathe"): ("the=DH", "an e that lengthens nothing goes with its consonant"),
    ("/sh/", "mission"): ("ssi=SH", "the doubled letter is one grapheme with the i after it"),
    ("/ch/", "future"): ("t=CH", "named nowhere in the row, which prints future between ch and tch"),
    ("/j/", "wage"): ("g=JH", "a_e is a split digraph, which the figure itself has under long a"),
    ("/l/", "single"): ("le=AH+L", "the vowel of the syllable counts as part of le"),
    ("/r/", "her"): ("er=ER", "one sound; the figure has it under er too"),
    ("/r/", "fur"): ("ur=ER", "one sound; the figure has it under er too"),
    ("/r/", "stir"): ("ir=ER", "one sound; the figure has stir's ir under er too"),
    ("/y/", "use"): ("u-e=Y+UW", "the vowel letters carry both sounds"),
    ("/y/", "feud"): ("eu=Y+UW", "the vowel letters carry both sounds"),
    ("/w/", "queen"): ("qu=K+W", "qu is taught as one grapheme"),
    ("/ā/", "baby"): ("a=EY", "an error of the original: no y spells long a; the vowel is the open a"),
    ("/ŏ/", "swap"): ("a=AA", "w is a grapheme of its own; the vowel after it is marked wa"),
    ("/aw/", "call"): ("a=AO", "ll is a grapheme of its own; the vowel before it is marked all"),
    ("/aw/", "water"): ("a=AO", "w is a grapheme of its own; the vowel after it is marked wa"),
    ("/o͝o/", "could"): ("oul=UH", "the silent l joins the vowel letters"),
}
"""Phoneme as printed and word, the grapheme that the written conventions have instead, and why."""

PROGRAM_ERRORS: Mapping[tuple[str, str], str] = {}
"""The same, where the program is known to be wrong."""


def graphemes(row: Row) -> set[str]:
    """The graphemes as the program writes them: no dashes for places, brackets opened."""
    names = re.split(r"[,/]\s*", re.sub(r"[()]", "", row["graphemes_as_printed"]))
    return {name.strip().strip("-").replace("_", "-") for name in names}


def examples(rows: list[Row]) -> Iterator[tuple[Row, str]]:
    """Each example word with its row, once where it is printed twice."""
    for row in rows:
        for word in dict.fromkeys(row["word_examples"].split(", ")):
            yield row, word


def holds(reading: Reading, row: Row) -> bool:
    """Whether one of the row's graphemes has its phoneme in the reading."""
    sounds = tuple(row["arpabet"].split())
    return any(g.letters in graphemes(row) and tuple(bare(s) for s in g.sounds) == sounds for g in reading.graphemes)


def satisfied(engine: Engine, row: Row, word: str) -> bool:
    """Whether a reading of the word holds one of the row's graphemes with its phoneme."""
    return any(holds(reading, row) for reading in engine.readings(word))


def written(reading: Reading) -> list[str]:
    """The graphemes with their sounds."""
    return [f"{g.letters}={'+'.join(bare(s) for s in g.sounds) or '-'}" for g in reading.graphemes]


@pytest.mark.rows(FILE, "ipa", "graphemes_as_printed")
def test_example_words(row: Row, engine: Engine) -> None:
    wrong: list[str] = []
    for word in row["word_examples"].split(", "):
        key = (row["phoneme_as_printed"], word)
        if key in PROGRAM_ERRORS:
            wrong.append(f"{word}: {PROGRAM_ERRORS[key]}")
        if key in EXCEPTIONS:
            assert EXCEPTIONS[key][0] in written(engine.readings(word)[0]), word
        listed = key in PROGRAM_ERRORS or key in EXCEPTIONS
        assert satisfied(engine, row, word) != listed, (word, listed, [written(r) for r in engine.readings(word)])
    if wrong:
        pytest.xfail("; ".join(wrong))


def test_summary(gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    pairs = list(examples(gold(FILE)))
    right = sum(satisfied(engine, row, word) for row, word in pairs)
    with capsys.disabled():
        print(
            f"\nCommon Core (2010), Appendix A: {right} of {len(pairs)} example words hold the grapheme with its "
            f"phoneme; {len(EXCEPTIONS)} listed exceptions"
        )
    assert right == len(pairs) - len(EXCEPTIONS) - len(PROGRAM_ERRORS)
