"""Scope and sequence files: in goes TOML (or a spreadsheet), out comes a :class:`Sequence` of steps.

Every phrase that a step teaches parses to the patterns that it means and prints back. A keyword's sound is found by
the same alignment that judges texts, so *ea as in bread* and *ea as in head* are one pattern.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, MutableMapping
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
from decodable.rules import RuleFile, nearest, parse_toml, read_toml, unknown_keys

UNSTRESSED = ("allow", "strict")
_AS_IN = re.compile(r"^(?P<letters>\S+)\s+(?:as\s+)?in\s+(?P<word>\S+)$")
_BRACKETS = re.compile(r"^(?P<letters>\S+)\s*\((?:as in\s+)?(?P<word>[^()\s]+)\)$")
_DASHES = str.maketrans({"_": "-", "–": "-", "—": "-", "‑": "-", "’": "'"})  # noqa: RUF001
_WHOLE = re.compile(r"^[^\s]+( as in [^\s]+)?$")
_ID = re.compile(r"^[a-z0-9][a-z0-9-]*$")
_SEQUENCE_KEYS = ("title", "accent", "unstressed", "note", "step")
_STEP_KEYS = ("id", "name", "teach", "words")


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


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong in a sequence, and its place there."""

    step: int
    """Position among the steps, from 0; -1: the sequence as a whole."""
    field: str
    """title, accent, unstressed, step, id, name, teach or words."""
    item: int
    """Position in ``teach`` or ``words``, from 0; -1: the field as a whole."""
    message: str
    """What was expected, what came, what to do."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"step": self.step, "field": self.field, "item": self.item, "message": self.message}


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
    lines = file.rows or file.header_lines("step")
    sequence, faults = read_sequence(file.data, file.path.stem, phrases)
    for fault in faults:
        file.fault(_line(file, fault, lines), fault.message)
    file.check()
    return sequence


def _line(file: RuleFile, fault: Fault, lines: Seq[int]) -> int:
    """The line of a fault: that of the item if it can be found, else of its step."""
    if fault.step < 0:
        return file.line_of(fault.field) if fault.field in ("accent", "unstressed") else 1
    start = lines[fault.step]
    if fault.item < 0:
        return start
    return file.line_of(file.data["step"][fault.step][fault.field][fault.item], start=start)


def read_sequence(data: Mapping[str, Any], name: str, phrases: PhraseReader) -> tuple[Sequence, list[Fault]]:
    """A sequence from a document in hand, and all its faults; what is faulty is left out of the sequence.

    Args:
        data: the document, as its TOML file has it.
        name: the file's name without its ending.
        phrases: reads what the steps teach.
    """
    faults = [Fault(-1, key, -1, m) for key, m in unknown_keys(data, _SEQUENCE_KEYS, "a sequence")]
    accent, unstressed = data.get("accent", DICTIONARY_ACCENT), data.get("unstressed", "allow")
    if accent not in accent_codes():
        faults.append(Fault(-1, "accent", -1, f"accent should be one of {', '.join(accent_codes())}, not {accent!r}"))
        accent = DICTIONARY_ACCENT
    spoken = phrases.in_accent(accent)
    if unstressed not in UNSTRESSED:
        faults.append(Fault(-1, "unstressed", -1, f"unstressed should be allow or strict, not {unstressed!r}"))
    tables: list[dict[str, Any]] = data.get("step", [])
    if not tables:
        faults.append(Fault(-1, "step", -1, "a sequence needs at least one [[step]]"))
    seen: dict[str, int] = {}
    steps = tuple(_step(n, table, seen, spoken, faults) for n, table in enumerate(tables))
    title = data.get("title") or name
    return Sequence(name, title, accent, unstressed, data.get("note", ""), steps), faults


def _step(number: int, table: dict[str, Any], seen: dict[str, int], phrases: PhraseReader, faults: list[Fault]) -> Step:
    def fault(field: str, message: str, item: int = -1) -> None:
        faults.append(Fault(number, field, item, message))

    for key, message in unknown_keys(table, _STEP_KEYS, "a step"):
        fault(key, message)
    ident = table.get("id", "")
    if not isinstance(ident, str) or not _ID.match(ident):
        fault("id", f"a step needs an id of small letters, digits and hyphens, not {ident!r}")
        ident = ""
    elif ident in seen:
        fault("id", f"the id {ident!r} stands twice, first at step {seen[ident]}")
    seen.setdefault(ident, number + 1)
    taught: list[Phrase] = []
    for item, text in enumerate(_strings(table, "teach", fault)):
        try:
            taught.append(phrases.parse(text))
        except DecodableError as error:
            fault("teach", str(error), item)
    words = _strings(table, "words", fault)
    for item, word in enumerate(words):
        if not _WHOLE.match(word):
            fault("words", f"a whole word is one word, or *read as in red*, not {word!r}", item)
    if not table.get("teach") and not words:
        fault("teach", f"step {ident!r} teaches nothing: it needs teach or words")
    name = table.get("name") or ident.replace("-", " ").capitalize()
    return Step(ident, name, tuple(taught), tuple(w for w in words if _WHOLE.match(w)))


def _strings(table: dict[str, Any], key: str, fault: Callable[[str, str], None]) -> list[str]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        fault(key, f"{key} should be a list of texts, not {value!r}")
        return []
    return value


def read_csv(path: Path) -> RuleFile:
    """A spreadsheet with the columns step, name, teach, words, as the TOML document that it stands for."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise DecodableError(f"Cannot read {path}: {error}. Save the spreadsheet as CSV in UTF-8.") from None
    return parse_csv(text, path)


def parse_csv(text: str, path: Path) -> RuleFile:
    """The same for text that is already in hand; ``path`` names it in faults. A semicolon may part the columns."""
    first = text.split("\n", 1)[0]
    separator = ";" if first.count(";") > first.count(",") else "\t" if "\t" in first else ","
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
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


def write_toml(sequence: Sequence, old: str = "") -> str:
    """The sequence as TOML; reading it back gives the same sequence.

    ``old`` is the text of the file that this one replaces: its comments stay, each with its step.
    """
    import tomlkit

    document = tomlkit.parse(old)
    for key in ("title", "accent", "unstressed", "note"):
        if getattr(sequence, key) or key in document:
            _set(document, key, getattr(sequence, key))
    before = {table["id"]: table for table in document.pop("step", [])}
    steps = tomlkit.aot()
    for step in sequence.steps:
        table = before.get(step.id, tomlkit.table())
        _set(table, "id", step.id)
        _set(table, "name", step.name)
        _set(table, "teach", [p.text for p in step.teach])
        if step.words or "words" in table:
            _set(table, "words", list(step.words))
        steps.append(table)
    document.append("step", steps)
    # One blank line before each step, wherever it stood before.
    return re.sub(r"\n+(?=\[\[step\]\]$)", "\n\n", document.as_string().rstrip("\n") + "\n", flags=re.MULTILINE)


def _set(table: MutableMapping[str, Any], key: str, value: Any) -> None:
    """Set a key unless it has this value already, so that its layout and comments stay."""
    if key not in table or table[key] != value:
        table[key] = value


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
