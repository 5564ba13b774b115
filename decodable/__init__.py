"""Which words of a text a child can sound out, from the letters and sounds of English.

    >>> import decodable
    >>> reader = decodable.reader("gull-point", step="sh")
    >>> report = decodable.check("Pip had a fish.", reader)
    >>> report.readable_share
    1.0

The functions here share one :class:`Engine`, made when first needed; make your own to keep two folders apart. Words,
patterns and sounds are as in the rule files; sounds are ARPAbet. Bad input raises :class:`DecodableError`, whose
message is written for the person at the keyboard.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from decodable.accents import DICTIONARY_ACCENT
from decodable.errors import DecodableError, FaultsError

if TYPE_CHECKING:
    from decodable.chains import Chain
    from decodable.dictation import Dictation
    from decodable.engine import Engine
    from decodable.lesson import Lesson
    from decodable.made_up import MadeUp
    from decodable.model import Reading
    from decodable.readers import Reader
    from decodable.report import Report
    from decodable.sequence import Sequence
    from decodable.sorts import WordSort
    from decodable.words import OfferedWord

__version__ = "0.1.0"
__all__ = [
    "DecodableError",
    "FaultsError",
    "check",
    "check_file",
    "find_words",
    "load_reader",
    "load_sequence",
    "made_up_words",
    "make_dictation",
    "make_lesson",
    "make_sort",
    "reader",
    "sequence_names",
    "shared_engine",
    "word",
    "word_chain",
]


@lru_cache(maxsize=1)
def shared_engine() -> Engine:
    """The shared engine: the compiled dictionary and the user's own folder."""
    from decodable.engine import Engine

    return Engine()


def reader(sequence: str | Path = "gull-point", step: int | str | None = None, **exceptions: Iterable[str]) -> Reader:
    """A reader: a sequence (name or file), the step reached (number, id or name), and exceptions.

    ``exceptions`` are any of ``patterns``, ``not_secure``, ``words``, ``names``, ``told``: lists of texts.
    """
    known = {"patterns", "not_secure", "words", "names", "told"}
    unknown = set(exceptions) - known
    if unknown:
        raise DecodableError(f"reader() takes {', '.join(sorted(known))}, not {', '.join(sorted(unknown))}")
    lists = {key: tuple(exceptions.get(key, ())) for key in known}
    return shared_engine().reader(
        sequence,
        step,
        patterns=lists["patterns"],
        not_secure=lists["not_secure"],
        words=lists["words"],
        names=lists["names"],
        told=lists["told"],
    )


def load_reader(path: str | Path) -> Reader:
    """A reader from its TOML file."""
    return shared_engine().reader_file(Path(path))


def load_sequence(source: str | Path) -> Sequence:
    """A sequence: a shipped or own one by name, or a ``.toml`` or ``.csv`` file."""
    return shared_engine().sequence(source)


def sequence_names() -> list[str]:
    """Names of the shipped and the user's own sequences."""
    from decodable.sequence import sequence_names as names

    return names()


def check(text: str, reader: Reader, *, markdown: bool = False, target: Iterable[str] = ()) -> Report:
    """Judge every word of a text for a reader; ``report.to_dict()`` is the documented output."""
    return shared_engine().check(text, reader, markdown=markdown, target=target)


def check_file(path: str | Path, reader: Reader, *, target: Iterable[str] = ()) -> Report:
    """The same for a file: plain text, or Markdown by its ending."""
    from decodable.source import read_source

    source = read_source(path)
    return shared_engine().check(source.text, reader, markdown=source.markdown, target=target)


def word(text: str, accent: str = DICTIONARY_ACCENT) -> tuple[Reading, ...]:
    """Every reading of a word in an accent, its letters aligned to its sounds; the taught reading first."""
    return shared_engine().readings(text, accent)


def find_words(
    reader: Reader,
    *,
    pattern: str = "",
    place: str = "",
    family: str = "",
    shape: str = "",
    sounds: int = 0,
    word_class: str = "",
    pos: str = "",
    known: str = "",
    picture: bool = False,
    base: bool = False,
    new: bool = False,
    whole: bool = False,
    region: str = "",
    limit: int = 0,
    order: str = "clear",
) -> tuple[OfferedWord, ...]:
    """Words fit for young children that the reader can sound out, the clearest first where no order is asked for.

    The filters are those of :class:`~decodable.words.Query`; without any, all such words.
    """
    from decodable.words import Query

    query = Query(
        pattern, place, family, shape, sounds, word_class, pos, known, picture, base, new, whole, region, limit, order
    )
    return shared_engine().words(reader).find(query)


def word_chain(
    reader: Reader, *, length: int = 6, seed: int = 0, through: Iterable[str] = (), pattern: str = ""
) -> Chain:
    """Words that the reader can sound out, each one grapheme and one sound from the one before; see :mod:`chains`."""
    from decodable.chains import chain

    return chain(shared_engine().words(reader), length=length, seed=seed, through=tuple(through), pattern=pattern)


def made_up_words(reader: Reader, *, count: int = 10, seed: int = 0, pattern: str = "") -> tuple[MadeUp, ...]:
    """Legal spellings of what the reader has been taught that are no words and sound like none; see :mod:`made_up`."""
    from decodable.made_up import made_up

    return made_up(shared_engine(), reader, count=count, seed=seed, pattern=pattern or None)


def make_sort(
    reader: Reader, *, by: str = "sound", headers: Iterable[str] = (), target: Iterable[str] = (), seed: int = 0
) -> WordSort:
    """A word sort by sound, spelling or family; see :func:`decodable.sorts.word_sort`."""
    from decodable.sorts import word_sort

    return word_sort(shared_engine().words(reader), by=by, headers=headers, target=target, seed=seed)


def make_dictation(reader: Reader, *, target: Iterable[str] = (), seed: int = 0) -> Dictation:
    """Words and sentences whose spelling is settled for the reader; see :func:`decodable.dictation.dictation`."""
    from decodable.dictation import dictation

    return dictation(shared_engine(), reader, target=target, seed=seed)


def make_lesson(reader: Reader, *, target: Iterable[str] = (), seed: int = 0) -> Lesson:
    """A week's lesson for the reader's step; see :func:`decodable.lesson.lesson`."""
    from decodable.lesson import lesson

    return lesson(shared_engine(), reader, target=target, seed=seed)
