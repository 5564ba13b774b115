"""Words that are never offered to a child: in lists, swaps, stories, and as made-up words.

In go ``rules/never_offered.toml`` and the file of the same name in the user's folder; out comes a
:class:`NeverOffered`, which says of any word which group keeps it out, and of a made-up word whether it looks or sounds
rude. The user's file tightens or relaxes, each time with a reason::

    [[off]]                       # a whole group let through
    group  = "gambling"
    reason = "we play card games in mathematics"

    [[allow]]                     # single words let through
    words  = ["hoe", "hoes"]
    reason = "we have a school garden"

    [[add]]                       # further words kept out
    words  = ["witch", "witches"]
    reason = "families asked for it"

A text that is only checked may hold any word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable import resources
from decodable.model import PHONEMES, bare
from decodable.rules import RuleFile, expect_keys, nearest, read_toml

# The end of a possessive or contracted word, so that he'll is looked up as he.
_ENDING = re.compile(r"'[a-z]{0,2}$")
FILE = "never_offered.toml"
OWN = "own"


@dataclass(frozen=True, slots=True)
class Group:
    """Words that are kept out for one reason."""

    id: str
    """Its stable name."""
    title: str
    """Its name for people."""
    reason: str
    """Why these words are kept out."""
    words: tuple[str, ...]
    """Lower-case letters only."""


@dataclass(frozen=True, slots=True)
class NeverOffered:
    """Everything that is kept out."""

    groups: Mapping[str, Group]
    """Groups by id, those that the user switched off left out; the user's own words are the group ``own``."""
    group_of: Mapping[str, str]
    """Each word, lower-case letters only, to the id of its group."""
    sounds: frozenset[tuple[str, ...]]
    """Sounds, without stress, that no made-up word may have, in any accent."""
    strings: tuple[str, ...]
    """Letters that may not stand anywhere in a made-up word."""
    changes: tuple[tuple[str, str], ...] = ()
    """What the user changed, each with its reason."""

    def group(self, word: str) -> Group | None:
        """The group that keeps a word out, whatever its capitals, hyphens and possessive; ``None`` if none does."""
        found = self.group_of.get(letters_of(word))
        return self.groups[found] if found else None

    def __contains__(self, word: str) -> bool:
        return letters_of(word) in self.group_of

    def unfit_made_up(self, word: str, pronunciations: Iterable[Sequence[str]]) -> str:
        """Why a made-up word is unfit, or an empty string.

        Args:
            word: its letters.
            pronunciations: every way in which it may be said, in phonemes with or without stress.
        """
        letters = letters_of(word)
        if letters in self.group_of:
            return f"{letters} is a word of the group {self.group_of[letters]}"
        inside = next((s for s in self.strings if s in letters), "")
        if inside:
            return f"it contains {inside}"
        if any(tuple(bare(s) for s in said) in self.sounds for said in pronunciations):
            return "it sounds like a word that is never offered"
        return ""


def letters_of(word: str) -> str:
    """A word as the list has it: lower case, without a possessive or contracted ending, hyphens and apostrophes."""
    key = word.strip().lower().replace("’", "'")  # noqa: RUF001
    return _ENDING.sub("", key).replace("'", "").replace("-", "")


def load_never_offered(path: Path | None = None, own: Path | None = None) -> NeverOffered:
    """Read and check the list, and the user's changes where there are any; all faults at once.

    Args:
        path: the list; the shipped one where left out.
        own: the user's file; the one in the user's folder where left out. It need not exist.
    """
    file = read_toml(path or resources.rules_dir() / FILE)
    groups = _groups(file)
    sounds = _sounds(file)
    strings = tuple(file.data.get("letter_strings", {}).get("strings", ()))
    for string in strings:
        if not _plain(string):
            file.fault(file.line_of(f'"{string}"'), f"letters are small letters only, not {string!r}")
    file.check()
    group_of = {word: group.id for group in groups.values() for word in group.words}
    own = own or resources.user_dir() / FILE
    changes: tuple[tuple[str, str], ...] = ()
    if own.is_file():
        changes = _change(read_toml(own), groups, group_of)
    return NeverOffered(MappingProxyType(groups), MappingProxyType(group_of), sounds, strings, changes)


def _groups(file: RuleFile) -> dict[str, Group]:
    groups: dict[str, Group] = {}
    seen: dict[str, str] = {}
    expect_keys(file, 1, file.data, ("title", "origin", "group", "sound_alikes", "letter_strings"), "the list")
    for table, line in zip(file.data.get("group", []), file.header_lines("group"), strict=True):
        expect_keys(file, line, table, ("id", "title", "reason", "words"), "a group")
        ident, reason = table.get("id", ""), table.get("reason", "")
        if not ident or not reason:
            file.fault(line, "a group needs an id and a reason")
        if ident in groups:
            file.fault(line, f"the group {ident!r} stands twice")
        words = tuple(table.get("words", ()))
        for word in words:
            if not _plain(word):
                file.fault(file.line_of(f'"{word}"', start=line), f"a word is small letters only, not {word!r}")
            elif word in seen:
                where = file.line_of(f'"{word}"', start=line)
                file.fault(where, f"{word!r} stands in the groups {seen[word]!r} and {ident!r}; once is enough")
            seen[word] = ident
        groups[ident] = Group(ident, table.get("title", ident), reason, words)
    return groups


def _sounds(file: RuleFile) -> frozenset[tuple[str, ...]]:
    table: dict[str, Any] = file.data.get("sound_alikes", {})
    out: set[tuple[str, ...]] = set()
    for said in table.get("sounds", ()):
        for sound in said:
            if sound not in PHONEMES:
                shown = ", ".join(f'"{s}"' for s in said)
                file.fault(file.line_of(shown), f"{sound!r} is no ARPAbet sound (without stress: AE)")
        out.add(tuple(said))
    return frozenset(out)


def _change(file: RuleFile, groups: dict[str, Group], group_of: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """Apply the user's file; what it changed, with the reasons."""
    changes: list[tuple[str, str]] = []
    expect_keys(file, 1, file.data, ("title", "off", "allow", "add"), "the user's list")
    for kind, key in (("off", "group"), ("allow", "words"), ("add", "words")):
        for table, line in zip(file.data.get(kind, []), file.header_lines(kind), strict=True):
            expect_keys(file, line, table, (key, "reason"), f"[[{kind}]]")
            reason, given = table.get("reason", ""), table.get(key, "")
            if not given or not reason:
                file.fault(line, f"[[{kind}]] needs {key} and reason")
                continue
            if kind == "off":
                if given not in groups:
                    file.fault(line, f"there is no group {given!r}{nearest(str(given), groups)}")
                    continue
                for word in groups.pop(given).words:
                    group_of.pop(word, None)
                changes.append((f"group {given} off", reason))
                continue
            for word in given:
                letters = letters_of(word)
                if kind == "add":
                    group_of[letters] = OWN
                elif group_of.pop(letters, "") == "":
                    file.fault(
                        file.line_of(f'"{word}"', start=line), f"{word!r} is on no list; allow is for words that are"
                    )
            changes.append((f"{kind} {', '.join(given)}", reason))
    file.check()
    own = tuple(sorted(w for w, g in group_of.items() if g == OWN))
    if own:
        groups[OWN] = Group(OWN, "Your own words", "added in your own folder", own)
    return tuple(changes)


def _plain(word: str) -> bool:
    return word.isascii() and word.isalpha() and word.islower()
