"""The main job: which words of a text this reader can sound out, and why not the others.

In go tokens and a :class:`~decodable.judge.Judge`; out comes a :class:`Report`. All figures come from columns over the
distinct words of the text; only words that are shown become objects.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable.judge import Bank, Entry, Judge, Missing
from decodable.judging import NEVER
from decodable.model import Reading
from decodable.sequence import Phrase
from decodable.text import Kind, Tokens

VERDICTS = ("told", "decodable", "taught-whole", "name", "unknown", "later", "irregular")
TOLD, DECODABLE, WHOLE, NAME, UNKNOWN, LATER, IRREGULAR = range(len(VERDICTS))
FLAGGED = (UNKNOWN, LATER, IRREGULAR)
# A text that a child reads alone: 95 % and over is the default band (common practice, no source).
GOAL = 0.95
FORMAT = 1
Ints = npt.NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class WordVerdict:
    """What the reader can do with one word."""

    text: str
    """As it stands in the text."""
    verdict: str
    """One of :data:`VERDICTS`."""
    first_step: int | None
    """First step at which it can be read; ``None``: never in this sequence."""
    missing: tuple[Missing, ...]
    """What is missing now, for a flagged word."""
    allowance: str
    """What was let pass: ``unstressed vowel``, ``read as spelled``."""
    source: tuple[str, ...]
    """For a word taught whole as a form or compound of others: those."""
    reading: Reading | None
    """The reading that was judged; ``None`` where there is none."""
    note: str
    """For a heteronym: which reading was taken and why."""

    @property
    def flagged(self) -> bool:
        """Whether the reader is stuck here."""
        return self.verdict in ("unknown", "later", "irregular")

    def to_dict(self) -> dict[str, Any]:
        """For machines; the place in the text is added by the report."""
        out: dict[str, Any] = {
            "text": self.text,
            "verdict": self.verdict,
            "missing": [m.to_dict() for m in self.missing],
            "first_step": self.first_step,
            "allowance": self.allowance,
        }
        if self.source:
            out["from"] = list(self.source)
        if self.note:
            out["note"] = self.note
        return out


@dataclass(frozen=True, slots=True)
class Gain:
    """Something to teach first, and what it frees."""

    teach: tuple[str, ...]
    """Patterns, or one whole word."""
    whole: bool
    """Whether it is a word to teach whole."""
    words: tuple[str, ...]
    """The distinct words that it frees, commonest in the text first."""
    tokens: int
    """How often they occur."""
    share: float
    """The readable share after this and all items before it."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "teach": list(self.teach),
            "whole": self.whole,
            "words": list(self.words),
            "tokens": self.tokens,
            "readable_share": round(self.share, 4),
        }


@dataclass(frozen=True, slots=True)
class Choice:
    """The reading of one heteronym where it stands."""

    row: int
    """Row in the dictionary's readings."""
    why: str
    """In words; empty where the sentence does not tell."""


