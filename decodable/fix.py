"""Fixing a word for good: how the user says it, kept in the user's own folder.

In go a word and a keyword that it rhymes with (or its sounds); out come its reading and one more line in the user's
file of pronunciations. The shipped rules stay as they are, so that the fix outlives an upgrade.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

from decodable import resources
from decodable.analysis import Analyser
from decodable.errors import DecodableError
from decodable.model import Reading, is_vowel
from decodable.private import write_private
from decodable.sounds import Dictionary, Sounds, load_corrections, parse_pronunciation

if TYPE_CHECKING:
    from decodable.engine import Engine

_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*")
_HEADER = 'title = "Pronunciations fixed on this machine"\n\n[words]\n'


def own_pronunciations() -> Path:
    """The user's file of pronunciations."""
    return resources.user_dir() / "pronunciations.toml"


def fixed(engine: Engine, word: str, *, like: str = "", sounds: str = "") -> Reading:
    """Work out, check and keep how a word is said; see :meth:`~decodable.engine.Engine.fix`."""
    key = word.strip().lower().replace("’", "'")  # noqa: RUF001
    if not _WORD.fullmatch(key):
        raise DecodableError(f"A word to fix is one word in plain letters, not {word!r}.")
    if bool(like) == bool(sounds):
        raise DecodableError(
            f'Say how {word!r} is read: like a word (--like snow) or by its sounds (--sounds "Z OW1").'
        )
    said = _said_like(engine, key, like.strip().lower()) if like else _given(key, sounds)
    reading = _aligned(engine, key, said)
    if reading is None:
        raise DecodableError(
            f"The letters of {word!r} do not explain the sounds {' '.join(said)}. Give other sounds with --sounds, or "
            f"put it among a reader's names."
        )
    keep(key, said, f"like {like}" if like else "by its sounds")
    return reading


def _given(word: str, sounds: str) -> Sounds:
    try:
        return parse_pronunciation(sounds)
    except ValueError as error:
        raise DecodableError(f"The sounds of {word!r}: {error}. Example: --sounds 'Z OW1 IY0'.") from None


def _said_like(engine: Engine, word: str, keyword: str) -> Sounds:
    """The keyword's sounds from its first vowel on, after the word's own beginning."""
    found = engine.readings(keyword)
    if not found or found[0].source == "predicted":
        raise DecodableError(f"The keyword {keyword!r} is not in the dictionary; choose a common word that rhymes.")
    rime = found[0].sounds
    first = next((i for i, s in enumerate(rime) if is_vowel(s)), len(rime))
    begin = re.match(r"(?:qu|[^aeiouy']|y(?=[aeiou]))*", word)
    letters = begin.group(0) if begin else ""
    return (*_onset(engine, letters), *rime[first:])


def _onset(engine: Engine, letters: str) -> Sounds:
    """The commonest sounds of the consonant letters that begin a word."""
    aligner = Analyser(engine.rules.inventory, engine.rules.morphology, Dictionary({}, frozenset(), {})).aligner
    out: list[str] = []
    at = 0
    while at < len(letters):
        for size in (3, 2, 1):
            options = aligner.readings_of(letters[at : at + size]) if at + size <= len(letters) else []
            spoken = [sounds for _, sounds, item in options if sounds and not item.tricky]
            if spoken:
                out.extend(spoken[0])
                at += size
                break
        else:
            at += 1
    return tuple(out)


def _aligned(engine: Engine, word: str, sounds: Sounds) -> Reading | None:
    dictionary = Dictionary({word: (sounds,)}, frozenset({word}), {})
    found = Analyser(engine.rules.inventory, engine.rules.morphology, dictionary).readings(word)
    return found[0] if found else None


def unfixed(word: str) -> None:
    """Take the word's line out of the user's file; nothing happens where it has none."""
    path = own_pronunciations()
    if path.is_file():
        text = path.read_text(encoding="utf-8")
        write_private(path, _line_of(word.strip().lower().replace("’", "'")).sub("", text))  # noqa: RUF001


def _line_of(word: str) -> re.Pattern[str]:
    return re.compile(rf'^"?{re.escape(word)}"?\s*=.*(?:\n|$)', re.MULTILINE)


def keep(word: str, sounds: Sounds, reason: str) -> None:
    """Write or replace the word's line in the user's file; the rest of the file stays as it is."""
    path = own_pronunciations()
    text = path.read_text(encoding="utf-8") if path.is_file() else _HEADER
    line = f"{json.dumps(word)} = {{ said = [{json.dumps(' '.join(sounds))}], reason = {json.dumps(reason)} }}"
    text = _line_of(word).sub("", text).rstrip("\n") + "\n" + line + "\n"
    write_private(path, text)
    load_corrections(path)
