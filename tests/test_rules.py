"""Rule files: all load, their keywords hold what they stand for, and broken ones report every fault with its line."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from decodable import heteronyms, resources
from decodable.division import load_syllable_rules
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.inflection import load_inflections
from decodable.inventory import load_inventory, parse_sounds
from decodable.lexicon import load_rules, rules_digest
from decodable.made_up_rules import load_made_up
from decodable.morphology import load_morphology
from decodable.never_offered import load_never_offered
from decodable.patterns import load_patterns
from decodable.rules import nearest, parse_toml, read_toml
from decodable.sounds import load_corrections, parse_pronunciation
from decodable.text import load_text_rules
from decodable.vocabulary import load_classes
from decodable.word_links import load_chain_rules
from decodable.word_order import load_order

RULES = resources.rules_dir()
EXCEPTIONS = Path(__file__).parent / "cases" / "keyword_exceptions.tsv"
LOADERS: dict[str, Callable[[Path], object]] = {
    "chains.toml": load_chain_rules,
    "correspondences.toml": load_inventory,
    "heteronyms.toml": heteronyms.load,
    "inflections.toml": load_inflections,
    "made_up.toml": load_made_up,
    "morphemes.toml": load_morphology,
    "never_offered.toml": load_never_offered,
    "patterns.toml": load_patterns,
    "pronunciations.toml": load_corrections,
    "syllables.toml": load_syllable_rules,
    "text.toml": load_text_rules,
    "vocabulary/classes.toml": load_classes,
    "words.toml": load_order,
}
FILES = sorted(str(p.relative_to(RULES)) for p in RULES.rglob("*.toml"))


def _exceptions() -> dict[tuple[str, str], str]:
    with EXCEPTIONS.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
        return {(row["letters"], row["keyword"]): row["reason"] for row in rows}


@pytest.mark.parametrize("name", FILES)
def test_every_rule_file_is_toml(name: str) -> None:
    assert read_toml(RULES / name).data


@pytest.mark.parametrize("name", sorted(LOADERS))
def test_every_rule_file_loads(name: str) -> None:
    assert LOADERS[name](RULES / name)


@pytest.mark.parametrize("name", FILES)
def test_every_rule_file_states_its_origin(name: str) -> None:
    """In a comment at its top, or as its origin."""
    file = read_toml(RULES / name)
    assert file.text.startswith("#") or file.data.get("origin")


def test_loaders_cover_the_folder() -> None:
    assert set(LOADERS) <= set(FILES)


# ---------------------------------------------------------------- the inventory against the dictionary
def test_keywords_hold_their_correspondence(engine: Engine) -> None:
    """Each keyword is divided as its line says, the listed exceptions apart, and each exception is still one."""
    failing: set[tuple[str, str]] = set()
    for item in engine.rules.inventory.correspondences:
        held = {(g.letters, g.pattern) for r in engine.readings(item.keyword) for g in r.graphemes}
        if (item.letters, item.pattern) not in held:
            failing.add((item.letters, item.keyword))
    listed = set(_exceptions())
    assert sorted(failing - listed) == [], "keywords divided otherwise: mend the line, or list it with its reason"
    assert sorted(listed - failing) == [], "no exceptions any more: take them off the list"


def test_common_correspondences_have_no_exception(engine: Engine) -> None:
    """What a teacher would list (main, often) is never excused."""
    excused = _exceptions()
    common = {(c.letters, c.keyword) for c in engine.rules.inventory.correspondences if c.use in ("main", "often")}
    assert len(common) > 100
    assert not common & set(excused)
    assert all(excused.values())


def test_syllable_rules_name_what_there_is(engine: Engine) -> None:
    """The correspondences of the inventory, its letters, and words that show them."""
    inventory, rules = engine.rules.inventory, load_syllable_rules(RULES / "syllables.toml")
    assert set(rules.open) <= set(inventory.patterns)
    letters = {c.letters for c in inventory.correspondences}
    assert {*rules.divided, *rules.stay, *rules.go_on} <= letters
    for table in read_toml(RULES / "syllables.toml").data["divided"]:
        (reading, *_) = engine.readings(table["as"])
        (grapheme,) = (g for g in reading.graphemes if g.letters == table["letters"])
        assert grapheme.at[table["after"]] in {s.start for s in reading.syllables}, table["as"]


def test_inventory_is_consistent(engine: Engine) -> None:
    inventory = engine.rules.inventory
    for letters, patterns in inventory.alone.items():
        assert set(patterns) <= set(inventory.patterns), letters
    for pattern, sources in (*inventory.implied_by.items(), *((k, (v,)) for k, v in inventory.schwa_of.items())):
        assert {pattern, *sources} <= set(inventory.patterns)
    for item in inventory.correspondences:
        assert item.sounds
        assert item.line > 0


@pytest.mark.parametrize("text", ["K", "K+S", "Y+UW", "AH0", "AH0+L"])
def test_sounds_parse_and_print_back(text: str) -> None:
    assert "+".join(parse_sounds(text)) == text


@pytest.mark.parametrize("text", ["", "Q", "K1", "K S", "AE3+"])
def test_no_sounds(text: str) -> None:
    with pytest.raises(ValueError, match="sound"):
        parse_sounds(text)


@pytest.mark.parametrize("text", ["", "K AE T", "K1 AE1", "k ae1 t"])
def test_no_pronunciation(text: str) -> None:
    with pytest.raises(ValueError, match="sound"):
        parse_pronunciation(text)


# ---------------------------------------------------------------- broken files
BROKEN = {
    "correspondences.toml": (
        load_inventory,
        """title = "x"
