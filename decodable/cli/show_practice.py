"""What a person sees of practice: each sheet as Markdown, which the terminal lays out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from decodable.blends import LEFT_OUT, WORD, BlendChart, BlendTable
from decodable.dictation import Dictation
from decodable.lesson import Lesson
from decodable.review import FluencyGrid, ReviewPlan
from decodable.sorts import WordSort
from decodable.sound_boxes import SoundBoxes
from decodable.words import OfferedWord, WordIndex


def families(index: WordIndex, found: Mapping[str, Sequence[OfferedWord]]) -> str:
    """Families, the largest first."""
    rows = [(name, str(len(words)), ", ".join(w.word for w in words)) for name, words in found.items()]
    return _sheet(f"Word families: {_where(index)}", _table(("Family", "Words", ""), rows) or "No families yet.")


def word_sort(index: WordIndex, found: WordSort) -> str:
    """The words to cut out, then the answer."""
    columns = [[w.word for w in c.words] for c in found.columns]
    headers = [c.header for c in found.columns]
    if found.odd:
        headers, columns = [*headers, "odd ones out"], [*columns, [w.word for w in found.odd]]
    rows = [[c[n] if n < len(c) else "" for c in columns] for n in range(max(map(len, columns)))]
    return _sheet(
        f"Sort by {found.by}: {_where(index)}",
        "Words: " + ", ".join(found.mixed),
        "## Answer",
        _table(headers, rows),
    )


def blend_charts(index: WordIndex, charts: Sequence[BlendChart]) -> str:
    """One table a chart."""
    parts: list[str] = []
    for chart in charts:
        rows = []
        for entry in chart.entries:
            when = "never in this sequence" if entry.step is None else f"from step {entry.step}"
            rows.append((entry.name, entry.keyword.word if entry.keyword else "", ", ".join(entry.words) or when))
        kind = "Digraph" if chart.digraphs else "Blend"
        parts += [f"## {chart.title}", _table((kind, "Key word", "More words"), rows)]
    return _sheet(f"Blends and digraphs: {_where(index)}", *parts)


def blend_table(index: WordIndex, found: BlendTable) -> str:
    """Words ticked, what is no word of the dictionary plain, what is left out as a dash."""
    rows = []
    for name, row in zip(found.blends, found.cells, strict=True):
        shown = [f"{c.text} ✓" if c.kind == WORD else "-" if c.kind == LEFT_OUT else c.text for c in row]
        rows.append((name, *shown))
    return _sheet(
        f"Beginnings and rimes: {_where(index)}",
        "Read each one. Is it a word? The words are ticked; a dash is another word or a name, not for now.",
        _table(("", *found.rimes), rows),
    )


def boxes(index: WordIndex, rule: str, found: Sequence[SoundBoxes]) -> str:
    """Each word in boxes, with marks and prompts."""
    parts: list[str] = []
    for word in found:
        parts += [f"## {word.word}", _boxes(word), *_box_notes(word)]
    return _sheet(f"Sound boxes: {_where(index)}", rule, *parts)


def dictation(index: WordIndex, found: Dictation) -> str:
    """Words, then sentences."""
    return _sheet(f"Dictation: {_where(index)}", *_dictation(found))


def grid(index: WordIndex, found: FluencyGrid) -> str:
    """The grid."""
    return _sheet(f"Fluency grid: {_where(index)}", _grid(found))


def review(index: WordIndex, found: ReviewPlan) -> str:
    """A row for each week."""
    rows = []
    for week in found.weeks:
        new = ", ".join((*week.new, *(f"*{w}*" for w in week.whole))) or "nothing"
        back = "; ".join(f"{r.phrase} ({', '.join(r.words)})" for r in week.returns) or "nothing yet"
        rows.append((str(week.number), f"{week.step} {week.step_name}", new, back))
    gaps = ", ".join(map(str, found.gaps))
    return _sheet(
        f"Review plan: {_where(index)}",
        f"A pattern comes back {gaps} weeks after it was new. Words taught whole are in italics.",
        _table(("Week", "Step", "New", "Comes back"), rows),
    )


def lesson(index: WordIndex, found: Lesson) -> str:
    """The whole week."""
    minutes = {p.id: f"## {p.title} ({p.minutes} minutes)" for p in found.parts}
    cards = [
        (c.letters, f"/{c.written}/ [{c.ipa}]", c.keyword, "new" if c.new else "back", c.say) for c in found.sounds
    ]
    parts = [
        f"Target: {', '.join(found.target)}" + (f". New whole words: {', '.join(found.whole)}" if found.whole else ""),
        minutes["sounds"],
        _table(("Letters", "Sound", "Key word", "", "How to say it"), cards) or "No single sounds this week.",
        minutes["blending"],
        *(piece for word in found.blending for piece in (f"**{word.word}**", _boxes(word), *_box_notes(word))),
        minutes["words"],
        "New: " + (", ".join(w.word for w in found.words.new) or "none yet"),
        "Review: " + (", ".join(w.word for w in found.words.review) or "none yet"),
        f"Word chain: {' → '.join(found.chain)}" if found.chain else "",
        "Made-up words (no real words; any plausible reading is right): "
        + ", ".join(f"{word} /{'/ or /'.join(said)}/" for word, said in found.made_up)
        if found.made_up
        else "",
        _grid(found.grid) if found.grid else "",
        minutes["dictation"],
        *_dictation(found.dictation),
        minutes["passage"],
        *_passage(found),
        minutes["questions"],
        _list(found.questions),
        "## Day by day",
        _table(
            ("Day", "Read", "Write"),
            [
                (str(d.number), ", ".join(d.words), "; ".join((*d.dictated, *([d.sentence] if d.sentence else []))))
                for d in found.days
            ],
        ),
        _list(found.notes),
    ]
    return _sheet(f"A week: {_where(index)}", *parts)


# ---------------------------------------------------------------------- pieces
def _where(index: WordIndex) -> str:
    reader = index.judge.reader
    step = f"step {reader.step}, {reader.sequence.steps[reader.step - 1].name}" if reader.step else "every step"
    return f"{reader.sequence.title}, {step}"


def _sheet(title: str, *parts: str) -> str:
    return "\n\n".join((f"# {title}", *(p for p in parts if p))) + "\n"


def _table(headers: Iterable[str], rows: Sequence[Sequence[str]]) -> str:
    if not rows:
        return ""
    heads = list(headers)
    lines = [f"| {' | '.join(heads)} |", "|---" * len(heads) + "|"]
    return "\n".join([*lines, *(f"| {' | '.join(row)} |" for row in rows)])


def _list(items: Sequence[str]) -> str:
    return "\n".join(f"- {item}" for item in items)


def _boxes(word: SoundBoxes) -> str:
    """Boxes and marks as a drawing in characters; a double box has a dotted line in it."""
    cells = [f" {b.letters} ┊   " if b.width == 2 else f" {b.letters} " for b in word.boxes if b.width]
    top, low = (seam.join("─" * len(cell) for cell in cells) for seam in "┬┴")
    letters, marks = word.marks
    arrow = "─" * (len(letters) - 1) + "→"
    lines = [f"┌{top}┐", f"│{'│'.join(cells)}│", f"└{low}┘", f"  {letters}", f"  {marks}", f"  {arrow}"]
    return "\n".join(["```text", *lines, "```"])


def _box_notes(word: SoundBoxes) -> list[str]:
    silent = [b.letters for b in word.boxes if not b.width]
    notes = [f"{word.sounds} box{'es' if word.sounds > 1 else ''}, /{word.ipa}/. The first sound {_first(word)}."]
    notes += [f"Not heard: {', '.join(silent)}."] if silent else []
    prompts = "; ".join(f"{c.prompt}: *{c.word}*" for c in word.changes)
    return [" ".join(notes), *([f"Say *{word.word}*: {prompts}."] if prompts else [])]


def _first(word: SoundBoxes) -> str:
    return {"held": "can be held", "stop": "is a stop, said short", "short": "is said short"}[word.starts]


def _dictation(found: Dictation) -> list[str]:
    sentences = [s.text + (f" (taught whole: {', '.join(s.whole)})" if s.whole else "") for s in found.sentences]
    return ["Words: " + (", ".join(w.word for w in found.words) or "none yet"), _list(sentences)]


def _grid(found: FluencyGrid) -> str:
    return _table([str(n) for n in range(1, len(found.rows[0]) + 1)], found.rows)


def _passage(found: Lesson) -> list[str]:
    if found.passage is None:
        return ["No passage of the library can be read yet."]
    told = f"Tell these words: {', '.join(found.passage.told)}." if found.passage.told else ""
    return [f"**{found.passage.title}**", told, found.passage.text]
