"""The words of one reader: by pattern, family, shape, number of sounds, class, the clearest first.

In go a judge (a reader ready to judge) and the compiled vocabulary; out comes a :class:`WordIndex`, which answers a
:class:`Query` with :class:`OfferedWord` values. Everything is worked out for all words at once.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import compress
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable.errors import DecodableError
from decodable.judge import Judge
from decodable.judging import NEVER, need_steps, reading_steps
from decodable.model import VOWEL_SOUNDS
from decodable.rules import nearest
from decodable.sequence import Phrase, PhraseReader
from decodable.vocabulary import BASE, KNOWN, REGIONS
from decodable.word_order import OrderRules
from decodable.word_table import FIRST, LAST, MIDDLE, WordTable

PLACES = {"first": FIRST, "middle": MIDDLE, "last": LAST}
ORDERS = ("clear", "sounds", "new")
# A family named by its letters alone is the largest one, if it has this many times the words of the next.
_CLEARLY = 4
Steps = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Query:
    """What is asked for. Everything left out admits every word."""

    pattern: str = ""
    """A phrase of a sequence: a correspondence, blend, shape, affix."""
    place: str = ""
    """Where the pattern stands: first, middle, last."""
    family: str = ""
    """A word family: ``-at``, or ``-ow as in snow``."""
    shape: str = ""
    """Consonant and vowel sounds: ``CVC``, ``CVC.CVC``."""
    sounds: int = 0
    """How many sounds; 0: any."""
    word_class: str = ""
    """A sense class; what belongs to it is admitted, too."""
    pos: str = ""
    """A part of speech."""
    known: str = ""
    """Known by then: early; middle admits early; later admits all."""
    picture: bool = False
    """Only words that can be pictured."""
    base: bool = False
    """Only lemmas: no plurals, past forms and the like."""
    new: bool = False
    """Only words that this very step frees."""
    whole: bool = False
    """Also words that were taught whole."""
    region: str = ""
    """us or uk: without the words of the other side; empty: both."""
    limit: int = 0
    """At most so many; 0: all."""
    order: str = "clear"
    """clear: the clearest first. sounds: words of two sounds, then three, then four ... new: the words that use what
    this step teaches (the shortest first while blending is new), then a mixed review of the steps before."""


@dataclass(frozen=True, slots=True)
class OfferedWord:
    """One word that the reader can read."""

    word: str
    """As it is printed."""
    lemma: str
    """The word as a dictionary has it."""
    pos: str
    """Part of speech."""
    form: str
    """base, plural, past ..."""
    classes: tuple[str, ...]
    """Sense classes, in the order of the classes' file."""
    known: str
    """early, middle, later."""
    picture: bool
    """Whether one simple drawing tells it."""
    region: str
    """us, uk, or empty."""
    frequency: float
    """Zipf frequency; 0 unknown."""
    sounds: tuple[str, ...]
    """Phonemes with stress, as taught."""
    graphemes: tuple[str, ...]
    """Its letters, grapheme by grapheme; a split digraph as ``a-e``."""
    shape: str
    """Consonant and vowel sounds of the stem."""
    family: str
    """Its word family, ``-at``; empty for none."""
    first_step: int
    """The step from which this reader can read it; 0: before the first."""
    verdict: str
    """decodable or taught-whole."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        out: dict[str, Any] = {name: getattr(self, name) for name in self.__slots__}
        out["frequency"] = round(self.frequency, 2)
        for name in ("classes", "sounds", "graphemes"):
            out[name] = list(out[name])
        return out


class WordIndex:
    """The words of one reader. ``step`` 0 (none stated) stands for the last step."""

    def __init__(self, judge: Judge, table: WordTable, phrases: PhraseReader, rules: OrderRules) -> None:
        self.judge = judge
        self.table = table
        self.phrases = phrases
        self.rules = rules
        self.step = judge.reader.step or judge.last
        by_reading = reading_steps(table.table, need_steps(table.table.needs, judge.now))
        # Variants of one pronunciation: the easiest; pronunciations with senses of their own: the hardest, since a word
        # on a list has no sentence that would tell them apart.
        by_sense = np.minimum.reduceat(by_reading, table.column("reading_start")[:-1])
        self.sounded: Steps = np.maximum.reduceat(by_sense, table.column("sense_start")[:-1])
        """First step at which each word can be sounded out, int32 [words]."""
        shown = by_reading[table.column("reading_start")[table.column("sense_start")[:-1]]]
        self.shown: Steps = np.maximum(self.sounded, shown)
        """The same in the reading that the table shows, not in a variant of it; int32 [words]."""

    @cached_property
    def whole(self) -> Steps:
        """First step at which each word counts as taught whole, int32 [words]."""
        out = np.full(len(self.sounded), NEVER, np.int32)
        words, lemmas, form_word = self.table.words, self.table.lemmas, self.table.column("form_word")
        taught = self.judge.whole
        asked = {int(w) for w, lemma in zip(form_word, lemmas, strict=True) if lemma in taught or words[w] in taught}
        for number in asked:
            out[number] = self.judge.entry(words[number]).whole
        return out

    # ------------------------------------------------------------------ questions
    def find(self, query: Query, within: Flags | None = None) -> tuple[OfferedWord, ...]:
        """The words that answer a query, in its order; each word once, in the form that answers best.

        ``within``, bool [words], narrows the words further.
        """
        steps, admitted = self._readable(query)
        admitted &= self._of_words(query)
        if within is not None:
            admitted &= within
        rows = self._in_order(np.flatnonzero(self._of_forms(query) & admitted[self._words_of_forms]), query, steps)
        out: list[OfferedWord] = []
        seen: set[int] = set()
        for row in rows.tolist():
            word = int(self._words_of_forms[row])
            if word not in seen:
                seen.add(word)
                out.append(self._offered(row, word, int(steps[word])))
                if len(out) == query.limit:
                    break
        return tuple(out)

    def clearest(self, within: Flags) -> npt.NDArray[np.int32]:
        """The numbers of some words (bool [words]), the clearest first; int32."""
        rows = np.flatnonzero(within[self._words_of_forms])
        words = self._words_of_forms[rows[np.lexsort((self._words_of_forms[rows], -self._points[rows]))]]
        firsts = np.unique(words, return_index=True)[1]
        found: npt.NDArray[np.int32] = words[np.sort(firsts)]
        return found

    def printed(self, number: int) -> str:
        """A word as it is printed (*I* with a capital)."""
        text: str = self.table.words[number]
        found: str = self.table.meta["write"].get(text, text)
        return found

    def count(self, query: Query) -> int:
        """How many words answer a query, whatever its limit."""
        return len(self.texts(query))

    def families(self, query: Query | None = None) -> dict[str, tuple[OfferedWord, ...]]:
        """Word families with two words or more, the largest first."""
        found: dict[str, list[OfferedWord]] = {}
        for word in self.find(query or Query(base=True)):
            number = int(self.table.column("family")[self.table.index[word.word.lower()]])
            if number >= 0:
                found.setdefault(self.family_name(number), []).append(word)
        ordered = sorted(found.items(), key=lambda item: (-len(item[1]), item[0]))
        return {name: tuple(words) for name, words in ordered if len(words) > 1}

    def texts(self, query: Query) -> list[str]:
        """The words that answer a query, in order of the alphabet, without anything about them."""
        _, admitted = self._readable(query)
        admitted &= self._of_words(query)
        numbers = np.unique(self._words_of_forms[self._of_forms(query) & admitted[self._words_of_forms]])
        return [self.table.words[n] for n in numbers.tolist()]

    def freed(self) -> Steps:
        """How many words can first be read, sounded out or taught whole, at each step, step 1 first; int32 [steps]."""
        steps = np.minimum(self.sounded, self.whole)
        counts = np.bincount(np.maximum(steps[steps <= self.judge.last], 1), minlength=self.judge.last + 1)
        return counts[1:].astype(np.int32)

    def counts(self, query: Query) -> dict[str, dict[str, int]]:
        """How many lemmas answer a query, by theme, class (what belongs to it included) and part of speech."""
        meta, column = self.table.meta, self.table.column
        _, admitted = self._readable(query)
        admitted &= self._of_words(query)
        lemmas = column("form") == meta["form"].index(BASE)
        rows = np.flatnonzero(self._of_forms(query) & lemmas & admitted[self._words_of_forms])
        out: dict[str, dict[str, int]] = {}
        for name in ("theme", "pos", "known"):
            names = meta.get(name, KNOWN)
            numbers = np.bincount(column(name)[rows], minlength=len(names))
            out[name] = {str(n): int(c) for n, c in zip(names, numbers, strict=True) if c}
        held = column("classes")[rows]
        by_class = {name: int(np.count_nonzero(held[:, self._within(name)].any(axis=1))) for name in meta["classes"]}
        out["class"] = {name: count for name, count in by_class.items() if count}
        return out

    # ------------------------------------------------------------------ which words
    def _readable(self, query: Query) -> tuple[Steps, Flags]:
        steps = np.minimum(self.sounded, self.whole) if query.whole else self.sounded
        if query.new and not self.judge.reader.step:
            raise DecodableError("New words are those of one step: state the step, too.")
        return steps, (steps == self.step) if query.new else (steps <= self.step)

    def _of_words(self, query: Query) -> Flags:
        """Which words have the letters and sounds asked for."""
        column = self.table.column
        out = np.ones(len(self.sounded), np.bool_)
        if query.place and not query.pattern:
            raise DecodableError(f"A place ({query.place}) is where a pattern stands: name the pattern, too.")
        if query.pattern:
            out &= self.using(self.phrases.parse(query.pattern).patterns, query.place)
        if query.family:
            out &= self.in_family(self.family(query.family))
        if query.shape:
            shape, shapes = query.shape.upper(), self.table.meta["shapes"]
            if shape.strip("CV.") or not shape:
                raise DecodableError(f"A shape is written with C and V (CVC, CVC.CVC), not {query.shape!r}.")
            out &= column("shape") == (shapes.index(shape) if shape in shapes else -1)
        if query.sounds:
            out &= column("sound_count") == query.sounds
        return out

    def using(self, patterns: Iterable[str], place: str = "") -> Flags:
        """Which words use any of some patterns (blends, shapes, affixes, rimes), there or anywhere; bool [words]."""
        uses = self.table.uses
        numbers = [uses[p] for p in patterns if p in uses]
        hits = np.isin(self.table.column("uses"), numbers)
        if place:
            hits &= (self.table.column("uses_place") & _choice(place, PLACES, "place")) > 0
        return np.logical_or.reduceat(hits, self.table.column("uses_start")[:-1])

    @cached_property
    def _words_of_forms(self) -> npt.NDArray[np.int32]:
        found: npt.NDArray[np.int32] = self.table.column("form_word")
        return found

    def _of_forms(self, query: Query) -> Flags:
        """Which forms mean what is asked for."""
        column, meta = self.table.column, self.table.meta
        out = np.ones(len(column("pos")), np.bool_)
        if query.word_class:
            _choice(query.word_class, dict.fromkeys(meta["classes"], 0), "class")
            out &= column("classes")[:, self._within(query.word_class)].any(axis=1)
        if query.pos:
            out &= column("pos") == _choice(query.pos, {p: n for n, p in enumerate(meta["pos"])}, "part of speech")
        if query.known:
            out &= column("known") <= _choice(query.known, {k: n for n, k in enumerate(KNOWN)}, "known")
        if query.region:
            _choice(query.region, dict.fromkeys(REGIONS, 0), "region")
            other = next(r for r in REGIONS if r != query.region)
            out &= column("region") != (meta["region"].index(other) if other in meta["region"] else -1)
        if query.picture:
            out &= column("picture")
        if query.base:
            out &= column("form") == meta["form"].index(BASE)
        return out

    def _within(self, name: str) -> list[int]:
        """The numbers of the class and of what belongs to it."""
        classes: Mapping[str, str] = self.table.meta["classes"]
        return [n for n, c in enumerate(classes) if name in _above(c, classes)]

    # ------------------------------------------------------------------ families
    def in_family(self, number: int) -> Flags:
        """Which words are of a family, bool [words]."""
        found: Flags = self.table.column("family") == number
        return found

    def family(self, text: str) -> int:
        """The number of a family; one that is spelled like another must be told by a word."""
        letters, _, keyword = text.strip().lower().removeprefix("-").partition(" as in ")
        if keyword:
            number = self.table.index.get(keyword.strip())
            family = int(self.table.column("family")[number]) if number is not None else -1
            if family < 0 or self.table.meta["families"][family].split("|")[0] != letters:
                raise DecodableError(f"{keyword!r} is no word of the vocabulary with the family -{letters}.")
            return family
        choices = [n for n, name in enumerate(self.table.meta["families"]) if name.split("|")[0] == letters]
        if not choices:
            spelled = {"-" + name.split("|")[0] for name in self.table.meta["families"]}
            raise DecodableError(f"No word family -{letters}{nearest('-' + letters, spelled)}.")
        sizes = sorted(((int(self._family_sizes[n]), n) for n in choices), reverse=True)
        if len(sizes) > 1 and sizes[0][0] < _CLEARLY * sizes[1][0]:
            named = " or ".join(f"-{letters} as in {self._family_words[n]}" for _, n in sizes)
            raise DecodableError(f"-{letters} is said in more than one way; write {named}.")
        return sizes[0][1]

    @cached_property
    def _family_sizes(self) -> npt.NDArray[np.int64]:
        numbers = self.table.column("family")
        return np.bincount(numbers[numbers >= 0], minlength=len(self.table.meta["families"])).astype(np.int64)

    @cached_property
    def _family_words(self) -> Mapping[int, str]:
        """The commonest word of each family."""
        families, frequency = self.table.column("family"), self.table.column("frequency")
        order = np.argsort(-frequency, kind="stable")
        firsts = np.unique(families[order], return_index=True)
        return {int(f): self.table.words[int(order[i])] for f, i in zip(*firsts, strict=True) if f >= 0}

    def family_name(self, number: int) -> str:
        """``-at``, or ``-ow as in snow`` where the letters alone would not tell."""
        letters = self.table.meta["families"][number].split("|")[0]
        alike = [n for n, name in enumerate(self.table.meta["families"]) if name.split("|")[0] == letters]
        sizes = sorted((int(self._family_sizes[n]) for n in alike), reverse=True)
        plain = int(self._family_sizes[number]) == sizes[0] and (len(sizes) < 2 or sizes[0] >= _CLEARLY * sizes[1])
        return f"-{letters}" if plain else f"-{letters} as in {self._family_words[number]}"

    # ------------------------------------------------------------------ order and values
    @property
    def taught_now(self) -> tuple[Phrase, ...]:
        """What this very step teaches; nothing where no step is stated."""
        reader = self.judge.reader
        return reader.sequence.steps[reader.step - 1].teach if reader.step else ()

    def _in_order(self, rows: npt.NDArray[np.intp], query: Query, steps: Steps) -> npt.NDArray[np.intp]:
        """Rows of forms in the order asked for."""
        _choice(query.order, dict.fromkeys(ORDERS, 0), "order")
        words = self._words_of_forms[rows]
        keys: list[npt.NDArray[Any]] = [words, -self._points[rows]]
        sounds = self.table.column("sound_count")[words]
        if query.order == "sounds":
            keys.append(sounds)
        elif query.order == "new":
            if not self.judge.reader.step and not query.pattern:
                raise DecodableError("What is new is new at a step: state the step, or name the pattern.")
            asked = self.phrases.parse(query.pattern).patterns if query.pattern else ()
            fresh = self.using(asked or [p for t in self.taught_now for p in t.patterns])[words]
            keys += [np.where(fresh, 0, -steps[words]), np.where(fresh, 0, self._turns(rows, words, steps))]
            keys += [np.where(fresh, sounds, 0)] if self.blending_is_new else []
            keys.append(~fresh)
        return rows[np.lexsort(keys)]

    def _turns(self, rows: npt.NDArray[np.intp], words: npt.NDArray[np.int32], steps: Steps) -> npt.NDArray[np.int64]:
        """For each form, how many clearer words there are of its step: taking turns, the steps are mixed."""
        out = np.zeros(len(rows), np.int64)
        order = np.lexsort((words, -self._points[rows], steps[words]))
        starts = np.flatnonzero(np.diff(steps[words][order], prepend=-1))
        out[order] = np.arange(len(rows)) - np.repeat(starts, np.diff(starts, append=len(rows)))
        return out

    @cached_property
    def blending_is_new(self) -> bool:
        """Whether nothing that joins consonants has been taught to this reader yet."""
        patterns = {p for text in self.rules.new_until for p in self.phrases.parse(text).patterns}
        return min((self.judge.now.unit.get(p, NEVER) for p in patterns), default=NEVER) > self.step

    @cached_property
    def _points(self) -> npt.NDArray[np.float64]:
        """How clear each form is, float64 [forms]."""
        column, points = self.table.column, self.rules.points
        words = self._words_of_forms
        out = points["frequency"] * column("frequency")[words].astype(np.float64)
        out += np.array([points[k] for k in KNOWN])[column("known")]
        out += points["picture"] * column("picture")
        out += points["base"] * (column("form") == self.table.meta["form"].index(BASE))
        out += points["regional"] * (column("region") > 0)
        if self.blending_is_new:
            held = [s in self.rules.continuants or s in VOWEL_SOUNDS for s in self.table.meta["first_sounds"]]
            out += points["continuant"] * np.array(held, np.bool_)[column("first_sound")[words]]
        found: npt.NDArray[np.float64] = out
        return found

    @cached_property
    def clearness(self) -> npt.NDArray[np.float64]:
        """How clear each word is in its clearest form, float64 [words]."""
        out = np.full(len(self.sounded), -np.inf)
        np.maximum.at(out, self._words_of_forms, self._points)
        return out

    def _offered(self, row: int, word: int, step: int) -> OfferedWord:
        column, meta = self.table.column, self.table.meta
        family = int(column("family")[word])
        return OfferedWord(
            self.printed(word),
            self.table.lemmas[row],
            meta["pos"][column("pos")[row]],
            meta["form"][column("form")[row]],
            tuple(compress(meta["classes"], column("classes")[row])),
            KNOWN[column("known")[row]],
            bool(column("picture")[row]),
            meta["region"][column("region")[row]],
            float(column("frequency")[word]),
            tuple(self.table.sounds[word].split()),
            tuple(g[0] for g in json.loads(self.table.graphemes[word])),
            meta["shapes"][column("shape")[word]],
            f"-{meta['families'][family].split('|')[0]}" if family >= 0 else "",
            step,
            "decodable" if self.sounded[word] <= self.step else "taught-whole",
        )


def _above(name: str, parents: Mapping[str, str]) -> Iterator[str]:
    while name:
        yield name
        name = parents[name]


def _choice(name: str, choices: Mapping[str, int], what: str) -> int:
    """The number of a named choice; an unknown one gets the nearest."""
    if name not in choices:
        raise DecodableError(f"No {what} {name!r}{nearest(name, choices)}. There are: {', '.join(choices)}")
    return choices[name]


def words_dict(index: WordIndex, query: Query) -> dict[str, Any]:
    """The documented output of ``decodable words --json``: who reads, how many words there are, and the words."""
    reader = index.judge.reader
    return {
        "format": 1,
        "sequence": reader.sequence.name,
        "step": reader.step or None,
        "step_id": reader.step_id,
        "count": index.count(query),
        "words": [word.to_dict() for word in index.find(query)],
    }
