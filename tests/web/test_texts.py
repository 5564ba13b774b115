"""Texts over HTTP: kept, opened, edited, marked, reported on; the same facts as the engine gives."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import decodable
from decodable import heteronyms
from decodable.text import tokenize
from decodable.web.units import revision
from tests.web.asker import Asker

FETCH = (Path(__file__).parents[2] / "passages" / "fetch.md").read_text(encoding="utf-8")


def reader(ask: Asker, step: str = "th", **more: Any) -> str:
    made = ask.ok("POST", "/api/readers", {"name": "Blue group", "sequence": "gull-point", "step": step, **more})
    return str(made["id"])


def edit(ask: Asker, text: dict[str, Any], changes: list[Any], **more: Any) -> Any:
    body = {"base": text["revision"], "changes": changes, "view": {"first": 0, "last": 2000}, **more}
    return ask("POST", f"/api/texts/{text['id']}/edit", body)


# ---------------------------------------------------------------- kept
def test_a_text_is_kept_and_found_again_after_a_restart(make_asker: Callable[..., Asker]) -> None:
    ask = make_asker()
    text = ask.text("The crab ran. \N{CRAB}")
    assert edit(ask, text, [4, [4, "gull"], 8]).status == 200
    ask.ok("PUT", "/api/settings", {"text": text["id"]})
    ask("GET", "/api/export")  # waits until all is written
    again = make_asker().ok("GET", "/api/desk")
    assert again["open"]["text"] == "The gull ran. \N{CRAB}"
    assert again["open"]["revision"] == revision("The gull ran. \N{CRAB}")
    assert [t["title"] for t in again["texts"]] == ["Test"]


def test_every_key_is_on_disk_soon_after_the_answer(ask: Asker, home: Path) -> None:
    text = ask.text("")
    for n, letter in enumerate("The crab"):
        text["revision"] = edit(ask, text, [n, [0, letter]] if n else [[0, letter]]).json["revision"]
    ask("GET", "/api/export")
    assert (home / "texts" / f"{text['id']}.txt").read_text(encoding="utf-8") == "The crab"


def test_an_edit_of_another_state_is_refused_and_changes_nothing(ask: Asker) -> None:
    text = ask.text("The crab")
    edit(ask, text, [8, [0, " ran"]])
    stale = edit(ask, text, [8, [0, " sat"]])
    assert stale.status == 409
    assert "another window" in stale.error
    assert ask.ok("GET", f"/api/texts/{text['id']}")["text"] == "The crab ran"


def test_an_edit_that_does_not_fit_changes_nothing(ask: Asker) -> None:
    text = ask.text("The crab")
    assert edit(ask, text, [99]).status == 400
    assert ask.ok("GET", f"/api/texts/{text['id']}")["text"] == "The crab"


@pytest.mark.parametrize(
    ("name", "data", "title", "words", "markdown"),
    [
        ("crab.txt", b"The crab\r\nran.\rOff", "crab", "The crab\nran.\nOff", False),
        ("crab.md", b"# The crab #\n\nIt ran.", "The crab", "# The crab #\n\nIt ran.", True),
        ("caf\u00e9.txt", "caf\u00e9".encode("windows-1252"), "caf\u00e9", "caf\u00e9", False),
        ("wide.txt", "\ufeffThe crab".encode("utf-16-le"), "wide", "The crab", False),
        ("../../x.txt", b"crab", "x", "crab", False),
    ],
)
def test_a_file_is_opened(ask: Asker, name: str, data: bytes, title: str, words: str, markdown: bool) -> None:
    from urllib.parse import quote

    made = ask.ok("POST", f"/api/texts/open?name={quote(name)}", data)
    assert (made["title"], made["text"], made["markdown"]) == (title, words, markdown)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"%PDF-1.4", "a PDF file"),
        (b"PK\x03\x04 word/", "Word document"),
        (b" \n", "empty"),
        (bytes(range(256)) * 20, "binary"),
    ],
)
def test_a_file_that_is_no_text_is_refused_with_what_to_do(ask: Asker, data: bytes, message: str) -> None:
    answer = ask("POST", "/api/texts/open?name=book.bin", data)
    assert answer.status == 400
    assert message in answer.error
    assert ask.store.texts() == []


def test_a_text_is_erased_even_while_it_is_being_written(ask: Asker, home: Path) -> None:
    text = ask.text("The crab")
    edit(ask, text, [8, [0, " ran"]])
    assert ask.ok("DELETE", f"/api/texts/{text['id']}") == {"texts": []}
    assert ask("GET", f"/api/texts/{text['id']}").status == 404
    ask("GET", "/api/export")
    assert list((home / "texts").iterdir()) == []


def test_the_passages_that_come_with_the_program(ask: Asker) -> None:
    listed = ask.ok("GET", "/api/texts/samples")
    assert {"name": "fetch", "title": "Fetch!"} in listed
    assert ask.ok("POST", "/api/texts/samples/fetch")["text"] == FETCH
    for name in ("none", "..", "../README", "settings"):
        assert ask("POST", f"/api/texts/samples/{name}").status == 404


def test_a_text_that_cannot_be_written_is_told(ask: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise decodable.DecodableError("Cannot write: the disk is full.")

    text = ask.text("The crab")
    monkeypatch.setattr(ask.store, "put_words", full)
    text["revision"] = edit(ask, text, [8, [0, " ran"]]).json["revision"]
    ask("GET", "/api/export")
    seen = edit(ask, text, [12, [0, "."]]).json
    assert seen["trouble"] == "Cannot write: the disk is full."
    monkeypatch.undo()
    text["revision"] = seen["revision"]
    text["revision"] = edit(ask, text, [13, [0, "!"]]).json["revision"]
    ask("GET", "/api/export")
    assert edit(ask, text, [14, [0, "!"]]).json["trouble"] == ""


# ---------------------------------------------------------------- judged
def test_marks_and_figures_are_the_report_s(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text(FETCH, markdown=True)
    seen = ask.ok("GET", f"/api/texts/{text['id']}/marks?first=0&last=99999&reader={name}")
    report = decodable.check(FETCH, decodable.reader("gull-point", "th"), markdown=True)
    wanted = report.to_dict()
    assert seen["figures"]["counts"] == wanted["counts"]
    assert seen["figures"]["readable_by_step"] == wanted["summary"]["readable_by_step"]
    marked = [(m[0], m[1], seen["verdicts"][m[2]]) for m in seen["marks"]]
    assert marked == [(w["start"], w["end"], w["verdict"]) for w in wanted["words"] if w["verdict"] != "decodable"]
    patch = next(m for m in seen["marks"] if FETCH[m[0] : m[1]] == "Patch")
    assert [FETCH[a:b] for a, b in patch[3]] == ["tch"]


def test_only_what_is_seen_is_marked(ask: Asker) -> None:
    text = ask.text("The xqzw ran. " * 500)
    seen = ask.ok("GET", f"/api/texts/{text['id']}/marks?first=1400&last=1500")
    starts = [m[0] for m in seen["marks"]]
    assert 5 <= len(starts) <= 10
    assert min(starts) >= 1400
    assert max(starts) <= 1500
    assert seen["figures"]["counts"]["tokens"]["unknown"] == 500


def test_offsets_are_the_browser_s(ask: Asker) -> None:
    text = ask.text("\N{CRAB}\N{CRAB} xqzw")
    seen = ask.ok("GET", f"/api/texts/{text['id']}/marks?first=0&last=99")
    assert [m[:2] for m in seen["marks"]] == [[5, 9]]
    word = ask.ok("GET", f"/api/texts/{text['id']}/word?at=6")["word"]
    assert (word["text"], word["from"], word["to"], word["start"], word["end"]) == ("xqzw", 5, 9, 3, 7)


def test_check_is_what_the_command_line_writes(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text(FETCH, markdown=True)
    found = ask.ok("GET", f"/api/texts/{text['id']}/check?reader={name}")
    assert found == json.loads(
        json.dumps(decodable.check(FETCH, decodable.reader("gull-point", "th"), markdown=True).to_dict())
    )


def test_another_step_than_the_reader_s(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text("Patch had a log.")
    flagged = [
        ask.ok("GET", f"/api/texts/{text['id']}/marks?last=99&reader={name}{more}")["figures"]["flagged"]
        for more in ("", "&step=18", "&step=0")
    ]
    assert flagged == [1, 0, 0]
    assert ask("GET", f"/api/texts/{text['id']}/marks?last=99&reader={name}&step=60").status == 400


def test_unchanged_parts_are_not_cut_or_read_again(ask: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[int] = []

    def spy(text: str, **more: Any) -> Any:
        sizes.append(len(text))
        return tokenize(text, **more)

    read: list[int] = []
    choose = heteronyms.choose

    def watch(heteronym: Any, doc: Any, at: int) -> Any:
        read.append(at)
        return choose(heteronym, doc, at)

    monkeypatch.setattr("decodable.pieces.tokenize", spy)
    monkeypatch.setattr("decodable.heteronyms.choose", watch)
    words = "\n\n".join(f"Nan had {n} nets. {'The crab ran. ' * (n % 9)}I read it to the gull." for n in range(600))
    text = ask.text(words)
    assert sum(sizes) == len(words)
    ask.ok("GET", f"/api/texts/{text['id']}/marks?last=99")
    assert len(read) > 20  # most sentences with their neighbours are alike
    sizes.clear()
    read.clear()
    seen = edit(ask, text, [20000, [0, "x"], len(words) - 20000]).json
    assert 0 < sum(sizes) < 5000
    assert len(read) <= 2
    assert seen["figures"]["counts"]["tokens"]["all"] > 3000


# ---------------------------------------------------------------- words
def test_the_card_of_a_word_says_why_and_when(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text("Nan and Patch ran.")
    word = ask.ok("GET", f"/api/texts/{text['id']}/word?at=10&reader={name}")["word"]
    assert (word["text"], word["verdict"], word["first_step"]) == ("Patch", "later", 18)
    assert [g["letters"] for g in word["reading"]["graphemes"]] == ["p", "a", "tch"]
    assert word["reading"]["opens"]["graphemes"] == [1, 1, 18]
    assert "step 18" in word["why"]
    assert "tch as in catch" in [m["pattern"] for m in word["missing"]]
    assert "step 18" in word["missing"][0]["in_words"]


@pytest.mark.parametrize(("at", "found"), [(0, "The"), (3, "The"), (4, "crab"), (8, "crab"), (9, None), (99, None)])
def test_the_word_at_a_place(ask: Asker, at: int, found: str | None) -> None:
    text = ask.text("The crab. ")
    word = ask.ok("GET", f"/api/texts/{text['id']}/word?at={at}")["word"]
    assert (word and word["text"]) == found


@pytest.mark.parametrize(
    ("mark", "verdict", "off"),
    [("names", "name", "unknown"), ("words", "taught-whole", "unknown"), ("told", "told", "unknown")],
)
def test_a_word_is_marked_for_the_reader_and_unmarked(ask: Asker, mark: str, verdict: str, off: str) -> None:
    text = ask.text("Nan and Xqzw ran.")
    name = ask.ok("POST", "/api/readers/mark", {"reader": "", "word": "Xqzw", "mark": mark})["id"]
    got = [ask.ok("GET", f"/api/texts/{text['id']}/word?at=9&reader={name}")["word"]["verdict"]]
    again = ask.ok("POST", "/api/readers/mark", {"reader": name, "word": "xqzw", "mark": mark, "on": False})
    got.append(ask.ok("GET", f"/api/texts/{text['id']}/word?at=9&reader={name}")["word"]["verdict"])
    assert got == [verdict, off]
    assert again["readers"][0][mark] == []


def test_said_like_another_word_and_as_before(ask: Asker) -> None:
    text = ask.text("Xoqzy ran.")

    def verdict() -> str:
        return str(ask.ok("GET", f"/api/texts/{text['id']}/word?at=0")["word"]["verdict"])

    before = verdict()
    refused = ask("POST", "/api/words/fix", {"word": "xoqzy", "like": "zzzzq"})
    assert refused.status == 400
    assert "zzzzq" in refused.error
    assert verdict() == before
    fixed = ask("POST", "/api/words/fix", {"word": "kay", "like": "day"})
    assert fixed.status == 200
    assert fixed.json["words"][0]["readings"][0]["source"] == "user"
    ask.ok("POST", "/api/words/fix", {"word": "kay"})
    assert ask.ok("GET", "/api/words/kay")["words"][0]["readings"][0]["source"] != "user"


def test_next_goes_around(ask: Asker) -> None:
    text = ask.text("xqzw ran. vxqz ran. Xqzw ran.")

    def goes(query: str) -> int:
        return int(ask.ok("GET", f"/api/texts/{text['id']}/next?{query}")["word"]["from"])

    assert [goes(f"at={n}") for n in (0, 10, 20)] == [10, 20, 0]
    assert [goes(f"at={n}&back=true") for n in (0, 10, 20)] == [20, 0, 10]
    assert [goes(f"at={n}&word=XQZW") for n in (0, 20)] == [20, 0]
    assert ask.ok("GET", f"/api/texts/{text['id']}/next?word=crab")["word"] is None


# ---------------------------------------------------------------- reports
def test_the_lists_beside_the_text(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text(FETCH, markdown=True)
    found = ask.ok("GET", f"/api/texts/{text['id']}/lists?reader={name}")
    first = found["flagged_words"][0]
    assert (first["text"], first["times"], first["letters"]) == ("Patch", 11, [["Pa", False], ["tch", True]])
    assert first["comes"] == "step 18 (wh tch)"
    assert found["teach_first"][0]["teach"] == ["tch as in catch"]
    assert found["teach_first"][0]["step"] == 18


def test_the_report_as_a_page(ask: Asker) -> None:
    name = reader(ask)
    text = ask.text("Patch *had* a <b>log</b>.")
    answer = ask("GET", f"/api/texts/{text['id']}/report?reader={name}")
    page = answer.body.decode()
    assert "Test%20report.md" in answer.headers["content-disposition"]
    assert "| Patch | 1 | tch as in catch: Not taught yet. It comes at step 18 (wh tch). | step 18 (wh tch) |" in page
    assert "Blue group: Gull Point order, step 16 (th)." in page


@pytest.mark.parametrize("markdown", [False, True])
def test_the_text_as_a_file_opens_as_it_was(ask: Asker, markdown: bool) -> None:
    words = "# The net\n\n* Nan *ran*.\n" if markdown else "# 1. Nan\n - ran * off_ <b>\n    & sat [in] it.\n\n2) Yes"
    text = ask.text(words, markdown=markdown)
    saved = ask("GET", f"/api/texts/{text['id']}/file").body
    again = ask.ok("POST", "/api/texts/open?name=x.md", saved)
    spoken = []
    for source, marked in ((words, markdown), (again["text"], True)):
        tokens = tokenize(source, markdown=marked)
        spoken.append([tokens.types[tokens.type_id[n]].text for n in tokens.word_indices()])
    assert spoken[0] == spoken[1]


def test_one_text_for_several_readers(ask: Asker) -> None:
    blue = reader(ask)
    green = ask.ok("POST", "/api/readers", {"name": "Green", "sequence": "gull-point", "step": "wh-tch"})["id"]
    text = ask.text(FETCH, markdown=True)
    rows = ask.ok("POST", f"/api/texts/{text['id']}/compare", {"readers": [blue, green, "gone"]})["rows"]
    assert [r.get("readable_share") for r in rows] == [0.7688, 1.0, None]
    assert rows[0]["flagged_types"] == 11
    assert "gone" in rows[2]["error"]


@pytest.mark.parametrize("words", ["", "   ", "42 ... !", "\N{CRAB}"])
def test_a_text_without_words_to_judge(ask: Asker, words: str) -> None:
    text = ask.text(words)
    for what in ("marks?last=9", "lists?", "check?", "word?at=0", "next?"):
        assert ask("GET", f"/api/texts/{text['id']}/{what}").status == 200
    assert ask("GET", f"/api/texts/{text['id']}/report").status == 200
