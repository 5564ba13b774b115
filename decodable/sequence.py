"""Scope and sequence files: in goes TOML (or a spreadsheet), out comes a :class:`Sequence` of steps.

Every phrase that a step teaches parses to the patterns that it means and prints back. A keyword's sound is found by
the same alignment that judges texts, so *ea as in bread* and *ea as in head* are one pattern.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from collections.abc import Sequence as Seq
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

from decodable import resources
from decodable.accents import DICTIONARY_ACCENT, accent_codes
from decodable.errors import DecodableError, FaultsError
from decodable.model import Reading
from decodable.patterns import Teaching, rimes
from decodable.rules import RuleFile, expect_keys, nearest, parse_toml, read_toml

UNSTRESSED = ("allow", "strict")
_AS_IN = re.compile(r"^(?P<letters>\S+)\s+(?:as\s+)?in\s+(?P<word>\S+)$")
_BRACKETS = re.compile(r"^(?P<letters>\S+)\s*\((?:as in\s+)?(?P<word>[^()\s]+)\)$")
_DASHES = str.maketrans({"_": "-", "–": "-", "—": "-", "‑": "-", "’": "'"})  # noqa: RUF001
_WHOLE = re.compile(r"^[^\s]+( as in [^\s]+)?$")
_ID = re.compile(r"^[a-z0-9][a-z0-9-]*$")


class Words(Protocol):
    """What a phrase's keyword is looked up in."""

    @property
    def accent(self) -> str:
        """In whose accent."""

    def in_accent(self, code: str, /) -> Words:
        """The same in another accent."""

    def readings(self, word: str, /) -> Seq[Reading]:
        """The readings of a word."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One thing that a step teaches, as written, and what it means."""

    text: str
    """As it prints: ``"ea as in sea"``."""
    patterns: tuple[str, ...]
    """Names of correspondences, units and gates that it opens."""


@dataclass(frozen=True, slots=True)
class Step:
    """One place in a sequence."""

    id: str
    """Stable name, so that steps can be inserted."""
    name: str
    """For people; the id with spaces where none is given."""
    teach: tuple[Phrase, ...]
    """What it teaches."""
    words: tuple[str, ...]
    """Words taught whole, as written."""


@dataclass(frozen=True)
class Sequence:
    """An ordered scope of what is taught."""

    name: str
    """The file's name without its ending."""
    title: str
    accent: str
    unstressed: str
    """allow or strict: whether an unstressed vowel may pass."""
    note: str
    """What is published standard in it and what is interpretation."""
    steps: tuple[Step, ...]

    @cached_property
    def numbers(self) -> Mapping[str, int]:
        """Step ids to their numbers, from 1."""
        return {step.id: n for n, step in enumerate(self.steps, 1)}

    def step_number(self, step: int | str) -> int:
        """The number (from 1) of a step given by number, id or name."""
        text = str(step).strip()
        if text.isdigit():
            number = int(text)
            if 1 <= number <= len(self.steps):
                return number
            raise DecodableError(
                f"{self.title} has steps 1 to {len(self.steps)}, not {number}. See: decodable steps {self.name}"
            )
        if text in self.numbers:
            return self.numbers[text]
        for n, found in enumerate(self.steps, 1):
            if found.name.casefold() == text.casefold():
                return n
        raise DecodableError(
            f"{self.title} has no step {text!r}{nearest(text, [*self.numbers, *(s.name for s in self.steps)])}. "
            f"See: decodable steps {self.name}"
        )

    @cached_property
    def taught(self) -> Mapping[str, int]:
        """Pattern name to the number of the first step that teaches it."""
        out: dict[str, int] = {}
        for n, step in enumerate(self.steps, 1):
            for phrase in step.teach:
                for pattern in phrase.patterns:
                    out.setdefault(pattern, n)
        return out

    @cached_property
    def whole(self) -> Mapping[str, int]:
        """Lower-case whole word to the first step that teaches it."""
        out: dict[str, int] = {}
        for n, step in enumerate(self.steps, 1):
            for word in step.words:
                out.setdefault(word.lower(), n)
        return out


