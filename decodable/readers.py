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

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from decodable.errors import DecodableError, FaultsError
from decodable.rules import RuleFile, expect_keys, read_toml
from decodable.sequence import UNSTRESSED, Phrase, PhraseReader, Sequence, load_sequence

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
    data = file.data
    expect_keys(file, 1, data, _KEYS, "a reader")
    lists = {key: _texts(file, key) for key in ("patterns", "not_secure", "words", "names", "told")}
    for key in ("patterns", "not_secure"):
        for text in lists[key]:
            try:
                phrases.parse(text)
            except DecodableError as error:
                file.fault(file.line_of(text), f"{key}: {error}")
    chosen: str | Path = sequence or data.get("sequence", "gull-point")
    if not sequence and str(chosen).endswith((".toml", ".csv")):
        chosen = path.parent / str(chosen)
    file.check()
    given = step if step is not None else data.get("step")
    try:
        return make_reader(
            chosen,
            phrases,
            step=given,
            name=str(data.get("name", path.stem)),
            unstressed=str(data.get("unstressed", "")),
            **lists,
        )
    except FaultsError:
        raise
    except DecodableError as error:
        keys = ("step", "unstressed", "sequence")
        blamed = next((k for k in keys if k in data and repr(str(data[k])) in str(error).replace('"', "'")), "")
        file.fault(file.line_of(blamed, "=") if blamed else 1, str(error))
        raise FaultsError(file.faults) from None


def _texts(file: RuleFile, key: str) -> tuple[str, ...]:
    value: Any = file.data.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        file.fault(file.line_of(key), f"{key} should be a list of texts, not {value!r}")
        return ()
    return tuple(value)
