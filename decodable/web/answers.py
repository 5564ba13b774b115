"""The shapes of what the application answers; OpenAPI describes them from here, and no answer may differ.

What the command line writes as JSON has the same form here. ``first``, ``last``, ``from``, ``to`` and the numbers in
``marks`` count UTF-16 units of the text, as browsers do; ``start`` and ``end`` count code points, as everywhere else.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from decodable.web.shapes import SequenceDocument, Settings


class Answer(BaseModel):
    """An answer has just what is described."""

    model_config = ConfigDict(extra="forbid")


class KeptText(Answer):
    """A kept text without its words."""

    id: str
    title: str
    markdown: bool


class WholeText(KeptText):
    """A text with its words."""

    text: str
    revision: str
    """Names exactly this text; an edit says which revision it was made to."""


class Texts(Answer):
    """The kept texts, the latest first."""

    texts: list[KeptText]


class Sample(Answer):
    """A passage that comes with the program."""

    name: str
    title: str


class Counts(Answer):
    """Words by verdict, running words (`tokens`) and different words (`types`)."""

    tokens: dict[str, int]
    types: dict[str, int]


class Figures(Answer):
    """The figures of a report; shares are between 0 and 1."""

    counts: Counts
    decodable_share: float
    accuracy_potential: float
    readable_share: float
    flagged: int
    flagged_types_per_100: float
    met_once: int
    band: str
    goal: float
    step: int
    readable_by_step: list[float]
    first_step_at_95: int | None


class Seen(Answer):
    """The marks of a part of a text, and the figures of the whole."""

    revision: str
    trouble: str
    """Why the text could not be kept; empty if it was."""
    verdicts: list[str]
    first: int
    last: int
    marks: list[tuple[int, int, int, list[tuple[int, int]]]]
    """From, to, verdict (its place in `verdicts`), runs of missing letters; decodable words have no mark."""
    figures: Figures


class FlaggedWord(Answer):
    """A flagged word, and how often it occurs."""

    text: str
    times: int
    verdict: str
    first_step: int | None
    letters: list[tuple[str, bool]]
    """Runs of letters, each with whether it is missing."""
    trouble: str
    patterns: list[str]
    comes: str


class Gain(Answer):
    """Something to teach first, and what it frees."""

    teach: list[str]
    whole: bool
    words: list[str]
    tokens: int
    readable_share: float
    step: int | None
    """The step that teaches it, if one does."""


class Lists(Answer):
    """The lists that stand beside a text."""

    revision: str
    flagged_words: list[FlaggedWord]
    flagged_types: int
    """How many different words are flagged; `flagged_words` has the commonest."""
    teach_first: list[Gain]
    read_as_spelled: list[str]
    reading_not_told: list[str]


class MissingPattern(Answer):
    """What keeps the reader from a word."""

    pattern: str
    letters: str
    at: list[int]
    why: str
    step: int | None
    in_words: str


class Facts(Answer):
    """What the engine says of a word; it may come to say more."""

    model_config = ConfigDict(extra="allow")


class Grapheme(Facts):
    """Letters with their sounds."""

    letters: str
    at: list[int]
    sounds: list[str]
    pattern: str
    note: str = ""


class Need(Answer):
    """Something further that a word needs, and the step at which it is met; null: never."""

    pattern: str
    step: int | None


class Opens(Answer):
    """The step at which each grapheme, and each further need, is met; null: never; 0: from the start."""

    graphemes: list[int | None]
    further: list[Need]


class Reading(Facts):
    """One way to say a word, as `decodable word --json` has it, and when its parts come."""

    sounds: list[str]
    source: str
    sense: str
    graphemes: list[Grapheme]
    parts: list[dict[str, str]]
    syllables: list[tuple[int, int]]
    syllable_types: list[str]
    shape: str
    needs: list[str]
    tricky: list[str]
    opens: Opens


class Card(Answer):
    """All about one word of a text: as `decodable check --json` has it, and why, in words."""

    text: str
    key: str
    verdict: str
    missing: list[MissingPattern]
    first_step: int | None
    allowance: str
    follows: list[str] = []
    """For a word taught whole as a form or compound of others: those."""
    note: str = ""
    line: int
    column: int
    start: int
    end: int
    first: int = Field(alias="from")
    last: int = Field(alias="to")
    times: int
    why: str
    comes: str
    own: bool
    """Whether the user has fixed how it is said."""
    reading: Reading | None


class Word(Answer):
    """A word of a text; null where none stands."""

    word: Card | None


class ComparedReader(Answer):
    """One text for one of several readers; only `reader` and `error` where the reader has faults."""

    reader: str
    error: str = ""
    name: str = ""
    sequence: str = ""
    step_name: str = ""
    steps: int = 0
    flagged_words: list[str] = []
    flagged_types: int = 0
    counts: Counts | None = None
    decodable_share: float = 0
    accuracy_potential: float = 0
    readable_share: float = 0
    flagged: int = 0
    flagged_types_per_100: float = 0
    met_once: int = 0
    band: str = ""
    goal: float = 0
    step: int = 0
    readable_by_step: list[float] = []
    first_step_at_95: int | None = None


class Compared(Answer):
    """One text for several readers, in the order asked."""

    title: str
    rows: list[ComparedReader]


class ShownReader(Answer):
    """A reader, as its file has it, its step by number and name, and its faults."""

    id: str
    name: str
    sequence: str
    title: str = ""
    """The sequence's title."""
    step: str
    step_number: int
    step_name: str
    unstressed: str
    patterns: list[str]
    not_secure: list[str]
    words: list[str]
    names: list[str]
    told: list[str]
    faults: list[str]


