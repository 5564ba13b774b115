"""The compiled dictionary: every word's readings and needs as arrays, so that one pass judges them all.

Compiled from the rules and the source dictionary into one ``.npz`` file that carries a format version and a digest of
the rules. Reading it back costs milliseconds; the columns that only a flagged word needs are read when first asked for.

Arrays (R readings, G graphemes, N distinct needs, W words):

==================  ==========  =========================================================================
words               bytes       W words, sorted, joined by newlines, UTF-8
frequency           f4 [W]      Zipf frequency, 0 unknown
word_start          i4 [W+1]    readings of word w: ``word_start[w]:word_start[w+1]``
need_start          i4 [R+1]    needs of reading r in ``need_of``, its graphemes' needs first
need_of             i4          row numbers in the table of needs
sense               u2 [R]      number of the sense of a heteronym; 0 none
accent_word         i4 [A]      words that another accent says otherwise, by accent in ``meta["accents"]``
accent_start        i4 [A+1]    readings of those words; they stand after all others
grapheme_start      i4 [R+1]    graphemes of reading r
grapheme_at         u8 [G]      letter positions as bits
grapheme_pattern    u2 [G]      number of the correspondence
grapheme_sounds     u1 [G]      how many sounds
grapheme_note       u1 [G]      number of the note
grapheme_unit       u1 [G]      number of the unit
sound_start         i4 [R+1]    sounds of reading r in ``sound``
sound               u1          numbers of phonemes
parts               bytes       R descriptions of morphemes, joined by newlines
corrected           b1 [W]      pronunciation stated by a rule file
need_pattern        i4 [N]      correspondence, as a number in ``meta["names"]``; -1 none
need_schwa          i4 [N]      what lets an unstressed vowel pass; -1 none
need_gate           i4 [N]      gate; -1 none
need_shape          i4 [N,4]    consonants before and after, initial and final blend as numbers; -1 none
need_unit_start     i4 [N+1]    units of need n in ``need_unit``
need_unit           i4          numbers of units (affixes, endings, rimes)
predict_...                     the model of :mod:`decodable.prediction`
meta                bytes       JSON: format, digest, names of all the numbers, family of each gate, what can be taught
==================  ==========  =========================================================================
"""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from decodable import resources
from decodable.accents import DICTIONARY_ACCENT
from decodable.inventory import Inventory, load_inventory
from decodable.model import CONSONANT_SOUNDS, VOWEL_SOUNDS, Grapheme, Part, Reading
from decodable.morphology import Morphology, load_morphology
from decodable.patterns import Need, PatternRules, Teaching, load_patterns, needs_of
from decodable.syllables import shape_of, syllabify

# Raised whenever the layout above changes.
FORMAT = 5
RULE_FILES = (
    *("correspondences.toml", "heteronyms.toml", "morphemes.toml"),
    *("patterns.toml", "pronunciations.toml", "syllables.toml"),
)
MODULES = (
    *("accents", "alignment", "analysis", "compiling", "division", "inventory", "lexicon"),
    *("morphology", "patterns", "prediction", "sounds", "syllables"),
)
PHONEME_CODES = tuple([f"{v}{stress}" for v in sorted(VOWEL_SOUNDS) for stress in "012"] + sorted(CONSONANT_SOUNDS))
Ints = npt.NDArray[np.int32]
_T = TypeVar("_T")


class Numbering(dict[_T, int]):
    """Distinct values numbered in the order in which they come."""

    def __missing__(self, key: _T) -> int:
        self[key] = number = len(self)
        return number


@dataclass(frozen=True, slots=True)
class Rules:
    """All rules about words, read."""

    inventory: Inventory
    morphology: Morphology
    patterns: PatternRules


def load_rules(folder: Path | None = None) -> Rules:
    """Read the rule files about words; faults name file and line."""
    folder = folder or resources.rules_dir()
    return Rules(
        load_inventory(folder / "correspondences.toml"),
        load_morphology(folder / "morphemes.toml"),
        load_patterns(folder / "patterns.toml"),
    )


