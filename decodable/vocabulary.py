"""The words that young children know: what each means, how it is used, and all its forms.

In go the themes in ``rules/vocabulary/`` (and in ``vocabulary/`` of the user's folder, whose entries take the place of
ours); out comes a frozen :class:`Vocabulary`. The heads of the files and ``classes.toml`` explain the format. How the
words are read is not known here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable import resources
from decodable.errors import FaultsError
from decodable.frames import Frame, parse_frame
from decodable.inflection import Inflections, load_inflections
from decodable.never_offered import OWN, NeverOffered
from decodable.rules import RuleFile, expect_keys, nearest, read_toml

KNOWN = ("early", "middle", "later")
REGIONS = ("us", "uk")
BASE = "base"
# Tables of the files, and the part of speech that each holds.
PARTS_OF_SPEECH = {
    "nouns": "noun", "verbs": "verb", "adjectives": "adjective", "adverbs": "adverb", "pronouns": "pronoun",
    "determiners": "determiner", "prepositions": "preposition", "conjunctions": "conjunction",
    "auxiliaries": "auxiliary", "numbers": "number", "interjections": "interjection", "contractions": "contraction",
}  # fmt: skip
_COMMON = ("class", "known", "picture", "region", "same_as", "write")
# What each table's entries may say beside that, and what they must.
_KEYS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "nouns": (("count", "plural"), ("class", "known")),
    "verbs": (("past", "participle", "third", "present_participle", "frames"), ("known", "frames")),
    "adjectives": (("describes", "comparative", "superlative"), ("class", "describes", "known")),
    "adverbs": (("comparative", "superlative"), ("class", "known")),
    "pronouns": (("kind", "person", "number", "case", "gender"), ("kind", "person", "number", "case", "known")),
    "determiners": (("kind", "with", "before", "person", "number", "gender"), ("kind", "with", "known")),
    "prepositions": ((), ("class", "known")),
    "conjunctions": (("kind", "meaning"), ("kind", "meaning", "known")),
    "auxiliaries": (
        ("lemma", "form", "person", "number", "tense", "agrees", "negative", "before"),
        ("lemma", "form", "known"),
    ),
    "numbers": (("value", "with"), ("value", "with", "known")),
    "interjections": ((), ("class", "known")),
    "contractions": (("of", "negative"), ("of", "known")),
}
_GRAMMAR = frozenset(
    "kind person number case gender with before meaning lemma form tense agrees negative value of".split()
)
_WORD = re.compile(r"[a-z]+('[a-z]+)?")
_ENTRY = re.compile(r"\s*\"?([A-Za-z'-]+)\"?\s*=\s*\{")
_TABLE = re.compile(r"\s*\[([a-z_]+)\]")


@dataclass(frozen=True, slots=True)
class Lemma:
    """One word in one part of speech."""

    lemma: str
    """The word as a dictionary has it, lower case."""
    pos: str
    """Its part of speech: noun, verb, adjective, adverb, pronoun, determiner ..."""
    theme: str
    """The file that it stands in, without its ending."""
    line: int
    """The line there, from 1."""
    classes: tuple[str, ...]
    """Sense classes, the commonest sense first."""
    known: str
    """early (most children of four or five), middle (six or so), later (seven or eight): a judgement."""
    picture: bool
    """Whether one simple drawing tells it."""
    region: str
    """us or uk, if a child elsewhere would not use it; else empty."""
    same_as: str
    """The other side's word for it; else empty."""
    count: bool
    """For a noun: whether it takes a, and a plural."""
    describes: tuple[str, ...]
    """For an adjective: the classes of nouns that it can sensibly describe."""
    compared: str
    """For an adjective or adverb: how it is compared: er, more, or none."""
    frames: tuple[Frame, ...]
    """For a verb: what it is used with."""
    grammar: Mapping[str, Any]
    """For a function word: kind, person, number, case ... as the file says."""
    forms: Mapping[str, str]
    """Form (base, plural, third, past, participle, present_participle, comparative, superlative) to the word."""
    written: frozenset[str] = frozenset()
    """Forms that the file writes out; the others are derived by rule."""
    write: str = ""
    """How it is printed, if not in small letters (I)."""

    @property
    def plural_only(self) -> bool:
        """Whether the noun is a plural that has no singular (*trousers*)."""
        return not self.count and self.forms.get("plural") == self.lemma


@dataclass(frozen=True, slots=True)
class Classes:
    """The sense classes."""

    parent: Mapping[str, str]
    """Class to the one that it belongs to; empty for the root."""
    gloss: Mapping[str, str]
    """Class to what belongs to it, in words."""

    def within(self, name: str) -> frozenset[str]:
        """The class and all that belong to it."""
        return frozenset(c for c in self.parent if name in self.above(c))

    def above(self, name: str) -> tuple[str, ...]:
        """The class, its parent, and so on up to the root."""
        out: list[str] = []
        while name and name not in out:
            out.append(name)
            name = self.parent.get(name, "")
        return tuple(out)


