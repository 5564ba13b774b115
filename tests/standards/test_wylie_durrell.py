"""The 37 rimes of Wylie and Durrell in the vocabulary.

In: R. E. Wylie and D. D. Durrell (1970), 'Teaching vowels through phonograms', *Elementary English* 47, 787-791: the rimes
that make nearly 500 words of the primary grades, with examples. Out: a failure for a rime without words for lists,
and for an example that is in the vocabulary but in another family; a table of each rime with its words.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from decodable.engine import Engine
from decodable.words import Query

pytestmark = pytest.mark.standards

FILE = "wylie_durrell_1970_rimes.tsv"
Row = dict[str, str]


@pytest.mark.rows(FILE, "rime")
def test_rime_has_words(row: Row, engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    index = engine.words(engine.reader("gull-point"))
    found = [word.word for word in index.find(Query(family=row["rime"]))]
    examples = {word.lower() for word in row["example_words"].split()}
    known = {word for word in examples if word in index.table.index}
    with capsys.disabled():
        print(f"\n{row['rime']}: {len(found)} words, {len(known)} of {len(examples)} examples: {', '.join(found)}")
    assert len(found) >= 5
    assert known <= set(found)
    assert len(known) >= len(examples) / 2


def test_all_rimes_are_asked(gold: Callable[[str], list[Row]]) -> None:
    assert len(gold(FILE)) == 37
