"""Which made-up spellings are legal: in goes ``rules/made_up.toml``, out come :class:`MadeUpRules`.

A spelling is a start, a vowel and an end. The rules list what each may be and what may follow what; every rule of
English spelling that a made-up word must keep (no word begins with ck, none ends in j) follows from the lists.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from decodable import resources
from decodable.model import PHONEMES
from decodable.rules import RuleFile, expect_keys, nearest, read_toml

_KEYS = ("title", "readings", "starts", "vowels", "ends", "ends_accepted", "never", "alike", "ending")


@dataclass(frozen=True, slots=True)
class Piece:
    """A start, a vowel or an end."""

    phrases: tuple[str, ...]
    """Its graphemes as phrases of a sequence; empty for none."""
    letters: str
    """As it is spelled; a split digraph as ``a-e``."""
    made: bool = True
    """Whether made-up words are made with it, and not only accepted."""


@dataclass(frozen=True, slots=True)
class Vowel:
    """A vowel with what may follow it."""

    piece: Piece
    group: str
    """What it belongs to: ``short vowels``."""
    ends: tuple[Piece, ...]
    two_ways: bool = False
    """Whether readers say it in more than one way (*oo*)."""


@dataclass(frozen=True, slots=True)
class Never:
    """A start that does not stand before certain letters."""

    start: str
    before: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Alike:
    """What some speakers do not tell apart."""

    name: str
    changes: tuple[tuple[str, str], ...]
    """Sounds joined by spaces, and what they are changed to, in order."""

    def key(self, sounds: Sequence[str]) -> str:
        """Sounds without stress as these speakers hear them; equal keys sound alike."""
        text = f" {' '.join(sounds)} "
        for old, new in self.changes:
            text = text.replace(f" {old} ", f" {new} ")
        return text


@dataclass(frozen=True, slots=True)
class EndingSound:
    """A sound that an ending adds (-s, -ed)."""

    sound: str
    after: frozenset[str]
    not_after: frozenset[str]

    def ends(self, sounds: Sequence[str]) -> bool:
        """Whether the sounds may end in it."""
        if len(sounds) < 3 or sounds[-1] != self.sound:
            return False
        before = sounds[-2]
        return before in self.after if self.after else before not in self.not_after


@dataclass(frozen=True, slots=True)
class MadeUpRules:
    """All that makes a made-up word legal, and what it must not sound like."""

    starts: tuple[Piece, ...]
    vowels: tuple[Vowel, ...]
    never: tuple[Never, ...]
    alike: tuple[Alike, ...]
    """The first changes nothing."""
    endings: tuple[EndingSound, ...]
    least: float
    """The share from which a reading is plausible."""
    most: int
    """How many readings are given."""

    def spellings(self, word: str) -> Iterator[tuple[Piece, Vowel, Piece]]:
        """Every way in which a word is a legal start, vowel and end."""
        for start in self.starts:
            rest = word[len(start.letters) :]
            if word.startswith(start.letters) and not self.barred(start, rest):
                for vowel in self.vowels:
                    yield from ((start, vowel, end) for end in vowel.ends if spelled(vowel.piece, end) == rest)

    def barred(self, start: Piece, rest: str) -> str:
        """Why a start may not stand before the letters that follow; empty if it may."""
        for rule in self.never:
            if rule.start == start.letters and rest.startswith(rule.before):
                return rule.reason
        return ""

    def illegal(self, word: str) -> str:
        """Why no English word of one syllable is spelled so; empty for a legal spelling."""
        if next(self.spellings(word), None):
            return ""
        starts = sorted((s for s in self.starts if word.startswith(s.letters)), key=lambda s: -len(s.letters))
        for start in starts:
            rest = word[len(start.letters) :]
            reason = self.barred(start, rest)
            if reason:
                return f"{start.letters} does not stand there: {reason}"
            if any(rest.startswith(v.piece.letters[0]) for v in self.vowels):
                return f"no word of one syllable goes on with -{rest} after {start.letters or 'its beginning'}"
        return f"no word begins with {word[:2]}"


def spelled(vowel: Piece, end: Piece) -> str:
    """The letters of a vowel and an end, the end inside a split digraph."""
    first, dash, last = vowel.letters.partition("-")
    return first + end.letters + last if dash else vowel.letters + end.letters


def load_made_up(path: Path | None = None) -> MadeUpRules:
    """Read and check ``rules/made_up.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path or resources.rules_dir() / "made_up.toml")
    data = file.data
    expect_keys(file, 1, data, _KEYS, "the rules of made-up words")
    starts = data.get("starts", {})
    expect_keys(file, file.line_of("[starts]"), starts, ("made", "accepted"), "[starts]")
    lists = _ends(file)
    readings = data.get("readings", {})
    expect_keys(file, file.line_of("[readings]"), readings, ("least", "most"), "[readings]")
    if not isinstance(readings.get("least"), float) or not isinstance(readings.get("most"), int):
        file.fault(file.line_of("[readings]"), "[readings] needs least, a share, and most, a number")
    found = MadeUpRules(
        (
            *(_piece(text, True) for text in starts.get("made", ())),
            *(_piece(text, False) for text in starts.get("accepted", ())),
        ),
        tuple(_vowels(file, lists)),
        tuple(_never(file)),
        (Alike("alike", ()), *_alike(file)),
        tuple(_endings(file)),
        readings.get("least", 0.0),
        readings.get("most", 1),
    )
    file.check()
    return found


