"""The tricky letters of England's common exception words, at the start of their year.

In: Department for Education (2013), *The national curriculum in England*, English Appendix 1: Spelling (Open Government
Licence): the common exception words of Years 1 and 2. The appendix gives the words alone; which letters are tricky was
decided here, from memory and from what the appendix itself has taught by then. Out: a failure for each word of which a
reader at the start of the year is missing other letters. (That no such word can be sounded out before its year is
tested with the rest of the appendix.)
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from decodable.engine import Engine
from decodable.judge import Judge
from decodable.judging import NEVER

pytestmark = pytest.mark.standards

FILE = "england_exception_words_2013.tsv"
SEQUENCE = "england-appendix-1"
FIRST_STEPS: Mapping[str, str] = {"1": "year-1-01", "2": "year-2-01"}
Row = dict[str, str]

LETTERS: Mapping[str, str] = {
    # Year 1, when single letters, ff ll ss zz ck, sh th ch ng and adjacent consonants are known
    "the": "e", "a": "a", "do": "o", "to": "o", "today": "o ay", "of": "f", "said": "ai", "says": "ay s",
    "are": "are", "were": "ere", "was": "a s", "is": "s", "his": "s", "has": "s", "i": "i", "you": "ou",
    "your": "our", "they": "ey", "be": "e", "he": "e", "me": "e", "she": "e", "we": "e", "no": "o", "go": "o",
    "so": "o", "by": "y", "my": "y", "here": "ere", "there": "ere", "where": "wh ere", "love": "o ve",
    "come": "o me", "some": "o me", "one": "o ne", "once": "o ce", "ask": "a", "friend": "ie", "school": "ch oo",
    "put": "u", "push": "u", "pull": "u", "full": "u", "house": "ou se", "our": "our",
    # Year 2, when the vowel digraphs and trigraphs of Year 1 are known besides, and o as in home with its e
    "door": "oor", "floor": "oor", "poor": "oor", "because": "au se", "find": "i", "kind": "i", "mind": "i",
    "behind": "i", "child": "i", "children": "", "wild": "i", "climb": "i mb", "most": "o", "only": "o", "both": "o",
    "old": "o", "cold": "o", "gold": "o", "hold": "o", "told": "o", "every": "e", "everybody": "e", "even": "e",
    "great": "ea", "break": "ea", "steak": "ea", "pretty": "e", "beautiful": "eau", "after": "a", "fast": "a",
    "last": "a", "past": "a", "father": "a", "class": "a", "grass": "a", "pass": "a", "plant": "a", "path": "a",
    "bath": "a", "hour": "h our", "move": "o", "prove": "o", "improve": "o", "sure": "s ure", "sugar": "s u ar",
    "eye": "eye", "could": "oul", "should": "oul", "would": "oul", "who": "wh o", "whole": "wh", "any": "a",
    "many": "a", "clothes": "th", "busy": "u", "people": "eo le", "water": "a", "again": "ai", "half": "al",
    "money": "o ey", "mr": "", "mrs": "", "parents": "a", "christmas": "ch st",
}  # fmt: skip
"""Word to its tricky letters. Suffixes, syllables and an unstressed vowel that may pass do not count."""

DIFFERENT: Mapping[str, tuple[str, str]] = {
    "today": ("ay", "the o is unstressed and passes"),
    "school": ("ch", "the sequence teaches oo in Reception, before its row in Year 1"),
    "because": ("", "au is in the Year 1 tables, to which the sequence adds se"),
    "clothes": ("", "th is said, as in clothing"),
    "parents": ("", "a as in cat before r, in the American merger"),
}
"""Word to the letters that the program has instead, and why."""


def tricky(judge: Judge, word: str, step: int) -> str:
    """Letters of the taught reading whose correspondence is not taught by a step."""
    entry = judge.entry(word)
    if entry.bank is None:
        return ""
    return " ".join(m.letters for m in judge.missing(word, entry.bank, entry.rows.start, step) if m.letters)


def start(judge: Judge, year: str) -> int:
    """The last step before a year."""
    return judge.reader.sequence.numbers[FIRST_STEPS[year]] - 1


@pytest.fixture(scope="module")
def judge(engine: Engine) -> Judge:
    """A reader of the sequence after the appendix."""
    return engine.judge(engine.reader(SEQUENCE))


@pytest.mark.rows(FILE, "year", "word")
def test_tricky_letters(row: Row, judge: Judge) -> None:
    word = row["word"].lower()
    wanted = DIFFERENT[word][0] if word in DIFFERENT else LETTERS[word]
    assert wanted != LETTERS[word] or word not in DIFFERENT
    assert tricky(judge, word, start(judge, row["year"])) == wanted


def test_summary(gold: Callable[[str], list[Row]], judge: Judge, capsys: pytest.CaptureFixture[str]) -> None:
    rows = gold(FILE)
    end = len(judge.reader.sequence.steps)
    good = [row["word"] for row in rows if judge.entry(row["word"].lower()).sounded == NEVER]
    alike = sum(
        tricky(judge, row["word"].lower(), start(judge, row["year"])) == LETTERS[row["word"].lower()] for row in rows
    )
    with capsys.disabled():
        print(f"\nEngland's exception words (2013): {alike} of {len(rows)} have the tricky letters expected of them")
        print(f"{'year':<6}{'word':<11}{'tricky at the start':<21}{'at the end':<12}")
        for row in rows:
            word = row["word"].lower()
            now, later = tricky(judge, word, start(judge, row["year"])), tricky(judge, word, end)
            note = f"{LETTERS[word]}: {DIFFERENT[word][1]}" if word in DIFFERENT else ""
            print(f"{row['year']:<6}{row['word']:<11}{now:<21}{later:<12}{note}".rstrip())
        print(f"{len(good)} are never sounded out in the sequence")
    assert {row["word"].lower() for row in rows} == set(LETTERS)
    assert alike == len(rows) - len(DIFFERENT)
