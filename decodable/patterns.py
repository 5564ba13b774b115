"""What a reading needs: its correspondences, and the gates that hold it back (blends, shapes, syllables, affixes).

In goes a :class:`~decodable.model.Reading` with the stems that :mod:`decodable.syllables` finds; out come
:class:`Need` values. A need says what would satisfy it and nothing of any reader.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable.division import nucleus
from decodable.inventory import Inventory, parse_sounds
from decodable.model import Grapheme, Pattern, Reading, bare, is_vowel
from decodable.morphology import Morphology
from decodable.rules import expect_keys, read_toml
from decodable.syllables import Stems, stem_syllables

AFFIX_FAMILIES = {"suffix": "suffixes", "prefix": "prefixes", "contraction": "contractions"}
_THREE_LETTERS = ("shr-", "thr-")
COUNTS = {2: "two syllables", 3: "three syllables", 4: "four syllables", 5: "five syllables"}


@dataclass(frozen=True, slots=True)
class Family:
    """Patterns that gate together."""

    name: str
    """The phrase that teaches all of it: ``initial blends``."""
    kind: str
    """What one member is: ``initial blend``."""
    members: tuple[str, ...]
    """Phrases of the members."""


@dataclass(frozen=True, slots=True)
class Ending:
    """An ending that may be taught as one unit."""

    name: str
    letters: str
    sounds: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class PatternRules:
    """All that can be taught besides correspondences."""

    families: tuple[Family, ...]
    endings: tuple[Ending, ...]
    phrases: Mapping[str, tuple[str, ...]]
    """Other ways to write: a phrase to the phrases that it means."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that a reading needs.

    For a correspondence: ``pattern``, or any of ``units`` taught as a unit, or, where unstressed vowels are let pass,
    ``schwa_of``. For a gate: ``gate``. For a shape: consonants before and after the vowel, with the blends they form.
    """

    pattern: str = ""
    units: tuple[str, ...] = ()
    schwa_of: str = ""
    gate: str = ""
    family: str = ""
    """The family of the gate."""
    shape: tuple[int, int, str, str] | None = None
    """(consonants before, after, initial blend or "", final blend or "")."""


def load_patterns(path: Path) -> PatternRules:
    """Read and check ``patterns.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    families: list[Family] = []
    for table, line in zip(file.data.get("family", []), file.header_lines("family"), strict=True):
        expect_keys(file, line, table, ("name", "kind", "members"), "a family")
        families.append(Family(table.get("name", ""), table.get("kind", ""), tuple(table.get("members", ()))))
        if not all((families[-1].name, families[-1].kind, families[-1].members)):
            file.fault(line, "a family needs name, kind and members")
    endings: list[Ending] = []
    for table, line in zip(file.data.get("ending", []), file.header_lines("ending"), strict=True):
        expect_keys(file, line, table, ("name", "letters", "sounds"), "an ending")
        try:
            sounds = tuple(parse_sounds(s) for s in table["sounds"])
            endings.append(Ending(table["name"], table["letters"], sounds))
        except (KeyError, ValueError) as error:
            file.fault(line, f"an ending needs name, letters and sounds: {error}")
    phrases: dict[str, tuple[str, ...]] = {}
    for table, line in zip(file.data.get("phrase", []), file.header_lines("phrase"), strict=True):
        expect_keys(file, line, table, ("text", "means"), "a phrase")
        phrases[table.get("text", "")] = tuple(table.get("means", ()))
    file.check()
    return PatternRules(tuple(families), tuple(endings), MappingProxyType(phrases))


def load_tricky_parts(path: Path) -> Mapping[str, tuple[str, ...]]:
    """Words whose tricky part is a matter of judgement, each with its letters; all faults at once as ``file:line``."""
    file = read_toml(path)
    out: dict[str, tuple[str, ...]] = {}
    for table, header in zip(file.data.get("group", []), file.header_lines("group"), strict=True):
        expect_keys(file, header, table, ("reason", "words"), "a group of words")
        for word, letters in table.get("words", {}).items():
            out[word] = tuple(letters.split())
            rest = word
            for piece in out[word]:
                _, found, rest = rest.partition(piece)
                if not found:
                    file.fault(header, f"{word!r} has no letters {piece!r} there; list its tricky letters in order")
    file.check()
    return MappingProxyType(out)