@dataclass(frozen=True)
class Report:
    """A text judged for one reader. Shares are between 0 and 1; an empty text has shares of 1."""

    tokens: Tokens
    judge: Judge
    step: int
    """The step judged at: the reader's, or the last one where none is stated."""
    entries: tuple[Entry | None, ...]
    """One for each type of the tokens; ``None`` for what is no word."""
    index: Ints
    """Tokens that are words, int32 [words]."""
    verdict: npt.NDArray[np.uint8]
    """Numbers in :data:`VERDICTS`, uint8 [words]."""
    steps: Ints
    """First step at which each can be read in any way, int32 [words]; 0 for told words and known names."""
    choices: Mapping[int, Choice]
    """Heteronyms, by place in ``index``, for which the sentence was asked."""
    target: tuple[Phrase, ...] = ()
    """What the text is meant to practise."""
    _cache: dict[tuple[int, int, int], WordVerdict] = field(default_factory=dict)

    # ------------------------------------------------------------------ counts
    @cached_property
    def type_ids(self) -> Ints:
        """The type of each word, int32 [words]."""
        return self.tokens.type_id[self.index]

    @cached_property
    def distinct(self) -> Ints:
        """A number for each word's key, so that *The* and *the* are one, int32 [words]."""
        seen: dict[str, int] = {}
        numbers = [seen.setdefault(t.key, len(seen)) for t in self.tokens.types]
        return np.array(numbers, np.int32)[self.type_ids] if len(self.index) else np.zeros(0, np.int32)

    @cached_property
    def _firsts(self) -> Ints:
        """Where each distinct word stands first, as places in ``index``."""
        return np.unique(self.distinct, return_index=True)[1].astype(np.int32)

    @cached_property
    def counts(self) -> dict[str, dict[str, int]]:
        """Words by verdict, ``tokens`` and ``types``; a type counts as its first token does."""
        tokens = np.bincount(self.verdict, minlength=len(VERDICTS)).tolist()
        types = np.bincount(self.verdict[self._firsts], minlength=len(VERDICTS)).tolist()
        return {
            "tokens": {**dict(zip(VERDICTS, tokens, strict=True)), "all": len(self.index)},
            "types": {**dict(zip(VERDICTS, types, strict=True)), "all": len(self._firsts)},
        }

    @property
    def accuracy_potential(self) -> float:
        """(decodable + taught whole) / all words, as published (Texas Education Agency 2000)."""
        n = self.counts["tokens"]
        return (n["decodable"] + n["taught-whole"]) / n["all"] if n["all"] else 1.0

    @property
    def decodable_share(self) -> float:
        """Decodable words / all words."""
        n = self.counts["tokens"]
        return n["decodable"] / n["all"] if n["all"] else 1.0

    @property
    def readable_share(self) -> float:
        """(decodable + taught whole + name) / (words - told)."""
        return share_readable(self.counts["tokens"])

    @property
    def flagged(self) -> int:
        """How many words are flagged."""
        n = self.counts["tokens"]
        return n["unknown"] + n["later"] + n["irregular"]

    @property
    def flagged_types_per_100(self) -> float:
        """Distinct flagged words for each 100 running words (critical words; Hiebert and Fisher 2007)."""
        n = self.counts["types"]
        return 100 * (n["unknown"] + n["later"] + n["irregular"]) / len(self.index) if len(self.index) else 0.0

    @cached_property
    def met_once(self) -> int:
        """Distinct words that stand in the text only once."""
        return int((np.bincount(self.distinct) == 1).sum()) if len(self.index) else 0

    @cached_property
    def by_step(self) -> list[float]:
        """The readable share at every step, from step 1; a list as long as the sequence."""
        asked = self.steps[self.verdict != TOLD]
        found = np.bincount(np.minimum(asked, self.judge.last + 1), minlength=self.judge.last + 2)
        if not len(asked):
            return [1.0] * self.judge.last
        shares = np.cumsum(found) / len(asked)
        return [float(s) for s in shares[1 : self.judge.last + 1]]

    def first_step_at(self, goal: float = GOAL) -> int | None:
        """The first step at which the readable share reaches a goal; ``None`` where none does."""
        return next((n for n, share in enumerate(self.by_step, 1) if share >= goal - 1e-9), None)

    # ------------------------------------------------------------------ words
    def word(self, place: int) -> WordVerdict:
        """The verdict on the word at a place in ``index``."""
        type_id, code = int(self.type_ids[place]), int(self.verdict[place])
        choice = self.choices.get(place)
        key = (type_id, code, choice.row if choice else -1)
        found = self._cache.get(key)
        if found is None:
            found = self._cache[key] = self._verdict(type_id, code, int(self.steps[place]), choice)
        return found

    def words(self) -> Iterator[WordVerdict]:
        """Every word in reading order."""
        return (self.word(place) for place in range(len(self.index)))

    def _verdict(self, type_id: int, code: int, step: int, choice: Choice | None) -> WordVerdict:
        kind, entry = self.tokens.types[type_id], self.entries[type_id]
        first = step if step < NEVER else None
        if entry is None or entry.bank is None:
            return WordVerdict(kind.text, VERDICTS[code], first, (), "", (), None, "")
        row = choice.row if choice else entry.row
        reading = self.judge.reading(kind.key, entry.bank, row)
        missing = self.judge.missing(kind.key, entry.bank, row, self.step) if code in FLAGGED and entry.trusted else ()
        note = ""
        if choice is not None:
            note = (
                f"read as {reading.sense}: {choice.why}" if choice.why else "the sentence does not tell which reading"
            )
        if code == LATER and entry.whole == step < entry.ever:
            note = "taught whole then" if not note else f"{note}; taught whole then"
        source = entry.source if code == WHOLE else ()
        allowance = entry.allowance or self._unstressed(entry, row) if code == DECODABLE else ""
        return WordVerdict(kind.text, VERDICTS[code], first, missing, allowance, source, reading, note)

    def _unstressed(self, entry: Entry, row: int) -> str:
        """Whether the reading passes only because an unstressed vowel was let pass."""
        bank = entry.bank
        if bank is None or not self.judge.now.allow:
            return ""
        table = bank.table.needs
        for need in bank.needs_of(row):
            if table.schwa[need] >= 0:
                own = table.names[table.pattern[need]]
                if self.judge.now.sound.get(own, NEVER) > self.step:
                    units = table.unit[table.unit_start[need] : table.unit_start[need + 1]]
                    if all(self.judge.now.unit.get(table.names[u], NEVER) > self.step for u in units):
                        return "unstressed vowel"
        return ""

    @cached_property
    def flagged_words(self) -> list[tuple[WordVerdict, int]]:
        """Distinct flagged words with how often each occurs, commonest first, then in reading order."""
        return self._tally(FLAGGED)

    @cached_property
    def read_as_spelled(self) -> list[tuple[WordVerdict, int]]:
        """Words beyond the dictionary that were judged by their spelling, for the teacher's eye."""
        return [(w, n) for w, n in self._tally((DECODABLE,), spelled=True) if w.allowance == "read as spelled"]

    @cached_property
    def unsure(self) -> list[int]:
        """Places in ``index`` of heteronyms whose sentence does not tell the reading."""
        return [place for place, choice in self.choices.items() if not choice.why]

    def _tally(self, codes: Sequence[int], *, spelled: bool = False) -> list[tuple[WordVerdict, int]]:
        chosen = np.flatnonzero(np.isin(self.verdict, codes))
        if spelled:
            marked = np.array([bool(e and e.allowance) for e in self.entries], np.bool_)
            chosen = chosen[marked[self.type_ids[chosen]]] if len(chosen) else chosen
        if not len(chosen):
            return []
        _, firsts, counts = np.unique(self.distinct[chosen], return_index=True, return_counts=True)
        rows = sorted(zip((-counts).tolist(), chosen[firsts].tolist(), strict=True))
        return [(self.word(place), -n) for n, place in rows]

    # ------------------------------------------------------------------ target, advice
    @cached_property
    def target_words(self) -> list[tuple[str, int]]:
        """Distinct words sounded out with a target pattern, and how often each occurs, commonest first.

        A word taught whole, told or flagged practises nothing.
        """
        wanted = {p for phrase in self.target for p in phrase.patterns}
        counts: dict[str, int] = {}
        held: dict[tuple[int, int], bool] = {}
        for place in np.flatnonzero(self.verdict == DECODABLE).tolist():
            type_id = int(self.type_ids[place])
            entry, choice = self.entries[type_id], self.choices.get(place)
            if entry is None or entry.bank is None:
                continue
            row = choice.row if choice else entry.row
            if (type_id, row) not in held:
                held[type_id, row] = bool(wanted & self._holds(entry.bank, row))
            if held[type_id, row]:
                key = self.tokens.types[type_id].key
                counts[key] = counts.get(key, 0) + 1
        return sorted(counts.items(), key=lambda item: -item[1])

    def _holds(self, bank: Bank, row: int) -> set[str]:
        table, out = bank.table.needs, set[str]()
        for need in bank.needs_of(row):
            numbers = [table.pattern[need], table.gate[need]]
            numbers += table.unit[table.unit_start[need] : table.unit_start[need + 1]].tolist()
            out.update(table.names[n] for n in numbers if n >= 0)
            if table.shape[need, 0] >= 0:
                out.add(table.gate_name(int(need)))
        return out

    @property
    def target_share(self) -> float:
        """Words sounded out with a target pattern / all words."""
        return sum(n for _, n in self.target_words) / len(self.index) if len(self.index) else 0.0

    def teach_first(self, most: int = 6, goal: float = GOAL) -> list[Gain]:
        """The few patterns and whole words that free the most of this text, each with its gain.

        A greedy cover: each time the choice that frees most words for each thing to be taught, until the goal is
        reached, ``most`` items stand, or nothing is left to gain.
        """
        lacking = self._lacking()
        asked = int((self.verdict != TOLD).sum())
        readable = round(self.readable_share * asked)
        out: list[Gain] = []
        known: set[str] = set()
        while lacking and len(out) < most and readable < goal * asked:
            teach, whole = _best_choice(lacking, known)
            freed = [
                w for w, (lacks, _) in lacking.items() if ({w} == set(teach) if whole else lacks <= known | set(teach))
            ]
            tokens = sum(lacking[w][1] for w in freed)
            known |= set() if whole else set(teach)
            readable += tokens
            freed.sort(key=lambda w: -lacking[w][1])
            out.append(Gain(tuple(sorted(teach)), whole, tuple(freed), tokens, readable / asked))
            for word in freed:
                del lacking[word]
        return out

    def _lacking(self) -> dict[str, tuple[frozenset[str], int]]:
        """Flagged words with what would have to be taught, and how often each occurs."""
        counts: dict[tuple[int, int], int] = {}
        for place in np.flatnonzero(np.isin(self.verdict, FLAGGED)).tolist():
            type_id, choice = int(self.type_ids[place]), self.choices.get(place)
            entry = self.entries[type_id]
            row = choice.row if choice else entry.row if entry else -1
            counts[type_id, row] = counts.get((type_id, row), 0) + 1
        out: dict[str, tuple[frozenset[str], int]] = {}
        for (type_id, row), n in counts.items():
            kind, entry = self.tokens.types[type_id], self.entries[type_id]
            lacks = self.judge.lacks(kind.key, entry, row, self.step) if entry and entry.trusted else ()
            before, times = out.get(kind.key, (frozenset(), 0))
            out[kind.key] = (before | frozenset(lacks or (f"the word {kind.key}",)), times + n)
        return out

    # ------------------------------------------------------------------ machines
    def to_dict(self) -> dict[str, Any]:
        """The documented output format."""
        sequence = self.judge.reader.sequence
        places = self.tokens.lines_columns(self.index).tolist() if len(self.index) else []
        words = []
        for place, ((line, column), token) in enumerate(zip(places, self.index.tolist(), strict=True)):
            found = self.word(place).to_dict()
            found |= {"line": line, "column": column}
            found |= {"start": int(self.tokens.start[token]), "end": int(self.tokens.end[token])}
            words.append(found)
        return {
            "format": FORMAT,
            "sequence": sequence.name,
            "step": self.judge.reader.step or None,
            "step_id": self.judge.reader.step_id or None,
            "counts": self.counts,
            "summary": self.summary(),
            "words": words,
        }

    def summary(self) -> dict[str, Any]:
        """Every figure of the report except the words."""
        out: dict[str, Any] = {
            "decodable_share": round(self.decodable_share, 4),
            "accuracy_potential": round(self.accuracy_potential, 4),
            "readable_share": round(self.readable_share, 4),
            "flagged_types_per_100": round(self.flagged_types_per_100, 2),
            "met_once": self.met_once,
            "readable_by_step": [round(s, 4) for s in self.by_step],
            "first_step_at_95": self.first_step_at(),
            "teach_first": [g.to_dict() for g in self.teach_first()],
            "read_as_spelled": [w.text for w, _ in self.read_as_spelled],
            "reading_not_told": [self.tokens.text_of(int(self.index[p])) for p in self.unsure],
        }
        if self.target:
            out["target"] = [p.text for p in self.target]
            out["target_share"] = round(self.target_share, 4)
            out["target_words"] = dict(self.target_words)
        return out


