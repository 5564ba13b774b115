"""Compiling: the same bytes each time, a page checked before the whole is ready, and the same answers then."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from decodable.compiling import compile_lexicon, page_lexicon
from decodable.engine import Engine
from decodable.lexicon import Lexicon
from decodable.source import read_source

PROJECT = Path(__file__).parents[1]
PASSAGES = sorted((PROJECT / "passages").glob("*.md"))
WORDS = ["cat", "cats", "mudflat", "grass", "grasses", "read", "didn't", "into"]


@pytest.fixture(scope="module")
def page() -> Lexicon:
    """The words of all passages."""
    return page_lexicon(path.read_text(encoding="utf-8") for path in PASSAGES)


def test_the_same_words_give_the_same_columns() -> None:
    once, again = compile_lexicon(only=WORDS), compile_lexicon(only=list(reversed(WORDS)))
    assert sorted(once) == sorted(again)
    assert all(np.array_equal(once[name], again[name]) for name in once)


def test_a_page_has_its_words_and_their_bases(page: Lexicon, engine: Engine) -> None:
    assert len(page.words) < len(engine.lexicon.words) / 5
    for word in page.words[::7]:
        assert page.readings(word) == engine.lexicon.readings(word)
        for code in ("general-american", "southern-british"):
            assert page.in_accent(code).readings(word) == engine.dictionary(code).readings(word)


def test_a_page_gets_the_same_report(page: Lexicon, engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    """Checked with its own words alone, a passage gets the report that the whole dictionary gives."""
    small = Engine()
    monkeypatch.setitem(small.__dict__, "lexicon", page)
    small.partial = True
    for path in PASSAGES:
        source = read_source(path)
        for sequence in ("gull-point", "england-appendix-1"):
            reports = [
                e.check(source.text, e.reader(sequence, 12, names=["Pip"]), markdown=source.markdown)
                for e in (small, engine)
            ]
            assert reports[0].to_dict() == reports[1].to_dict(), path.name


@pytest.mark.slow
def test_first_check_does_not_wait(tmp_path: Path) -> None:
    """With an empty cache a page is checked at once; the dictionary is compiled meanwhile, and then used."""
    home = {**os.environ, "DECODABLE_HOME": str(tmp_path), "PYTHONPATH": str(PROJECT)}
    command = [sys.executable, "-m", "decodable", "check", str(PASSAGES[0]), "--step", "th", "--brief"]
    first = subprocess.run(command, env=home, capture_output=True, text=True, timeout=60)
    assert "compiled in the background" in first.stderr
    for _ in range(600):
        if (tmp_path / "cache" / "lexicon.npz").is_file() and not (tmp_path / "cache" / "compiling").is_file():
            break
        time.sleep(0.5)
    second = subprocess.run(command, env=home, capture_output=True, text=True, timeout=60)
    assert (second.stdout, second.stderr, second.returncode) == (first.stdout, "", first.returncode)