class Readers(Answer):
    """All readers, by name; `id` is the one that was just kept."""

    id: str = ""
    readers: list[ShownReader]


class StepName(Answer):
    """A step's stable id, and its name."""

    id: str
    name: str


class ShownSequence(Answer):
    """A sequence with the names of its steps."""

    name: str
    title: str
    own: bool
    """Whether it is the user's own; else it came with the program and stays as it is."""
    note: str
    steps: list[StepName]
    faults: list[str]


class Sequences(Answer):
    """All sequences, the user's own first."""

    sequences: list[ShownSequence]


class Step(Answer):
    """A step, as `decodable steps --json` has it."""

    step: int
    id: str
    name: str
    teach: list[str]
    words: list[str]
    words_opened: int
    words_for_lists: int


class WholeSequence(Answer):
    """A sequence: as it is saved, and as it was left unsaved."""

    name: str
    title: str
    own: bool
    note: str
    faults: list[str]
    steps: list[Step]
    document: SequenceDocument
    draft: SequenceDocument | None
    sequences: list[ShownSequence] = []
    """After saving: all of them."""


class PlacedFault(Answer):
    """A fault and its place; positions from 0, -1: the whole."""

    step: int
    field: str
    item: int
    message: str


class Imported(Answer):
    """A sequence read from a file, not saved."""

    document: SequenceDocument
    lines: list[int]
    """The line of each step in the file, from 1."""
    faults: list[PlacedFault]


class ReaderEffect(Answer):
    """What a changed sequence does to one reader."""

    id: str
    name: str
    step_before: int | None
    step_after: int | None
    gained: int
    """Dictionary words that can be read only with the change."""
    lost: int
    gained_words: list[str]
    lost_words: list[str]
    problem: str


class TextEffect(Answer):
    """What a changed sequence does to the open text."""

    title: str
    readable_by_step: list[float]
    first_step_at_95: int | None
    before: list[float] = []
    """As the sequence is saved."""


class Effect(Answer):
    """What a changed sequence would do."""

    faults: list[PlacedFault]
    changed: bool
    freed: list[dict[str, int]]
    """For each step, how many words of each body of words can first be sounded out there."""
    freed_before: list[dict[str, int]]
    readers: list[ReaderEffect]
    text: TextEffect | None


class Phrases(Answer):
    """Phrases that can be taught, and what is wrong with the one asked about."""

    phrases: list[str]
    fault: str


class Kept(Answer):
    """How much is kept."""

    texts: int
    readers: int
    sequences: int


class Desk(Answer):
    """What the page needs to begin."""

    version: str
    folder: str
    settings: Settings
    texts: list[KeptText]
    readers: list[ShownReader]
    sequences: list[ShownSequence]
    open: WholeText | None
    counts: Kept


class Words(Answer):
    """Words as `decodable word --json` writes them."""

    format: int
    words: list[dict[str, Any]]
