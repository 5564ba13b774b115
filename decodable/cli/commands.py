"""The commands. Each reads its options, calls the engine once, and hands the result to :mod:`decodable.cli.show`."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from decodable.accents import DICTIONARY_ACCENT
from decodable.cli.options import (
    AccentOption,
    JsonOption,
    KnowOption,
    NameOption,
    NotSecureOption,
    SequenceOption,
    StepOption,
    ToldOption,
    UnstressedOption,
    WordOption,
    readers_from,
)
from decodable.engine import Engine

app = typer.Typer(
    name="decodable",
    help="Which words of a text can this child sound out, and why not the others.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _engine() -> Engine:
    from decodable.cli.show import compiling

    return Engine(progress=compiling())


def _print_json(value: Any) -> None:
    sys.stdout.write(json.dumps(value, ensure_ascii=False, indent=1) + "\n")


@app.command()
def check(
    files: Annotated[
        list[str],
        typer.Argument(help="Texts (.md is read as Markdown, anything else as it stands); - is standard input."),
    ],
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: Annotated[
        list[Path] | None, typer.Option("--reader", "-r", help="A reader file; several give one table.")
    ] = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    target: Annotated[list[str] | None, typer.Option(help="A pattern that the text should practise.")] = None,
    brief: Annotated[bool, typer.Option("--brief", help="The figures without the marked text.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Check a page or a book: what can be read, what is the trouble, what to teach first.

    \b
    decodable check passages/the-tin.md --sequence gull-point --step x-y-z-qu
    decodable check story.txt                       (no step known: the share at every step)
    decodable check page.md -r red.toml -r blue.toml  (one table for several groups)
    pbpaste | decodable check - --step sh --name Mabel
    """
    from decodable.cli import show
    from decodable.source import read_source

    sources = [read_source(f) for f in files]
    asked = [*(know or ()), *(word or ()), *(name or ()), *(target or ())]
    own = [path.read_text(encoding="utf-8", errors="replace") for path in reader or () if path.is_file()]
    given = Path(sequence)
    own += [given.read_text(encoding="utf-8", errors="replace")] if sequence and given.is_file() else []
    engine = Engine(progress=show.compiling(), page=[*(s.text for s in sources), *asked, *own])
    readers = readers_from(
        engine,
        reader,
        sequence,
        step,
        know=know,
        not_secure=not_secure,
        words=word,
        names=name,
        told=told,
        unstressed=unstressed,
    )
    reports = []
    for source in sources:
        tokens = show.tokenized(source)
        reports.append([engine.check(tokens, r, target=tuple(target or ())) for r in readers])
    if engine.partial:
        show.compiled_later()
    flat = [(s, r) for s, row in zip(sources, reports, strict=True) for r in row]
    if as_json:
        found = [
            {"file": s.name, **({"reader": r.judge.reader.name} if reader else {}), **r.to_dict()} for s, r in flat
        ]
        if len(found) == 1:
            _print_json({k: v for k, v in found[0].items() if k not in ("file",)})
        else:
            _print_json({"format": 1, "texts": found})
    elif len(readers) > 1:
        for source, row in zip(sources, reports, strict=True):
            show.several_readers(source, row)
    else:
        for source, report in flat:
            show.report(source, report, titled=len(sources) > 1, marked=not brief)
    raise typer.Exit(1 if any(r.flagged for _, r in flat) else 0)


@app.command()
def word(
    words: Annotated[list[str], typer.Argument(help="Words; - reads them from standard input, one a line.")],
    sequence: SequenceOption = "",
    step: StepOption = "",
    accent: AccentOption = "",
    as_json: JsonOption = False,
) -> None:
    """Show the letters and sounds of words, what each needs, and when it can be read.

    \b
    decodable word mouse rabbit baked
    decodable word path --accent southern-british
    decodable word said --sequence gull-point --step th
    """
    from decodable.cli import show
    from decodable.describe import word_dict

    engine = _engine()
    asked: list[str] = []
    for text in words:
        asked += [line.strip() for line in sys.stdin if line.strip()] if text == "-" else [text]
    reader = engine.reader(sequence, step or None) if sequence else None
    accent = accent or (reader.sequence.accent if reader else DICTIONARY_ACCENT)
    if as_json:
        _print_json({"format": 1, "words": [word_dict(engine, w, accent) for w in asked]})
        return
    for text in asked:
        show.word(engine, text, reader, accent)


