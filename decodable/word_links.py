"""Words that differ in one sound: what chains are made of, and pairs of words.

In go the compiled vocabulary and ``rules/chains.toml``; out comes, for any word, every :class:`Link` to a word that has
one grapheme changed, added or dropped, and with it one sound. Nothing here knows of a reader.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from decodable import resources
from decodable.model import PHONEMES, VOWEL_SOUNDS, bare
from decodable.rules import expect_keys, nearest, read_toml
from decodable.vocabulary import BASE
from decodable.word_table import WordTable

CHANGE, ADD, DROP = "change", "add", "drop"
_POINTS = ("clear", "new", "pattern", "inflected", "same_place", "places", "kinds")


@dataclass(frozen=True, slots=True)
class Confusable:
    """Two correspondences that children confuse."""

    between: tuple[str, str]
    """Phrases of sequences."""
    reason: str


@dataclass(frozen=True)
class ChainRules:
    """What ``rules/chains.toml`` says."""

    points: Mapping[str, float]
    """What makes a chain good."""
    alike: Mapping[str, str]
    """Sounds that many do not tell apart, each to one that stands for all of them."""
    confusables: tuple[Confusable, ...]


class Unit(NamedTuple):
    """One grapheme of a word."""

    letters: str
    pattern: str
    sounds: tuple[str, ...]
    """Without stress; those that many do not tell apart as one. Empty for a silent letter."""

    @property
    def vowel(self) -> bool:
        """Whether it holds a vowel."""
        return any(s in VOWEL_SOUNDS for s in self.sounds)


Units = tuple[Unit, ...]


class Step(NamedTuple):
    """From one word to another, by their numbers."""

    to: int
    how: str
    """change, add, drop."""
    at: int
    """Which grapheme, from 0: of the first word, for an added one of the second."""
    place: str
    """first, middle, last."""


@dataclass(frozen=True, slots=True)
class Link:
    """What happens between two neighbours of a chain."""

    how: str
    """change, add, drop."""
    place: str
    """Where in the word: first, middle, last."""
    old: str
    """The grapheme that goes; empty where one is added. A split digraph is ``a-e``."""
    new: str
    """The grapheme that comes; empty where one is dropped."""
    old_sounds: tuple[str, ...]
    """Its sounds, without stress."""
    new_sounds: tuple[str, ...]

    def __str__(self) -> str:
        if self.how == CHANGE:
            return f"change {self.old} to {self.new}"
        return f"add {self.new}" if self.how == ADD else f"drop {self.old}"

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        out: dict[str, Any] = {name: getattr(self, name) for name in self.__slots__}
        out["old_sounds"], out["new_sounds"] = list(self.old_sounds), list(self.new_sounds)
        return out


def load_chain_rules(path: Path | None = None) -> ChainRules:
    """Read and check ``rules/chains.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path or resources.rules_dir() / "chains.toml")
    expect_keys(file, 1, file.data, ("title", "chain", "sounds", "confusable"), "the rules of chains")
    points = file.data.get("chain", {})
    expect_keys(file, file.line_of("[chain]"), points, _POINTS, "[chain]")
    for name in _POINTS:
        if not isinstance(points.get(name), int | float):
            file.fault(file.line_of("[chain]"), f"[chain] needs a number for {name}")
    alike: dict[str, str] = {}
    for group in file.data.get("sounds", {}).get("alike", ()):
        for sound in group:
            if sound not in PHONEMES:
                file.fault(file.line_of("alike"), f"{sound!r} is no ARPAbet sound{nearest(sound, PHONEMES)}")
            alike[sound] = group[0]
    found: list[Confusable] = []
    for table, line in zip(file.data.get("confusable", []), file.header_lines("confusable"), strict=True):
        expect_keys(file, line, table, ("between", "reason"), "a confusable pair")
        between = table.get("between", ())
        if len(between) != 2 or not table.get("reason"):
            file.fault(line, "a confusable pair needs between, with two phrases, and a reason")
        found.append(Confusable(tuple(between), table.get("reason", "")))
    file.check()
    return ChainRules(MappingProxyType(points), MappingProxyType(alike), tuple(found))


