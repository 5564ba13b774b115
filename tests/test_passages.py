"""Every shipped passage can be read at its step, and practises what it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from decodable.engine import Engine
from decodable.source import read_source

PASSAGES = sorted((Path(__file__).resolve().parents[1] / "passages").glob("*.md"))


def front_matter(text: str) -> dict[str, str]:
    return dict(re.findall(r"^(\w+): (.*)$", text.split("---")[1], re.MULTILINE))


def test_there_are_enough() -> None:
    assert len(PASSAGES) >= 8


@pytest.mark.parametrize("path", PASSAGES, ids=[p.stem for p in PASSAGES])
def test_passage_is_readable_at_its_step(engine: Engine, path: Path) -> None:
    source = read_source(path)
    facts = front_matter(source.text)
    told = [w.strip() for w in facts["told"].strip("[]").split(",") if w.strip()]
    assert len(told) <= 2
    reader = engine.reader(facts["sequence"], facts["step"], told=told)
    report = engine.check(source.text, reader, markdown=True, target=[facts["target"]])
    assert [(w.text, [m.pattern for m in w.missing]) for w, _ in report.flagged_words] == []
    assert report.target_share >= 0.1
    assert len(report.target_words) >= 5
    assert facts["title"] == re.findall(r"^# (.*)$", source.text, re.MULTILINE)[0]
