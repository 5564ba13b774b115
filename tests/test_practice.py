"""Practice: lists in order, sorts, blends, boxes, settled spellings, sentences, grids, plans, lessons, and their rules."""

from __future__ import annotations

import json
import random
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable import resources
from decodable.blends import NO_WORD, WORD, blend_charts, blend_table
from decodable.dictation import dictation
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.lesson import lesson
from decodable.model import CONSONANT_SOUNDS, PHONEMES
from decodable.practice import drawn, in_turn, practice_words, seeded, target_phrases
from decodable.practice_rules import practice_rules, sayings
from decodable.review import _shuffled_rows, fluency_grid, review_plan
from decodable.sentences import sentence_rules
from decodable.settled import settled_words
from decodable.sorts import word_sort
from decodable.sound_boxes import ARC, BAR, DOT, NONE, SoundWork
from decodable.word_order import load_order
from decodable.words import Query, WordIndex

RULES = resources.rules_dir()


def _index(engine: Engine, step: int | str | None = "sh", sequence: str = "gull-point", **exceptions: Any) -> WordIndex:
    return engine.words(engine.reader(sequence, step, **exceptions))


@pytest.fixture(scope="module")
def work(engine: Engine) -> SoundWork:
    """Sound work at the end of a sequence."""
    return SoundWork(_index(engine, 59))


# ---------------------------------------------------------------- order
def test_by_sounds_two_then_three_then_four(engine: Engine) -> None:
    counts = [len(w.sounds) for w in _index(engine, "s-blends").find(Query(order="sounds"))]
    assert counts == sorted(counts)
    assert {2, 3, 4} <= set(counts)


def test_new_first_then_steps_in_turn(engine: Engine) -> None:
    index = _index(engine, "th")
    found = index.find(Query(order="new"))
    th = {p for t in index.taught_now for p in t.patterns}
    fresh = set(index.find(Query(), index.using(th)))
    assert set(found[: len(fresh)]) == fresh
    review = [w.first_step for w in found[len(fresh) :]]
    assert review[:10] == sorted(set(review), reverse=True)[:10], "the latest steps in turn"
    assert len(found) == index.count(Query())


def test_an_order_only_reorders(engine: Engine) -> None:
    index = _index(engine, "s-blends")
    lists = [index.find(Query(order=order)) for order in ("clear", "sounds", "new")]
    assert len({frozenset(w.word for w in words) for words in lists}) == 1
    with pytest.raises(DecodableError, match="No order 'short'"):
        index.find(Query(order="short"))


def test_blending_takes_short_words_first(engine: Engine) -> None:
    index = _index(engine, "three-sounds")
    sounds = [len(w.sounds) for w in practice_words(index).new]
    assert index.blending_is_new
    assert sounds == sorted(sounds)


@pytest.mark.parametrize(("step", "target"), [("sh", ()), ("ai-ay", ()), ("th", ("sh",)), ("le", ("-le syllables",))])
def test_new_words_use_the_target_and_review_does_not(step: str, target: tuple[str, ...], engine: Engine) -> None:
    index = _index(engine, step)
    found = practice_words(index, target)
    patterns = [p for phrase in target_phrases(index, target) for p in phrase.patterns]
    using = {index.table.words[n] for n in index.using(patterns).nonzero()[0].tolist()}
    assert found.new
    assert found.review
    assert {w.word for w in found.new} <= using
    assert not {w.word.lower() for w in found.review} & using
    lemmas = [w.lemma for w in found.new]
    assert len(lemmas) == len(set(lemmas))


def test_a_step_of_whole_words_practises_the_step_before(engine: Engine) -> None:
    index = _index(engine, "k-words", "common-core")
    assert "e as in he" in [p.text for p in target_phrases(index)]


def test_a_target_or_a_step_is_needed(engine: Engine) -> None:
    with pytest.raises(DecodableError, match="state the step"):
        practice_words(_index(engine, None))
    assert practice_words(_index(engine, None), ["sh"]).new


@given(st.lists(st.integers(), max_size=40), st.integers(0, 12), st.integers(0, 5))
def test_drawn_keeps_the_order(items: list[int], count: int, seed: int) -> None:
    numbered = list(enumerate(items))
    found = drawn(numbered, count, seeded(seed, "test"))
    assert len(found) == min(count, len(items))
    assert list(found) == sorted(found, key=lambda pair: pair[0])
    assert found == drawn(numbered, count, seeded(seed, "test"))


def test_in_turn() -> None:
    assert in_turn([[1, 2, 3], [4], [], [5, 6]]) == [1, 4, 5, 2, 6, 3]


