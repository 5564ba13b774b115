"""Compiling the dictionary: every word aligned, laid out in the columns that :mod:`decodable.lexicon` reads.

In go the rules and the source dictionary; out come arrays. The whole takes half a minute and is kept in the cache
folder; a page can be checked meanwhile with its own words alone compiled (:func:`words_of_a_page`).
"""

from __future__ import annotations

import gc
import json
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from decodable import resources
from decodable.accents import Aligned, accent_codes, changed, load_accent
from decodable.analysis import Analyser
from decodable.errors import DecodableError
from decodable.heteronyms import Heteronym
from decodable.heteronyms import load as load_heteronyms
from decodable.lexicon import (
    FORMAT,
    PHONEME_CODES,
    Lexicon,
    NeedNumbering,
    Numbering,
    Rules,
    as_bytes,
    load_rules,
    parts_text,
    read_columns,
    rules_digest,
    save_lexicon,
)
from decodable.model import Reading
from decodable.morphology import joins
from decodable.patterns import needs_of, teaching
from decodable.prediction import train
from decodable.sounds import Dictionary, corrected, load_corrections, source_frequencies, source_pronunciations

CACHED = "lexicon.npz"
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*")
# Seconds after which a compilation that has not ended is taken for broken off.
_LONGEST = 300


def make_analyser(rules: Rules, dictionary: Dictionary) -> Analyser:
    """An analyser for a dictionary."""
    return Analyser(rules.inventory, rules.morphology, dictionary)


def source_dictionary(rules: Rules, folder: Path | None = None) -> Dictionary:
    """The corrected dictionary, read from the source packages."""
    folder = folder or resources.rules_dir()
    source = source_pronunciations()
    corrections = load_corrections(folder / "pronunciations.toml")
    frequency = source_frequencies({**source, **corrections.said})
    contracted = rules.morphology.names["'s"].after if "'s" in rules.morphology.names else frozenset()
    return corrected(source, frequency, corrections, contracted)


