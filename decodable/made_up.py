"""Made-up words for a reader: legal spellings of what has been taught, none a real word, none that sounds like one.

In go a reader and a number; out come :class:`MadeUp` words with their plausible readings, or :class:`Match` pairs of a
made-up and a real word for a check. A made-up word shows how a child sounds out: there is no word to be guessed.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from decodable.accents import accent as load_accent
from decodable.accents import transcribed
from decodable.errors import DecodableError
from decodable.judge import Judge
from decodable.judging import need_steps
from decodable.lexicon import NeedNumbering, NeedTable
from decodable.made_up_rules import MadeUpRules, Piece, load_made_up, spelled
from decodable.model import Reading, bare, is_vowel
from decodable.patterns import Need
from decodable.prediction import Prediction, Predictor
from decodable.real_words import RealWords
from decodable.syllables import shape_of, syllabify

if TYPE_CHECKING:
    from decodable.engine import Engine
    from decodable.readers import Reader
    from decodable.words import OfferedWord, WordIndex

MOST = 200
# A real word for a check is drawn from so many of the clearest.
_CLEAREST = 12
READ_AS_SPELLED = "read as spelled"
Steps = npt.NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Said:
    """One plausible way to read a made-up word."""

    sounds: tuple[str, ...]
    """Phonemes with stress."""
    graphemes: tuple[str, ...]
    """Its letters, grapheme by grapheme; a split digraph as ``a-e``."""
    ipa: str
    """In phonetic letters, in the reader's accent."""
    rhymes: str
    """A word that it rhymes with, so that an adult knows how it is said; empty where there is none."""
    share: float
    """How much of what is spelled like it is read so, 0 to 1."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "sounds": list(self.sounds),
            "graphemes": list(self.graphemes),
            "ipa": self.ipa,
            "rhymes": self.rhymes,
            "share": round(self.share, 2),
        }


@dataclass(frozen=True, slots=True)
class MadeUp:
    """A word that is none."""

    word: str
    readings: tuple[Said, ...]
    """Plausible readings, the likeliest first. Every one is right."""
    shape: str
    """Consonant and vowel sounds."""
    first_step: int
    """The step from which this reader can read it."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "word": self.word,
            "made_up": True,
            "readings": [r.to_dict() for r in self.readings],
            "shape": self.shape,
            "first_step": self.first_step,
        }


@dataclass(frozen=True, slots=True)
class Match:
    """A made-up word and a real one of the same shape with the same vowel."""

    made_up: MadeUp
    real: OfferedWord

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {"made_up": self.made_up.to_dict(), "real": self.real.to_dict()}


def made_up(
    engine: Engine,
    reader: Reader,
    *,
    count: int = 10,
    seed: int = 0,
    pattern: str | None = None,
    two_ways: bool = False,
) -> tuple[MadeUp, ...]:
    """Made-up words for a reader, what this step teaches first, vowels and starts varied.

    Args:
        engine: the dictionary.
        reader: who is to read them.
        count: how many; fewer come back where fewer exist.
        seed: the same seed gives the same words.
        pattern: a phrase of a sequence that each of them is to have.
        two_ways: also words that may be said in more than one way (*floost*), every one of which has been taught. The
            checker calls those unknown, since it cannot tell how they are meant.
    """
    if not 1 <= count <= MOST:
        raise DecodableError(f"Ask for 1 to {MOST} made-up words, not {count}.")
    return maker(engine, reader.sequence.accent).make(
        engine.judge(reader), count, random.Random(seed), pattern, two_ways
    )


def matched(
    engine: Engine, reader: Reader, *, count: int = 10, seed: int = 0, pattern: str | None = None
) -> tuple[Match, ...]:
    """Made-up words, each with a real word of the same shape with the same vowel, for a check of sounding out."""
    rng, index = random.Random(seed), engine.words(reader)
    found = made_up(engine, reader, count=min(2 * count, MOST), seed=seed, pattern=pattern)
    taken: set[str] = set()
    out: list[Match] = []
    for word in found:
        real = _like(index, maker(engine, reader.sequence.accent).vowel_pattern(word.word), word.shape, taken, rng)
        if real is not None:
            taken.add(real.word)
            out.append(Match(word, real))
            if len(out) == count:
                break
    return tuple(out)


