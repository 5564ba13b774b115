"""The shapes of what the page and the application tell each other; OpenAPI describes them from here.

What the command line writes as JSON has the same form here. Offsets called ``from``, ``to`` and ``at`` count UTF-16
units of the text, as browsers do; ``start`` and ``end`` count code points, as everywhere else.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Title = Annotated[str, Field(max_length=200)]
Word = Annotated[str, Field(min_length=1, max_length=100)]
Phrase = Annotated[str, Field(max_length=200)]
Name = Annotated[str, Field(max_length=60)]
MAX_STEPS = 400


class Shape(BaseModel):
    """Unknown keys are an error, so that a slip is seen."""

    model_config = ConfigDict(extra="forbid")


class Settings(Shape):
    """What was chosen once and is kept."""

    reader: Name = ""
    """File name of the reader that texts are judged for; empty: nobody in particular."""
    text: Name = ""
    """The open text."""
    sequence: Name = ""
    """The sequence last looked at."""
    theme: Literal["", "light", "dark"] = ""
    """Empty: as the system has it."""
    size: Annotated[int, Field(ge=1, le=5)] = 2
    """How large the text is, from 1 to 5."""
    compare: Annotated[list[Name], Field(max_length=100)] = []
    """File names of the readers that are compared."""


class NewText(Shape):
    """A text to be kept."""

    title: Title = "Untitled"
    text: str = ""
    markdown: bool = False


class TextAbout(Shape):
    """A text's title, and whether it is Markdown."""

    title: Title
    markdown: bool


class View(Shape):
    """The part of a text that is seen, in UTF-16 units."""

    first: Annotated[int, Field(ge=0)] = 0
    last: Annotated[int, Field(ge=0)] = 0


class Edit(Shape):
    """Changes of the editor, and for whom they are judged."""

    base: Annotated[str, Field(max_length=40)]
    """The revision that they were made to."""
    changes: list[int | list[int | str]]
    """Runs that stay (a number) and runs that are replaced (how many units go, then the new lines)."""
    view: View
    reader: Name = ""
    step: Annotated[int, Field(ge=0, le=MAX_STEPS)] | None = None
    """Another step than the reader's; 0: all steps."""


class ReaderDocument(Shape):
    """A reader, as its file has it."""

    name: Title = ""
    sequence: Annotated[str, Field(max_length=400)] = "gull-point"
    step: str | int | None = None
    patterns: Annotated[list[Phrase], Field(max_length=500)] = []
    not_secure: Annotated[list[Phrase], Field(max_length=500)] = []
    words: Annotated[list[Word], Field(max_length=5000)] = []
    names: Annotated[list[Word], Field(max_length=5000)] = []
    told: Annotated[list[Word], Field(max_length=5000)] = []
    unstressed: Literal["", "allow", "strict"] = ""


class WordMark(Shape):
    """A word put among a reader's names, whole words or told words, or taken off."""

    reader: Name = ""
    word: Word
    mark: Literal["names", "words", "told"]
    on: bool = True


class Fix(Shape):
    """How a word is said: like another word, or, without one, as before it was fixed."""

    word: Word
    like: Annotated[str, Field(max_length=100)] = ""


class Comparison(Shape):
    """Readers to compare on one text."""

    readers: Annotated[list[Name], Field(max_length=40)]


class StepDocument(Shape):
    """A step, as a sequence's file has it."""

    id: Annotated[str, Field(max_length=80)] = ""
    name: Title = ""
    teach: Annotated[list[Phrase], Field(max_length=500)] = []
    words: Annotated[list[Phrase], Field(max_length=500)] = []


class SequenceDocument(Shape):
    """A sequence, as its file has it."""

    title: Title
    accent: Annotated[str, Field(max_length=40)] = "general-american"
    unstressed: Annotated[str, Field(max_length=40)] = "allow"
    note: Annotated[str, Field(max_length=4000)] = ""
    step: Annotated[list[StepDocument], Field(max_length=MAX_STEPS)]


class SequenceChange(Shape):
    """A sequence that is being changed, and the text and reader to show its effect on."""

    document: SequenceDocument
    text: Name = ""
    reader: Name = ""
    keep: bool = True
    """Whether to keep it as the unsaved state."""


class SequenceSave(Shape):
    """A sequence to be saved."""

    document: SequenceDocument
    as_new: bool = False
    """Under a new name of its own; else over the own one that it came from."""


class Failure(BaseModel):
    """What went wrong, for a person."""

    error: str
    faults: list[dict[str, Any]] = []


Json = dict[str, Any]
