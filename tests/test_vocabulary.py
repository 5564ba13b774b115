"""The vocabulary: forms by the spelling rules, frames that print back, the shipped files, and faults with their line."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decodable import resources
from decodable.doctor import check_vocabulary
from decodable.engine import Engine
from decodable.errors import FaultsError
from decodable.frames import Frame, Slot, parse_frame
from decodable.inflection import Inflections, load_inflections
from decodable.morphology import joins
from decodable.never_offered import NeverOffered, load_never_offered
from decodable.vocabulary import BASE, KNOWN, Lemma, Vocabulary, load_vocabulary, read_vocabulary
from decodable.word_table import TRUSTED

NOWHERE = Path("no-such-folder")


@pytest.fixture(scope="module")
def inflections() -> Inflections:
    return load_inflections(resources.rules_dir() / "inflections.toml")


@pytest.fixture(scope="module")
def never() -> NeverOffered:
    return load_never_offered(own=NOWHERE)


def _found(vocabulary: Vocabulary, lemma: str, pos: str) -> Lemma:
    found = vocabulary.find(lemma, pos)
    assert found is not None
    return found


# ---------------------------------------------------------------- forms
@pytest.mark.parametrize(
    ("word", "ending", "form"),
    [
        ("cat", "s", "cats"),
        ("box", "s", "boxes"),
        ("fish", "s", "fishes"),
        ("buzz", "s", "buzzes"),
        ("watch", "s", "watches"),
        ("baby", "s", "babies"),
        ("toy", "s", "toys"),
        ("cake", "s", "cakes"),
        ("hop", "ed", "hopped"),
        ("hope", "ed", "hoped"),
        ("play", "ed", "played"),
        ("cry", "ed", "cried"),
        ("agree", "ed", "agreed"),
        ("fix", "ed", "fixed"),
        ("quit", "ing", "quitting"),
        ("make", "ing", "making"),
        ("see", "ing", "seeing"),
        ("tie", "ing", "tying"),
        ("cry", "ing", "crying"),
        ("dye", "ing", "dyeing"),
        ("open", "ing", "opening"),
        ("rain", "ing", "raining"),
        ("big", "er", "bigger"),
        ("nice", "er", "nicer"),
        ("happy", "er", "happier"),
        ("grey", "est", "greyest"),
        ("slow", "est", "slowest"),
    ],
)
def test_spelling_rules(word: str, ending: str, form: str, inflections: Inflections) -> None:
    assert inflections.add(word, ending) == form


def test_written_forms_win(inflections: Inflections) -> None:
    forms = inflections.forms("give", "verbs", {"past": "gave", "participle": "given"})
    assert forms == {"third": "gives", "past": "gave", "participle": "given", "present_participle": "giving"}
    assert inflections.forms("afraid", "adjectives", {"comparative": "none"}) == {}
    assert inflections.forms("careful", "adjectives", {"comparative": "more"}) == {}
    assert inflections.forms("the", "determiners", {}) == {}


def test_broken_inflections(tmp_path: Path) -> None:
    path = tmp_path / "inflections.toml"
    path.write_text(
        'title = "x"\n[form]\nnouns = { plural = "s" }\n[[join]]\nending = ["s"]\nafter = ["x"]\nadds = "es"\n'
    )
    with pytest.raises(FaultsError) as caught:
        load_inflections(path)
    assert [f.split(": ")[0] for f in caught.value.faults] == ["inflections.toml:4", "inflections.toml:3"]


def test_derived_forms_come_apart_again(engine: Engine) -> None:
    """The rules that put words together and those that take them apart are two: they must agree."""
    morphology, endings = engine.rules.morphology, ("s", "es", "ed", "ing", "er", "est")
    affixes = [a for a in morphology.suffixes if a.letters in endings]
    asked, failing = 0, []
    for lemma in engine.vocabulary.lemmas:
        for form, text in lemma.forms.items():
            if form != BASE and form not in lemma.written:
                asked += 1
                if not any(j.base == lemma.lemma for a in affixes if text not in a.excluded for j in joins(text, a)):
                    failing.append(text)
    assert asked > 8000
    # Words that the affix rules set apart because they are mostly something else (flatter, to praise; bellows).
    assert all(any(text in a.excluded for a in affixes) for text in failing), failing


# ---------------------------------------------------------------- frames
CLASSES = ("person", "animal", "thing", "ground")
PREPOSITIONS = ("in", "on", "to", "up", "out-of")
_choice = st.sampled_from([*CLASSES, "=hole", "=mud"])
_slot = st.builds(
    Slot,
    st.one_of(
        st.lists(_choice, min_size=1, max_size=3).map(tuple), st.sampled_from([("clause",), ("verb",), ("adjective",)])
    ),
    st.sampled_from(["", *PREPOSITIONS]),
)
_subject = st.builds(Slot, st.lists(_choice, min_size=1, max_size=3).map(tuple))


@given(_subject, st.lists(_slot, max_size=3), st.sampled_from(["", *PREPOSITIONS]))
def test_frames_print_and_parse_back(subject: Slot, slots: list[Slot], particle: str) -> None:
    frame = Frame(subject, (*slots, *([Slot((), particle)] if particle else [])))
    assert parse_frame(str(frame), CLASSES, PREPOSITIONS) == frame


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("person digs =hole", "has 0"),
        ("_ =hole", "one slot stands before"),
        ("person _ hole", "'hole' is no class"),
        ("clause _ thing", "'clause' is no class"),
        ("person _ thing|clause", "'clause' is no class"),
        ("person _ inn thing", "'inn' is no class"),
        ("person _ =", "'=' is no class"),
    ],
)
def test_no_frame(text: str, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        parse_frame(text, CLASSES, PREPOSITIONS)


# ---------------------------------------------------------------- the shipped files
def test_the_shipped_vocabulary(engine: Engine, never: NeverOffered, capsys: pytest.CaptureFixture[str]) -> None:
    found = load_vocabulary(never, own=NOWHERE)
    words = {lemma.lemma for lemma in found.lemmas}
    by_pos: dict[str, int] = {}
    for lemma in found.lemmas:
        by_pos[lemma.pos] = by_pos.get(lemma.pos, 0) + 1
    with capsys.disabled():
        print(f"\nVocabulary: {len(words)} lemmas, {len(found.by_form)} words in all forms; {by_pos}")
    assert len(words) >= 3000
    assert {lemma.known for lemma in found.lemmas} == set(KNOWN)
    assert len({(p.pos, p.lemma) for p in found.lemmas}) == len(found.lemmas)
    assert not [text for text in found.by_form if text in never]
    assert all(lemma.frames for lemma in found.lemmas if lemma.pos == "verb")
    assert all(lemma.describes for lemma in found.lemmas if lemma.pos == "adjective")


def test_every_form_is_said_as_it_should_be(engine: Engine) -> None:
    check_vocabulary(engine)


@pytest.mark.parametrize(
    ("lemma", "pos", "forms"),
    [
        ("mouse", "noun", {"base": "mouse", "plural": "mice"}),
        ("mud", "noun", {"base": "mud"}),
        ("trousers", "noun", {"base": "trousers", "plural": "trousers"}),
        ("sheep", "noun", {"base": "sheep", "plural": "sheep"}),
        ("drink", "verb", {"base": "drink", "third": "drinks", "past": "drank", "present_participle": "drinking"}),
        ("good", "adjective", {"base": "good", "comparative": "better", "superlative": "best"}),
        ("the", "determiner", {"base": "the"}),
    ],
)
def test_forms_of_entries(lemma: str, pos: str, forms: dict[str, str], engine: Engine) -> None:
    assert dict(_found(engine.vocabulary, lemma, pos).forms) == forms


def test_entries_know_their_use(engine: Engine) -> None:
    names = (("trousers", "noun"), ("mud", "noun"), ("give", "verb"), ("the", "determiner"), ("i", "pronoun"))
    trousers, mud, give, the, letter_i = (_found(engine.vocabulary, w, p) for w, p in names)
    assert (trousers.plural_only, mud.plural_only, mud.count) == (True, False, False)
    assert "person" in give.frames[0].subject.choices
    assert the.grammar["kind"] == "article"
    assert letter_i.write == "I"


def test_classes_hold_what_belongs_to_them(engine: Engine) -> None:
    classes = engine.vocabulary.classes
    assert {"pet", "fish", "bird"} <= classes.within("animal")
    assert classes.above("pet") == ("pet", "animal", "being", "any")
    assert classes.within("any") == set(classes.parent)


def test_readings_are_trusted(engine: Engine) -> None:
    words = sorted(engine.vocabulary.by_form)
    for word in random.Random(7).sample(words, 500):
        assert engine.readings(word)[0].source in TRUSTED


# ---------------------------------------------------------------- faults and the user's own themes
CLASS_FILE = """title = "c"
[classes]
any = { parent = "", gloss = "all" }
animal = { parent = "any", gloss = "animals" }
person = { parent = "any", gloss = "people" }
"""
THEME = """title = "t"
[nouns]
cat = { class = ["animal"], known = "early" }
dog = { class = ["anmal"], known = "early" }
fox = { class = ["animal"], known = "soon" }
gun = { class = ["animal"], known = "early" }
ram = { class = ["animal"] }
hen = { class = ["animal"], known = "early", colour = "red" }
Cow = { class = ["animal"], known = "early" }
mum = { class = ["person"], known = "early", region = "uk", same_as = "mom" }
[verbs]
dig = { past = "dug", known = "early", frames = ["person _ =hole", "person _ in hole"] }
[adjectives]
red = { class = ["any"], known = "early" }
"""
FAULTS = [
    (4, "'anmal' is no class; nearest: animal"),
    (5, "known should be one of early, middle, later, not 'soon'"),
    (6, "the noun 'gun' is never offered (group weapons-and-war)"),
    (6, "its form 'guns' is never offered"),
    (7, "the noun 'ram' needs known"),
    (8, "unknown key 'colour'"),
    (9, "a word is small letters only (an apostrophe in a contraction), not 'Cow'"),
    (10, "same_as names 'mom', which is not in the vocabulary"),
    (12, "the frame 'person _ =hole' names 'hole', which is no noun here"),
    (12, "'hole' is no class"),
    (12, "its past is written, so write its participle too"),
    (14, "the adjective 'red' needs describes"),
]


@pytest.fixture
def themes(tmp_path: Path) -> Path:
    folder = tmp_path / "vocabulary"
    folder.mkdir()
    (folder / "classes.toml").write_text(CLASS_FILE, encoding="utf-8")
    (folder / "first.toml").write_text(THEME, encoding="utf-8")
    return folder


def test_every_fault_is_reported(themes: Path, never: NeverOffered) -> None:
    (themes / "second.toml").write_text(
        'title = "s"\n[prepositions]\nin = { class = ["any"], known = "early" }\n[nouns]\n\ncat = { class = ["animal"], known = "early" }\n',
        encoding="utf-8",
    )
    faults = read_vocabulary(never, themes, NOWHERE).faults
    for line, what in FAULTS:
        assert any(f.startswith(f"first.toml:{line}: ") and what in f for f in faults), (line, what)
    assert "second.toml:6: the noun 'cat' stands already in first.toml:3; once is enough" in faults
    assert len(faults) == len(FAULTS) + 1
    with pytest.raises(FaultsError):
        load_vocabulary(never, themes, NOWHERE)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ('splunge = { class = ["animal"], known = "early" }', "the pronunciation is not known"),
        ('long = { class = ["any"], describes = ["any"], known = "early" }', "does not sound like it with -er"),
    ],
)
def test_sounds_are_checked(line: str, what: str, tmp_path: Path, engine: Engine) -> None:
    (tmp_path / "classes.toml").write_text(CLASS_FILE, encoding="utf-8")
    table = "adjectives" if "describes" in line else "nouns"
    (tmp_path / "t.toml").write_text(f'title = "t"\n[{table}]\n{line}\n', encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        check_vocabulary(engine, tmp_path, NOWHERE)
    assert any(f.startswith("t.toml:3: ") and what in f for f in caught.value.faults), caught.value.faults


def test_the_users_entry_takes_the_place_of_ours(tmp_path: Path, never: NeverOffered) -> None:
    (tmp_path / "animals.toml").write_text(
        'title = "Ours"\n[nouns]\ncrab = { class = ["pet"], known = "later" }\nturnstone = { class = ["bird"], known = "later" }\n',
        encoding="utf-8",
    )
    found = load_vocabulary(never, own=tmp_path)
    assert _found(found, "crab", "noun").classes == ("pet",)
    assert _found(found, "turnstone", "noun").forms["plural"] == "turnstones"


def test_words_that_a_school_adds_to_the_never_offered_leave(tmp_path: Path) -> None:
    own = tmp_path / "never_offered.toml"
    own.write_text('[[add]]\nwords = ["witch", "crabs"]\nreason = "families asked"\n', encoding="utf-8")
    found = load_vocabulary(load_never_offered(own=own), own=NOWHERE)
    assert found.find("witch", "noun") is None
    assert "plural" not in _found(found, "crab", "noun").forms
