"""What is on the desk: the engine, the user's folder, the texts that are open, and who they are judged for.

In go names and changes from the page; out come texts, readers and reports, each worked out once until something that
it rests on changes. Offsets here count code points.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from decodable import resources
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.pieces import Pieces
from decodable.private import write_private
from decodable.readers import Reader, read_reader, write_reader
from decodable.report import Report
from decodable.rules import read_toml
from decodable.sequence import Fault, Sequence, find_sequence, sequence_names
from decodable.store import Store, Text
from decodable.text import Kind, Tokens
from decodable.web.units import Change, Units, changed, revision, whole_letters

# Texts and reports kept at hand; more are read again when asked for.
_OPEN, _REPORTS = 4, 12
FIRST_SEQUENCE = "gull-point"


class ChangedElsewhereError(DecodableError):
    """The text is not the one that the page has: another window changed it."""


class MissingError(DecodableError):
    """What was asked for is not there."""


@dataclass
class OpenText:
    """A text at hand, in its present state."""

    kept: Text
    tokens: Tokens
    units: Units
    revision: str
    reports: OrderedDict[Reader, Report] = field(default_factory=OrderedDict)


class Desk:
    """Everything that the page works on. Its methods may be called from several threads."""

    def __init__(self, engine: Engine, store: Store) -> None:
        self.engine = engine
        self.store = store
        self.pieces = Pieces()
        self.lock = threading.RLock()
        self._open: OrderedDict[str, OpenText] = OrderedDict()
        self._readers: dict[tuple[Any, ...], Reader] = {}
        self._sequences: dict[tuple[Any, ...], Sequence] = {}
        self.keeper = Keeper(store)

    @cached_property
    def shipped(self) -> frozenset[str]:
        """Names of the sequences that come with the program."""
        return frozenset(p.stem for p in (resources.rules_dir() / "sequences").glob("*.toml"))

    # ------------------------------------------------------------------ texts
    def text(self, name: str) -> OpenText:
        """A text by its name."""
        with self.lock:
            found = self._open.get(name)
            if found is None:
                self.keeper.wait(name)
                try:
                    found = self._opened(self.store.text(name))
                except DecodableError as error:
                    raise MissingError(str(error)) from None
            self._open.move_to_end(name)
            return found

    def _opened(self, kept: Text) -> OpenText:
        tokens = self.pieces.tokens(kept.text, markdown=kept.markdown)
        made = OpenText(kept, tokens, Units(kept.text), revision(kept.text))
        self._open[kept.id] = made
        self._open.move_to_end(kept.id)
        while len(self._open) > _OPEN:
            self._open.popitem(last=False)
        return made

    def new_text(self, title: str, text: str, *, markdown: bool) -> OpenText:
        """Keep and open a new text."""
        with self.lock:
            return self._opened(self.store.new_text(title, whole_letters(text), markdown=markdown))

    def edit(self, name: str, base: str, changes: list[Change]) -> OpenText:
        """Make the page's changes; ``base`` says which text they were made to."""
        with self.lock:
            found = self.text(name)
            if found.revision != base:
                raise ChangedElsewhereError("This text was changed in another window since this page had it.")
            words = changed(found.kept.text, changes)
            if words == found.kept.text:
                return found
            made = self._opened(Text(name, found.kept.title, found.kept.markdown, words))
            self.keeper.keep(name, words)
            return made

    def rename_text(self, name: str, title: str, *, markdown: bool) -> OpenText:
        """Give a text another title, or have it read as Markdown or not."""
        with self.lock:
            found = self.text(name)
            made = Text(name, title, markdown, found.kept.text)
            self.store.put_text(made)
            return self._opened(made)

    def drop_text(self, name: str) -> None:
        """Erase a text."""
        with self.lock:
            self._open.pop(name, None)
            self.keeper.drop(name)
            self.store.drop_text(name)

    def key_of(self, word: str) -> str:
        """A word as it is looked up; empty for what is no word."""
        tokens = self.pieces.tokens(word.strip())
        return next((t.key for t in tokens.types if t.kind <= Kind.SYMBOL), "")

    def report(self, text: OpenText, reader: Reader) -> Report:
        """The text judged for a reader."""
        with self.lock:
            found = text.reports.get(reader)
            if found is None:
                found = text.reports[reader] = self.engine.check(text.tokens, reader)
                while len(text.reports) > _REPORTS:
                    text.reports.popitem(last=False)
            return found

    # ------------------------------------------------------------------ readers
    def reader_document(self, name: str) -> dict[str, Any]:
        """The document of a reader's file; that of nobody in particular for an empty name."""
        if not name:
            return {"name": "", "sequence": FIRST_SEQUENCE}
        path = self.store.reader_file(name)
        if not path.is_file():
            raise MissingError(f"There is no reader {name!r}; it may have been removed.")
        return read_toml(path).data

    def reader(self, name: str, step: int | None = None) -> Reader:
        """A reader by the name of its file, at another step if one is given (0: none stated)."""
        with self.lock:
            document = self.reader_document(name)
            document = self._found_from(name, document)
            source = find_sequence(str(document.get("sequence", FIRST_SEQUENCE)))
            path = self.store.reader_file(name) if name else source
            key = (name, step, _stamp(path), source, _stamp(source))
            found = self._readers.get(key)
            if found is None:
                if step is not None:
                    document = {**document, "step": step or None}
                found, faults = read_reader(document, name, self.engine.phrases)
                if found is None:
                    raise FaultsError([f"{document.get('name') or name}: {f.message}" for f in faults])
                if len(self._readers) > 200:
                    self._readers.clear()
                self._readers[key] = found
            return found

    def _found_from(self, name: str, document: Mapping[str, Any]) -> dict[str, Any]:
        """The document with a sequence file (which only a hand-written one names) sought from the reader's folder."""
        wanted = str(document.get("sequence", FIRST_SEQUENCE))
        if name and wanted.endswith((".toml", ".csv")):
            return {**document, "sequence": str(self.store.reader_file(name).parent / wanted)}
        return dict(document)

    def put_reader(self, name: str, document: Mapping[str, Any]) -> tuple[str, list[Fault]]:
        """Keep a reader under its file name (a new one for an empty name); faults instead, if there are any."""
        with self.lock:
            reader, faults = read_reader(self._found_from(name, document), name, self.engine.phrases)
            if reader is None:
                return name, faults
            if not name:
                name = self.store.new_reader(str(document.get("name", "")))
            path = self.store.reader_file(name)
            write_private(path, write_reader(document, _old(path)))
            return name, []

    def mark_word(self, name: str, word: str, mark: str, *, on: bool) -> str:
        """Put a word among a reader's names, whole words or told words, or take it off; the reader's file name."""
        with self.lock:
            document = dict(self.reader_document(name))
            listed = [w for w in document.get(mark, []) if w.lower() != word.lower()]
            document[mark] = [*listed, word] if on else listed
            document["name"] = document.get("name") or "My reader"
            kept, faults = self.put_reader(name, document)
            if faults:
                raise FaultsError([f.message for f in faults])
            return kept

    def drop_reader(self, name: str) -> None:
        """Erase a reader."""
        with self.lock:
            self.store.reader_file(name).unlink(missing_ok=True)

    # ------------------------------------------------------------------ sequences
    def sequence(self, name: str) -> Sequence:
        """A shipped or own sequence by its name (never by a path)."""
        if name not in sequence_names():
            raise MissingError(f"There is no sequence {name!r}. There are: {', '.join(sequence_names())}")
        with self.lock:
            path = find_sequence(name)
            key = (path, _stamp(path))
            found = self._sequences.get(key)
            if found is None:
                if len(self._sequences) > 50:
                    self._sequences.clear()
                found = self._sequences[key] = self.engine.sequence(name)
            return found

    # ------------------------------------------------------------------ words
    def fix_word(self, word: str, like: str) -> None:
        """Say for good how a word is said: like another one, or, for an empty ``like``, as before it was fixed."""
        with self.lock:
            if like:
                self.engine.fix(word, like=like)
            else:
                self.engine.unfix(word)
            for text in self._open.values():
                text.reports.clear()

    # ------------------------------------------------------------------ everything
    def forget(self) -> None:
        """Erase everything of the user's, from the folder and from here."""
        with self.lock:
            self.keeper.forget()
            self.store.forget()
            self._open.clear()
            self._readers.clear()
            self._sequences.clear()
            self.pieces = Pieces()
            self.engine.forget_own()


