"""The main job: a worked check, every verdict, names, told words, heteronyms by their sentences, and what to teach first."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import decodable
from decodable.engine import Engine
from decodable.report import FLAGGED, VERDICTS, Report, WordVerdict
from decodable.sequence import Sequence

SequenceFrom = Callable[..., Sequence]
LETTERS = "a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, r, s, t, u, v, w, x, y as in yes, z"
WORKED = "Pip had a big hat. The hat fell in the mud. 'No!' said Pip. Mop ran in. Mop got the hat."
STORY = """The gull sat on the red boat. "Stop!" said Pip. Sam's cat ran to the lighthouse, and nine children looked
into the little harbour. Mabel had 2 crabs in a pink basket. Zog the crab didn't like it. They ran home at night.
"""


def _word(report: Report, text: str, nth: int = 0) -> WordVerdict:
    return [w for w in report.words() if w.text == text][nth]


def _verdicts(report: Report) -> dict[str, str]:
    return {w.text: w.verdict for w in report.words()}


# ---------------------------------------------------------------- the worked check
@pytest.fixture(scope="module")
def worked(engine: Engine, sequence_from: SequenceFrom) -> Report:
    """A child who knows three-sound words with final ll, and a, the, no."""
    return engine.check(WORKED, engine.reader(sequence_from(f"{LETTERS}, ll, CVC | a, the, no")))


def test_worked_check_counts(worked: Report) -> None:
    tokens, types = worked.counts["tokens"], worked.counts["types"]
    assert (tokens["all"], types["all"]) == (21, 14)
    assert (tokens["decodable"], tokens["taught-whole"]) == (15, 5)
    assert types["decodable"] + types["taught-whole"] == 13
    assert worked.flagged == 1


def test_worked_check_shares(worked: Report) -> None:
    assert worked.decodable_share == pytest.approx(15 / 21)
    assert worked.accuracy_potential == pytest.approx(20 / 21)
    assert worked.readable_share == pytest.approx(20 / 21)
    assert worked.flagged_types_per_100 == pytest.approx(100 / 21)
    assert round(worked.flagged_types_per_100, 1) == 4.8
    assert worked.met_once == 9


def test_worked_check_words(worked: Report) -> None:
    found = _verdicts(worked)
    assert [text for text, verdict in found.items() if verdict == "taught-whole"] == ["a", "The", "the", "No"]
    assert [(w.text, n) for w, n in worked.flagged_words] == [("said", 1)]
    said = _word(worked, "said")
    assert (said.verdict, said.first_step) == ("irregular", None)
    assert [(m.letters, m.at, m.step) for m in said.missing] == [("ai", (1, 2), None)]


# ---------------------------------------------------------------- verdicts
@pytest.mark.parametrize(
    ("text", "word", "verdict", "first_step"),
    [
        ("He had 12 cats.", "12", "told", 0),
        ("We had a TV.", "TV", "told", 0),
        ("The cat sat.", "cat", "decodable", 5),
        ("She sat.", "She", "taught-whole", 9),
        ("It is a ship.", "ship", "decodable", 14),
        ("It is a chip.", "chip", "later", 15),
        ("Sam's hat.", "Sam's", "later", 27),
        ("It can't run.", "can't", "later", 52),
        ("A zorblax ran.", "zorblax", "unknown", None),
        ("A xqzt ran.", "xqzt", "unknown", None),
        ("STOP!", "STOP", "later", 22),
    ],
)
def test_verdict(engine: Engine, text: str, word: str, verdict: str, first_step: int | None) -> None:
    found = _word(engine.check(text, engine.reader("gull-point", "sh")), word)
    assert (found.verdict, found.first_step) == (verdict, first_step)


def test_read_as_spelled_is_listed_apart(engine: Engine) -> None:
    report = engine.check("Zog sat. Zog ran.", engine.reader("gull-point", "sh"))
    assert _word(report, "Zog").allowance == "read as spelled"
    assert _word(report, "Zog").verdict == "decodable"
    assert [(w.text, n) for w, n in report.read_as_spelled] == [("Zog", 2)]


def test_missing_says_why(engine: Engine) -> None:
    report = engine.check("A boat, a cold chip, some bread, the colonel.", engine.reader("gull-point", "ee-ea"))
    why = {w.text: [(m.letters, m.why) for m in w.missing] for w in report.words() if w.flagged}
    assert why["boat"] == [("oa", "not-yet")]
    assert why["cold"] == [("o", "other-sound-taught")]
    assert why["bread"] == [("ea", "other-sound-taught")]
    assert ("olo", "never") in why["colonel"]


def test_missing_of_what_is_not_secure(engine: Engine) -> None:
    report = engine.check("The bat sat.", engine.reader("gull-point", "sh", not_secure=["b"]))
    bat = _word(report, "bat")
    assert bat.verdict == "later"
    assert [(m.letters, m.why) for m in bat.missing] == [("b", "not-secure")]
    assert not _word(report, "sat").flagged


def test_whole_word_forms_say_where_they_are_from(engine: Engine) -> None:
    report = engine.check("She looks into it. She says so.", engine.reader("gull-point", "s-blends"))
    assert (_word(report, "looks").verdict, _word(report, "looks").source) == ("taught-whole", ("look",))
    assert (_word(report, "into").verdict, _word(report, "into").source) == ("taught-whole", ("in", "to"))
    assert _word(report, "says").verdict == "later"


def test_decodable_comes_before_taught_whole(engine: Engine) -> None:
    report = engine.check("and she", engine.reader("gull-point", "open-words"))
    assert _verdicts(report) == {"and": "decodable", "she": "decodable"}


def test_told_words(engine: Engine) -> None:
    report = engine.check("The lighthouse sat. The Lighthouse!", engine.reader("gull-point", "sh", told=["Lighthouse"]))
    assert [w.verdict for w in report.words()].count("told") == 2
    assert report.readable_share == 1.0
    assert report.accuracy_potential == pytest.approx(3 / 5)


@pytest.mark.parametrize(("policy", "verdict"), [("allow", "decodable"), ("strict", "irregular")])
def test_unstressed_vowel_is_named_or_held_back(engine: Engine, policy: str, verdict: str) -> None:
    report = engine.check("lemon", engine.reader("gull-point", "two-closed-syllables", unstressed=policy))
    (found,) = report.words()
    assert found.verdict == verdict
    assert found.allowance == ("unstressed vowel" if policy == "allow" else "")


def test_short_form_is_no_hardship(engine: Engine) -> None:
    """Capitals and punctuation never count."""
    reader = engine.reader("gull-point", "sh")
    texts = [
        "Pip has a fish.",
        "PIP HAS A FISH!",
        "\N{LEFT DOUBLE QUOTATION MARK}Pip has a fish,\N{RIGHT DOUBLE QUOTATION MARK}",
    ]
    assert {engine.check(t, reader).readable_share for t in texts} == {1.0}


# ---------------------------------------------------------------- names
def test_name_inside_a_sentence(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh", names=["Mabel"])
    report = engine.check("I had a map. It is Mabel.", reader)
    assert (_word(report, "Mabel").verdict, _word(report, "Mabel").first_step) == ("name", 0)


def test_name_without_its_capital_is_a_word(engine: Engine) -> None:
    report = engine.check("It is mabel.", engine.reader("gull-point", "sh", names=["Mabel"]))
    assert _word(report, "mabel").verdict == "later"


def test_possessive_of_a_name(engine: Engine) -> None:
    report = engine.check("It is Mabel's hat.", engine.reader("gull-point", "sh", names=["Mabel"]))
    assert _word(report, "Mabel's").verdict == "name"


def test_first_word_is_a_name_if_the_text_uses_it_so(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh", names=["Rose"])
    used = engine.check("Rose ran. I had Rose.", reader)
    assert [_word(used, "Rose", n).verdict for n in (0, 1)] == ["name", "name"]
    unsure = engine.check("Rose hips.", reader)
    assert _word(unsure, "Rose").verdict == "later"


@pytest.mark.parametrize("name", ["Mabel", "Frank"])
def test_first_word_that_is_no_common_word_is_the_name(name: str, engine: Engine) -> None:
    report = engine.check(f"{name}'s hen ran. {name} ran.", engine.reader("gull-point", 9, names=[name]))
    assert [_word(report, f"{name}'s").verdict, _word(report, name).verdict] == ["name", "name"]


def test_name_that_can_be_sounded_out_stays_decodable(engine: Engine) -> None:
    report = engine.check("It is Sam.", engine.reader("gull-point", "sh", names=["Sam"]))
    assert _word(report, "Sam").verdict == "decodable"


# ---------------------------------------------------------------- heteronyms
@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("I like to read in bed.", "decodable"),
        ("Can he read it?", "decodable"),
        ("Mum read a book to Pip last night.", "later"),
        ("Mum had read it.", "later"),
    ],
)
def test_read_by_its_sentence(engine: Engine, text: str, verdict: str) -> None:
    found = _word(engine.check(text, engine.reader("gull-point", "ee-ea")), "read")
    assert found.verdict == verdict
    assert found.note.startswith("read as ")


@pytest.mark.parametrize(
    ("text", "word", "verdict"),
    [
        ("The wind is strong.", "wind", "decodable"),
        ("Wind up the string.", "Wind", "later"),
        ("Did Pip wind up the string?", "wind", "later"),
    ],
)
def test_wind_by_its_sentence(engine: Engine, text: str, word: str, verdict: str) -> None:
    assert _word(engine.check(text, engine.reader("gull-point", "three-letter-blends")), word).verdict == verdict


def test_sentence_that_does_not_tell_counts_the_hardest(engine: Engine) -> None:
    report = engine.check("They read.", engine.reader("gull-point", "ee-ea"))
    read = _word(report, "read")
    assert (read.verdict, read.note) == ("later", "the sentence does not tell which reading")
    assert report.unsure == [1]
    assert report.to_dict()["summary"]["reading_not_told"] == ["read"]


def test_readings_that_open_together_need_no_sentence(engine: Engine) -> None:
    report = engine.check("They read.", engine.reader("england-appendix-1", "year-1-words"))
    assert _word(report, "read").verdict == "decodable"
    assert report.unsure == []


def test_whole_word_in_one_sense_frees_that_sense(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh", words=["read as in red"])
    assert _word(engine.check("Mum had read it.", reader), "read").verdict == "taught-whole"


def test_whole_word_in_one_sense_leaves_the_other(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh", words=["read as in red"])
    assert _word(engine.check("I like to read in bed.", reader), "read").verdict == "later"


# ---------------------------------------------------------------- counts
EMPTY = ["", "   \n", "!!! ...", "\N{EM DASH}"]


@pytest.mark.parametrize("text", EMPTY)
def test_text_without_words(engine: Engine, text: str) -> None:
    report = engine.check(text, engine.reader("gull-point", "sh"))
    assert report.counts["tokens"]["all"] == 0
    assert (report.readable_share, report.accuracy_potential, report.decodable_share) == (1.0, 1.0, 1.0)
    assert report.met_once == report.flagged == report.flagged_types_per_100 == 0
    assert (report.flagged_words, report.teach_first(), report.to_dict()["words"]) == ([], [], [])


def _agree(report: Report) -> None:
    words = list(report.words())
    for kind in ("tokens", "types"):
        counts = report.counts[kind]
        assert sum(counts[v] for v in VERDICTS) == counts["all"]
    assert len(words) == report.counts["tokens"]["all"]
    assert [w.verdict for w in words] == [VERDICTS[code] for code in report.verdict.tolist()]
    assert report.flagged == sum(w.flagged for w in words)
    assert sum(n for _, n in report.flagged_words) == report.flagged
    for w in words:
        assert w.flagged == (w.verdict in {VERDICTS[code] for code in FLAGGED})
        if w.verdict == "later":
            assert w.first_step is not None
            assert w.first_step > report.step or any(m.why == "not-secure" for m in w.missing)
            assert w.missing
        if w.verdict in ("irregular", "unknown"):
            assert w.first_step is None
        if w.verdict in ("decodable", "taught-whole", "name", "told"):
            assert w.first_step is not None
            assert w.first_step <= report.step
            assert not w.missing
    shares = report.by_step
    assert len(shares) == len(report.judge.reader.sequence.steps)
    assert shares == sorted(shares)
    assert all(0 <= share <= 1 for share in shares)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_counts_add_up(engine: Engine, data: st.DataObject) -> None:
    words = st.lists(st.sampled_from([*STORY.split(), *engine.lexicon.words]), max_size=30)
    text = " ".join(data.draw(words))
    name = data.draw(st.sampled_from(("gull-point", "england-appendix-1", "common-core")))
    step = data.draw(st.integers(1, len(engine.sequence(name).steps)))
    report = engine.check(text, engine.reader(name, step, names=["Pip"], told=["lighthouse"]))
    _agree(report)
    if report.counts["tokens"]["all"]:
        assert report.by_step[step - 1] == pytest.approx(report.readable_share)


@pytest.mark.parametrize("name", ["gull-point", "england-appendix-1", "common-core"])
def test_a_later_step_never_flags_more(engine: Engine, name: str) -> None:
    before: set[int] | None = None
    for step in range(1, len(engine.sequence(name).steps) + 1):
        report = engine.check(STORY, engine.reader(name, step))
        flagged = {place for place, w in enumerate(report.words()) if w.flagged}
        assert before is None or flagged <= before
        assert report.by_step[step - 1] == pytest.approx(report.readable_share)
        before = flagged
    assert before


def test_first_step_at_95(engine: Engine) -> None:
    report = engine.check("The cat sat. A fish ran.", engine.reader("gull-point", "sh"))
    assert report.first_step_at() == 14
    assert report.by_step[12] < 0.95 <= report.by_step[13] == 1.0
    assert engine.check("xqzt", engine.reader("gull-point")).first_step_at() is None


def test_no_step_means_the_last_one(engine: Engine) -> None:
    report = engine.check(STORY, engine.reader("gull-point"))
    assert report.step == len(engine.sequence("gull-point").steps)
    assert report.to_dict()["step"] is None


def test_target(engine: Engine) -> None:
    report = engine.check("The ship had fish and chips. A ship!", engine.reader("gull-point", "ch"), target=["sh"])
    assert report.target_words == [("ship", 2), ("fish", 1)]
    assert report.target_share == pytest.approx(3 / 8)


# ---------------------------------------------------------------- what to teach first
@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("gull-point", "sh"),
        ("gull-point", "final-blends"),
        ("gull-point", "a-e"),
        ("england-appendix-1", "reception-10"),
        ("common-core", "1-digraphs"),
    ],
)
def test_teach_first_frees_what_it_claims(engine: Engine, name: str, step: str) -> None:
    report = engine.check(STORY, engine.reader(name, step))
    gains = report.teach_first()
    assert 0 < len(gains) <= 6
    patterns: list[str] = []
    words: list[str] = []
    for gain in gains:
        assert gain.words
        if gain.whole:
            words += gain.teach
        else:
            patterns += gain.teach
        again = engine.check(STORY, engine.reader(name, step, patterns=patterns, words=words))
        flagged = {w.text.lower() for w in again.words() if w.flagged}
        assert not flagged & set(gain.words), gain
        assert again.readable_share >= gain.share - 1e-9, gain
    shares = [gain.share for gain in gains]
    assert shares == sorted(shares)
    assert all(gain.tokens >= len(gain.words) for gain in gains)


def test_teach_first_looks_at_the_reading_that_was_judged(engine: Engine) -> None:
    text = "Mum had read it. Dad had read it."
    (gain, *_) = engine.check(text, engine.reader("gull-point", "sh")).teach_first()
    patterns, words = ([], list(gain.teach)) if gain.whole else (list(gain.teach), [])
    again = engine.check(text, engine.reader("gull-point", "sh", patterns=patterns, words=words))
    assert not any(w.flagged for w in again.words() if w.text in gain.words)


def test_teach_first_has_nothing_to_say_once_the_goal_is_reached(engine: Engine) -> None:
    assert engine.check("The cat sat.", engine.reader("gull-point", "sh")).teach_first() == []


# ---------------------------------------------------------------- machines
def test_to_dict_places_every_word(engine: Engine) -> None:
    found = engine.check(STORY, engine.reader("gull-point", "sh")).to_dict()
    assert (found["format"], found["sequence"], found["step"], found["step_id"]) == (1, "gull-point", 14, "sh")
    lines = STORY.split("\n")
    for word in found["words"]:
        assert STORY[word["start"] : word["end"]] == word["text"]
        line = lines[word["line"] - 1]
        assert line[word["column"] - 1 :].startswith(word["text"])
    starts = [word["start"] for word in found["words"]]
    assert starts == sorted(starts)


def test_same_text_same_report(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh", names=["Pip"])
    assert engine.check(STORY, reader).to_dict() == engine.check(STORY, reader).to_dict()


def test_markdown_and_plain_text_judge_the_same_words(engine: Engine) -> None:
    reader = engine.reader("gull-point", "sh")
    plain = engine.check("The cat sat.", reader)
    marked = engine.check("The **cat** sat.", reader, markdown=True)
    assert [w.to_dict() for w in plain.words()] == [w.to_dict() for w in marked.words()]


def test_top_of_the_package_gives_the_same(engine: Engine) -> None:
    """Used twice, because a name that a module hides works only once."""
    for _ in range(2):
        reader = decodable.reader("gull-point", step="sh")
        assert (
            decodable.check(STORY, reader).to_dict() == engine.check(STORY, engine.reader("gull-point", "sh")).to_dict()
        )
        assert decodable.word("cake") == engine.readings("cake")
    with pytest.raises(decodable.DecodableError, match="colour"):
        decodable.reader("gull-point", colour=["red"])
