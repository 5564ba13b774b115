"""Words under the rules of a reader of 1914.

In: J. H. Fassett (1914), *The Beacon Second Reader* (public domain), every other one of its phonetic tables: a heading
that states a rule, and words that follow it. Out: a failure for each word whose analysis does not show the rule of its
table. Old headings mix patterns, so that each is read here as a short table of letters with their sounds (what the
heading says, and what its words need besides). The sounds are American, a hundred years younger: *o* in *cost* and *au*
in *haul* may have either of two vowels.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pytest

from decodable.describe import tricky_part
from decodable.engine import Engine
from decodable.model import Grapheme, Reading, bare, is_vowel

pytestmark = pytest.mark.standards

FILE = "phonetic_tables_1914_odd.tsv"
Row = dict[str, str]

SHORT = "a=AE e=EH i=IH o=AA o=AO u=AH"
SPLIT = "a-e=EY e-e=IY i-e=AY o-e=OW u-e=UW u-e=Y+UW"
BEFORE_R = "ar=AA+R er=ER ir=ER ur=ER"
PREFIXES = ("a", "be", "de", "dis", "en", "ex", "for", "in", "re", "un")


@dataclass(frozen=True, slots=True)
class Rule:
    """One table's heading as a check."""

    says: str
    """How the heading begins."""
    holds: str
    """Letters with sounds, one of which the word must hold."""
    check: Callable[[Reading], bool] = lambda reading: True
    """What else the heading says of the word."""


def vowels(reading: Reading) -> list[Grapheme]:
    """The graphemes with a vowel sound."""
    return [g for g in reading.graphemes if any(is_vowel(s) for s in g.sounds)]


def written(g: Grapheme) -> str:
    """A grapheme with its sounds, as in the rules below."""
    return f"{g.letters}={'+'.join(bare(s) for s in g.sounds) or '-'}"


def only_short(reading: Reading) -> bool:
    """Whether every vowel is a single letter with its short sound."""
    return all(written(g) in SHORT.split() for g in vowels(reading))


def after_blend(reading: Reading) -> bool:
    """Whether just two consonants, each a letter and a sound, come before the short vowel."""
    return only_short(reading) and all(is_vowel(g.sounds[0]) == (n == 2) for n, g in enumerate(reading.graphemes[:3]))


def k_after_vowel(reading: Reading) -> bool:
    """Whether the word ends in ck after a short vowel, or in k after a long one."""
    short = written(vowels(reading)[-1]) in SHORT.split()
    return written(reading.graphemes[-1]) == ("ck=K" if short else "k=K")


def sounded_apart(reading: Reading) -> bool:
    """Whether two neighbouring vowel letters stand in two syllables."""
    word = reading.word
    return any(word[s.start - 1] in "aeiou" and word[s.start] in "aeiou" for s in reading.syllables[1:])


def prefixed_or_compound(reading: Reading) -> bool:
    """Whether a syllable ends where a common prefix does, or the word is made of two."""
    seams = {s.end for s in reading.syllables[:-1]}
    prefixed = any(reading.word.startswith(p) and len(p) in seams for p in PREFIXES)
    return prefixed or sum(part.kind == "base" for part in reading.parts) > 1


