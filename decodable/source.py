"""Reading files: in goes a path (or ``-``: standard input), out comes its text, name and encoding.

Nothing is normalised: line endings stay as they are, and offsets everywhere count the Unicode code
points of ``Source.text``. Only a byte order mark is no part of the text. What can't be read as text
is refused with one line that says what was expected, what came, where, and what to do.
"""

from __future__ import annotations

import difflib
import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path

from decodable.errors import DecodableError

LIMIT = 100 * 1024 * 1024
"""Largest file in bytes: some twenty times the longest novel; its columns still fit in memory."""

MARKDOWN_ENDINGS = (".md", ".markdown")

_BOMS = (  # UTF-32 first: its little-endian mark begins with that of UTF-16
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
_COPY = "Open it, copy its text into a plain text file (.txt, UTF-8), and check that."
_PICTURE = "Type the words into a plain text file (.txt), or use a text recognition program first."
_UNPACK = "Unpack it, and check the text files inside."
_SIGNATURES = (
    (b"%PDF-", "a PDF file", _COPY),
    (b"\x89PNG", "a picture (PNG)", _PICTURE),
    (b"\xff\xd8\xff", "a picture (JPEG)", _PICTURE),
    (b"GIF8", "a picture (GIF)", _PICTURE),
    (b"{\\rtf", "a rich text file (RTF)", "Save it as plain text (.txt, UTF-8), and check that."),
    (b"\xd0\xcf\x11\xe0", "an old Office document (DOC)", _COPY),
    (b"\x1f\x8b", "a compressed file (GZIP)", _UNPACK),
    (b"7z\xbc\xaf", "a compressed file (7-Zip)", _UNPACK),
)
_ZIPS = (  # told apart by a name that stands near the start of the archive
    (b"application/epub+zip", "an e-book (EPUB)", _COPY),
    (b"application/vnd.oasis", "an OpenDocument file", _COPY),
    (b"word/", "a Word document (DOCX)", _COPY),
    (b"ppt/", "a slide show (PPTX)", _COPY),
    (b"xl/", "a spreadsheet (XLSX)", _COPY),
)
_CONTROLS = re.compile(rb"[\x00-\x08\x0e-\x19\x1c-\x1f\x7f]")  # not tab, line ends, Ctrl-Z, Esc
_SAMPLE = 4096  # bytes looked at to tell UTF-16 without a mark, and kinds of archive
_NAMES = 5000  # names of one folder compared with a mistyped one; keeps the error quick


@dataclass(frozen=True, slots=True)
class Source:
    """A text as it was read."""

    text: str
    """The decoded text, line endings kept, without a byte order mark."""
    name: str
    """The path as it was given, or ``standard input``."""
    markdown: bool
    """Whether the name ends in ``.md`` or ``.markdown``."""
    encoding: str
    """``utf-8``, ``utf-16-le``, ``utf-16-be``, ``utf-32-le``, ``utf-32-be`` or ``windows-1252``."""


def read_source(path: str | Path) -> Source:
    """Read a text file; ``-`` reads standard input.

    Raises :class:`DecodableError` for what is missing, no file, unreadable, empty, too large or no
    text.
    """
    if str(path) == "-":
        name, data = "standard input", sys.stdin.buffer.read(LIMIT + 1)
    else:
        name, data = str(path), _bytes(Path(path))
    if len(data) > LIMIT:
        raise _too_large(name)
    text, encoding = decode(data, name)
    if not text.strip():
        raise DecodableError(
            f"{_shown(name)}: expected a text, but it is "
            f"{'only white space' if text else 'empty'}. Put some words in it, or give another."
        )
    return Source(text, name, name.lower().endswith(MARKDOWN_ENDINGS), encoding)


def decode(data: bytes, name: str) -> tuple[str, str]:
    """The text of ``data`` without its byte order mark, and the encoding it was read in.

    A byte order mark decides; else UTF-16 that is plain from its zero bytes, UTF-8, and last
    Windows-1252. ``name`` stands in messages. Raises :class:`DecodableError` for binary data, and
    for UTF-8 that is damaged in places, which Windows-1252 would turn into wrong letters.
    """
    if found := _binary(data):
        raise DecodableError(f"{_shown(name)}: expected plain text or Markdown, but this is {found[0]}. {found[1]}")
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            return _strict(data[len(bom) :], encoding, name), encoding
    if wide := _wide(data):
        return _strict(data, wide, name), wide
    if b"\x00" in data:
        raise _no_text(name)
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
    lenient = data.decode("utf-8", "replace")
    broken = lenient.count("\ufffd")
    if sum(not char.isascii() for char in lenient) - broken > broken:
        raise DecodableError(
            f"{_shown(name)}: expected UTF-8, but a letter on line {line} is damaged. "
            "Save the file again as plain text in UTF-8."
        )
    try:
        text = data.decode("windows-1252")
    except UnicodeDecodeError:
        raise _no_text(name) from None
    if _CONTROLS.search(data):
        raise _no_text(name)
    return text, "windows-1252"


def _bytes(path: Path) -> bytes:
    """The first ``LIMIT + 1`` bytes of a file."""
    try:
        if path.is_dir():
            raise _folder(path)
        with path.open("rb") as file:
            if os.fstat(file.fileno()).st_size > LIMIT:
                raise _too_large(str(path))
            return file.read(LIMIT + 1)
    except FileNotFoundError:
        raise _missing(path) from None
    except PermissionError:
        raise DecodableError(
            f"{_shown(str(path))}: you have no permission to read this file. "
            "Change its permissions, or copy it to a folder of your own."
        ) from None
    except DecodableError:
        raise
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        reason = getattr(error, "strerror", None) or error
        raise DecodableError(
            f"{_shown(str(path))}: cannot be read ({reason}). Expected the name of a text file."
        ) from None


def _strict(data: bytes, encoding: str, name: str) -> str:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        raise DecodableError(
            f"{_shown(name)}: expected {encoding.upper()} as its first bytes say, but byte "
            f"{error.start + 1} is damaged. Save the file again as plain text in UTF-8."
        ) from None
    if "\x00" in text:
        raise _no_text(name)
    return text


def _binary(data: bytes) -> tuple[str, str] | None:
    """What a known kind of binary file is, and what to do about it."""
    if data.startswith(b"PK\x03\x04"):
        head = data[:_SAMPLE]
        for mark, kind, advice in _ZIPS:
            if mark in head:
                return kind, advice
        return "a compressed file (ZIP)", _UNPACK
    for mark, kind, advice in _SIGNATURES:
        if data.startswith(mark):
            return kind, advice
    if data[60:68] == b"BOOKMOBI":
        return "an e-book (MOBI)", _COPY
    return None


def _wide(data: bytes) -> str | None:
    """UTF-16 without a mark: in European text nearly every other byte is zero, on one side only."""
    sample = data[:_SAMPLE]
    if len(sample) < 2 or len(data) % 2:
        return None
    first, second = sample[::2], sample[1::2]
    zeros = first.count(0) / len(first), second.count(0) / len(second)
    if zeros[1] > 0.5 and zeros[0] < 0.05:
        return "utf-16-le"
    if zeros[0] > 0.5 and zeros[1] < 0.05:
        return "utf-16-be"
    return None


def _shown(name: str) -> str:
    """A name that is safe to print: control characters are shown, never obeyed."""
    return name if name.isprintable() else repr(name)


def _no_text(name: str) -> DecodableError:
    return DecodableError(
        f"{_shown(name)}: expected plain text or Markdown, but this is binary data. "
        "Give a .txt or .md file, saved as plain text in UTF-8."
    )


def _too_large(name: str) -> DecodableError:
    return DecodableError(
        f"{_shown(name)}: larger than {LIMIT // 2**20} MB, the most that is read at once. "
        "Split it, by chapter or by book."
    )


def _folder(path: Path) -> DecodableError:
    texts = [name for name in _names(path) if name.lower().endswith((".txt", *MARKDOWN_ENDINGS))]
    inside = f"one of its files, such as {_shown(texts[0])}" if texts else "a text file"
    return DecodableError(f"{_shown(str(path))}: expected a file, but this is a folder. Give {inside}.")


def _missing(path: Path) -> DecodableError:
    folder = path.parent
    if not folder.is_dir():
        return DecodableError(
            f"{_shown(str(path))}: no such file, and no folder {_shown(str(folder))}. Check the spelling of the path."
        )
    by_lower = {name.lower(): name for name in _names(folder)}
    near = difflib.get_close_matches(path.name.lower(), by_lower, n=3, cutoff=0.6)
    offered = ", ".join(_shown(by_lower[name]) for name in near)
    advice = f"Nearest names there: {offered}." if near else "No name there is like it."
    return DecodableError(f"{_shown(str(path))}: no such file. {advice}")


def _names(folder: Path) -> list[str]:
    """Names in a folder, in order; none where it can't be listed."""
    try:
        return sorted(os.listdir(folder))[:_NAMES]
    except OSError:
        return []
