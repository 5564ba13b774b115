"""Files and encodings: what is read, and what is refused with one clear line."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decodable import source
from decodable.errors import DecodableError
from decodable.source import decode, read_source

TEXT = "Pip sat on the café wall.\r\n“Ahoy!”\n"

# id, bytes, text, encoding
READ = [
    ("utf-8", TEXT.encode(), TEXT, "utf-8"),
    ("ascii", b"Pip\n", "Pip\n", "utf-8"),
    ("utf-8-bom", b"\xef\xbb\xbf" + TEXT.encode(), TEXT, "utf-8"),
    ("utf-16-le-bom", b"\xff\xfe" + TEXT.encode("utf-16-le"), TEXT, "utf-16-le"),
    ("utf-16-be-bom", b"\xfe\xff" + TEXT.encode("utf-16-be"), TEXT, "utf-16-be"),
    ("utf-16-le-without", TEXT.encode("utf-16-le"), TEXT, "utf-16-le"),
    ("utf-16-be-without", TEXT.encode("utf-16-be"), TEXT, "utf-16-be"),
    ("utf-32-le-bom", b"\xff\xfe\0\0" + TEXT.encode("utf-32-le"), TEXT, "utf-32-le"),
    ("utf-32-be-bom", b"\0\0\xfe\xff" + TEXT.encode("utf-32-be"), TEXT, "utf-32-be"),
    ("windows-1252", TEXT.encode("windows-1252"), TEXT, "windows-1252"),
    ("latin-1-accent", b"caf\xe9", "café", "windows-1252"),
    ("old-mac-line-ends", b"a\rb\r", "a\rb\r", "utf-8"),
    ("escape-is-kept", b"\x1b[31mcat", "\x1b[31mcat", "utf-8"),
    ("ctrl-z-at-the-end", b"caf\xe9\x1a", "café\x1a", "windows-1252"),
    ("second-bom-is-text", b"\xef\xbb\xbf\xef\xbb\xbfcat", "\ufeffcat", "utf-8"),
]

# id, bytes, what the message says
REFUSED = [
    ("png", b"\x89PNG\r\n\x1a\n\0\0", "picture (PNG)"),
    ("jpeg", b"\xff\xd8\xff\xe0\0\x10JFIF", "picture (JPEG)"),
    ("pdf", b"%PDF-1.7\n", "a PDF file"),
    ("zip", b"PK\x03\x04\x14\0\0\0notes.txt", "compressed file (ZIP)"),
    ("epub", b"PK\x03\x04\x14\0\0\0mimetypeapplication/epub+zip", "e-book (EPUB)"),
    ("docx", b"PK\x03\x04\x14\0\0\0[Content_Types].xml word/document.xml", "Word document"),
    ("doc", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old Office document"),
    ("rtf", b"{\\rtf1\\ansi Pip}", "rich text file"),
    ("mobi", b"x" * 60 + b"BOOKMOBI", "e-book (MOBI)"),
    ("zero-bytes", b"cat\0sat on the mat", "binary data"),
    ("controls", b"\x01\x02caf\xe9", "binary data"),
    ("not-windows-1252", b"\x81\x8d caf\xe9", "binary data"),
    ("zeros-after-a-bom", b"\xff\xfea\0\0\0", "binary data"),
    ("odd-utf-16", b"\xff\xfea\0b", "byte 3 is damaged"),
    ("utf-8-with-a-hole", "été\nété là\n".encode() + b"\xe9 x", "on line 3 is damaged"),
]


@pytest.mark.parametrize(("data", "text", "encoding"), [c[1:] for c in READ], ids=[c[0] for c in READ])
def test_decode(data: bytes, text: str, encoding: str) -> None:
    assert decode(data, "pip.txt") == (text, encoding)


@pytest.mark.parametrize(("data", "says"), [c[1:] for c in REFUSED], ids=[c[0] for c in REFUSED])
def test_decode_refuses(data: bytes, says: str) -> None:
    with pytest.raises(DecodableError) as caught:
        decode(data, "harbour/pip.txt")
    message = str(caught.value)
    assert says in message
    assert message.startswith("harbour/pip.txt: expected ")
    assert "\n" not in message
    assert message.endswith(".")


@pytest.mark.parametrize(
    ("name", "markdown"),
    [("a.txt", False), ("a.md", True), ("A.MD", True), ("a.markdown", True), ("md", False)],
)
def test_read_source(tmp_path: Path, name: str, markdown: bool) -> None:
    path = tmp_path / name
    path.write_bytes(TEXT.encode())
    for given_path in (path, str(path)):
        read = read_source(given_path)
        assert (read.text, read.name, read.markdown) == (TEXT, str(path), markdown)


def test_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    stdin = io.TextIOWrapper(io.BytesIO(b"\xef\xbb\xbfPip sat.\r\n"))
    monkeypatch.setattr(sys, "stdin", stdin)
    read = read_source("-")
    assert (read.text, read.name, read.markdown) == ("Pip sat.\r\n", "standard input", False)


def refusal(path: Path | str) -> str:
    with pytest.raises(DecodableError) as caught:
        read_source(path)
    message = str(caught.value)
    assert "\n" not in message
    return message


def test_missing_file_offers_its_neighbours(tmp_path: Path) -> None:
    (tmp_path / "Ferry.txt").write_text("x")
    (tmp_path / "crabs.md").write_text("x")
    message = refusal(tmp_path / "fery.txt")
    assert "no such file" in message
    assert "Ferry.txt" in message
    assert "crabs" not in message
    assert "No name there is like it" in refusal(tmp_path / "zzzzzz")


def test_missing_folder(tmp_path: Path) -> None:
    assert "no folder" in refusal(tmp_path / "quay" / "ferry.txt")


def test_folder(tmp_path: Path) -> None:
    assert "a folder. Give a text file" in refusal(tmp_path)
    (tmp_path / "crabs.md").write_text("x")
    assert "such as crabs.md" in refusal(tmp_path)


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.txt"
    path.write_text("x")

    def deny(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", deny)
    assert "no permission" in refusal(path)


def test_name_that_no_file_can_have() -> None:
    message = refusal("a\0b.txt")
    assert "cannot be read" in message
    assert "\0" not in message


def test_name_is_shown_and_not_obeyed(tmp_path: Path) -> None:
    assert "\x1b" not in refusal(tmp_path / "\x1b[31mred.txt")


@pytest.mark.parametrize(
    ("data", "says"),
    [(b"", "it is empty"), (b" \r\n\t\n", "only white space"), (b"\xef\xbb\xbf", "it is empty")],
    ids=["empty", "white-space", "only-a-mark"],
)
def test_nothing_to_read(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "empty.txt"
    path.write_bytes(data)
    assert says in refusal(path)


def test_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert source.LIMIT >= 50_000_000
    monkeypatch.setattr(source, "LIMIT", 2**20)
    path = tmp_path / "large.txt"
    path.write_bytes(b"a" * 2**20)
    assert len(read_source(path).text) == 2**20
    path.write_bytes(b"a" * (2**20 + 1))
    assert "larger than 1 MB" in refusal(path)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(path.read_bytes())))
    assert refusal("-").startswith("standard input: larger than 1 MB")


@given(st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), min_size=1))
def test_utf_8_round_trip(text: str) -> None:
    assert decode(b"\xef\xbb\xbf" + text.encode(), "x") == (text, "utf-8")


@given(st.binary())
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        text, encoding = decode(data, "x")
    except DecodableError:
        return
    assert data.endswith(text.encode(encoding))
