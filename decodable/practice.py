"""What practice is about: the patterns aimed at, the words that use them, and a mixed review of what came before.

In go a reader's :class:`~decodable.words.WordIndex` and phrases; out come words, in the order in which a teacher would
take them. Everything takes a seed: 0 gives the clearest words, another number another choice among the clear ones.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from decodable.errors import DecodableError
from decodable.model import bare
from decodable.practice_rules import practice_rules, sayings
from decodable.sequence import Phrase
from decodable.words import OfferedWord, Query, WordIndex

# With a seed, words are drawn from so many times as many of the clearest.
_WIDER = 3
Flags = npt.NDArray[np.bool_]
Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class PracticeWords:
    """A list in practice order."""

    target: tuple[str, ...]
    """What it is about, as phrases."""
    new: tuple[OfferedWord, ...]
    """Words that use it."""
    review: tuple[OfferedWord, ...]
    """Words of the steps before, mixed."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "target": list(self.target),
            "new": [word.to_dict() for word in self.new],
            "review": [word.to_dict() for word in self.review],
        }


def seeded(seed: int, *what: object) -> random.Random | None:
    """Random numbers for one purpose, the same for the same seed whatever else was drawn; none for seed 0."""
    return random.Random(" ".join(map(str, (seed, *what)))) if seed else None


def target_phrases(index: WordIndex, target: Iterable[str] = ()) -> tuple[Phrase, ...]:
    """The phrases aimed at: those given, or what the reader's step teaches.

    A step that teaches nothing but whole words aims at what the last step before it taught.
    """
    given = tuple(index.phrases.parse(text) for text in target)
    if given:
        return given
    reader = index.judge.reader
    if not reader.step:
        raise DecodableError("Say what to practise: state the step, or a target such as --target sh.")
    steps = reader.sequence.steps[: reader.step]
    return next((step.teach for step in reversed(steps) if step.teach), ())


def readable(index: WordIndex) -> Flags:
    """Words that the reader can sound out as the table shows them, words without a vowel left out; bool [words]."""
    found: Flags = (index.shown <= index.step) & (index.table.column("syllables") > 0)
    return found


def patterns_of(phrases: Iterable[Phrase]) -> tuple[str, ...]:
    """The patterns that phrases mean, each once."""
    return tuple(dict.fromkeys(p for phrase in phrases for p in phrase.patterns))


def practice_words(
    index: WordIndex,
    target: Iterable[str] = (),
    *,
    new: int | None = None,
    review: int | None = None,
    seed: int = 0,
) -> PracticeWords:
    """Words with the target first, the shortest first while blending is new, then a mixed review.

    Args:
        index: the reader's words.
        target: phrases; what the reader's step teaches where left out.
        new: how many words with the target; as the settings say where left out.
        review: how many words of steps before.
        seed: 0 for the clearest words, another number for others.
    """
    rules, phrases = practice_rules(), target_phrases(index, target)
    aimed = index.using(patterns_of(phrases)) & readable(index)
    fresh = target_words(index, phrases, rules.number("words", "new") if new is None else new, seed=seed)
    count = rules.number("words", "review") if review is None else review
    order = "new" if index.judge.reader.step else "clear"
    rest = index.find(Query(order=order, base=True, limit=_WIDER * count or 1), readable(index) & ~aimed)
    return PracticeWords(tuple(p.text for p in phrases), fresh, drawn(distinct(rest), count, seeded(seed, "review")))


def target_words(
    index: WordIndex,
    phrases: Sequence[Phrase],
    count: int,
    *,
    seed: int = 0,
    within: Flags | None = None,
    base: bool = False,
) -> tuple[OfferedWord, ...]:
    """Words that use the phrases, in turn; while blending is new, words of fewer sounds first.

    Args:
        index: the reader's words.
        phrases: what to practise.
        count: how many words at most.
        seed: 0 for the clearest words.
        within: words to choose from, bool [words]; all readable ones where left out.
        base: only lemmas.
    """
    admitted = readable(index) if within is None else within & readable(index)
    groups: list[list[OfferedWord]] = []
    for phrase in phrases:
        asked = admitted & index.using(phrase.patterns)
        found = distinct(index.find(Query(limit=2 * _WIDER * count or 1, base=base), asked))
        groups.append(list(drawn(found, count, seeded(seed, phrase.text))))
    chosen = distinct(in_turn(groups))[:count]
    return tuple(sorted(chosen, key=blending_order(index)))


def blending_order(index: WordIndex) -> Callable[[OfferedWord], tuple[int, bool]]:
    """A key that orders words while blending is new: fewer sounds first, then those whose first sound is held.

    Later it leaves the order as it is.
    """

    def key(word: OfferedWord) -> tuple[int, bool]:
        if not index.blending_is_new:
            return (0, False)
        return (len(word.sounds), not sayings().of((bare(word.sounds[0]),)).held)

    return key


def in_turn(groups: Sequence[Sequence[Item]]) -> list[Item]:
    """The first of each group, then the second of each ..."""
    longest = max(map(len, groups), default=0)
    return [group[n] for n in range(longest) for group in groups if n < len(group)]


def distinct(words: Iterable[OfferedWord]) -> tuple[OfferedWord, ...]:
    """One word of each lemma, the first one."""
    out: dict[str, OfferedWord] = {}
    spelled: set[str] = set()
    for word in words:
        if word.lemma not in out and word.word not in spelled:
            out[word.lemma] = word
            spelled.add(word.word)
    return tuple(out.values())


def drawn(items: Sequence[Item], count: int, chance: random.Random | None) -> tuple[Item, ...]:
    """So many of the first items, in their order: with seed 0 the very first ones, else some of the first few."""
    wider = items[: _WIDER * count]
    if chance is None or len(wider) <= count:
        return tuple(wider[:count])
    return tuple(wider[i] for i in sorted(chance.sample(range(len(wider)), count)))
