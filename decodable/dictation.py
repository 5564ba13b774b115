"""Dictation: words and sentences whose spelling is settled for a reader.

In go the engine, a reader and what is practised; out comes a :class:`Dictation`. Words come from
:func:`~decodable.settled.settled_words`, sentences from :class:`~decodable.sentences.SentenceMaker`, which may also use
words taught whole.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from decodable.practice import patterns_of, seeded, target_phrases, target_words
from decodable.practice_rules import practice_rules
from decodable.readers import Reader
from decodable.sentences import SentenceMaker
from decodable.settled import settled_words
from decodable.words import OfferedWord, Query

if TYPE_CHECKING:
    from decodable.engine import Engine


@dataclass(frozen=True, slots=True)
class DictationSentence:
    """A sentence to dictate."""

    text: str
    """As it is printed."""
    question: str
    """What an adult may ask about it."""
    whole: tuple[str, ...]
    """Its words that were taught whole, and are not spelled by sound."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"text": self.text, "question": self.question, "whole": list(self.whole)}


@dataclass(frozen=True, slots=True)
class Dictation:
    """Words and sentences to dictate."""

    target: tuple[str, ...]
    """What is practised, as phrases."""
    words: tuple[OfferedWord, ...]
    """Words with the target, then others, each sound with a settled spelling."""
    sentences: tuple[DictationSentence, ...]
    """Sentences, those with the target first; none where no sentence can be made yet."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "target": list(self.target),
            "words": [w.to_dict() for w in self.words],
            "sentences": [s.to_dict() for s in self.sentences],
        }


def dictation(
    engine: Engine,
    reader: Reader,
    *,
    target: Iterable[str] = (),
    words: int | None = None,
    sentences: int | None = None,
    seed: int = 0,
) -> Dictation:
    """A dictation for a reader.

    Args:
        engine: the engine.
        reader: who writes.
        target: phrases to practise; what the reader's step teaches where left out.
        words: how many words; as the settings say where left out.
        sentences: how many sentences; as the settings say where left out.
        seed: 0 for the clearest words, another number for others.
    """
    index, rules = engine.words(reader), practice_rules()
    words = rules.number("dictation", "words") if words is None else words
    sentences = rules.number("dictation", "sentences") if sentences is None else sentences
    phrases = target_phrases(index, target)
    settled = settled_words(index, phrases)
    chosen = target_words(index, phrases, words, seed=seed, within=settled)
    if len(chosen) < words:
        rest = settled & ~index.using(patterns_of(phrases))
        order = "new" if reader.step else "clear"
        more = index.find(Query(order=order, base=True, limit=words - len(chosen)), rest)
        chosen = (*chosen, *more)
    in_sentence = settled_words(index, phrases, alone=False)
    whole = index.whole <= index.step
    texts = index.table.words
    allowed = {texts[n] for n in np.flatnonzero(in_sentence | whole).tolist()}
    practised = {texts[n] for n in np.flatnonzero(in_sentence & index.using(patterns_of(phrases))).tolist()}
    made: list[DictationSentence] = []
    if sentences:
        maker = SentenceMaker(engine, reader, allowed, practised)
        chance = seeded(seed, "sentences") or random.Random("sentences")
        for sentence in maker.sentences(sentences, chance):
            told = [w for w in sentence.words if w in index.table.index and not in_sentence[index.table.index[w]]]
            made.append(DictationSentence(sentence.text, sentence.question, tuple(dict.fromkeys(told))))
    return Dictation(tuple(p.text for p in phrases), chosen, tuple(made))