# ---------------------------------------------------------------- families and sorts
@pytest.mark.parametrize(
    ("step", "by", "headers", "odd"),
    [
        ("ai-ay", "spelling", {"ai as in rain", "ay as in day", "a-e as in cake"}, "have"),
        ("ou-ow", "spelling", {"ou as in out", "ow as in cow"}, "grow"),
        ("ea-ie-ey", "sound", {"ea as in bread", "ea as in sea"}, ""),
    ],
)
def test_sorts(step: str, by: str, headers: set[str], odd: str, engine: Engine) -> None:
    found = word_sort(_index(engine, step), by=by)
    assert headers <= {c.header for c in found.columns}
    assert 2 <= len(found.columns) <= 4
    assert not odd or odd in {w.word for w in found.odd}


def test_a_sort_by_spelling_is_of_one_sound_and_by_sound_of_several(engine: Engine) -> None:
    index = _index(engine, "ai-ay")

    def vowels(by: str) -> list[set[str]]:
        columns = word_sort(index, by=by).columns
        found = []
        for column in columns:
            pattern = index.phrases.parse(column.header).patterns[0]
            spelled = [index.table.spelled[index.table.index[w.word.lower()]] for w in column.words]
            found.append({" ".join(g[2]).rstrip("012") for s in spelled for g in s if g[3] == pattern})
        return found

    assert len(set.union(*vowels("spelling"))) == 1
    by_sound = vowels("sound")
    assert sum(map(len, by_sound)) == len(set.union(*by_sound)) >= 2


@pytest.mark.parametrize("by", ["sound", "spelling", "family"])
@pytest.mark.parametrize("seed", [0, 7])
def test_a_word_has_one_column(by: str, seed: int, engine: Engine) -> None:
    index = _index(engine, "er-ir-ur")
    found = word_sort(index, by=by, seed=seed)
    words = [w.word for c in found.columns for w in c.words] + [w.word for w in found.odd]
    assert len(words) == len(set(words)) == len(found.mixed)
    assert found == word_sort(index, by=by, seed=seed)
    for column in found.columns:
        if by == "family":
            assert {w.word for w in column.words} <= {w.word for w in index.find(Query(family=column.header))}


def test_headers_of_ones_own(engine: Engine) -> None:
    index = _index(engine, "ou-ow")
    found = word_sort(index, headers=["ow as in cow", "ow as in snow"])
    assert [c.header for c in found.columns] == ["ow as in cow", "ow as in snow"]
    assert {w.word for w in found.columns[0].words} & {"town", "brown", "how", "now"}
    families = word_sort(index, by="family", headers=["-at", "-ip", "-op"])
    assert [c.header for c in families.columns] == ["-at", "-ip", "-op"]


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ({"by": "colour"}, "Sort by one of sound, spelling, family"),
        ({"headers": ["sh"]}, "2 to 4 headers, not 1"),
        ({"columns": 9}, "2 to 4 headers, not 9"),
        ({"headers": ["ee as in see", "sh"]}, "no two columns"),
        ({"by": "family", "headers": ["-at", "-qat"]}, "No word family -qat"),
    ],
    ids=lambda v: v if isinstance(v, str) else None,
)
def test_bad_sorts(arguments: dict[str, Any], what: str, engine: Engine) -> None:
    with pytest.raises(DecodableError) as caught:
        word_sort(_index(engine), **arguments)
    assert what in str(caught.value)


# ---------------------------------------------------------------- blends
def test_charts_show_key_words_of_this_reader_only(engine: Engine) -> None:
    early = {e.name: e for c in blend_charts(_index(engine, "l-blends")) for e in c.entries}
    assert early["bl-"].keyword is not None
    assert early["bl-"].keyword.picture
    assert early["bl-"].keyword.word.startswith("bl")
    assert (early["br-"].keyword, early["br-"].words) == (None, ())
    assert early["br-"].step == 21
    late = [e for c in blend_charts(_index(engine, 59)) for e in c.entries]
    assert [e.name for e in late if not e.words and not e.keyword] == []


def test_every_blend_of_the_rules_is_on_a_chart(engine: Engine) -> None:
    charted = {m for c in practice_rules().charts for m in c.members}
    families = {f.name: set(f.members) for f in engine.lexicon.teaching.families}
    assert families["initial blends"] | families["three-letter blends"] <= charted
    assert families["final blends"] - charted <= {"-lch", "-nth", "-lth"}, "no picture of any"
    assert not [m for c in practice_rules().charts for m in c.members if c.digraphs == ("-" in m.split(" ")[0])]