class WordLinks:
    """Every word of a vocabulary by its graphemes. A word's links are worked out when first asked for."""

    def __init__(self, table: WordTable, rules: ChainRules) -> None:
        self.rules = rules
        self.words = table.words
        plain = [w.isalpha() and w not in table.meta["write"] for w in self.words]
        fit = (np.diff(table.column("sense_start")) == 1) & (table.column("sound_count") > 1)
        self.fit: npt.NDArray[np.bool_] = fit & (table.column("syllables") > 0) & np.array(plain, np.bool_)
        """Words that may stand in a chain: one pronunciation of two sounds or more, no capital; bool [words]."""
        base = table.column("form_word")[table.column("form") == table.meta["form"].index(BASE)]
        self.inflected: npt.NDArray[np.bool_] = ~np.isin(np.arange(len(self.words)), base)
        """Words that are only plurals, past forms and the like; bool [words]."""
        self.units: dict[int, Units] = {}
        self._numbers: dict[Units, list[int]] = defaultdict(list)
        self._holed: dict[tuple[Units, Units], list[int]] = defaultdict(list)
        self._shorter: dict[Units, list[tuple[int, int]]] = defaultdict(list)
        kept: dict[Unit, Unit] = {}
        for number in np.flatnonzero(self.fit).tolist():
            units = self.units[number] = self._units(table.graphemes[number], kept)
            self._numbers[units].append(number)
            for i in range(len(units)):
                self._holed[units[:i], units[i + 1 :]].append(number)
                if not units[i].vowel and units[i].sounds:
                    self._shorter[units[:i] + units[i + 1 :]].append((number, i))
        self._links: dict[int, tuple[Step, ...]] = {}

    def _units(self, text: str, kept: dict[Unit, Unit]) -> Units:
        alike, out = self.rules.alike, []
        for letters, _, sounds, pattern in sorted(json.loads(text), key=lambda g: g[1][0]):
            plain = (bare(s) for s in sounds)
            unit = Unit(letters, pattern, tuple(alike.get(s, s) for s in plain))
            out.append(kept.setdefault(unit, unit))
        return tuple(out)

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Words that may stand in a chain, to their numbers."""
        return {self.words[n]: n for n in self.units}

    def links(self, number: int) -> tuple[Step, ...]:
        """Every word that differs from this one by one grapheme that is sounded, in order of the alphabet."""
        found = self._links.get(number)
        if found is None:
            found = self._links[number] = tuple(sorted(self._linked(number), key=lambda s: (self.words[s.to], s.at)))
        return found

    def _linked(self, number: int) -> Iterator[Step]:
        units = self.units[number]
        seen = {number}
        for i, unit in enumerate(units):
            before, after = units[:i], units[i + 1 :]
            for other in self._holed[before, after]:
                new = self.units[other][i]
                changed = unit.sounds and new.sounds and new.sounds != unit.sounds
                if changed and unit.vowel == new.vowel and other not in seen:
                    seen.add(other)
                    yield Step(other, CHANGE, i, place_of(i, len(units)))
            if not unit.vowel and unit.sounds:
                for other in self._numbers.get(before + after, ()):
                    if other not in seen:
                        seen.add(other)
                        yield Step(other, DROP, i, place_of(i, len(units)))
        for other, i in self._shorter.get(units, ()):
            if other not in seen:
                seen.add(other)
                yield Step(other, ADD, i, place_of(i, len(units) + 1))

    def link(self, number: int, step: Step) -> Link:
        """A step as it is told."""
        old = self.units[number][step.at] if step.how != ADD else None
        new = self.units[step.to][step.at] if step.how != DROP else None
        return Link(
            step.how,
            step.place,
            old.letters if old else "",
            new.letters if new else "",
            old.sounds if old else (),
            new.sounds if new else (),
        )


def place_of(at: int, size: int) -> str:
    """Where the grapheme with this number stands among so many."""
    return "first" if at == 0 else "last" if at == size - 1 else "middle"


@lru_cache(maxsize=4)
def links_of(table: WordTable) -> WordLinks:
    """The links of a vocabulary, kept for the next question."""
    return WordLinks(table, load_chain_rules())
