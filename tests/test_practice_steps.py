"""Practice at every step of the shipped sequences: everything that is offered can be read there, and nothing is unfit.

Not a sample: every word of every list, sort, chart, table, box, dictation, grid, plan and lesson of every step.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

import pytest

from decodable.blends import NO_WORD, WORD, blend_charts, blend_table
from decodable.dictation import dictation
from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.lesson import lesson
from decodable.practice import practice_words
from decodable.readers import Reader
from decodable.review import fluency_grid, review_plan
from decodable.sorts import WAYS, word_sort
from decodable.sound_boxes import SoundWork

pytestmark = pytest.mark.slow

SEEDS = (0, 1, 2)
SEQUENCES = ("gull-point", "common-core", "england-appendix-1")


@dataclass
class Found:
    """What one step gave."""

    reader: Reader
    words: dict[str, set[str]] = field(default_factory=dict)
    """Kind of practice to its words."""
    sentences: list[str] = field(default_factory=list)
    cells: list[tuple[str, str]] = field(default_factory=list)
    later: list[tuple[int, str]] = field(default_factory=list)
    """Steps with words of the plan."""
    lesson: dict[str, Any] = field(default_factory=dict)
    passage: str = ""


def _gathered(engine: Engine, reader: Reader) -> Found:
    index, out = engine.words(reader), Found(reader)
    listed = practice_words(index)
    out.words["list"] = {w.word for w in (*listed.new, *listed.review)}
    for by, seed in product(WAYS, SEEDS):
        try:
            sort = word_sort(index, by=by, seed=seed)
        except DecodableError:
            continue
        out.words[f"sort by {by} {seed}"] = set(sort.mixed)
        assert set(sort.mixed) == {w.word for c in sort.columns for w in c.words} | {w.word for w in sort.odd}
    charts = [entry for chart in blend_charts(index) for entry in chart.entries]
    out.words["charts"] = {w for e in charts for w in e.words} | {e.keyword.word for e in charts if e.keyword}
    with suppress(DecodableError):
        tables = [blend_table(index, engine.never_offered, seed=seed) for seed in SEEDS]
        out.cells = [(cell.text, cell.kind) for table in tables for row in table.cells for cell in row]
    out.words["table"] = {text for text, kind in out.cells if kind == WORD}
    work = SoundWork(index)
    boxes = [work.boxes(w.word) for w in (*listed.new, *listed.review)]
    out.words["boxes"] = {c.word for b in boxes for c in b.changes}
    for seed in SEEDS:
        spoken = dictation(engine, reader, words=8, sentences=4, seed=seed)
        out.words[f"dictation {seed}"] = {w.word for w in spoken.words}
        out.sentences += [s.text for s in spoken.sentences]
    with suppress(DecodableError):
        out.words["grid"] = {w for row in fluency_grid(index).rows for w in row}
    out.later = [(w.step, word) for w in review_plan(engine, reader).weeks for r in w.returns for word in r.words]
    week = lesson(engine, reader)
    out.lesson = week.to_dict()
    json.dumps(out.lesson)
    out.words["lesson"] = {
        *(w for d in week.days for w in (*d.words, *d.dictated)),
        *(c.keyword for c in week.sounds if c.keyword),
        *(b.word for b in week.blending),
        *(c.word for b in week.blending for c in b.changes),
        *(w for row in (week.grid.rows if week.grid else ()) for w in row),
        *week.chain,
    }
    out.sentences += [d.sentence for d in week.days if d.sentence]
    out.passage = week.passage.text if week.passage else ""
    return out


@pytest.fixture(scope="module", params=SEQUENCES)
def steps(request: pytest.FixtureRequest, engine: Engine) -> list[Found]:
    sequence = engine.sequence(request.param)
    return [_gathered(engine, engine.reader(sequence, n)) for n in range(1, len(sequence.steps) + 1)]


def test_every_word_passes_the_checker(steps: list[Found], engine: Engine) -> None:
    flagged = []
    for found in steps:
        for kind, words in found.words.items():
            report = engine.check("\n\n".join(sorted(words)), found.reader)
            flagged += [(found.reader.step, kind, w.text) for w, _ in report.flagged_words]
    assert flagged == []


def test_every_sentence_passes_the_checker(
    steps: list[Found], engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    flagged, without = [], []
    for found in steps:
        for text in dict.fromkeys(found.sentences):
            report = engine.check(text, found.reader)
            flagged += [(found.reader.step, text, w.text) for w, _ in report.flagged_words]
        if not found.sentences:
            without.append(found.reader.step)
    assert flagged == []
    with capsys.disabled():
        print(f"\n{steps[0].reader.sequence.name}: steps without a sentence: {without or 'none'}")
    assert set(without) <= {1}, "two sounds, four letters: no verb yet"


def test_a_plan_stays_within_its_weeks(steps: list[Found], engine: Engine) -> None:
    by_step: dict[int, set[str]] = {}
    for found in steps:
        for step, word in found.later:
            by_step.setdefault(step, set()).add(word)
    for step, words in by_step.items():
        report = engine.check("\n\n".join(sorted(words)), replace(steps[0].reader, step=step))
        assert [(step, w.text) for w, _ in report.flagged_words] == []


def test_nothing_unfit(steps: list[Found], engine: Engine) -> None:
    never = engine.never_offered
    for found in steps:
        words = {w for kind in found.words.values() for w in kind} | {w for _, w in found.later}
        words |= {w.strip(".,?!\"'").lower() for s in (*found.sentences, found.passage) for w in s.split()}
        assert [w for w in sorted(words) if w in never] == []
        assert [text for text, _ in found.cells if text in never or never.unfit_made_up(text, [])] == []


def test_a_lesson_at_every_step(steps: list[Found]) -> None:
    for found in steps:
        week = found.lesson
        assert week["days"]
        assert len(week["questions"]) == 2
        assert week["words"]["new"] or week["words"]["review"], found.reader.step
        assert week["sounds"] or week["whole"] or week["target"]
        assert all(day["words"] for day in week["days"])


def test_what_is_no_word_is_in_no_dictionary(steps: list[Found], engine: Engine) -> None:
    for found in steps:
        no_words = [text for text, kind in found.cells if kind == NO_WORD]
        assert [text for text in no_words if text in engine.lexicon.index or text in engine.word_table().index] == []
