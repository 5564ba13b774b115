"""Published data to measure the program against, from a folder beside the project; tests skip where it is absent."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

GOLD = Path(__file__).parents[3] / "shared" / "gold"
ABSENT = "the reference data is not beside the project (../shared/gold)"
Row = dict[str, str]


def _rows(name: str) -> list[Row]:
    with (GOLD / name).open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
        return [{key: value or "" for key, value in row.items()} for row in rows]


def pytest_configure(config: pytest.Config) -> None:
    """Make the marker known that names a test's file of rows."""
    config.addinivalue_line("markers", "rows(name, *columns): one test for each row of a file, named by its columns")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give a test marked ``rows`` one row at a time."""
    mark = metafunc.definition.get_closest_marker("rows")
    if mark is None:
        return
    name, *columns = mark.args
    if not (GOLD / name).is_file():
        metafunc.parametrize("row", [pytest.param({}, marks=pytest.mark.skip(ABSENT))], ids=["absent"])
        return
    rows = _rows(name)
    metafunc.parametrize("row", rows, ids=["-".join(row[c] for c in columns if row[c]) for row in rows])


@pytest.fixture(scope="session")
def gold() -> Callable[[str], list[Row]]:
    """The rows of a file of the reference data."""
    if not GOLD.is_dir():
        pytest.skip(ABSENT)
    return _rows
