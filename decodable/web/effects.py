"""What a change of a sequence does: the words that each step frees, the open text, the readers who follow it.

In go a sequence as it was and as it would be; out come counts for each step, and what changes for whom.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.readers import Reader
from decodable.sequence import Sequence
from decodable.web.desk import Desk, OpenText

_SHOWN = 6


def words_freed(engine: Engine, sequence: Sequence) -> list[dict[str, int]]:
    """How many words can first be read at each step: one row a step, one count for each body of words.

    ``children`` counts the words that young children know, ``dictionary`` all words of the dictionary. Another body of
    words is one more key here, and one more label in the page's ``BODIES``.
    """
    known = engine.words(Reader(sequence)).freed().tolist()
    opened = engine.words_opened(sequence)
    return [{"children": few, "dictionary": all_} for few, all_ in zip(known, opened, strict=True)]


def text_effect(desk: Desk, text: OpenText, sequence: Sequence, reader: Reader | None) -> dict[str, Any]:
    """The readable share of a text at every step of a sequence, for the reader's own exceptions if there is one."""
    found = replace(reader, sequence=sequence, step=0) if reader else Reader(sequence)
    report = desk.report(text, found)
    return {
        "title": text.kept.title,
        "readable_by_step": [round(s, 4) for s in report.by_step],
        "first_step_at_95": report.first_step_at(),
    }


def reader_effects(desk: Desk, name: str, sequence: Sequence) -> list[dict[str, Any]]:
    """The saved readers who follow a sequence and for whom something changes, in order of their files."""
    out: list[dict[str, Any]] = []
    for reader_name in desk.store.readers():
        try:
            old = desk.reader(reader_name)
        except DecodableError:
            continue
        if old.sequence.name != name or old.sequence == sequence:
            continue
        found: dict[str, Any] = {"id": reader_name, "name": old.name, "step_before": old.step or None}
        if old.step and old.step_id not in sequence.numbers:
            gone = old.sequence.steps[old.step - 1].name
            found |= {"step_after": None, "gained": 0, "lost": 0, "gained_words": [], "lost_words": []}
            out.append({**found, "problem": f"This reader's step ({gone}) is gone. Choose another step after saving."})
            continue
        new = replace(old, sequence=sequence, step=sequence.numbers[old.step_id] if old.step else 0)
        before, after = _readable(desk.engine, old), _readable(desk.engine, new)
        gained, lost = after & ~before, before & ~after
        if new.step != old.step or gained.any() or lost.any():
            found |= {"step_after": new.step or None, "gained": int(gained.sum()), "lost": int(lost.sum())}
            found |= {"gained_words": _commonest(desk.engine, gained), "lost_words": _commonest(desk.engine, lost)}
            out.append({**found, "problem": ""})
    return out


def _readable(engine: Engine, reader: Reader) -> npt.NDArray[np.bool_]:
    """Which dictionary words a reader can read in any way, bool, one a word."""
    judge = engine.judge(reader)
    step = reader.step or judge.last
    out: npt.NDArray[np.bool_] = judge.bank.words <= step
    for word, when in judge.whole.items():
        number = engine.lexicon.index.get(word)
        if number is not None and when <= step:
            out[number] = True
    return out


def _commonest(engine: Engine, chosen: npt.NDArray[np.bool_]) -> list[str]:
    """A few of the chosen words, the most frequent first."""
    numbers = np.flatnonzero(chosen)
    frequency = engine.lexicon.column("frequency")[numbers]
    return [engine.lexicon.words[n] for n in numbers[np.argsort(-frequency, kind="stable")[:_SHOWN]].tolist()]
