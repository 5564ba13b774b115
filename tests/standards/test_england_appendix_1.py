"""England's spelling appendix: its example words, its exception words, its table of sounds.

In: Department for Education (2013), *The national curriculum in England*, English Appendix 1: Spelling (Open Government
Licence): graphemes and rules with example words for Years 1 and 2, the common exception words, and the IPA table. Out:
a failure for each example word that does not hold the named grapheme with the named sound in southern British English,
or the named affix, and for each exception word that can be sounded out before its year. Weak vowels are compared
loosely (the appendix writes one of several that are heard).
"""

# ruff: noqa: RUF001
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import pytest

from decodable.accents import accent, transcribed
from decodable.engine import Engine
from decodable.judge import Judge
from decodable.model import Grapheme, Reading

pytestmark = pytest.mark.standards

TABLE = "england_appendix1_2013.tsv"
WORDS = "england_exception_words_2013.tsv"
SOUNDS = "england_ipa_table_2013.tsv"
SEQUENCE = "england-appendix-1"
Row = dict[str, str]

ACCENT = "southern-british"
ALSO: Mapping[str, str] = {
    "ɪ": "ɪ|i|iː|ə", "iː": "iː|i", "ə": "ə|ɪ", "juː": "juː|uː", "ʊə": "ʊə|ɔː", "ɪz": "ɪz|əz", "ɪd": "ɪd|əd",
    "əl": "əl|ɪl|l", "iz": "iz|iːz", "ʃən": "ʃən", "ʌn": "ʌn|ən",
}  # fmt: skip
"""Sounds that may stand for one of the appendix, parted by bars; for any other only itself."""

ENDINGS = ("el", "al", "il", "tion")
"""Endings that the appendix has as one spelling and the program as neighbouring graphemes."""

HOMOPHONES = (
    ("there", "their", "they're"),
    ("here", "hear"),
    ("see", "sea"),
    ("bare", "bear"),
    ("one", "won"),
    ("sun", "son"),
    ("to", "too", "two"),
    ("be", "bee"),
    ("blue", "blew"),
    ("night", "knight"),
)
"""Row 2.27, which is one list in the data, in its groups; *quite* and *quiet* are near-homophones."""

FIRST_STEPS: Mapping[str, str] = {"1": "year-1-01", "2": "year-2-01"}
"""The step with which each year begins in the sequence."""

EXCEPTIONS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("1.44", "scared"): ("ar=ɛə", "the e of are is dropped before -ed; the r-controlled letters stay together"),
    ("2.01", "age"): ("g=dʒ", "a_e is a split digraph, which the appendix itself has under 1.12"),
    ("2.01", "huge"): ("g=dʒ", "u_e is a split digraph, which the appendix itself has under 1.16"),
    ("2.16", "walk"): ("al=ɔː", "the silent l joins the vowel letter"),
    ("2.16", "talk"): ("al=ɔː", "the silent l joins the vowel letter"),
    ("2.22", "television"): ("si=ʒ", "the unheard i joins the consonant, as in -tion"),
}
"""Row and word that the table reads otherwise, the grapheme of the written conventions, and why."""

EXCEPTION_WORDS: Mapping[str, str] = {
    "again": "said with ai as in rain, too, which is in the Year 1 tables",
    "because": "au is in the Year 1 tables; the sequence adds se to them, and lets an unstressed e pass",
    "children": "listed for its contrast with child; regular, with an unstressed e",
    "clothes": "th before s; regular once s as in has is taught",
    "parents": "a as in cat before r in the American merger; an unstressed e",
    "mr": "an abbreviation, which is told: it has no reading",
    "mrs": "an abbreviation, which is told: it has no reading",
}
"""Exception words that can be sounded out before their year, or that have no tricky letters, and why."""

PROGRAM_ERRORS: Mapping[tuple[str, str], str] = {}
"""Row or table and word, where the program is known to be wrong."""


def heard(ipa: str) -> set[str]:
    """The sounds that may stand for IPA alternatives, parted by bars."""
    return {sign for one in ipa.replace("g", "ɡ").split("|") for sign in ALSO.get(one, one).split("|")}


