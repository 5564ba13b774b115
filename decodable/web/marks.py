"""What the page shows of a judged text: marks on words, figures, the card of one word.

In goes a report; out come plain values with offsets as the browser counts them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from decodable.describe import in_words, missing_in_words, reading_dict, step_in_words
from decodable.engine import Engine
from decodable.judging import NEVER
from decodable.report import FLAGGED, GOAL, VERDICTS, Report
from decodable.web.desk import Desk, OpenText
from decodable.written import band, comes, trouble

# Distinct words in a list; the report on paper has them all.
_LISTED = 300
# Words marked at once: far more than a screen shows.
_MARKED = 6000


def view_marks(text: OpenText, report: Report, first: int, last: int) -> dict[str, Any]:
    """Marks for the words from ``first`` to ``last`` (UTF-16 units), decodable ones left out.

    ``marks`` holds ``[from, to, verdict, [[from, to], ...]]``: the verdict as its place in ``verdicts``, and the runs
    of letters that are missing.
    """
    starts = report.tokens.start[report.index]
    a, b = np.searchsorted(starts, [text.units.point(first), text.units.point(last) + 1])
    places = [p for p in range(int(a), min(int(b), int(a) + _MARKED)) if VERDICTS[report.verdict[p]] != "decodable"]
    tokens = report.index[places]
    spans = np.stack([text.units.units(report.tokens.start[tokens]), text.units.units(report.tokens.end[tokens])], 1)
    marks = []
    for place, (begin, end) in zip(places, spans.tolist(), strict=True):
        code = int(report.verdict[place])
        letters = _runs(report, place, begin, end) if code in FLAGGED else []
        marks.append([begin, end, code, letters])
    return {"verdicts": list(VERDICTS), "first": first, "last": last, "marks": marks}


def _runs(report: Report, place: int, begin: int, end: int) -> list[list[int]]:
    """The runs of missing letters of a word, in UTF-16 units; none where letters and places don't match."""
    word = report.word(place)
    if word.reading is None or end - begin != len(word.reading.word):
        return []
    runs: list[list[int]] = []
    for at in sorted({p for m in word.missing for p in m.at}):
        if runs and runs[-1][1] == begin + at:
            runs[-1][1] += 1
        else:
            runs.append([begin + at, begin + at + 1])
    return runs


def figures(report: Report) -> dict[str, Any]:
    """The figures that stand beside a text while it is typed: all that costs next to nothing."""
    first = report.first_step_at()
    return {
        "counts": report.counts,
        "decodable_share": round(report.decodable_share, 4),
        "accuracy_potential": round(report.accuracy_potential, 4),
        "readable_share": round(report.readable_share, 4),
        "flagged": report.flagged,
        "flagged_types_per_100": round(report.flagged_types_per_100, 2),
        "met_once": report.met_once,
        "band": band(report.readable_share),
        "goal": GOAL,
        "step": report.judge.reader.step,
        "readable_by_step": [round(s, 4) for s in report.by_step],
        "first_step_at_95": first,
    }


def lists(report: Report) -> dict[str, Any]:
    """The lists that stand beside a text when the typing rests: flagged words, what to teach first."""
    flagged = report.flagged_words
    return {
        "flagged_words": [
            {
                "text": w.text,
                "times": n,
                "verdict": w.verdict,
                "first_step": w.first_step,
                "letters": _letters(w.text, w.reading.word if w.reading else "", {p for m in w.missing for p in m.at}),
                "trouble": trouble(report, w),
                "patterns": [m.pattern for m in w.missing],
                "comes": comes(report, w),
            }
            for w, n in flagged[:_LISTED]
        ],
        "flagged_types": len(flagged),
        "teach_first": [
            {**g.to_dict(), "step": _taught_at(report, g.teach) if not g.whole else None} for g in report.teach_first()
        ],
        "read_as_spelled": [w.text for w, _ in report.read_as_spelled][:_LISTED],
        "reading_not_told": sorted({report.tokens.text_of(int(report.index[p])) for p in report.unsure}),
    }


def _taught_at(report: Report, teach: tuple[str, ...]) -> int | None:
    """The step at which the sequence has taught all of these; ``None`` if it never does."""
    steps = [report.judge.now.step_of(p) for p in teach]
    return max(steps) if steps and max(steps) < NEVER else None


