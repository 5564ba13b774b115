"""The words of a reader: filters, order, families, and that nothing unfit or unreadable is ever among them."""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import decodable
from decodable import resources
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.judging import NEVER
from decodable.model import VOWEL_SOUNDS, bare
from decodable.sequence import Sequence, sequence_names
from decodable.word_order import load_order
from decodable.words import Query, WordIndex, words_dict

SEQUENCES = ("gull-point", "common-core", "england-appendix-1")


def _index(engine: Engine, step: int | str | None = "sh", sequence: str = "gull-point", **exceptions: Any) -> WordIndex:
    return engine.words(engine.reader(sequence, step, **exceptions))


# ---------------------------------------------------------------- fit and readable
@pytest.mark.parametrize("name", SEQUENCES)
def test_nothing_never_offered_at_any_step(name: str, engine: Engine) -> None:
    last = len(engine.sequence(name).steps)
    sizes = []
    for step in range(1, last + 1):
        found = _index(engine, step, name).texts(Query(whole=True))
        assert [word for word in found if word in engine.never_offered] == []
        sizes.append(len(found))
    assert sizes == sorted(sizes), "a later step never takes words away"
    assert sizes[-1] > 10_000


@pytest.mark.parametrize(("name", "part"), [*itertools.product(SEQUENCES, (0.2, 0.5, 0.8))])
def test_the_checker_agrees(name: str, part: float, engine: Engine) -> None:
    """Every word that the index offers is readable in the checker's eyes, alone on its line."""
    step = max(1, round(part * len(engine.sequence(name).steps)))
    index = _index(engine, step, name)
    words = index.texts(Query(whole=True))
    words = random.Random(step).sample(words, min(len(words), 300))
    report = engine.check("\n\n".join(words), index.judge.reader)
    flagged = [(w.text, w.verdict) for w in report.words() if w.verdict not in ("decodable", "taught-whole")]
    assert flagged == []


@pytest.mark.parametrize("name", SEQUENCES)
def test_first_steps_are_the_checkers(name: str, engine: Engine) -> None:
    """Heteronyms apart, of which the harder reading counts."""
    index, several = _index(engine, None, name), set(engine.lexicon.meta["heteronyms"])
    for number in random.Random(3).sample(range(len(index.table.words)), 400):
        word = index.table.words[number]
        sounded = index.judge.entry(word).sounded
        assert int(index.sounded[number]) >= sounded
        assert word in several or int(index.sounded[number]) == sounded


def test_heteronyms_wait_for_their_harder_reading(engine: Engine) -> None:
    at = engine.sequence("gull-point").numbers["ee-ea"]
    assert "read" not in _index(engine, at).texts(Query())
    assert "bread" not in _index(engine, at).texts(Query())
    assert "read" in _index(engine, None).texts(Query())


@pytest.mark.parametrize("name", SEQUENCES)
def test_words_to_sound_out_have_a_vowel(name: str, engine: Engine) -> None:
    """*Shh* is a word of stories, and nothing for a list."""
    index = _index(engine, None, name)
    offered = index.sounded <= index.step
    silent = np.flatnonzero(offered & (index.table.column("syllables") == 0))
    assert [index.table.words[n] for n in silent] == []


# ---------------------------------------------------------------- filters
@pytest.mark.parametrize(
    ("query", "inside", "outside"),
    [
        (Query(pattern="sh"), ["ship", "fish"], ["cat"]),
        (Query(pattern="sh", place="first"), ["ship", "shed"], ["fish"]),
        (Query(pattern="sh", place="last"), ["fish", "mash"], ["ship"]),
        (Query(pattern="a", place="middle"), ["cat", "ham"], ["at"]),
        (Query(shape="VC"), ["at", "in"], ["cat", "a"]),
        (Query(shape="cvc"), ["cat", "ship", "fox"], ["at"]),
        (Query(sounds=2), ["at", "up"], ["cat"]),
        (Query(family="-at"), ["cat", "hat"], ["cut", "that"]),
        (Query(family="at"), ["cat"], ["cut"]),
        (Query(word_class="animal"), ["cat", "hen", "fish"], ["hat"]),
        (Query(word_class="fish"), ["cod", "fish"], ["cat"]),
        (Query(pos="verb"), ["run", "ran", "sit"], ["hat"]),
        (Query(pos="noun", base=True), ["cat"], ["cats", "sat"]),
        (Query(known="early"), ["cat"], ["cod"]),
        (Query(picture=True), ["cat"], ["did"]),
        (Query(new=True), ["ship"], ["cat"]),
        (Query(region="us"), ["mom"], ["mum"]),
        (Query(region="uk"), ["mum"], ["mom"]),
    ],
    ids=lambda v: str(v) if isinstance(v, Query) else None,
)
def test_filters(query: Query, inside: list[str], outside: list[str], engine: Engine) -> None:
    found = {word.word for word in _index(engine).find(query)}
    assert set(inside) <= found
    assert not found & set(outside)