class Keeper:
    """Writes texts to the folder behind the page's back, the latest state of each, so that typing never waits."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._waiting: dict[str, str] = {}
        self._busy = ""
        self._changed = threading.Condition()
        self._closed = False
        self.trouble = ""
        """Why the last text could not be kept; empty if it was."""
        self._thread = threading.Thread(target=self._run, name="keeper", daemon=True)
        self._thread.start()

    def keep(self, name: str, words: str) -> None:
        """Have a text kept as soon as may be."""
        with self._changed:
            self._waiting[name] = words
            self._changed.notify_all()

    def drop(self, name: str) -> None:
        """Do not keep what still waits of a text."""
        with self._changed:
            self._waiting.pop(name, None)
            self._changed.wait_for(lambda: self._busy != name)

    def wait(self, name: str = "") -> None:
        """Until a text (or every one) is kept or has failed."""
        with self._changed:
            self._changed.wait_for(
                lambda: not (self._busy or self._waiting) if not name else name not in (self._busy, *self._waiting),
                timeout=10,
            )

    def forget(self) -> None:
        """Drop everything that waits."""
        with self._changed:
            self._waiting.clear()
            self._changed.wait_for(lambda: not self._busy)

    def close(self) -> None:
        """Keep what waits, and end."""
        self.wait()
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        self._thread.join(timeout=10)

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._waiting or self._closed)
                if not self._waiting:
                    return
                self._busy = next(iter(self._waiting))
                words = self._waiting.pop(self._busy)
            try:
                self._store.put_words(self._busy, words)
                trouble = ""
            except DecodableError as error:
                trouble = str(error)
            with self._changed:
                self.trouble = trouble
                self._busy = ""
                self._changed.notify_all()


def _stamp(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def _old(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError:
        return ""