class PhraseReader:
    """Parses phrases against what can be taught and the words that keywords are looked up in."""

    def __init__(self, teaching: Teaching, words: Words) -> None:
        self.teaching = teaching
        self.words = words
        self._families = {f.name: f for f in teaching.families}
        self._known: dict[str, Phrase] = {}
        self._spoken: dict[str, PhraseReader] = {words.accent: self}

    def in_accent(self, code: str) -> PhraseReader:
        """The same with keywords said in an accent."""
        found = self._spoken.get(code)
        if found is None:
            found = self._spoken[code] = PhraseReader(self.teaching, self.words.in_accent(code))
        return found

    def parse(self, text: str) -> Phrase:
        """One phrase; :class:`DecodableError` says what was expected and offers the nearest valid phrases."""
        clean = normal(text)
        found = self._known.get(clean)
        if found is None:
            found = self._known[clean] = Phrase(clean, self._meaning(clean))
        return found

    def _meaning(self, text: str) -> tuple[str, ...]:
        teaching = self.teaching
        match = _AS_IN.match(text)
        if match:
            return self._keyword(match["letters"], match["word"])
        if text in teaching.phrases:
            return tuple(p for t in teaching.phrases[text] for p in self._meaning(t))
        if text in self._families and text not in self._families[text].members:
            return tuple(p for m in self._families[text].members for p in self._meaning(m))
        if text in teaching.affixes:
            return (text, *teaching.affixes[text][1])
        if text in teaching.patterns:
            return (text,)
        if text in teaching.alone:
            return teaching.alone[text]
        if text in teaching.choices:
            options = ", ".join(teaching.choices[text])
            raise DecodableError(f"{text!r} alone could mean several sounds; write one of: {options}")
        raise DecodableError(f"no pattern {text!r}{nearest(text, self.phrases())}")

    def phrases(self) -> list[str]:
        """Every phrase without a keyword, and every correspondence with its inventory keyword."""
        teaching = self.teaching
        return sorted({*teaching.patterns, *teaching.alone, *self._families, *teaching.phrases})

    def _keyword(self, letters: str, word: str) -> tuple[str, ...]:
        pattern = f"{letters} as in {word}"
        if pattern in self.teaching.patterns:
            return (pattern,)
        readings = self.words.readings(word.lower())
        if not readings:
            raise DecodableError(f"{pattern!r}: the keyword {word!r} is not in the dictionary; choose a common word")
        if letters.startswith("-"):
            return self._unit(letters, word, readings)
        found: set[str] = set()
        for reading in readings:
            found |= {g.pattern for g in reading.graphemes if g.letters == letters}
        if not found:
            shown = " ".join(g.letters for g in readings[0].graphemes)
            raise DecodableError(f"{pattern!r}: {word!r} has no grapheme {letters!r}; it divides {shown}")
        if len(found) > 1:
            raise DecodableError(
                f"{pattern!r}: {word!r} has {letters!r} in more than one sound ({', '.join(sorted(found))}); "
                f"choose another keyword"
            )
        return (found.pop(),)

    def _unit(self, letters: str, word: str, readings: Seq[Reading]) -> tuple[str, ...]:
        if letters in self.teaching.affixes:
            own = {g.pattern for r in readings for g in r.graphemes if g.unit == letters}
            if own:
                return (letters, *sorted(own))
        for reading in readings:
            for name, _ in rimes(reading):
                if name.split(" ")[1] == letters[1:]:
                    return (name,)
        raise DecodableError(f"'{letters} as in {word}': {word!r} has no rime {letters!r}")


def normal(text: str) -> str:
    """A phrase as it prints: one kind of dash, single spaces, *as in*, brackets opened."""
    clean = " ".join(text.translate(_DASHES).split())
    match = _BRACKETS.match(clean) or _AS_IN.match(clean)
    if match:
        return f"{match['letters'].lower()} as in {match['word']}"
    return clean if clean.isupper() else clean.lower()


