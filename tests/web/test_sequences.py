"""Sequences, readers and settings over HTTP."""

from __future__ import annotations

import io
import json
import tomllib
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from decodable import resources
from tests.web.asker import Asker


def document(ask: Asker, name: str = "gull-point") -> dict[str, Any]:
    found: dict[str, Any] = ask.ok("GET", f"/api/sequences/{name}")["document"]
    return found


def effect(ask: Asker, changed: dict[str, Any], name: str = "gull-point", **more: Any) -> dict[str, Any]:
    found: dict[str, Any] = ask.ok("POST", f"/api/sequences/{name}/effect", {"document": changed, **more})
    return found


def shipped() -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (resources.rules_dir() / "sequences").iterdir()}


# ---------------------------------------------------------------- looked at and changed
def test_an_unchanged_sequence_changes_nothing(ask: Asker) -> None:
    found = effect(ask, document(ask))
    assert not found["changed"]
    assert found["freed"] == found["freed_before"]
    steps = ask.ok("GET", "/api/sequences/gull-point")["steps"]
    assert [row["dictionary"] for row in found["freed"]] == [s["words_opened"] for s in steps]
    assert found["readers"] == []


def test_moving_a_step_shows_what_it_frees_and_for_whom(ask: Asker) -> None:
    ask.ok("POST", "/api/readers", {"name": "Blue", "sequence": "gull-point", "step": "th"})
    ask.ok("POST", "/api/readers", {"name": "Else", "sequence": "common-core"})
    text = ask.text("Patch had a log. Patch ran to fetch it.")
    changed = document(ask)
    steps = changed["step"]
    tch = next(n for n, s in enumerate(steps) if s["id"] == "wh-tch")
    steps.insert(0, steps.pop(tch))
    found = effect(ask, changed, text=text["id"])
    assert found["changed"]
    assert found["faults"] == []
    (blue,) = found["readers"]
    assert (blue["name"], blue["step_before"], blue["step_after"], blue["lost"]) == ("Blue", 16, 17, 0)
    assert blue["gained"] > 20
    assert "which" in blue["gained_words"]
    shares = found["text"]
    assert shares["readable_by_step"][16] == 1.0
    assert shares["before"][15] < 0.8
    assert shares["first_step_at_95"] < 18


def test_a_reader_whose_step_goes_is_told(ask: Asker) -> None:
    ask.ok("POST", "/api/readers", {"name": "Blue", "sequence": "gull-point", "step": "th"})
    changed = document(ask)
    changed["step"] = [s for s in changed["step"] if s["id"] != "th"]
    (blue,) = effect(ask, changed)["readers"]
    assert "th" in blue["problem"]
    assert "gone" in blue["problem"]


def test_faults_stand_beside_their_place_and_the_rest_still_counts(ask: Asker) -> None:
    changed = document(ask)
    changed["step"][2]["teach"].append("zzq")
    changed["step"][2]["words"].append("two words")
    changed["step"][4]["id"] = changed["step"][3]["id"]
    changed["step"].append({"id": "", "name": "Empty", "teach": [], "words": []})
    found = effect(ask, changed)
    last = len(changed["step"]) - 1
    places = {(f["step"], f["field"], f["item"]) for f in found["faults"]}
    size = len(changed["step"][2]["teach"])
    assert places == {
        (2, "teach", size - 1),
        (2, "words", len(changed["step"][2]["words"]) - 1),
        (4, "id", -1),
        (last, "teach", -1),
    }
    assert any("zzq" in f["message"] for f in found["faults"])
    assert found["freed"][0]["dictionary"] > 0


def test_unsaved_changes_are_there_after_a_restart(make_asker: Callable[..., Asker]) -> None:
    ask = make_asker()
    changed = document(ask)
    changed["step"][0]["name"] = "A first step"
    effect(ask, changed)
    later = make_asker()
    found = later.ok("GET", "/api/sequences/gull-point")
    assert found["draft"]["step"][0]["name"] == "A first step"
    assert found["document"]["step"][0]["name"] != "A first step"
    assert later.ok("DELETE", "/api/sequences/gull-point/draft")["draft"] is None


