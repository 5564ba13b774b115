"""A reader ready to judge words: which can be sounded out, which were taught whole, what the others lack.

In go a :class:`~decodable.readers.Reader` and the compiled dictionary; out come :class:`Entry` values by word, each
worked out once, and :class:`Missing` items for the words that are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from decodable.judging import NEVER, need_steps, reading_steps, taught, word_steps
from decodable.lexicon import Lexicon, Table
from decodable.model import Reading, is_vowel
from decodable.readers import Reader

NO_STEP = 0


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that keeps a reader from a word."""

    pattern: str
    """What is not taught."""
    letters: str
    """The letters that need it; empty for a gate."""
    at: tuple[int, ...]
    """Their positions in the word."""
    why: str
    """not-yet, other-sound-taught, never, or not-secure."""
    step: int | None
    """The step that teaches it, from 1, where one does."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "pattern": self.pattern,
            "letters": self.letters,
            "at": list(self.at),
            "why": self.why,
            "step": self.step,
        }


@dataclass(frozen=True, slots=True)
class Entry:
    """What is known of one word for one reader, whatever the step."""

    sounded: int
    """First step at which it can be sounded out now; ``NEVER`` if it can't."""
    ever: int
    """The same without what the reader is not secure in."""
    whole: int
    """First step at which it counts as taught whole."""
    source: tuple[str, ...]
    """Words that this follows from (*looks* from *look*); empty where it is taught itself."""
    trusted: bool
    """Whether its pronunciation can be relied on."""
    bank: Bank | None
    """Where its readings are; ``None`` for a word without any."""
    rows: range
    """Its readings in the bank."""
    row: int
    """The reading that was judged; -1 for none."""
    allowance: str
    """``read as spelled`` for a word that the dictionary lacks; else empty."""

    @property
    def step(self) -> int:
        """First step at which it can be read in any way."""
        return min(self.sounded, self.whole)


class Finder(Protocol):
    """Where readings of words beyond the dictionary come from."""

    def readings(self, word: str, /) -> Sequence[Reading]:
        """The readings of a word, best first; sources tell how far to trust them."""

    def tabulate(self, readings: Iterable[Sequence[Reading]], /) -> Table:
        """Columns for readings in hand."""

    def owns(self, word: str, /) -> bool:
        """Whether the user has fixed the word."""


class Bank:
    """Some words with their readings in columns, judged for one reader."""

    def __init__(self, table: Table, judge: Judge) -> None:
        self.table = table
        self.needs = need_steps(table.needs, judge.now)
        self.readings = reading_steps(table, self.needs)
        self.words = word_steps(table, self.readings)
        self.ever_needs, self.ever_readings = self.needs, self.readings
        if judge.ever is not judge.now:
            self.ever_needs = need_steps(table.needs, judge.ever)
            self.ever_readings = reading_steps(table, self.ever_needs)

    def needs_of(self, row: int) -> npt.NDArray[np.int32]:
        """The need numbers of a reading: its graphemes' first, then the gates."""
        return self.table.need_of[self.table.need_start[row] : self.table.need_start[row + 1]]

    def easiest(self, rows: range) -> int:
        """The row of the easiest reading, the taught one first among equals."""
        return rows.start + int(np.argmin(self.readings[rows.start : rows.stop]))

    def hardest(self, rows: Iterable[int]) -> int:
        """The row of the hardest reading."""
        return max(rows, key=lambda r: (int(self.readings[r]), -r))


