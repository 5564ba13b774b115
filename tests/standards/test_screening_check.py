"""The made-up and real words of a published reading check.

In: 20 made-up and 20 real words of the check that South Australia tried in 2017, adapted from England's (Standards and
Testing Agency, 2017, *Phonics screening check: structure and content*). The acceptable readings of a made-up word are
given in southern British sounds; any plausible one is right. Out: a failure for a made-up word none of whose first two
predicted readings is acceptable, and for a real word whose taught reading is not from the dictionary.
"""

# ruff: noqa: RUF001 (phonetic letters)
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import pytest

from decodable.engine import Engine
from decodable.model import bare
from decodable.prediction import Prediction, Predictor

pytestmark = pytest.mark.standards

FILE = "screening_check_2017_items.tsv"
Row = dict[str, str]

SOUTHERN_BRITISH: Mapping[str, str] = {
    "AA R": "ɑː", "AO R": "ɔː", "EH R": "eə", "IH R": "ɪə", "UH R": "ʊə", "ER": "ɜː",
    "AA": "ɒ", "AE": "æ", "AH": "ʌ", "AO": "ɒ", "AW": "aʊ", "AY": "aɪ", "EH": "ɛ", "EY": "eɪ", "IH": "ɪ", "IY": "iː",
    "OW": "əʊ", "OY": "ɔɪ", "UH": "ʊ", "UW": "uː", "B": "b", "CH": "tʃ", "D": "d", "DH": "ð", "F": "f", "G": "ɡ",
    "HH": "h", "JH": "dʒ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "P": "p", "R": "r", "S": "s", "SH": "ʃ",
    "T": "t", "TH": "θ", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
"""American sounds as a southern British speaker says them: no r after a vowel, the vowel of *hot*."""


def southern_british(sounds: Sequence[str]) -> str:
    """The reading in the notation of the table."""
    plain = [bare(s) for s in sounds]
    out: list[str] = []
    while plain:
        size = 2 if " ".join(plain[:2]) in SOUTHERN_BRITISH else 1
        out.append(SOUTHERN_BRITISH[" ".join(plain[:size])])
        del plain[:size]
    return "".join(out)


def written(found: Prediction) -> str:
    """The alignment of a reading on one line."""
    return " ".join(f"{g.letters}={'+'.join(g.sounds) or '-'}" for g in found.graphemes)


@pytest.fixture(scope="module")
def predictor(engine: Engine) -> Predictor:
    """The model that the compiled dictionary carries."""
    return Predictor(engine.lexicon.arrays, engine.rules.inventory)


@pytest.mark.rows(FILE, "type", "item")
def test_item(row: Row, engine: Engine, predictor: Predictor) -> None:
    word = row["item"]
    if row["type"] == "real":
        reading = engine.readings(word)[0]
        assert reading.source in ("dictionary", "correction")
        assert sorted(p for g in reading.graphemes for p in g.at) == list(range(len(word)))
    else:
        said = [southern_british(p.sounds) for p in predictor.predict(word)[:2]]
        assert set(said) & set(row["acceptable_ipa"].split("|")), said


def test_summary(gold: Callable[[str], list[Row]], predictor: Predictor, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [row for row in gold(FILE) if row["type"] == "pseudo"]
    first = single = 0
    with capsys.disabled():
        print(f"\n{'made-up word':<14}{'acceptable':<18}{'predicted':<12}{'share':>6}  read as spelled")
        for row in rows:
            found = predictor.predict(row["item"])[0]
            alone = predictor.single_reading(row["item"])
            said = southern_british(found.sounds)
            first += said in row["acceptable_ipa"].split("|")
            single += alone is not None
            shown = written(alone) if alone else "ask a person"
            print(f"{row['item']:<14}{row['acceptable_ipa']:<18}{said:<12}{found.probability:>6.2f}  {shown}")
        print(f"{len(rows)} made-up words: {first} right in the first reading, {single} read as spelled")
    assert first == len(rows)
