"""The items of a published reading check, asked of the rules for made-up words.

In: 20 made-up and 20 real words of the check that South Australia tried in 2017, adapted from England's (Standards and
Testing Agency, 2017, *Phonics screening check: structure and content*). Out: a failure for a made-up item whose spelling
is called illegal and for a real item that would pass as made up; a table of the made-up items that this project would
not make itself, since it is stricter about words and names that they sound like.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from decodable.engine import Engine
from decodable.made_up import maker, refused

pytestmark = pytest.mark.standards

FILE = "screening_check_2017_items.tsv"
ACCENTS = ("general-american", "southern-british")
Row = dict[str, str]


@pytest.mark.parametrize("accent", ACCENTS)
@pytest.mark.rows(FILE, "type", "item")
def test_item(row: Row, accent: str, engine: Engine) -> None:
    if row["type"] == "real":
        assert refused(engine, row["item"], accent) == "it is a word or a name"
    else:
        assert maker(engine, accent).rules.illegal(row["item"]) == ""


def test_summary(gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    items = [row["item"] for row in gold(FILE) if row["type"] == "pseudo"]
    reasons = {item: refused(engine, item, "general-american") for item in items}
    with capsys.disabled():
        print(f"\n{len(items)} made-up items, all legal; we would make {sum(not why for why in reasons.values())}:")
        for item, why in reasons.items():
            print(f"{item:<10}{why or 'could serve'}")
    assert len(items) == 20