class Judge:
    """A reader with everything about the sequence worked out once. Words are remembered."""

    def __init__(self, reader: Reader, lexicon: Lexicon, finder: Finder) -> None:
        self.reader = reader
        self.lexicon = lexicon
        self.finder = finder
        extra = [p for phrase in reader.patterns for p in phrase.patterns]
        insecure = [p for phrase in reader.not_secure for p in phrase.patterns]
        policy = reader.unstressed or None
        known = lexicon.teaching
        self.now = taught(reader.sequence, known, extra=extra, insecure=insecure, unstressed=policy)
        self.ever = taught(reader.sequence, known, extra=extra, unstressed=policy) if insecure else self.now
        self.whole, self._senses = _whole_words(reader)
        self._entries: dict[str, Entry] = {}
        self._readings: dict[tuple[int, int], Reading] = {}

    @cached_property
    def bank(self) -> Bank:
        """The whole dictionary, judged."""
        return Bank(self.lexicon.table, self)

    @property
    def last(self) -> int:
        """The number of the sequence's last step."""
        return len(self.reader.sequence.steps)

    # ------------------------------------------------------------------ words
    def entry(self, word: str) -> Entry:
        """One lower-case word."""
        found = self._entries.get(word)
        if found is None:
            self.learn([word])
            found = self._entries[word]
        return found

    def learn(self, words: Iterable[str]) -> None:
        """Work out several words at once; those beyond the dictionary share one bank."""
        index = self.lexicon.index
        beyond: list[tuple[str, Sequence[Reading]]] = []
        for word in words:
            if word in self._entries:
                continue
            number = index.get(word)
            if number is None or self.finder.owns(word):
                beyond.append((word, self.finder.readings(word)))
            else:
                self._entries[word] = self._entry(word, self.bank, self.lexicon.reading_numbers(word), True, "")
        spoken = [(word, readings) for word, readings in beyond if readings]
        if spoken:
            bank = Bank(self.finder.tabulate([readings for _, readings in spoken]), self)
            for n, (word, readings) in enumerate(spoken):
                rows = range(int(bank.table.word_start[n]), int(bank.table.word_start[n + 1]))
                for row, reading in zip(rows, readings, strict=True):
                    self._readings[id(bank), row] = reading
                source = readings[0].source
                allowance = "read as spelled" if source == "spelled" else ""
                self._entries[word] = self._entry(word, bank, rows, source != "predicted", allowance)
        for word, readings in beyond:
            if not readings:
                whole = self.whole.get(word, NEVER)
                self._entries[word] = Entry(NEVER, NEVER, whole, (), False, None, range(0), -1, "")

    def _entry(self, word: str, bank: Bank, rows: range, trusted: bool, allowance: str) -> Entry:
        row = bank.easiest(rows) if trusted else rows.start
        sounded = int(bank.readings[row]) if trusted else NEVER
        ever = int(min(bank.ever_readings[rows.start : rows.stop])) if trusted else NEVER
        whole, source = self._whole(word, bank, rows, row)
        return Entry(sounded, ever, whole, source, trusted, bank, rows, row, allowance)

    def reading(self, word: str, bank: Bank, row: int) -> Reading:
        """The reading in a row as a value."""
        found = self._readings.get((id(bank), row))
        if found is None:
            found = self._readings[id(bank), row] = self.lexicon.reading(word, row)
        return found

    # ------------------------------------------------------------------ taught whole
    def _whole(self, word: str, bank: Bank, rows: range, row: int) -> tuple[int, tuple[str, ...]]:
        """First step at which a word counts as taught whole, and from which words."""
        direct = self.whole.get(word, NEVER)
        if direct != NEVER and word in self._senses:
            keyword = self._senses[word]
            direct = direct if any(self._rhymes(self.reading(word, bank, r), keyword) for r in rows) else NEVER
        best: tuple[int, tuple[str, ...]] = (direct, ())
        if not self._may_follow(word):
            return best
        parts = self.reading(word, bank, row).parts
        bases = [p for p in parts if p.kind == "base"]
        if len(bases) > 1 and len(bases) == len(parts):
            step = max(self._part_step(p.name) for p in bases)
            if step < best[0] and any(p.name in self.whole for p in bases):
                best = (step, tuple(p.name for p in bases))
        elif len(parts) == 2 and parts[0].kind == "base" and parts[0].text == parts[0].name in self.whole:
            step = max(self.whole[parts[0].name], self._suffix_step(word, bank, row))
            if step < best[0]:
                best = (step, (parts[0].name,))
        return best

    def whole_for(self, word: str, entry: Entry, row: int) -> int:
        """The step at which this reading of a word counts as taught whole: a word may be taught in one sense only."""
        if word not in self._senses or entry.bank is None:
            return entry.whole
        return entry.whole if self._rhymes(self.reading(word, entry.bank, row), self._senses[word]) else NEVER

    def _may_follow(self, word: str) -> bool:
        """Cheaply: whether some whole word stands at the beginning or end of the word."""
        whole = self.whole
        return any(word[:k] in whole or word[k:] in whole for k in range(1, len(word)))

    def _part_step(self, word: str) -> int:
        number = self.lexicon.index.get(word)
        sounded = int(self.bank.words[number]) if number is not None else NEVER
        return min(sounded, self.whole.get(word, NEVER))

    def _suffix_step(self, word: str, bank: Bank, row: int) -> int:
        """When the suffix of a word with one base and one suffix is open: its letters and its gate."""
        reading, needs, table = self.reading(word, bank, row), bank.needs_of(row), bank.table.needs
        part = reading.parts[1]
        unit = "possessives" if part.kind == "possessive" else part.name
        steps = [int(bank.needs[needs[i]]) for i, g in enumerate(reading.graphemes) if g.unit == unit]
        steps += [int(bank.needs[n]) for n in needs if table.gate[n] >= 0 and table.names[table.gate[n]] == unit]
        return max(steps, default=0)

    def _rhymes(self, reading: Reading, keyword: str) -> bool:
        return any(_rime_sounds(reading) == _rime_sounds(r) for r in self.lexicon.readings(keyword))

    # ------------------------------------------------------------------ what is missing
    def missing(self, word: str, bank: Bank, row: int, step: int) -> tuple[Missing, ...]:
        """What keeps the reader from this reading at a step, letters first."""
        reading, table = self.reading(word, bank, row), bank.table.needs
        out: list[Missing] = []
        for i, need in enumerate(bank.needs_of(row)):
            opens, ever = int(bank.needs[need]), int(bank.ever_needs[need])
            if opens <= step:
                continue
            if i < len(reading.graphemes):
                g = reading.graphemes[i]
                why, when = _why(opens, ever, step)
                if why != "not-secure" and self._other_sound(g.pattern, step):
                    why = "other-sound-taught"
                out.append(Missing(g.pattern, g.letters, g.at, why, when))
            else:
                name = table.gate_name(int(need))
                out.append(Missing(name, "", (), *_why(opens, ever, step)))
        return tuple(out)

    def _other_sound(self, pattern: str, step: int) -> bool:
        found = self.lexicon.teaching.patterns.get(pattern)
        others = self.lexicon.teaching.choices.get(found.letters, ()) if found else ()
        return any(o != pattern and self.now.sound.get(o, NEVER) <= step for o in others)

    def lacks(self, word: str, entry: Entry, row: int, step: int) -> tuple[str, ...]:
        """What would have to be taught for a flagged reading, as phrases of a sequence, each once."""
        if entry.bank is None or row < 0:
            return ()
        bank, reading = entry.bank, self.reading(word, entry.bank, row)
        table, out = bank.table.needs, dict[str, None]()
        for i, need in enumerate(bank.needs_of(row)):
            if bank.needs[need] > step:
                g = reading.graphemes[i] if i < len(reading.graphemes) else None
                affix = g is not None and g.unit in self.lexicon.teaching.affixes
                out[g.unit if g and affix else g.pattern if g else table.gate_name(int(need))] = None
        blends = any(name.endswith("-") or name.startswith("-") for name in out)
        return tuple(name for name in out if not (blends and name.strip("CV") == ""))


def _why(opens: int, ever: int, step: int) -> tuple[str, int | None]:
    if ever <= step:
        return "not-secure", ever
    return ("not-yet", opens) if opens < NEVER else ("never", None)


def _rime_sounds(reading: Reading) -> tuple[str, ...]:
    vowels = [i for i, s in enumerate(reading.sounds) if is_vowel(s)]
    return tuple(s.rstrip("012") for s in reading.sounds[vowels[-1] :]) if vowels else ()


def _whole_words(reader: Reader) -> tuple[dict[str, int], dict[str, str]]:
    """Whole words with their steps, and the keyword of those taught in one sense (*read as in red*)."""
    whole: dict[str, int] = {}
    senses: dict[str, str] = {}
    taught_whole: Mapping[str, int] = {**reader.sequence.whole, **dict.fromkeys(reader.words, 0)}
    for text, step in taught_whole.items():
        word, _, keyword = text.partition(" as in ")
        whole[word] = min(step, whole.get(word, NEVER))
        if keyword:
            senses[word] = keyword
    return whole, senses
