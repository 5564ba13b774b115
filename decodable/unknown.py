"""Words that the dictionary lacks: derived from known parts, or else guessed.

In goes a word; out come readings whose ``source`` says how far to trust them: ``user`` (someone fixed it), ``derived``
(known base and affix, compound of known words, possessive, drawn-out form), ``spelled`` (every grapheme has one
plausible reading), ``predicted`` (a guess: ask a person).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property

from decodable.alignment import VOWEL_LETTERS
from decodable.analysis import Analysed, Analyser
from decodable.lexicon import Lexicon, Rules
from decodable.model import Grapheme, Part, Reading, bare, is_vowel
from decodable.morphology import SIBILANT, VOICELESS, Affix, joins
from decodable.prediction import Prediction, Predictor
from decodable.sounds import Dictionary, Sounds

# A base that hardly anyone writes is more likely a coincidence than a base (Zipf scale).
_BASE = 2.0
_DRAWN_OUT = re.compile(r"(.)\1{2,}")
_MAX_LENGTH = 40


class _Known(Mapping[str, tuple[Sounds, ...]]):
    """Pronunciations as the analyser asks for them, read from the compiled dictionary and the user's own."""

    def __init__(self, lexicon: Lexicon, own: Mapping[str, tuple[Sounds, ...]]) -> None:
        self.lexicon, self.own = lexicon, own

    def __getitem__(self, word: str) -> tuple[Sounds, ...]:
        if word in self.own:
            return self.own[word]
        if word in self.lexicon.index:
            return tuple(r.sounds for r in self.lexicon.readings(word))
        raise KeyError(word)

    def __iter__(self) -> Iterator[str]:
        yield from {**self.lexicon.index, **self.own}

    def __len__(self) -> int:
        return len({**self.lexicon.index, **self.own})


class _Frequency(Mapping[str, float]):
    def __init__(self, lexicon: Lexicon, own: Mapping[str, tuple[Sounds, ...]]) -> None:
        self.lexicon, self.own = lexicon, own

    def __getitem__(self, word: str) -> float:
        # What a user has fixed is a word of theirs, however rare.
        return 7.0 if word in self.own else self.lexicon.frequency(word)

    def __iter__(self) -> Iterator[str]:
        yield from self.lexicon.index

    def __len__(self) -> int:
        return len(self.lexicon.index)


