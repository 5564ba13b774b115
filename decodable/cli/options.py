"""Options that several commands share: who the reader is, and what is wanted of the output."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.readers import Reader

SequenceOption = Annotated[str, typer.Option("--sequence", "-s", help="A sequence's name, or a .toml or .csv file.")]
StepOption = Annotated[str, typer.Option("--step", "-n", help="The step reached: number, id or name.")]
AccentOption = Annotated[str, typer.Option(help="An accent; else that of the sequence, or General American.")]
JsonOption = Annotated[bool, typer.Option("--json", help="For machines: one JSON document.")]
KnowOption = Annotated[
    list[str] | None, typer.Option(help="A pattern known beside the sequence, such as 'ee as in see'.")
]
NotSecureOption = Annotated[list[str] | None, typer.Option(help="A pattern taught but not secure.")]
WordOption = Annotated[list[str] | None, typer.Option(help="A word known whole.")]
NameOption = Annotated[list[str] | None, typer.Option(help="A name that is known.")]
ToldOption = Annotated[list[str] | None, typer.Option(help="A word that an adult says.")]
UnstressedOption = Annotated[str, typer.Option(help="allow or strict: whether unstressed vowels may pass.")]


def readers_from(
    engine: Engine,
    files: Sequence[Path] | None,
    sequence: str,
    step: str,
    *,
    know: Sequence[str] | None = None,
    not_secure: Sequence[str] | None = None,
    words: Sequence[str] | None = None,
    names: Sequence[str] | None = None,
    told: Sequence[str] | None = None,
    unstressed: str = "",
) -> list[Reader]:
    """The readers that the options describe: one a reader file, or one from the options themselves."""
    if files:
        if any((know, not_secure, words, names, told)):
            raise DecodableError(
                "Give exceptions (--know, --word, --name ...) in the reader files, or leave --reader out."
            )
        return [engine.reader_file(path, sequence=sequence, step=step or None) for path in files]
    return [
        engine.reader(
            sequence or "gull-point",
            step or None,
            unstressed=unstressed,
            patterns=know or (),
            not_secure=not_secure or (),
            words=words or (),
            names=names or (),
            told=told or (),
        )
    ]
