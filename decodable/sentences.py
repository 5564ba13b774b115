"""Short sentences made of words that a reader may use: authored frames, filled with verbs' own frames.

In go the engine, a reader and the words allowed; out come :class:`Sentence` values, each checked by the checker. How
sentences go is said in ``rules/sentences.toml``; who does what to what, in the vocabulary.
"""

from __future__ import annotations

import random
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from decodable import resources
from decodable.accents import accent_codes
from decodable.frames import COMPLEMENTS, EMPTY_IT, Frame, Slot
from decodable.model import is_vowel
from decodable.practice_rules import practice_rules
from decodable.readers import Reader
from decodable.rules import RuleFile, expect_keys, read_toml
from decodable.vocabulary import BASE, REGIONS, Lemma

if TYPE_CHECKING:
    from decodable.engine import Engine

_HOLE = re.compile(r"\{([a-z_]+)\}")
_HOLES = ("subject", "rest", "who", BASE, "past", "present_participle")
# Sentences looked at before the best are taken.
_LOOKED_AT = 600


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way in which a sentence goes."""

    text: str
    """With ``{subject}``, ``{rest}`` and a form of the verb, or a whole sentence."""
    ask: str
    """A question about it."""
    alive: bool = False
    """Whether only a person or an animal can do it."""
    deed: bool = False
    """Whether the verb must say what is done, not how things stand (*can like*, *is having*)."""

    @property
    def form(self) -> str:
        """The form of the verb; empty for a whole sentence."""
        return next((h for h in _HOLE.findall(self.text) if h not in ("subject", "rest", "who")), "")


@dataclass(frozen=True, slots=True)
class SentenceRules:
    """All frames."""

    patterns: tuple[Pattern, ...]
    """In file order."""
    fixed: tuple[Pattern, ...]
    """Whole sentences."""
    called: frozenset[str]
    """People who are called so: *Dad*."""
    avoid: frozenset[str]
    """Classes whose nouns want more than an article (*the leg* of whom?)."""
    states: frozenset[str]
    """Verbs that say how things stand."""
    regions: Mapping[str, str]
    """Accent to the region whose words it uses."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence."""

    text: str
    """As it is printed."""
    question: str
    """What an adult may ask about it."""
    words: tuple[str, ...]
    """Its words in lower case."""


@cache
def sentence_rules(path: Path | None = None) -> SentenceRules:
    """Read and check ``sentences.toml``; all faults at once, each as ``file:line``."""
    file = read_toml(path or resources.rules_dir() / "sentences.toml")
    expect_keys(
        file, 1, file.data, ("title", "called", "avoid", "states", "regions", "sentence", "fixed"), "the sentences"
    )
    patterns, fixed = _patterns(file, "sentence"), _patterns(file, "fixed")
    for pattern in patterns:
        if not pattern.form or "{subject}" not in pattern.text or "{rest}" not in pattern.text:
            file.fault(file.line_of(pattern.text), "a sentence needs {subject}, a form of the verb, and {rest}")
    for code, region in file.data.get("regions", {}).items():
        if code not in accent_codes() or region not in REGIONS:
            file.fault(
                file.line_of(code), f"a region is {' or '.join(REGIONS)}, for an accent, not {code} = {region!r}"
            )
    file.check()
    regions = MappingProxyType(dict(file.data.get("regions", {})))
    called, avoid, states = (frozenset(file.data.get(key, ())) for key in ("called", "avoid", "states"))
    return SentenceRules(patterns, fixed, called, avoid, states, regions)


def _patterns(file: RuleFile, name: str) -> tuple[Pattern, ...]:
    out: list[Pattern] = []
    for table, line in zip(file.data.get(name, []), file.header_lines(name), strict=True):
        expect_keys(file, line, table, ("text", "ask", "alive", "deed"), f"a {name}")
        text, ask = str(table.get("text", "")), str(table.get("ask", ""))
        if not text or not ask:
            file.fault(line, f"a {name} needs text and ask")
        for hole in _HOLE.findall(text + ask):
            if hole not in _HOLES:
                file.fault(line, f"{{{hole}}} is none of {', '.join(_HOLES)}")
        out.append(Pattern(text, ask, bool(table.get("alive", False)), bool(table.get("deed", False))))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _Found:
    """A sentence with what it was chosen for."""

    sentence: Sentence
    verb: str
    way: str
    worth: float
    """More for words practised and nouns that the verb's frame names, less for length."""


