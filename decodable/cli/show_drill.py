"""What a person sees of chains, pairs and made-up words: tables in the terminal, or the same as Markdown."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence

from rich.markup import escape
from rich.table import Table
from rich.text import Text

from decodable.chains import Chain
from decodable.cli.show import console
from decodable.made_up import MadeUp, Match, Said
from decodable.pairs import Contrast
from decodable.readers import Reader

_DOT = "\N{MIDDLE DOT}"
_NO_WORDS = "None of these is a word. Every reading shown is right."


def chain(reader: Reader, found: Chain, markdown: bool) -> None:
    """A chain, one word a line with what changes."""
    notes: list[str] = []
    if found.left_out:
        notes.append(f"Not passed, out of reach in {found.asked} words: {', '.join(found.left_out)}.")
    if len(found.words) < found.asked:
        proof = "every path was tried" if found.complete else "no longer one was found"
        what = f"The longest chain has {len(found.words)} words" if found.words else "There is no chain"
        notes.append(f"{what} at this step: {proof}.")
    rows = [(word, str(link) if link else "") for word, link in zip(found.words, [None, *found.links], strict=False)]
    _print("Word chain", reader, ("Word", "What changes"), rows, notes, markdown)


def pairs(reader: Reader, found: Sequence[Contrast], markdown: bool) -> None:
    """Pairs of words, one line for each two patterns."""
    rows = [
        (" / ".join(c.between), ", ".join(f"{p.first} {p.second}" for p in c.pairs), c.reason) for c in found if c.pairs
    ]
    notes = [] if rows else ["No such pairs at this step."]
    _print("Pairs of words", reader, ("Patterns", "Pairs", "Why"), rows, notes, markdown)


def made_up(reader: Reader, found: Sequence[MadeUp], count: int, markdown: bool) -> None:
    """Made-up words with their readings."""
    rows = [(w.word, _DOT.join(w.readings[0].graphemes), " or ".join(map(_said, w.readings))) for w in found]
    notes = [_NO_WORDS] if rows else []
    if len(found) < count:
        notes.append(
            f"{len(found)} of {count}: every spelling of what is taught was tried; the others are words or names, "
            "sound like one, or can be read in ways not taught."
        )
    _print("Made-up words", reader, ("Made up", "Letters", "Said"), rows, notes, markdown)


def matches(reader: Reader, found: Sequence[Match], count: int, markdown: bool) -> None:
    """Made-up words beside real ones."""
    rows = [(m.made_up.word, " or ".join(map(_said, m.made_up.readings)), m.real.word, m.real.shape) for m in found]
    notes = ["The words in the first column are made up. Every reading shown is right."] if rows else []
    if len(found) < count:
        notes.append(f"{len(found)} of {count}: no further made-up word has a real one of its shape with its vowel.")
    _print("Made-up and real words", reader, ("Made up", "Said", "Real", "Shape"), rows, notes, markdown)


def refused(reasons: Mapping[str, str]) -> None:
    """Whether words could serve as made-up words."""
    out = console()
    for word, why in reasons.items():
        out.print(Text(f"{word}: {f'no, {why}' if why else 'could serve'}"))


def _said(reading: Said) -> str:
    return f"/{reading.ipa}/" + (f", rhymes with {reading.rhymes}" if reading.rhymes else "")


def _print(
    title: str,
    reader: Reader,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    notes: Sequence[str],
    markdown: bool,
) -> None:
    where = f"step {reader.step}, {reader.sequence.steps[reader.step - 1].name}" if reader.step else "every step"
    heading = f"{title}: {reader.sequence.title}, {where}"
    if markdown:
        lines = [f"# {heading}", ""]
        if rows:
            lines += [f"| {' | '.join(headings)} |", "|---" * len(headings) + "|"]
            lines += ["| " + " | ".join(row) + " |" for row in rows] + [""]
        sys.stdout.write("\n".join([*lines, *notes]).rstrip("\n") + "\n")
        return
    out = console()
    out.print(Text(heading, style="bold"))
    if rows:
        table = Table(*headings, box=None, pad_edge=False)
        for row in rows:
            table.add_row(*(escape(cell) for cell in row))
        out.print(table)
    for note in notes:
        out.print(Text(note))