def load_sequence(source: str | Path, phrases: PhraseReader) -> Sequence:
    """A shipped sequence by name, one from the user's folder, or a file (``.toml`` or ``.csv``)."""
    path = find_sequence(source)
    if path.suffix.lower() == ".csv":
        return parse_sequence(read_csv(path), phrases)
    return parse_sequence(read_toml(path), phrases)


def find_sequence(source: str | Path) -> Path:
    """The file of a sequence given by name or path; an unknown name gets the nearest ones."""
    path = Path(source)
    if path.suffix.lower() in (".toml", ".csv"):
        if path.is_file():
            return path
        raise DecodableError(f"No such sequence file: {path}. Shipped sequences: {', '.join(sequence_names())}")
    for folder in (resources.user_dir() / "sequences", resources.rules_dir() / "sequences"):
        for ending in (".toml", ".csv"):
            found = folder / f"{path.name}{ending}"
            if str(source) == path.name and found.is_file():
                return found
    names = sequence_names()
    raise DecodableError(f"No sequence {str(source)!r}{nearest(str(source), names)}. There are: {', '.join(names)}")


def sequence_names() -> list[str]:
    """Names of the user's own and the shipped sequences."""
    folders = (resources.user_dir() / "sequences", resources.rules_dir() / "sequences")
    return sorted({p.stem for f in folders if f.is_dir() for p in f.iterdir() if p.suffix in (".toml", ".csv")})


def parse_sequence(file: RuleFile, phrases: PhraseReader) -> Sequence:
    """Check and read a sequence; all faults at once, each as ``file:line``."""
    data = file.data
    expect_keys(file, 1, data, ("title", "accent", "unstressed", "note", "step"), "a sequence")
    title = data.get("title") or file.path.stem
    accent = data.get("accent", DICTIONARY_ACCENT)
    if accent not in accent_codes():
        file.fault(file.line_of("accent"), f"accent should be one of {', '.join(accent_codes())}, not {accent!r}")
        accent = DICTIONARY_ACCENT
    spoken = phrases.in_accent(accent)
    unstressed = data.get("unstressed", "allow")
    if unstressed not in UNSTRESSED:
        file.fault(file.line_of("unstressed"), f"unstressed should be allow or strict, not {unstressed!r}")
    tables: list[dict[str, Any]] = data.get("step", [])
    lines = file.rows or file.header_lines("step")
    if not tables:
        file.fault(1, "a sequence needs at least one [[step]]")
    steps: list[Step] = []
    seen: dict[str, int] = {}
    for table, line in zip(tables, lines, strict=True):
        steps.append(_step(file, table, line, seen, spoken))
    file.check()
    return Sequence(file.path.stem, title, accent, unstressed, data.get("note", ""), tuple(steps))


def _step(file: RuleFile, table: dict[str, Any], line: int, seen: dict[str, int], phrases: PhraseReader) -> Step:
    expect_keys(file, line, table, ("id", "name", "teach", "words"), "a step")
    ident = table.get("id", "")
    if not isinstance(ident, str) or not _ID.match(ident):
        file.fault(line, f"a step needs an id of small letters, digits and hyphens, not {ident!r}")
    elif ident in seen:
        file.fault(line, f"the id {ident!r} stands twice, first in line {seen[ident]}")
    seen.setdefault(ident, line)
    taught: list[Phrase] = []
    for text in _strings(file, line, table, "teach"):
        try:
            taught.append(phrases.parse(text))
        except DecodableError as error:
            file.fault(file.line_of(text, start=line), str(error))
    words = tuple(_strings(file, line, table, "words"))
    for word in words:
        if not _WHOLE.match(word):
            file.fault(file.line_of(word, start=line), f"a whole word is one word, or *read as in red*, not {word!r}")
    if not table.get("teach") and not words:
        file.fault(line, f"step {ident!r} teaches nothing: it needs teach or words")
    return Step(ident, table.get("name") or ident.replace("-", " ").capitalize(), tuple(taught), words)


def _strings(file: RuleFile, line: int, table: dict[str, Any], key: str) -> list[str]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        file.fault(line, f"{key} should be a list of texts, not {value!r}")
        return []
    return value


