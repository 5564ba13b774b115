"""The forms of a word: plural, past, comparative ... derived by the spelling rules of ``rules/inflections.toml``.

In go a lemma, its part of speech and the forms that its entry writes out; out comes every form it has. What is written
wins; what is not is derived. The module knows letters only; how a form is said is another matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from decodable.morphology import must_double
from decodable.rules import expect_keys, read_toml


@dataclass(frozen=True, slots=True)
class JoinRule:
    """One way in which a word takes an ending."""

    ending: tuple[str, ...]
    """The endings that it is about."""
    after: tuple[str, ...]
    """Ends of words of which one must be there; empty: any word."""
    not_after: tuple[str, ...]
    """Ends of words of which none may be there."""
    doubles: bool
    """Whether it is for words that double their last letter, and doubles it."""
    drop: int
    """How many letters the word loses."""
    put: str
    """Letters that take their place."""
    ending_as: str
    """How the ending is spelled, if not as it is named."""

    def fits(self, word: str, ending: str) -> bool:
        """Whether the rule is for this word and ending."""
        return (
            ending in self.ending
            and (not self.after or word.endswith(self.after))
            and not (self.not_after and word.endswith(self.not_after))
            and (not self.doubles or must_double(word))
        )

    def join(self, word: str, ending: str) -> str:
        """The word with the ending."""
        stem = word[: len(word) - self.drop] + (word[-1] if self.doubles else "")
        return stem + self.put + (self.ending_as or ending)


@dataclass(frozen=True, slots=True)
class Inflections:
    """All rules about endings."""

    form: Mapping[str, Mapping[str, str]]
    """Part of speech (as the tables of the vocabulary name it) to its forms, each with its ending."""
    joins: tuple[JoinRule, ...]
    """In the order in which they are tried."""

    def add(self, word: str, ending: str) -> str:
        """The word with an ending: ``add("hop", "ing")`` is ``"hopping"``."""
        return next(rule.join(word, ending) for rule in self.joins if rule.fits(word, ending))

    def forms(self, lemma: str, pos: str, written: Mapping[str, str]) -> dict[str, str]:
        """Every form of a lemma by name, the lemma itself left out.

        Args:
            lemma: the word.
            pos: ``nouns``, ``verbs``, ``adjectives``, ``adverbs``; another has no forms.
            written: forms that its entry writes out; ``none`` and ``more`` (compared with *more*) stand for no form.
        """
        out: dict[str, str] = {}
        for name, ending in self.form.get(pos, {}).items():
            form = written.get(name, "")
            if not form and name == "participle":
                form = written.get("past", "")
            if not form and name == "superlative" and written.get("comparative") in ("none", "more"):
                continue
            if form not in ("none", "more"):
                out[name] = form or self.add(lemma, ending)
        return out


def load_inflections(path: Path) -> Inflections:
    """Read and check the rules; all faults at once, each as ``file:line``."""
    file = read_toml(path)
    known = ("ending", "after", "not_after", "doubles", "drop", "put", "ending_as")
    joins: list[JoinRule] = []
    for table, line in zip(file.data.get("join", []), file.header_lines("join"), strict=True):
        expect_keys(file, line, table, known, "a join")
        if not table.get("ending"):
            file.fault(line, "a join needs ending: the endings that it is about")
        joins.append(_join(table))
    forms: dict[str, Mapping[str, str]] = {}
    for pos, endings in file.data.get("form", {}).items():
        forms[pos] = MappingProxyType(dict(endings))
        for ending in endings.values():
            if not any(ending in j.ending and not (j.after or j.not_after or j.doubles) for j in joins):
                file.fault(file.line_of(pos, "="), f"no last [[join]] for any word with the ending {ending!r}")
    if not forms:
        file.fault(1, "the table [form] should name the ending of each form")
    file.check()
    return Inflections(MappingProxyType(forms), tuple(joins))


def _join(table: Mapping[str, Any]) -> JoinRule:
    return JoinRule(
        tuple(table.get("ending", ())),
        tuple(table.get("after", ())),
        tuple(table.get("not_after", ())),
        bool(table.get("doubles", False)),
        int(table.get("drop", 0)),
        str(table.get("put", "")),
        str(table.get("ending_as", "")),
    )