@pytest.mark.parametrize(
    ("step", "words", "no_words"),
    [("l-blends", {"clap", "plop", "slump"}, {"blop", "glap"}), ("three-letter-blends", {"string"}, {"spling"})],
)
def test_table_says_what_is_a_word(step: str, words: set[str], no_words: set[str], engine: Engine) -> None:
    table = blend_table(_index(engine, step), engine.never_offered)
    found = {c.text: c.kind for row in table.cells for c in row}
    assert {w for w in words if found.get(w) == WORD} == words
    assert {w for w in no_words if found.get(w) == NO_WORD} == no_words
    assert all(len(row) == len(table.rimes) for row in table.cells)
    assert [row[0].text for row in table.cells] == [b.strip("-") + table.rimes[0].strip("-") for b in table.blends]


def test_a_table_pairs_no_c_with_e_or_i(engine: Engine) -> None:
    for seed in range(4):
        table = blend_table(_index(engine, "s-blends"), engine.never_offered, target=["sc-", "cl-", "st-"], seed=seed)
        assert not [c.text for row in table.cells for c in row if c.text.startswith(("sce", "sci", "ce", "ci"))]


# ---------------------------------------------------------------- sound boxes
@pytest.mark.parametrize(
    ("word", "boxes", "marks"),
    [
        ("ship", "sh:1 i:1 p:1", "─── • •"),
        ("cake", "c:1 a-e:1 k:1", "• ╰─•─╯"),
        ("fox", "f:1 o:1 x:2", "• • •"),
        ("quick", "qu:2 i:1 ck:1", "─── • ───"),
        ("knee", "kn:1 ee:1", "─── ───"),
        ("hour", "h:0 our:1", "  ─────"),
        ("bird", "b:1 ir:1 d:1", "• ─── •"),
        ("table", "t:1 a:1 b:1 le:1", "• • • ───"),
        ("cube", "c:1 u-e:1 b:1", "• ╰─•─╯"),
        ("stop", "s:1 t:1 o:1 p:1", "• • • •"),
        ("lamb", "l:1 a:1 mb:1", "• • ───"),
        ("off", "o:1 ff:1", "• ───"),
        ("bathe", "b:1 a-e:1 th:1", "• ╰───╯"),
    ],
)
def test_boxes(word: str, boxes: str, marks: str, work: SoundWork) -> None:
    found = work.boxes(word)
    assert " ".join(f"{b.letters}:{b.width}" for b in found.boxes) == boxes
    if word != "bathe":
        assert found.marks == (" ".join(word), marks)
    assert {b.mark for b in found.boxes} <= {DOT, BAR, ARC, NONE}
    assert all((b.mark == NONE) == (b.width == 0) for b in found.boxes)
    assert sorted(p for b in found.boxes for p in b.at) == list(range(len(word)))


@pytest.mark.parametrize(
    ("word", "starts", "written"),
    [
        ("ship", "held", "sh"),
        ("tin", "stop", "t"),
        ("jam", "short", "j"),
        ("off", "held", "o"),
        ("quick", "short", "kw"),
    ],
)
def test_how_the_first_sound_is_said(word: str, starts: str, written: str, work: SoundWork) -> None:
    found = work.boxes(word)
    assert (found.starts, found.boxes[0].written) == (starts, written)


@pytest.mark.parametrize("word", ["ship", "stop", "cake", "bird", "top", "chin", "fox"])
def test_each_change_is_of_one_sound(word: str, work: SoundWork) -> None:
    def units(text: str) -> list[str]:
        return [b.written for b in work.boxes(text, changes=0).boxes if b.width]

    own, found = units(word), work.boxes(word, changes=6).changes
    assert found
    assert len({c.word for c in found}) == len(found)
    assert len({c.place for c in found}) > 1, "in varied places"
    for change in found:
        other = units(change.word)
        if change.kind == "change":
            assert [(a, b) for a, b in zip(own, other, strict=True) if a != b] == [(change.before, change.after)]
        else:
            long, short = (own, other) if change.kind == "drop" else (other, own)
            gone = change.before or change.after
            assert short in [long[:i] + long[i + 1 :] for i in range(len(long)) if long[i] == gone]


def test_an_unknown_word_has_no_boxes(work: SoundWork) -> None:
    with pytest.raises(DecodableError, match="decodable fix"):
        work.boxes("qzxv")


def test_sounds_and_order_agree_on_what_can_be_held() -> None:
    held = {s for s in CONSONANT_SOUNDS if sayings().of((s,)).held}
    assert held == load_order(RULES / "words.toml").continuants
    assert all(sayings().of((s,)).held for s in PHONEMES - CONSONANT_SOUNDS)
    assert not {s for s in ("B", "D", "G", "K", "P", "T") if sayings().of((s,)).kind != "stop"}


