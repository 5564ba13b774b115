"""Fluency grids, and a plan that brings each pattern back over the weeks after it was new.

In go a reader's words, or the engine and a reader; out come :class:`FluencyGrid` and :class:`ReviewPlan`. Every word of
a plan can be read in the week in which it stands, and a pattern comes back with other words where there are any.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from decodable.errors import DecodableError
from decodable.practice import distinct, practice_words, readable, seeded
from decodable.practice_rules import practice_rules
from decodable.readers import Reader
from decodable.words import Query, WordIndex

if TYPE_CHECKING:
    from decodable.engine import Engine


# ---------------------------------------------------------------------- fluency grids
@dataclass(frozen=True, slots=True)
class FluencyGrid:
    """The same words in every row, each row in another order."""

    target: tuple[str, ...]
    """What it practises, as phrases."""
    rows: tuple[tuple[str, ...], ...]
    """The words as they stand."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"target": list(self.target), "rows": [list(row) for row in self.rows]}


def fluency_grid(
    index: WordIndex, *, target: Iterable[str] = (), rows: int = 0, columns: int = 0, seed: int = 0
) -> FluencyGrid:
    """A grid of words with the target, filled up with words of steps before.

    No word stands below itself, nor at the end of a row and the start of the next, where the words are enough for that.

    Args:
        index: the reader's words.
        target: phrases; what the reader's step teaches where left out.
        rows: how many rows; 0: as the settings say.
        columns: how many words in a row; 0: as the settings say.
        seed: another seed gives another order.

    Raises:
        DecodableError: where the reader has no two words.
    """
    rules = practice_rules()
    rows, columns = rows or rules.number("grid", "rows"), columns or rules.number("grid", "columns")
    chosen = practice_words(index, target, new=columns, review=columns, seed=seed)
    words = [w.word for w in (*chosen.new, *chosen.review)][:columns]
    if len(words) < 2:
        raise DecodableError("There are no two words for a grid at this step.")
    return FluencyGrid(chosen.target, _shuffled_rows(words, rows, random.Random(f"{seed} grid {' '.join(words)}")))


def _shuffled_rows(words: Sequence[str], rows: int, chance: random.Random) -> tuple[tuple[str, ...], ...]:
    out: list[tuple[str, ...]] = []
    for _ in range(rows):
        best: tuple[int, tuple[str, ...]] | None = None
        for _ in range(200):
            row = tuple(chance.sample(words, len(words)))
            above = sum(a == b for before in out[-2:] for a, b in zip(before, row, strict=True))
            clashes = above + (bool(out) and out[-1][-1] == row[0])
            if best is None or clashes < best[0]:
                best = (clashes, row)
            if not clashes:
                break
        assert best is not None
        out.append(best[1])
    return tuple(out)


# ---------------------------------------------------------------------- review
@dataclass(frozen=True, slots=True)
class Return:
    """A pattern that comes back."""

    phrase: str
    """The pattern, as the sequence writes it."""
    after: int
    """Weeks since it was new."""
    words: tuple[str, ...]
    """Words with it."""


@dataclass(frozen=True, slots=True)
class ReviewWeek:
    """One week."""

    number: int
    """From 1."""
    step: int
    """The step reached, from 1."""
    step_name: str
    """Its name."""
    new: tuple[str, ...]
    """What is new, as phrases; nothing after the last step."""
    whole: tuple[str, ...]
    """Words taught whole that are new."""
    returns: tuple[Return, ...]
    """What comes back, the latest first."""


@dataclass(frozen=True, slots=True)
class ReviewPlan:
    """What is new and what comes back, week by week."""

    gaps: tuple[int, ...]
    """After how many weeks a pattern comes back."""
    weeks: tuple[ReviewWeek, ...]
    """One after another, from the reader's step on."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "gaps": list(self.gaps),
            "weeks": [
                {
                    "week": w.number,
                    "step": w.step,
                    "step_name": w.step_name,
                    "new": list(w.new),
                    "whole": list(w.whole),
                    "returns": [
                        {"pattern": r.phrase, "weeks_after": r.after, "words": list(r.words)} for r in w.returns
                    ],
                }
                for w in self.weeks
            ],
        }


def review_plan(engine: Engine, reader: Reader, *, weeks: int = 0, weeks_a_step: int = 1, seed: int = 0) -> ReviewPlan:
    """A plan from the reader's step on.

    Args:
        engine: the engine.
        reader: who practises; a step must be stated.
        weeks: how many weeks; 0: as the settings say.
        weeks_a_step: how many weeks a step takes.
        seed: 0 for the clearest words first, another number for another order.
    """
    if not reader.step:
        raise DecodableError("A plan begins at a step: state the step, too.")
    if weeks_a_step < 1:
        raise DecodableError(f"A step takes one week or more, not {weeks_a_step}.")
    rules = practice_rules()
    weeks = weeks or rules.number("review", "weeks")
    steps, last = reader.sequence.steps, len(reader.sequence.steps)
    out: list[ReviewWeek] = []
    used: dict[str, list[str]] = {}
    for week in range(weeks):
        reached = min(reader.step + week // weeks_a_step, last)
        fresh = reader.step + week // weeks_a_step <= last and week % weeks_a_step == 0
        index = engine.words(replace(reader, step=reached))
        returns: list[Return] = []
        for gap in rules.gaps:
            taught = _taught(reader.step, week - gap, weeks_a_step)
            for phrase in steps[taught - 1].teach if 1 <= taught <= last else ():
                words = _words(index, phrase.patterns, used.setdefault(phrase.text, []), seed)
                if words:
                    returns.append(Return(phrase.text, gap, words))
        step = steps[reached - 1]
        new, whole = (tuple(p.text for p in step.teach), step.words) if fresh else ((), ())
        out.append(ReviewWeek(week + 1, reached, step.name, new, whole, tuple(returns)))
    return ReviewPlan(rules.gaps, tuple(out))


def _taught(first: int, week: int, weeks_a_step: int) -> int:
    """The number of the step that was new in a week, counted from the plan's first week, 0; 0 where none was."""
    return first + week // weeks_a_step if week % weeks_a_step == 0 else 0


def _words(index: WordIndex, patterns: Iterable[str], used: list[str], seed: int) -> tuple[str, ...]:
    """Words with a pattern, those not used before first."""
    count = practice_rules().number("review", "words")
    asked = readable(index) & index.using(patterns)
    found = [w.word for w in distinct(index.find(Query(limit=8 * count), asked))]
    chance = seeded(seed, "review", *used)
    if chance:
        chance.shuffle(found)
    chosen = [w for w in found if w not in used][:count]
    chosen += [w for w in used if w in found and w not in chosen][: count - len(chosen)]
    used[:] = [w for w in used if w not in chosen] + chosen
    return tuple(chosen)