def share_readable(words: Mapping[str, int]) -> float:
    """(decodable + taught whole + name) / (words - told), from how many words have each verdict; 1 for no words."""
    asked = sum(words.get(verdict, 0) for verdict in VERDICTS if verdict != "told")
    readable = sum(words.get(verdict, 0) for verdict in ("decodable", "taught-whole", "name"))
    return readable / asked if asked else 1.0


def _best_choice(lacking: Mapping[str, tuple[frozenset[str], int]], known: set[str]) -> tuple[frozenset[str], bool]:
    """The bundle of patterns, or the single word, that frees most for each thing taught; ties by spelling."""
    gains: dict[frozenset[str], int] = {}
    for lacks, n in lacking.values():
        rest = lacks - known
        gains[rest] = gains.get(rest, 0) + n
    # What a bundle frees includes every word that needs only part of it.
    totals = {b: sum(n for other, n in gains.items() if other <= b) for b in _largest(gains)}
    words = {frozenset({w}): n for w, (_, n) in lacking.items()}
    best_bundle = min(totals, key=lambda b: (-totals[b] / len(b), sorted(b)))
    best_word = min(words, key=lambda w: (-words[w], sorted(w)))
    one_word = totals.get(best_bundle, 0) / len(best_bundle) < words[best_word]
    return (best_word, True) if one_word else (best_bundle, False)


