"""A week's lesson for a reader: sounds, blending, words, chain, made-up words, dictation, a passage, two questions.

In go the engine and a reader with a step; out comes a :class:`Lesson`. Everything in it can be read by this reader, and
the passage, where there is one, is checked for this reader; what had to be left out is said in ``notes``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from decodable import resources
from decodable.accents import accent, transcribed
from decodable.chains import chain
from decodable.dictation import Dictation, dictation
from decodable.errors import DecodableError
from decodable.made_up import made_up
from decodable.practice import (
    PracticeWords,
    blending_order,
    drawn,
    in_turn,
    patterns_of,
    practice_words,
    readable,
    seeded,
    target_phrases,
)
from decodable.practice_rules import LessonPart, practice_rules, sayings
from decodable.readers import Reader
from decodable.review import FluencyGrid, fluency_grid
from decodable.sequence import Phrase
from decodable.sound_boxes import SoundBoxes, SoundWork
from decodable.source import read_source
from decodable.words import Query, WordIndex

if TYPE_CHECKING:
    from decodable.engine import Engine

_FACTS = re.compile(r"^---\n(.*?)\n---\n", re.DOTALL)


@dataclass(frozen=True, slots=True)
class SoundCard:
    """One correspondence to say."""

    pattern: str
    """As it is taught: ``ea as in sea``."""
    letters: str
    """Its letters."""
    ipa: str
    """Its sound in phonetic letters."""
    written: str
    """Its sound as teachers write it, without slashes."""
    kind: str
    """held, stop or short."""
    say: str
    """How to say it without an added vowel."""
    keyword: str
    """A word that this reader can read, one to picture where there is one."""
    new: bool
    """Whether it is new this week, or comes back."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A passage that this reader can read."""

    title: str
    """Its title."""
    text: str
    """Its text, as Markdown, without the title."""
    told: tuple[str, ...]
    """Words that an adult says."""


