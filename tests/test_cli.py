"""The command line as its users meet it: output, exit status, one clear line on bad input."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from decodable.cli import main


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command in this process: (status, standard output, standard error)."""

    def call(*arguments: str, stdin: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["decodable", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin.encode()), encoding="utf-8"))
        with pytest.raises(SystemExit) as ended:
            main()
        shown = capsys.readouterr()
        code = ended.value.code
        return (code if isinstance(code, int) else 0), shown.out, shown.err

    return call


@pytest.fixture
def page(tmp_path: Path) -> Path:
    path = tmp_path / "page.txt"
    path.write_text('The big dog ran to the ship. "Stop!" said Meg.\nMeg looks at the night.\n', encoding="utf-8")
    return path


def test_check_marks_text_and_explains(run: Any, page: Path) -> None:
    status, out, err = run("check", str(page), "--step", "sh")
    assert (status, err) == (1, "")
    assert '"[Stop]!" said Meg.' in out
    assert "l[oo]ks at the n[igh]t" in out
    assert re.search(r"night +1 +igh as in night +step 35", out)
    assert "What to teach first" in out


def test_nothing_flagged_is_status_0(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "ok.txt"
    path.write_text("A cat sat.", encoding="utf-8")
    assert run("check", str(path), "--step", "e-r")[0] == 0


def test_no_step_shows_every_step(run: Any, page: Path) -> None:
    status, out, _ = run("check", str(page))
    assert status == 0
    assert "Readable share at every step" in out
    assert re.search(r"95% readable from step \d+", out)


def test_check_json_format(run: Any, page: Path) -> None:
    _, out, _ = run("check", str(page), "--step", "14", "--json")
    found = json.loads(out)
    assert found["format"] == 1
    assert (found["sequence"], found["step"], found["step_id"]) == ("gull-point", 14, "sh")
    text = page.read_text(encoding="utf-8")
    words = found["words"]
    assert [text[w["start"] : w["end"]] for w in words] == [w["text"] for w in words]
    night = next(w for w in words if w["text"] == "night")
    assert (night["line"], night["column"], night["verdict"], night["first_step"]) == (2, 18, "later", 35)
    assert night["missing"] == [
        {"pattern": "igh as in night", "letters": "igh", "at": [1, 2, 3], "why": "not-yet", "step": 35}
    ]
    assert sum(found["counts"]["tokens"][v] for v in found["counts"]["tokens"] if v != "all") == len(words)


def test_chain_and_pairs(run: Any) -> None:
    status, out, err = run("chain", "--step", "sh", "--length", "4", "--through", "sat")
    assert (status, err) == (0, "")
    assert re.search(r"^sat *$", out, re.MULTILINE)
    assert re.search(r"^\w+ +(change|add|drop) \w+", out, re.MULTILINE)
    found = json.loads(run("chain", "--step", "sh", "--seed", "3", "--json")[1])
    assert (found["format"], found["step_id"], found["seed"], len(found["words"])) == (1, "sh", 3, 6)
    assert "There is no chain at this step: every path was tried." in run("chain", "--step", "1")[1]
    assert (
        "Not passed, out of reach in 2 words: ship."
        in run("chain", "--step", "sh", "--length", "2", "--through", "cat", "--through", "ship")[1]
    )
    assert "| sh / ch | ship chip" in run("pairs", "sh", "ch", "--step", "ch", "--markdown")[1]
    contrasts = json.loads(run("pairs", "--step", "sh", "--limit", "2", "--json")[1])["contrasts"]
    assert all(1 <= len(c["pairs"]) <= 2 for c in contrasts)
    assert run("chain", "--step", "sh", "--json", "--markdown")[::2] == (
        2,
        "decodable: Choose --json or --markdown, not both.\n",
    )


def test_made_up_words(run: Any) -> None:
    status, out, err = run("made-up", "--step", "sh", "--count", "5")
    assert (status, err) == (0, "")
    assert "None of these is a word. Every reading shown is right." in out
    found = json.loads(run("made-up", "--step", "sh", "--json")[1])
    assert len(found["words"]) == 10
    assert all(word["made_up"] for word in found["words"])
    assert run("made-up", "zib", "kat")[1] == "zib: could serve\nkat: no, it is a word or a name\n"
    assert json.loads(run("made-up", "kat", "--json")[1])["asked"] == [
        {"word": "kat", "refused": "it is a word or a name"}
    ]
    assert "1 of 10: every spelling of what is taught was tried" in run("made-up", "--step", "g-o")[1]
    lines = run("made-up", "--step", "sh", "--with-real", "--markdown", "--count", "3")[1].splitlines()
    assert lines[2] == "| Made up | Said | Real | Shape |"
    assert len([line for line in lines if line.startswith("| ")]) == 4
    assert len(json.loads(run("made-up", "--step", "sh", "--with-real", "--json")[1])["matches"]) == 10


def test_several_files_are_texts(run: Any, page: Path) -> None:
    _, out, _ = run("check", str(page), str(page), "--step", "sh", "--json")
    assert [t["file"] for t in json.loads(out)["texts"]] == [str(page)] * 2


def test_several_readers_one_table(run: Any, page: Path, tmp_path: Path) -> None:
    for name, step in (("Red", "c-k"), ("Blue", "oo")):
        (tmp_path / f"{name}.toml").write_text(f'name = "{name}"\nsequence = "gull-point"\nstep = "{step}"\n')
    status, out, _ = run("check", str(page), "-r", str(tmp_path / "Red.toml"), "-r", str(tmp_path / "Blue.toml"))
    assert status == 1
    assert out.index("Red") < out.index("Blue")


def test_word_json_format(run: Any) -> None:
    status, out, _ = run("word", "mouse", "cake", "--json")
    assert status == 0
    mouse, cake = json.loads(out)["words"]
    reading = mouse["readings"][0]
    assert reading["sounds"] == ["M", "AW1", "S"]
    expected = {"letters": "ou", "at": [1, 2], "sounds": ["AW1"], "ipa": "aʊ", "pattern": "ou as in out"}
    assert reading["graphemes"][1] == expected
    assert reading["ipa"] == "maʊs"
    assert reading["syllables"] == [[0, 5]]
    assert reading["shape"] == "CVC"
    assert cake["readings"][0]["graphemes"][1]["at"] == [1, 3]


def test_word_from_standard_input_and_misreading(run: Any) -> None:
    status, out, _ = run("word", "-", "--sequence", "gull-point", "--step", "th", stdin="said\nship\n")
    assert status == 0
    assert "tricky part ai" in out
    assert "would probably say: S AE IH D" in out


PRACTICE = [
    ["families", "--step", "sh"],
    ["sort", "--step", "sh", "--seed", "2"],
    ["blends", "--step", "l-blends"],
    ["blends", "--step", "l-blends", "--table"],
    ["boxes", "fox", "cake", "--step", "sh"],
    ["dictate", "--step", "sh", "--name", "Pip"],
    ["grid", "--step", "sh", "--seed", "4"],
    ["review", "--step", "sh", "--weeks", "4"],
    ["lesson", "--step", "sh", "--target", "sh"],
]


@pytest.mark.parametrize("command", PRACTICE, ids=" ".join)
def test_practice_in_three_forms(run: Any, command: list[str]) -> None:
    status, shown, err = run(*command)
    assert (status, err) == (0, "")
    sheet = run(*command, "--markdown")[1]
    assert sheet.startswith("# ")
    assert sheet == run(*command, "--markdown")[1]
    title = sheet.splitlines()[0].removeprefix("# ")
    assert title in shown
    found = json.loads(run(*command, "--json")[1])
    assert (found["format"], found["sequence"], found["step"]) == (1, "gull-point", 14 if "sh" in command else 20)
    assert len(found) > 4


@pytest.mark.parametrize(
    ("command", "what"),
    [
        (["lesson"], "state the step"),
        (["sort", "--step", "sh", "--by", "colour"], "Sort by one of"),
        (["grid", "--step", "first-sounds"], "no two words for a grid"),
        (["boxes", "qzxv"], "decodable fix qzxv"),
        (["dictate", "--step", "sh", "--json", "--markdown"], "not both"),
        (["review", "--step", "nowhere"], "has no step 'nowhere'"),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, list) else None,
)
def test_practice_asked_wrongly(run: Any, command: list[str], what: str) -> None:
    status, out, err = run(*command)
    assert (status, out) == (2, "")
    assert what in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("command", [["sequences"], ["steps", "gull-point"], ["rules"], ["rules", "--count"]])
def test_other_commands_and_their_json(run: Any, command: list[str]) -> None:
    status, out, err = run(*command)
    assert (status, err) == (0, "")
    assert out
    assert json.loads(run(*command, "--json")[1])["format"] == 1


def test_fix_is_kept_and_used(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home = tmp_path / "home"
    import decodable
    from decodable import resources

    cache = resources.cache_dir()
    monkeypatch.setenv("DECODABLE_HOME", str(home))
    monkeypatch.setattr(resources, "cache_dir", lambda: cache)
    assert run("check", "-", "--step", "sh", stdin="Zib is big.")[1]
    status, out, _ = run("fix", "Bimbly", "--like", "zzyqx")
    assert status == 2
    status, out, _ = run("fix", "Zub", "--like", "tub")
    assert (status, out) == (0, "zub is kept as Z AH B:  z=Z  u=AH  b=B\n")
    kept = home / "pronunciations.toml"
    assert kept.stat().st_mode & 0o077 == 0
    assert run("check", "-", "--step", "x-y-z-qu", stdin="Zub is big.")[0] == 0
    assert run("fix", "Zub", "--sounds", "Z UW1 B")[0] == 0
    assert kept.read_text(encoding="utf-8").count("zub") == 1
    assert decodable.__version__


BAD = {
    "no such file": (["check", "no-such.txt"], "no such file"),
    "a folder": (["check", "."], "folder"),
    "unknown step": (["check", "{page}", "--step", "ships"], "no step 'ships'"),
    "step out of range": (["check", "{page}", "--step", "99"], "steps 1 to"),
    "unknown sequence": (["check", "{page}", "--sequence", "gul-point"], "nearest: gull-point"),
    "unknown pattern": (["check", "{page}", "--know", "ea as in sae"], "ea as in sae"),
    "ambiguous pattern": (["check", "{page}", "--know", "ow"], "ow as in cow, ow as in snow"),
    "policy": (["check", "{page}", "--unstressed", "maybe"], "allow or strict"),
    "reader and exceptions": (["check", "{page}", "-r", "x.toml", "--word", "said"], "reader files"),
    "fix without how": (["fix", "Zoe"], "--like"),
    "fix with no ARPAbet": (["fix", "Zoe", "--sounds", "zo ee"], "no ARPAbet sound"),
}


@pytest.mark.parametrize(("arguments", "expected"), BAD.values(), ids=list(BAD))
def test_bad_input_gets_one_clear_line(run: Any, page: Path, arguments: list[str], expected: str) -> None:
    status, out, err = run(*(a.format(page=page) for a in arguments))
    assert status == 2
    assert out == ""
    assert expected in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_broken_sequence_reports_every_fault(run: Any, tmp_path: Path, page: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('title = "M"\n[[step]]\nid = "a"\nteach = ["zz", "qq"]\n[[step]]\nid = "a"\nteach = ["ow"]\n')
    status, out, _ = run("rules", str(path))
    assert status == 2
    assert "mine.toml:4: no pattern 'qq'" in out
    assert "mine.toml:5: the id 'a' stands twice" in out
    assert "mine.toml:7: 'ow' alone" in out
    assert run("check", str(page), "--sequence", str(path))[0] == 2


@pytest.mark.parametrize(
    "text",
    [
        "😀 🎉",
        "ﬁsh",
        "soft­hyphen",
        "café",
        "שלום",
        "ALL CAPITALS HERE",
        "a" * 10_000,
        "-- ... !!",
        "\x1b[31mred\x1b[0m",
    ],
    ids=["emoji", "ligature", "soft hyphen", "accent", "right to left", "capitals", "long", "marks", "escape"],
)
def test_odd_text_never_crashes(run: Any, text: str) -> None:
    status, out, err = run("check", "-", "--step", "sh", stdin=text)
    assert status in (0, 1)
    assert "\x1b[31m" not in out
    assert "Traceback" not in err


def test_help_has_examples_for_every_command(run: Any) -> None:
    for command in ("check", "word", "sequences", "steps", "rules", "fix"):
        status, out, _ = run(command, "--help")
        assert status == 0
        assert f"decodable {command}" in out


# ---------------------------------------------------------------- a school's own word files
def test_own_word_files_are_checked(run: Any, tmp_path: Path) -> None:
    never = tmp_path / "never_offered.toml"
    never.write_text('[[off]]\ngroup = "gamblin"\nreason = "x"\n', encoding="utf-8")
    theme = tmp_path / "harbour" / "harbour.toml"
    theme.parent.mkdir()
    theme.write_text('title = "Ours"\n[nouns]\ncrab = { class = ["crabs"], known = "early" }\n', encoding="utf-8")
    status, out, _ = run("rules", str(never), str(theme))
    assert status == 2
    assert "never_offered.toml:1: there is no group 'gamblin'; nearest: gambling" in out
    assert "harbour.toml:3: the noun 'crab': 'crabs' is no class" in out


# ---------------------------------------------------------------- words
def test_words_as_a_table(run: Any) -> None:
    status, out, err = run("words", "--step", "sh", "--pattern", "sh", "--new", "--limit", "3")
    assert (status, err) == (0, "")
    assert out.splitlines()[0] == "Gull Point order, step 14, sh"
    assert re.search(r"^ship +sh·i·p +noun: boat +early +yes +14", out, re.MULTILINE)
    assert re.search(r"^3 of \d+ words, the clearest first$", out, re.MULTILINE)


def test_words_as_markdown(run: Any) -> None:
    status, out, _ = run("words", "--step", "sh", "--family", "-at", "--markdown", "--base")
    lines = out.splitlines()
    assert status == 0
    assert lines[0] == "# Words: Gull Point order, step 14, sh"
    assert lines[4] == "| Word | Letters | Kind | Known | Picture | From step |"
    assert "| cat | c·a·t | noun: pet, beast | early | yes | 5 |" in lines


def test_words_for_machines(run: Any) -> None:
    status, out, _ = run("words", "--step", "sh", "--class", "fish", "--json", "--limit", "0")
    found = json.loads(out)
    assert status == 0
    assert found["count"] == len(found["words"])
    assert {"cod", "fish"} <= {w["word"] for w in found["words"]}


def test_words_of_a_reader_file(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "blue.toml"
    path.write_text('sequence = "gull-point"\nstep = "sh"\nnot_secure = ["sh"]\n', encoding="utf-8")
    assert "No such words at this step." in run("words", "-r", str(path), "--pattern", "sh")[1]
    status, _, err = run("words", "-r", str(path), "--know", "ee as in see")
    assert status == 2
    assert "Give exceptions" in err


def test_words_counted(run: Any) -> None:
    status, out, _ = run("words", "--step", "sh", "--count")
    assert status == 0
    assert re.search(r"^animal +\d+", out, re.MULTILINE)
    counts = json.loads(run("words", "--step", "sh", "--count", "--json")[1])
    assert counts["class"]["animal"] >= counts["class"]["pet"] > 0


@pytest.mark.parametrize(
    ("options", "what"),
    [
        (["--class", "anmal"], "nearest: animal"),
        (["--json", "--markdown"], "not both"),
        (["--new"], "state the step"),
        (["--pattern", "shh"], "no pattern 'shh'"),
    ],
)
def test_words_asked_wrongly(run: Any, options: list[str], what: str) -> None:
    status, out, err = run("words", *options)
    assert (status, out) == (2, "")
    assert what in err
    assert err.count("\n") == 1