[[grapheme]]
letters = "a"
kind = "vowle"
is = [
  { as = "cat", sounds = ["AE"], use = "main" },
  { as = "about", sounds = ["XX"], use = "often" },
  { as = "any", sounds = ["EH"], use = "some", where = "middle" },
  { as = "was", sounds = ["AH"], use = "odd", implied_by = ["a as in catt"], colour = "red" },
]
[[grapheme]]
letters = "b1"
kind = "consonant"
is = [{ sounds = ["B"], use = "main" }]
""",
        [
            ("2", "'vowle'; nearest: vowel"),
            ("7", "'XX' is no ARPAbet sound"),
            ("8", "'middle'"),
            ("9", "'a as in catt'; nearest: a as in cat"),
            ("9", "'colour'"),
            ("11", "'b1'"),
            ("11", "needs a keyword"),
        ],
    ),
    "morphemes.toml": (
        load_morphology,
        """[[suffix]]
name = "-s"
letters = "s"
[[suffix]]
name = "-ed"
letters = "ed"
sounds = ["TT"]
[[prefix]]
name = "un-"
letters = "un"
sounds = ["AH+N"]
colour = "red"
""",
        [("1", "sounds"), ("4", "'TT' is no ARPAbet sound"), ("8", "'colour'")],
    ),
    "patterns.toml": (
        load_patterns,
        """[[family]]
name = "blends"
[[ending]]
name = "-tion"
letters = "tion"
sounds = ["QQ"]
[[phrase]]
text = "nk"
meant = ["n as in sink"]
""",
        [("1", "needs name, kind and members"), ("3", "'QQ' is no ARPAbet sound"), ("7", "'meant'; nearest: means")],
    ),
    "pronunciations.toml": (
        load_corrections,
        """[words]
cat = { said = ["K AE1 T"], reason = "as it is" }
dog = { said = ["D AO G"], reason = "no stress" }
log = { said = ["L AO1 G"] }
fog = { spoken = ["F AO1 G"], reason = "wrong key" }
""",
        [("3", "'AO' is no ARPAbet sound"), ("4", "'log' needs a reason"), ("5", "'spoken'")],
    ),
    "syllables.toml": (
        load_syllable_rules,
        """title = "x"
