"""Word chains and pairs: what a link is, chains at every step of every sequence, the proof where there is none."""

from __future__ import annotations

import json
import random
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import decodable
from decodable.chains import Chain, chain
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.model import Reading, bare
from decodable.pairs import contrasts, pairs
from decodable.word_links import ADD, CHANGE, DROP, Link, WordLinks, links_of, load_chain_rules
from decodable.words import WordIndex

SEQUENCES = ("gull-point", "common-core", "england-appendix-1")
# Steps without a chain of six, with the longest there is: found by trying every path.
SHORT = {
    ("gull-point", "first-sounds"): 0,
    ("gull-point", "more-sounds"): 5,
    ("england-appendix-1", "reception-1"): 5,
}


@pytest.fixture(scope="module")
def links(engine: Engine) -> WordLinks:
    return links_of(engine.word_table())


def _index(engine: Engine, step: int | str | None, sequence: str = "gull-point") -> WordIndex:
    return engine.words(engine.reader(sequence, step))


def between(links: WordLinks, first: str, second: str) -> Link | None:
    """The link from one word to another."""
    number = links.index[first]
    found = [step for step in links.links(number) if links.words[step.to] == second]
    assert len(found) < 2
    return links.link(number, found[0]) if found else None


# ---------------------------------------------------------------- what a link is
LINKS = """
sat sit     change a i middle
sit sip     change t p last
sip ship    change s sh first
ship shop   change i o middle
cap cape    change a a-e middle
hid hide    change i i-e middle
fox fog     change x g last
quit kit    change qu k first
top stop    add - s first
stop top    drop s - first
cat cats    add - s last
sand sad    drop n - middle
pan pant    add - t last
back bat    change ck t last
car cat     .
cart cat    change ar a middle
rain rail   change n l last
play pay    drop l - middle
rock rocket .
cat cot     change a o middle
cat dog     .
see sea     .
tale tail   .
meet meat   .
cot caught  .
cats bags   .
hat that    change h th first
match mat   change tch t last
knit kit    change kn k first
he shed     .
"""
"""From word to word: how, what goes, what comes, where; a dot: no link."""


@pytest.mark.parametrize("case", [line.split() for line in LINKS.strip().splitlines()], ids=lambda c: f"{c[0]}-{c[1]}")
def test_links(case: list[str], links: WordLinks) -> None:
    first, second, how, *rest = case
    found = between(links, first, second)
    if how == ".":
        assert found is None
        return
    assert found is not None
    old, new, place = ("" if text == "-" else text for text in rest)
    assert (found.how, found.old, found.new, found.place) == (how, old, new, place)


@settings(max_examples=150, deadline=None)
@given(st.randoms(use_true_random=False))
def test_links_hold_both_ways(chance: random.Random) -> None:
    links = links_of(decodable.shared_engine().word_table())
    number = chance.choice(sorted(links.units))
    back = {CHANGE: CHANGE, ADD: DROP, DROP: ADD}
    for step in links.links(number):
        returned = [s for s in links.links(step.to) if s.to == number]
        assert [s.how for s in returned] == [back[step.how]]
        there, again = links.link(number, step), links.link(step.to, returned[0])
        assert (there.old, there.new) == (again.new, again.old)


def test_a_word_said_in_two_ways_is_in_no_chain(links: WordLinks) -> None:
    assert {"read", "wind", "bow"}.isdisjoint(links.index)
    assert {"a", "can't"}.isdisjoint(links.index)


# ---------------------------------------------------------------- chains at every step
def one_sound_apart(a: Reading, b: Reading) -> bool:
    """Whether one grapheme was changed, added or dropped, by the readings alone."""
    first, second = ([(g.letters, g.pattern) for g in sorted(r.graphemes, key=lambda g: g.at[0])] for r in (a, b))
    if len(first) == len(second):
        return sum(x != y for x, y in zip(first, second, strict=True)) == 1
    long, short = sorted((first, second), key=len, reverse=True)
    return len(long) == len(short) + 1 and any(long[:i] + long[i + 1 :] == short for i in range(len(long)))


