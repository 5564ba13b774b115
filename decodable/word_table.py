"""The vocabulary with its readings in columns, compiled once and kept, so that any reader's words are found at once.

In go the vocabulary and the readings of all its forms; out comes a :class:`WordTable`. It is kept in the cache folder
under a digest of everything that it depends on: the themes, the words never offered, the dictionary, the user's own
files. A word stands in it only if its pronunciation is known (of the dictionary, derived, or fixed by the user).

Arrays (W words, R readings, S senses of readings, N distinct needs, F forms, C classes):

==================  ========  ===========================================================================
words               bytes     W words, sorted, joined by newlines
frequency           f4 [W]    Zipf frequency, 0 unknown
sounds              bytes     W taught pronunciations, phonemes joined by spaces
graphemes           bytes     W lists of [letters, positions, sounds, pattern] as JSON
sound_count         u1 [W]    how many sounds
first_sound         u2 [W]    number of the first sound, without stress
syllables           u1 [W]    how many syllables
shape               u2 [W]    number of the shape
family              i4 [W]    number of the word family; -1 for a word of several syllables or with an affix
uses_start          i4 [W+1]  what word w uses in ``uses`` and ``uses_place``
uses                i4        numbers of patterns, blends, shapes, affixes, rimes
uses_place          u1        where: bits of :data:`FIRST`, :data:`MIDDLE`, :data:`LAST`
sense_start         i4 [W+1]  senses of word w; the readings of a sense are variants of one pronunciation
reading_start       i4 [S+1]  readings of a sense
need_start          i4 [R+1]  needs of a reading in ``need_of``
need_of             i4        row numbers in the table of needs
need_...                      the table of needs, as in :mod:`decodable.lexicon`
form_word           i4 [F]    the word of a form
lemma               bytes     F lemmas, joined by newlines
pos, form, known    u1 [F]    numbers of part of speech, form, and when it is known
region, theme       u1 [F]    numbers
picture, count      b1 [F]    can be pictured; countable
classes             b1 [F,C]  whether a form is of a sense class, in the order of the classes' file
meta                bytes     JSON: format, digest, names of all the numbers, classes, what is printed with capitals
==================  ========  ===========================================================================
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable import resources
from decodable.lexicon import NeedNumbering, NeedTable, Numbering, Rules, Table, read_columns, save_lexicon
from decodable.model import Grapheme, Reading, bare
from decodable.never_offered import FILE as NEVER_FILE
from decodable.patterns import needs_of
from decodable.syllables import stem_syllables
from decodable.vocabulary import BASE, KNOWN, Lemma, Vocabulary, theme_files

# Raised whenever the layout above changes.
FORMAT = 2
FIRST, MIDDLE, LAST = 1, 2, 4
TRUSTED = frozenset({"dictionary", "correction", "derived", "user"})
Readings = Callable[[str], Sequence[Reading]]


class WordTable:
    """The columns, opened."""

    def __init__(self, arrays: Mapping[str, npt.NDArray[Any]]) -> None:
        self._arrays = arrays
        self._kept: dict[str, npt.NDArray[Any]] = {}

    def column(self, name: str) -> npt.NDArray[Any]:
        """One column, kept once read."""
        found = self._kept.get(name)
        if found is None:
            found = self._kept[name] = self._arrays[name]
            found.flags.writeable = False
        return found

    def lines(self, name: str) -> list[str]:
        """A column of texts."""
        return str(self.column(name).tobytes().decode("utf-8")).split("\n")

    @cached_property
    def meta(self) -> Mapping[str, Any]:
        """Format, digest and names."""
        found: dict[str, Any] = json.loads(self.column("meta").tobytes())
        return found

    @cached_property
    def words(self) -> list[str]:
        """All words, sorted."""
        return self.lines("words")

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Word to its number."""
        return {word: n for n, word in enumerate(self.words)}

    @cached_property
    def lemmas(self) -> list[str]:
        """The lemma of each form."""
        return self.lines("lemma")

    @cached_property
    def graphemes(self) -> list[str]:
        """The graphemes of each word, as JSON."""
        return self.lines("graphemes")

    @cached_property
    def spelled(self) -> list[list[tuple[str, list[int], list[str], str]]]:
        """The graphemes of each word, each as letters, positions, sounds, pattern."""
        found: list[list[tuple[str, list[int], list[str], str]]] = json.loads(f"[{','.join(self.graphemes)}]")
        return found

    @cached_property
    def sounds(self) -> list[str]:
        """The sounds of each word, joined by spaces."""
        return self.lines("sounds")

    @cached_property
    def table(self) -> Table:
        """What judging reads; its words are senses."""
        columns = (self.column(f"need_{c}") for c in ("pattern", "schwa", "gate", "shape", "unit_start", "unit"))
        needs = NeedTable(tuple(self.meta["needs"]), self.meta["gates"], *columns)
        return Table(self.column("reading_start"), self.column("need_start"), self.column("need_of"), needs)

    @cached_property
    def uses(self) -> Mapping[str, int]:
        """Name of a pattern, blend, shape, affix or rime to its number in the column ``uses``."""
        return {name: n for n, name in enumerate(self.meta["uses"])}