# ---------------------------------------------------------------- dictation
@pytest.mark.parametrize(
    ("step", "settled", "unsettled"),
    [
        ("c-k", "cat kit kid can cot", ""),
        ("sh", "cat kit back duck fish quick box jam", "bus if has yes off"),
        ("final-blends", "milk hand sink left", "bus much rich catch"),
        ("ai-ay", "rain train play day badge", "plane made lake gem jet"),
        ("ou-ow", "out mouth cow now", "rain road boat snow"),
        ("er-ir-ur", "park shark storm", "her girl hurt sea see tail tale"),
    ],
)
def test_settled_spellings(step: str, settled: str, unsettled: str, engine: Engine) -> None:
    """As a teacher would judge: c before a, k before i, ck after a short vowel; never bus (ss?) or much (tch?)."""
    index = _index(engine, step)
    found = settled_words(index, target_phrases(index))
    known = {word: bool(found[index.table.index[word]]) for word in (settled + " " + unsettled).split()}
    assert known == {**dict.fromkeys(settled.split(), True), **dict.fromkeys(unsettled.split(), False)}


def test_a_word_that_sounds_like_another_needs_a_sentence(engine: Engine) -> None:
    index = _index(engine, "two-closed-syllables")
    alone, inside = settled_words(index), settled_words(index, alone=False)
    assert int((alone & ~inside).sum()) == 0
    number = index.table.index["in"]
    assert (bool(alone[number]), bool(inside[number])) == (False, True), "the reader knows inn, too"


def test_dictation_counts_and_repeats(engine: Engine) -> None:
    reader = engine.reader("gull-point", "th")
    found = dictation(engine, reader, words=4, sentences=3, seed=5)
    assert (len(found.words), len(found.sentences)) == (4, 3)
    assert found == dictation(engine, reader, words=4, sentences=3, seed=5)
    assert {dictation(engine, reader, seed=n).sentences for n in range(1, 5)} != {found.sentences}
    index = engine.words(reader)
    usable = settled_words(index, target_phrases(index), alone=False)
    for sentence in found.sentences:
        for word in sentence.text.lower().strip(".?!").split():
            assert usable[index.table.index[word]] or word in {w.lower() for w in sentence.whole}


def test_sentences_name_known_people_and_say_a_or_an(engine: Engine) -> None:
    reader = engine.reader("gull-point", "final-blends", names=["Zog"])
    texts = [s.text for n in range(1, 9) for s in dictation(engine, reader, sentences=6, seed=n).sentences]
    assert any("Zog" in text for text in texts)
    words = [pair for text in texts for pair in pairwise(text.lower().split())]
    assert all(b[0] in "aeiou" for a, b in words if a == "an")
    assert all(b[0] not in "aeio" for a, b in words if a == "a")


def test_things_do_not_can_or_will(engine: Engine) -> None:
    """*The van hit the post* is a sentence; nobody would say *The van can hit the post*."""
    for step in ("th", "s-blends", "igh-ie"):
        reader = engine.reader("gull-point", step)
        asked = [s.question for n in range(6) for s in dictation(engine, reader, sentences=6, seed=n).sentences]
        assert any(q.startswith("What ") for q in asked)
        assert not [q for q in asked if q.startswith(("What can", "What will"))]


def test_each_side_of_the_sea_has_its_own_words(engine: Engine) -> None:
    def texts(sequence: str, step: int | str) -> str:
        reader = engine.reader(sequence, step)
        return " ".join(s.text for n in range(12) for s in dictation(engine, reader, sentences=6, seed=n).sentences)

    american, british = texts("gull-point", "u-h"), texts("england-appendix-1", "reception-8")
    assert "Mom" in american
    assert "Mum" not in american
    assert "Mum" in british
    assert "Mom" not in british


# ---------------------------------------------------------------- grids and plans
@given(st.integers(2, 7), st.integers(1, 6), st.integers(0, 20))
def test_rows_are_the_same_words_reshuffled(columns: int, rows: int, seed: int) -> None:
    words = [f"w{n}" for n in range(columns)]
    found = _shuffled_rows(words, rows, random.Random(seed))
    assert len(found) == rows
    assert all(sorted(row) == words for row in found)
    if columns >= 5:
        assert not [a for up, low in pairwise(found) for a, b in zip(up, low, strict=True) if a == b]


