"""Sound work: a word in boxes, with marks under its graphemes, how its sounds are said, and what to change in it.

In go a reader's :class:`~decodable.words.WordIndex` and words; out come :class:`SoundBoxes`. A box is a sound; what
counts as one follows the trade: a digraph, a vowel with r, -le have one box, x and qu a double one, a letter that is
not heard none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from weakref import WeakKeyDictionary

from decodable.accents import accent, transcribed
from decodable.errors import DecodableError
from decodable.model import Grapheme, Reading, bare
from decodable.practice_rules import practice_rules, sayings
from decodable.word_table import WordTable
from decodable.words import Query, WordIndex

DOT, BAR, ARC, NONE = "dot", "bar", "arc", "none"
Units = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """One grapheme of a word."""

    letters: str
    """Its letters; a split digraph as ``a-e``."""
    at: tuple[int, ...]
    """Their positions in the word, from 0."""
    sounds: tuple[str, ...]
    """Phonemes with stress; none for a letter that is not heard."""
    ipa: str
    """Its sound in phonetic letters."""
    written: str
    """Its sound as teachers write it, without slashes."""
    width: int
    """How many boxes wide: 0 for a letter that is not heard, 2 for x and qu, else 1."""
    mark: str
    """What stands under it: dot, bar, arc or none."""
    kind: str
    """held, stop or short; empty for a letter that is not heard."""
    say: str
    """How to say it without an added vowel."""


@dataclass(frozen=True, slots=True)
class SoundChange:
    """One thing to change in a word by ear."""

    kind: str
    """change, add or drop."""
    before: str
    """The sound that goes, as teachers write it; empty where one is added."""
    after: str
    """The sound that comes; empty where one is dropped."""
    place: str
    """first, middle or last."""
    word: str
    """The word that comes out, which this reader can read."""

    @property
    def prompt(self) -> str:
        """What to say after *say ship*: ``change /sh/ to /l/``."""
        if self.kind == "change":
            return f"change /{self.before}/ to /{self.after}/"
        if self.kind == "drop":
            return f"leave out /{self.before}/"
        where = {"first": "at the start", "last": "at the end"}.get(self.place, "inside")
        return f"put /{self.after}/ {where}"


@dataclass(frozen=True, slots=True)
class SoundBoxes:
    """The sound work of one word."""

    word: str
    """As it is printed."""
    ipa: str
    """The word in phonetic letters."""
    boxes: tuple[Box, ...]
    """Its graphemes in the order of their first letters."""
    changes: tuple[SoundChange, ...]
    """What to change by ear."""

    @property
    def sounds(self) -> int:
        """How many boxes wide the word is."""
        return sum(box.width for box in self.boxes)

    @property
    def starts(self) -> str:
        """How its first sound is said: held, stop or short."""
        return next((box.kind for box in self.boxes if box.width), "")

    @property
    def marks(self) -> tuple[str, str]:
        """Two lines of text: the letters, and the dots, bars and arcs under them."""
        line = [" "] * (2 * len(self.word) - 1)
        for box in self.boxes:
            first, last = 2 * box.at[0], 2 * box.at[-1]
            if box.mark == BAR:
                line[first : last + 1] = "─" * (last - first + 1)
            elif box.mark == ARC:
                line[first + 1 : last] = "─" * (last - first - 1)
                line[first], line[last] = "╰", "╯"
        for box in self.boxes:
            if box.mark == DOT:
                line[2 * box.at[0]] = "•"
        return " ".join(self.word), "".join(line).rstrip()

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "word": self.word,
            "ipa": self.ipa,
            "sounds": self.sounds,
            "starts": self.starts,
            "boxes": [
                {
                    "letters": b.letters,
                    "at": list(b.at),
                    "sounds": list(b.sounds),
                    "ipa": b.ipa,
                    "written": b.written,
                    "width": b.width,
                    "mark": b.mark,
                    "kind": b.kind,
                    "say": b.say,
                }
                for b in self.boxes
            ],
            "changes": [
                {"kind": c.kind, "before": c.before, "after": c.after, "place": c.place, "word": c.word}
                for c in self.changes
            ],
        }


class SoundWork:
    """Sound work for one reader; make it once and ask it for words."""

    def __init__(self, index: WordIndex) -> None:
        self.index = index
        self.rule = practice_rules().box_rule

    def boxes(self, word: str, *, changes: int = 3) -> SoundBoxes:
        """One word that the reader may meet, with so many changes at most.

        :class:`DecodableError` for a word whose pronunciation is not known.
        """
        readings = self.index.judge.finder.readings(word.lower().replace("’", "'"))  # noqa: RUF001
        if not readings or readings[0].source == "predicted":
            raise DecodableError(f"The sounds of {word!r} are not known. Fix it: decodable fix {word} --like WORD")
        signs, ipa = transcribed(readings[0], accent(self.index.judge.lexicon.accent))
        pairs = sorted(zip(readings[0].graphemes, signs, strict=True), key=lambda pair: pair[0].at[0])
        boxes = tuple(_box(g, sign, self._taught(g.sounds, g.pattern)) for g, sign in pairs)
        return SoundBoxes(word, ipa, boxes, tuple(self._changes(word, readings[0], changes)))

    def words(self, query: Query, *, changes: int = 3) -> tuple[SoundBoxes, ...]:
        """The words that answer a query."""
        found = self.index.find(query, self.index.shown <= self.index.step)
        return tuple(self.boxes(word.word, changes=changes) for word in found)

    def _taught(self, sounds: Sequence[str], pattern: str) -> str:
        """The sound of a grapheme as it is taught, phonemes joined by +: of a stressed vowel the usual one."""
        if len(sounds) == 1 and sounds[0][-1] in "12":
            return usual_sounds(self.index.table).get(pattern, _unit(sounds))
        return _unit(sounds)

    # ------------------------------------------------------------------ what to change
    @cached_property
    def _units(self) -> dict[Units, str]:
        """The sounds of each readable word of one syllable with two or more, to the clearest such word."""
        index, table = self.index, self.index.table
        plain = (index.shown <= index.step) & (table.column("syllables") == 1)
        out: dict[Units, str] = {}
        for number in index.clearest(plain).tolist():
            spelled = sorted(table.spelled[number], key=lambda g: g[1][0])
            units = tuple(self._taught(sounds, pattern) for _, _, sounds, pattern in spelled if sounds)
            if len(units) > 1:
                out.setdefault(units, index.printed(number))
        return out

    @cached_property
    def _alike(self) -> dict[tuple[int, Units], list[Units]]:
        """Place and the other sounds, to the words that have them."""
        out: dict[tuple[int, Units], list[Units]] = {}
        for units in self._units:
            for i in range(len(units)):
                out.setdefault((i, units[:i] + units[i + 1 :]), []).append(units)
        return out

    def _changes(self, word: str, reading: Reading, limit: int) -> Iterator[SoundChange]:
        """Changes in varied places: one at each place in turn, the clearest words first."""
        if limit < 1 or len(reading.syllables) != 1:
            return
        ordered = sorted(reading.graphemes, key=lambda g: g.at[0])
        units = tuple(self._taught(g.sounds, g.pattern) for g in ordered if g.sounds)
        found: list[list[SoundChange]] = []
        for i in range(len(units)):
            rest = units[:i] + units[i + 1 :]
            place = _place(i, len(units))
            here = [
                SoundChange("change", _written(units[i]), _written(other[i]), place, self._units[other])
                for other in self._alike.get((i, rest), ())
                if other != units
            ]
            if rest in self._units:
                here.insert(1, SoundChange("drop", _written(units[i]), "", place, self._units[rest]))
            found.append(here)
        for i in range(len(units) + 1):
            longer = self._alike.get((i, units), ())
            place = _place(i, len(units) + 1)
            found.append([SoundChange("add", "", _written(o[i]), place, self._units[o]) for o in longer])
        seen = {word}
        for turn in range(max(map(len, found), default=0)):
            for change in (row[turn] for row in found if turn < len(row)):
                if change.word not in seen and change.before != change.after and limit > 0:
                    seen.add(change.word)
                    limit -= 1
                    yield change


_USUAL: WeakKeyDictionary[WordTable, dict[str, str]] = WeakKeyDictionary()


def usual_sounds(table: WordTable) -> dict[str, str]:
    """The sound that each correspondence has most often: o in *off* is taught as o in *hot*. Kept with the table."""
    found = _USUAL.get(table)
    if found is None:
        counts: dict[str, Counter[str]] = {}
        for spelled in table.spelled:
            for _, _, sounds, pattern in spelled:
                counts.setdefault(pattern, Counter())[_unit(sounds)] += 1
        found = _USUAL[table] = {pattern: units.most_common(1)[0][0] for pattern, units in counts.items()}
    return found


def _box(g: Grapheme, sign: str, taught: str) -> Box:
    if not g.sounds:
        return Box(g.letters, g.at, (), "", "", 0, NONE, "", "")
    weak = len(g.sounds) == 1 and g.sounds[0][-1] == "0"
    saying = sayings().of(g.sounds if weak else taught.split("+"))
    width = 2 if len(g.sounds) > 1 and g.letters in practice_rules().double else 1
    mark = ARC if "-" in g.letters else DOT if len(g.letters) == 1 else BAR
    return Box(g.letters, g.at, g.sounds, sign, saying.written, width, mark, saying.kind, saying.say)


def _unit(sounds: Sequence[str]) -> str:
    return "+".join(bare(s) for s in sounds)


def _written(unit: str) -> str:
    return sayings().of(unit.split("+")).written


def _place(i: int, count: int) -> str:
    return "first" if i == 0 else "last" if i == count - 1 else "middle"
