"""The affixes and how they join to a base: in goes ``rules/morphemes.toml`` and a word, out come possible bases.

This module knows letters only; whether a base is pronounced in the word as it is alone is decided by the analysis.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable.inventory import parse_sounds
from decodable.rules import RuleFile, expect_keys, read_toml

VOICELESS = frozenset({"P", "T", "K", "F", "TH"})
SIBILANT = frozenset({"S", "Z", "SH", "ZH", "CH", "JH"})
_VOWELS = frozenset("aeiou")


@dataclass(frozen=True, slots=True)
class Affix:
    """A prefix, suffix or contraction."""

    name: str
    """As taught: ``-ing``, ``un-``, ``n't``."""
    kind: str
    """suffix, prefix or contraction."""
    letters: str
    """Its letters."""
    sounds: tuple[tuple[str, ...], ...]
    """How it may sound."""
    vowel: bool
    """Whether it begins with a vowel letter, and so changes the end of the base."""
    voicing: bool
    """Whether its sound follows the base's last sound."""
    base: float
    """The least Zipf frequency of a base."""
    excluded: frozenset[str]
    """Words that only look as if they had it."""
    after: frozenset[str]
    """For the contraction 's: the words that it contracts with."""


@dataclass(frozen=True, slots=True)
class Join:
    """One way in which a word may be base and suffix."""

    base: str
    """The base as a dictionary has it."""
    how: str
    """plain, doubling, dropped e, y to i, le to ly, l merged."""


@dataclass(frozen=True, slots=True)
class Morphology:
    """All affixes and the settings for compounds."""

    suffixes: tuple[Affix, ...]
    prefixes: tuple[Affix, ...]
    contractions: tuple[Affix, ...]
    compound_base: float
    """The least Zipf frequency of both parts of a compound."""
    compound_short: frozenset[str]
    """Words of two letters that may be a part."""
    reduced_first: frozenset[str]
    """First parts of a compound that may lose their stress (*today, without*)."""
    reduced_second: frozenset[str]
    """Second parts that may (*postman, something*)."""
    compound_excluded: frozenset[str]
    """Words that only look like compounds."""
    names: Mapping[str, Affix]
    """Affixes by name."""


def load_morphology(path: Path) -> Morphology:
    """Read and check the affixes; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    # Longest first, so that really is real + -ly and not reall + -y.
    suffixes = tuple(sorted(_read(file, "suffix"), key=lambda a: -len(a.letters)))
    prefixes = _read(file, "prefix")
    contractions = _read(file, "contraction")
    compound: dict[str, Any] = file.data.get("compound", {})
    file.check()
    return Morphology(
        suffixes,
        prefixes,
        contractions,
        float(compound.get("base", 3.0)),
        frozenset(compound.get("short", ())),
        frozenset(compound.get("reduced_first", ())),
        frozenset(compound.get("reduced_second", ())),
        frozenset(compound.get("not", ())),
        MappingProxyType({a.name: a for a in (*suffixes, *prefixes, *contractions)}),
    )


def _read(file: RuleFile, kind: str) -> tuple[Affix, ...]:
    out: list[Affix] = []
    known = ("name", "letters", "sounds", "vowel", "voicing", "base", "not", "after")
    for table, line in zip(file.data.get(kind, []), file.header_lines(kind), strict=True):
        expect_keys(file, line, table, known, f"a {kind}")
        try:
            sounds = tuple(parse_sounds(s) for s in table["sounds"])
            out.append(
                Affix(
                    table["name"],
                    kind,
                    table["letters"],
                    sounds,
                    bool(table.get("vowel", False)),
                    bool(table.get("voicing", False)),
                    float(table.get("base", 0.0)),
                    frozenset(table.get("not", ())),
                    frozenset(table.get("after", ())),
                )
            )
        except (KeyError, ValueError) as error:
            file.fault(line, f"a {kind} needs name, letters and sounds: {error}")
    return tuple(out)


def must_double(base: str) -> bool:
    """Whether a one-syllable base doubles its last letter before a vowel: one vowel letter, one consonant (*hop*)."""
    if len(base) < 2 or base[-1] in "aeiouwxyh":
        return False
    before = base[:-1]
    if before.endswith("qui"):
        before = before[:-2] + "i"
    return before[-1] in _VOWELS and not any(c in "aeiouy" for c in before[:-1])


def joins(word: str, affix: Affix) -> Iterator[Join]:
    """Bases that ``word`` may be built on with a suffix, by the spelling rules alone."""
    if not word.endswith(affix.letters) or len(word) < len(affix.letters) + 2 or word in affix.excluded:
        return
    stem = word[: -len(affix.letters)]
    if affix.letters == "es":
        if stem.endswith(("s", "x", "z", "ch", "sh", "o")):
            yield Join(stem, "plain")
        if stem.endswith("i"):
            yield Join(stem[:-1] + "y", "y to i")
        return
    if affix.letters in ("s",):
        yield Join(stem, "plain")
        if stem.endswith("ve"):
            yield Join(stem[:-2] + "f", "f to ve")
            yield Join(stem[:-2] + "fe", "f to ve")
        return
    if affix.vowel:
        yield from _vowel_joins(stem, affix)
        return
    yield Join(stem, "plain")
    if stem.endswith("i"):
        yield Join(stem[:-1] + "y", "y to i")
    if affix.letters == "ly":
        yield Join(stem + "le", "le to ly")
        yield Join(stem + "e", "dropped e")
        if stem.endswith("l"):
            yield Join(stem + "l", "l merged")


def _vowel_joins(stem: str, affix: Affix) -> Iterator[Join]:
    first = affix.letters[0]
    if not stem.endswith("e") and not must_double(stem):
        yield Join(stem, "plain")
    if (stem.endswith(("e", "y")) and first == "i") or (stem.endswith("e") and first in "ao"):
        yield Join(stem, "plain")
    yield Join(stem + "e", "dropped e")
    if len(stem) > 2 and stem[-1] == stem[-2] and stem[-1] not in "aeiouwxyh":
        yield Join(stem[:-1], "doubling")
    if stem.endswith("ck"):
        yield Join(stem[:-1], "doubling")
    if stem.endswith("i") and first != "i":
        yield Join(stem[:-1] + "y", "y to i")
