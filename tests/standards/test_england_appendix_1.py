"""England's spelling appendix: its example words, its exception words, its table of sounds.

In: Department for Education (2013), *The national curriculum in England*, English Appendix 1: Spelling (Open Government
Licence): graphemes and rules with example words for Years 1 and 2, the common exception words, and the IPA table. Out:
a failure for each example word that does not hold the named grapheme with the named sound, or the named affix, and for
each exception word that can be sounded out before its year. The appendix has southern British sounds and the
dictionary American ones: each vowel stands for every American sound that it has in some word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import pytest

from decodable.engine import Engine
from decodable.judge import Judge
from decodable.judging import NEVER
from decodable.model import Grapheme, Reading, bare

pytestmark = pytest.mark.standards

TABLE = "england_appendix1_2013.tsv"
WORDS = "england_exception_words_2013.tsv"
SOUNDS = "england_ipa_table_2013.tsv"
SEQUENCE = "england-appendix-1"
Row = dict[str, str]

AMERICAN: Mapping[str, str] = {
    **{ipa: ipa.upper() for ipa in "b d f h k l m n p r s t v w z".split()},
    "ɡ": "G", "g": "G", "j": "Y", "ð": "DH", "θ": "TH", "ŋ": "NG", "ʃ": "SH", "ʒ": "ZH", "dʒ": "JH", "tʃ": "CH",
    "æ": "AE", "ɛ": "EH", "ʌ": "AH", "aɪ": "AY", "aʊ": "AW", "ɔɪ": "OY", "eɪ": "EY", "əʊ": "OW",
    "ɪ": "IH|IY|AH", "iː": "IY", "i": "IY", "ɒ": "AA|AO", "ʊ": "UH", "uː": "UW", "juː": "Y UW|UW",
    "ɑː": "AA R|AA", "ɔː": "AO|AA|AO R|UH R", "ɜː": "ER", "ə": "ER|AH|IH",
    "ɪə": "IH R|IY R", "ɛə": "EH R", "ʊə": "UH R|AO R",
    "ɪz": "AH Z|IH Z", "ɪd": "AH D|IH D", "əl": "AH L", "ʌn": "AH N", "ʃən": "SH AH N",
    "aɪz": "AY Z", "iz": "IY Z",
}  # fmt: skip
"""American sounds for each sound of the appendix, parted by bars."""


def american(ipa: str) -> set[tuple[str, ...]]:
    """The ARPAbet sounds that may stand for IPA alternatives, parted by bars."""
    return {tuple(sounds.split()) for one in ipa.split("|") for sounds in AMERICAN[one].split("|")}


def said(graphemes: tuple[Grapheme, ...]) -> tuple[str, ...]:
    """The sounds of neighbouring graphemes, without stress."""
    return tuple(bare(s) for g in graphemes for s in g.sounds)


def spans(reading: Reading) -> Iterator[tuple[str, tuple[Grapheme, ...]]]:
    """Each grapheme, and each run of neighbours, with the letters."""
    graphemes = reading.graphemes
    for i in range(len(graphemes)):
        for k in range(i + 1, len(graphemes) + 1):
            yield "".join(g.letters for g in graphemes[i:k]), graphemes[i:k]


def spelt(reading: Reading, letters: str, ipa: str) -> bool:
    """Whether the letters have the sound: one grapheme, or the run that an ending such as -al or -tion makes."""
    wanted = american(ipa)
    runs = letters in ENDINGS
    return any(
        found == letters.replace("_", "-") and said(run) in wanted and (runs or len(run) == 1)
        for found, run in spans(reading)
    )


ENDINGS = ("el", "al", "il", "tion")
"""Endings that the appendix has as one spelling and the program as neighbouring graphemes."""


def parts(reading: Reading, kind: str) -> list[str]:
    return [part.name for part in reading.parts if part.kind == kind]


def noted(reading: Reading, note: str) -> bool:
    return any(g.note == note for g in reading.graphemes)


def as_row(reading: Reading, row: Row) -> bool:
    """Whether a reading shows what the row is about."""
    grapheme, ipa = row["grapheme"], row["phoneme_ipa"]
    suffixes = parts(reading, "suffix")
    if row["id"] == "1.03":
        return len(reading.syllables) > 1
    if row["id"] == "1.54":
        return len(parts(reading, "base")) > 1
    if row["id"] == "2.27":
        return True
    if grapheme == "un-":
        return parts(reading, "prefix") == ["un-"] and said(reading.graphemes[:2]) in american(ipa)
    if grapheme == "'":
        return bool(parts(reading, "contraction"))
    if grapheme == "'s":
        return bool(parts(reading, "possessive")) and said(reading.graphemes[-1:]) in american(ipa)
    if grapheme in ("drop-e", "doubling"):
        return bool(suffixes) and noted(reading, "dropped e" if grapheme == "drop-e" else "doubling")
    if grapheme == "-ies":
        return suffixes == ["-es"] and noted(reading, "y to i")
    if grapheme == "-ied/-ier/-iest":
        return len(suffixes) == 1 and (suffixes == ["-ing"] or noted(reading, "y to i"))
    if grapheme.startswith("-"):
        return bool(suffixes) and suffixes[-1] in grapheme.split("/") and _suffix_sound(reading, ipa)
    return spelt(reading, grapheme, ipa)


def _suffix_sound(reading: Reading, ipa: str) -> bool:
    last = tuple(g for g in reading.graphemes if g.unit == reading.parts[-1].name)
    return not ipa or said(last) in american(ipa)


def test_x(gold: Callable[[str], list[Row]], engine: Engine) -> None:
    def show(word: str) -> list[object]:
        return [([(g.letters, *g.sounds, g.note) for g in r.graphemes], [(p.name, p.kind) for p in r.parts]) for r in engine.readings(word)]

    for row in gold(TABLE):
        for word in row["example_words"].split(", "):
            if not any(as_row(r, row) for r in engine.readings(word)):
                print(row["id"], row["grapheme"], row["phoneme_ipa"], word, show(word))
    print()
    for row in gold(SOUNDS):
        for word in row["example_words"].split(", "):
            if not any(said((g,)) in american(row["ipa"]) for r in engine.readings(word) for g in r.graphemes):
                print(row["ipa"], word, show(word))
    judge = engine.judge(engine.reader(SEQUENCE))
    firsts = {"1": "year-1-01", "2": "year-2-01"}
    for row in gold(WORDS):
        first = judge.reader.sequence.numbers[firsts[row["year"]]]
        word = row["word"].lower()
        e = judge.entry(word)
        tricky = [m.pattern for m in judge.missing(word, e.bank, e.row, first - 1) if m.letters] if e.bank else []
        if e.sounded < first or not tricky:
            print(row, e.sounded, first, tricky, show(word))
