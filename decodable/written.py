"""A report written out in Markdown, to copy, keep or print.

In go a title and a :class:`~decodable.report.Report`; out comes a page: the figures, the flagged words, what to teach
first. Words of the text stand as they are: nothing in them is markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence

from decodable.describe import missing_in_words, step_in_words
from decodable.readers import Reader
from decodable.report import GOAL, Report, WordVerdict

LABELS = {
    "decodable": "decodable",
    "taught-whole": "taught whole",
    "name": "known names",
    "told": "told",
    "later": "later",
    "irregular": "irregular here",
    "unknown": "unknown",
}
# Rough common practice, no source: the least readable share of each band, and what it means.
BANDS = ((0.95, "to read alone"), (0.9, "with an adult"), (0.0, "to be read aloud to the child"))
_MARKUP = re.compile(r"([\\`*_\[\]<>#|~&])")


def band(share: float) -> str:
    """What a readable share is good for, roughly."""
    return next(label for least, label in BANDS if share >= least)


def report_page(title: str, report: Report) -> str:
    """The report as a Markdown document."""
    reader, tokens, types = report.judge.reader, report.counts["tokens"], report.counts["types"]
    sequence = reader.sequence
    at = step_in_words(sequence, reader.step) if reader.step else "no step stated: all steps taught"
    lines = [f"# {_plain(title)}", ""]
    lines += [f"{_plain(reader.name)}: " * bool(reader.name) + f"{_plain(sequence.title)}, {_plain(at)}.", ""]
    if not tokens["all"]:
        return "\n".join([*lines, "No words.", ""])
    parts = ", ".join(f"{tokens[key]} {label}" for key, label in LABELS.items() if tokens[key])
    first = report.first_step_at()
    reached = f"from {step_in_words(sequence, first)}" if first else "at no step of this sequence"
    lines += [
        f"* {tokens['all']} words, {types['all']} different: {parts}",
        f"* Readable: {report.readable_share:.1%}, {band(report.readable_share)}",
        f"* Decodable: {report.decodable_share:.1%}. Accuracy potential: {report.accuracy_potential:.1%}",
        f"* Flagged, different words in each 100: {report.flagged_types_per_100:.1f}. Met only once: {report.met_once}",
        _plain(f"{GOAL:.0%} readable {reached}", "* "),
        "",
    ]
    if report.flagged_words:
        lines += ["## Flagged words", ""]
        lines += _table(
            ("Word", "Times", "Trouble", "Comes"),
            ((w.text, str(n), trouble(report, w), comes(report, w)) for w, n in report.flagged_words),
        )
    if gains := report.teach_first():
        lines += ["## What to teach first", ""]
        lines += _table(
            ("Teach", "Frees", "Readable then"),
            (
                (
                    f"the word {g.teach[0]}" if g.whole else ", ".join(g.teach),
                    f"{g.tokens}: {', '.join(g.words[:6])}{' ...' if len(g.words) > 6 else ''}",
                    f"{g.share:.1%}",
                )
                for g in gains
            ),
        )
    if spelled := report.read_as_spelled:
        lines += [f"Read as spelled, please look: {_plain(', '.join(w.text for w, _ in spelled))}", ""]
    return "\n".join(lines)


def trouble(report: Report, word: WordVerdict) -> str:
    """What keeps the reader from a flagged word."""
    if word.verdict == "unknown":
        return "how it is said is not known"
    return "; ".join(f"{m.pattern}: {missing_in_words(report, m)}" for m in word.missing)


def comes(report: Report, word: WordVerdict) -> str:
    """When a flagged word can be read."""
    if word.verdict == "unknown":
        return ""
    return step_in_words(report.judge.reader.sequence, word.first_step) if word.first_step else "never here"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    lines = [f"| {' | '.join(head)} |", f"|{' --- |' * len(head)}"]
    return [*lines, *(f"| {' | '.join(_plain(cell) for cell in row)} |" for row in rows), ""]


def _plain(text: str, before: str = "") -> str:
    """Text that Markdown shows as it is, on one line."""
    return before + _MARKUP.sub(r"\\\1", " ".join(text.split()))


_LINE_START = re.compile(r"^[ \t]*(?:([-+=])|(\d+)([.)]))", re.MULTILINE)


def text_page(title: str, text: str, markdown: bool, reader: Reader | None) -> str:
    """A text as a Markdown file: its own Markdown as it is; a plain text so that it reads as it did.

    Its front matter has the title and, where a reader is stated, the sequence and step.
    """
    if markdown and text.startswith("---"):
        return text if text.endswith("\n") else text + "\n"
    lines = [f"title: {json.dumps(title, ensure_ascii=False)}"]
    if reader is not None and reader.step:
        lines += [f"sequence: {reader.sequence.name}", f"step: {reader.step_id}"]
    head = "\n".join(["---", *lines, "---", ""])
    body = text if markdown else _escaped(text)
    return f"{head}\n{body}" + ("" if body.endswith("\n") else "\n")


def _escaped(text: str) -> str:
    """A plain text in Markdown: no mark means anything, no line is code."""

    def start(found: re.Match[str]) -> str:
        mark, number, behind = found.groups()
        return f"\\{mark}" if mark else f"{number}\\{behind}"

    marked = _MARKUP.sub(r"\\\1", text)
    return re.sub(r"^[ \t]+", "", _LINE_START.sub(start, marked), flags=re.MULTILINE)