short = ["AE", "K"]
weak = "AH0"
half_stress = { sounds = ["IHH"], nevr = ["e"] }
stay = { letters = ["ck"], sounds = ["NG"] }
go_on = 3
[blends]
begin = ["bl"]
s_goes_on_after = [""]
s_stays_after_first = []
[silent_e]
goes_on_before = ["r"]
[[open]]
pattern = "father"
sound = "NG"
[[divided]]
letters = "st"
after = 3
as = "listen"
[[divided]]
letters = "ft"
after = 1
""",
        [
            ("2", "'K' should be a vowel sound"),
            ("3", "weak should be a list of texts, not 'AH0'"),
            ("4", "'IHH' is no ARPAbet sound"),
            ("4", "'nevr'; nearest: never"),
            ("4", "half_stress.never should be a list of texts"),
            ("6", "go_on.letters should be a list of texts"),
            ("9", "blends.s_goes_on_after"),
            ("13", "should be a correspondence"),
            ("13", "'NG' should be a vowel sound"),
            ("16", "1 to 2 of its letters, not 3"),
            ("20", "needs a word that shows it"),
        ],
    ),
}


def test_unknown_use_is_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "correspondences.toml"
    path.write_text(BROKEN[path.name][1].replace('"some"', '"seldom"'), encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load_inventory(path)
    assert any("correspondences.toml:8:" in f and "'seldom'" in f for f in caught.value.faults)


@pytest.mark.parametrize("name", sorted(BROKEN))
def test_broken_file_reports_every_fault(tmp_path: Path, name: str) -> None:
    load, text, wanted = BROKEN[name]
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load(path)
    for line, what in wanted:
        assert any(f.startswith(f"{name}:{line}: ") and what in f for f in caught.value.faults), (line, what)
    assert len(caught.value.faults) == len(wanted)


@pytest.mark.parametrize("name", sorted(LOADERS))
def test_bad_toml_names_the_line(tmp_path: Path, name: str) -> None:
    path = tmp_path / Path(name).name
    path.write_text('title = "x"\nlist = [1,\n= 3\n', encoding="utf-8")
    with pytest.raises(DecodableError) as caught:
        LOADERS[name](path)
    assert f"{path.name}:3" in str(caught.value)


@pytest.mark.parametrize("name", sorted(LOADERS))
def test_missing_file_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(DecodableError) as caught:
        LOADERS[name](tmp_path / name)
    assert name in str(caught.value)


def test_file_that_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(DecodableError, match="UTF-8"):
        read_toml(path)


def test_lines_of_headers_and_entries() -> None:
    file = parse_toml("[[a]]\nx = 1\n[[ a ]] # second\nx = 2\n[b]\nx = 3\n", Path("t.toml"))
    assert file.header_lines("a") == [1, 3]
    assert file.header_lines("b") == [5]
    assert file.line_of("x =", "2") == 4
    assert file.line_of("x =", start=5) == 6
    assert file.line_of("y", start=3) == 3


def test_faults_are_raised_together() -> None:
    file = parse_toml("x = 1", Path("t.toml"))
    file.check()
    file.fault(1, "first")
    file.fault(2, "second")
    with pytest.raises(FaultsError) as caught:
        file.check()
    assert caught.value.faults == ("t.toml:1: first", "t.toml:2: second")


@pytest.mark.parametrize(("word", "found"), [("bannana", "; nearest: banana"), ("zzz", "")])
def test_nearest(word: str, found: str) -> None:
    assert nearest(word, ["banana", "cat"]) == found


# ---------------------------------------------------------------- the digest
def test_digest_changes_with_the_rules_only(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(RULES, folder)
    before = rules_digest()
    assert rules_digest(folder) == before
    path = folder / "patterns.toml"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert rules_digest(folder) == before
    path.write_text(path.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    assert rules_digest(folder) != before
    assert load_rules(folder).patterns == load_rules().patterns
