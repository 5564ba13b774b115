"""Practice for a step: families, sorts, blends, sound boxes, dictation, grids, a review plan, and a whole lesson.

Each command reads its options, asks the engine once, and shows what comes back: in the terminal, as Markdown, as JSON.
"""

from __future__ import annotations

import inspect
import json
import sys
from collections.abc import Callable, Mapping
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
TargetOption = Annotated[
    list[str] | None, typer.Option(help="A pattern to practise; else what the step teaches: sh, 'ee as in see', bl-.")
]
SeedOption = Annotated[int, typer.Option(help="0: the clearest words; another number: others. The same every time.")]
MarkdownOption = Annotated[bool, typer.Option("--markdown", help="As Markdown.")]
Shown = tuple[Mapping[str, Any], str]


def _common(
    sequence: SequenceOption = "",
    step: StepOption = "",
    reader: ReaderOption = None,
    know: KnowOption = None,
    not_secure: NotSecureOption = None,
    word: WordOption = None,
    name: NameOption = None,
    told: ToldOption = None,
    unstressed: UnstressedOption = "",
    as_json: JsonOption = False,
    markdown: MarkdownOption = False,
) -> None:
    """The options of every command here: who the reader is, and how to show what comes back."""


def for_reader(make: Callable[..., Shown]) -> Callable[..., Shown]:
    """Register a function of an engine, a reader and options of its own as a command with the common options, too.

    The function returns what is for machines, and the same as Markdown.
    """
    common = list(inspect.signature(_common, eval_str=True).parameters.values())
    own = list(inspect.signature(make, eval_str=True).parameters.values())[2:]

    def run(**given: Any) -> None:
        from decodable.cli.show import compiling, markdown

        shared = {option.name: given.pop(option.name) for option in common}
        if shared["as_json"] and shared["markdown"]:
            raise DecodableError("Choose --json or --markdown, not both.")
        engine = Engine(progress=compiling())
        reader = readers_from(
            engine,
            [shared["reader"]] if shared["reader"] else None,
            shared["sequence"],
            shared["step"],
            know=shared["know"],
            not_secure=shared["not_secure"],
            words=shared["word"],
            names=shared["name"],
            told=shared["told"],
            unstressed=shared["unstressed"],
        )[0]
        found, text = make(engine, reader, **given)
        if shared["as_json"]:
            head = {"format": 1, "sequence": reader.sequence.name, "step": reader.step or None}
            whole = {**head, "step_id": reader.step_id, **found}
            sys.stdout.write(json.dumps(whole, ensure_ascii=False, indent=1) + "\n")
        else:
            markdown(text, plain=shared["markdown"])

    options = sorted((*own, *common), key=lambda option: option.kind)
    run.__signature__ = inspect.Signature(options)  # type: ignore[attr-defined]
    run.__annotations__ = {option.name: option.annotation for option in options}
    run.__doc__ = make.__doc__
    app.command(make.__name__)(run)
    return make


@for_reader
def families(
    engine: Engine,
    reader: Reader,
    least: Annotated[int, typer.Option(help="Families with so many words at least.", min=2)] = 3,
) -> Shown:
    """List word families, spelled and sounded alike, with all their words that this reader can read.

    \b
    decodable families --step l-blends
    """
    from decodable.cli import show_practice

    index = engine.words(reader)
    found = {name: words for name, words in index.families().items() if len(words) >= least}
    listed = [{"family": name, "words": [w.to_dict() for w in words]} for name, words in found.items()]
    return {"families": listed}, show_practice.families(index, found)


@for_reader
def sort(
    engine: Engine,
    reader: Reader,
    by: Annotated[str, typer.Option(help="sound, spelling or family.")] = "sound",
    header: Annotated[
        list[str] | None, typer.Option(help="A header: a pattern, or with --by family a rime. Two to four of them.")
    ] = None,
    columns: Annotated[int, typer.Option(help="How many columns to choose; 0: as many as there are.", min=0)] = 0,
    target: TargetOption = None,
    seed: SeedOption = 0,
) -> Shown:
    """Make a word sort: two to four headers, their words, and the odd ones out.

    \b
    decodable sort --step ai-ay --by spelling
    decodable sort --step ou-ow --header 'ow as in cow' --header 'ow as in snow'
    decodable sort --step th --by family --columns 3 --seed 2
    """
    from decodable.cli import show_practice
    from decodable.sorts import word_sort

    index = engine.words(reader)
    found = word_sort(index, by=by, headers=header or (), target=target or (), columns=columns, seed=seed)
    return found.to_dict(), show_practice.word_sort(index, found)