@app.command("compile")
def compile_rules() -> None:
    """Compile the dictionary and the words for children now, after rules were edited.

    It is done by itself when it is needed; this command is for doing it beforehand.

    \b
    decodable compile
    """
    from decodable.accents import accent_codes
    from decodable.compiling import compiled

    engine = _engine()
    try:
        for code in accent_codes():
            engine.word_table(code)
    finally:
        compiled()
    print(f"{len(engine.lexicon.words)} words of the dictionary, {len(engine.word_table().words)} for children.")


@app.command()
def sequences(as_json: JsonOption = False) -> None:
    """List the sequences: shipped, and your own.

    \b
    decodable sequences
    """
    from decodable.cli import show
    from decodable.sequence import sequence_names

    engine = _engine()
    found = [engine.sequence(name) for name in sequence_names()]
    if as_json:
        keys = ("name", "title", "accent", "unstressed", "note")
        _print_json(
            {"format": 1, "sequences": [{**{k: getattr(s, k) for k in keys}, "steps": len(s.steps)} for s in found]}
        )
    else:
        show.sequences(found)


@app.command()
def steps(
    sequence: Annotated[str, typer.Argument(help="A sequence's name or file.")] = "gull-point",
    as_json: JsonOption = False,
) -> None:
    """Show the steps of a sequence, what each teaches, and how many words it opens: of the dictionary, and for lists.

    \b
    decodable steps gull-point
    decodable steps my-school.csv
    """
    from decodable.cli import show
    from decodable.sequence import steps_dict

    engine = _engine()
    found = engine.sequence(sequence)
    opened = engine.words_opened(found)
    freed = engine.words(engine.reader(found)).freed().tolist()
    if as_json:
        _print_json({"format": 1, "sequence": found.name, "steps": steps_dict(found, opened, freed)})
    else:
        show.steps(found, opened, freed)


@app.command()
def rules(
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Sequences, readers, your own word files; none: every shipped one."),
    ] = None,
    count: Annotated[
        bool, typer.Option("--count", help="How many dictionary words each correspondence serves.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Check rule files and report every fault as file:line.

    \b
    decodable rules
    decodable rules my-school.toml
    decodable rules --count
    """
    from decodable.cli import show
    from decodable.doctor import correspondence_counts, faults_of

    engine = _engine()
    if count:
        rows = correspondence_counts(engine.lexicon)
        if as_json:
            _print_json(
                {"format": 1, "correspondences": [{"pattern": p, "words": n, "example": e} for p, n, e in rows]}
            )
        else:
            show.counts(rows)
        return
    faults, checked = faults_of(engine, files or [])
    if as_json:
        _print_json({"format": 1, "checked": checked, "faults": faults})
    else:
        show.faults(faults, checked)
    raise typer.Exit(2 if faults else 0)


@app.command()
def fix(
    word: Annotated[str, typer.Argument(help="The word to fix.")],
    like: Annotated[str, typer.Option(help="A common word that it rhymes with.")] = "",
    sounds: Annotated[str, typer.Option(help="Its sounds in ARPAbet, vowels with stress: 'M EY1 B AH0 L'.")] = "",
    as_json: JsonOption = False,
) -> None:
    """Say for good how a word or name is read; kept in your own folder.

    \b
    decodable fix Mabel --like table
    decodable fix Zoe --sounds "Z OW1 IY0"
    """
    from decodable.cli import show
    from decodable.describe import word_dict

    engine = _engine()
    reading = engine.fix(word, like=like, sounds=sounds)
    if as_json:
        _print_json({"format": 1, "words": [word_dict(engine, reading.word)]})
    else:
        show.fixed(reading)


@app.command()
def serve(
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0: any that is free.")] = 8571,
    host: Annotated[
        str, typer.Option(help="One address of this machine; others can reach it unless it is 127.0.0.1.")
    ] = ("127.0.0.1"),
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only show the address.")] = False,
) -> None:
    """Open the page in the browser: read texts, shape the sequence, keep readers. Stop it with Ctrl-C.

    \b
    decodable serve
    decodable serve --port 9000 --no-browser
    """
    from decodable.cli import show
    from decodable.web.serve import serve as run

    run(host, port, tell=show.serving, open_browser=not no_browser, engine=_engine())