# ---------------------------------------------------------------- saved
def test_a_shipped_sequence_is_saved_as_an_own_one_and_stays(ask: Asker, home: Path) -> None:
    before = shipped()
    changed = document(ask)
    changed["title"] = "Harbour school"
    changed["step"].insert(1, {"id": "", "name": "Our own", "teach": ["ee as in see"], "words": ["said"]})
    saved = ask.ok("PUT", "/api/sequences/gull-point", {"document": changed})
    assert saved["name"] == "harbour-school"
    assert saved["own"]
    assert shipped() == before
    path = home / "sequences" / "harbour-school.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    assert data["step"][1] == {"id": "our-own", "name": "Our own", "teach": ["ee as in see"], "words": ["said"]}
    assert ask.ok("GET", "/api/sequences")[0]["name"] == "harbour-school"


def test_saving_again_keeps_the_comments_of_the_file(ask: Asker, home: Path) -> None:
    saved = ask.ok("PUT", "/api/sequences/gull-point", {"document": {**document(ask), "title": "Mine"}})
    path = home / "sequences" / f"{saved['name']}.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("[[step]]\n", "[[step]]\n# from the staff meeting\n", 1),
        encoding="utf-8",
    )
    changed = document(ask, saved["name"])
    changed["step"].append(changed["step"].pop(0))
    again = ask.ok("PUT", f"/api/sequences/{saved['name']}", {"document": changed})
    assert again["name"] == saved["name"]
    text = path.read_text(encoding="utf-8")
    assert text.count("# from the staff meeting") == 1
    assert document(ask, saved["name"]) == changed


def test_two_of_one_name_get_two_files_and_none_hides_a_shipped_one(ask: Asker) -> None:
    names = [
        ask.ok("PUT", "/api/sequences/gull-point", {"document": {**document(ask), "title": title}, "as_new": True})[
            "name"
        ]
        for title in ("Gull Point", "Gull-point", "\u8239", "Con")
    ]
    assert len(set(names)) == 4
    assert "gull-point" not in names
    assert "con" not in names


def test_faults_are_not_saved(ask: Asker, home: Path) -> None:
    changed = document(ask)
    changed["step"][0]["teach"] = ["zzq"]
    answer = ask("PUT", "/api/sequences/gull-point", {"document": changed})
    assert answer.status == 400
    assert answer.json["faults"][0]["step"] == 0
    assert not (home / "sequences").exists()


def test_an_own_sequence_is_erased_a_shipped_one_never(ask: Asker) -> None:
    before = shipped()
    saved = ask.ok("PUT", "/api/sequences/gull-point", {"document": {**document(ask), "title": "Mine"}})
    ask.ok("DELETE", f"/api/sequences/{saved['name']}")
    assert ask("GET", f"/api/sequences/{saved['name']}").status == 404
    assert ask("DELETE", "/api/sequences/gull-point").status == 400
    assert shipped() == before


# ---------------------------------------------------------------- imported
SHEET = "Step,Name,Teach,Words\n1,First,s a t p,a\n2,Snow,ow (snow); sh,the\n3,Wrong,zzq,said\n"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("plan.csv", SHEET.encode()),
        ("plan.csv", b"\xef\xbb\xbf" + SHEET.encode()),
        ("plan.csv", SHEET.encode("utf-16")),
        ("plan.tsv", SHEET.replace(",", "\t").encode()),
        ("plan.csv", SHEET.replace(",", "|").replace(";", ",").replace("|", ";").encode()),
    ],
    ids=["plain", "marked", "utf-16", "tabs", "semicolons"],
)
def test_a_spreadsheet_is_shown_before_anything_is_saved(ask: Asker, home: Path, name: str, data: bytes) -> None:
    found = ask.ok("POST", f"/api/sequences/import?name={name}", data)
    assert [(s["name"], s["teach"], s["words"]) for s in found["document"]["step"]] == [
        ("First", ["s", "a", "t", "p"], ["a"]),
        ("Snow", ["ow (snow)", "sh"], ["the"]),
        ("Wrong", ["zzq"], ["said"]),
    ]
    assert [(f["step"], f["field"], f["item"]) for f in found["faults"]] == [(2, "teach", 0)]
    assert found["lines"] == [2, 3, 4]
    assert [p for p in home.rglob("*") if p.is_file()] == []


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("plan.xlsx", b"PK\x03\x04 xl/workbook", "CSV"),
        ("plan.csv", b"a,b\n1,2\n", "columns step, name, teach, words"),
        ("plan.csv", b"step,name,teach,words\n", "no steps"),
        ("plan.toml", b"x = ", "plan.toml:1"),
        ("plan.toml", b"step = 3", "no steps"),
        ("plan.toml", b'step = ["a"]', "no steps"),
        ("plan.csv", b"", "columns"),
    ],
)
def test_what_is_no_sequence_is_told(ask: Asker, name: str, data: bytes, message: str) -> None:
    answer = ask("POST", f"/api/sequences/import?name={name}", data)
    assert answer.status == 400
    assert message in answer.error