def rules_digest(folder: Path | None = None) -> str:
    """A digest of all that the compiled dictionary depends on: rule files and modules (line endings apart)."""
    folder, here = folder or resources.rules_dir(), Path(__file__).parent
    digest = hashlib.sha256(f"format {FORMAT}".encode())
    accents = sorted((folder / "accents").glob("*.toml"))
    for path in (*(folder / name for name in RULE_FILES), *accents, *(here / f"{name}.py" for name in MODULES)):
        digest.update(path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()


@dataclass(frozen=True)
class NeedTable:
    """Distinct needs as columns; see the module."""

    names: tuple[str, ...]
    """What the numbers stand for: patterns, units, gates."""
    gates: Mapping[str, str]
    """Gate to its family."""
    pattern: Ints
    schwa: Ints
    gate: Ints
    shape: Ints
    unit_start: Ints
    unit: Ints

    @cached_property
    def numbers(self) -> Mapping[str, int]:
        """Name to its number."""
        return {name: n for n, name in enumerate(self.names)}

    @cached_property
    def families(self) -> Mapping[str, Ints]:
        """Family to the numbers of its gates."""
        found: dict[str, list[int]] = {}
        for gate, family in self.gates.items():
            found.setdefault(family, []).append(self.numbers[gate])
        return {family: np.array(numbers, np.int32) for family, numbers in found.items()}

    def gate_name(self, need: int) -> str:
        """The gate or shape that a need asks for."""
        if self.shape[need, 0] >= 0:
            return "C" * int(self.shape[need, 0]) + "V" + "C" * int(self.shape[need, 1])
        return str(self.names[self.gate[need]])

    @cached_property
    def has_units(self) -> Ints:
        """Needs that some unit meets."""
        return np.flatnonzero(np.diff(self.unit_start)).astype(np.int32)


@dataclass(frozen=True, slots=True)
class Table:
    """Readings of some words as columns; see the module."""

    word_start: Ints
    need_start: Ints
    need_of: Ints
    needs: NeedTable


class _Stored(Mapping[str, npt.NDArray[Any]]):
    """The columns of a file, each read when it is asked for; the file is open only while it is read."""

    def __init__(self, path: Path) -> None:
        self._path = path
        with np.load(path, allow_pickle=False) as file:
            self._names = tuple(file.files)

    def __getitem__(self, name: str) -> npt.NDArray[Any]:
        with np.load(self._path, allow_pickle=False) as file:
            found: npt.NDArray[Any] = file[name]
            return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


@dataclass(frozen=True)
class Lexicon:
    """The compiled dictionary, opened."""

    arrays: Mapping[str, npt.NDArray[Any]]
    """The columns; an ``.npz`` file reads each when it is first asked for."""
    accent: str = DICTIONARY_ACCENT
    """Whose pronunciations these are."""
    _kept: dict[str, npt.NDArray[Any]] = field(default_factory=dict)

    def in_accent(self, code: str) -> Lexicon:
        """The same dictionary in another accent."""
        return self if code == self.accent else replace(self, accent=code)

    def column(self, name: str) -> npt.NDArray[Any]:
        """One column, kept once read."""
        found = self._kept.get(name)
        if found is None:
            found = self._kept[name] = self.arrays[name]
            found.flags.writeable = False
        return found

    def _text(self, name: str) -> str:
        return str(self.column(name).tobytes().decode("utf-8"))

    @cached_property
    def meta(self) -> Mapping[str, Any]:
        """Format, digest and the names that numbers in the columns stand for."""
        found: dict[str, Any] = json.loads(self._text("meta"))
        return found

    @cached_property
    def words(self) -> list[str]:
        """All words, sorted by code point."""
        return self._text("words").split("\n")

    @cached_property
    def index(self) -> dict[str, int]:
        """Word to its number."""
        return dict(zip(self.words, range(len(self.words)), strict=True))

    @cached_property
    def needs(self) -> NeedTable:
        """The table of distinct needs."""
        columns = (self.column(f"need_{c}") for c in ("pattern", "schwa", "gate", "shape", "unit_start", "unit"))
        return NeedTable(tuple(self.meta["names"]), self.meta["gates"], *columns)

    @cached_property
    def table(self) -> Table:
        """The columns that judging reads."""
        starts, need_of = self.column("need_start"), self.column("need_of")
        if self.accent == DICTIONARY_ACCENT:
            return Table(self.column("word_start"), starts, need_of, self.needs)
        word_start, rows = self._rows
        sizes = (starts[1:] - starts[:-1])[rows]
        need_start = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int32)
        places = np.repeat(starts[rows] - need_start[:-1], sizes) + np.arange(need_start[-1])
        return Table(word_start, need_start, need_of[places], self.needs)

    @cached_property
    def _rows(self) -> tuple[Ints, Ints]:
        """In another accent: where each word's readings begin, and the row in the columns of each."""
        starts = self.column("word_start")
        first, count = starts[:-1].copy(), np.diff(starts)
        begin, end = self.meta["accents"].get(self.accent, (0, 0))
        words, after = self.column("accent_word")[begin:end], self.column("accent_start")
        first[words], count[words] = after[begin:end], np.diff(after)[begin:end]
        word_start = np.concatenate([[0], np.cumsum(count)]).astype(np.int32)
        rows = np.repeat(first - word_start[:-1], count) + np.arange(word_start[-1])
        return word_start, rows.astype(np.int32)

    def _row(self, number: int) -> int:
        """The row in the columns of a reading."""
        return number if self.accent == DICTIONARY_ACCENT else int(self._rows[1][number])

    @cached_property
    def teaching(self) -> Teaching:
        """What can be taught, and what follows from teaching it."""
        return Teaching.from_json(self.meta["teaching"])

    @cached_property
    def _parts(self) -> list[str]:
        return self._text("parts").split("\n")

    def frequency(self, word: str) -> float:
        """Zipf frequency of a word (wordfreq), 0 where unknown."""
        number = self.index.get(word)
        return float(self.column("frequency")[number]) if number is not None else 0.0

    def reading_numbers(self, word: str) -> range:
        """The rows of a word's readings; empty for an unknown word."""
        number = self.index.get(word)
        if number is None:
            return range(0)
        start = self.table.word_start
        return range(int(start[number]), int(start[number + 1]))

    def readings(self, word: str) -> tuple[Reading, ...]:
        """A word's readings, the taught one first; empty for an unknown word."""
        return tuple(self.reading(word, r) for r in self.reading_numbers(word))

    def reading(self, word: str, number: int) -> Reading:
        """One reading as a value."""
        names, number = self.meta, self._row(number)
        start, end = self.column("grapheme_start")[number : number + 2]
        sound = int(self.column("sound_start")[number])
        codes = self.column("sound")
        graphemes: list[Grapheme] = []
        for g in range(start, end):
            bits = int(self.column("grapheme_at")[g])
            at = tuple(p for p in range(bits.bit_length()) if bits >> p & 1)
            count = int(self.column("grapheme_sounds")[g])
            letters = "".join(word[p] for p in at)
            if len(at) == 2 and at[1] > at[0] + 1 and "'" not in word[at[0] : at[1]]:
                letters = f"{letters[0]}-{letters[1]}"
            graphemes.append(
                Grapheme(
                    letters,
                    at,
                    tuple(PHONEME_CODES[c] for c in codes[sound : sound + count]),
                    names["patterns"][self.column("grapheme_pattern")[g]],
                    names["notes"][self.column("grapheme_note")[g]],
                    names["units"][self.column("grapheme_unit")[g]],
                )
            )
            sound += count
        parts = _parts_from(self._parts[number])
        found = tuple(graphemes)
        source = "correction" if self.column("corrected")[self.index[word]] else "dictionary"
        return Reading(
            word,
            tuple(s for g in found for s in g.sounds),
            source,
            found,
            parts,
            syllabify(word, found, parts),
            shape_of(word, found, parts),
            names["senses"][self.column("sense")[number]],
        )

    def parts_of(self, number: int) -> tuple[Part, ...]:
        """The morphemes of a reading, without the rest of it."""
        return _parts_from(self._parts[self._row(number)])