def _largest(gains: Mapping[frozenset[str], int], most: int = 300) -> list[frozenset[str]]:
    """The most promising bundles: small, and of frequent words."""
    real = [b for b in gains if b and not any(p.startswith("the word ") for p in b)]
    rated = sorted(real, key=lambda b: (-gains[b] / len(b), sorted(b)))[:most]
    return rated or [frozenset({"nothing"})]


def check(
    tokens: Tokens,
    judge: Judge,
    *,
    target: tuple[Phrase, ...] = (),
    choose: Callable[[Tokens, Judge, Sequence[Entry | None], Ints], Mapping[int, Choice]] | None = None,
    common: Callable[[str], bool] | None = None,
) -> Report:
    """Judge a text.

    Args:
        tokens: the text.
        judge: the reader, ready to judge.
        target: phrases that the text is meant to practise.
        choose: decides heteronyms by their sentences; without it, the easiest reading counts.
        common: whether a word is one that a text for children may well begin a sentence with (*rose*), so that its
            capital does not tell that it is a known name; without it, any word of the dictionary is.
    """
    index = tokens.word_indices()
    reader = judge.reader
    step = reader.step or judge.last
    kinds = tokens.types
    judge.learn(t.key for t in kinds if t.kind == Kind.WORD)
    entries = tuple(judge.entry(t.key) if t.kind == Kind.WORD else None for t in kinds)
    codes, firsts = _type_verdicts(tokens, judge, entries, step)
    type_ids = tokens.type_id[index]
    verdict, steps = codes[type_ids], firsts[type_ids]
    choices = dict(choose(tokens, judge, entries, index)) if choose else {}
    for place, choice in choices.items():
        entry = entries[type_ids[place]]
        if entry is not None and entry.bank is not None:
            whole = judge.whole_for(kinds[type_ids[place]].key, entry, choice.row)
            sounded, ever = int(entry.bank.readings[choice.row]), int(entry.bank.ever_readings[choice.row])
            verdict[place] = _code(entry.trusted, sounded, ever, whole, step)
            steps[place] = min(ever, whole)
    _mark_names(tokens, judge, index, verdict, steps, common or judge.lexicon.index.__contains__)
    return Report(tokens, judge, step, entries, index, verdict, steps, choices, target)