def test_a_saved_file_is_imported_as_it_was(ask: Asker) -> None:
    saved = ask("GET", "/api/sequences/gull-point/file").body
    assert saved == shipped()["gull-point.toml"]
    found = ask.ok("POST", "/api/sequences/import?name=gull-point.toml", saved)
    assert found["faults"] == []
    assert found["document"] == document(ask)


@pytest.mark.parametrize(("typed", "first"), [("sh", "sh"), ("ea as", "ea as in"), ("spr", "spr-")])
def test_phrases_are_offered_as_they_are_typed(ask: Asker, typed: str, first: str) -> None:
    from urllib.parse import quote

    assert ask.ok("GET", f"/api/phrases?q={quote(typed)}")["phrases"][0].startswith(first)


# ---------------------------------------------------------------- readers
def test_a_reader_is_a_file_that_the_command_line_takes(ask: Asker, home: Path) -> None:
    made = ask.ok(
        "POST", "/api/readers", {"name": "Blue group", "step": "sh", "patterns": ["ee as in see"], "names": ["Pip"]}
    )
    assert made["id"] == "blue-group"
    path = home / "readers" / "blue-group.toml"
    assert tomllib.loads(path.read_text(encoding="utf-8")) == {
        "name": "Blue group",
        "sequence": "gull-point",
        "step": "sh",
        "patterns": ["ee as in see"],
        "names": ["Pip"],
    }
    assert ask.ok("GET", "/api/readers")[0]["step_name"] == "sh"


def test_two_readers_of_one_name_are_two(ask: Asker) -> None:
    made = [ask.ok("POST", "/api/readers", {"name": "K."})["id"] for _ in range(2)]
    assert made == ["k", "k-2"]


@pytest.mark.parametrize(
    ("body", "field", "item"),
    [
        ({"name": " "}, "name", -1),
        ({"name": "A", "step": "none-such"}, "step", -1),
        ({"name": "A", "step": 99}, "step", -1),
        ({"name": "A", "patterns": ["sh", "zzq"]}, "patterns", 1),
        ({"name": "A", "not_secure": ["ow"]}, "not_secure", 0),
        ({"name": "A", "sequence": "none"}, "sequence", -1),
    ],
)
def test_faults_of_a_reader_have_their_place(ask: Asker, body: dict[str, Any], field: str, item: int) -> None:
    answer = ask("POST", "/api/readers", body)
    assert answer.status == 400
    assert [(f["field"], f["item"]) for f in answer.json["faults"]] == [(field, item)]
    assert ask.ok("GET", "/api/readers") == []


def test_a_broken_reader_file_is_shown_with_its_faults_and_can_be_mended(ask: Asker, home: Path) -> None:
    ask.ok("POST", "/api/readers", {"name": "Blue"})
    path = home / "readers" / "blue.toml"
    path.write_text('name = "Blue"\nstep = "none-such"\n# mine\nnames = ["Pip"]\n', encoding="utf-8")
    (found,) = ask.ok("GET", "/api/readers")
    assert found["faults"]
    assert found["names"] == ["Pip"]
    text = ask.text("A crab.")
    assert ask("GET", f"/api/texts/{text['id']}/marks?reader=blue").status == 400
    ask.ok("PUT", "/api/readers/blue", {"name": "Blue", "step": "sh", "names": ["Pip"]})
    assert "# mine" in path.read_text(encoding="utf-8")
    assert ask("GET", f"/api/texts/{text['id']}/marks?reader=blue").status == 200


