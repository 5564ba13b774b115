"""Readers: a sequence, a step, and the exceptions of one child or group.

In goes a small TOML file or keyword arguments; out comes a frozen :class:`Reader`. A reader file::

    name     = "Blue group"
    sequence = "gull-point"
    step     = "sh"                    # number, id or name; leave it out to see every step
    patterns = ["ee as in see"]        # known beside the sequence
    not_secure = ["b"]                 # taught, but not to be counted on
    words    = ["said"]                # words known whole
    names    = ["Pip", "Mabel"]        # names that are known
    told     = ["lighthouse"]          # words that an adult says
    unstressed = "strict"              # in place of the sequence's own
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from decodable.errors import DecodableError, FaultsError
from decodable.rules import RuleFile, read_toml, unknown_keys
from decodable.sequence import UNSTRESSED, Fault, Phrase, PhraseReader, Sequence, load_sequence

LISTS = ("patterns", "not_secure", "words", "names", "told")
_KEYS = ("name", "sequence", "step", "patterns", "not_secure", "words", "names", "told", "unstressed")


@dataclass(frozen=True, slots=True)
class Reader:
    """Who is to read a text."""

    sequence: Sequence
    """What is taught, in order."""
    step: int = 0
    """The step reached, from 1; 0: not stated."""
    name: str = ""
    """A group's or child's name; initials suffice."""
    patterns: tuple[Phrase, ...] = ()
    """Known beside the sequence."""
    not_secure: tuple[Phrase, ...] = ()
    """Taught, but not to be counted on."""
    words: frozenset[str] = frozenset()
    """Words known whole, lower case."""
    names: frozenset[str] = frozenset()
    """Names known, lower case."""
    told: frozenset[str] = frozenset()
    """Words that an adult says, lower case."""
    unstressed: str = ""
    """allow or strict; empty: as the sequence says."""

    @property
    def step_id(self) -> str:
        """The step's stable name; empty where no step is stated."""
        return self.sequence.steps[self.step - 1].id if self.step else ""


def make_reader(
    sequence: str | Path | Sequence,
    phrases: PhraseReader,
    *,
    step: int | str | None = None,
    name: str = "",
    patterns: tuple[str, ...] = (),
    not_secure: tuple[str, ...] = (),
    words: tuple[str, ...] = (),
    names: tuple[str, ...] = (),
    told: tuple[str, ...] = (),
    unstressed: str = "",
) -> Reader:
    """A reader from plain values; :class:`DecodableError` for an unknown sequence, step, pattern or policy."""
    taught = sequence if isinstance(sequence, Sequence) else load_sequence(sequence, phrases)
    if unstressed and unstressed not in UNSTRESSED:
        raise DecodableError(f"unstressed should be allow or strict, not {unstressed!r}")
    phrases = phrases.in_accent(taught.accent)
    return Reader(
        taught,
        taught.step_number(step) if step not in (None, "") else 0,
        name,
        tuple(phrases.parse(p) for p in patterns),
        tuple(phrases.parse(p) for p in not_secure),
        frozenset(w.lower() for w in words),
        frozenset(n.lower() for n in names),
        frozenset(w.lower() for w in told),
        unstressed,
    )


def load_reader(path: Path, phrases: PhraseReader, *, sequence: str = "", step: int | str | None = None) -> Reader:
    """A reader file; ``sequence`` and ``step``, where given, replace the file's. Faults name file and line."""
    file = read_toml(path)
    data = dict(file.data)
    if sequence:
        data["sequence"] = sequence
    elif str(data.get("sequence", "")).endswith((".toml", ".csv")):
        data["sequence"] = str(path.parent / str(data["sequence"]))
    if step is not None:
        data["step"] = step
    reader, faults = read_reader(data, path.stem, phrases)
    for fault in faults:
        file.fault(_line(file, fault), fault.message)
    file.check()
    assert reader is not None
    return reader


def read_reader(data: Mapping[str, Any], name: str, phrases: PhraseReader) -> tuple[Reader | None, list[Fault]]:
    """A reader from a document in hand, and all its faults; no reader where there are any.

    A sequence file with faults of its own raises :class:`FaultsError` that names them there.

    Args:
        data: the document, as its TOML file has it.
        name: what the reader is called where the document does not say.
        phrases: reads patterns.
    """
    faults = [Fault(-1, key, -1, m) for key, m in unknown_keys(data, _KEYS, "a reader")]
    lists: dict[str, tuple[str, ...]] = {}
    for key in LISTS:
        value = data.get(key, [])
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            faults.append(Fault(-1, key, -1, f"{key} should be a list of texts, not {value!r}"))
            value = ()
        lists[key] = tuple(value)
    unstressed = str(data.get("unstressed", ""))
    if unstressed and unstressed not in UNSTRESSED:
        faults.append(Fault(-1, "unstressed", -1, f"unstressed should be allow or strict, not {unstressed!r}"))
    step, sequence = data.get("step"), None
    try:
        sequence = load_sequence(str(data.get("sequence", "gull-point")), phrases)
        number = sequence.step_number(step) if step not in (None, "") else None
    except FaultsError:
        raise
    except DecodableError as error:
        faults.append(Fault(-1, "step" if sequence else "sequence", -1, str(error)))
    spoken = phrases.in_accent(sequence.accent) if sequence else phrases
    for key in ("patterns", "not_secure"):
        for item, text in enumerate(lists[key]):
            try:
                spoken.parse(text)
            except DecodableError as error:
                faults.append(Fault(-1, key, item, f"{key}: {error}"))
    if faults or sequence is None:
        return None, faults
    called = str(data.get("name", name))
    return make_reader(sequence, phrases, step=number, name=called, unstressed=unstressed, **lists), []


def write_reader(data: Mapping[str, Any], old: str = "") -> str:
    """A reader's document as TOML, without what is empty; ``old`` is the file that it replaces, whose comments stay."""
    import tomlkit

    document = tomlkit.parse(old)
    for key in _KEYS:
        value = list(data[key]) if isinstance(data.get(key), tuple) else data.get(key)
        if value in (None, "", []):
            document.pop(key, None)
        elif key not in document or document[key] != value:
            document[key] = value
    return document.as_string()


def _line(file: RuleFile, fault: Fault) -> int:
    value = file.data.get(fault.field)
    if fault.item >= 0 and isinstance(value, list):
        return file.line_of(value[fault.item])
    return file.line_of(fault.field, "=") if fault.field in file.data else 1