class WordFinder:
    """Readings of any word: the user's, the dictionary's, derived; kept once found."""

    def __init__(self, rules: Rules, lexicon: Lexicon, own: Mapping[str, tuple[Sounds, ...]]) -> None:
        self.rules = rules
        self.lexicon = lexicon
        self.own = own
        dictionary = Dictionary(_Known(lexicon, own), frozenset(own), _Frequency(lexicon, own))
        self.analyser = Analyser(rules.inventory, rules.morphology, dictionary, self._from_lexicon)
        self._found: dict[str, tuple[Reading, ...]] = {}

    def readings(self, word: str) -> tuple[Reading, ...]:
        """The readings of a lower-case word; empty where there is no trustworthy one."""
        found = self._found.get(word)
        if found is None:
            found = self._found[word] = self._find(word)
        return found

    def _from_lexicon(self, word: str) -> tuple[Analysed, ...] | None:
        if word in self.own or word not in self.lexicon.index:
            return None
        return tuple(Analysed(r.sounds, r.graphemes, r.parts) for r in self.lexicon.readings(word))

    def _find(self, word: str) -> tuple[Reading, ...]:
        if word in self.own:
            return tuple(replace(r, source="user") for r in self.analyser.readings(word))
        if word in self.lexicon.index:
            return self.lexicon.readings(word)
        if len(word) > _MAX_LENGTH or not word.replace("'", "").isascii() or not word.replace("'", "").isalpha():
            return ()
        if "'" in word:
            return self._possessive(word)
        derived = next((d for d in self._derivations(word)), None)
        if derived is not None:
            return (self.analyser.reading(word, derived, "derived"),)
        return self._drawn_out(word) or self._predicted(word)

    # ------------------------------------------------------------------ guessed
    @cached_property
    def _predictor(self) -> Predictor | None:
        """What guesses words; ``None`` where only the words of a page have been compiled."""
        names = [name for name in self.lexicon.arrays if name.startswith("predict_")]
        columns = {name: self.lexicon.column(name) for name in names}
        return Predictor(columns, self.rules.inventory) if columns else None

    def _predicted(self, word: str) -> tuple[Reading, ...]:
        """Read as spelled, where every grapheme has one plausible reading; else the likeliest readings."""
        if VOWEL_LETTERS.isdisjoint(word) or self._predictor is None:
            return ()
        certain = self._predictor.single_reading(word)
        if certain is not None:
            return (self._reading(word, certain, "spelled"),)
        guesses = (p for p in self._predictor.predict(word, 3) if any(map(is_vowel, p.sounds)))
        return tuple(self._reading(word, p, "predicted") for p in guesses)

    def _reading(self, word: str, found: Prediction, source: str) -> Reading:
        return self.analyser.reading(word, Analysed(found.sounds, found.graphemes, found.parts), source)

    # ------------------------------------------------------------------ derived
    def _derivations(self, word: str) -> Iterator[Analysed]:
        morphology = self.rules.morphology
        for affix in morphology.suffixes:
            for join in sorted(joins(word, affix), key=lambda j: -self._frequency(j.base)):
                if len(join.base) > 2 and self._frequency(join.base) >= _BASE:
                    for sounds in self._suffixed_sounds(join.base, affix, join.how):
                        found = self.analyser.suffixed_on(word, sounds, affix, join)
                        if found is not None:
                            yield found
        for affix in morphology.prefixes:
            base = word[len(affix.letters) :]
            long_enough = len(base) > 2 or base in morphology.compound_short
            if word.startswith(affix.letters) and long_enough and self._frequency(base) >= _BASE:
                for rest in self._base(base):
                    found = self.analyser.prefixed_on(word, (*affix.sounds[0], *rest.sounds), affix)
                    if found is not None:
                        yield found
        yield from self._compounds(word)

    def _frequency(self, word: str) -> float:
        return 7.0 if word in self.own else self.lexicon.frequency(word)

    def _base(self, word: str) -> tuple[Analysed, ...]:
        return self.analyser.analysed(word)

    def _suffixed_sounds(self, base: str, affix: Affix, how: str) -> Iterator[Sounds]:
        for found in self._base(base)[:1]:
            head = found.sounds
            tail = _voiced_tail(head, affix) if affix.voicing else affix.sounds[0]
            if how == "le to ly":
                yield (*head[:-2], head[-1], *tail[1:])
            elif affix.letters == "ly" and head[-1] == "L":
                yield (*head, *tail[1:])
            else:
                yield (*head, *tail)

    def _compounds(self, word: str) -> Iterator[Analysed]:
        rules = self.rules.morphology
        best: tuple[float, Analysed] | None = None
        for k in range(2, len(word) - 1):
            a, b = word[:k], word[k:]
            if (k == 2 and a not in rules.compound_short) or (len(b) == 2 and b not in rules.compound_short):
                continue
            weight = min(self._frequency(a), self._frequency(b))
            if weight < rules.compound_base or (best is not None and weight <= best[0]):
                continue
            for first in self._base(a)[:1]:
                for second in self._base(b)[:1]:
                    sounds = (*first.sounds, *(s.replace("1", "2") for s in second.sounds))
                    found = self.analyser.compound_of(a, b, sounds)
                    if found is not None:
                        best = (weight, found)
        if best is not None:
            yield best[1]

    def _possessive(self, word: str) -> tuple[Reading, ...]:
        """*Sam's, Jess's, boys'*: the base with /s/, /z/ or /iz/; no surer than the base."""
        base = word[:-2] if word.endswith("'s") else word[:-1] if word.endswith("s'") else ""
        if not base or "'" in base:
            return ()
        part = Part(word[len(base) :], "possessive", word[len(base) :])
        out: list[Reading] = []
        for reading in self.readings(base)[:1]:
            source = reading.source if reading.source in ("spelled", "predicted") else "derived"
            tail = _tail_s(reading.sounds) if word.endswith("'s") else ()
            item = self.analyser.aligner.single("s", tail[-1:], suffix=True)
            mark = Grapheme("s", (len(word) - 1,), tail, item.pattern, "possessive", "possessives") if item else None
            marks = (mark,) if mark and tail else ()
            sounds = (*reading.sounds, *tail)
            found = Analysed(sounds, (*reading.graphemes, *marks), (*reading.parts, part))
            out.append(self.analyser.reading(word, found, source))
        return tuple(out)

    # ------------------------------------------------------------------ drawn out
    def _drawn_out(self, word: str) -> tuple[Reading, ...]:
        """*sooo*, *nooo*: read as the word that it draws out, its letters shared out anew."""
        if not _DRAWN_OUT.search(word):
            return ()
        for letters in (r"\1", r"\1\1"):
            plain = _DRAWN_OUT.sub(letters, word)
            for reading in self.readings(plain)[:1]:
                if len(plain) > 1 and (self._frequency(plain) >= 3.0 or plain in self.own):
                    return (_stretched(reading, word, plain),)
        return ()


def _tail_s(sounds: Sounds) -> Sounds:
    last = bare(sounds[-1])
    if last in SIBILANT:
        return ("AH0", "Z")
    return ("S",) if last in VOICELESS else ("Z",)


def _voiced_tail(sounds: Sounds, affix: Affix) -> Sounds:
    if affix.letters != "ed":
        return _tail_s(sounds)
    last = bare(sounds[-1])
    if last in ("T", "D"):
        return ("AH0", "D")
    return ("T",) if last in VOICELESS or last in ("S", "SH", "CH") else ("D",)


def _stretched(reading: Reading, word: str, plain: str) -> Reading:
    """The plain word's graphemes over the letters of the drawn-out one."""
    places: list[list[int]] = []
    at = 0
    for i, letter in enumerate(plain):
        last_of_run = i + 1 == len(plain) or plain[i + 1] != letter
        run = [at]
        while last_of_run and at + 1 < len(word) and word[at + 1] == letter:
            at += 1
            run.append(at)
        places.append(run)
        at += 1
    graphemes = tuple(
        replace(
            g,
            at=tuple(p for a in g.at for p in places[a]),
            letters=g.letters if "-" in g.letters else "".join(word[p] for a in g.at for p in places[a]),
            note=g.note or f"drawn out: {plain}",
        )
        for g in reading.graphemes
    )
    part = Part(word, "base", plain)
    return replace(reading, word=word, source="derived", graphemes=graphemes, parts=(part,))
