"""What the page keeps in the user's own folder: texts, readers, sequences, settings.

In go names and contents; out come files that only the user can read, each written whole or not at all. Readers and
sequences are the files that the command line takes; a text is a plain file beside a small one with its title. A name
becomes a file name only if it is small letters, digits and hyphens, so that none leads out of the folder.
"""

from __future__ import annotations

import io
import json
import re
import secrets
import unicodedata
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from decodable import resources
from decodable.errors import DecodableError
from decodable.private import private_folder, write_private

_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,58}[a-z0-9])?")
# File names that Windows keeps for devices.
_DEVICES = frozenset(["con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(10))])


@dataclass(frozen=True, slots=True)
class Text:
    """A text that is being worked on."""

    id: str
    """Its name among the kept texts."""
    title: str
    """For people."""
    markdown: bool
    """Whether it is read as Markdown."""
    text: str
    """All of it."""


def safe_name(name: str, what: str) -> str:
    """The name, if it may be a file's; :class:`DecodableError` otherwise."""
    if not _NAME.fullmatch(name) or name in _DEVICES:
        raise DecodableError(
            f"A {what}'s file name is small letters, digits and hyphens, at most 60, not {name[:80]!r}."
        )
    return name


def slug(title: str) -> str:
    """A file name made of a title: ``"Blue group!"`` gives ``blue-group``; ``item`` where nothing is left."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].strip("-")
    return name if name and name not in _DEVICES else f"{name or 'item'}-1"


class Store:
    """The user's own folder."""

    def __init__(self, root: Path | None = None) -> None:
        self.root = root or resources.user_dir()

    def open(self) -> None:
        """Make the folder, or close it to others; :class:`DecodableError` if that can't be done."""
        private_folder(self.root)

    def _files(self, folder: str, *endings: str) -> list[Path]:
        path = self.root / folder
        found = path.iterdir() if path.is_dir() else iter(())
        return sorted(p for p in found if p.suffix in endings and _NAME.fullmatch(p.stem) and p.is_file())

    def _path(self, folder: str, name: str, ending: str, what: str) -> Path:
        return self.root / folder / f"{safe_name(name, what)}{ending}"

    def _free(self, folder: str, title: str) -> str:
        """A name that no file of the folder has."""
        taken = {p.stem for p in self._files(folder, ".toml", ".txt", ".csv")}
        base = slug(title)
        names = (base, *(f"{base}-{n}" for n in range(2, 10_000)))
        return next(n for n in names if n not in taken)

    # ------------------------------------------------------------------ texts
    def texts(self) -> list[Text]:
        """Every text without its words, the latest first."""
        files = sorted(self._files("texts", ".txt"), key=_changed, reverse=True)
        return [Text(p.stem, *self._about(p.stem), "") for p in files]

    def text(self, name: str) -> Text:
        """One text."""
        path = self._path("texts", name, ".txt", "text")
        try:
            words = path.read_bytes().decode("utf-8", "replace")
        except FileNotFoundError:
            raise DecodableError(f"There is no text {name!r} in {path.parent}; it may have been removed.") from None
        except OSError as error:
            raise DecodableError(f"Cannot read {path}: {error}.") from None
        return Text(name, *self._about(name), words)

    def new_text(self, title: str, text: str, *, markdown: bool) -> Text:
        """Keep a new text under a name of its own that tells nothing."""
        made = Text(f"text-{secrets.token_hex(6)}", title, markdown, text)
        self.put_text(made)
        return made

    def put_text(self, text: Text) -> None:
        """Keep a text with its title."""
        about = json.dumps({"title": text.title, "markdown": text.markdown}, ensure_ascii=False)
        write_private(self._path("texts", text.id, ".json", "text"), about)
        self.put_words(text.id, text.text)

    def put_words(self, name: str, words: str) -> None:
        """Keep the words of a text."""
        write_private(self._path("texts", name, ".txt", "text"), words)

    def drop_text(self, name: str) -> None:
        """Erase a text."""
        for ending in (".txt", ".json"):
            self._path("texts", name, ending, "text").unlink(missing_ok=True)

    def _about(self, name: str) -> tuple[str, bool]:
        found = _json(self._path("texts", name, ".json", "text"))
        return str(found.get("title", "Untitled")), bool(found.get("markdown", False))

    # ------------------------------------------------------------------ readers and sequences
    def readers(self) -> list[str]:
        """Names of the readers' files, in order."""
        return [p.stem for p in self._files("readers", ".toml")]

    def reader_file(self, name: str) -> Path:
        """The file of a reader."""
        return self._path("readers", name, ".toml", "reader")

    def new_reader(self, title: str) -> str:
        """A file name for a new reader."""
        return self._free("readers", title)

    def sequences(self) -> list[str]:
        """Names of the user's own sequences."""
        return sorted({p.stem for p in self._files("sequences", ".toml", ".csv")})

    def sequence_file(self, name: str) -> Path:
        """The TOML file of an own sequence."""
        return self._path("sequences", name, ".toml", "sequence")

    def new_sequence(self, title: str, taken: Callable[[str], bool]) -> str:
        """A file name for a new own sequence; ``taken`` says which names others have."""
        name = self._free("sequences", title)
        names = (name, *(f"{name}-{n}" for n in range(2, 10_000)))
        return next(n for n in names if not taken(n) and n not in self.sequences())

    def drop_sequence(self, name: str) -> None:
        """Erase an own sequence, whatever its format."""
        path = self.sequence_file(name)
        path.unlink(missing_ok=True)
        path.with_suffix(".csv").unlink(missing_ok=True)
        self.drop_draft(name)

    # ------------------------------------------------------------------ sequences being changed
    def draft(self, name: str) -> dict[str, Any] | None:
        """A sequence that is being changed and not saved yet, as it was left."""
        return _json(self._path("drafts", name, ".json", "sequence")) or None

    def put_draft(self, name: str, document: dict[str, Any]) -> None:
        """Keep a sequence that is being changed."""
        write_private(self._path("drafts", name, ".json", "sequence"), json.dumps(document, ensure_ascii=False))

    def drop_draft(self, name: str) -> None:
        """Leave the changes."""
        self._path("drafts", name, ".json", "sequence").unlink(missing_ok=True)

    # ------------------------------------------------------------------ settings
    def settings(self) -> dict[str, Any]:
        """What was chosen once: the reader, the open text, how the page looks."""
        return _json(self.root / "settings.json")

    def put_settings(self, settings: dict[str, Any]) -> None:
        """Keep what was chosen."""
        write_private(self.root / "settings.json", json.dumps(settings, ensure_ascii=False, indent=1) + "\n")

    # ------------------------------------------------------------------ everything
    def kept(self) -> Iterator[Path]:
        """Every file of the user's: texts, readers, sequences and their drafts, words of their own, settings."""
        for folder in ("texts", "readers", "sequences", "drafts", "vocabulary"):
            path = self.root / folder
            if path.is_dir():
                yield from sorted(p for p in path.iterdir() if p.is_file())
        for name in ("pronunciations.toml", "never_offered.toml", "settings.json"):
            if (self.root / name).is_file():
                yield self.root / name

    def counts(self) -> dict[str, int]:
        """How much is kept of each kind."""
        return {
            "texts": len(self._files("texts", ".txt")),
            "readers": len(self.readers()),
            "sequences": len(self.sequences()),
        }

    def export(self) -> bytes:
        """Everything as one ZIP archive, laid out as in the folder."""
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in self.kept():
                archive.write(path, path.relative_to(self.root).as_posix())
        return out.getvalue()

    def forget(self) -> None:
        """Erase everything of the user's, and what was compiled from it; the compiled dictionary stays."""
        for path in [*self.kept(), *resources.cache_dir().glob("words-*")]:
            try:
                path.unlink(missing_ok=True)
            except OSError as error:
                raise DecodableError(f"Cannot erase {path}: {error}. Erase it by hand.") from None


def _changed(path: Path) -> tuple[int, str]:
    try:
        return path.stat().st_mtime_ns, path.stem
    except OSError:
        return 0, path.stem


def _json(path: Path) -> dict[str, Any]:
    """The JSON object in a file; empty where there is none or it is damaged."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
