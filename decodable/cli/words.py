"""``decodable words``: the words that a reader can read, filtered, the clearest first."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

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


@app.command()
def words(
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: Annotated[Path | None, typer.Option("--reader", "-r", help="A reader file.")] = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    pattern: Annotated[str, typer.Option(help="Words with a pattern: sh, 'ee as in see', bl-, -ed.")] = "",
    place: Annotated[str, typer.Option(help="Where the pattern stands: first, middle, last.")] = "",
    family: Annotated[str, typer.Option(help="A word family: -at, or '-ow as in snow'.")] = "",
    shape: Annotated[str, typer.Option(help="Consonant and vowel sounds: CVC, CCVC, CVC.CVC.")] = "",
    sounds: Annotated[int, typer.Option(help="How many sounds.", min=0)] = 0,
    class_: Annotated[str, typer.Option("--class", help="What it means: animal, food, tool, colour ...")] = "",
    pos: Annotated[str, typer.Option(help="Part of speech: noun, verb, adjective ...")] = "",
    known: Annotated[str, typer.Option(help="Known by then: early (four or five), middle (six), later.")] = "",
    picture: Annotated[bool, typer.Option("--picture", help="Only words that can be pictured.")] = False,
    base: Annotated[bool, typer.Option("--base", help="No plurals, past forms and the like.")] = False,
    new: Annotated[bool, typer.Option("--new", help="Only words that this very step frees.")] = False,
    whole: Annotated[bool, typer.Option("--whole", help="Also words taught whole.")] = False,
    region: Annotated[str, typer.Option(help="us or uk: without words of the other side only.")] = "",
    order: Annotated[
        str,
        typer.Option(
            help="clear: the clearest first; sounds: two, then three ...; new: this step's, then a mixed review."
        ),
    ] = "clear",
    limit: Annotated[int, typer.Option(help="At most so many; 0: all.", min=0)] = 60,
    count: Annotated[
        bool, typer.Option("--count", help="Only how many, by theme, class and part of speech (without plurals ...).")
    ] = False,
    as_json: JsonOption = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="As a Markdown table.")] = False,
) -> None:
    """List words that a child at a step can sound out: known to young children, fit for them, the clearest first.

    \b
    decodable words --step sh --pattern sh --new
    decodable words --step sh --shape CVC --class animal --picture
    decodable words --step igh-ie --family -ight --markdown
    decodable words --step l-blends --pattern bl- --order sounds
    decodable words --step th --order new
    decodable words --count
    """
    from decodable.cli import show_words
    from decodable.cli.show import compiling
    from decodable.words import Query, words_dict

    if as_json and markdown:
        raise DecodableError("Choose --json or --markdown, not both.")
    engine = Engine(progress=compiling())
    found = readers_from(
        engine,
        [reader] if reader else None,
        sequence,
        step,
        know=know,
        not_secure=not_secure,
        words=word,
        names=name,
        told=told,
        unstressed=unstressed,
    )[0]
    query = Query(
        pattern=pattern,
        place=place,
        family=family,
        shape=shape,
        sounds=sounds,
        word_class=class_,
        pos=pos,
        known=known,
        picture=picture,
        base=base,
        new=new,
        whole=whole,
        region=region,
        limit=limit,
        order=order,
    )
    index = engine.words(found)
    if count:
        if as_json:
            sys.stdout.write(json.dumps({"format": 1, **index.counts(query)}, indent=1) + "\n")
        else:
            show_words.counts(index, query)
    elif as_json:
        sys.stdout.write(json.dumps(words_dict(index, query), ensure_ascii=False, indent=1) + "\n")
    elif markdown:
        sys.stdout.write(show_words.markdown(index, query))
    else:
        show_words.table(index, query)
