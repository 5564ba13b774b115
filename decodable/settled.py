"""Which words a reader can be asked to spell: those in which each sound has one taught spelling, there.

In go a reader's :class:`~decodable.words.WordIndex` and what is practised; out comes a flag for each word. Nothing of
English is stated here: the words that the reader can read say which spellings compete in such a place. A place is the
sound, first or last or between, what kind of grapheme comes before, the letter that comes after, and whether the word
has one syllable; so c and k share /k/ without competing (*cat*, *kit*), and ai and a-e compete (*rain*, *plane*).
"""

from __future__ import annotations

from collections.abc import Collection
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from decodable.lexicon import Numbering
from decodable.model import bare, is_vowel
from decodable.practice import Flags, patterns_of, readable
from decodable.practice_rules import practice_rules
from decodable.sequence import Phrase
from decodable.word_table import WordTable
from decodable.words import WordIndex

Ints = npt.NDArray[np.int32]


class Spellings:
    """The graphemes of all words, each with its place and spelling as numbers."""

    def __init__(self, table: WordTable) -> None:
        places: Numbering[tuple[object, ...]] = Numbering()
        spellings: Numbering[tuple[int, str]] = Numbering()
        self.patterns: Numbering[str] = Numbering()
        rows: list[tuple[int, int, int, bool]] = []
        starts = [0]
        syllables = table.column("syllables")
        for number, spelled in enumerate(table.spelled):
            heard = sorted((g for g in spelled if g[2]), key=lambda g: g[1][0])
            silent = len(heard) < len(spelled)
            for n, (letters, _, said, pattern) in enumerate(heard):
                key = "+".join(bare(s) for s in said)
                before = "" if n == 0 else _kind(heard[n - 1][0], heard[n - 1][2])
                after = heard[n + 1][0][0] if n + 1 < len(heard) else ""
                place = places[key, before, after, syllables[number] == 1]
                weak = silent or (len(said) == 1 and is_vowel(said[0]) and said[0][-1] == "0")
                rows.append((place, spellings[place, letters], self.patterns[pattern], weak))
            starts.append(len(rows))
        columns = np.array(rows, np.int32).reshape(-1, 4).T
        self.place, self.spelling, self.pattern = (np.ascontiguousarray(c) for c in columns[:3])
        """Numbers of places, spellings and patterns, int32 [graphemes]."""
        self.weak: Flags = columns[3].astype(np.bool_)
        """Unstressed vowels, and all of a word with a letter that is not heard; bool [graphemes]."""
        self.start = np.array(starts, np.int32)
        """The graphemes of each word, int32 [words + 1]."""
        self.letters = [letters for _, letters in spellings]
        """The letters of each spelling."""
        said = [" ".join(bare(s) for s in text.split()) for text in table.sounds]
        numbers: Numbering[str] = Numbering()
        self.heard: Ints = np.array([numbers[s] for s in said], np.int32)
        """A number for the sounds of each word: words that sound alike share it; int32 [words]."""


def _kind(letters: str, sounds: list[str]) -> str:
    """What kind of grapheme comes before: a consonant, a vowel of one letter, another vowel."""
    if not any(is_vowel(s) for s in sounds):
        return "consonant"
    return "one letter" if len(letters) == 1 else "vowel"


_SPELLINGS: WeakKeyDictionary[WordTable, Spellings] = WeakKeyDictionary()


def spellings_of(table: WordTable) -> Spellings:
    """The spellings of a table of words; kept with it."""
    found = _SPELLINGS.get(table)
    if found is None:
        found = _SPELLINGS[table] = Spellings(table)
    return found


def settled_words(index: WordIndex, target: Collection[Phrase] = (), *, alone: bool = True) -> Flags:
    """The readable words in which every sound has a settled spelling, bool [words].

    Args:
        index: the reader's words.
        target: what is practised this week; where one spelling of a sound is practised, it is the one to use.
        alone: whether the word is said without a sentence, so that none that sounds alike may be known to the reader.
    """
    found = spellings_of(index.table)
    known = readable(index)
    owner = np.repeat(np.arange(len(known)), np.diff(found.start))
    here = known[owner]
    in_place = np.bincount(found.place[here], minlength=int(found.place.max(initial=0)) + 1)
    so_spelled = np.bincount(found.spelling[here], minlength=len(found.letters))
    share = so_spelled[found.spelling] / np.maximum(in_place[found.place], 1)
    good = (share >= 1 - practice_rules().numbers["dictation"]["rival"]) | _of_the_week(found, here, target)
    out: Flags = known & np.logical_and.reduceat(good & ~found.weak, found.start[:-1])
    if alone:
        met = known | (index.whole <= index.step)
        twins = np.bincount(found.heard[met], minlength=int(found.heard.max(initial=0)) + 1)
        out &= twins[found.heard] < 2
    return out


def _of_the_week(found: Spellings, here: Flags, target: Collection[Phrase]) -> Flags:
    """Graphemes whose spelling is practised, where no other spelling that is practised may stand in their place."""
    numbers = [found.patterns[p] for p in patterns_of(target) if p in found.patterns]
    aimed = here & np.isin(found.pattern, numbers)
    letters: dict[int, set[str]] = {}
    for place, spelling in set(zip(found.place[aimed].tolist(), found.spelling[aimed].tolist(), strict=True)):
        letters.setdefault(place, set()).add(found.letters[spelling])
    single = [place for place, spelled in letters.items() if len(spelled) == 1]
    out: Flags = aimed & np.isin(found.place, single)
    return out