@contextmanager
def _without_collection() -> Iterator[None]:
    """Without the search for unreachable cycles, which finds none here and takes an eighth of the time."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


@_without_collection()
def compile_lexicon(
    folder: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    *,
    only: Iterable[str] | None = None,
) -> dict[str, npt.NDArray[Any]]:
    """Align the dictionary and lay it out in columns.

    Args:
        folder: the folder of the rules.
        progress: told (words done, words in all).
        only: these words, and those that they are built on, in place of the whole dictionary; nothing is then learned
            for guessing other words.
    """
    rules = load_rules(folder)
    dictionary = source_dictionary(rules, folder)
    analyser = make_analyser(rules, dictionary)
    folder = folder or resources.rules_dir()
    heteronyms = load_heteronyms(folder / "heteronyms.toml")
    build = _Columns(rules)
    words = {*dictionary.pronunciations, *heteronyms}
    if only is not None:
        words &= _with_bases(only, analyser)
        said = {word: dictionary.pronunciations[word] for word in sorted(words) if word in dictionary.pronunciations}
        dictionary = replace(dictionary, pronunciations=said)
    total = len(words)
    for done, word in enumerate(sorted(words)):
        if word in heteronyms:
            readings = _senses(analyser, heteronyms[word])
        else:
            source = "correction" if word in dictionary.corrected else "dictionary"
            # Syllables and shapes are drawn anew when a word is shown: needs do not hang on them.
            readings = tuple(Reading(word, a.sounds, source, a.graphemes, a.parts) for a in analyser.analysed(word))
        if readings and len(word) <= 64:
            build.add(word, dictionary.frequency.get(word, 0.0), readings)
        if progress is not None and done % 2000 == 0:
            progress(done, total)
    for code in accent_codes(folder)[1:]:
        build.add_accent(code, _in_accent(code, folder, rules, dictionary, analyser, heteronyms))
    return build.finish(rules_digest(folder), learn=only is None)


def _with_bases(words: Iterable[str], analyser: Analyser) -> set[str]:
    """The words, those that they are built on, and for a word that the dictionary lacks all that it may be built on."""
    known = analyser.dictionary.pronunciations
    found, left = set[str](), set(words)
    while left:
        word = left.pop()
        if word in found:
            continue
        found.add(word)
        if word in known:
            left.update(part.name for a in analyser.analysed(word) for part in a.parts if part.kind == "base")
            continue
        plain = word.replace("'", "")
        left.update(piece for k in range(1, len(plain)) for piece in (plain[:k], plain[k:]) if piece in known)
        for affix in analyser.morphology.suffixes:
            left.update(join.base for join in joins(plain, affix) if join.base in known)
    return found


def _in_accent(
    code: str,
    folder: Path,
    rules: Rules,
    dictionary: Dictionary,
    analyser: Analyser,
    heteronyms: Mapping[str, Heteronym],
) -> Iterator[tuple[str, tuple[Reading, ...]]]:
    """The words that an accent says otherwise, with their readings."""

    def aligned(word: str) -> list[Aligned]:
        return [(a.graphemes, a.parts) for a in analyser.analysed(word)]

    said = changed(load_accent(folder / "accents" / f"{code}.toml"), dictionary, aligned)
    pronunciations = {**dictionary.pronunciations, **said}
    other = Analyser(
        rules.inventory,
        rules.morphology,
        Dictionary(pronunciations, dictionary.corrected, dictionary.frequency),
        lambda word: analyser.analysed(word) if word not in said else None,
    )
    for word in sorted(said):
        readings = () if word in heteronyms else other.analysed(word)
        if readings:
            yield word, tuple(Reading(word, a.sounds, "dictionary", a.graphemes, a.parts) for a in readings)


def _senses(analyser: Analyser, heteronym: Heteronym) -> tuple[Reading, ...]:
    """The readings of a heteronym as its rule file states them, each with its sense."""
    out: list[Reading] = []
    for sense in heteronym.readings:
        for sounds in sense.sounds:
            found = analyser.analyse_as(heteronym.word, sounds)
            if found is not None:
                out.append(
                    Reading(heteronym.word, found.sounds, "correction", found.graphemes, found.parts, sense=sense.id)
                )
    return tuple(out)


class _Columns:
    """Grows the columns word by word."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.needs = NeedNumbering()
        self.patterns: Numbering[str] = Numbering()
        self.notes: Numbering[str] = Numbering()
        self.units: Numbering[str] = Numbering()
        self.senses: Numbering[str] = Numbering()
        self.heteronyms: list[str] = []
        self.firsts: list[tuple[Reading, float]] = []
        _ = self.senses[""]
        self.codes = {sound: code for code, sound in enumerate(PHONEME_CODES)}
        self.words: list[str] = []
        self.frequency: list[float] = []
        self.corrected: list[bool] = []
        self.parts: list[str] = []
        self.starts: dict[str, list[int]] = {k: [0] for k in ("word", "need", "grapheme", "sound")}
        self.accents: dict[str, tuple[int, int]] = {}
        self.accent_words: list[int] = []
        self.accent_starts: list[int] = []
        self.rows: dict[str, list[int]] = {
            k: [] for k in ("need_of", "at", "pattern", "count", "note", "unit", "sound", "sense")
        }

    def add(self, word: str, frequency: float, readings: Sequence[Reading]) -> None:
        """One word."""
        self.words.append(word)
        self.frequency.append(frequency)
        self.corrected.append(readings[0].source == "correction")
        self.firsts.append((readings[0], frequency))
        if any(r.sense for r in readings):
            self.heteronyms.append(word)
        self._add_readings(readings)
        self.starts["word"].append(len(self.parts))

    def add_accent(self, code: str, words: Iterable[tuple[str, Sequence[Reading]]]) -> None:
        """Words as another accent says them; all words of the dictionary must stand already."""
        number = {word: n for n, word in enumerate(self.words)}
        begin = len(self.accent_words)
        for word, readings in words:
            if word in number:
                self.accent_words.append(number[word])
                self.accent_starts.append(len(self.parts))
                self._add_readings(readings)
        self.accents[code] = (begin, len(self.accent_words))

    def _add_readings(self, readings: Sequence[Reading]) -> None:
        rows, starts = self.rows, self.starts
        for reading in readings:
            rows["sense"].append(self.senses[reading.sense])
            self.parts.append(parts_text(reading.parts))
            for need in needs_of(reading, self.rules.inventory, self.rules.patterns.endings):
                rows["need_of"].append(self.needs[need])
            for g in reading.graphemes:
                rows["at"].append(sum(1 << p for p in g.at))
                rows["pattern"].append(self.patterns[g.pattern])
                rows["count"].append(len(g.sounds))
                rows["note"].append(self.notes[g.note])
                rows["unit"].append(self.units[g.unit])
                rows["sound"].extend(self.codes[s] for s in g.sounds)
            starts["need"].append(len(rows["need_of"]))
            starts["grapheme"].append(len(rows["at"]))
            starts["sound"].append(len(rows["sound"]))

    def finish(self, digest: str, *, learn: bool) -> dict[str, npt.NDArray[Any]]:
        """The columns as arrays, with what is learned for guessing words."""
        needs = self.needs.table()
        meta = {
            "format": FORMAT,
            "digest": digest,
            "patterns": list(self.patterns),
            "notes": list(self.notes),
            "units": list(self.units),
            "senses": list(self.senses),
            "heteronyms": self.heteronyms,
            "accents": self.accents,
            "names": needs.names,
            "gates": needs.gates,
            "teaching": teaching(self.rules.inventory, self.rules.morphology, self.rules.patterns).to_json(),
        }
        rows = self.rows
        return {
            **(train(self.firsts) if learn else {}),
            "meta": as_bytes(json.dumps(meta, ensure_ascii=False, separators=(",", ":"))),
            "words": as_bytes("\n".join(self.words)),
            "frequency": np.array(self.frequency, np.float32),
            "corrected": np.array(self.corrected, np.bool_),
            "parts": as_bytes("\n".join(self.parts)),
            "word_start": np.array(self.starts["word"], np.int32),
            "accent_word": np.array(self.accent_words, np.int32),
            "accent_start": np.array([*self.accent_starts, len(self.parts)], np.int32),
            "need_start": np.array(self.starts["need"], np.int32),
            "grapheme_start": np.array(self.starts["grapheme"], np.int32),
            "sound_start": np.array(self.starts["sound"], np.int32),
            "need_of": np.array(rows["need_of"], np.int32),
            "need_pattern": needs.pattern,
            "need_schwa": needs.schwa,
            "need_gate": needs.gate,
            "need_shape": needs.shape,
            "need_unit_start": needs.unit_start,
            "need_unit": needs.unit,
            "grapheme_at": np.array(rows["at"], np.uint64),
            "grapheme_pattern": np.array(rows["pattern"], np.uint16),
            "grapheme_sounds": np.array(rows["count"], np.uint8),
            "grapheme_note": np.array(rows["note"], np.uint8),
            "grapheme_unit": np.array(rows["unit"], np.uint8),
            "sound": np.array(rows["sound"], np.uint8),
            "sense": np.array(rows["sense"], np.uint16),
        }


