"""The 220 service words of Dolch, in the shipped sequences.

In: E. W. Dolch (1936), 'A basic sight vocabulary', *Elementary School Journal* 36, 456-460. Out: a failure for each
word without a reading of the dictionary, and a count, for each sequence, of the words that can be sounded out at its
end, that it teaches whole, and that are left.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from decodable.engine import Engine
from decodable.judging import NEVER
from decodable.model import Reading

pytestmark = pytest.mark.standards

FILE = "dolch_1936.tsv"
SEQUENCES = ("gull-point", "england-appendix-1", "common-core")
Row = dict[str, str]


def covered(reading: Reading) -> bool:
    """Whether every letter and every sound belongs to just one grapheme."""
    places = sorted(i for g in reading.graphemes for i in g.at)
    sounds = [s for g in reading.graphemes for s in g.sounds]
    letters = [i for i, letter in enumerate(reading.word) if letter != "'"]
    return places == letters and sorted(sounds) == sorted(reading.sounds)


@pytest.mark.rows(FILE, "word")
def test_word_is_analysed(row: Row, engine: Engine) -> None:
    readings = engine.readings(row["word"])
    assert readings
    assert readings[0].source in ("dictionary", "correction")
    assert all(covered(reading) for reading in readings)


@pytest.mark.parametrize("name", SEQUENCES)
def test_summary(
    name: str, gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [row["word"].lower() for row in gold(FILE)]
    judge = engine.judge(engine.reader(name))
    entries = {word: judge.entry(word) for word in words}
    sounded = [word for word, entry in entries.items() if entry.sounded < NEVER]
    whole = [word for word, entry in entries.items() if entry.whole < NEVER]
    irregular = [word for word, entry in entries.items() if entry.step == NEVER]
    with capsys.disabled():
        print(
            f"\nDolch (1936), {name}: of {len(words)} words {len(sounded)} can be sounded out at the end, "
            f"{len(whole)} are taught whole, {len(irregular)} are irregular: {', '.join(irregular)}\n"
            f"Sounded out: {', '.join(sounded)}\nTaught whole only: {', '.join(w for w in whole if w not in sounded)}"
        )
    assert len(words) == 220
    assert len(entries) == len(words)
    assert len(sounded) + len(set(whole) - set(sounded)) + len(irregular) == len(words)


@pytest.mark.rows(FILE, "word")
def test_word_is_in_the_vocabulary(row: Row, engine: Engine) -> None:
    assert row["word"].lower() in engine.word_table().index