def _letters(text: str, word: str, wanting: set[int]) -> list[list[Any]]:
    """The word in runs of letters, each with whether it is missing: ``[["Pa", false], ["tch", true]]``."""
    if len(text) != len(word) or not wanting:
        return [[text, False]]
    runs: list[list[Any]] = []
    for at, letter in enumerate(text):
        if runs and runs[-1][1] == (at in wanting):
            runs[-1][0] += letter
        else:
            runs.append([letter, at in wanting])
    return runs


def place_at(text: OpenText, report: Report, unit: int) -> int | None:
    """The word that stands at, or ends at, an offset in UTF-16 units: its place in the report."""
    if not len(report.index):
        return None
    point = text.units.point(unit)
    starts, ends = report.tokens.start[report.index], report.tokens.end[report.index]
    place = int(np.searchsorted(starts, point, side="right")) - 1
    return place if place >= 0 and point <= ends[place] else None


def next_place(report: Report, key: str, behind: int) -> int | None:
    """The next place of a word (by its key) behind another place, around the end; any flagged one for ``""``."""
    if key:
        numbers = [n for n, t in enumerate(report.tokens.types) if t.key == key]
        places = np.flatnonzero(np.isin(report.type_ids, numbers))
    else:
        places = np.flatnonzero(np.isin(report.verdict, FLAGGED))
    if not len(places):
        return None
    at = int(np.searchsorted(places, behind, side="right"))
    return int(places[at % len(places)])


def previous_flagged(report: Report, before: int) -> int | None:
    """The flagged place before another one, around the beginning."""
    places = np.flatnonzero(np.isin(report.verdict, FLAGGED))
    return int(places[int(np.searchsorted(places, before)) - 1]) if len(places) else None


def card(desk: Desk, text: OpenText, report: Report, place: int) -> dict[str, Any]:
    """Everything about one word of the text: its verdict and why, its letters and sounds, when each part comes."""
    word = report.word(place)
    token = int(report.index[place])
    kind = report.tokens.types[int(report.type_ids[place])]
    begin, end = text.units.units(report.tokens.start[token : token + 1]), report.tokens.end[token : token + 1]
    line, column = report.tokens.line_column(token)
    facts = word.to_dict()
    facts["follows"] = facts.pop("from", [])  # here *from* is an offset
    out: dict[str, Any] = {
        **facts,
        "key": kind.key,
        "line": line,
        "column": column,
        "start": int(report.tokens.start[token]),
        "end": int(report.tokens.end[token]),
        "from": int(begin[0]),
        "to": int(text.units.units(end)[0]),
        "times": int((report.distinct == report.distinct[place]).sum()),
        "why": in_words(report, word),
        "comes": step_in_words(report.judge.reader.sequence, word.first_step) if word.first_step else "",
        "own": kind.key in desk.engine.own,
        "reading": None,
    }
    out["missing"] = [{**m.to_dict(), "in_words": missing_in_words(report, m)} for m in word.missing]
    if word.reading is not None:
        out["reading"] = reading_dict(desk.engine, word.reading)
        out["reading"]["opens"] = _opens(desk.engine, report, place)
    return out


def _opens(engine: Engine, report: Report, place: int) -> dict[str, Any]:
    """The step at which each grapheme, and each further need, is met; ``None``: never. 0: known from the start."""
    type_id = int(report.type_ids[place])
    entry, choice = report.entries[type_id], report.choices.get(place)
    if entry is None or entry.bank is None:
        return {"graphemes": [], "further": []}
    bank, row = entry.bank, choice.row if choice else entry.row
    needs = bank.needs_of(row)
    reading = report.judge.reading(report.tokens.types[type_id].key, bank, row)
    steps = [int(bank.needs[n]) if bank.needs[n] < NEVER else None for n in needs]
    size = len(reading.graphemes)
    further = [
        {"pattern": bank.table.needs.gate_name(int(n)), "step": s}
        for n, s in zip(needs[size:], steps[size:], strict=True)
        if s != 0
    ]
    return {"graphemes": steps[:size], "further": further}
