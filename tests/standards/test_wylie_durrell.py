"""The 37 rimes of Wylie and Durrell in the vocabulary.

In: R. E. Wylie and D. D. Durrell (1970), 'Teaching vowels through phonograms', *Elementary English* 47, 787-791: the rimes
that make nearly 500 words of the primary grades, with examples. Out: a failure for a rime without words for lists,
for an example that is in the vocabulary but in another family, and for a rime with fewer than ten words at the end of a
sequence, unless English has no more that are common and fit; a table of each rime with its words.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from decodable.engine import Engine
from decodable.word_table import family_of
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


# Rimes with fewer than ten words: the common words (Zipf frequency 3 and over) that the dictionary has besides, none of
# them for a young child's list.
FEWER = {"-ice": "vice lice thrice", "-oke": "coke stoke choke bloke yoke", "-unk": "drunk punk funk hunk"}


@pytest.mark.parametrize("name", ["gull-point", "common-core", "england-appendix-1"])
def test_ten_words_at_the_end(
    name: str, gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    index, lexicon = engine.words(engine.reader(name, len(engine.sequence(name).steps))), engine.lexicon
    counts = {row["rime"]: index.count(Query(family=row["rime"])) for row in gold(FILE)}
    few = {rime for rime, count in counts.items() if count < 10}
    assert few == set(FEWER)
    for rime in few:
        key = index.table.meta["families"][index.family(rime)]
        offered = {w.word for w in index.find(Query(family=rime))}
        ending = [w for w in lexicon.words if w.endswith(rime[1:]) and lexicon.frequency(w) >= 3]
        others = {w for w in ending if w not in offered and family_of(lexicon.readings(w)[0]) == key}
        assert others == set(FEWER[rime].split())
    with capsys.disabled():
        listed = ", ".join(f"{rime} {count}" for rime, count in sorted(counts.items(), key=lambda c: -c[1]))
        print(f"\nWylie and Durrell (1970), {name}, words at the end: {listed}")


def test_all_rimes_are_asked(gold: Callable[[str], list[Row]]) -> None:
    assert len(gold(FILE)) == 37