class SentenceMaker:
    """Sentences for one reader, made of words allowed."""

    def __init__(self, engine: Engine, reader: Reader, allowed: Collection[str], practised: Collection[str]) -> None:
        """``allowed``: lower-case words that may be used; ``practised``: those that should be."""
        self.engine = engine
        self.reader = reader
        several = frozenset(engine.lexicon.meta["heteronyms"])
        self.allowed = frozenset(allowed) - several
        self.practised = frozenset(practised)
        self.rules = sentence_rules()
        self._table = engine.word_table(reader.sequence.accent)
        classes = engine.vocabulary.classes
        self._things: dict[str, list[Lemma]] = {}
        self._verbs: list[Lemma] = []
        self._articles: dict[str, Lemma] = {}
        self._called: list[str] = []
        self._groups: dict[tuple[str, ...], tuple[list[Lemma], ...]] = {}
        region = self.rules.regions.get(reader.sequence.accent, "")
        called = self.allowed & self.rules.called
        for lemma in engine.vocabulary.lemmas:
            if lemma.grammar.get("kind") == "article" and lemma.lemma in self.allowed:
                self._articles[lemma.lemma] = lemma
            if lemma.region not in ("", region) or lemma.known == "later":
                continue
            if lemma.pos == "noun" and lemma.lemma in called:
                self._called.append(lemma.lemma.capitalize())
            elif (
                lemma.pos == "noun" and lemma.lemma in self.allowed and not self.rules.avoid.intersection(lemma.classes)
            ):
                found = [c for name in lemma.classes for c in classes.above(name)]
                for key in dict.fromkeys([*found, f"={lemma.lemma}"]):
                    self._things.setdefault(key, []).append(lemma)
            elif lemma.pos == "verb" and any(text in self.allowed for text in lemma.forms.values()):
                self._verbs.append(lemma)

    def sentences(self, count: int, chance: random.Random) -> tuple[Sentence, ...]:
        """So many sentences at most, those that practise most first, varied; each passes the checker."""
        made = list(islice(self._made(chance), _LOOKED_AT))
        made.sort(key=lambda found: -found.worth)
        out: list[Sentence] = []
        used: set[str] = set()
        for varied in (True, False):
            ways: set[str] = set()
            for found in made:
                fresh = {found.verb, *(w for w in found.sentence.words if w in self.practised)}
                if len(out) == count or fresh & used or (varied and found.way in ways):
                    continue
                if self._fit(found.sentence):
                    used |= fresh
                    ways.add(found.way)
                    out.append(found.sentence)
        for pattern in self.rules.fixed:
            sentence = Sentence(pattern.text, pattern.ask, _words(pattern.text))
            if len(out) < count and self.allowed.issuperset(sentence.words) and self._fit(sentence):
                out.append(sentence)
        return tuple(out)

    def _fit(self, sentence: Sentence) -> bool:
        """Whether the checker flags nothing in it."""
        return not self.engine.check(sentence.text, self.reader).flagged

    # ------------------------------------------------------------------ making
    def _made(self, chance: random.Random) -> Iterator[_Found]:
        """Sentences in an order drawn by chance, of verbs known early first."""
        ways = [p for p in self.rules.patterns if self.allowed.issuperset(_words(_HOLE.sub("", p.text)))]
        choices = [
            (v, f, w)
            for v in self._verbs
            for f in v.frames
            for w in ways
            if v.forms.get(w.form) in self.allowed and not (w.deed and v.lemma in self.rules.states)
        ]
        chance.shuffle(choices)
        choices.sort(key=lambda choice: choice[0].known)
        for verb, frame, way in choices:
            found = self._filled(way, frame, verb, chance)
            if found is not None:
                yield found

    def _filled(self, way: Pattern, frame: Frame, verb: Lemma, chance: random.Random) -> _Found | None:
        if any(c in COMPLEMENTS for s in frame.slots for c in s.choices):
            return None
        used: set[str] = set()
        subject = self._subject(frame.subject, used, chance)
        parts = [self._slot(slot, used, chance) for slot in frame.slots] if subject else [None]
        if subject is None or any(part is None for part in parts):
            return None
        name, who = subject
        if way.alive and who == "What":
            return None
        holes = {"subject": name, "rest": " ".join(p for p in parts if p), "who": who, way.form: verb.forms[way.form]}
        text = _tidy(_HOLE.sub(lambda m: holes[m[1]], way.text))
        words = _words(text)
        rules = practice_rules()
        lengths = range(rules.number("dictation", "least"), rules.number("dictation", "most") + 1)
        content = [w for w in words if w not in self._articles]
        if len(words) not in lengths or len(set(content)) < len(content):
            return None
        practised = sum(w in self.practised for w in words)
        sure = sum(f"={noun}" in s.choices for s in (frame.subject, *frame.slots) for noun in used)
        worth = 2 * min(practised, 2) + sure - 0.2 * max(0, len(words) - 6)
        sentence = Sentence(text, _tidy(_HOLE.sub(lambda m: holes[m[1]], way.ask)), words)
        return _Found(sentence, verb.lemma, way.text, worth)

    def _subject(self, slot: Slot, used: set[str], chance: random.Random) -> tuple[str, str] | None:
        """Who or what does it, and how to ask for it."""
        if EMPTY_IT in slot.choices:
            return ("it", "What") if "it" in self.allowed else None
        people = "person" in slot.choices
        named: list[str] = []
        if people:
            named = [*self._called, *sorted(n.capitalize() for n in self.reader.names)]
        if named and chance.random() < 0.5:
            name = chance.choice(named)
            used.add(name.lower())
            return name, "Who"
        noun = self._noun(slot.choices, used, chance, one=True)
        if noun is None:
            return None
        alive = "being" in {c for name in noun.classes for c in self.engine.vocabulary.classes.above(name)}
        phrase = self._phrase(noun, chance)
        return (phrase, "Who" if alive else "What") if phrase else None

    def _slot(self, slot: Slot, used: set[str], chance: random.Random) -> str | None:
        """A slot's words, its preposition first; ``None`` where there are none."""
        preposition = slot.preposition.replace("-", " ")
        if any(word not in self.allowed for word in preposition.split()):
            return None
        if not slot.choices:
            return preposition
        noun = self._noun(slot.choices, used, chance)
        phrase = self._phrase(noun, chance) if noun else ""
        return f"{preposition} {phrase}".strip() if phrase else None

    def _noun(
        self, choices: tuple[str, ...], used: set[str], chance: random.Random, *, one: bool = False
    ) -> Lemma | None:
        """A noun of the classes: one that is practised where there is one, then one that the verb's frame names."""
        groups = self._groups.get(choices)
        if groups is None:
            every = {n.lemma: n for c in choices for n in self._things.get(c, ())}
            named = [n for n in every.values() if f"={n.lemma}" in choices]
            early = [n for n in every.values() if n.known == "early"]
            practised = [[n for n in group if n.lemma in self.practised] for group in (named, early)]
            groups = self._groups[choices] = (*practised, named, early, list(every.values()))
        for group in groups:
            free = [n for n in group if n.lemma not in used and not (one and n.plural_only)]
            if free:
                noun = chance.choice(free)
                used.add(noun.lemma)
                return noun
        return None

    def _phrase(self, noun: Lemma, chance: random.Random) -> str:
        """A noun with an article that may stand with it; empty where it needs one that is not known."""
        if not noun.count:
            fit = [a.lemma for a in self._articles.values() if "mass" in a.grammar["with"]]
            return f"{fit[0]} {noun.lemma}" if fit else noun.lemma
        vowel = is_vowel(self._table.sounds[self._table.index[noun.lemma]].partition(" ")[0])
        wrong = "consonant" if vowel else "vowel"
        choices = [a.lemma for a in self._articles.values() if a.grammar.get("before") != wrong]
        return f"{chance.choice(choices)} {noun.lemma}" if choices else ""


def _words(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r"[a-z']+", text.lower()))


def _tidy(text: str) -> str:
    """One space between words, none before the mark at the end, a capital at the start."""
    clean = re.sub(r"\s+([.?!])", r"\1", " ".join(text.split()))
    return clean[:1].upper() + clean[1:]
