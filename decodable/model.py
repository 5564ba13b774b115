"""The values that every part shares: correspondences, graphemes, readings of words. Standard library only.

Sounds are ARPAbet phonemes as in the CMU dictionary, stress digit included (``"AE1"``). Letter positions are indices
of code points in the word as it stands, apostrophe included, from 0.
"""

from __future__ import annotations

from dataclasses import dataclass

VOWEL_SOUNDS = frozenset(["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"])
CONSONANT_SOUNDS = frozenset(
    [
        "B",
        "CH",
        "D",
        "DH",
        "F",
        "G",
        "HH",
        "JH",
        "K",
        "L",
        "M",
        "N",
        "NG",
        "P",
        "R",
        "S",
        "SH",
        "T",
        "TH",
        "V",
        "W",
        "Y",
        "Z",
        "ZH",
    ]
)
PHONEMES = VOWEL_SOUNDS | CONSONANT_SOUNDS


def bare(sound: str) -> str:
    """The phoneme without its stress digit: ``"AE1"`` is ``"AE"``."""
    return sound[:-1] if sound[-1].isdigit() else sound


def is_vowel(sound: str) -> bool:
    """Whether the sound is a vowel (r-coloured ER included)."""
    return sound[-1] in "012" or sound in VOWEL_SOUNDS


@dataclass(frozen=True, slots=True)
class Correspondence:
    """One line of the inventory: letters, the sounds they spell, where, how common."""

    letters: str
    """The grapheme; ``"a-e"`` is a split digraph."""
    keyword: str
    """A word in which the letters have this sound."""
    pattern: str
    """The taught correspondence it belongs to: ``"ea as in sea"``."""
    kind: str
    """The trade's name: vowel team, doubled consonant, silent letter ..."""
    sounds: tuple[tuple[str, ...], ...]
    """Accepted sounds: each a tuple of phonemes, with a digit where only that stress fits; ``((),)`` is silent."""
    use: str
    """main, often, some, rare or odd."""
    where: str = ""
    """start, end, not-start, not-end or suffix; empty: anywhere."""
    before: tuple[str, ...] = ()
    """Letters of which one must follow."""
    after: tuple[str, ...] = ()
    """Letters of which one must come before."""
    not_before: tuple[str, ...] = ()
    """Letters that must not follow."""
    not_after: tuple[str, ...] = ()
    """Letters that must not come before."""
    line: int = 0
    """Line in the rule file, from 1."""

    @property
    def split(self) -> bool:
        """Whether it is a split digraph."""
        return "-" in self.letters

    @property
    def tricky(self) -> bool:
        """Whether a teacher would point at it as the tricky part of a word."""
        return self.use in ("rare", "odd")


@dataclass(frozen=True, slots=True)
class Pattern:
    """Something a sequence can teach: a correspondence, blend, shape, affix ..."""

    name: str
    """As it is printed and written in sequences: ``"ea as in sea"``, ``"bl-"``, ``"two syllables"``."""
    kind: str
    """correspondence, or the family it gates: initial blend, shape, suffix ..."""
    letters: str = ""
    """The grapheme of a correspondence."""
    tricky: bool = False
    """Whether every line of it is rare or odd."""


@dataclass(frozen=True, slots=True)
class Grapheme:
    """The letters of one word that together spell no, one or several sounds."""

    letters: str
    """The letters, a split digraph as ``"a-e"``."""
    at: tuple[int, ...]
    """Their positions in the word."""
    sounds: tuple[str, ...]
    """Phonemes with stress; empty for a silent letter."""
    pattern: str
    """The correspondence: ``"ou as in out"``."""
    note: str = ""
    """What a suffix did here: doubling, dropped e, y to i, or the suffix that the letters belong to."""
    unit: str = ""
    """The suffix or ending that, taught as a unit, frees these letters too; empty for none."""


@dataclass(frozen=True, slots=True)
class Part:
    """A morpheme of a word."""

    text: str
    """Its letters as they stand in the word."""
    kind: str
    """base, prefix, suffix, contraction, possessive, compound."""
    name: str
    """The base as a dictionary has it (*bake* in *baking*), or the affix with its hyphen (*-ing*, *un-*)."""


@dataclass(frozen=True, slots=True)
class Syllable:
    """A stretch of letters with one vowel sound."""

    start: int
    """First letter position."""
    end: int
    """Position after the last letter."""
    kind: str
    """open, closed, split e, vowel team, r-controlled, -le, or unstressed endings as they fall."""
    stressed: bool
    """Whether the dictionary stresses its vowel."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to say one word, with its letters aligned to its sounds."""

    word: str
    """The word in lower case, apostrophes straight."""
    sounds: tuple[str, ...]
    """Phonemes with stress."""
    source: str
    """dictionary, correction, user, derived, spelled (one plausible reading) or predicted (a guess)."""
    graphemes: tuple[Grapheme, ...]
    """In the order of their first letters; their positions partition the word's letters."""
    parts: tuple[Part, ...] = ()
    """Morphemes; one base for a simple word."""
    syllables: tuple[Syllable, ...] = ()
    """Division into syllables."""
    shape: str = ""
    """Consonant and vowel sounds of the stem: CVC; syllables joined by a dot: CVC.CVC."""
    sense: str = ""
    """For a heteronym, which reading this is."""