def read_csv(path: Path) -> RuleFile:
    """A spreadsheet with the columns step, name, teach, words, as the TOML document that it stands for."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise DecodableError(f"Cannot read {path}: {error}. Save the spreadsheet as CSV in UTF-8.") from None
    rows = list(csv.reader(io.StringIO(text)))
    header = [c.strip().lower() for c in rows[0]] if rows else []
    if "teach" not in header:
        raise FaultsError(
            [f"{path.name}:1: the first row should name the columns step, name, teach, words, not {header}"]
        )
    file = RuleFile(path, text, {})
    steps: list[dict[str, Any]] = []
    lines: list[int] = []
    for number, row in enumerate(rows[1:], 2):
        if not any(c.strip() for c in row):
            continue
        cells = {h: (row[i].strip() if i < len(row) else "") for i, h in enumerate(header)}
        ident = re.sub(r"[^a-z0-9]+", "-", cells.get("step", "").lower()).strip("-") or f"step-{len(steps) + 1}"
        entry: dict[str, Any] = {"id": ident if not ident.isdigit() else f"step-{ident}"}
        if cells.get("name"):
            entry["name"] = cells["name"]
        entry["teach"] = split_cell(cells.get("teach", ""))
        entry["words"] = [w for w in re.split(r"[\s,;]+", cells.get("words", "")) if w]
        steps.append(entry)
        lines.append(number)
    file.data = {"title": path.stem.replace("-", " ").replace("_", " ").capitalize(), "step": steps}
    file.rows = tuple(lines)
    return file


def split_cell(cell: str) -> list[str]:
    """Several phrases in one cell, parted by commas, semicolons or spaces: ``s a t p``, ``ow (snow), sh``."""
    out: list[str] = []
    for piece in re.split(r"[,;\n]+", cell):
        piece = piece.strip()
        if not piece:
            continue
        if "as in" in piece or "(" in piece or _NAMED.search(piece):
            found = re.findall(r"\S+ as in \S+|\S+\s*\([^)]*\)|\S+ (?:syllables|blends|consonants|words)|\S+", piece)
            out.extend(found)
        else:
            out.extend(piece.split())
    return out


_NAMED = re.compile(r"\b(syllables|blends|consonants|words|soft)\b")


def steps_dict(sequence: Sequence, opened: Seq[int], freed: Seq[int]) -> list[dict[str, Any]]:
    """The steps for machines; how many words each opens: of the dictionary, and of the vocabulary for children."""
    return [
        {
            "step": n,
            "id": step.id,
            "name": step.name,
            "teach": [p.text for p in step.teach],
            "words": list(step.words),
            "words_opened": count,
            "words_for_lists": offered,
        }
        for n, (step, count, offered) in enumerate(zip(sequence.steps, opened, freed, strict=True), 1)
    ]


def write_toml(sequence: Sequence) -> str:
    """The sequence as TOML; reading it back gives the same sequence."""
    lines = [f"title = {_quoted(sequence.title)}", f"accent = {_quoted(sequence.accent)}"]
    lines.append(f"unstressed = {_quoted(sequence.unstressed)}")
    if sequence.note:
        lines.append(f"note = {_quoted(sequence.note)}")
    for step in sequence.steps:
        lines += ["", "[[step]]", f"id = {_quoted(step.id)}", f"name = {_quoted(step.name)}"]
        lines.append(f"teach = [{', '.join(_quoted(p.text) for p in step.teach)}]")
        if step.words:
            lines.append(f"words = [{', '.join(_quoted(w) for w in step.words)}]")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def from_toml(text: str, name: str, phrases: PhraseReader) -> Sequence:
    """A sequence from TOML text in hand."""
    return parse_sequence(parse_toml(text, Path(name)), phrases)


def check_sequences(paths: Iterable[Path], phrases: PhraseReader) -> list[str]:
    """Every fault of several sequence files."""
    faults: list[str] = []
    for path in paths:
        try:
            load_sequence(path, phrases)
        except FaultsError as error:
            faults.extend(error.faults)
    return faults
