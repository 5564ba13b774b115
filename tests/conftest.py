"""What all tests share: an engine whose user folder is the checkout's own, and sequences written in the test.

The compiled dictionary is kept in that folder between runs. Compiling takes half a minute, so one process does it while
the others wait.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

HOME = Path(__file__).parents[1] / ".cache" / "test-home"
os.environ.setdefault("DECODABLE_HOME", str(HOME))

import decodable  # noqa: E402
from decodable.engine import Engine  # noqa: E402
from decodable.sequence import Sequence, from_toml  # noqa: E402

SequenceFrom = Callable[..., Sequence]


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold a lock that the operating system lets go when the process ends; no lock where it has none."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a") as file:
        try:
            import fcntl
        except ImportError:
            yield
            return
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


@pytest.fixture(scope="session", autouse=True)
def compiled() -> None:
    """Dictionary and vocabulary, compiled by one process before any test needs them."""
    with _locked(Path(os.environ["DECODABLE_HOME"]) / "compile.lock"):
        assert decodable.shared_engine().lexicon.words
        assert decodable.shared_engine().word_table().words


@pytest.fixture(scope="session")
def engine() -> Engine:
    """The shared engine."""
    return decodable.shared_engine()


@pytest.fixture(scope="session")
def sequence_from(engine: Engine) -> SequenceFrom:
    """Makes a sequence from steps, each ``"phrase, phrase | whole word, whole word"``."""

    def make(*steps: str, unstressed: str = "allow") -> Sequence:
        def listed(text: str) -> str:
            return ", ".join(f'"{item.strip()}"' for item in text.split(",") if item.strip())

        lines = ['title = "Test order"', f'unstressed = "{unstressed}"']
        for number, step in enumerate(steps, 1):
            teach, _, words = step.partition("|")
            lines += ["[[step]]", f'id = "s{number}"', f"teach = [{listed(teach)}]", f"words = [{listed(words)}]"]
        return from_toml("\n".join(lines), "test.toml", engine.phrases)

    return make
