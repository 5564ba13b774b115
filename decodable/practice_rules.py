"""The settings of practice and how sounds are said: ``practice.toml`` and ``saying_sounds.toml``, checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable import resources
from decodable.inventory import parse_sounds
from decodable.model import bare
from decodable.rules import RuleFile, expect_keys, nearest, read_toml

SAYING_KINDS = ("held", "stop", "short")
ABOUT = ("passage", "words")
PARTS = ("sounds", "blending", "words", "dictation", "passage", "questions")
# The numbers that each table must give.
_NUMBERS = {
    "words": ("new", "review"),
    "grid": ("rows", "columns"),
    "sort": ("least", "most", "words", "odd"),
    "review": ("weeks", "words"),
    "dictation": ("words", "sentences", "rival", "least", "most"),
    "lesson": ("days", "words", "dictated", "cards", "boxes", "chain", "made_up"),
}


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart of blends or digraphs."""

    title: str
    """Its heading."""
    members: tuple[str, ...]
    """Phrases of a sequence: ``bl-``, ``-nd``, ``sh as in ship``."""
    digraphs: bool
    """Whether it lists digraphs, which are one sound."""


@dataclass(frozen=True, slots=True)
class LessonPart:
    """One part of a lesson."""

    id: str
    """Which part: sounds, blending, words, dictation, passage, questions."""
    title: str
    """Its heading."""
    minutes: int
    """How long it takes."""


@dataclass(frozen=True, slots=True)
class PracticeRules:
    """How practice is put together."""

    numbers: Mapping[str, Mapping[str, float]]
    """Table and name to the number."""
    gaps: tuple[int, ...]
    """After how many weeks a pattern comes back."""
    box_rule: str
    """What is written on a sheet with sound boxes."""
    double: frozenset[str]
    """Graphemes that have a double box where they are two sounds."""
    parts: tuple[LessonPart, ...]
    """The parts of a lesson, in order."""
    questions: Mapping[str, tuple[str, ...]]
    """What an adult may ask about a passage, or about words."""
    charts: tuple[Chart, ...]
    """Charts of blends and digraphs."""

    def number(self, table: str, name: str) -> int:
        """A whole number: ``number("grid", "rows")``."""
        return int(self.numbers[table][name])


@dataclass(frozen=True, slots=True)
class Saying:
    """How one sound is written and said."""

    written: str
    """For teachers, without slashes: ``sh``."""
    kind: str
    """held, stop or short."""
    say: str
    """A hint in one line."""

    @property
    def held(self) -> bool:
        """Whether it can be stretched."""
        return self.kind == "held"


class Sayings:
    """How every sound is written and said."""

    def __init__(self, known: Mapping[tuple[str, ...], Saying]) -> None:
        self._known = known

    def of(self, sounds: Sequence[str]) -> Saying:
        """The sound of a grapheme; sounds that have no line together are joined from their own lines."""
        bared = tuple(bare(s) for s in sounds)
        found = self._known.get(tuple(sounds)) or self._known.get(bared)
        if found:
            return found
        each = [self._known.get((s,)) or self._known[bare(s),] for s in sounds]
        return Saying("".join(s.written for s in each), each[0].kind, " ".join(dict.fromkeys(s.say for s in each)))