def faults(engine: Engine, index: WordIndex, found: Chain) -> list[str]:
    """What is wrong with a chain."""
    reader, out = index.judge.reader, []
    if len(set(found.words)) != len(found.words):
        out.append("a word stands twice")
    if found.words and len(found.links) != len(found.words) - 1:
        out.append("links and words do not fit")
    out += [f"{w} is never offered" for w in found.words if w in engine.never_offered]
    report = engine.check("\n\n".join(found.words), reader)
    out += [f"{w.text} is {w.verdict}" for w in report.words() if w.verdict != "decodable"]
    readings = [engine.readings(w, reader.sequence.accent)[0] for w in found.words]
    for a, b in pairwise(readings):
        if not one_sound_apart(a, b) or [bare(s) for s in a.sounds] == [bare(s) for s in b.sounds]:
            out.append(f"{a.word} to {b.word} is more or less than one sound")
    return out


def longest_by_force(index: WordIndex) -> int:
    """The length of the longest chain, by trying every path among the few words of an early step."""
    links = links_of(index.table)
    words = [w for w in index.texts(decodable.words.Query()) if w in links.index]
    assert len(words) < 40
    near = {w: [v for v in words if v != w and between(links, w, v)] for w in words}

    def best(path: tuple[str, ...]) -> int:
        return max((best((*path, v)) for v in near[path[-1]] if v not in path), default=len(path))

    found = max((best((w,)) for w in words), default=0)
    return found if found > 1 else 0


