"""``decodable chain``, ``pairs`` and ``made-up``: words that change by one sound, and words that are none."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from decodable.cli.commands import app
from decodable.cli.options import (
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
from decodable.errors import DecodableError
from decodable.readers import Reader

ReaderOption = Annotated[Path | None, typer.Option("--reader", "-r", help="A reader file.")]
SeedOption = Annotated[int, typer.Option(help="Another number gives another answer; the same one the same.")]
MarkdownOption = Annotated[bool, typer.Option("--markdown", help="As Markdown.")]
PatternOption = Annotated[str, typer.Option(help="A pattern: sh, 'ee as in see', bl-.")]


def _opened(
    as_json: bool, markdown: bool, reader: Path | None, sequence: str, step: str, **exceptions: Any
) -> tuple[Engine, Reader]:
    from decodable.cli.show import compiling

    if as_json and markdown:
        raise DecodableError("Choose --json or --markdown, not both.")
    engine = Engine(progress=compiling())
    return engine, readers_from(engine, [reader] if reader else None, sequence, step, **exceptions)[0]


def _json(reader: Reader, **values: Any) -> None:
    out = {
        "format": 1,
        "sequence": reader.sequence.name,
        "step": reader.step or None,
        "step_id": reader.step_id,
        **values,
    }
    sys.stdout.write(json.dumps(out, ensure_ascii=False, indent=1) + "\n")


@app.command()
def chain(
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: ReaderOption = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    length: Annotated[int, typer.Option(help="How many words, 2 to 30.")] = 6,
    through: Annotated[
        list[str] | None, typer.Option(help="A word to pass; the first one begins the chain. Repeatable.")
    ] = None,
    pattern: PatternOption = "",
    seed: SeedOption = 0,
    as_json: JsonOption = False,
    markdown: MarkdownOption = False,
) -> None:
    """Make a word chain: each word changes, adds or drops one grapheme, and one sound, of the one before.

    \b
    decodable chain --step sh
    decodable chain --step sh --length 8 --through sat --through shop
    """
    from decodable.chains import chain as make
    from decodable.cli import show_drill

    engine, found = _opened(
        as_json, markdown, reader, sequence, step,
        know=know, not_secure=not_secure, words=word, names=name, told=told, unstressed=unstressed,
    )  # fmt: skip
    made = make(engine.words(found), length=length, seed=seed, through=through or (), pattern=pattern)
    if as_json:
        _json(found, seed=seed, **made.to_dict())
    else:
        show_drill.chain(found, made, markdown)


@app.command()
def pairs(
    between: Annotated[
        list[str] | None,
        typer.Argument(help="Two patterns to be told apart: b d, e i. None: all that children confuse."),
    ] = None,
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: ReaderOption = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    place: Annotated[str, typer.Option(help="Where they differ: first, middle, last.")] = "",
    limit: Annotated[int, typer.Option(help="At most so many pairs for each two patterns; 0: all.", min=0)] = 6,
    as_json: JsonOption = False,
    markdown: MarkdownOption = False,
) -> None:
    """List pairs of words that differ in one sound, for letters and sounds that children confuse.

    \b
    decodable pairs --step sh
    decodable pairs sh ch --step ch
    decodable pairs b d --place last
    """
    from decodable.cli import show_drill
    from decodable.pairs import Contrast, contrasts
    from decodable.pairs import pairs as make

    engine, found = _opened(
        as_json, markdown, reader, sequence, step,
        know=know, not_secure=not_secure, words=word, names=name, told=told, unstressed=unstressed,
    )  # fmt: skip
    index = engine.words(found)
    if between:
        made = make(index, between, limit=limit, place=place)
        listed: Sequence[Contrast] = (Contrast((between[0], between[1]), "", made),)
    else:
        listed = contrasts(index, limit=limit, place=place)
    if as_json:
        _json(found, contrasts=[c.to_dict() for c in listed])
    else:
        show_drill.pairs(found, listed, markdown)


@app.command("made-up")
def made_up(
    words: Annotated[
        list[str] | None, typer.Argument(help="Words to ask about: could each serve as a made-up word, and why not?")
    ] = None,
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: ReaderOption = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    count: Annotated[int, typer.Option(help="How many.")] = 10,
    pattern: PatternOption = "",
    two_ways: Annotated[
        bool, typer.Option("--two-ways", help="Also words that may be said in more than one taught way (floost).")
    ] = False,
    with_real: Annotated[
        bool,
        typer.Option("--with-real", help="Each with a real word of the same shape with the same vowel, for a check."),
    ] = False,
    seed: SeedOption = 0,
    as_json: JsonOption = False,
    markdown: MarkdownOption = False,
) -> None:
    """Make up words for sounding out: spelled as English is, none a real word, none that sounds like one.

    \b
    decodable made-up --step sh
    decodable made-up --step ai-ay --pattern ai --with-real
    decodable made-up zib kat
    """
    from decodable import made_up as maker
    from decodable.cli import show_drill

    engine, found = _opened(
        as_json, markdown, reader, sequence, step,
        know=know, not_secure=not_secure, words=word, names=name, told=told, unstressed=unstressed,
    )  # fmt: skip
    if words:
        reasons = {text: maker.refused(engine, text, found.sequence.accent) for text in words}
        if as_json:
            _json(found, asked=[{"word": text, "refused": why} for text, why in reasons.items()])
        else:
            show_drill.refused(reasons)
    elif with_real:
        matches = maker.matched(engine, found, count=count, seed=seed, pattern=pattern or None)
        if as_json:
            _json(found, seed=seed, matches=[m.to_dict() for m in matches])
        else:
            show_drill.matches(found, matches, count, markdown)
    else:
        made = maker.made_up(engine, found, count=count, seed=seed, pattern=pattern or None, two_ways=two_ways)
        if as_json:
            _json(found, seed=seed, words=[m.to_dict() for m in made])
        else:
            show_drill.made_up(found, made, count, markdown)
