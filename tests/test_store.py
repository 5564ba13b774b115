"""The user's own folder: names that stay inside, files that are whole, nothing left when it is forgotten."""

from __future__ import annotations

import os
import stat
import string
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decodable.errors import DecodableError
from decodable.private import private_folder, write_private
from decodable.store import Store, safe_name, slug


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Blue group!", "blue-group"),
        ("  K. & M. ", "k-m"),
        ("Zo\u00eb's class", "zoe-s-class"),
        ("../../etc/passwd", "etc-passwd"),
        ("CON", "con-1"),
        ("\u8239", "item-1"),
        ("", "item-1"),
    ],
)
def test_a_title_makes_a_file_name(title: str, name: str) -> None:
    assert slug(title) == name


@given(title=st.text(max_size=200))
def test_any_title_makes_a_safe_name(title: str) -> None:
    name = slug(title)
    assert safe_name(name, "reader") == name
    assert set(name) <= set(string.ascii_lowercase + string.digits + "-")


@pytest.mark.parametrize(
    "name", ["", ".", "..", "a/b", "a\\b", "A", "-a", "a-", "nul", "com3", "a.b", "a" * 61, "a\n", "\u0430"]
)
def test_other_names_are_refused(name: str) -> None:
    with pytest.raises(DecodableError, match="small letters"):
        safe_name(name, "text")


def test_texts_are_kept_latest_first(tmp_path: Path) -> None:
    store = Store(tmp_path)
    first = store.new_text("One", "The crab \N{CRAB}\r\nran.", markdown=False)
    second = store.new_text("Two", "# Two", markdown=True)
    os.utime(tmp_path / "texts" / f"{first.id}.txt", (1, 1))
    assert [(t.id, t.title, t.markdown, t.text) for t in store.texts()] == [
        (second.id, "Two", True, ""),
        (first.id, "One", False, ""),
    ]
    assert store.text(first.id) == first
    store.drop_text(first.id)
    assert [t.id for t in Store(tmp_path).texts()] == [second.id]
    with pytest.raises(DecodableError, match="removed"):
        store.text(first.id)


def test_what_others_put_into_the_folder_is_left_out_and_survives_damage(tmp_path: Path) -> None:
    store = Store(tmp_path)
    kept = store.new_text("One", "x", markdown=False)
    (tmp_path / "texts" / "Some File.txt").write_text("x", encoding="utf-8")
    (tmp_path / "texts" / f"{kept.id}.json").write_text("[", encoding="utf-8")
    assert [(t.id, t.title) for t in store.texts()] == [(kept.id, "Untitled")]
    (tmp_path / "settings.json").write_text('["a list"]', encoding="utf-8")
    assert store.settings() == {}


def test_a_write_that_fails_leaves_the_old_content(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.txt"
    write_private(path, "old")

    def fail(*_: object) -> None:
        raise OSError("no space")

    monkeypatch.setattr("decodable.private.os.replace", fail)
    with pytest.raises(DecodableError, match="DECODABLE_HOME"):
        write_private(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_a_folder_that_is_open_to_others_is_closed(tmp_path: Path) -> None:
    path = tmp_path / "home"
    path.mkdir(mode=0o755)
    private_folder(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o700


def test_forgetting_leaves_the_dictionary_and_what_is_not_ours(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.new_text("One", "x", markdown=False)
    store.put_settings({"reader": "blue"})
    store.put_draft("gull-point", {"title": "x"})
    for name in ("readers/blue.toml", "sequences/mine.csv", "pronunciations.toml", "cache/lexicon.npz", "notes.txt"):
        write_private(tmp_path / name, "x")
    store.forget()
    left = {p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*") if p.is_file()}
    assert left == {"cache/lexicon.npz", "notes.txt"}
