"""Rule files: TOML that a teacher can read, with every fault reported as ``file:line``.

In goes a path; out comes a :class:`RuleFile` with the parsed data and a way to find the line of any entry.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from decodable.errors import DecodableError, FaultsError


@dataclass(slots=True)
class RuleFile:
    """A parsed rule file that collects faults."""

    path: Path
    """Where it was read from."""
    text: str
    """Its text."""
    data: dict[str, Any]
    """The TOML document."""
    rows: tuple[int, ...] = ()
    """For a spreadsheet, the line of each row."""
    faults: list[str] = field(default_factory=list)
    """Faults found so far, each ``file:line: what``."""

    def header_lines(self, header: str) -> list[int]:
        """Lines (from 1) on which the table ``[[header]]`` or ``[header]`` opens, in order."""
        pattern = re.compile(r"\s*\[\[?\s*" + re.escape(header) + r"\s*\]\]?\s*(#.*)?$")
        return [n for n, line in enumerate(self.text.splitlines(), 1) if pattern.match(line)]

    def line_of(self, *needles: str, start: int = 1) -> int:
        """The first line at or after ``start`` that holds all ``needles``; ``start`` where none does."""
        for n, line in enumerate(self.text.splitlines()[start - 1 :], start):
            if all(needle in line for needle in needles):
                return n
        return start

    def fault(self, line: int, message: str) -> None:
        """Note a fault; :meth:`check` raises them together."""
        self.faults.append(f"{self.path.name}:{line}: {message}")

    def check(self) -> None:
        """Raise :class:`FaultsError` if any fault was noted."""
        if self.faults:
            raise FaultsError(self.faults)


def read_toml(path: Path) -> RuleFile:
    """Read one TOML rule file; a syntax error is a fault with its line."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise DecodableError(f"No such rule file: {path}. Check the path, or install the package again.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise DecodableError(f"Cannot read the rule file {path}: {error}. It should be TOML text in UTF-8.") from None
    return parse_toml(text, path)


def parse_toml(text: str, path: Path) -> RuleFile:
    """The same for text that is already in hand; ``path`` names it in faults."""
    try:
        return RuleFile(path, text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"at line (\d+)", str(error))
        line = found.group(1) if found else str(text.count("\n") + 1)
        reason = re.sub(r" \(at .*\)$", "", str(error))
        raise FaultsError([f"{path.name}:{line}: not valid TOML: {reason}"]) from None


def nearest(word: str, choices: Iterable[str], limit: int = 3) -> str:
    """``"; nearest: a, b"`` for an unknown name, or an empty string."""
    found = difflib.get_close_matches(word, list(choices), n=limit, cutoff=0.5)
    return f"; nearest: {', '.join(found)}" if found else ""


def expect_keys(file: RuleFile, line: int, entry: dict[str, Any], known: Sequence[str], what: str) -> None:
    """Note a fault for each key of ``entry`` that is not among ``known``."""
    for _, message in unknown_keys(entry, known, what):
        file.fault(line, message)


def unknown_keys(entry: Mapping[str, Any], known: Sequence[str], what: str) -> list[tuple[str, str]]:
    """Each key of ``entry`` that is not among ``known``, with a message."""
    return [(k, f"{what} has an unknown key {k!r}{nearest(k, known)}") for k in entry if k not in known]