def parts_text(parts: Sequence[Part]) -> str:
    """Morphemes as one line of the column ``parts``."""
    return "\t".join(f"{p.text}\x1f{p.kind}\x1f{p.name}" for p in parts)


def _parts_from(text: str) -> tuple[Part, ...]:
    return tuple(Part(*piece.split("\x1f")) for piece in text.split("\t"))


class NeedNumbering(Numbering[Need]):
    """Distinct needs, and their table."""

    def table(self) -> NeedTable:
        """The needs so far as columns."""
        names: Numbering[str] = Numbering()
        gates: dict[str, str] = {}
        rows: dict[str, list[Any]] = {k: [] for k in ("pattern", "schwa", "gate", "shape", "unit")}
        unit_start = [0]

        def number(name: str) -> int:
            return names[name] if name else -1

        for need in self:
            rows["pattern"].append(number(need.pattern))
            rows["schwa"].append(number(need.schwa_of))
            rows["gate"].append(number(need.gate))
            if need.gate:
                gates[need.gate] = need.family
            shape = need.shape
            rows["shape"].append((shape[0], shape[1], number(shape[2]), number(shape[3])) if shape else (-1,) * 4)
            rows["unit"].extend(names[u] for u in need.units)
            unit_start.append(len(rows["unit"]))
        columns = {k: np.array(v, np.int32) for k, v in rows.items()}
        return NeedTable(
            tuple(names),
            gates,
            columns["pattern"],
            columns["schwa"],
            columns["gate"],
            columns["shape"].reshape(-1, 4),
            np.array(unit_start, np.int32),
            columns["unit"],
        )


def tabulate(readings: Iterable[Sequence[Reading]], rules: Rules) -> Table:
    """The table that judging reads, for the readings of a few words in hand (user's words, unknown words)."""
    needs = NeedNumbering()
    word_start, need_start, need_of = [0], [0], list[int]()
    for found in readings:
        for reading in found:
            need_of.extend(needs[n] for n in needs_of(reading, rules.inventory, rules.patterns.endings))
            need_start.append(len(need_of))
        word_start.append(len(need_start) - 1)
    return Table(
        np.array(word_start, np.int32), np.array(need_start, np.int32), np.array(need_of, np.int32), needs.table()
    )


def as_bytes(text: str) -> npt.NDArray[np.uint8]:
    """Text as a column."""
    return np.frombuffer(text.encode("utf-8"), np.uint8)


def save_lexicon(arrays: Mapping[str, npt.NDArray[Any]], path: Path) -> None:
    """Write the columns; the same columns give the same bytes. A half-written file never stays under the name."""
    path.parent.mkdir(parents=True, exist_ok=True)
    scratch = path.with_name(f"{path.stem}.{os.getpid()}.part.npz")
    np.savez(scratch, allow_pickle=False, **dict(sorted(arrays.items())))
    scratch.replace(path)


def read_columns(path: Path) -> Mapping[str, npt.NDArray[Any]] | None:
    """The columns of a compiled file, each read when it is asked for; ``None`` for a missing or broken file."""
    if not path.is_file():
        return None
    try:
        return _Stored(path)
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
