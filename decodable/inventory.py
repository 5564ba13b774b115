"""The inventory of correspondences: in goes ``rules/correspondences.toml``, out comes a frozen :class:`Inventory`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable.model import CONSONANT_SOUNDS, PHONEMES, Correspondence, Pattern, bare
from decodable.rules import RuleFile, expect_keys, nearest, read_toml

USES = ("main", "often", "some", "rare", "odd")
PLACES = ("", "start", "end", "not-start", "not-end", "suffix")
KINDS = (
    "consonant",
    "doubled consonant",
    "consonant digraph",
    "consonant trigraph",
    "silent letter",
    "final e",
    "consonant-le",
    "vowel",
    "split digraph",
    "vowel team",
    "r-controlled",
    "suffix",
)
_KEYS = [
    "as",
    "pattern",
    "sounds",
    "use",
    "alone",
    "where",
    "before",
    "after",
    "not_before",
    "not_after",
    "group",
    "implied_by",
    "schwa_of",
]


@dataclass(frozen=True, slots=True)
class Inventory:
    """Every correspondence, and what follows from teaching one."""

    correspondences: tuple[Correspondence, ...]
    """In file order."""
    patterns: Mapping[str, Pattern]
    """Taught correspondences by name."""
    alone: Mapping[str, tuple[str, ...]]
    """For letters that may be taught without a keyword: the patterns that they then mean."""
    choices: Mapping[str, tuple[str, ...]]
    """For every grapheme: all its patterns, commonest first."""
    groups: Mapping[str, tuple[str, ...]]
    """Group name to its patterns: the first one taught opens all."""
    implied_by: Mapping[str, tuple[str, ...]]
    """Pattern to patterns of which any opens it."""
    schwa_of: Mapping[str, str]
    """Pattern of an unstressed vowel to the pattern that lets it pass."""


def parse_sounds(text: str) -> tuple[str, ...]:
    """``"K+S"`` is ``("K", "S")``; raises :class:`ValueError` naming what is no phoneme."""
    sounds = tuple(text.split("+"))
    for sound in sounds:
        if not sound:
            raise ValueError(f"{text!r} has an empty sound; sounds are joined by +, as in K+S")
        stress = sound[-1:].isdigit()
        if bare(sound) not in PHONEMES or (stress and bare(sound) in CONSONANT_SOUNDS):
            raise ValueError(f"{sound!r} is no ARPAbet sound")
    return sounds


def load_inventory(path: Path) -> Inventory:
    """Read and check the inventory; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    rows: list[tuple[Correspondence, dict[str, Any]]] = []
    _read_graphemes(file, rows)
    _read_silent(file, rows)
    inventory = _assemble(file, rows)
    file.check()
    return inventory


def _read_graphemes(file: RuleFile, rows: list[tuple[Correspondence, dict[str, Any]]]) -> None:
    headers = file.header_lines("grapheme")
    for table, header in zip(file.data.get("grapheme", []), headers, strict=True):
        expect_keys(file, header, table, ("letters", "kind", "is"), "a grapheme")
        letters, kind = table.get("letters", ""), table.get("kind", "")
        if not letters or not letters.replace("-", "").isalpha():
            file.fault(header, f'letters should be a grapheme such as "ea" or "a-e", not {letters!r}')
        if kind not in KINDS:
            file.fault(header, f"unknown kind {kind!r}{nearest(kind, KINDS)}")
        for row in table.get("is", []):
            line = file.line_of(f'as = "{row.get("as", "")}"', start=header)
            expect_keys(file, line, row, _KEYS, f"{letters!r}")
            try:
                sounds = tuple(parse_sounds(s) for s in row["sounds"])
            except (KeyError, ValueError) as error:
                file.fault(line, f"{letters!r}: sounds should be a list of ARPAbet sounds: {error}")
                continue
            rows.append((_correspondence(file, line, letters, kind, sounds, row), row))


