"""What a person sees of a list of words: a table in the terminal, or the same as Markdown."""

from __future__ import annotations

from rich.markup import escape
from rich.table import Table
from rich.text import Text

from decodable.cli.show import console
from decodable.words import OfferedWord, Query, WordIndex

_HEADINGS = ("Word", "Letters", "Kind", "Known", "Picture", "From step")
_COUNTED = {"theme": "Theme", "pos": "Part of speech", "known": "Known", "class": "Class"}
_ORDERED = {"clear": ", the clearest first", "sounds": ", the shortest first", "new": ", the new pattern first"}
# Between graphemes, as teachers write sound buttons on a line.
_DOT = "\N{MIDDLE DOT}"


def table(index: WordIndex, query: Query) -> None:
    """A list of words with their letters, meaning and age, and how many more there are."""
    out, found = console(), index.find(query)
    out.print(Text(_heading(index), style="bold"))
    if not found:
        out.print(Text("No such words at this step."))
        return
    rows = Table(*_HEADINGS, box=None, pad_edge=False)
    for word in found:
        rows.add_row(*(escape(cell) for cell in _cells(word)))
    out.print(rows)
    out.print(Text(_count(index, query, len(found))))


def markdown(index: WordIndex, query: Query) -> str:
    """The same as a Markdown table."""
    found = index.find(query)
    lines = [f"# Words: {_heading(index)}", "", _count(index, query, len(found)), ""]
    if found:
        lines += [f"| {' | '.join(_HEADINGS)} |", "|---" * len(_HEADINGS) + "|"]
        lines += ["| " + " | ".join(_cells(word)) + " |" for word in found]
    return "\n".join(lines) + "\n"


def counts(index: WordIndex, query: Query) -> None:
    """How many words there are of each theme, class and part of speech."""
    out = console()
    out.print(Text(_heading(index), style="bold"))
    titles = index.table.meta["titles"]
    for name, found in index.counts(query).items():
        rows = Table(_COUNTED[name], "Words", box=None, pad_edge=False)
        for key, number in found.items():
            rows.add_row(escape(titles[key] if name == "theme" else key), str(number))
        out.print(rows)


def _heading(index: WordIndex) -> str:
    reader = index.judge.reader
    where = f"step {reader.step}, {reader.sequence.steps[reader.step - 1].name}" if reader.step else "every step"
    return f"{reader.sequence.title}, {where}"


def _count(index: WordIndex, query: Query, shown: int) -> str:
    count = index.count(query)
    return f"{count} words" if shown == count else f"{shown} of {count} words{_ORDERED[query.order]}"


def _cells(word: OfferedWord) -> tuple[str, ...]:
    """The cells of one row."""
    kind = word.pos if word.form == "base" else f"{word.pos}, {word.form.replace('_', ' ')}"
    meaning = f"{kind}: {', '.join(word.classes)}" if word.classes else kind
    region = f" ({word.region.upper()})" if word.region else ""
    whole = " (taught whole)" if word.verdict == "taught-whole" else ""
    letters = _DOT.join(word.graphemes)
    return (
        word.word,
        letters,
        meaning + region,
        word.known,
        "yes" if word.picture else "",
        f"{word.first_step}{whole}",
    )
