"""How words beyond the dictionary are read: the guess, the stricter *read as spelled*, and what holds of any letters."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.alignment import Aligner, fits
from decodable.engine import Engine
from decodable.model import Grapheme, bare, is_vowel
from decodable.prediction import Prediction, Predictor, train

SPELLED = """
zog     z=Z o=AO g=G
mog     m=M o=AA g=G
tib     t=T i=IH b=B
splod   s=S p=P l=L o=AA d=D
bim     b=B i=IH m=M
wug     w=W u=AH g=G
og      o=AA g=G
zub     z=Z u=AH b=B
zeek    z=Z ee=IY k=K
zark    z=Z ar=AA+R k=K
zorp    z=Z or=AO+R p=P
doil    d=D oi=OY l=L
jigh    j=JH igh=AY
phope   ph=F o-e=OW p=P
stribe  s=S t=T r=R i-e=AY b=B
zice    z=Z i-e=AY c=S
cim     c=S i=IH m=M
zadge   z=Z a=AE dge=JH
zatch   z=Z a=AE tch=CH
zuck    z=Z u=AH ck=K
yink    y=Y i=IH n=NG k=K
plunch  p=P l=L u=AH n=N ch=CH
quib    qu=K+W i=IH b=B
gax     g=G a=AE x=K+S
knib    kn=N i=IH b=B
wrib    wr=R i=IH b=B
thog    th=TH o=AA g=G
zast    z=Z a=AE s=S t=T
mo      m=M o=OW
zu      z=Z u=UW
bly     b=B l=L y=AY
gus     g=G u=AH s=S
zas     z=Z a=AE s=S
zogs    z=Z o=AO g=G s=Z
glips   g=G l=L i=IH p=P s=S
glipped g=G l=L i=IH pp=P ed=T
zibbit  z=Z i=IH bb=B i=IH t=T
mizzog  m=M i=IH zz=Z o=AO g=G
zibby   z=Z i=IH bb=B y=IY
zippo   z=Z i=IH pp=P o=OW
zibble  z=Z i=IH bb=B le=AH+L
"""
"""Made-up words with one plausible reading. AA and AO are taught as one, so either would do."""

ASK = {
    "zoob": "oo as in moon or book",
    "mow": "ow as in cow or snow",
    "beal": "ea as in sea or bread",
    "reab": "ea, or e and a",
    "zind": "i as in find or sit",
    "zold": "o as in cold is an exception of its own",
    "zost": "as in cost or most",
    "zoll": "as in doll or roll",
    "zall": "as in ball or shall",
    "zove": "as in stove, love or move",
    "zose": "s as in rose or dose",
    "wab": "a after w",
    "wark": "ar after w",
    "wor": "or after w",
    "gib": "g before i",
    "gyp": "g before y, and y as a vowel",
    "za": "a open a as in ma or may",
    "zi": "an open i as in hi or ski",
    "xib": "x at the start",
    "floost": "oo as in moon or book",
    "zaber": "a long or a short vowel before one consonant",
    "zogo": "a long or a short vowel before one consonant",
    "ybo": "a long or a short vowel, and y as a vowel",
    "zaked": "from zake or zak",
    "zoping": "from zope; a base with e is a guess",
    "zipton": "two consonants do not tell for sure where the syllable ends",
    "zio": "neighbours that may be a team or not",
    "brrr": "no vowel",
    "hmm": "no vowel",
    "nth": "no vowel",
    "q": "one letter",
}

GUESSES = """
phope    ph=F o-e=OW p=P
floost   f=F l=L oo=UW s=S t=T
zold     z=Z o=OW l=L d=D
wark     w=W ar=AO+R k=K
zation   z=Z a=EY ti=SH o=AH n=N
phoping  ph=F o=OW p=P i=IH ng=NG
zogging  z=Z o=AO gg=G i=IH ng=NG
zibbles  z=Z i=IH bb=B le=AH+L s=Z
"""


def written(graphemes: Sequence[Grapheme]) -> str:
    """An alignment on one line, stress left out and AO as AA but before r."""
    pieces = (f"{g.letters}={'+'.join(bare(s) for s in g.sounds) or '-'}" for g in graphemes)
    return " ".join(pieces).replace("=AO ", "=AA ")


def cases(table: str) -> list[object]:
    rows = (line.split(maxsplit=1) for line in table.strip().splitlines())
    return [pytest.param(word, alignment.replace("=AO ", "=AA "), id=word) for word, alignment in rows]


def names(found: Prediction) -> list[tuple[str, str, str]]:
    return [(p.text, p.kind, p.name) for p in found.parts]


@pytest.fixture(scope="module")
def predictor(engine: Engine) -> Predictor:
    """The model that the compiled dictionary carries."""
    return Predictor(engine.lexicon.arrays, engine.rules.inventory)


@pytest.mark.parametrize(("word", "alignment"), cases(SPELLED))
def test_read_as_spelled(predictor: Predictor, word: str, alignment: str) -> None:
    found = predictor.single_reading(word.capitalize())
    assert found is not None, [written(p.graphemes) for p in predictor.predict(word, 3)]
    assert written(found.graphemes) == alignment


@pytest.mark.parametrize("word", [pytest.param(word, id=f"{word}: {why}") for word, why in ASK.items()])
def test_ask_a_person(predictor: Predictor, word: str) -> None:
    found = predictor.single_reading(word)
    assert found is None, written(found.graphemes)


@pytest.mark.parametrize(("word", "alignment"), cases(GUESSES))
def test_first_guess(predictor: Predictor, word: str, alignment: str) -> None:
    assert written(predictor.predict(word)[0].graphemes) == alignment


def test_further_guesses(predictor: Predictor) -> None:
    vowels = [next(g.pattern for g in p.graphemes if g.letters in ("oo", "ow")) for p in predictor.predict("zow", 2)]
    assert vowels == ["ow as in cow", "ow as in snow"]
    assert len(predictor.predict("zow", 1)) == 1


@pytest.mark.parametrize(
    ("word", "parts"),
    [
        ("zog", [("zog", "base", "zog")]),
        ("zogs", [("zog", "base", "zog"), ("s", "suffix", "-s")]),
        ("zogging", [("zogg", "base", "zog"), ("ing", "suffix", "-ing")]),
        ("phoping", [("phop", "base", "phope"), ("ing", "suffix", "-ing")]),
    ],
)
def test_suffixes(predictor: Predictor, word: str, parts: list[tuple[str, str, str]]) -> None:
    found = predictor.predict(word)[0]
    assert names(found) == parts
    assert [g.unit for g in found.graphemes if g.at[0] >= len(parts[0][0])] == [
        name for text, kind, name in parts if kind == "suffix" for _ in (text if text != "ing" else "i+")
    ]


@pytest.mark.parametrize("word", ["", "42", "zo g", "o'zog", "zoë", "Zog!", "зог", "\n"])
def test_other_characters(predictor: Predictor, word: str) -> None:
    assert predictor.predict(word) == ()
    assert predictor.single_reading(word) is None


WORDS = st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=14)


@given(word=st.one_of(WORDS, st.text(max_size=8)))
@settings(max_examples=150, deadline=None)
def test_any_letters(predictor: Predictor, engine: Engine, word: str) -> None:
    found = predictor.predict(word)
    assert found == predictor.predict(word)
    assert [p.probability for p in found] == sorted((p.probability for p in found), reverse=True)
    assert sum(p.probability for p in found) < 1 + 1e-9
    assert len({tuple((g.at, g.pattern) for g in p.graphemes) for p in found}) == len(found)
    single = predictor.single_reading(word)
    letters = word.lower()
    for one in (*found, *([single] if single else [])):
        assert sorted(p for g in one.graphemes for p in g.at) == list(range(len(letters)))
        assert all("".join(letters[p] for p in g.at) == g.letters.replace("-", "") for g in one.graphemes)
        assert one.sounds == tuple(s for g in one.graphemes for s in g.sounds)
        assert "".join(p.text for p in one.parts) == letters
        assert sum(s.endswith("1") for s in one.sounds) <= 1
        assert all(g.pattern in engine.rules.inventory.patterns for g in one.graphemes)


@given(word=WORDS)
@settings(max_examples=100, deadline=None)
def test_a_vowel_is_stressed(predictor: Predictor, word: str) -> None:
    """A reading with one vowel has no schwa."""
    for found in predictor.predict(word):
        vowels = [s for s in found.sounds if is_vowel(s)]
        assert len(vowels) != 1 or vowels[0].endswith("1")


def test_correspondences_stand_where_the_aligner_lets_them(engine: Engine) -> None:
    """Every plain grapheme of a simple dictionary word is one that the prediction would offer there."""
    lexicon, rows = engine.lexicon, engine.rules.inventory.correspondences
    aligner = Aligner(engine.rules.inventory)
    astray = []
    for word in lexicon.words[::50]:
        reading = lexicon.readings(word)[0]
        simple = word.isalpha() and len(reading.parts) == 1
        if simple and aligner.align(word, reading.sounds) is not None:
            for g in reading.graphemes:
                end = g.at[0] + len(g.letters.split("-")[0])
                own = (r for r in rows if (r.letters, r.pattern) == (g.letters, g.pattern))
                if not any(fits(r, word, g.at[0], end) for r in own):
                    astray.append((word, g))
    assert astray == []


def test_training(engine: Engine) -> None:
    """The same words give the same arrays, and a few words are enough to read another one."""
    lexicon = engine.lexicon
    words = "cat mat rat map sat tap cab back cast cap".split()
    rows = [(lexicon.readings(word)[0], 4.0) for word in words]
    arrays, again = train(rows), train(iter(rows))
    assert all(np.array_equal(arrays[name], again[name]) for name in {*arrays, *again})
    small = Predictor(arrays, engine.rules.inventory)
    assert written(small.predict("pab")[0].graphemes) == "p=P a=AE b=B"
    assert small.predict("dog") == ()
    assert train([(rows[0][0], 0.5)])["predict_unit"].size < arrays["predict_unit"].size


def test_size(engine: Engine) -> None:
    arrays = engine.lexicon.arrays
    assert sum(arrays[name].nbytes for name in arrays if name.startswith("predict_")) < 6_000_000