RULES: Mapping[str, Rule] = {
    "1": Rule("REVIEW OF THE VOWELS a, e, i, o, and u", SHORT, only_short),
    "3": Rule("In the following words a blend of two consonants precedes the vowel", SHORT, after_blend),
    # and the r-controlled letters with a final e: gore, mere
    "5": Rule("In the following words the vowel is long because of the final e", f"{SPLIT} ore=AO+R ere=IH+R"),
    "7": Rule("Before r the sounds of the vowels a, e, i, and u are greatly modified", f"{BEFORE_R} are=EH+R"),
    # and before r: fear, sneer
    "9": Rule("In the words of this table ea and ee have the long sound of e", "ea=IY ee=IY ear=IH+R eer=IH+R"),
    # and before r: soar, board
    "11": Rule("In the words of this table oa and oe have the long sound of o", "oa=OW oe=OW oar=AO+R"),
    "13": Rule("In the words of this table ew and ue", "ew=UW ew=Y+UW ue=UW ue=Y+UW"),
    "15": Rule("In the words of this table au and aw take the sound of a in all", "au=AO aw=AO au=AA aw=AA"),
    # and before r: poor, moor, where the sound has moved on since
    "17": Rule("In the following list of words oo is pronounced like u in rude", "oo=UW oor=UH+R oor=AO+R"),
    "21": Rule("In the following list of words g and dg before e and i", "g=JH ge=JH dge=JH"),
    "23": Rule("K and ck are sounded exactly alike", "k=K ck=K", k_after_vowel),
    "25": Rule("This table contains a further development of the two sounds of th", "th=TH th=DH the=DH"),
    "27": Rule("In the following list of words o has a sound midway", "o=AO o=AA"),
    "29": Rule("Two vowels together are often sounded separately", "", sounded_apart),
    # the second half of the list is of compounds
    "33": Rule("The following list contains words with the most common prefixes", "", prefixed_or_compound),
    # and the trigraphs of igh and augh
    "35": Rule(
        "The following words illustrate silent k, g, w, b, l, t, and gh",
        "kn=N gn=N wr=R igh=AY augh=AO augh=AA mb=M bt=T al=AE al=AA al=AO lk=K st=S ft=F",
    ),
}
"""Table to its rule. Tables 19 and 31 are reviews: their words have no tricky part, each of their patterns having been
taught."""

REVIEWS = ("19", "31")

EXCEPTIONS: Mapping[tuple[str, str], str] = {
    ("3", "from"): "the vowel of cup: the list mixes patterns",
    ("7", "purr"): "urr is a grapheme of its own where it is one sound",
    ("19", "squirrel"): "irr is one sound in American and rare; the list mixes patterns",
    ("21", "gill"): "the dictionary has the gill of a fish, the book the measure, which begins like gin",
    ("25", "withe"): "an old word with several pronunciations, in the dictionary with one that it hardly has",
    ("29", "real"): "one syllable in the dictionary",
}
"""Table and word that does not show the rule, and why."""

PROGRAM_ERRORS: Mapping[tuple[str, str], str] = {
    ("33", "hackman"): "a name, said with a full second vowel first",
}
"""The same, where the program is known to be wrong."""


def shows(engine: Engine, reading: Reading, table: str) -> bool:
    """Whether a reading shows the rule of its table."""
    if table in REVIEWS:
        return not tricky_part(engine, reading)
    rule = RULES[table]
    holds = any(written(g) in rule.holds.split() for g in reading.graphemes) if rule.holds else True
    return holds and rule.check(reading)


def satisfied(engine: Engine, row: Row) -> bool:
    """Whether some reading of the word shows the rule of its table."""
    return any(shows(engine, reading, row["table"]) for reading in engine.readings(row["word"]))


@pytest.mark.rows(FILE, "table", "word")
def test_word_shows_its_rule(row: Row, engine: Engine) -> None:
    table, key = row["table"], (row["table"], row["word"])
    if table not in REVIEWS:
        assert row["heading_or_rule"].startswith(RULES[table].says)
    said = [" ".join(map(written, reading.graphemes)) for reading in engine.readings(row["word"])]
    assert satisfied(engine, row) != (key in EXCEPTIONS or key in PROGRAM_ERRORS), said
    if key in PROGRAM_ERRORS:
        pytest.xfail(PROGRAM_ERRORS[key])


def test_summary(gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    rows = gold(FILE)
    shown = Counter(row["table"] for row in rows if satisfied(engine, row))
    words = Counter(row["table"] for row in rows)
    sources = Counter(engine.readings(word)[0].source for word in {row["word"].lower() for row in rows})
    beyond = sum(n for source, n in sources.items() if source not in ("dictionary", "correction"))
    with capsys.disabled():
        print(f"\n{'table':<7}{'words':>6}{'shown':>7}  rule")
        for table, number in words.items():
            says = RULES[table].says if table in RULES else "REVIEW: no tricky part"
            print(f"{table:<7}{number:>6}{shown[table]:>7}  {says}")
        print(
            f"Phonetic tables (1914): {shown.total()} of {len(rows)} words show the rule of their table; "
            f"{len(EXCEPTIONS)} listed exceptions, {len(PROGRAM_ERRORS)} errors of the program; {beyond} different "
            f"words are not in the dictionary"
        )
    assert shown.total() == len(rows) - len(EXCEPTIONS) - len(PROGRAM_ERRORS)