def test_a_grid_is_five_by_five(engine: Engine) -> None:
    found = fluency_grid(_index(engine, "th"), seed=2)
    assert [len(row) for row in found.rows] == [5] * 5
    assert found == fluency_grid(_index(engine, "th"), seed=2)
    assert found.rows != fluency_grid(_index(engine, "th"), seed=3).rows


def test_each_pattern_comes_back_as_the_settings_say(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh")
    plan = review_plan(engine, reader, weeks=7)
    back = {w.number - 1: r.words for w in plan.weeks for r in w.returns if r.phrase == "sh"}
    assert list(back) == list(practice_rules().gaps)
    assert 4 <= max(back) <= 6, "four to six weeks"
    words = [w for found in back.values() for w in found]
    assert len(words) == len(set(words)), "other words each time"


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 59), st.integers(1, 9), st.integers(1, 3))
def test_plans_step_by_step(step: int, weeks: int, weeks_a_step: int) -> None:
    import decodable

    engine = decodable.shared_engine()
    plan = review_plan(engine, engine.reader("gull-point", step), weeks=weeks, weeks_a_step=weeks_a_step)
    assert [w.number for w in plan.weeks] == list(range(1, weeks + 1))
    assert [w.step for w in plan.weeks] == [min(step + n // weeks_a_step, 59) for n in range(weeks)]
    assert all(r.after in plan.gaps and r.words for w in plan.weeks for r in w.returns)
    taught = [phrase for w in plan.weeks for phrase in w.new]
    assert len(taught) == len(set(taught)), "new once"


# ---------------------------------------------------------------- lessons
def test_a_lesson_repeats_for_a_seed(engine: Engine) -> None:
    reader = engine.reader("gull-point", "ai-ay")
    assert lesson(engine, reader, seed=3).to_dict() == lesson(engine, reader, seed=3).to_dict()
    assert lesson(engine, reader, seed=3).to_dict() != lesson(engine, reader, seed=4).to_dict()


def test_a_lesson_holds_its_parts(engine: Engine) -> None:
    found = lesson(engine, engine.reader("gull-point", "sh"))
    assert (found.target, found.whole) == (("sh",), ("do", "so"))
    assert sum(p.minutes for p in found.parts) == 30
    assert found.sounds[0].keyword == "ship"
    assert [c.new for c in found.sounds] == sorted((c.new for c in found.sounds), reverse=True)
    assert found.passage is not None
    assert found.passage.title == "Hush!"
    assert not found.passage.text.startswith("#")
    assert [len(d.words) for d in found.days] == [practice_rules().number("lesson", "words")] * 5
    assert len(json.dumps(found.to_dict())) > 1000


def test_a_lesson_for_another_target(engine: Engine) -> None:
    found = lesson(engine, engine.reader("gull-point", "th"), target=["sh"])
    assert found.target == ("sh",)
    assert all("sh" in w.graphemes for w in found.words.new)


@pytest.mark.parametrize("make", [lesson, review_plan])
def test_a_step_is_needed(make: Any, engine: Engine) -> None:
    with pytest.raises(DecodableError, match="state the step"):
        make(engine, engine.reader("gull-point"))


# ---------------------------------------------------------------- rules
@pytest.mark.parametrize(
    ("name", "load", "change", "fault"),
    [
        ("practice.toml", practice_rules, ("rows    = 5", 'rows    = "five"'), "[grid] needs a number for rows"),
        ("practice.toml", practice_rules, ("[1, 2, 4, 6]", "[2, 1]"), "whole weeks from 1 on, in order, not [2, 1]"),
        ("practice.toml", practice_rules, ('"questions"\n', '"queries"\n'), "id should be one of sounds"),
        ("practice.toml", practice_rules, ('about = "words"', 'about = "wrods"'), "about: passage or words"),
        ("saying_sounds.toml", sayings, ('sound = "M"', 'sound = "MM"'), "'MM' is no ARPAbet sound"),
        ("saying_sounds.toml", sayings, ('kind = "stop"', 'kind = "stopp"'), "not 'stopp'; nearest: stop"),
        ("sentences.toml", sentence_rules, ("{past} {rest}.", "{passed} {rest}."), "{passed} is none of subject"),
        ("sentences.toml", sentence_rules, ('"uk"', '"gb"'), "a region is us or uk"),
    ],
)
def test_broken_rules(name: str, load: Any, change: tuple[str, str], fault: str, tmp_path: Path) -> None:
    text = (RULES / name).read_text(encoding="utf-8")
    assert change[0] in text
    path = tmp_path / name
    path.write_text(text.replace(*change), encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load(path)
    assert fault in str(caught.value)
    assert all(f.startswith(f"{name}:") for f in caught.value.faults)