def _code(trusted: bool, sounded: int, ever: int, whole: int, step: int) -> int:
    """The first verdict that holds, told words and names apart."""
    if sounded <= step:
        return DECODABLE
    if whole <= step:
        return WHOLE
    if not trusted and whole == NEVER:
        return UNKNOWN
    return LATER if min(ever, whole) < NEVER else IRREGULAR


def _type_verdicts(
    tokens: Tokens, judge: Judge, entries: Sequence[Entry | None], step: int
) -> tuple[npt.NDArray[np.uint8], Ints]:
    """The verdict and first step of each type, names apart."""
    told = judge.reader.told
    codes = np.zeros(len(entries), np.uint8)
    firsts = np.zeros(len(entries), np.int32)
    for i, (kind, entry) in enumerate(zip(tokens.types, entries, strict=True)):
        if entry is None:
            # An abbreviation such as Mr may be taught whole; anything else that is no word is told.
            whole = judge.whole.get(kind.key, NEVER)
            codes[i], firsts[i] = (WHOLE, whole) if whole <= step else (TOLD, 0)
        elif kind.key in told:
            codes[i] = TOLD
        else:
            codes[i] = _code(entry.trusted, entry.sounded, entry.ever, entry.whole, step)
            firsts[i] = min(entry.ever, entry.whole)
    return codes, firsts


def _mark_names(
    tokens: Tokens,
    judge: Judge,
    index: Ints,
    verdict: npt.NDArray[np.uint8],
    steps: Ints,
    common: Callable[[str], bool],
) -> None:
    """Known names, where they are written as names, can be read at every step."""
    names = judge.reader.names
    if not names:
        return
    kinds = tokens.types
    named = np.array([t.capital and t.kind == Kind.WORD and _name_of(t.key) in names for t in kinds], np.bool_)
    here = named[tokens.type_id[index]]
    inside = here & ~tokens.sentence_start[index]
    certain = {kinds[t].key for t in tokens.type_id[index[inside]]}
    for place in np.flatnonzero(here):
        key = kinds[tokens.type_id[index[place]]].key
        # A sentence's first word has its capital anyway: it is the name if the text uses it so, or if it is no word.
        if not inside[place] and key not in certain and common(_name_of(key)):
            continue
        steps[place] = 0
        if verdict[place] in FLAGGED:
            verdict[place] = NAME


def _name_of(key: str) -> str:
    return key[:-2] if key.endswith("'s") else key.rstrip("'")