@dataclass(frozen=True, slots=True)
class LessonDay:
    """One day."""

    number: int
    """From 1."""
    words: tuple[str, ...]
    """Words to read: with the target, then others."""
    dictated: tuple[str, ...]
    """Words to dictate."""
    sentence: str
    """A sentence to dictate; empty where none can be made yet."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A week."""

    reader: Reader
    """Who it is for."""
    target: tuple[str, ...]
    """What it practises, as phrases."""
    whole: tuple[str, ...]
    """Words to teach whole this week."""
    parts: tuple[LessonPart, ...]
    """The parts of a day, with minutes."""
    sounds: tuple[SoundCard, ...]
    """The new sounds, then those that come back."""
    blending: tuple[SoundBoxes, ...]
    """Words in sound boxes."""
    words: PracticeWords
    """Words with the target, then a mixed review."""
    chain: tuple[str, ...]
    """A word chain; empty where there is none."""
    made_up: tuple[tuple[str, tuple[str, ...]], ...]
    """Made-up words, each with its plausible readings in phonetic letters, the likeliest first."""
    dictation: Dictation
    """Words and sentences."""
    grid: FluencyGrid | None
    """A fluency grid, where there are words enough."""
    passage: Passage | None
    """A passage, where one can be read."""
    questions: tuple[str, ...]
    """Two questions for the adult to ask."""
    days: tuple[LessonDay, ...]
    """The words of each day."""
    notes: tuple[str, ...]
    """What was left out, and why."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        reader = self.reader
        return {
            "format": 1,
            "sequence": reader.sequence.name,
            "step": reader.step,
            "step_id": reader.step_id,
            "target": list(self.target),
            "whole": list(self.whole),
            "parts": [{"id": p.id, "title": p.title, "minutes": p.minutes} for p in self.parts],
            "sounds": [{name: getattr(card, name) for name in SoundCard.__slots__} for card in self.sounds],
            "blending": [boxes.to_dict() for boxes in self.blending],
            "words": self.words.to_dict(),
            "chain": list(self.chain),
            "made_up": [{"word": word, "readings": list(said)} for word, said in self.made_up],
            "dictation": self.dictation.to_dict(),
            "grid": self.grid.to_dict() if self.grid else None,
            "passage": (
                {"title": self.passage.title, "text": self.passage.text, "told": list(self.passage.told)}
                if self.passage
                else None
            ),
            "questions": list(self.questions),
            "days": [
                {"day": d.number, "words": list(d.words), "dictated": list(d.dictated), "sentence": d.sentence}
                for d in self.days
            ],
            "notes": list(self.notes),
        }


def lesson(engine: Engine, reader: Reader, *, target: Iterable[str] = (), seed: int = 0) -> Lesson:
    """A week for a reader and a target.

    Args:
        engine: the engine.
        reader: who it is for; a step must be stated.
        target: phrases to practise; what the step teaches where left out.
        seed: 0 for the clearest words, another number for others.
    """
    if not reader.step:
        raise DecodableError("A lesson is for a step: state the step, too.")
    index, rules, notes = engine.words(reader), practice_rules(), list[str]()
    asked = tuple(target)
    phrases = target_phrases(index, asked)
    days = rules.number("lesson", "days")
    words = practice_words(index, asked, seed=seed)
    dictated = rules.number("lesson", "dictated")
    spoken = dictation(engine, reader, target=asked, words=2 * dictated, sentences=days, seed=seed)
    if not spoken.sentences:
        notes.append("No sentence to dictate: no verb can be read and spelled yet.")
    work = SoundWork(index)
    blending = sorted((*words.new, *words.review), key=blending_order(index))[: rules.number("lesson", "boxes")]
    grid = None
    if len(words.new) + len(words.review) > 1:
        grid = fluency_grid(index, target=asked, seed=seed)
    else:
        notes.append("No fluency grid: it needs two words or more.")
    passage = _passage(engine, reader, asked or tuple(p.text for p in phrases))
    if passage is None:
        notes.append("No passage: none of the library can be read at this step.")
    chain = _chain(index, phrases[0].text if phrases else "", seed, notes)
    made_up = _made_up(engine, reader, seed, notes)
    return Lesson(
        reader,
        tuple(p.text for p in phrases),
        reader.sequence.steps[reader.step - 1].words,
        rules.parts,
        _sounds(index, phrases),
        tuple(work.boxes(word.word) for word in blending),
        words,
        chain,
        made_up,
        spoken,
        grid,
        passage,
        _questions(passage, spoken, seed),
        _days(words, spoken, days),
        tuple(notes),
    )


# ---------------------------------------------------------------------- sounds
def _sounds(index: WordIndex, phrases: Sequence[Phrase]) -> tuple[SoundCard, ...]:
    """Cards for the target, then for what comes back this week."""
    rules, steps = practice_rules(), index.judge.reader.sequence.steps
    most = rules.number("lesson", "cards")
    fresh = patterns_of(phrases)
    back = in_turn([patterns_of(steps[index.step - gap - 1].teach) for gap in rules.gaps if index.step > gap])
    cards: dict[tuple[str, str], SoundCard] = {}
    for pattern in dict.fromkeys((*fresh, *back)):
        card = _card(index, pattern, pattern in fresh) if len(cards) < most else None
        if card is not None:
            cards.setdefault((card.letters, card.written), card)
    return tuple(cards.values())


def _card(index: WordIndex, pattern: str, new: bool) -> SoundCard | None:
    """A card for a correspondence; ``None`` for any other pattern, and where no word has it."""
    known = index.judge.lexicon.teaching.patterns.get(pattern)
    if known is None or known.kind != "correspondence":
        return None
    asked = index.using([pattern]) & (index.table.column("syllables") > 0)
    within = asked & readable(index)
    found = index.find(Query(picture=True, base=True, limit=1), within) or index.find(Query(limit=1), within)
    numbers = [index.table.index[found[0].word.lower()]] if found else np.flatnonzero(asked).tolist()
    if not numbers:
        return None
    reading = index.judge.finder.readings(index.table.words[numbers[0]])[0]
    signs, _ = transcribed(reading, accent(index.judge.lexicon.accent))
    grapheme, sign = next((g, s) for g, s in zip(reading.graphemes, signs, strict=True) if g.pattern == pattern)
    if not grapheme.sounds:
        return None
    said = sayings().of(grapheme.sounds)
    keyword = found[0].word if found else ""
    return SoundCard(pattern, grapheme.letters, sign, said.written, said.kind, said.say, keyword, new)


# ---------------------------------------------------------------------- chain, made-up words, passage
def _chain(index: WordIndex, pattern: str, seed: int, notes: list[str]) -> tuple[str, ...]:
    """A chain that uses the pattern where it can; empty, with a note, where there is none."""
    try:
        length = practice_rules().number("lesson", "chain")
        words = chain(index, length=length, seed=seed, pattern=pattern).words
    except DecodableError as error:
        notes.append(f"No word chain: {error}")
        return ()
    if len(words) < 2:
        notes.append("No word chain: no two words that can be read differ by one sound.")
        return ()
    return words


def _made_up(engine: Engine, reader: Reader, seed: int, notes: list[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Made-up words with their readings; none, with a note, where there are none."""
    try:
        found = made_up(engine, reader, count=practice_rules().number("lesson", "made_up"), seed=seed)
    except DecodableError as error:
        notes.append(f"No made-up words: {error}")
        return ()
    if not found:
        notes.append("No made-up words: none that sounds like no real word can be made of what is taught.")
    return tuple((item.word, tuple(said.ipa for said in item.readings)) for item in found)


