"""What a person sees in the terminal: marked text, figures, tables.

Each kind of verdict has a line style and a mark of its own beside its colour, so that nothing depends on colour.
Letters that are still to come stand in [square] brackets and are underlined, letters that never come in {curly}
brackets, doubly underlined, words that nobody has told the pronunciation of between question marks.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from decodable.accents import accent as load_accent
from decodable.accents import transcribed
from decodable.describe import likely, opens, tricky_part
from decodable.engine import Engine
from decodable.model import Reading
from decodable.readers import Reader
from decodable.report import DECODABLE, GOAL, IRREGULAR, LATER, NAME, TOLD, UNKNOWN, WHOLE, Report, WordVerdict
from decodable.sequence import Sequence as TeachingSequence
from decodable.source import Source
from decodable.text import Kind, Tokens, tokenize

_STYLE = {
    WHOLE: "italic",
    NAME: "italic dim",
    TOLD: "dim",
    LATER: "bold blue underline",
    IRREGULAR: "bold magenta underline2",
    UNKNOWN: "bold yellow reverse",
}
_SHOWN_WORDS = 25
_LONG_TEXT = 20_000


def console() -> Console:
    """Standard output; NO_COLOR, pipes and narrow terminals are respected."""
    return Console(highlight=False, soft_wrap=not sys.stdout.isatty())


def markdown(text: str, *, plain: bool) -> None:
    """A Markdown text laid out for the terminal, or as it stands."""
    from rich.markdown import Markdown

    clean = "\n".join(_visible(line) for line in text.split("\n"))
    if plain:
        sys.stdout.write(clean)
    else:
        console().print(Markdown(clean))


def compiling() -> Callable[[int, int], None]:
    """A progress line for the one time that the dictionary must be compiled."""

    def tell(done: int, total: int) -> None:
        if sys.stderr.isatty():
            end = "\r" if done + 2000 < total else "\n"
            sys.stderr.write(f"Compiling the dictionary (once): {100 * done // max(total, 1)} %{end}")
            sys.stderr.flush()
        elif done == 0:
            sys.stderr.write("Compiling the dictionary (once, half a minute) ...\n")

    return tell


def compiled_later() -> None:
    """Why this check was made with the words of the page alone."""
    sys.stderr.write(
        "The rules are new: the dictionary is being compiled in the background (half a minute). Until then a word that "
        "it lacks is not guessed.\n"
    )


def tokenized(source: Source) -> Tokens:
    """The tokens of a source, with a progress bar where it takes a while."""
    if len(source.text) < 2_000_000 or not sys.stderr.isatty():
        return tokenize(source.text, markdown=source.markdown)
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(f"Reading {source.name}", total=len(source.text))
        return tokenize(source.text, markdown=source.markdown, progress=lambda n, _: bar.update(task, completed=n))


def _visible(text: str) -> str:
    """Escape sequences and other control characters shown, not obeyed."""
    return "".join(c if c.isprintable() or c in "\n\t" else f"\\x{ord(c):02x}" for c in text)


# ---------------------------------------------------------------------- a report
def report(source: Source, found: Report, *, titled: bool, marked: bool) -> None:
    """The marked text, the figures, the flagged words, and what to teach first."""
    out = console()
    reader = found.judge.reader
    if titled:
        out.print(Text(source.name, style="bold"))
    if marked and len(found.tokens.source) <= _LONG_TEXT and reader.step:
        out.print(_marked(found))
        out.print()
    out.print(Text(_heading(found), style="bold"))
    for line in _figures(found):
        out.print(Text(line))
    if not reader.step:
        _by_step(out, found)
    _flagged(out, found)
    _advice(out, found)
    _notes(out, found)


def _heading(found: Report) -> str:
    reader = found.judge.reader
    where = f"step {reader.step}, {reader.sequence.steps[reader.step - 1].name}" if reader.step else "no step stated"
    who = f"{reader.name}: " if reader.name else ""
    return f"{who}{reader.sequence.title}, {where}"


def _figures(found: Report) -> Iterable[str]:
    tokens, types = found.counts["tokens"], found.counts["types"]
    if not tokens["all"]:
        yield "No words."
        return
    parts = [f"{tokens[k]} {label}" for k, label in _LABELS if tokens[k]]
    yield f"{tokens['all']} words, {types['all']} different: {', '.join(parts)}"
    if found.judge.reader.step:
        yield (
            f"Readable {found.readable_share:.1%} ({_band(found.readable_share)})"
            f"   decodable {found.decodable_share:.1%}   accuracy potential {found.accuracy_potential:.1%}"
        )
        yield f"Flagged words per 100: {found.flagged_types_per_100:.1f} different   met only once: {found.met_once}"
    first = found.first_step_at()
    if first:
        yield f"{GOAL:.0%} readable from step {first} ({found.judge.reader.sequence.steps[first - 1].name})"
    else:
        yield f"{GOAL:.0%} is not reached at any step of this sequence."
    if found.target:
        names = ", ".join(p.text for p in found.target)
        shown = ", ".join(f"{_visible(w)} ({n})" for w, n in found.target_words[:12])
        yield f"Practice of {names}: {found.target_share:.1%} of words, {len(found.target_words)} different: {shown}"


_LABELS = (
    ("decodable", "decodable"),
    ("taught-whole", "taught whole"),
    ("name", "known names"),
    ("told", "told"),
    ("later", "later"),
    ("irregular", "irregular here"),
    ("unknown", "unknown"),
)


def _band(share: float) -> str:
    """Rough bands (common practice, no source)."""
    return "to read alone" if share >= 0.95 else "with an adult" if share >= 0.9 else "to be read aloud to the child"


def _marked(found: Report) -> Text:
    tokens, out = found.tokens, Text()
    places = {int(token): place for place, token in enumerate(found.index)}
    behind = tokens.front_matter[1] if tokens.front_matter else 0
    for i in range(len(tokens)):
        if tokens.start[i] < behind:
            continue
        place = places.get(i)
        text = _visible(tokens.text_of(i))
        if place is None:
            out.append("" if tokens.kind[i] == Kind.MARKUP and "\n" not in text else text)
            continue
        code = int(found.verdict[place])
        if code in (LATER, IRREGULAR):
            _append_flagged(out, found.word(place), code)
        elif code == UNKNOWN:
            out.append(f"?{text}?", style=_STYLE[code])
        else:
            out.append(text, style=_STYLE.get(code) if code != DECODABLE else None)
    return out


def _append_flagged(out: Text, word: WordVerdict, code: int) -> None:
    left, right = ("[", "]") if code == LATER else ("{", "}")
    wanting = {p for m in word.missing for p in m.at}
    text = _visible(word.text)
    plain = word.reading is not None and len(text) == len(word.reading.word)
    whole = not wanting or not plain
    inside = False
    for p, letter in enumerate(text):
        here = whole or p in wanting
        if here and not inside:
            out.append(left, style=_STYLE[code])
        elif inside and not here:
            out.append(right, style=_STYLE[code])
        out.append(letter, style=_STYLE[code] if here else "bold")
        inside = here
    if inside:
        out.append(right, style=_STYLE[code])


def _by_step(out: Console, found: Report) -> None:
    table = Table(
        "Step", "", "Readable", "", box=None, pad_edge=False, title="Readable share at every step", title_justify="left"
    )
    before = -1.0
    for n, share in enumerate(found.by_step, 1):
        # A row for each step that changes something worth seeing, and the last.
        if share - before < 0.005 and n != len(found.by_step):
            continue
        before = share
        name = found.judge.reader.sequence.steps[n - 1].name
        table.add_row(str(n), escape(name), f"{share:.1%}", "#" * round(share * 24))
    out.print(table)


def _flagged(out: Console, found: Report) -> None:
    rows = found.flagged_words
    if not rows:
        return
    steps = found.judge.reader.sequence.steps
    table = Table(
        "Word", "Times", "Trouble", "Comes", box=None, pad_edge=False, title="Flagged words", title_justify="left"
    )
    for word, times in rows[:_SHOWN_WORDS]:
        when = f"step {word.first_step}: {steps[word.first_step - 1].name}" if word.first_step else "never here"
        table.add_row(
            escape(_visible(word.text)),
            str(times),
            escape(_trouble(word)),
            escape(when if word.verdict != "unknown" else ""),
        )
    out.print(table)
    if len(rows) > _SHOWN_WORDS:
        out.print(Text(f"... and {len(rows) - _SHOWN_WORDS} more (--json lists them all)"))


_WHY = {"other-sound-taught": " (another sound was taught)", "not-secure": " (not secure)", "never": " (never taught)"}


def _trouble(word: WordVerdict) -> str:
    if word.verdict == "unknown":
        guess = word.reading
        shown = f"; perhaps {' '.join(guess.sounds)}" if guess else ""
        return f"pronunciation not known{shown}. Fix it: decodable fix {word.text} --like WORD"
    said = [f"{m.pattern}{_WHY.get(m.why, '')}" for m in word.missing]
    note = f"   {word.note}" if word.note else ""
    return "; ".join(dict.fromkeys(said)) + note


def _advice(out: Console, found: Report) -> None:
    gains = found.teach_first()
    if not gains:
        return
    table = Table(
        "Teach first",
        "Frees",
        "Readable then",
        box=None,
        pad_edge=False,
        title="What to teach first",
        title_justify="left",
    )
    for gain in gains:
        what = f"the word {gain.teach[0]}" if gain.whole else ", ".join(gain.teach)
        words = ", ".join(gain.words[:6]) + (" ..." if len(gain.words) > 6 else "")
        table.add_row(escape(_visible(what)), escape(_visible(f"{gain.tokens} ({words})")), f"{gain.share:.1%}")
    out.print(table)


def _notes(out: Console, found: Report) -> None:
    spelled = [w.text for w, _ in found.read_as_spelled]
    if spelled:
        out.print(Text(_visible(f"Read as spelled, please look: {', '.join(spelled[:20])}")))
    unsure = sorted({found.tokens.text_of(int(found.index[p])) for p in found.unsure})
    if unsure:
        out.print(
            Text(
                _visible(f"Two readings, the sentence does not tell which (the harder was judged): {', '.join(unsure)}")
            )
        )


def several_readers(source: Source, row: Sequence[Report]) -> None:
    """One page for several groups, a row each."""
    out = console()
    table = Table(
        "Reader",
        "Step",
        "Readable",
        "",
        "Flagged",
        "Teach first",
        box=None,
        pad_edge=False,
        title=escape(source.name),
        title_justify="left",
    )
    for found in row:
        reader = found.judge.reader
        step = f"{reader.step} {reader.sequence.steps[reader.step - 1].name}" if reader.step else "-"
        flagged = ", ".join(w.text for w, _ in found.flagged_words[:4])
        more = len(found.flagged_words) - 4
        gains = [("the word " if g.whole else "") + ", ".join(g.teach) for g in found.teach_first(most=2)]
        table.add_row(
            escape(reader.name or "-"),
            escape(step),
            f"{found.readable_share:.1%}",
            _band(found.readable_share),
            escape(_visible(flagged + (f" and {more} more" if more > 0 else ""))),
            escape("; ".join(gains)),
        )
    out.print(table)


# ---------------------------------------------------------------------- words
def word(engine: Engine, text: str, reader: Reader | None, accent: str) -> None:
    """Letters, sounds, syllables and needs of a word in an accent, and when it opens."""
    out = console()
    readings = engine.readings(text, accent)
    if not readings:
        out.print(Text(_visible(f"{text}: pronunciation not known. Fix it: decodable fix {text} --like WORD")))
        return
    for reading in readings:
        _reading(out, engine, reading, accent)
    for name, step, ident in opens(engine, text):
        out.print(
            Text(f"  {name}: " + (f"step {step}" + (f" ({ident})" if ident else "") if step is not None else "never"))
        )
    if reader is not None and reader.step:
        judge = engine.judge(reader)
        said = likely(judge, readings[0], reader.step)
        if said != readings[0].sounds:
            out.print(Text(f"  a child at step {reader.step} would probably say: {_sounds(said) or 'nothing'}"))


def _reading(out: Console, engine: Engine, reading: Reading, accent: str) -> None:
    sense = f" ({reading.sense})" if reading.sense else ""
    signs, ipa = transcribed(reading, load_accent(accent))
    out.print(Text(f"{reading.word}{sense}: /{ipa}/   {_sounds(reading.sounds)}   {reading.source}", style="bold"))
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_row("  letters", *(g.letters for g in reading.graphemes))
    table.add_row("  sounds", *(_sounds(g.sounds) or "-" for g in reading.graphemes))
    table.add_row("  /.../", *(sign or "-" for sign in signs))
    out.print(table)
    syllables = " | ".join(f"{reading.word[s.start : s.end]} ({s.kind})" for s in reading.syllables)
    out.print(Text(f"  syllables {syllables}   shape {reading.shape}"))
    if len(reading.parts) > 1:
        out.print(Text("  parts " + " + ".join(p.name for p in reading.parts)))
    patterns = dict.fromkeys(g.pattern + (f" [{g.note}]" if g.note else "") for g in reading.graphemes)
    out.print(Text("  needs " + ", ".join(patterns)))
    tricky = tricky_part(engine, reading)
    if tricky:
        out.print(Text(f"  tricky part {', '.join(tricky)}"))


def _sounds(sounds: Iterable[str]) -> str:
    return " ".join(s.rstrip("012") for s in sounds)


def fixed(reading: Reading) -> None:
    """What was kept."""
    shown = "  ".join(f"{g.letters}={_sounds(g.sounds) or '-'}" for g in reading.graphemes)
    console().print(Text(f"{reading.word} is kept as {_sounds(reading.sounds)}:  {shown}"))


# ---------------------------------------------------------------------- sequences, rules
def sequences(found: Sequence[TeachingSequence]) -> None:
    """The sequences with what is standard in them and what is not."""
    out = console()
    for sequence in found:
        out.print(
            Text(f"{sequence.name}: {sequence.title}, {len(sequence.steps)} steps, {sequence.accent}", style="bold")
        )
        out.print(Text(f"  {sequence.note}"))


def steps(sequence: TeachingSequence, opened: Sequence[int], freed: Sequence[int]) -> None:
    """The steps of a sequence: how many dictionary words each opens, how many words for children each frees."""
    out = console()
    table = Table(
        "Step",
        "Id",
        "Name",
        "Teaches",
        "Whole words",
        "Opens",
        "For lists",
        box=None,
        pad_edge=False,
        title=escape(sequence.title),
        title_justify="left",
    )
    for n, (step, count, offered) in enumerate(zip(sequence.steps, opened, freed, strict=True), 1):
        table.add_row(
            str(n),
            step.id,
            escape(step.name),
            escape(", ".join(p.text for p in step.teach)),
            ", ".join(step.words),
            str(count),
            str(offered),
        )
    out.print(table)


def counts(rows: Sequence[tuple[str, int, str]]) -> None:
    """How many words each correspondence serves."""
    table = Table("Correspondence", "Words", "Commonest", box=None, pad_edge=False)
    for pattern, number, example in rows:
        table.add_row(pattern, str(number), example)
    console().print(table)
    single = sum(number == 1 for _, number, _ in rows)
    console().print(Text(f"{len(rows)} correspondences, {single} of them in one word only"))


def faults(found: Sequence[str], checked: Sequence[str]) -> None:
    """The faults, or that there are none."""
    for fault in found:
        print(fault)
    print(f"{len(checked)} files checked: {len(found)} faults" if found else f"{len(checked)} files checked, no faults")


# ---------------------------------------------------------------------- the page
def serving(url: str) -> None:
    """Where the page is, and how to stop it."""
    print(f"The page is open at\n\n  {url}\n\nNothing leaves this machine. Stop it with Ctrl-C.", flush=True)