def words_file(accent: str) -> str:
    """The name of the compiled vocabulary of an accent."""
    return f"words-{accent}.npz"


def words_digest(lexicon_digest: str, own: Path | None = None) -> str:
    """A digest of everything that the table depends on; ``own`` is the user's folder where it is another."""
    folder, own = resources.rules_dir(), own or resources.user_dir()
    files = [
        folder / "vocabulary" / "classes.toml",
        *theme_files(),
        *theme_files(own / "vocabulary"),
        folder / NEVER_FILE,
        folder / "inflections.toml",
        own / NEVER_FILE,
        own / "pronunciations.toml",
    ]
    digest = hashlib.sha256(f"words {FORMAT} {lexicon_digest}".encode())
    for path in files:
        if path.is_file():
            digest.update(path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()


def open_words(lexicon_digest: str, make: Callable[[str], Mapping[str, npt.NDArray[Any]]], accent: str) -> WordTable:
    """The table in an accent for the files as they stand: shipped, cached, or made now by ``make(digest)``."""
    digest = words_digest(lexicon_digest)
    cached = resources.cache_dir() / words_file(accent)
    for path in (resources.built(words_file(accent)), cached):
        arrays = read_columns(path)
        if arrays is not None:
            found = WordTable(arrays)
            if found.meta.get("format") == FORMAT and found.meta.get("digest") == digest:
                return found
    made = make(digest)
    save_lexicon(made, cached)
    return WordTable(made)


def compile_words(
    vocabulary: Vocabulary, readings: Readings, frequency: Callable[[str], float], rules: Rules, digest: str
) -> dict[str, npt.NDArray[Any]]:
    """Lay out the vocabulary in columns. Words without a trusted pronunciation are left out."""
    build = _Columns(rules)
    forms: list[tuple[int, Lemma, str]] = []
    for word in sorted(vocabulary.by_form):
        found = tuple(readings(word))
        if found and found[0].source in TRUSTED:
            forms += [(len(build.words), lemma, form) for lemma, form in vocabulary.by_form[word]]
            build.add(word, frequency(word), found)
    return build.finish(forms, vocabulary, digest)


class _Columns:
    """Grows the columns word by word."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.words: list[str] = []
        self.texts: dict[str, list[str]] = {"sounds": [], "graphemes": []}
        self.rows: dict[str, list[int]] = {k: [] for k in _WORD_COLUMNS}
        self.flat: dict[str, list[int]] = {"uses": [], "uses_place": [], "need_of": []}
        self.starts: dict[str, list[int]] = {k: [0] for k in ("uses", "sense", "reading", "need")}
        self.frequency: list[float] = []
        self.needs = NeedNumbering()
        self.uses: Numbering[str] = Numbering()
        self.shapes: Numbering[str] = Numbering()
        self.families: Numbering[str] = Numbering()
        self.first_sounds: Numbering[str] = Numbering()

    def add(self, word: str, frequency: float, readings: Sequence[Reading]) -> None:
        """One word: how it looks and sounds in its taught reading, and what each of its readings needs."""
        taught = readings[0]
        self.words.append(word)
        self.frequency.append(frequency)
        self.texts["sounds"].append(" ".join(taught.sounds))
        self.texts["graphemes"].append(json.dumps([[g.letters, g.at, g.sounds, g.pattern] for g in taught.graphemes]))
        rows = self.rows
        rows["sound_count"].append(len(taught.sounds))
        rows["first_sound"].append(self.first_sounds[bare(taught.sounds[0])])
        rows["syllables"].append(len(taught.syllables))
        rows["shape"].append(self.shapes[taught.shape])
        family = family_of(taught)
        rows["family"].append(self.families[family] if family else -1)
        for name, place in self._uses(taught).items():
            self.flat["uses"].append(self.uses[name])
            self.flat["uses_place"].append(place)
        self.starts["uses"].append(len(self.flat["uses"]))
        senses = list(dict.fromkeys(r.sense for r in readings))
        for sense in senses:
            for reading in (r for r in readings if r.sense == sense):
                needs = needs_of(reading, self.rules.inventory, self.rules.patterns.endings)
                self.flat["need_of"].extend(self.needs[n] for n in needs)
                self.starts["need"].append(len(self.flat["need_of"]))
            self.starts["reading"].append(len(self.starts["need"]) - 1)
        self.starts["sense"].append(len(self.starts["reading"]) - 1)

    def _uses(self, reading: Reading) -> dict[str, int]:
        """Patterns, units, blends, shapes and affixes of a reading, each with where it stands."""
        out: dict[str, int] = {}
        needs = needs_of(reading, self.rules.inventory, self.rules.patterns.endings)
        graphemes = reading.graphemes
        for n, need in enumerate(needs):
            if n < len(graphemes):
                place = _place(n, graphemes)
                names: tuple[str, ...] = (need.pattern, *need.units)
            else:
                place = FIRST if need.gate.endswith("-") else LAST if need.gate.startswith("-") else MIDDLE
                shape = "C" * need.shape[0] + "V" + "C" * need.shape[1] if need.shape else ""
                names = (need.gate or shape,)
            for name in names:
                if name:
                    out[name] = out.get(name, 0) | place
        return out

    def finish(
        self, forms: Sequence[tuple[int, Lemma, str]], vocabulary: Vocabulary, digest: str
    ) -> dict[str, npt.NDArray[Any]]:
        """The columns as arrays."""
        classes = list(vocabulary.classes.parent)
        names: dict[str, Numbering[str]] = {k: Numbering() for k in ("pos", "form", "theme", "region")}
        _ = names["region"][""], names["form"][BASE]
        needs = self.needs.table()
        meta = {
            "format": FORMAT,
            "digest": digest,
            "needs": needs.names,
            "gates": dict(needs.gates),
            "uses": list(self.uses),
            "shapes": list(self.shapes),
            "families": list(self.families),
            "first_sounds": list(self.first_sounds),
            "classes": dict(vocabulary.classes.parent),
            "titles": dict(vocabulary.titles),
            "write": {lemma.lemma: lemma.write for lemma in vocabulary.lemmas if lemma.write},
        }
        arrays: dict[str, npt.NDArray[Any]] = {
            "words": _text(self.words),
            "frequency": np.array(self.frequency, np.float32),
            **{name: _text(lines) for name, lines in self.texts.items()},
            **{name: np.array(self.rows[name], kind) for name, kind in _WORD_COLUMNS.items()},
            **{f"{name}_start": np.array(starts, np.int32) for name, starts in self.starts.items()},
            "uses": np.array(self.flat["uses"], np.int32),
            "uses_place": np.array(self.flat["uses_place"], np.uint8),
            "need_of": np.array(self.flat["need_of"], np.int32),
            **{f"need_{c}": getattr(needs, c) for c in ("pattern", "schwa", "gate", "shape", "unit_start", "unit")},
            "form_word": np.array([n for n, _, _ in forms], np.int32),
            "lemma": _text([lemma.lemma for _, lemma, _ in forms]),
            "pos": np.array([names["pos"][lemma.pos] for _, lemma, _ in forms], np.uint8),
            "form": np.array([names["form"][form] for _, _, form in forms], np.uint8),
            "theme": np.array([names["theme"][lemma.theme] for _, lemma, _ in forms], np.uint8),
            "region": np.array([names["region"][lemma.region] for _, lemma, _ in forms], np.uint8),
            "known": np.array([KNOWN.index(lemma.known) for _, lemma, _ in forms], np.uint8),
            "picture": np.array([lemma.picture for _, lemma, _ in forms], np.bool_),
            "count": np.array([lemma.count for _, lemma, _ in forms], np.bool_),
            "classes": np.array([c in lemma.classes for _, lemma, _ in forms for c in classes], np.bool_).reshape(
                len(forms), len(classes)
            ),
        }
        meta.update({name: list(numbers) for name, numbers in names.items()})
        arrays["meta"] = _text([json.dumps(meta)])
        return arrays


_WORD_COLUMNS: Mapping[str, type[np.generic]] = {
    "sound_count": np.uint8,
    "first_sound": np.uint16,
    "syllables": np.uint8,
    "shape": np.uint16,
    "family": np.int32,
}


def _text(lines: Iterable[str]) -> npt.NDArray[np.uint8]:
    return np.frombuffer("\n".join(lines).encode("utf-8"), np.uint8)


def _place(number: int, graphemes: Sequence[Grapheme]) -> int:
    """First, last or in the middle, silent letters at the edge passed over."""
    spoken = [n for n, g in enumerate(graphemes) if g.sounds] or [number]
    at = (FIRST if number <= spoken[0] else 0) | (LAST if number >= spoken[-1] else 0)
    return at or MIDDLE


def family_of(reading: Reading) -> str:
    """The word family of a word of one syllable: its rime's letters, its vowel as taught, the sounds after it.

    Words with a suffix belong to none. ``"at|a as in cat|T"``: *-at* of *cat*, not of *what*.
    """
    stems = stem_syllables(reading.word, reading.graphemes, reading.parts)
    if len(stems) != 1 or len(reading.syllables) != 1 or any(p.kind != "base" for p in reading.parts):
        return ""
    _, vowel, coda = stems[0]
    letters = "".join(reading.word[p] for p in sorted(p for g in (vowel, *coda) for p in g.at))
    return f"{letters}|{vowel.pattern}|{' '.join(bare(s) for g in coda for s in g.sounds)}"