def _piece(text: str, made: bool) -> Piece:
    phrases = tuple(phrase for phrase in text.split("+") if phrase)
    return Piece(phrases, "".join(phrase.partition(" as in ")[0] for phrase in phrases), made)


def _ends(file: RuleFile) -> Mapping[str, tuple[Piece, ...]]:
    made, accepted = file.data.get("ends", {}), file.data.get("ends_accepted", {})
    for name in accepted:
        if name not in made:
            file.fault(file.line_of("[ends_accepted]"), f"there is no list of ends {name!r}{nearest(name, made)}")
    return {
        name: (*(_piece(e, True) for e in ends), *(_piece(e, False) for e in accepted.get(name, ())))
        for name, ends in made.items()
    }


def _vowels(file: RuleFile, lists: Mapping[str, tuple[Piece, ...]]) -> Iterator[Vowel]:
    for table, line in zip(file.data.get("vowels", []), file.header_lines("vowels"), strict=True):
        expect_keys(file, line, table, ("name", "teach", "ends", "two_ways"), "a group of vowels")
        for name in table.get("ends", ()):
            if name not in lists:
                file.fault(line, f"there is no list of ends {name!r}{nearest(name, lists)}")
        ends = tuple(end for name in table.get("ends", ()) for end in lists.get(name, ()))
        for text in table.get("teach", ()):
            yield Vowel(_piece(text, True), table.get("name", ""), ends, bool(table.get("two_ways", False)))


def _never(file: RuleFile) -> Iterator[Never]:
    for table, line in zip(file.data.get("never", []), file.header_lines("never"), strict=True):
        expect_keys(file, line, table, ("start", "before", "reason"), "[[never]]")
        if not all(table.get(key) for key in ("start", "before", "reason")):
            file.fault(line, "[[never]] needs start, before and reason")
        yield Never(table.get("start", ""), tuple(table.get("before", ())), table.get("reason", ""))


def _alike(file: RuleFile) -> Iterator[Alike]:
    for table, line in zip(file.data.get("alike", []), file.header_lines("alike"), strict=True):
        expect_keys(file, line, table, ("name", "changes"), "[[alike]]")
        changes: list[tuple[str, str]] = []
        for change in table.get("changes", ()):
            if len(change) != 2 or any(sound not in PHONEMES for sound in change[0].split()):
                file.fault(line, f"a change is from ARPAbet sounds to what they become, not {change!r}")
            else:
                changes.append((change[0], change[1]))
        yield Alike(table.get("name", ""), tuple(changes))


def _endings(file: RuleFile) -> Iterator[EndingSound]:
    for table, line in zip(file.data.get("ending", []), file.header_lines("ending"), strict=True):
        expect_keys(file, line, table, ("sound", "after", "not_after"), "[[ending]]")
        sounds: list[Any] = [table.get("sound", ""), *table.get("after", ()), *table.get("not_after", ())]
        for sound in sounds:
            if sound not in PHONEMES:
                file.fault(line, f"{sound!r} is no ARPAbet sound{nearest(str(sound), PHONEMES)}")
        yield EndingSound(sounds[0], frozenset(table.get("after", ())), frozenset(table.get("not_after", ())))