def test_values_answer_the_query(engine: Engine) -> None:
    index = _index(engine, "igh-ie")
    animals = engine.vocabulary.classes.within("animal")
    for word in index.find(Query(word_class="animal", known="middle", picture=True, sounds=4)):
        assert animals & set(word.classes)
        assert word.known in ("early", "middle")
        assert word.picture
        assert len(word.sounds) == 4
        assert word.first_step <= index.step
        assert word.verdict == "decodable"


def test_a_limit_cuts_the_list_and_not_its_order(engine: Engine) -> None:
    index = _index(engine)
    everything = index.find(Query())
    assert index.find(Query(limit=9)) == everything[:9]
    assert len(everything) == index.count(Query(limit=9)) == len({w.word for w in everything})
    assert sorted(w.word.lower() for w in everything) == index.texts(Query())


def test_new_words_add_up(engine: Engine) -> None:
    """What each step frees is the difference of what can be read."""
    sizes = [0, *(len(_index(engine, n).texts(Query())) for n in range(1, 21))]
    fresh = [len(_index(engine, n).texts(Query(new=True))) for n in range(1, 21)]
    assert fresh == np.diff(sizes).tolist()


def test_whole_words_are_told_apart(engine: Engine) -> None:
    index = _index(engine)
    assert "the" not in index.texts(Query())
    the = next(w for w in index.find(Query(whole=True)) if w.word == "the")
    assert the.verdict == "taught-whole"
    assert [
        w.word for w in _index(engine, words=["said"]).find(Query(whole=True)) if w.lemma == "say" and w.form == "past"
    ] == ["said"]


def test_exceptions_of_a_reader(engine: Engine) -> None:
    plain = set(_index(engine).texts(Query()))
    assert "see" in set(_index(engine, patterns=["ee as in see", "open syllables"]).texts(Query())) - plain
    unsure = _index(engine, not_secure=["b"]).find(Query())
    assert {word.word for word in unsure} < plain
    assert not any("b" in word.graphemes for word in unsure)


