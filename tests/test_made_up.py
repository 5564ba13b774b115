"""Made-up words: legal spellings, real words refused by letters and by sound, ten for every step that has them."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.lexicon import Lexicon
from decodable.made_up import Maker, made_up, maker, matched, refused
from decodable.made_up_rules import load_made_up
from decodable.model import bare, is_vowel
from decodable.real_words import load_rare
from decodable.sequence import load_sequence, sequence_names

SEQUENCES = ("gull-point", "common-core", "england-appendix-1")
GENERAL = "general-american"
# Steps at which three vowels are taught and fewer than ten made-up words exist, with how many: all others that can be
# spelled are words, abbreviations, names, or sound like one. Found by trying every string of the letters taught.
FEW = {
    ("gull-point", "g-o"): 1,
    ("gull-point", "c-k"): 2,
    ("gull-point", "e-r"): 3,
    ("gull-point", "u-h"): 8,
    ("england-appendix-1", "reception-3"): 2,
    ("england-appendix-1", "reception-4"): 8,
}
VOWELS = ["a as in cat", "e as in bed", "i as in sit", "o as in hot", "u as in cup"]


@pytest.fixture(scope="module")
def american(engine: Engine) -> Maker:
    return maker(engine, GENERAL)


# ---------------------------------------------------------------- legal spellings
LEGAL = """
lig mep gax emp criff beff shup doil charb jigh woats rird phope glips floost splam stribe
zib vock sheck thip quim blesh strunk plitch zadge scump smeth vung hink eeb zoat jaip froy snaw dwill
kell kimp keef skab skub squib throck shrad wheb knib zice zoge tay zigh zight nardle
""".split()
ILLEGAL = """
ckap ngap xab bbot llim ffop zzat ssup tchip dgep   gaj haj vij   pav lev stiv   qat qib   cen cip cyp
lah beh stih   zik zif zil zis zaz   zeeck zoick zaiff   zai stoi   zayp groyt   kab kot kund   scem scib   zac zic
tlip dlop srad vlim bnop   pakh gabm sitk   quum squub   zab-b b zb bz
""".split()


@pytest.mark.parametrize("word", [w for w in LEGAL if w != "nardle"])
def test_legal_spelling(word: str, american: Maker) -> None:
    assert american.rules.illegal(word) == ""


@pytest.mark.parametrize("word", ILLEGAL)
def test_illegal_spelling(word: str, engine: Engine, american: Maker) -> None:
    reason = american.rules.illegal(word)
    assert reason
    assert refused(engine, word, GENERAL)


@settings(max_examples=300, deadline=None)
@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=7))
def test_a_legal_spelling_is_put_together_again(word: str) -> None:
    rules = load_made_up()
    for start, vowel, end in rules.spellings(word):
        first, dash, last = vowel.piece.letters.partition("-")
        assert start.letters + first + end.letters + (last if dash else "") == word
        assert not rules.illegal(word)


def test_real_words_are_spelled_legally(engine: Engine, american: Maker) -> None:
    """Most short words that children know keep the rules; what does not is called irregular by teachers, or is rarer."""
    table = engine.word_table()
    one = [w for n, w in enumerate(table.words) if table.column("syllables")[n] == 1 and len(w) < 6 and w.isalpha()]
    legal = [w for w in one if not american.rules.illegal(w)]
    assert len(legal) > 0.6 * len(one)


# ---------------------------------------------------------------- what is refused
@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("cat", "it is a word or a name"),
        ("kat", "it is a word or a name"),
        ("vug", "it is a word or a name"),
        ("zax", "it is a word or a name"),
        ("smith", "it is a word or a name"),
        ("phad", "it sounds like fad"),
        ("kosp", "k does not stand there"),
        ("treet", "it sounds like treat"),
        ("flaik", "it sounds like flake"),
        ("skool", "it sounds like school"),
        ("snact", "it sounds like snacked"),
        ("plact", "it sounds like a form of plaque"),
        ("phuzz", "it sounds like fuzz"),
        ("pheck", "it sounds like a word that is never offered"),
        ("vagg", "goes on with -agg"),
        ("phart", "it contains phart"),
        ("zib", ""),
        ("gax", ""),
        ("splam", ""),
    ],
)
def test_refused(word: str, why: str, engine: Engine) -> None:
    found = refused(engine, word, GENERAL)
    assert why in found if why else found == ""


@pytest.mark.parametrize(
    ("word", "like"),
    [
        ("thab", "fab"),
        ("phong", "fong"),
        ("trem", "trim"),
    ],
)
def test_accents(word: str, like: str, engine: Engine) -> None:
    """What speakers of some accent do not tell apart is alike: th and f, o and aw, pin and pen."""
    assert like in refused(engine, word, GENERAL)


def test_the_users_own_words_are_real(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    own = Engine()
    own.__dict__["lexicon"] = engine.lexicon
    own.__dict__["own"] = {"splam": (("S", "P", "L", "AE1", "M"),)}
    assert refused(own, "splam", GENERAL) == "it is a word or a name of your own"


# ---------------------------------------------------------------- every step
def syllables_said(lexicon: Lexicon) -> set[tuple[str, ...]]:
    """Every pronunciation of one vowel in the dictionary, without stress, found through its readings."""
    out: set[tuple[str, ...]] = set()
    for word in lexicon.words:
        if len(word) < 9:
            for reading in lexicon.readings(word):
                if sum(map(is_vowel, reading.sounds)) == 1:
                    out.add(tuple(bare(s) for s in reading.sounds))
    return out


@pytest.fixture(scope="module")
def said(engine: Engine) -> set[tuple[str, ...]]:
    return syllables_said(engine.lexicon)


def by_force(engine: Engine, name: str, step: int) -> set[str]:
    """Every made-up word that a reader of an early step can read, by trying every string of up to three graphemes."""
    reader = engine.reader(name, step)
    judge, this = engine.judge(reader), maker(engine, reader.sequence.accent)
    letters = sorted(
        {p.split(" as in ")[0] for p in judge.now.sound if judge.now.step_of(p) <= step and " as in " in p}
    )
    found = set()
    for size in (2, 3):
        for word in map("".join, product(letters, repeat=size)):
            if not this.rules.illegal(word) and not this.real.same(word):
                entry = judge.entry(word)
                if entry.allowance == "read as spelled" and entry.sounded <= step and not this.refused(word):
                    found.add(word)
    return found


@pytest.mark.parametrize("name", SEQUENCES)
def test_made_up_words_at_every_step(
    name: str, engine: Engine, said: set[tuple[str, ...]], capsys: pytest.CaptureFixture[str]
) -> None:
    sequence, few, shown = engine.sequence(name), {}, []
    for number, step in enumerate(sequence.steps, 1):
        reader = engine.reader(name, number)
        found = made_up(engine, reader, count=10, seed=number)
        vowels = sum(engine.judge(reader).now.step_of(v) <= number for v in VOWELS)
        if vowels >= 3 and len(found) < 10:
            few[name, step.id] = len(found)
            assert {w.word for w in found} == by_force(engine, name, number)
        report = engine.check("\n\n".join(w.word for w in found), reader)
        assert [(w.text, w.verdict) for w in report.words() if w.verdict != "decodable"] == []
        for word in found:
            assert word.word not in engine.lexicon.index
            assert word.word not in engine.word_table().index
            assert word.word not in engine.never_offered
            assert word.first_step <= number
            assert word.readings
            for reading in word.readings:
                sounds = tuple(bare(s) for s in reading.sounds)
                assert sounds not in said
                assert engine.never_offered.unfit_made_up(word.word, [sounds]) == ""
                assert "".join(g.replace("-", "") for g in reading.graphemes) != ""
        assert len({w.word for w in found}) == len(found)
        shown.append(f"{number} {step.id}: {' '.join(w.word for w in found)}")
    assert few == {key: count for key, count in FEW.items() if key[0] == name}
    with capsys.disabled():
        print(f"\nMade-up words at each step of {name}:", *shown, sep="\n  ")


def test_all_shipped_sequences_are_asked() -> None:
    assert set(SEQUENCES) <= set(sequence_names())


def test_the_same_seed_gives_the_same_words(engine: Engine) -> None:
    reader = engine.reader("gull-point", "ai-ay")
    assert made_up(engine, reader, seed=4) == made_up(engine, reader, seed=4)
    fresh = Engine()
    fresh.__dict__["lexicon"] = engine.lexicon
    assert [w.word for w in made_up(fresh, reader, seed=4)] == [w.word for w in made_up(engine, reader, seed=4)]
    assert len({tuple(w.word for w in made_up(engine, reader, seed=seed)) for seed in range(4)}) == 4


def test_starts_vowels_and_patterns_vary(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh")
    found = made_up(engine, reader, count=10)
    assert len({w.word[0] for w in found}) >= 6
    assert len({v for w in found for v in w.word if v in "aeiou"}) == 5
    assert sum("sh" in w.word for w in found) >= 4, "what the step teaches comes first"


@pytest.mark.parametrize(
    ("step", "pattern", "letters"),
    [
        ("ai-ay", "ai", "ai"),
        ("a-e", "a-e as in cake", "a"),
        ("l-blends", "bl-", "bl"),
        ("sh", "sh", "sh"),
        ("ar", "ar", "ar"),
    ],
)
def test_a_pattern_is_in_every_word(step: str, pattern: str, letters: str, engine: Engine) -> None:
    found = made_up(engine, engine.reader("gull-point", step), pattern=pattern)
    assert len(found) == 10
    assert all(letters in w.word for w in found)


def test_words_said_in_two_ways_only_where_asked(engine: Engine) -> None:
    reader = engine.reader("gull-point", "oo")
    assert made_up(engine, reader, pattern="oo as in moon") == ()
    found = made_up(engine, reader, pattern="oo as in moon", two_ways=True)
    assert len(found) == 10
    assert all("oo" in w.word for w in found)
    assert any(len(w.readings) > 1 for w in found)


def test_readings_in_order(engine: Engine, american: Maker) -> None:
    first, *others = american.plausible("charb")
    assert first.sounds == ("CH", "AA1", "R", "B")
    assert others
    assert [round(p.probability, 6) for p in others] == sorted((round(p.probability, 6) for p in others), reverse=True)
    found = made_up(engine, engine.reader("gull-point", "sh"))
    assert all(r.rhymes for w in found for r in w.readings[:1] if w.word.endswith("sh"))


# ---------------------------------------------------------------- matched lists
@pytest.mark.parametrize("step", ["sh", "final-blends", "ai-ay", "ar"])
def test_matched_words(step: str, engine: Engine) -> None:
    reader = engine.reader("gull-point", step)
    found = matched(engine, reader, count=10)
    assert len(found) == 10
    assert found == matched(engine, reader, count=10)
    reals = [m.real.word for m in found]
    assert len(set(reals)) == 10
    report = engine.check("\n\n".join(reals), reader)
    assert [(w.text, w.verdict) for w in report.words() if w.verdict != "decodable"] == []
    for match in found:
        assert match.real.shape == match.made_up.shape
        vowel = maker(engine, GENERAL).vowel_pattern(match.made_up.word)
        assert vowel in [g.pattern for g in engine.readings(match.real.word)[0].graphemes]
        assert match.real.form == "base"


def test_output_for_machines(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh")
    found = json.loads(json.dumps([w.to_dict() for w in made_up(engine, reader, count=2)]))
    assert set(found[0]) == {"word", "made_up", "readings", "shape", "first_step"}
    assert set(found[0]["readings"][0]) == {"sounds", "graphemes", "ipa", "rhymes", "share"}
    pair = json.loads(json.dumps(matched(engine, reader, count=1)[0].to_dict()))
    assert set(pair) == {"made_up", "real"}


@pytest.mark.parametrize("count", [0, 201])
def test_bad_counts(count: int, engine: Engine) -> None:
    with pytest.raises(DecodableError, match="Ask for 1 to 200 made-up words"):
        made_up(engine, engine.reader("gull-point", "sh"), count=count)


# ---------------------------------------------------------------- rule files
def test_broken_rules(tmp_path: Path) -> None:
    path = tmp_path / "made_up.toml"
    path.write_text(
        'title = "x"\n[readings]\nleast = "x"\n[starts]\nmade = ["b"]\n[[vowels]]\nname = "short"\nteach = ["a"]\n'
        'ends = ["shrt"]\n[ends]\n"short" = ["t"]\n[[never]]\nstart = "c"\n[[alike]]\nname = "y"\n'
        'changes = [["XX", "AA"]]\n[[ending]]\nsound = "Q"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultsError) as caught:
        load_made_up(path)
    text = "\n".join(caught.value.faults)
    for part in (
        "made_up.toml:6: there is no list of ends 'shrt'; nearest: short",
        "[readings] needs least",
        "made_up.toml:12: [[never]] needs start, before and reason",
        "made_up.toml:14: a change is from ARPAbet sounds",
        "made_up.toml:17: 'Q' is no ARPAbet sound",
    ):
        assert part in text


def test_rare_words(tmp_path: Path, engine: Engine) -> None:
    found = load_rare()
    assert len(found) > 5_000
    assert {"zax", "vug", "kat"} <= {*found, *engine.lexicon.index}
    assert [w for w in found if w in engine.lexicon.index] == [], "what the dictionary has stands there"
    path = tmp_path / "rare_words.txt"
    path.write_text("# a list\nzax Z AE K S\nZax\nbep B XX P\n", encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load_rare(path)
    assert [fault.split(": ")[0] for fault in caught.value.faults] == ["rare_words.txt:3", "rare_words.txt:4"]


def test_sequences_of_a_school_are_served(engine: Engine, tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        'title = "Own"\n[[step]]\nid = "all"\nteach = ["b","d","f","g","m","n","p","t","v","z","a","e","i","o","u","CVC"]\n',
        encoding="utf-8",
    )
    reader = engine.reader(load_sequence(path, engine.phrases), 1)
    found = made_up(engine, reader, count=12)
    assert len(found) == 12
    report = engine.check("\n\n".join(w.word for w in found), reader)
    assert {w.verdict for w in report.words()} == {"decodable"}
