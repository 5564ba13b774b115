"""Frames: what a verb is used with, in a notation that a teacher can read.

``person|animal _ =hole in ground`` says: a person or an animal does it; to a hole; in some ground. ``_`` is the verb.
Before it stands the subject; after it come slots, prepositions with their slot, and particles::

    person|animal      one of these classes (or of what belongs to them)
    =hole|=mud         one of these nouns; classes and nouns may be mixed
    =it                the empty it of the weather (it rains)
    clause             a sentence (she thinks that it is late)
    verb               another verb; after to: to go
    adjective          a describing word (it feels soft)
    in into out-of ... a preposition with the slot after it; a particle where no slot follows

Every frame prints back as it was read.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

VERB = "_"
COMPLEMENTS = frozenset({"clause", "verb", "adjective"})
EMPTY_IT = "=it"


@dataclass(frozen=True, slots=True)
class Slot:
    """What may stand in one place beside the verb."""

    choices: tuple[str, ...]
    """Classes, particular nouns with ``=`` before them, or one complement (``clause``, ``verb``, ``adjective``)."""
    preposition: str = ""
    """The preposition before it; empty for none."""

    def __str__(self) -> str:
        return " ".join(p for p in (self.preposition, "|".join(self.choices)) if p)


@dataclass(frozen=True, slots=True)
class Frame:
    """One way to use a verb."""

    subject: Slot
    """Who or what does it."""
    slots: tuple[Slot, ...]
    """What follows, in order; a particle is a slot with a preposition and no choices."""

    def __str__(self) -> str:
        return " ".join([str(self.subject), VERB, *(str(s) for s in self.slots)])

    @property
    def nouns(self) -> frozenset[str]:
        """The particular nouns that it names."""
        found = {c[1:] for s in (self.subject, *self.slots) for c in s.choices if c.startswith("=") and c != EMPTY_IT}
        return frozenset(found)


def parse_frame(text: str, classes: Collection[str], prepositions: Collection[str]) -> Frame:
    """Read a frame; :class:`ValueError` says what is wrong with it.

    Args:
        text: the frame as it is written.
        classes: names of sense classes.
        prepositions: words that may stand before a slot, or alone as a particle; *out-of* is written with a hyphen.
    """
    words = text.split()
    if words.count(VERB) != 1:
        raise ValueError(f"a frame has one verb, written {VERB}, and {text!r} has {words.count(VERB)}")
    at = words.index(VERB)
    if at != 1:
        raise ValueError(f"one slot stands before the verb, and {text!r} has {at}")
    subject = _slot(words[0], "", classes, subject=True)
    slots: list[Slot] = []
    rest = words[2:]
    while rest:
        preposition = rest.pop(0) if rest[0] in prepositions and rest[0] not in classes else ""
        if preposition and (not rest or rest[0] in prepositions):
            slots.append(Slot((), preposition))
        else:
            slots.append(_slot(rest.pop(0), preposition, classes))
    return Frame(subject, tuple(slots))


def _slot(text: str, preposition: str, classes: Collection[str], *, subject: bool = False) -> Slot:
    choices = tuple(text.split("|"))
    for choice in choices:
        if choice.startswith("=") and len(choice) > 1 and (subject or choice != EMPTY_IT):
            continue
        if choice in classes or (choice in COMPLEMENTS and not subject and len(choices) == 1):
            continue
        raise ValueError(f"{choice!r} is no class, complement or preposition; a particular noun is written ={choice}")
    return Slot(choices, preposition)
