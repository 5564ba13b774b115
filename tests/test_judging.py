"""From taught steps to readable steps: gates, implied patterns, whole words; and more knowledge never makes a word harder."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.engine import Engine
from decodable.judge import Judge
from decodable.judging import NEVER, need_steps, reading_steps, taught, word_steps
from decodable.sequence import Sequence

SequenceFrom = Callable[..., Sequence]
CASES = Path(__file__).parent / "cases" / "opens_at.tsv"
SEQUENCES = ("gull-point", "england-appendix-1", "common-core")
LETTERS = "a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, r, s, t, u, v, w, x, y as in yes, z"


def _golden() -> list[object]:
    with CASES.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    return [
        pytest.param(row["word"], name, row[name], id=f"{row['word']}-{name}") for row in rows for name in SEQUENCES
    ]


@pytest.mark.parametrize(("word", "sequence", "step"), _golden())
def test_word_opens_at(engine: Engine, word: str, sequence: str, step: str) -> None:
    judge = engine.judge(engine.reader(sequence))
    opens = judge.entry(word).step
    assert 0 < opens < NEVER
    assert judge.reader.sequence.steps[opens - 1].id == step


def _judge(engine: Engine, sequence: Sequence, **exceptions: list[str]) -> Judge:
    reader = engine.reader(
        sequence,
        patterns=exceptions.get("patterns", []),
        not_secure=exceptions.get("not_secure", []),
        words=exceptions.get("words", []),
    )
    return engine.judge(reader)


def _opens(engine: Engine, sequence: Sequence, *words: str, **exceptions: list[str]) -> list[int]:
    judge = _judge(engine, sequence, **exceptions)
    return [judge.entry(word).step for word in words]


# ---------------------------------------------------------------- gates
def test_untaught_families_hold_nothing_back(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS)
    assert _opens(engine, sequence, "cat", "stop", "strap", "list", "napkin", "it's") == [1] * 6


@pytest.mark.parametrize(
    ("gate", "word"),
    [
        ("bl-, st-", "stop"),
        ("initial blends", "stop"),
        ("-st, -nd", "list"),
        ("final blends", "list"),
        ("str-, spl-", "strap"),
        ("two syllables", "napkin"),
        ("contractions", "it's"),
        ("compound words", "sunset"),
        ("un-", "unpin"),
    ],
)
def test_a_taught_family_holds_back_until_its_step(
    engine: Engine, sequence_from: SequenceFrom, gate: str, word: str
) -> None:
    sequence = sequence_from(LETTERS, gate)
    assert _opens(engine, sequence, "cat", word) == [1, 2]


def test_unlisted_member_opens_with_the_last_listed_one(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "bl-", "st-", "cl-")
    assert _opens(engine, sequence, "blot", "stop", "clap", "frog", "snap") == [2, 3, 4, 4, 4]


def test_a_gate_never_makes_a_word_irregular(engine: Engine) -> None:
    """In every shipped sequence each gate and shape opens at some step."""
    table = engine.lexicon.table.needs
    gates = (table.gate >= 0) | (table.shape[:, 0] >= 0)
    assert gates.sum() > 100
    for name in SEQUENCES:
        judge = engine.judge(engine.reader(name))
        assert int(judge.bank.needs[gates].max()) <= judge.last


def test_extras_alone_make_no_gate(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS)
    assert _opens(engine, sequence, "stop", "list", "napkin", patterns=["bl-", "-nd", "CVC", "three syllables"]) == [
        1,
        1,
        1,
    ]


def test_extra_member_opens_only_itself(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "bl-", "st-")
    assert _opens(engine, sequence, "blot", "stop", "frog", patterns=["st-"]) == [2, 1, 3]


# ---------------------------------------------------------------- shapes
def test_cvc_admits_shorter_shapes(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "CVC, o as in go", "CCVC, CVCC")
    assert _opens(engine, sequence, "at", "cat", "go", "stop", "list") == [2, 2, 2, 3, 3]


def test_a_taught_blend_admits_its_shape(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(f"{LETTERS}, VC, CVC", "st-, -nd", "fr-, CCVC, CVCC, CCVCC")
    assert _opens(engine, sequence, "stop", "hand", "stand", "frog") == [2, 2, 2, 3]


@pytest.mark.parametrize("word", ["quit", "box", "fox"])
def test_qu_and_x_count_as_one_consonant(engine: Engine, sequence_from: SequenceFrom, word: str) -> None:
    sequence = sequence_from(f"{LETTERS}, qu, CVC", "CCVC, CVCC")
    assert _opens(engine, sequence, word) == [1]


def test_y_of_cube_and_r_controlled_vowel_count_as_one(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(f"{LETTERS}, u-e, ar as in car, CVC", "CCVC, CVCC")
    assert _opens(engine, sequence, "cube", "car", "farm") == [1, 1, 1]


def test_suffix_does_not_count_in_the_shape(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(f"{LETTERS}, CVC, -s", "CVCC")
    assert _opens(engine, sequence, "cats", "dogs", "list") == [1, 1, 2]


# ---------------------------------------------------------------- what opens what
def test_implied_patterns(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(f"{LETTERS}, ou as in out", "ff", "a-e")
    assert _opens(engine, sequence, "puff", "kitten", "rabbit") == [2, 2, 2]
    assert _opens(engine, sequence, "have", "mouse") == [3, 3]


def test_rime_frees_only_the_words_that_have_it(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "-ind as in find")
    assert _opens(engine, sequence, "find", "kind", "mild") == [2, 2, NEVER]


def test_one_spelling_with_two_sounds(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "ea as in sea", "ea as in bread")
    assert _opens(engine, sequence, "meat", "bread") == [2, 3]


def test_short_o_has_both_its_sounds(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, "ng")
    assert _opens(engine, sequence, "dog", "frog", "log", "hot", "long") == [1, 1, 1, 1, 2]


@pytest.mark.parametrize("word", ["kitten", "lemon", "wagon", "basket"])
def test_unstressed_vowels(engine: Engine, sequence_from: SequenceFrom, word: str) -> None:
    steps = (f"{LETTERS}, doubled consonants",)
    assert _opens(engine, sequence_from(*steps), word) == [1]
    strict = _opens(engine, sequence_from(*steps, unstressed="strict"), word)
    stressed = engine.readings(word)[0].sounds[-2][-1] != "0"
    assert strict == ([1] if stressed or (word == "basket" and strict == [1]) else [NEVER])


def test_reader_overrides_the_policy(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from(LETTERS, unstressed="strict")
    assert engine.judge(engine.reader(sequence)).entry("lemon").step == NEVER
    assert engine.judge(engine.reader(sequence, unstressed="allow")).entry("lemon").step == 1


def test_unstressed_vowel_needs_its_own_letter_taught(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from("l, e, m, n", "o")
    assert _opens(engine, sequence, "lemon") == [2]


def test_articles_are_not_let_pass(engine: Engine, sequence_from: SequenceFrom) -> None:
    """Words of one syllable have no unstressed vowel to let pass."""
    assert _opens(engine, sequence_from(f"{LETTERS}, th"), "the") == [NEVER]


# ---------------------------------------------------------------- whole words
def test_whole_words_and_their_forms(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from("i, n, t | look, say, to", "-s, -ing")
    judge = engine.judge(engine.reader(sequence))
    assert [judge.entry(w).whole for w in ("look", "looks", "looking")] == [1, 2, 2]
    assert judge.entry("looks").source == ("look",)
    assert judge.entry("into").whole == 1
    assert judge.entry("into").source == ("in", "to")
    assert judge.entry("say").whole == 1
    assert judge.entry("says").step == NEVER


def test_whole_word_changed_by_its_suffix_is_another_word(engine: Engine, sequence_from: SequenceFrom) -> None:
    sequence = sequence_from("s | come, have, busy", "-ing, -ed, -er, -s")
    judge = engine.judge(engine.reader(sequence))
    assert [judge.entry(w).whole for w in ("coming", "having", "busier")] == [NEVER] * 3
    assert judge.entry("comes").whole == 2


def test_not_secure_holds_back(engine: Engine, sequence_from: SequenceFrom) -> None:
    judge = _judge(engine, sequence_from(LETTERS), not_secure=["b"])
    assert judge.entry("cat").step == 1
    assert judge.entry("bat").step == NEVER
    assert judge.entry("bat").ever == 1


def test_not_secure_whole_word_still_counts(engine: Engine, sequence_from: SequenceFrom) -> None:
    assert _judge(engine, sequence_from(LETTERS), not_secure=["b"], words=["bat"]).entry("bat").step == 0


# ---------------------------------------------------------------- properties
def _steps(engine: Engine, sequence: Sequence, extra: list[str], policy: str | None = None) -> np.ndarray:
    table = engine.lexicon.table
    names = [p for text in extra for p in engine.phrases.parse(text).patterns]
    needs = need_steps(table.needs, taught(sequence, engine.lexicon.teaching, extra=names, unstressed=policy))
    return word_steps(table, reading_steps(table, needs))


@settings(max_examples=30, deadline=None)
@given(data=st.data())
def test_more_patterns_never_make_a_word_harder(engine: Engine, data: st.DataObject) -> None:
    sequence = engine.sequence(data.draw(st.sampled_from(SEQUENCES)))
    phrases = st.lists(st.sampled_from(engine.phrases.phrases()), max_size=8)
    known = [t for t in data.draw(phrases) if t not in engine.lexicon.teaching.choices]
    more = [t for t in data.draw(phrases) if t not in engine.lexicon.teaching.choices]
    less_known = _steps(engine, sequence, known)
    more_known = _steps(engine, sequence, [*known, *more, "-ind as in find"])
    assert bool((more_known <= less_known).all())


@settings(max_examples=6, deadline=None)
@given(data=st.data())
def test_allowing_unstressed_vowels_never_makes_a_word_harder(engine: Engine, data: st.DataObject) -> None:
    sequence = engine.sequence(data.draw(st.sampled_from(SEQUENCES)))
    strict, allow = (_steps(engine, sequence, [], policy) for policy in ("strict", "allow"))
    assert bool((allow <= strict).all())
    assert bool((allow < strict).any())


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_more_known_never_makes_an_entry_harder(engine: Engine, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(SEQUENCES))
    teaching = engine.lexicon.teaching
    common = ["in", "to", "look", "some", "one", "day", "boat", "light", "sun", "rain", "play", "can", "read as in red"]
    words = data.draw(st.lists(st.sampled_from([*common, *engine.lexicon.words]), min_size=1, max_size=12))
    known = data.draw(st.lists(st.sampled_from(sorted(teaching.patterns)), max_size=4))
    more = data.draw(st.lists(st.sampled_from(sorted(teaching.patterns)), max_size=4))
    whole = data.draw(st.lists(st.sampled_from(common), max_size=3))
    more_whole = data.draw(st.lists(st.sampled_from([*common, *(w for w in words if " " not in w)]), max_size=3))
    before = engine.judge(engine.reader(name, patterns=known, words=whole))
    after = engine.judge(engine.reader(name, patterns=[*known, *more], words=[*whole, *more_whole]))
    asked = {w.split(" ")[0] for w in words} | {"looks", "into", "someone", "sunlight", "today", "rainy", "playing"}
    for word in sorted(asked):
        assert after.entry(word).step <= before.entry(word).step, word


@pytest.mark.parametrize("name", SEQUENCES)
def test_whole_dictionary_agrees_with_single_words(engine: Engine, name: str) -> None:
    judge = engine.judge(engine.reader(name))
    words = engine.lexicon.words
    for number in range(0, len(words), 997):
        assert judge.entry(words[number]).sounded == int(judge.bank.words[number])
