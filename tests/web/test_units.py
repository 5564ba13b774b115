"""Offsets as browsers count them, and the editor's changes, against texts held as UTF-16."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decodable.errors import DecodableError
from decodable.web.units import Change, Units, changed, revision, whole_letters

TEXTS = st.text(alphabet="ab \n\N{CRAB}\N{SAILBOAT}\u00e9\U0001f9dc", max_size=30)


def units(text: str) -> int:
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


@given(text=TEXTS)
def test_offsets_lead_there_and_back(text: str) -> None:
    count = Units(text)
    assert count.length == units(text)
    for point in range(len(text) + 1):
        unit = int(count.units(point))
        assert unit == units(text[:point])
        assert count.point(unit) == point


def test_an_offset_inside_a_pair_is_the_pair_s_own() -> None:
    assert [Units("a\N{CRAB}b").point(n) for n in range(5)] == [0, 1, 1, 2, 3]


@given(before=TEXTS, inserted=TEXTS, data=st.data())
def test_a_change_replaces_what_it_names(before: str, inserted: str, data: st.DataObject) -> None:
    first = data.draw(st.integers(0, len(before)))
    last = data.draw(st.integers(first, len(before)))
    change: list[Change] = [
        units(before[:first]),
        [units(before[first:last]), *inserted.split("\n")],
        units(before[last:]),
    ]
    assert changed(before, change) == before[:first] + inserted + before[last:]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ([5], "reach beyond"),
        ([1], "cover 1 of 3"),
        ([-1, 4], "reach beyond"),
        ([[4]], "reach beyond"),
        ([["x", 3]], "should be a number"),
        ([[]], "should be a number"),
        ([[1, 2]], "should be a number"),
    ],
)
def test_changes_that_do_not_fit_are_refused(changes: list[Change], message: str) -> None:
    with pytest.raises(DecodableError, match=message):
        changed("cat", changes)


def test_half_a_pair_becomes_a_replacement_of_the_same_length() -> None:
    assert whole_letters("a\ud83e b") == "a\ufffd b"
    assert whole_letters("\N{CRAB}") == "\N{CRAB}"
    assert changed("ab", [1, [0, "\ud83e"], 1]) == "a\ufffdb"
    assert changed("\N{CRAB}", [[1], 1]) == "\ufffd"


def test_a_revision_names_exactly_one_text() -> None:
    assert revision("cat") == revision("cat") != revision("cats")
    assert revision("a\ud83e") != revision("a")