@dataclass(frozen=True)
class Vocabulary:
    """All words."""

    lemmas: tuple[Lemma, ...]
    """In order of their files and lines, the user's last."""
    classes: Classes
    """The sense classes."""
    inflections: Inflections
    """How words take endings."""
    titles: Mapping[str, str]
    """Theme to its title."""
    faults: tuple[str, ...] = field(default=())
    """What is wrong with the files, each ``file:line: what``; empty for a loaded vocabulary."""

    @cached_property
    def by_form(self) -> Mapping[str, tuple[tuple[Lemma, str], ...]]:
        """Each word in any form to its lemmas, with the form that it is of each."""
        found: dict[str, list[tuple[Lemma, str]]] = {}
        for lemma in self.lemmas:
            for form, text in lemma.forms.items():
                found.setdefault(text, []).append((lemma, form))
        return MappingProxyType({text: tuple(pairs) for text, pairs in found.items()})

    def find(self, lemma: str, pos: str) -> Lemma | None:
        """One lemma."""
        return next((p for p, form in self.by_form.get(lemma, ()) if form == BASE and p.pos == pos), None)


def theme_files(folder: Path | None = None) -> list[Path]:
    """The files of a folder of themes (the shipped one where left out), in order."""
    folder = folder or resources.rules_dir() / "vocabulary"
    return [p for p in sorted(folder.glob("*.toml")) if p.stem != "classes"] if folder.is_dir() else []


def own_folder() -> Path:
    """Where the user keeps themes of their own."""
    return resources.user_dir() / "vocabulary"


def load_vocabulary(never: NeverOffered, folder: Path | None = None, own: Path | None = None) -> Vocabulary:
    """Read and check every theme; all faults of all files at once.

    Args:
        never: words that may not stand in a vocabulary.
        folder: the folder of themes with ``classes.toml``; the shipped one where left out.
        own: the user's folder of themes; the one in the user's folder where left out.
    """
    found = read_vocabulary(never, folder, own)
    if found.faults:
        raise FaultsError(list(found.faults))
    return found


def read_vocabulary(never: NeverOffered, folder: Path | None = None, own: Path | None = None) -> Vocabulary:
    """The same, with the faults in the result in place of an error."""
    folder = folder or resources.rules_dir() / "vocabulary"
    classes = load_classes(folder / "classes.toml")
    inflections = load_inflections(resources.rules_dir() / "inflections.toml")
    files = [read_toml(p) for p in theme_files(folder)]
    ours = len(files)
    files += [read_toml(p) for p in theme_files(own or own_folder())]
    prepositions = {"out-of"} | {w for file in files for w in _table(file, "prepositions")}
    prepositions |= {w for file in files for w in _table(file, "adverbs") if w in ("away", "back", "together")}
    reader = _ThemeReader(classes, inflections, never, frozenset(prepositions))
    found: dict[tuple[str, str], Lemma] = {}
    homes: dict[tuple[str, str], RuleFile] = {}
    for number, file in enumerate(files):
        for lemma in reader.read(file):
            key = (lemma.pos, lemma.lemma)
            if key in found and (number < ours or homes[key] is file):
                where = f"{homes[key].path.name}:{found[key].line}"
                file.fault(lemma.line, f"the {lemma.pos} {lemma.lemma!r} stands already in {where}; once is enough")
            found[key], homes[key] = lemma, file
    _check_links(found, homes)
    faults = tuple(fault for file in files for fault in file.faults)
    titles = {f.path.stem: str(f.data.get("title", f.path.stem)) for f in files}
    kept = tuple(_without(lemma, never) for lemma in found.values() if lemma.lemma not in never)
    return Vocabulary(kept, classes, inflections, MappingProxyType(titles), faults)


def _without(lemma: Lemma, never: NeverOffered) -> Lemma:
    """The lemma without the forms that the user keeps out."""
    kept = {form: text for form, text in lemma.forms.items() if text not in never}
    return lemma if len(kept) == len(lemma.forms) else replace(lemma, forms=MappingProxyType(kept))


def load_classes(path: Path) -> Classes:
    """Read and check the sense classes."""
    file = read_toml(path)
    table = _table(file, "classes")
    lines = _lines(file)
    for name, entry in table.items():
        parent = entry.get("parent", "")
        line = lines.get(("classes", name), file.line_of(f"{name} "))
        expect_keys(file, line, entry, ("parent", "gloss"), f"the class {name!r}")
        if parent and parent not in table:
            file.fault(line, f"the class {name!r} belongs to {parent!r}, which is no class{nearest(parent, table)}")
        if not entry.get("gloss"):
            file.fault(line, f"the class {name!r} needs a gloss: what belongs to it")
    file.check()
    return Classes(
        MappingProxyType({name: entry.get("parent", "") for name, entry in table.items()}),
        MappingProxyType({name: entry["gloss"] for name, entry in table.items()}),
    )


def _table(file: RuleFile, name: str) -> dict[str, dict[str, Any]]:
    found = file.data.get(name, {})
    return found if isinstance(found, dict) else {}


