"""Words never offered: the list, what a school changes in its own folder, and made-up words that look or sound rude."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decodable.errors import FaultsError
from decodable.never_offered import NeverOffered, letters_of, load_never_offered

NOWHERE = Path("no-such-folder") / "never_offered.toml"


@pytest.fixture(scope="module")
def never() -> NeverOffered:
    return load_never_offered(own=NOWHERE)


@pytest.mark.parametrize(
    ("word", "group"),
    [
        ("gun", "weapons-and-war"),
        ("Gun's", "weapons-and-war"),
        ("beer", "alcohol"),
        ("half-wit's", "insults"),
        ("kill", "violence-and-death"),
        ("hell", "oaths-and-holy-names"),
    ],
)
def test_kept_out(word: str, group: str, never: NeverOffered) -> None:
    found = never.group(word)
    assert found is not None
    assert found.id == group
    assert word in never


@pytest.mark.parametrize(
    "word", ["skill", "class", "hat", "cockerel", "bang", "balls", "strip", "hang", "hung", "he'll", "she'll", "I'd"]
)
def test_let_through(word: str, never: NeverOffered) -> None:
    assert never.group(word) is None
    assert word not in never


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz'-’", max_size=12))  # noqa: RUF001
def test_letters_are_letters_and_stay(text: str) -> None:
    found = letters_of(text)
    assert found == "" or found.isalpha()
    assert letters_of(found) == found
    assert letters_of(text.upper()) == found


def test_each_group_has_its_reason_and_each_word_one_group(never: NeverOffered) -> None:
    assert len(never.groups) >= 20
    assert all(group.reason and group.title and group.words for group in never.groups.values())
    assert len(never.group_of) == sum(len(group.words) for group in never.groups.values())


# ---------------------------------------------------------------- made-up words
@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("phuk", ["F AH1 K"]),  # the letters
        ("fuhck", ["F AH1 K"]),  # the sounds
        ("parp", ["P AA1 R P"]),  # American, with its r
        ("pahp", ["P AA1 P"]),  # the same in southern Britain
        ("vag", ["V AE1 G"]),  # the letters alone
        ("beer", ["B IH1 R"]),  # a word that is never offered
        ("zorn", ["Z AO1 R N", "HH AO1 R"]),  # any of its readings
    ],
)
def test_unfit_made_up_words(word: str, said: list[str], never: NeverOffered) -> None:
    assert never.unfit_made_up(word, [s.split() for s in said])


@pytest.mark.parametrize(("word", "said"), [("splod", "S P L AA1 D"), ("zib", "Z IH1 B"), ("vome", "V OW1 M")])
def test_fit_made_up_words(word: str, said: str, never: NeverOffered) -> None:
    assert never.unfit_made_up(word, [said.split()]) == ""


# ---------------------------------------------------------------- the user's file
def _own(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "never_offered.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_school_relaxes_and_tightens(tmp_path: Path, never: NeverOffered) -> None:
    own = _own(
        tmp_path,
        """[[off]]
group = "gambling"
reason = "card games in mathematics"
[[allow]]
words = ["hoe", "Hoes"]
reason = "the school garden"
[[add]]
words = ["witch"]
reason = "families asked for it"
""",
    )
    found = load_never_offered(own=own)
    assert set(never.groups) - set(found.groups) == {"gambling"}
    assert not any(word in found for word in (*never.groups["gambling"].words, "hoe", "hoes"))
    group = found.group("witch")
    assert group is not None
    assert group.id == "own"
    assert [reason for _, reason in found.changes] == [
        "card games in mathematics",
        "the school garden",
        "families asked for it",
    ]
    assert len(found.group_of) == len(never.group_of) - len(never.groups["gambling"].words) - 2 + 1


def test_every_fault_of_the_users_file(tmp_path: Path) -> None:
    own = _own(
        tmp_path,
        """[[off]]
group = "gamblin"
reason = "x"
[[off]]
group = "alcohol"
[[allow]]
words = ["hat"]
reason = "x"
[[add]]
word = ["witch"]
reason = "x"
""",
    )
    with pytest.raises(FaultsError) as caught:
        load_never_offered(own=own)
    assert [fault.split(": ")[0].rsplit(":", 1)[1] for fault in caught.value.faults] == ["1", "4", "7", "9", "9"]
    assert "nearest: gambling" in caught.value.faults[0]
    assert "needs group and reason" in caught.value.faults[1]


def test_broken_list_reports_every_fault(tmp_path: Path) -> None:
    path = _own(
        tmp_path,
        """title = "x"
[[group]]
id = "one"
title = "One"
reason = "r"
words = ["ab", "Cd"]
[[group]]
id = "two"
title = "Two"
words = ["ab"]
[sound_alikes]
reason = "r"
sounds = [
  ["F", "QQ"],
]
""",
    )
    with pytest.raises(FaultsError) as caught:
        load_never_offered(path, NOWHERE)
    text = "\n".join(caught.value.faults)
    assert len(caught.value.faults) == 4
    for part in (
        ":6: a word is small letters only, not 'Cd'",
        ":7: a group needs an id and a reason",
        ":10: 'ab' stands in the groups",
        ":14: 'QQ'",
    ):
        assert part in text