@for_reader
def blends(
    engine: Engine,
    reader: Reader,
    table: Annotated[bool, typer.Option("--table", help="Blends with rimes: which make a word, which do not.")] = False,
    target: TargetOption = None,
    seed: SeedOption = 0,
) -> Shown:
    """Show charts of blends and digraphs with key words, or a table of blends with rimes.

    \b
    decodable blends --step three-letter-blends
    decodable blends --step l-blends --table
    """
    from decodable.blends import blend_charts, blend_table
    from decodable.cli import show_practice

    index = engine.words(reader)
    if table:
        found = blend_table(index, engine.never_offered, target=target or (), seed=seed)
        return found.to_dict(), show_practice.blend_table(index, found)
    charts = blend_charts(index)
    return {"charts": [chart.to_dict() for chart in charts]}, show_practice.blend_charts(index, charts)


@for_reader
def boxes(
    engine: Engine,
    reader: Reader,
    words: Annotated[list[str] | None, typer.Argument(help="Words; none: words with the target.")] = None,
    limit: Annotated[int, typer.Option(help="How many words to choose.", min=1)] = 6,
    target: TargetOption = None,
    seed: SeedOption = 0,
) -> Shown:
    """Show words in sound boxes, with dots, bars and arcs, how to say the sounds, and what to change by ear.

    \b
    decodable boxes ship cake fox
    decodable boxes --step sh --limit 4
    """
    from decodable.cli import show_practice
    from decodable.practice import practice_words
    from decodable.sound_boxes import SoundWork

    index = engine.words(reader)
    work = SoundWork(index)
    chosen = words or [w.word for w in practice_words(index, target or (), new=limit, review=0, seed=seed).new]
    found = [work.boxes(word) for word in chosen]
    return {"rule": work.rule, "words": [b.to_dict() for b in found]}, show_practice.boxes(index, work.rule, found)


@for_reader
def dictate(
    engine: Engine,
    reader: Reader,
    words: Annotated[int | None, typer.Option(help="How many words.", min=0)] = None,
    sentences: Annotated[int | None, typer.Option(help="How many sentences.", min=0)] = None,
    target: TargetOption = None,
    seed: SeedOption = 0,
) -> Shown:
    """Choose words and sentences to dictate: one taught spelling for each sound, or words taught whole.

    \b
    decodable dictate --step sh
    decodable dictate --step ai-ay --words 6 --sentences 3 --seed 4
    """
    from decodable.cli import show_practice
    from decodable.dictation import dictation

    found = dictation(engine, reader, target=target or (), words=words, sentences=sentences, seed=seed)
    return found.to_dict(), show_practice.dictation(engine.words(reader), found)


@for_reader
def grid(
    engine: Engine,
    reader: Reader,
    rows: Annotated[int, typer.Option(help="How many rows; 0: five.", min=0)] = 0,
    columns: Annotated[int, typer.Option(help="How many words in a row; 0: five.", min=0)] = 0,
    target: TargetOption = None,
    seed: SeedOption = 0,
) -> Shown:
    """Make a fluency grid: the same words in every row, each row in another order.

    \b
    decodable grid --step th --seed 3
    """
    from decodable.cli import show_practice
    from decodable.review import fluency_grid

    index = engine.words(reader)
    found = fluency_grid(index, target=target or (), rows=rows, columns=columns, seed=seed)
    return found.to_dict(), show_practice.grid(index, found)


@for_reader
def review(
    engine: Engine,
    reader: Reader,
    weeks: Annotated[int, typer.Option(help="How many weeks; 0: six.", min=0)] = 0,
    weeks_a_step: Annotated[int, typer.Option(help="How many weeks a step takes.", min=1)] = 1,
    seed: SeedOption = 0,
) -> Shown:
    """Plan the weeks from a step on: what is new, and what comes back, with words.

    \b
    decodable review --step sh
    decodable review --step a-e --weeks 8 --weeks-a-step 2
    """
    from decodable.cli import show_practice
    from decodable.review import review_plan

    found = review_plan(engine, reader, weeks=weeks, weeks_a_step=weeks_a_step, seed=seed)
    return found.to_dict(), show_practice.review(engine.words(reader), found)


@for_reader
def lesson(engine: Engine, reader: Reader, target: TargetOption = None, seed: SeedOption = 0) -> Shown:
    """Put a week together: sounds, blending, words, chain, made-up words, dictation, a passage, two questions.

    \b
    decodable lesson --step sh
    decodable lesson --sequence england-appendix-1 --step reception-8 --markdown
    """
    from decodable.cli import show_practice
    from decodable.lesson import lesson as make

    found = make(engine, reader, target=target or (), seed=seed)
    return found.to_dict(), show_practice.lesson(engine.words(reader), found)