def _read_silent(file: RuleFile, rows: list[tuple[Correspondence, dict[str, Any]]]) -> None:
    for table, header in zip(file.data.get("silent", []), file.header_lines("silent"), strict=True):
        expect_keys(file, header, table, ("letters", "as", "use", "where", "before"), "a silent letter")
        rows.append((_correspondence(file, header, table["letters"], "silent letter", ((),), table), table))


def _correspondence(
    file: RuleFile,
    line: int,
    letters: str,
    kind: str,
    sounds: tuple[tuple[str, ...], ...],
    row: dict[str, Any],
) -> Correspondence:
    keyword = row.get("as", "")
    if not keyword:
        file.fault(line, f'{letters!r} needs a keyword: as = "..."')
    if row.get("use") not in USES:
        file.fault(line, f"{letters!r}: use should be one of {', '.join(USES)}, not {row.get('use')!r}")
    if row.get("where", "") not in PLACES:
        file.fault(line, f"{letters!r}: where should be one of {', '.join(PLACES[1:])}, not {row.get('where')!r}")
    return Correspondence(
        letters=letters,
        keyword=keyword,
        pattern=row.get("pattern", f"{letters} as in {keyword}"),
        kind=kind,
        sounds=sounds,
        use=row.get("use", "odd"),
        where=row.get("where", ""),
        before=tuple(row.get("before", ())),
        after=tuple(row.get("after", ())),
        not_before=tuple(row.get("not_before", ())),
        not_after=tuple(row.get("not_after", ())),
        line=line,
    )


def _assemble(file: RuleFile, rows: list[tuple[Correspondence, dict[str, Any]]]) -> Inventory:
    by_pattern: dict[str, list[Correspondence]] = {}
    own: dict[str, Correspondence] = {}
    alone: dict[str, list[str]] = {}
    choices: dict[str, list[Correspondence]] = {}
    groups: dict[str, list[str]] = {}
    implied: dict[str, tuple[str, ...]] = {}
    schwa: dict[str, str] = {}
    for item, row in rows:
        by_pattern.setdefault(item.pattern, []).append(item)
        if item.pattern == f"{item.letters} as in {item.keyword}":
            choices.setdefault(item.letters, []).append(item)
            if item.pattern in own and item.sounds != ((),):
                file.fault(item.line, f"{item.pattern!r} stands twice; give the second a keyword of its own")
            own.setdefault(item.pattern, item)
        if row.get("alone"):
            alone.setdefault(item.letters, []).append(item.pattern)
        if "group" in row:
            groups.setdefault(row["group"], []).append(item.pattern)
        if "implied_by" in row:
            implied[item.pattern] = tuple(row["implied_by"])
        if "schwa_of" in row:
            schwa[item.pattern] = row["schwa_of"]
    for item, row in rows:
        for name in (*row.get("implied_by", ()), *([row["schwa_of"]] if "schwa_of" in row else []), item.pattern):
            if name not in by_pattern:
                file.fault(item.line, f"{item.letters!r} names an unknown pattern {name!r}{nearest(name, by_pattern)}")
    patterns = {
        name: Pattern(name, "correspondence", own.get(name, items[0]).letters, all(i.tricky for i in items))
        for name, items in by_pattern.items()
    }
    rank = {use: n for n, use in enumerate(USES)}
    ordered = {k: sorted(v, key=lambda c: rank.get(c.use, len(rank))) for k, v in choices.items()}
    return Inventory(
        correspondences=tuple(item for item, _ in rows),
        patterns=MappingProxyType(patterns),
        alone=MappingProxyType({k: tuple(v) for k, v in alone.items()}),
        choices=MappingProxyType({k: tuple(c.pattern for c in v) for k, v in ordered.items()}),
        groups=MappingProxyType({k: tuple(v) for k, v in groups.items()}),
        implied_by=MappingProxyType(implied),
        schwa_of=MappingProxyType(schwa),
    )
