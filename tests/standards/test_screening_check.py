"""The made-up and real words of a published screening check.

Source: Standards and Testing Agency (2017), *Phonics screening check: structure and content*, through the South Australian
trial (2017). Any plausible reading of a made-up word is right; the acceptable readings were derived by the compiler of
the data from that principle, in southern British sounds.
"""

# ruff: noqa: RUF001
from __future__ import annotations

from collections.abc import Callable

import pytest

from decodable.engine import Engine

pytestmark = pytest.mark.standards

FILE = "screening_check_2017_items.tsv"
Row = dict[str, str]
# Southern British IPA to the General American sounds that stand for it here, longest first.
SOUNDS: tuple[tuple[str, str], ...] = (
    ("ɔɪ", "OY"),
    ("əʊ", "OW"),
    ("aɪ", "AY"),
    ("ɑː", "AA R"),
    ("ɜː", "ER"),
    ("uː", "UW"),
    ("iː", "IY"),
    ("tʃ", "CH"),
    ("dʒ", "JH"),
    ("h", "HH"),
    ("æ", "AE"),
    ("ɛ", "EH"),
    ("ɪ", "IH"),
    ("ʌ", "AH"),
    ("ʊ", "UH"),
    ("ɡ", "G"),
    ("ʃ", "SH"),
)


def sounds_of(ipa: str) -> tuple[str, ...]:
    """The acceptable reading in ARPAbet, without stress."""
    out: list[str] = []
    while ipa:
        sign, said = next(((s, a) for s, a in SOUNDS if ipa.startswith(s)), (ipa[0], ipa[0].upper()))
        out += said.split()
        ipa = ipa[len(sign) :]
    return tuple(out)


def first_two(engine: Engine, word: str) -> list[tuple[str, ...]]:
    """The two likeliest readings by prediction alone, without stress: some items are surnames in the dictionary."""
    from decodable.prediction import Predictor

    lexicon = engine.lexicon
    arrays = {name: lexicon.column(name) for name in lexicon.arrays if name.startswith("predict_")}
    found = Predictor(arrays, engine.rules.inventory).predict(word, 4)
    distinct = dict.fromkeys(tuple(s.rstrip("012") for s in p.sounds) for p in found)
    return list(distinct)[:2]


def test_sounds_of() -> None:
    assert sounds_of("tʃɑːb") == ("CH", "AA", "R", "B")
    assert sounds_of("fəʊp") == ("F", "OW", "P")


def test_made_up_words(gold: Callable[[str], list[Row]], engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    items = [row for row in gold(FILE) if row["type"] == "pseudo"]
    wrong = {
        row["item"]: first_two(engine, row["item"])
        for row in items
        if not {sounds_of(ipa) for ipa in row["acceptable_ipa"].split("|")} & set(first_two(engine, row["item"]))
    }
    with capsys.disabled():
        print(f"\nScreening check: {len(items) - len(wrong)} of {len(items)} made-up words read acceptably")
    assert len(items) == 20
    assert not wrong


def test_real_words_are_in_the_dictionary(gold: Callable[[str], list[Row]], engine: Engine) -> None:
    items = [row["item"] for row in gold(FILE) if row["type"] == "real"]
    assert len(items) == 20
    assert [w for w in items if engine.readings(w)[0].source not in ("dictionary", "correction")] == []
