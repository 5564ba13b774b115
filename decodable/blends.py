"""Charts of blends and digraphs with key words, and tables of blends with rimes: which make a word, and which do not.

In go a reader's :class:`~decodable.words.WordIndex` and the words never offered; out come :class:`BlendChart` and
:class:`BlendTable`. A table never pairs letters that look or sound like a word never offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from decodable.errors import DecodableError
from decodable.judging import NEVER
from decodable.lexicon import PHONEME_CODES, Lexicon
from decodable.model import bare, is_vowel
from decodable.never_offered import NeverOffered
from decodable.practice import readable, seeded, target_phrases
from decodable.practice_rules import practice_rules
from decodable.word_table import WordTable
from decodable.words import OfferedWord, Query, WordIndex

WORD, NO_WORD, LEFT_OUT = "word", "no word", "left out"
# A table that fits a page: blends down, rimes across.
ROWS, COLUMNS = 6, 6


@dataclass(frozen=True, slots=True)
class ChartEntry:
    """One blend or digraph on a chart."""

    name: str
    """``bl-``, ``-nd``, ``sh as in ship``."""
    step: int | None
    """The step from which it can be read, from 1; ``None``: never in this sequence."""
    keyword: OfferedWord | None
    """A word with it that this reader can read and that can be pictured, where there is one."""
    words: tuple[str, ...]
    """A few more words that this reader can read, pictured or not."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        keyword = self.keyword.to_dict() if self.keyword else None
        return {"name": self.name, "step": self.step, "keyword": keyword, "words": list(self.words)}


@dataclass(frozen=True, slots=True)
class BlendChart:
    """One chart."""

    title: str
    """Its heading."""
    digraphs: bool
    """Whether it lists digraphs, which are one sound, and not blends."""
    entries: tuple[ChartEntry, ...]
    """In the order of the settings."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"title": self.title, "digraphs": self.digraphs, "entries": [e.to_dict() for e in self.entries]}


@dataclass(frozen=True, slots=True)
class Cell:
    """One blend with one rime."""

    text: str
    """The letters of both."""
    kind: str
    """word: one that this reader can read; no word; left out: any other word or name, or what sounds like one."""


@dataclass(frozen=True, slots=True)
class BlendTable:
    """Blends down, rimes across."""

    blends: tuple[str, ...]
    """The rows: ``bl-``."""
    rimes: tuple[str, ...]
    """The columns: ``-ock``."""
    cells: tuple[tuple[Cell, ...], ...]
    """A row for each blend, a cell for each rime."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        cells = [[{"text": c.text, "kind": c.kind} for c in row] for row in self.cells]
        return {"blends": list(self.blends), "rimes": list(self.rimes), "cells": cells}


# ---------------------------------------------------------------------- charts
def blend_charts(index: WordIndex, *, words: int = 3) -> tuple[BlendChart, ...]:
    """The charts of the settings, filled for a reader; ``words``: how many further words to show for each entry."""
    admitted, out = readable(index), []
    for chart in practice_rules().charts:
        entries = []
        for name in chart.members:
            phrase = index.phrases.parse(name)
            using = index.using(phrase.patterns, "" if chart.digraphs else "first" if name.endswith("-") else "last")
            using &= index.table.column("syllables") == 1
            known = using & admitted
            best = index.find(Query(picture=True, base=True, limit=1), known) or ()
            shown = [w.word for w in index.find(Query(base=True, limit=words + 1), known)]
            first = int(np.min(index.shown[using], initial=NEVER))
            step = max(first, 1) if first < NEVER else None
            more = tuple(w for w in shown if not (best and w == best[0].word))[:words]
            entries.append(ChartEntry(phrase.text, step, best[0] if best else None, more))
        out.append(BlendChart(chart.title, chart.digraphs, tuple(entries)))
    return tuple(out)


# ---------------------------------------------------------------------- tables
def blend_table(
    index: WordIndex,
    never: NeverOffered,
    *,
    target: Iterable[str] = (),
    rows: int = ROWS,
    columns: int = COLUMNS,
    seed: int = 0,
) -> BlendTable:
    """A table of blends (or digraphs, or single consonants) with rimes that the reader can read.

    Args:
        index: the reader's words.
        never: what may not be offered.
        target: the blends, as phrases; what the reader's step teaches, then the latest ones, where left out.
        rows: how many blends at most.
        columns: how many rimes at most.
        seed: 0 for the rimes that make most words.

    Raises:
        DecodableError: where the reader has no two beginnings and two rimes.
    """
    beginnings, rimes = _parts(index)
    names = _beginnings(index, beginnings, tuple(target))[:rows]
    chance = seeded(seed, "blends")
    table, heard = index.table, heard_words(index)
    pairs = _pairs(table)
    found: list[tuple[float, str, list[Cell]]] = []
    for family, (letters, vowel, sounds) in rimes.items():
        column = []
        for name in names:
            onset, last, said = beginnings[name]
            text, spoken = onset + letters, (*said, *sounds)
            if (last, vowel) not in pairs or never.unfit_made_up(text, [spoken]):
                break
            number = table.index.get(text)
            real = number is not None and int(table.column("family")[number]) == family
            kind = WORD if real and index.shown[number] <= index.step else NO_WORD
            if kind == NO_WORD and (number is not None or text in index.judge.lexicon.index or spoken in heard):
                kind = LEFT_OUT
            column.append(Cell(text, kind))
        if len(column) == len(names):
            words = sum(cell.kind == WORD for cell in column) - 0.5 * sum(c.kind == LEFT_OUT for c in column)
            found.append((words + (chance.random() * 2 if chance else 0), f"-{letters}", column))
    found.sort(key=lambda item: (-item[0], item[1]))
    kept: dict[str, list[Cell]] = {}
    for _, rime, column in found:
        if any(cell.kind == WORD for cell in column) and len(kept) < columns:
            kept.setdefault(rime, column)
    if len(names) < 2 or len(kept) < 2:
        raise DecodableError("There are no two beginnings and two rimes to put together at this step.")
    cells = tuple(tuple(column[n] for column in kept.values()) for n in range(len(names)))
    return BlendTable(tuple(f"{beginnings[n][0]}-" for n in names), tuple(kept), cells)