def test_a_reader_written_by_hand_may_name_a_sequence_file_beside_it(ask: Asker, home: Path) -> None:
    ask.ok("POST", "/api/readers", {"name": "Blue"})
    (home / "readers" / "blue.toml").write_text('name = "Blue"\nsequence = "../plan.toml"\n', encoding="utf-8")
    (home / "plan.toml").write_text('title = "Plan"\n[[step]]\nid = "one"\nteach = ["s", "a", "t"]\n', encoding="utf-8")
    (found,) = ask.ok("GET", "/api/readers")
    assert (found["title"], found["faults"]) == ("Plan", [])
    assert ask("PUT", "/api/readers/blue", {"name": "Blue", "sequence": "../plan.toml", "step": "one"}).status == 200
    assert ask("PUT", "/api/readers/blue", {"name": "Blue", "sequence": "../other.toml"}).status == 400


# ---------------------------------------------------------------- everything
def test_settings_are_kept_and_damaged_ones_forgotten(make_asker: Callable[..., Asker], home: Path) -> None:
    ask = make_asker()
    ask.ok("PUT", "/api/settings", {"theme": "dark", "size": 4})
    assert make_asker().ok("GET", "/api/desk")["settings"]["size"] == 4
    (home / "settings.json").write_text('{"size": 99, "theme": "dark"}', encoding="utf-8")
    assert make_asker().ok("GET", "/api/desk")["settings"]["size"] == 2
    (home / "settings.json").write_text("{", encoding="utf-8")
    assert make_asker().ok("GET", "/api/desk")["settings"]["theme"] == ""
    assert ask("PUT", "/api/settings", {"size": 99}).status == 400


def test_everything_is_exported_and_forgotten(ask: Asker, home: Path) -> None:
    text = ask.text("The crab")
    ask.ok("POST", "/api/readers", {"name": "Blue"})
    ask.ok("PUT", "/api/settings", {"text": text["id"]})
    ask.ok("POST", "/api/words/fix", {"word": "kay", "like": "day"})
    ask.ok("PUT", "/api/sequences/gull-point", {"document": {**document(ask), "title": "Mine"}})
    changed = document(ask)
    changed["title"] = "Half done"
    effect(ask, changed)
    kept = {p.relative_to(home).as_posix() for p in home.rglob("*") if p.is_file() and p.parent.name != "cache"}
    with zipfile.ZipFile(io.BytesIO(ask("GET", "/api/export").body)) as archive:
        assert set(archive.namelist()) == kept
        assert archive.read(f"texts/{text['id']}.txt") == b"The crab"
    after = ask.ok("POST", "/api/forget")
    assert [p for p in home.rglob("*") if p.is_file() and p.parent.name != "cache"] == []
    assert after["texts"] == after["readers"] == []
    assert after["open"] is None
    assert all(not s["own"] for s in after["sequences"])
    assert ask.ok("GET", "/api/words/kay")["words"][0]["readings"][0]["source"] != "user"


def test_openapi_describes_every_address(ask: Asker) -> None:
    described = ask.ok("GET", "/openapi.json")
    assert described["openapi"].startswith("3.")
    operations = [op for path in described["paths"].values() for op in path.values()]
    assert len(operations) > 30
    for operation in operations:
        assert operation.get("description"), operation["operationId"]
        assert {"400", "401", "403", "404", "413"} <= set(operation["responses"])
    files = ("check", "report", "file", "export")
    for path, operations_of in described["paths"].items():
        for operation in operations_of.values():
            schema = operation["responses"]["200"]["content"].get("application/json", {}).get("schema", {})
            named = schema.get("$ref") or schema.get("items", {}).get("$ref")
            assert named or path.endswith(files), path
    assert "Edit" in described["components"]["schemas"]
    json.dumps(described)