@pytest.mark.parametrize("name", SEQUENCES)
def test_a_chain_at_every_step(name: str, engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    sequence, short, shown = engine.sequence(name), {}, []
    for number, step in enumerate(sequence.steps, 1):
        index = _index(engine, number, name)
        for seed in (0, 1):
            found = chain(index, length=6, seed=seed)
            assert faults(engine, index, found) == [], found.words
            if len(found.words) < 6:
                assert found.complete
                assert len(found.words) == longest_by_force(index)
                short[name, step.id] = len(found.words)
            else:
                assert len({link.place for link in found.links}) > 1
                assert not found.complete
        shown.append(f"{number} {step.id}: {' '.join(found.words)}")
    assert short == {key: size for key, size in SHORT.items() if key[0] == name}
    with capsys.disabled():
        print(f"\nChains at each step of {name}:", *shown, sep="\n  ")


@pytest.mark.parametrize("length", [2, 3, 10, 20, 30])
def test_length_is_as_asked(length: int, engine: Engine) -> None:
    index = _index(engine, "igh-ie")
    found = chain(index, length=length)
    assert len(found.words) == length
    assert faults(engine, index, found) == []


def test_the_same_seed_gives_the_same_chain(engine: Engine) -> None:
    index = _index(engine, "sh")
    assert chain(index, seed=5) == chain(index, seed=5)
    assert len({chain(index, seed=seed).words for seed in range(8)}) > 3


def test_places_vary_where_they_can(engine: Engine) -> None:
    for seed in range(10):
        found = chain(_index(engine, "th"), length=8, seed=seed)
        places = [link.place for link in found.links]
        assert set(places) >= {"first", "last"}
        assert all(a != b for a, b in pairwise(places))


def test_the_pattern_asked_for_is_preferred(engine: Engine) -> None:
    index = _index(engine, "th")
    for pattern, letters in (("sh", "sh"), ("ck", "ck"), ("e", "e")):
        words = chain(index, length=8, pattern=pattern).words
        assert sum(letters in word for word in words) >= 3, words


def test_new_words_come_in(engine: Engine) -> None:
    for step in ("sh", "ch", "a-e", "ai-ay", "ar"):
        index = _index(engine, step)
        words = chain(index, length=8).words
        assert sum(int(index.sounded[index.table.index[w]]) == index.step for w in words) >= 2, (step, words)


# ---------------------------------------------------------------- through words
def test_through_words(engine: Engine) -> None:
    index = _index(engine, "sh")
    found = chain(index, length=8, through=["sat", "shop"])
    assert found.words[0] == "sat"
    assert "shop" in found.words
    assert found.left_out == ()
    assert faults(engine, index, found) == []


def test_what_cannot_be_passed_is_named(engine: Engine) -> None:
    index = _index(engine, "sh")
    found = chain(index, length=3, through=["sat", "shock"])
    assert found.words[0] == "sat"
    assert found.left_out == ("shock",)
    alone = chain(index, length=6, through=["quiz", "sat"])
    assert alone.words[0] == "quiz"
    assert ("sat" in alone.words) != ("sat" in alone.left_out)


@pytest.mark.parametrize(
    ("through", "length", "what"),
    [
        (["cake"], 6, "can't sound out 'cake' yet"),
        (["shpo"], 6, "'shpo' is no word of the vocabulary; nearest: "),
        (["I'm"], 6, "has a capital"),
        ([], 1, "A chain has 2 to 30 words, not 1"),
        ([], 31, "A chain has 2 to 30 words, not 31"),
        (["sat", "sit", "sip"], 2, "cannot pass 3 words"),
    ],
)
def test_bad_questions(through: list[str], length: int, what: str, engine: Engine) -> None:
    with pytest.raises(DecodableError) as caught:
        chain(_index(engine, "sh"), length=length, through=through)
    assert what in str(caught.value)


def test_output_for_machines(engine: Engine) -> None:
    found = json.loads(json.dumps(chain(_index(engine, "sh"), length=4).to_dict()))
    assert list(found) == ["words", "links", "asked", "complete", "left_out"]
    assert {"how", "place", "old", "new", "old_sounds", "new_sounds"} == set(found["links"][0])


# ---------------------------------------------------------------- pairs
@pytest.mark.parametrize(
    ("one", "other", "inside", "place"),
    [
        ("b", "d", ("big", "dig"), ""),
        ("b", "d", ("rob", "rod"), "last"),
        ("e", "i", ("set", "sit"), ""),
        ("sh", "ch", ("ship", "chip"), "first"),
        ("a", "a-e", ("tap", "tape"), ""),
        ("ee as in see", "i", ("sheep", "ship"), ""),
    ],
)
def test_pairs_for_a_contrast(one: str, other: str, inside: tuple[str, str], place: str, engine: Engine) -> None:
    index = _index(engine, "ee-ea")
    found = pairs(index, (one, other), place=place)
    assert inside in [(p.first, p.second) for p in found]
    wanted = [set(index.phrases.parse(text).patterns) for text in (one, other)]
    for pair in found:
        a, b = (engine.readings(w)[0] for w in (pair.first, pair.second))
        assert one_sound_apart(a, b)
        assert wanted[0] & {g.pattern for g in a.graphemes}
        assert wanted[1] & {g.pattern for g in b.graphemes}
        assert pair.link.how == CHANGE
        assert place in ("", pair.link.place)
    words = [w for p in found for w in (p.first, p.second)]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize("name", SEQUENCES)
def test_pairs_at_every_step_are_readable_and_fit(name: str, engine: Engine) -> None:
    for number in range(1, len(engine.sequence(name).steps) + 1):
        index = _index(engine, number, name)
        words = [w for c in contrasts(index) for p in c.pairs for w in (p.first, p.second)]
        words += [w for p in pairs(index, limit=30) for w in (p.first, p.second)]
        assert [w for w in words if w in engine.never_offered] == []
        report = engine.check("\n\n".join(words), index.judge.reader)
        assert [(w.text, w.verdict) for w in report.words() if w.verdict != "decodable"] == []


def test_every_confusable_has_pairs_in_the_end(engine: Engine) -> None:
    index = _index(engine, None)
    asked = links_of(index.table).rules.confusables
    assert [c.between for c in contrasts(index)] == [c.between for c in asked]
    assert {("b", "d"), ("e", "i"), ("sh", "ch")} <= {c.between for c in asked}


@pytest.mark.parametrize(
    ("between", "place", "what"),
    [(("b",), "", "between two patterns"), (("b", "d"), "end", "A place is"), (("b", "dd-"), "", "no pattern 'dd-'")],
)
def test_bad_pairs(between: tuple[str, ...], place: str, what: str, engine: Engine) -> None:
    with pytest.raises(DecodableError, match=what):
        pairs(_index(engine, "sh"), between, place=place)


# ---------------------------------------------------------------- rules
def test_broken_rules(tmp_path: Path) -> None:
    path = tmp_path / "chains.toml"
    path.write_text(
        'title = "x"\n[chain]\nclear = "much"\n[sounds]\nalike = [["AA", "XX"]]\n[[confusable]]\nbetween = ["b"]\n'
    )
    with pytest.raises(FaultsError) as caught:
        load_chain_rules(path)
    assert any("chains.toml:5: 'XX' is no ARPAbet sound" in fault for fault in caught.value.faults)
    assert any("chains.toml:6: a confusable pair needs between" in fault for fault in caught.value.faults)
    assert any("needs a number for clear" in fault for fault in caught.value.faults)


def test_points_decide(engine: Engine) -> None:
    """Each word has the points of its clearest form."""
    index = _index(engine, "sh")
    assert len(index.clearness) == len(index.table.words)
    assert np.isfinite(index.clearness).all()
    at = index.table.index
    assert index.clearness[at["ship"]] > index.clearness[at["ships"]]