def said(reading: Reading, graphemes: tuple[Grapheme, ...]) -> str:
    """The sounds of neighbouring graphemes in phonetic letters; an r that only the next vowel brings out is not theirs."""
    signs, _ = transcribed(reading, accent(ACCENT))
    found = "".join(signs[reading.graphemes.index(g)] for g in graphemes)
    linking = graphemes and graphemes[-1].letters.endswith("r") and len(found) > 1
    return found.removesuffix("r") if linking else found


def spans(reading: Reading) -> Iterator[tuple[str, tuple[Grapheme, ...]]]:
    """Each grapheme, and each run of neighbours, with the letters."""
    graphemes = reading.graphemes
    for i in range(len(graphemes)):
        for k in range(i + 1, len(graphemes) + 1):
            yield "".join(g.letters for g in graphemes[i:k]), graphemes[i:k]


def spelt(reading: Reading, letters: str, ipa: str) -> bool:
    """Whether the letters have the sound: one grapheme, or the run that an ending such as -al or -tion makes."""
    wanted = heard(ipa)
    runs = letters in ENDINGS
    return any(
        found == letters.replace("_", "-") and said(reading, run) in wanted and (runs or len(run) == 1)
        for found, run in spans(reading)
    )


def parts(reading: Reading, kind: str) -> list[str]:
    """Names of the parts of a kind."""
    return [part.name for part in reading.parts if part.kind == kind]


def noted(reading: Reading, note: str) -> bool:
    """Whether a suffix left this note."""
    return any(g.note == note for g in reading.graphemes)


def as_row(reading: Reading, row: Row) -> bool:
    """Whether a reading shows what the row is about."""
    grapheme, ipa = row["grapheme"], row["phoneme_ipa"]
    suffixes = parts(reading, "suffix")
    if row["id"] == "1.03":
        return len(reading.syllables) == 2
    if row["id"] == "1.54":
        return len(parts(reading, "base")) > 1
    if row["id"] == "2.27":
        return True
    if grapheme == "un-":
        return parts(reading, "prefix") == ["un-"] and said(reading, reading.graphemes[:2]) in heard(ipa)
    if grapheme == "'":
        return bool(parts(reading, "contraction"))
    if grapheme == "'s":
        return bool(parts(reading, "possessive")) and said(reading, reading.graphemes[-1:]) in heard(ipa)
    if grapheme in ("drop-e", "doubling"):
        return bool(suffixes) and noted(reading, "dropped e" if grapheme == "drop-e" else "doubling")
    if grapheme == "-ies":
        return suffixes == ["-es"] and noted(reading, "y to i")
    if grapheme == "-ied/-ier/-iest":
        return len(suffixes) == 1 and (suffixes == ["-ing"] or noted(reading, "y to i"))
    if grapheme.startswith("-"):
        return bool(suffixes) and suffixes[-1] in grapheme.split("/") and suffix_sounds(reading, ipa)
    return spelt(reading, grapheme, ipa)


def suffix_sounds(reading: Reading, ipa: str) -> bool:
    """Whether the last suffix has the sound, where one is named."""
    last = tuple(g for g in reading.graphemes if g.unit == reading.parts[-1].name)
    return not ipa or said(reading, last) in heard(ipa)


def satisfied(engine: Engine, row: Row, word: str) -> bool:
    """Whether a reading of the example word shows what the row is about."""
    return any(as_row(reading, row) for reading in engine.readings(word, ACCENT))


def has_sound(engine: Engine, word: str, ipa: str) -> bool:
    """Whether some grapheme of the word has the sound."""
    return any(said(r, (g,)) in heard(ipa) for r in engine.readings(word, ACCENT) for g in r.graphemes)


def written(reading: Reading) -> list[str]:
    """The graphemes with their sounds."""
    return [f"{g.letters}={said(reading, (g,)) or '-'}" for g in reading.graphemes]