def test_a_schools_own_folder(engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Words kept out, let through and added; the compiled vocabulary follows, and is kept."""
    monkeypatch.setattr(resources, "user_dir", lambda: tmp_path)
    monkeypatch.setattr(resources, "cache_dir", lambda: tmp_path / "cache")
    (tmp_path / "never_offered.toml").write_text(
        '[[add]]\nwords = ["shed"]\nreason = "a test"\n[[allow]]\nwords = ["pub", "pubs"]\nreason = "a test"\n',
        encoding="utf-8",
    )
    (tmp_path / "vocabulary").mkdir()
    (tmp_path / "vocabulary" / "ours.toml").write_text(
        'title = "Ours"\n[nouns]\npub = { class = ["building"], known = "later" }\n', encoding="utf-8"
    )
    (tmp_path / "pronunciations.toml").write_text(
        'title = "Ours"\n[words]\ncat = { said = ["K EY1 T"], reason = "a test" }\n', encoding="utf-8"
    )

    def words() -> list[str]:
        own = Engine()
        own.__dict__["lexicon"] = engine.lexicon
        return own.words(own.reader("gull-point", "sh")).texts(Query())

    found, usual = set(words()), set(_index(engine).texts(Query()))
    assert usual - found == {"shed", "sheds", "cat"}
    assert found - usual == {"pub", "pubs"}
    assert (tmp_path / "cache" / "words-general-american.npz").is_file()
    monkeypatch.setattr("decodable.word_table.compile_words", None)
    assert set(words()) == found


# ---------------------------------------------------------------- order
def test_clearest_first(engine: Engine) -> None:
    words = [w.word for w in _index(engine).find(Query(pattern="sh", new=True))]
    assert words.index("ship") < words.index("ships") < words.index("gush")
    found = _index(engine, None).find(Query(pos="noun", limit=200))
    assert all(w.form == "base" for w in found)
    assert sum(w.picture for w in found) > 100


def test_blending_begins_with_sounds_that_can_be_held(engine: Engine, sequence_from: Callable[..., Sequence]) -> None:
    early = sequence_from("s, a, t, p, i, n, m, d, g, o, c, k, e, u, r, h, b, f, l, CVC, VC", "initial blends", "sh")
    new, later = (engine.words(engine.reader(early, n)) for n in (1, 3))
    assert (new.blending_is_new, later.blending_is_new) == (True, False)
    held = engine._order.continuants | VOWEL_SOUNDS
    shares = [
        np.mean([bare(w.sounds[0]) in held for w in index.find(Query(shape="CVC", limit=40))]) for index in (new, later)
    ]
    assert shares[0] > 0.9 > shares[1]


# ---------------------------------------------------------------- families and counts
def test_families_are_spelled_and_sounded_alike(engine: Engine) -> None:
    index = _index(engine, None)
    at = {w.word for w in index.find(Query(family="-at", base=True))}
    assert {"cat", "that", "flat"} <= at
    assert not at & {"what", "cats"}
    snow, cow = ({w.word for w in index.find(Query(family=f"-ow as in {k}"))} for k in ("snow", "cow"))
    assert {"snow", "grow"} <= snow
    assert {"cow", "now"} <= cow
    assert not snow & cow
    og = {w.word for w in index.find(Query(family="-og"))}
    assert {"dog", "frog", "hog"} <= og, "one taught vowel, though the dictionary has two sounds"
    families = index.families()
    assert all(len(words) > 1 for words in families.values())
    assert list(families) == sorted(families, key=lambda name: (-len(families[name]), name))


def test_counts_agree_with_lists(engine: Engine) -> None:
    index = _index(engine)
    counts = index.counts(Query())
    assert counts["class"]["animal"] == len(
        {(w.lemma, w.pos) for w in index.find(Query(word_class="animal", base=True))}
    )
    assert sum(counts["pos"].values()) == sum(counts["theme"].values()) == sum(counts["known"].values())
    assert counts["class"]["pet"] <= counts["class"]["animal"] <= counts["class"]["being"]


@pytest.mark.parametrize(
    ("query", "what"),
    [
        (Query(word_class="anmal"), "No class 'anmal'; nearest: animal"),
        (Query(pos="nuon"), "No part of speech 'nuon'; nearest: noun"),
        (Query(known="soon"), "No known 'soon'"),
        (Query(pattern="sh", place="end"), "No place 'end'"),
        (Query(place="first"), "name the pattern, too"),
        (Query(pattern="ow"), "could mean several sounds"),
        (Query(family="-ow"), "-ow is said in more than one way; write -ow as in"),
        (Query(family="-qat"), "No word family -qat; nearest: "),
        (Query(family="-at as in cut"), "is no word of the vocabulary with the family -at"),
        (Query(shape="CVX"), "A shape is written with C and V"),
        (Query(region="fr"), "No region 'fr'"),
    ],
    ids=lambda v: v if isinstance(v, str) else None,
)
def test_bad_queries(query: Query, what: str, engine: Engine) -> None:
    with pytest.raises(DecodableError) as caught:
        _index(engine).find(query)
    assert what in str(caught.value)


def test_new_needs_a_step(engine: Engine) -> None:
    with pytest.raises(DecodableError, match="state the step"):
        _index(engine, None).find(Query(new=True))


def test_broken_order(tmp_path: Path) -> None:
    path = tmp_path / "words.toml"
    path.write_text('title = "x"\n[points]\nfrequency = 1\nearly = "much"\n[blending]\ncontinuants = ["F", "AH"]\n')
    with pytest.raises(FaultsError) as caught:
        load_order(path)
    assert any("words.toml:6: 'AH' is no consonant" in fault for fault in caught.value.faults)
    assert any("needs a number for early" in fault for fault in caught.value.faults)


# ---------------------------------------------------------------- freed at each step
# Steps that free fewer than six words, each with its reason.
FEW = {
    ("gull-point", "first-sounds"): "four letters and words of two sounds: there are no more",
    ("gull-point", "more-sounds"): "seven letters and words of two sounds: there are no more",
    ("england-appendix-1", "reception-1"): "four letters: there are few words",
}


@pytest.mark.parametrize("name", SEQUENCES)
def test_every_step_frees_words(name: str, engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    sequence, freed = engine.sequence(name), _index(engine, None, name).freed()
    with capsys.disabled():
        print(f"\nWords for lists freed at each step of {name} ({int(freed.sum())} in all):")
        print(
            ", ".join(f"{n} {s.id} {c}" for n, (s, c) in enumerate(zip(sequence.steps, freed.tolist(), strict=True), 1))
        )
    few = {(name, step.id) for step, count in zip(sequence.steps, freed, strict=True) if count < 6}
    assert few == {key for key in FEW if key[0] == name}
    steps = np.minimum(_index(engine, None, name).sounded, _index(engine, None, name).whole)
    assert int(freed.sum()) == int((steps < NEVER).sum())


def test_all_shipped_sequences_are_asked() -> None:
    assert set(SEQUENCES) <= set(sequence_names())


# ---------------------------------------------------------------- output for machines
def test_output_is_plain_and_complete(engine: Engine) -> None:
    index = _index(engine)
    found = json.loads(json.dumps(words_dict(index, Query(pattern="sh", limit=2))))
    assert (found["format"], found["sequence"], found["step_id"], found["count"]) == (
        1,
        "gull-point",
        "sh",
        index.count(Query(pattern="sh")),
    )
    wanted = "word lemma pos form classes known picture frequency sounds graphemes shape family first_step".split()
    assert all(set(wanted) <= set(word) for word in found["words"])
    ship = found["words"][0]
    assert (ship["word"], ship["graphemes"], ship["shape"], ship["family"]) == ("ship", ["sh", "i", "p"], "CVC", "-ip")


def test_the_front_door() -> None:
    reader = decodable.reader("gull-point", "sh")
    found = decodable.find_words(reader, pattern="sh", word_class="fish", limit=1)
    assert [w.word for w in found] == ["fish"]