def _lines(file: RuleFile) -> dict[tuple[str, str], int]:
    """The line of each entry, by table and word."""
    out: dict[tuple[str, str], int] = {}
    table = ""
    for number, line in enumerate(file.text.splitlines(), 1):
        if match := _TABLE.match(line):
            table = match.group(1)
        elif match := _ENTRY.match(line):
            out[table, match.group(1)] = number
    return out


class _ThemeReader:
    """Reads the entries of a file; faults go to the file."""

    def __init__(
        self, classes: Classes, inflections: Inflections, never: NeverOffered, prepositions: frozenset[str]
    ) -> None:
        self.classes = classes
        self.inflections = inflections
        self.never = never
        self.prepositions = prepositions

    def read(self, file: RuleFile) -> Iterable[Lemma]:
        expect_keys(file, 1, file.data, ("title", "origin", *PARTS_OF_SPEECH), "a theme")
        lines = _lines(file)
        for table, pos in PARTS_OF_SPEECH.items():
            for word, entry in _table(file, table).items():
                line = lines.get((table, word), 1)
                if not isinstance(entry, dict):
                    file.fault(line, f"{word!r} should be a table in curly brackets, not {entry!r}")
                    continue
                yield self._lemma(file, line, table, pos, word, entry)

    def _lemma(self, file: RuleFile, line: int, table: str, pos: str, word: str, entry: dict[str, Any]) -> Lemma:
        what = f"the {pos} {word!r}"
        optional, required = _KEYS[table]
        expect_keys(file, line, entry, (*_COMMON, *optional), what)
        for key in required:
            if key not in entry:
                file.fault(line, f"{what} needs {key}")
        if entry.get("known", "early") not in KNOWN:
            file.fault(line, f"{what}: known should be one of {', '.join(KNOWN)}, not {entry['known']!r}")
        if entry.get("region", "us") not in REGIONS:
            file.fault(line, f"{what}: region should be us or uk, not {entry['region']!r}")
        for key in ("class", "describes"):
            for name in entry.get(key, ()):
                if name not in self.classes.parent:
                    file.fault(line, f"{what}: {name!r} is no class{nearest(name, self.classes.parent)}")
        if not _WORD.fullmatch(word):
            file.fault(line, f"a word is small letters only (an apostrophe in a contraction), not {word!r}")
        forms, written = self._forms(table, word, entry)
        for form, text in forms.items():
            group = self.never.group(text)
            if group and group.id != OWN:
                shown = what if form == BASE else f"{what}: its form {text!r}"
                file.fault(line, f"{shown} is never offered (group {group.id}); take one of the two out")
        return Lemma(
            word,
            pos,
            file.path.stem,
            line,
            tuple(entry.get("class", ())),
            entry.get("known", KNOWN[-1]),
            bool(entry.get("picture", False)),
            entry.get("region", ""),
            entry.get("same_as", ""),
            bool(entry.get("count", True)) and pos == "noun",
            tuple(entry.get("describes", ())),
            _compared(table, entry),
            self._frames(file, line, what, entry),
            MappingProxyType({key: value for key, value in entry.items() if key in _GRAMMAR}),
            MappingProxyType(forms),
            written,
            entry.get("write", ""),
        )

    def _forms(self, table: str, word: str, entry: dict[str, Any]) -> tuple[dict[str, str], frozenset[str]]:
        if table == "nouns" and not entry.get("count", True) and "plural" not in entry:
            return {BASE: word}, frozenset()
        forms = self.inflections.forms(word, table, entry)
        return {BASE: word, **forms}, frozenset(f for f in forms if f in entry)

    def _frames(self, file: RuleFile, line: int, what: str, entry: dict[str, Any]) -> tuple[Frame, ...]:
        out: list[Frame] = []
        for text in entry.get("frames", ()):
            try:
                out.append(parse_frame(text, self.classes.parent, self.prepositions))
            except ValueError as error:
                file.fault(line, f"{what}: {error}")
        return tuple(out)


def _compared(table: str, entry: Mapping[str, Any]) -> str:
    if table not in ("adjectives", "adverbs"):
        return ""
    given = entry.get("comparative", "er")
    return given if given in ("more", "none") else "er"


def _check_links(found: Mapping[tuple[str, str], Lemma], homes: Mapping[tuple[str, str], RuleFile]) -> None:
    """Words that entries name must stand in the vocabulary; an irregular verb needs both its past forms."""
    lemmas = {word for _, word in found}
    for key, lemma in found.items():
        file, what = homes[key], f"the {lemma.pos} {lemma.lemma!r}"
        if lemma.same_as and lemma.same_as not in lemmas:
            file.fault(lemma.line, f"{what}: same_as names {lemma.same_as!r}, which is not in the vocabulary")
        for frame in lemma.frames:
            for noun in sorted(frame.nouns):
                if ("noun", noun) not in found:
                    file.fault(lemma.line, f"{what}: the frame '{frame}' names {noun!r}, which is no noun here")
        if "past" in lemma.written and "participle" not in lemma.written and "participle" in lemma.forms:
            file.fault(lemma.line, f"{what}: its past is written, so write its participle too (or none)")