@dataclass(frozen=True, slots=True)
class Teaching:
    """Everything about teaching that is not about one word: what can be taught, and what follows from teaching it.

    It is small, and the compiled dictionary carries it, so that judging a page reads no rule file.
    """

    patterns: Mapping[str, Pattern]
    """Every pattern that has a fixed name (rimes, which are taught by keyword, have none)."""
    alone: Mapping[str, tuple[str, ...]]
    """Letters that may be taught without a keyword, with the patterns that they then mean."""
    choices: Mapping[str, tuple[str, ...]]
    """Every grapheme with all its patterns, commonest first."""
    groups: Mapping[str, tuple[str, ...]]
    """Patterns of which the first one taught opens the others."""
    implied_by: Mapping[str, tuple[str, ...]]
    """A pattern and those of which any opens it."""
    families: tuple[Family, ...]
    """What gates together."""
    affixes: Mapping[str, tuple[str, tuple[str, ...]]]
    """Affix name to its kind and the correspondences that it brings along (*ed as in jumped*)."""
    phrases: Mapping[str, tuple[str, ...]]
    """Other ways to write: a phrase to the phrases that it means."""

    def to_json(self) -> dict[str, Any]:
        """As plain lists and tables."""
        return {
            "patterns": [[p.name, p.kind, p.letters, p.tricky] for p in self.patterns.values()],
            "alone": dict(self.alone),
            "choices": dict(self.choices),
            "groups": dict(self.groups),
            "implied_by": dict(self.implied_by),
            "families": [[f.name, f.kind, f.members] for f in self.families],
            "affixes": dict(self.affixes),
            "phrases": dict(self.phrases),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Teaching:
        """The inverse of :meth:`to_json`."""

        def tuples(name: str) -> Mapping[str, tuple[str, ...]]:
            return MappingProxyType({k: tuple(v) for k, v in data[name].items()})

        return cls(
            MappingProxyType({row[0]: Pattern(*row) for row in data["patterns"]}),
            tuples("alone"),
            tuples("choices"),
            tuples("groups"),
            tuples("implied_by"),
            tuple(Family(name, kind, tuple(members)) for name, kind, members in data["families"]),
            MappingProxyType({k: (v[0], tuple(v[1])) for k, v in data["affixes"].items()}),
            tuples("phrases"),
        )


def teaching(inventory: Inventory, morphology: Morphology, rules: PatternRules) -> Teaching:
    """What can be taught, from the rule files."""
    families = (
        *rules.families,
        Family(AFFIX_FAMILIES["suffix"], "suffix", tuple(a.name for a in morphology.suffixes)),
        Family(AFFIX_FAMILIES["prefix"], "prefix", tuple(a.name for a in morphology.prefixes)),
        Family(AFFIX_FAMILIES["contraction"], "contraction", tuple(a.name for a in morphology.contractions)),
    )
    patterns = dict(inventory.patterns)
    for family in families:
        for member in family.members:
            patterns[member] = Pattern(member, family.kind)
    for ending in rules.endings:
        patterns[ending.name] = Pattern(ending.name, "ending")
    suffix_sounds: dict[str, tuple[str, ...]] = {}
    for item in inventory.correspondences:
        if item.where == "suffix":
            suffix_sounds[item.letters] = (*suffix_sounds.get(item.letters, ()), item.pattern)
    affixes = {
        a.name: (a.kind, suffix_sounds.get(a.letters, ()) if a.kind == "suffix" else ())
        for a in morphology.names.values()
    }
    return Teaching(
        MappingProxyType(patterns),
        inventory.alone,
        inventory.choices,
        inventory.groups,
        inventory.implied_by,
        families,
        MappingProxyType(affixes),
        rules.phrases,
    )


def rime_name(letters: str, sounds: Sequence[str]) -> str:
    """The identity of a rime: its letters and sounds, ``"rime ind AY N D"``."""
    return f"rime {letters} {' '.join(bare(s) for s in sounds)}"


def rimes(reading: Reading, stems: Stems | None = None) -> list[tuple[str, tuple[Grapheme, ...]]]:
    """The rime of each syllable of the stem, with the graphemes that make it."""
    out: list[tuple[str, tuple[Grapheme, ...]]] = []
    for _, vowel, coda in stems or stem_syllables(reading.word, reading.graphemes, reading.parts):
        group = (vowel, *coda)
        places = sorted(p for g in group for p in g.at)
        letters = "".join(reading.word[p] for p in places)
        sounds = [s for g in group for s in g.sounds]
        if vowel.note != "dropped e":
            out.append((rime_name(letters, sounds), group))
    return out


def needs_of(reading: Reading, inventory: Inventory, endings: Sequence[Ending]) -> tuple[Need, ...]:
    """The needs of a reading: first one for each grapheme, in order, then the gates."""
    units: dict[Grapheme, list[str]] = {g: ([g.unit] if g.unit else []) for g in reading.graphemes}
    stems = stem_syllables(reading.word, reading.graphemes, reading.parts)
    for name, group in rimes(reading, stems):
        for g in group:
            units[g].append(name)
    for ending in endings:
        for g in _ending_graphemes(reading, ending):
            units[g].append(ending.name)
    long_word = sum(nucleus(g) for g in reading.graphemes) > 1
    out = [
        Need(
            pattern=g.pattern,
            units=tuple(units[g]),
            schwa_of=inventory.schwa_of.get(g.pattern, "") if long_word else "",
        )
        for g in reading.graphemes
    ]
    return (*out, *_gates(reading, stems))


def _ending_graphemes(reading: Reading, ending: Ending) -> tuple[Grapheme, ...]:
    stem = "".join(p.text for p in reading.parts if p.kind in ("base", "prefix"))
    if not stem.endswith(ending.letters) or not reading.word.startswith(stem):
        return ()
    start = len(stem) - len(ending.letters)
    group = tuple(g for g in reading.graphemes if start <= g.at[0] < len(stem))
    sounds = tuple(s for g in group for s in g.sounds)
    return group if sounds in ending.sounds and group and group[0].at[0] == start else ()


def _gates(reading: Reading, syllables: Stems) -> list[Need]:
    out: list[Need] = []
    for onset, vowel, coda in syllables:
        initial = f"{''.join(g.letters for g in onset)}-" if len(onset) > 1 else ""
        final = f"-{''.join(_plain(g) for g in coda)}" if len(coda) > 1 else ""
        if initial:
            family = "three-letter blends" if len(onset) > 2 or initial in _THREE_LETTERS else "initial blends"
            out.append(Need(gate=initial, family=family))
        if final:
            out.append(Need(gate=final, family="final blends"))
        out.append(Need(shape=(len(onset), len(coda), initial, final)))
        if vowel.letters == "le":
            out.append(Need(gate="-le syllables", family="-le syllables"))
        elif not coda and _long_letter(vowel):
            out.append(Need(gate="open syllables", family="open syllables"))
    if len(syllables) > 1:
        out.append(Need(gate=COUNTS[min(len(syllables), 5)], family="longer words"))
    bases = sum(p.kind == "base" for p in reading.parts)
    if bases > 1:
        out.append(Need(gate="compound words", family="compound words"))
    for part in reading.parts:
        if part.kind in AFFIX_FAMILIES:
            out.append(Need(gate=part.name, family=AFFIX_FAMILIES[part.kind]))
        elif part.kind == "possessive":
            out.append(Need(gate="possessives", family="possessives"))
    return list(dict.fromkeys(out))


def _plain(g: Grapheme) -> str:
    """The letters of a consonant as a blend names them: *se* in *pulse* as s."""
    return g.letters[:-1] if len(g.letters) == 2 and g.letters[1] == "e" and not is_vowel(g.sounds[0]) else g.letters


def _long_letter(vowel: Grapheme) -> bool:
    return (
        len(vowel.letters) == 1
        and vowel.letters in "aeiou"
        and bare(vowel.sounds[-1]) in ("EY", "IY", "AY", "OW", "UW")
    )