@cache
def practice_rules(path: Path | None = None) -> PracticeRules:
    """Read and check ``practice.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path or resources.rules_dir() / "practice.toml")
    data = file.data
    expect_keys(file, 1, data, ("title", *_NUMBERS, "boxes", "part", "question", "chart"), "the settings of practice")
    numbers = {table: _numbers(file, table, names) for table, names in _NUMBERS.items()}
    gaps = data.get("review", {}).get("gaps", [])
    if not gaps or any(not isinstance(g, int) or g < 1 for g in gaps) or sorted(set(gaps)) != gaps:
        file.fault(file.line_of("gaps"), f"gaps should be whole weeks from 1 on, in order, not {gaps!r}")
    boxes = data.get("boxes", {})
    expect_keys(file, file.line_of("[boxes]"), boxes, ("rule", "double"), "[boxes]")
    if not boxes.get("rule") or not boxes.get("double"):
        file.fault(file.line_of("[boxes]"), "[boxes] needs rule, what is written on the sheet, and double")
    parts: list[LessonPart] = []
    for table, line in zip(data.get("part", []), file.header_lines("part"), strict=True):
        expect_keys(file, line, table, ("id", "title", "minutes"), "a part of a lesson")
        if table.get("id") not in PARTS:
            file.fault(line, f"id should be one of {', '.join(PARTS)}, not {table.get('id')!r}")
        parts.append(LessonPart(table.get("id", ""), table.get("title", ""), int(table.get("minutes", 0))))
    charts: list[Chart] = []
    for table, line in zip(data.get("chart", []), file.header_lines("chart"), strict=True):
        expect_keys(file, line, table, ("title", "members", "digraphs"), "a chart")
        charts.append(Chart(table.get("title", ""), tuple(table.get("members", ())), bool(table.get("digraphs"))))
        if not charts[-1].title or not charts[-1].members:
            file.fault(line, "a chart needs title and members")
    questions: dict[str, tuple[str, ...]] = dict.fromkeys(ABOUT, ())
    for table, line in zip(data.get("question", []), file.header_lines("question"), strict=True):
        expect_keys(file, line, table, ("about", "text"), "a question")
        if table.get("about") not in ABOUT or not table.get("text"):
            file.fault(line, f"a question needs text, and about: {' or '.join(ABOUT)}")
        else:
            questions[table["about"]] = (*questions[table["about"]], table["text"])
    if any(len(texts) < 2 for texts in questions.values()):
        file.fault(1, f"two [[question]] or more are needed about each of {', '.join(ABOUT)}")
    file.check()
    double = frozenset(boxes["double"])
    return PracticeRules(
        MappingProxyType(numbers),
        tuple(gaps),
        boxes["rule"],
        double,
        tuple(parts),
        MappingProxyType(questions),
        tuple(charts),
    )


def _numbers(file: RuleFile, table: str, names: tuple[str, ...]) -> Mapping[str, float]:
    given: dict[str, Any] = file.data.get(table, {})
    line = file.line_of(f"[{table}]")
    expect_keys(file, line, given, (*names, "gaps") if table == "review" else names, f"[{table}]")
    for name in names:
        if not isinstance(given.get(name), int | float) or given[name] < 0:
            file.fault(file.line_of(name, "=", start=line), f"[{table}] needs a number for {name}")
    return MappingProxyType({name: given.get(name, 0) for name in names})


@cache
def sayings(path: Path | None = None) -> Sayings:
    """Read and check ``saying_sounds.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path or resources.rules_dir() / "saying_sounds.toml")
    expect_keys(file, 1, file.data, ("title", "sound"), "the sounds")
    known: dict[tuple[str, ...], Saying] = {}
    for table, line in zip(file.data.get("sound", []), file.header_lines("sound"), strict=True):
        expect_keys(file, line, table, ("sound", "written", "kind", "say"), "a sound")
        try:
            sounds = parse_sounds(table.get("sound", ""))
        except ValueError as error:
            file.fault(line, str(error))
            continue
        if sounds in known:
            file.fault(line, f"the sound {table['sound']} stands twice")
        if table.get("kind") not in SAYING_KINDS:
            kind = table.get("kind", "")
            file.fault(line, f"kind should be held, stop or short, not {kind!r}{nearest(str(kind), SAYING_KINDS)}")
        if not table.get("written") or not table.get("say"):
            file.fault(line, "a sound needs written and say")
        known[sounds] = Saying(table.get("written", ""), table.get("kind", ""), table.get("say", ""))
    file.check()
    return Sayings(MappingProxyType(known))