def tricky(judge: Judge, word: str, step: int) -> list[str]:
    """Letters of the taught reading whose correspondence is not taught by a step."""
    entry = judge.entry(word)
    if entry.bank is None:
        return []
    return [m.letters for m in judge.missing(word, entry.bank, entry.rows.start, step) if m.letters]


def waits(judge: Judge, row: Row) -> bool:
    """Whether an exception word can't be sounded out before its year, and has a tricky part."""
    before = judge.reader.sequence.numbers[FIRST_STEPS[row["year"]]] - 1
    word = row["word"].lower()
    return judge.entry(word).sounded > before and bool(tricky(judge, word, before))


@pytest.fixture(scope="module")
def judge(engine: Engine) -> Judge:
    """A reader of the sequence after the appendix."""
    return engine.judge(engine.reader(SEQUENCE))


@pytest.mark.rows(TABLE, "id", "grapheme", "phoneme_ipa")
def test_example_words(row: Row, engine: Engine) -> None:
    wrong: list[str] = []
    for word in row["example_words"].split(", "):
        key = (row["id"], word)
        if key in PROGRAM_ERRORS:
            wrong.append(f"{word}: {PROGRAM_ERRORS[key]}")
        if key in EXCEPTIONS:
            assert EXCEPTIONS[key][0] in written(engine.readings(word, ACCENT)[0]), word
        listed = key in PROGRAM_ERRORS or key in EXCEPTIONS
        assert satisfied(engine, row, word) != listed, (
            word,
            listed,
            [written(r) for r in engine.readings(word, ACCENT)],
        )
    if wrong:
        pytest.xfail("; ".join(wrong))


@pytest.mark.rows(SOUNDS, "kind", "ipa")
def test_words_of_the_sounds(row: Row, engine: Engine) -> None:
    for word in row["example_words"].split(", "):
        assert has_sound(engine, word, row["ipa"]), (word, [written(r) for r in engine.readings(word, ACCENT)])


@pytest.mark.parametrize("group", HOMOPHONES, ids=lambda group: group[0])
def test_homophones_sound_alike(group: tuple[str, ...], engine: Engine) -> None:
    sounds = [{said(reading, reading.graphemes) for reading in engine.readings(word, ACCENT)} for word in group]
    assert set.intersection(*sounds), sounds


@pytest.mark.rows(WORDS, "year", "word")
def test_exception_word(row: Row, judge: Judge) -> None:
    word, numbers = row["word"].lower(), judge.reader.sequence.numbers
    assert judge.entry(word).whole <= numbers[f"year-{row['year']}-words"]
    key = ("exception words", word)
    assert waits(judge, row) != (word in EXCEPTION_WORDS or key in PROGRAM_ERRORS), judge.entry(word)
    if key in PROGRAM_ERRORS:
        pytest.xfail(PROGRAM_ERRORS[key])


def test_summary(
    gold: Callable[[str], list[Row]], engine: Engine, judge: Judge, capsys: pytest.CaptureFixture[str]
) -> None:
    table = [(row, word) for row in gold(TABLE) for word in row["example_words"].split(", ")]
    sounds = [(row["ipa"], word) for row in gold(SOUNDS) for word in row["example_words"].split(", ")]
    words = gold(WORDS)
    shown = sum(satisfied(engine, row, word) for row, word in table)
    sounding = sum(has_sound(engine, word, ipa) for ipa, word in sounds)
    waiting = sum(waits(judge, row) for row in words)
    with capsys.disabled():
        print(
            f"\nEngland, Appendix 1 (2013): {shown} of {len(table)} example words show their grapheme or affix; "
            f"{sounding} of {len(sounds)} words of the IPA table hold the sound; {waiting} of {len(words)} exception "
            f"words wait for their year and have a tricky part"
        )
    assert sounding == len(sounds)
    wrong = sum(where == "exception words" for where, _ in PROGRAM_ERRORS)
    assert shown == len(table) - len(EXCEPTIONS) - len(PROGRAM_ERRORS) + wrong
    assert waiting == len(words) - len(EXCEPTION_WORDS) - wrong