def refused(engine: Engine, word: str, accent: str) -> str:
    """Why a word can't serve as a made-up word, whoever reads it; empty where it can."""
    return maker(engine, accent).refused(word.strip().lower())


def _like(index: WordIndex, pattern: str, shape: str, taken: set[str], rng: random.Random) -> OfferedWord | None:
    """A real word with the vowel and shape, one of the clearest that are not yet taken."""
    from decodable.words import Query

    query = Query(pattern=pattern, shape=shape, base=True, limit=60)
    found = [word for word in index.find(query) if word.word not in taken and word.form == "base"]
    return rng.choice(found[:_CLEAREST]) if found else None


@lru_cache(maxsize=4)
def maker(engine: Engine, accent: str) -> Maker:
    """What makes and refuses made-up words in an accent; kept for the next question."""
    return Maker(engine, accent)


class Maker:
    """The spellings that are legal, with what each needs, worked out once for an accent.

    A spelling is a start and a rime (a vowel with an end); its number is that of the start times the number of rimes
    plus that of the rime.
    """

    def __init__(self, engine: Engine, accent: str) -> None:
        self.engine, self.accent = engine, accent
        self.rules: MadeUpRules = load_made_up()
        self.phrases = engine.phrases.in_accent(accent)
        lexicon = engine.dictionary(accent)
        self.real = RealWords(lexicon, engine.never_offered, self.rules)
        columns = {name: lexicon.column(name) for name in lexicon.arrays if name.startswith("predict_")}
        self._predictor = Predictor(columns, engine.rules.inventory)
        self._starts = [s for s in self.rules.starts if s.made]
        self._rimes = [(v, e) for v in self.rules.vowels for e in v.ends if e.made]
        self._plausible: dict[str, tuple[Prediction, ...]] = {}
        self._doubts: dict[str, str] = {}

    @cached_property
    def _words(self) -> list[str]:
        """Every spelling; an empty text where the start may not stand before the rime."""
        rimes = [spelled(v.piece, e) for v, e in self._rimes]
        return ["" if self.rules.barred(s, rime) else s.letters + rime for s in self._starts for rime in rimes]

    @cached_property
    def _said(self) -> list[tuple[str, ...]]:
        """How each spelling is said by its phrases, without stress."""
        heard = {c.pattern: c.sounds[0] for c in reversed(self.engine.rules.inventory.correspondences)}

        def sounds(*pieces: Piece) -> tuple[str, ...]:
            patterns = (self.phrases.parse(phrase).patterns[0] for piece in pieces for phrase in piece.phrases)
            return tuple(bare(sound) for pattern in patterns for sound in heard[pattern])

        starts, rimes = [sounds(s) for s in self._starts], [sounds(v.piece, e) for v, e in self._rimes]
        return [start + rime for start in starts for rime in rimes]

    # ------------------------------------------------------------------ what is open to a reader
    @cached_property
    def _needs(self) -> tuple[NeedTable, list[list[list[int]]], list[list[list[int]]], Steps]:
        """Needs as a table; those of each start and rime, of which any in a group will do; the shape of each pair."""
        needs = NeedNumbering()

        def numbered(piece: Piece, where: str) -> list[list[int]]:
            out = [[needs[Need(pattern=p)] for p in self.phrases.parse(text).patterns] for text in piece.phrases]
            gate = _blend(piece, where)
            three = "three-letter" if where == "initial" and len(piece.phrases) > 2 else where
            return [*out, [needs[Need(gate=gate, family=f"{three} blends")]]] if gate else out

        starts = [numbered(s, "initial") for s in self._starts]
        rimes = [[*numbered(v.piece, ""), *numbered(e, "final")] for v, e in self._rimes]
        shapes = [
            needs[Need(shape=(len(s.phrases), len(e.phrases), _blend(s, "initial"), _blend(e, "final")))]
            for s in self._starts
            for _, e in self._rimes
        ]
        return needs.table(), starts, rimes, np.array(shapes, np.int32)

    def _opens(self, judge: Judge) -> Steps:
        """The step at which a reader can read each spelling, so far as its parts tell, int32 [spellings]."""
        table, starts, rimes, shapes = self._needs
        steps = need_steps(table, judge.now)

        def when(groups: Sequence[Sequence[int]]) -> int:
            return max((min(int(steps[n]) for n in any_of) for any_of in groups), default=0)

        by_start = np.array([when(groups) for groups in starts], np.int32)
        by_rime = np.array([when(groups) for groups in rimes], np.int32)
        by_part: Steps = np.maximum(by_start[:, None], by_rime[None, :]).reshape(-1)
        return np.maximum(by_part, steps[shapes])

    def _with(self, pattern: str) -> npt.NDArray[np.bool_]:
        """Which spellings have what a phrase means, bool [spellings]."""
        wanted = frozenset(self.phrases.parse(pattern).patterns)

        def has(piece: Piece, where: str) -> bool:
            patterns = {p for text in piece.phrases for p in self.phrases.parse(text).patterns}
            return bool(wanted & {*patterns, _blend(piece, where)})

        starts = np.array([has(s, "initial") for s in self._starts])
        rimes = np.array([has(v.piece, "") or has(e, "final") for v, e in self._rimes])
        found: npt.NDArray[np.bool_] = (starts[:, None] | rimes[None, :]).reshape(-1)
        return found

    # ------------------------------------------------------------------ making
    def make(
        self, judge: Judge, count: int, rng: random.Random, pattern: str | None, two_ways: bool
    ) -> tuple[MadeUp, ...]:
        """Made-up words for a reader."""
        step = judge.reader.step or judge.last
        opens = self._opens(judge)
        fit = (opens <= step) & np.array([bool(word) for word in self._words])
        if not two_ways:
            fit &= ~np.tile(np.array([v.two_ways for v, _ in self._rimes]), len(self._starts))
        if pattern:
            fit &= self._with(pattern)
        new = self._shuffled(np.flatnonzero(fit & (opens == step)), rng)
        old = self._shuffled(np.flatnonzero(fit & (opens < step)), rng)
        order = (n for pair in zip_longest(new, old) for n in pair if n is not None)
        # first pass: no start and no rime twice; then whatever is left
        out: dict[str, MadeUp] = {}
        later: list[int] = []
        starts, rimes = set[int](), set[int]()
        for number in order:
            start, rime = divmod(number, len(self._rimes))
            if start in starts or rime in rimes:
                later.append(number)
            elif self._add(out, number, judge, step, two_ways):
                starts.add(start)
                rimes.add(rime)
                if len(out) == count:
                    return tuple(out.values())
        for number in later:
            if self._add(out, number, judge, step, two_ways) and len(out) == count:
                break
        return tuple(out.values())

    def _shuffled(self, numbers: npt.NDArray[np.intp], rng: random.Random) -> Iterator[int]:
        """Spellings in an order of chance in which vowels take turns."""
        by_vowel: dict[str, list[int]] = {}
        for number in numbers.tolist():
            by_vowel.setdefault(self._rimes[number % len(self._rimes)][0].piece.letters, []).append(number)
        for group in by_vowel.values():
            rng.shuffle(group)
        groups = list(by_vowel.values())
        rng.shuffle(groups)
        yield from (n for turn in zip_longest(*groups) for n in turn if n is not None)

    def _add(self, out: dict[str, MadeUp], number: int, judge: Judge, step: int, two_ways: bool) -> bool:
        """Keep a spelling if nothing speaks against it."""
        word = self._words[number]
        if word in out or self.real.same(word) or self.real.sounds_like(self._said[number]):
            return False
        entry = judge.entry(word)
        if entry.allowance == READ_AS_SPELLED:
            first = entry.sounded
        elif two_ways and not entry.trusted and entry.bank is not None:
            first = int(max(entry.bank.readings[entry.rows.start : entry.rows.stop]))
        else:
            return False
        if first > step or self.refused(word):
            return False
        readings = tuple(self._reading(word, p) for p in self.plausible(word))
        out[word] = MadeUp(word, tuple(self._shown(r, p.probability) for r, p in readings), readings[0][0].shape, first)
        return True

    # ------------------------------------------------------------------ refusing
    def refused(self, word: str) -> str:
        """Why a lower-case word can't serve, whoever reads it; empty where it can."""
        found = self._doubts.get(word)
        if found is None:
            found = self._doubts[word] = self._doubt(word)
        return found

    def _doubt(self, word: str) -> str:
        if self.real.same(word):
            return "it is a word or a name"
        own = self.engine.finder(self.accent).readings(word)
        if own and own[0].source == "user":
            return "it is a word or a name of your own"
        illegal = self.rules.illegal(word)
        if illegal:
            return illegal
        if own and own[0].source == "derived":
            return f"it is made of {' and '.join(p.name for p in own[0].parts)}"
        said = [tuple(bare(s) for s in p.sounds) for p in self.plausible(word)]
        if not said:
            return "nobody would read it as one syllable"
        unfit = self.engine.never_offered.unfit_made_up(word, said)
        if unfit:
            return unfit
        like = next(filter(None, map(self.real.sounds_like, said)), "")
        return f"it sounds like {like}" if like else ""

    # ------------------------------------------------------------------ readings
    def plausible(self, word: str) -> tuple[Prediction, ...]:
        """The readings that are plausible by the rules, those that sound alike once.

        The one that follows from what is taught (read as spelled) comes first, then the likeliest.
        """
        found = self._plausible.get(word)
        if found is None:
            alike, heard = self.rules.alike[1], dict[str, Prediction]()
            known = self.engine.finder(self.accent).readings(word)
            taught = next((r for r in known if r.source == "spelled"), None)
            spelled_so = alike.key([bare(s) for s in taught.sounds]) if taught else ""
            for p in self._predictor.predict(word):
                key = alike.key([bare(s) for s in p.sounds])
                plausible = p.probability >= self.rules.least or key == spelled_so or not heard
                if sum(map(is_vowel, p.sounds)) == 1 and plausible:
                    heard.setdefault(key, p)
            if taught is not None:
                heard.setdefault(spelled_so, Prediction(taught.graphemes, taught.sounds, taught.parts, 0.0))
            ordered = sorted(heard, key=lambda key: key != spelled_so)
            found = self._plausible[word] = tuple(heard[key] for key in ordered[: self.rules.most])
        return found

    def _reading(self, word: str, p: Prediction) -> tuple[Reading, Prediction]:
        syllables, shape = syllabify(word, p.graphemes, p.parts), shape_of(word, p.graphemes, p.parts)
        return Reading(word, p.sounds, "spelled", p.graphemes, p.parts, syllables, shape), p

    def _shown(self, reading: Reading, share: float) -> Said:
        _, ipa = transcribed(reading, load_accent(self.accent))
        rime = _rime(reading.sounds)
        rhymes = self._rhymes.get((_rime_letters(reading.word), rime)) or self._rhymes.get(("", rime), "")
        return Said(reading.sounds, tuple(g.letters for g in reading.graphemes), ipa, rhymes, share)

    @cached_property
    def _rhymes(self) -> dict[tuple[str, tuple[str, ...]], str]:
        """The commonest word of one syllable with each rime: by its letters and sounds, and by its sounds alone."""
        table = self.engine.word_table(self.accent)
        out: dict[tuple[str, tuple[str, ...]], str] = {}
        fit = (table.column("syllables") == 1) & (table.column("sound_count") > 1)
        numbers = np.flatnonzero(fit)
        for number in numbers[np.argsort(-table.column("frequency")[numbers], kind="stable")].tolist():
            rime, word = _rime(table.sounds[number].split()), table.words[number]
            out.setdefault(("", rime), word)
            out.setdefault((_rime_letters(word), rime), word)
        return out

    def vowel_pattern(self, word: str) -> str:
        """The correspondence of the vowel in the likeliest reading of a made-up word."""
        return next(g.pattern for g in self.plausible(word)[0].graphemes if any(map(is_vowel, g.sounds)))


def _blend(piece: Piece, where: str) -> str:
    """The gate of a start or an end of several consonants; empty for one."""
    if len(piece.phrases) < 2 or not where:
        return ""
    return f"{piece.letters}-" if where == "initial" else f"-{piece.letters}"


def _rime_letters(word: str) -> str:
    """The letters from the first vowel letter on (the u of qu is none)."""
    start = 2 if word.startswith("qu") else 3 if word.startswith("squ") else 0
    first = next((n for n in range(start, len(word)) if word[n] in "aeiouy" and (n or word[n] != "y")), 0)
    return word[first:]


def _rime(sounds: Sequence[str]) -> tuple[str, ...]:
    first = next((n for n, s in enumerate(sounds) if is_vowel(s)), 0)
    return tuple(bare(s) for s in sounds[first:])