Beginnings = dict[str, tuple[str, str, tuple[str, ...]]]
Rimes = dict[int, tuple[str, str, tuple[str, ...]]]


def _parts(index: WordIndex) -> tuple[Beginnings, Rimes]:
    """Beginnings and rimes of readable words: each with its letters, the pattern at the join, its sounds."""
    table, families = index.table, index.table.column("family")
    beginnings: Beginnings = {}
    rimes: Rimes = {}
    for number in np.flatnonzero(readable(index) & (families >= 0)).tolist():
        spelled = sorted(table.spelled[number], key=lambda g: g[1][0])
        at = next((i for i, g in enumerate(spelled) if any(is_vowel(s) for s in g[2])), 0)
        vowel = spelled[at]
        said = tuple(bare(s) for g in spelled[at:] for s in g[2])
        letters = table.meta["families"][int(families[number])].split("|")[0]
        rimes.setdefault(int(families[number]), (letters, vowel[3], said))
        onset = "".join(g[0] for g in spelled[:at])
        if onset and all(g[2] for g in spelled[:at]):
            sounds = tuple(bare(s) for g in spelled[:at] for s in g[2])
            patterns = tuple(g[3] for g in spelled[:at])
            beginnings.setdefault(f"{onset} {'+'.join(patterns)}", (onset, patterns[-1], sounds))
    return beginnings, rimes


def _beginnings(index: WordIndex, found: Beginnings, target: tuple[str, ...]) -> list[str]:
    """Beginnings to put down: those aimed at, then blends, then single consonants, the latest taught first."""
    aimed: set[str] = set()
    if target or index.judge.reader.step:
        for phrase in target_phrases(index, target):
            for pattern in phrase.patterns:
                aimed |= {k for k, (onset, last, _) in found.items() if pattern in (f"{onset}-", last)}
    sizes = {name: name.partition(" ")[2].count("+") + 1 for name in found}
    steps = {n: max(index.judge.now.step_of(p) for p in n.partition(" ")[2].split("+")) for n in found}
    gates = {n: index.judge.now.gate.get(f"{found[n][0]}-", 0) for n in found}
    return sorted(
        found, key=lambda n: (n not in aimed, -min(sizes[n], 2), -max(gates[n], steps[n]), -len(found[n][0]), n)
    )


_PAIRS: WeakKeyDictionary[WordTable, frozenset[tuple[str, str]]] = WeakKeyDictionary()


def _pairs(table: WordTable) -> frozenset[tuple[str, str]]:
    """Patterns side by side in some word for children, so that no c comes before e: of the words with a family."""
    found = _PAIRS.get(table)
    if found is None:
        pairs: set[tuple[str, str]] = set()
        for number in np.flatnonzero(table.column("family") >= 0).tolist():
            spelled = table.spelled[number]
            ordered: Sequence[Any] = sorted((g for g in spelled if g[2]), key=lambda g: g[1][0])
            pairs |= {(a[3], b[3]) for a, b in pairwise(ordered)}
        found = _PAIRS[table] = frozenset(pairs)
    return found


class Heard:
    """Every pronunciation of the dictionary, in all its accents, without stress."""

    def __init__(self, lexicon: Lexicon) -> None:
        bared = [bare(code) for code in PHONEME_CODES]
        self._numbers = {sound: n for n, sound in reversed(list(enumerate(bared)))}
        to_bare = np.array([self._numbers[sound] for sound in bared], np.uint8)
        flat = to_bare[lexicon.column("sound")].tobytes()
        starts = lexicon.column("sound_start").tolist()
        self._known = {flat[a:b] for a, b in pairwise(starts)}

    def __contains__(self, sounds: Sequence[str]) -> bool:
        return bytes(self._numbers[bare(s)] for s in sounds) in self._known


_HEARD: WeakKeyDictionary[WordTable, Heard] = WeakKeyDictionary()


def heard_words(index: WordIndex) -> Heard:
    """What the dictionary's words sound like; kept with the table of words."""
    found = _HEARD.get(index.table)
    if found is None:
        found = _HEARD[index.table] = Heard(index.judge.lexicon)
    return found