def _passage(engine: Engine, reader: Reader, target: Sequence[str]) -> Passage | None:
    """The passage that practises the target most, of those with nothing flagged and no word that is never offered."""
    best: tuple[float, Passage] | None = None
    for path in sorted(resources.passages_dir().glob("*.md")):
        text = read_source(path).text
        head = _FACTS.match(text)
        facts = dict(re.findall(r"^(\w+): *(.*)$", head[1], re.MULTILINE)) if head else {}
        told = tuple(w.strip() for w in facts.get("told", "").strip("[]").split(",") if w.strip())
        allowed = replace(reader, told=reader.told | {w.lower() for w in told})
        report = engine.check(text, allowed, markdown=True, target=target)
        if report.flagged or any(token.key in engine.never_offered for token in report.tokens.types):
            continue
        body = re.sub(r"^\s*# .*\n+", "", text[head.end() :] if head else text)
        same = facts.get("sequence") == reader.sequence.name and facts.get("step") == reader.step_id
        worth = report.target_share + same
        if best is None or worth > best[0]:
            best = (worth, Passage(facts.get("title", path.stem), body.strip(), told))
    return best[1] if best else None


# ---------------------------------------------------------------------- questions and days
def _questions(passage: Passage | None, spoken: Dictation, seed: int) -> tuple[str, ...]:
    """Two questions: about the passage; else about the sentences; else about the words."""
    texts = practice_rules().questions
    if passage:
        return drawn(texts["passage"], 2, seeded(seed, "questions"))
    asked = dict.fromkeys(f"“{s.text}” {s.question}" for s in spoken.sentences)
    return (*asked, *texts["words"])[:2]


def _days(words: PracticeWords, spoken: Dictation, days: int) -> tuple[LessonDay, ...]:
    """The words, dealt out over the days so that each comes up more than once."""
    rules = practice_rules()
    count, dictated = rules.number("lesson", "words"), rules.number("lesson", "dictated")
    new = [w.word for w in words.new]
    review = [w.word for w in words.review if w.word not in new]
    out = []
    for day in range(days):
        fresh = _dealt(new, day, (count + 1) // 2)
        rest = _dealt(review, day, count - len(fresh))
        sentence = spoken.sentences[day % len(spoken.sentences)].text if spoken.sentences else ""
        said = _dealt([w.word for w in spoken.words], day, dictated)
        out.append(LessonDay(day + 1, (*fresh, *rest), said, sentence))
    return tuple(out)


def _dealt(items: Sequence[str], day: int, count: int) -> tuple[str, ...]:
    """So many of the items, going on each day where the day before ended."""
    count = min(count, len(items))
    return tuple(items[(day * count + n) % len(items)] for n in range(count))