def ready_lexicon() -> Lexicon | None:
    """The compiled dictionary for the rules as they stand, shipped or cached; ``None`` where there is none yet."""
    digest = rules_digest()
    for path in (resources.built(CACHED), resources.cache_dir() / CACHED):
        columns = read_columns(path)
        if columns is not None:
            found = Lexicon(columns)
            if found.meta.get("format") == FORMAT and found.meta.get("digest") == digest:
                return found
    return None


def open_lexicon(progress: Callable[[int, int], None] | None = None) -> Lexicon:
    """The compiled dictionary for the rules as they stand: shipped, cached, or compiled now and cached."""
    ready = ready_lexicon()
    if ready is not None:
        return ready
    arrays, path = compile_lexicon(progress=progress), resources.cache_dir() / CACHED
    try:
        save_lexicon(arrays, path)
    except OSError as error:
        raise DecodableError(f"Cannot keep the compiled dictionary in {path}: {error}. Set DECODABLE_HOME.") from None
    return Lexicon(arrays)


# ---------------------------------------------------------------------- a page, while the dictionary is compiled
def page_lexicon(texts: Iterable[str]) -> Lexicon:
    """The words of some texts alone, with every word that the rules and sequences name. A second or two."""
    rules, own = resources.rules_dir(), resources.user_dir() / "sequences"
    names = ("correspondences.toml", "patterns.toml")
    files = [*(rules / name for name in names), *(rules / "sequences").glob("*.toml"), *own.glob("*")]
    named = (path.read_text(encoding="utf-8-sig", errors="replace") for path in files)
    words = {word for text in (*texts, *named) for word in _WORD.findall(text.lower().replace("\u2019", "'"))}
    pieces = {piece for word in words for piece in word.split("'")}
    return Lexicon(compile_lexicon(only=words | pieces))


def compile_in_background() -> None:
    """Compile the whole dictionary in a process of its own, unless one is at it."""
    lock = resources.cache_dir() / "compiling"
    lock.parent.mkdir(parents=True, exist_ok=True)
    if lock.is_file() and time.time() - lock.stat().st_mtime < _LONGEST:
        return
    lock.write_text("", encoding="utf-8")
    quiet = subprocess.DEVNULL
    command = [sys.executable, "-m", "decodable", "compile"]
    subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True)


def compiled() -> None:
    """Say that the dictionary has been compiled."""
    (resources.cache_dir() / "compiling").unlink(missing_ok=True)
