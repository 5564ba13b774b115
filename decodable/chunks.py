"""Chunks of a text, cut into words and marks: in goes a run of characters without white space, out come its pieces.

Each *distinct* chunk is looked at once: spaCy's tokenizer finds addresses and emoticons in it, the rest is cut by what
its characters are, so that *can't* and *boys'* stay whole and *daisy-chain* and *_very_* come apart. Each piece gets a
kind and a key.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from decodable.rules import nearest, read_toml

_LONG = 100  # longest chunk that spaCy sees: its time grows with the square of the length
_APOSTROPHES = "'\u2019\u02bc\u2018\u201b\uff07\u2032`\u00b4"
_STRAIGHT = {ord(mark): "'" for mark in _APOSTROPHES}
_OPENING, _CLOSING = "'\u2018\u201b`", "'\u2019\u00b4"  # as quotation marks
_CLASSES = {  # characters whose class is not that of their Unicode category
    **dict.fromkeys(_APOSTROPHES, "'"), **dict.fromkeys('"\u201e\u201a', '"'), "*": "_", "_": "_",
    "!": "!", "?": "!", "\u203d": "!", ".": ".", "\u2026": "e", ",": ",", ":": ":", "/": "/",
    "\u2044": "/", "\u2212": "-", "\u20e3": "k",
}  # fmt: skip
_CATEGORIES = {
    "Lu": "A", "Lt": "A", "L": "a", "M": "m", "Cf": "m", "N": "9", "Pd": "-", "Pi": '"', "Pf": '"',
    "Ps": "(", "Pe": "(", "S": "s",
}  # fmt: skip
_WORD = re.compile(r"[aA][aAm]*(?:'m*[aA][aAm]*)*")
_PIECE = re.compile(  # over classes: A a letters, m marks, 9 digits, $ % & symbols, k keycap ...
    rf"""(?xs)
    (?P<picture> [9_$]m*k | s[sm]* )
  | (?P<numeral> '99a(?![aAm9']) | [$]?9[9m]*(?:[.:/]9+|,999(?!9))*(?:'?[aA]{{1,3}}(?![aAm9]))?%? )
  | (?P<dotted> (?<![aA9m'])
        (?:(?:a\.){{2,}}(?:a(?![aAm']))? | (?:A\.){{2,}}(?:A(?![aAm']))? | (?:a\.a|A\.A)(?![aAm'.]))
        (?:'a(?![aAm]))? )
  | (?P<word> {_WORD.pattern} )
  | (?P<symbol> [$%&](?![$%&]) ) | (?P<quote> ['"(] ) | (?P<mark> _+ ) | (?P<dots> e[.e]*|\.[.e]+ )
  | (?P<end> !+|\. ) | (?P<lead> -+|[,:] ) | (?P<other> [$%&]+|. )
    """
)
_READ = frozenset(["numeral", "dotted", "word", "symbol", "address"])  # the other groups are silent
_ROMAN = re.compile(r"(?=..)M{0,4}(?:CM|CD|D?C{0,3})(?:XC|XL|L?X{0,3})(?:IX|IV|V?I{0,3})")
END, DOTS, QUOTE, LEAD = 1, 2, 3, 4  # what a piece means for the start of a sentence
_ROLES = {"end": END, "dots": DOTS, "quote": QUOTE, "lead": LEAD}
OPENS, CLOSES = 1, 2  # what a single quotation mark does
_TABLES = (
    *("symbols", "numerals", "abbreviations", "abbreviations_with_stop"),
    *("initialisms", "apostrophes", "addresses"),
)
_Pieces = list[tuple[int, int, str]]  # start and end in the chunk, and group
_Atoms = dict[int, tuple[int, str]]  # start to end and group of what stays whole


class Kind(IntEnum):
    """What a token is. All up to ``SYMBOL`` are read, and count as words of the text."""

    WORD = 0
    NUMERAL = 1
    INITIALISM = 2
    ABBREVIATION = 3
    SYMBOL = 4
    PUNCTUATION = 5
    SPACE = 6
    MARKUP = 7


@dataclass(frozen=True, slots=True)
class Type:
    """All tokens that look alike."""

    text: str
    """As it stands in the text, without markup inside."""
    key: str
    """What is looked up: small letters, composed, ligatures unfolded, apostrophes ``'``, without
    soft hyphens, zero-width characters and the stop of an abbreviation."""
    kind: Kind
    """Never ``SPACE``."""
    capital: bool
    """Whether its first letter is a capital."""
    spoken: str
    """How an abbreviation or symbol is read, where the rules say; else empty."""


@dataclass(frozen=True, slots=True)
class TextRules:
    """The facts of ``rules/text.toml``; its comments say more."""

    symbols: Mapping[str, str]
    """Symbol to its spoken form."""
    before: frozenset[str]
    """Symbols that join the numeral behind them."""
    after: frozenset[str]
    """Symbols that join the numeral in front of them."""
    not_roman: frozenset[str]
    """Capitals that look like a Roman numeral and are none."""
    abbreviations: Mapping[str, str]
    """Every accepted form, stop included, to its spoken form."""
    initialisms: frozenset[str]
    """Those that no rule finds."""
    letters: frozenset[str]
    """Single capitals that are words."""
    stopped_letters: frozenset[str]
    """Those that are words even before a full stop."""
    vowels: frozenset[str]
    """Capital vowel letters."""
    noises: frozenset[str]
    """Words in capitals without a vowel letter."""
    apostrophes: frozenset[str]
    """Words that begin or end with an apostrophe."""
    endings: tuple[str, ...]
    """Of web addresses."""


@lru_cache(maxsize=4)
def load_text_rules(path: Path) -> TextRules:
    """Read the rules; raises :class:`FaultsError` with every fault as ``file:line: what``."""
    file = read_toml(path)
    for name in (name for name in file.data if name not in (*_TABLES, "title")):
        line = file.line_of(name)
        file.fault(line, f"unknown entry {name!r}{nearest(name, _TABLES)}")
    for name in _TABLES:
        if not isinstance(file.data.get(name), dict):
            file.fault(1, f"expected a table [{name}], got {file.data.get(name)!r}")

    def table(name: str) -> dict[str, Any]:
        found = file.data.get(name)
        return found if isinstance(found, dict) else {}

    def fault(name: str, key: str, expected: str) -> None:
        line = file.line_of(key, "=", start=(file.header_lines(name) or [1])[0])
        file.fault(line, f"expected {expected}, got {table(name).get(key)!r}")

    def spoken(name: str) -> dict[str, str]:
        for key, value in table(name).items():
            if not isinstance(value, str):
                fault(name, key, f"how {key!r} is read, in quotes")
        return {key: str(value) for key, value in table(name).items()}

    def words(name: str, key: str) -> list[str]:
        found = table(name).get(key, [] if name not in file.data else None)
        if isinstance(found, list) and all(isinstance(word, str) for word in found):
            return found
        fault(name, key, f"a list of words, each in quotes, as {key} in [{name}]")
        return []

    bare = spoken("abbreviations")
    bare |= {key.upper(): value for key, value in bare.items() if key[:1].isupper()}
    stopped = bare | spoken("abbreviations_with_stop")
    rules = TextRules(
        symbols=spoken("symbols"),
        before=frozenset(words("numerals", "before")),
        after=frozenset(words("numerals", "after")),
        not_roman=frozenset(words("numerals", "not_roman")),
        abbreviations=bare | {f"{key}.": value for key, value in stopped.items()},
        initialisms=frozenset(words("initialisms", "listed")),
        letters=frozenset(words("initialisms", "words")),
        stopped_letters=frozenset(words("initialisms", "words_with_stop")),
        vowels=frozenset(words("initialisms", "vowels")),
        noises=frozenset(words("initialisms", "noises")),
        apostrophes=frozenset(words("apostrophes", "words")),
        endings=tuple(words("addresses", "endings")),
    )
    file.check()
    return rules


def key_of(text: str) -> str:
    """The form under which a word is looked up; see :attr:`Type.key`."""
    key = _normal(text).lower()
    return key if key.isascii() else unicodedata.normalize("NFC", key)


def _normal(text: str) -> str:
    """Composed, ligatures unfolded, apostrophes straight, what has no width left out."""
    if not text.isascii():
        text = text.replace("\u00b4", "'")  # NFKC would make it a space and an accent
        kept = (c for c in text if unicodedata.category(c) != "Cf" and not "\ufe00" <= c <= "\ufe0f")
        text = unicodedata.normalize("NFKC", "".join(kept))
    return text.translate(_STRAIGHT)


class _Classes(dict[int, str]):
    """Code point to the class that ``_PIECE`` sees, worked out when first met."""

    def __init__(self, rules: TextRules) -> None:
        symbols = dict.fromkeys(rules.symbols, "&") | dict.fromkeys(rules.before, "$")
        known = symbols | dict.fromkeys(rules.after, "%") | _CLASSES
        super().__init__({ord(char): sort for char, sort in known.items()})

    def __missing__(self, code: int) -> str:
        category = unicodedata.category(chr(code))
        found = _CATEGORIES.get(category) or _CATEGORIES.get(category[0], "p")
        return self.setdefault(code, found)


class Chunk(NamedTuple):
    """One distinct chunk: a row of columns."""

    size: int  # code points
    first: int  # its first piece
    pieces: int  # how many
    mark: int  # what its first single quotation mark does: OPENS, CLOSES or 0
    last_mark: int  # and its last
    other: int  # the chunk that it is if a mark behind an s is an apostrophe, or -1
    bare: bool  # that mark ends it
    reads: bool  # its first piece is read


class Cutter:
    """Cuts each distinct chunk into pieces; ``ids`` gives a chunk its number."""

    def __init__(self, rules: TextRules) -> None:
        self.ids: dict[str, int] = {}
        self.chunks: list[Chunk] = []
        self.pieces: list[tuple[int, int, int]] = []  # start in the chunk, size, type
        self.types: list[Type] = []
        self.roles: list[tuple[int, bool]] = []  # of types; and whether the first letter is small
        self._rules = rules
        self._type_ids: dict[str, int] = {}
        self._classes = _Classes(rules)
        endings = "|".join(map(re.escape, rules.endings))
        self._address = re.compile(
            r"(?:https?://|www\.)\S+|[\w.+-]+@[\w-]+(?:\.[\w-]+)+"
            rf"|(?:[\w-]+\.)+(?:{endings})(?:/\S*)?",
            re.IGNORECASE,
        )

    def learn(self, chunks: Iterable[str]) -> None:
        """Take in the chunks that are new."""
        fresh = [chunk for chunk in dict.fromkeys(chunks) if chunk not in self.ids]
        # spaCy can't take lone surrogates, which are not printable, nor long chunks in good time.
        asked = [c for c in fresh if not _letters(c) and len(c) <= _LONG and c.isprintable()]
        atoms = self._atoms(asked)
        for chunk in fresh:
            pieces, unsure = self._cut(chunk, atoms.get(chunk, {}), possessive=False)
            other = -1
            if unsure:
                others, _ = self._cut(chunk, atoms.get(chunk, {}), possessive=True)
                other = self._store(chunk, others, set(), -1)
            self.ids[chunk] = self._store(chunk, pieces, unsure, other)

    def _atoms(self, chunks: list[str]) -> dict[str, _Atoms]:
        """spaCy's tokens that stay whole in each chunk: emoticons and addresses."""
        atoms: dict[str, _Atoms] = {}
        if not chunks:
            return atoms
        tokenizer = _tokenizer()
        doc = tokenizer(" ".join(chunks))
        orth, length, space = doc.to_array(["ORTH", "LENGTH", "SPACY"]).T  # uint64
        kinds, which = np.unique(orth, return_inverse=True)
        groups: list[str] = []
        for text in (doc.vocab.strings[kind] for kind in kinds.tolist()):
            smiles = len(text) > 1 and text[0] in ":;<" and text in tokenizer.rules
            groups.append("face" if smiles else "address" if self._address.fullmatch(text) else "")
        ends = np.cumsum(length + space) - space
        owners = np.array([len(chunk) + 1 for chunk in chunks]).cumsum()
        for hit in np.flatnonzero(np.array([group != "" for group in groups])[which]).tolist():
            end, size = int(ends[hit]), int(length[hit])
            owner = int(np.searchsorted(owners, end))
            chunk = chunks[owner]
            end -= int(owners[owner]) - len(chunk) - 1
            atoms.setdefault(chunk, {})[end - size] = end, groups[which[hit]]
        return atoms

    def _cut(self, chunk: str, atoms: _Atoms, *, possessive: bool) -> tuple[_Pieces, set[int]]:
        """The pieces of a chunk; and where a mark stands that may close a quotation or else be the
        apostrophe of a possessive (``boys'``), which ``possessive`` decides."""
        if _letters(chunk):
            return [(0, len(chunk), "word")], set()
        shape = chunk.translate(self._classes)
        known = self._rules.apostrophes
        pieces: _Pieces = []
        unsure: set[int] = set()
        at = 0
        while at < len(chunk):
            later = [start for start in atoms if start > at] if atoms else ()
            limit = min(later, default=len(chunk))
            found = _PIECE.match(shape, at, limit)
            assert found is not None  # its last alternative takes anything
            end, group = atoms.get(at, (found.end(), str(found.lastgroup)))
            if group == "quote" and (word := _WORD.match(shape, at + 1)) and shape[at] == "'":
                for stop in (min(word.end() + 1, len(chunk)), word.end()):  # 'n' before 'n
                    if key_of(chunk[at:stop]) in known:
                        end, group = stop, "word"
                        break
            elif group == "word" and shape.startswith("'", end):
                if key_of(chunk[at : end + 1]) in known:
                    end += 1
                elif chunk[end - 1] in "sS" and shape[at - 1 : at] != "'":
                    unsure.add(end)
                    end += possessive
            elif group == "word" and shape.startswith(".", end) and self._stopped(chunk, at, end):
                end += 1
            pieces.append((at, end, group))
            at = end
        return pieces, unsure

    def _stopped(self, chunk: str, at: int, end: int) -> bool:
        """Whether the full stop behind a word belongs to it, as in *Mr.* or the initial *J.*"""
        if end - at > 1:
            known = chunk[at : end + 1] in self._rules.abbreviations
        else:
            known = chunk[at].isupper() and chunk[at] not in self._rules.stopped_letters
        return known and not chunk.startswith("..", end) and chunk[at - 1 : at] not in ("-", ".")

    def _store(self, chunk: str, pieces: _Pieces, unsure: set[int], other: int) -> int:
        """Add a chunk and its pieces; its number."""
        read = [False, *(group in _READ for _, _, group in pieces), False]
        marks: list[int] = []
        for n, (start, end, group) in enumerate(pieces):
            if group == "quote" and start not in unsure:
                if chunk[start] in _OPENING and read[n + 2] and not read[n]:
                    marks.append(OPENS)
                elif chunk[start] in _CLOSING and n:
                    marks.append(CLOSES)
            self.pieces.append((start, end - start, self._type_id(chunk[start:end], group)))
        first = len(self.pieces) - len(pieces)
        mark, last_mark = (marks[0], marks[-1]) if marks else (0, 0)
        bare = len(chunk) - 1 in unsure
        row = Chunk(len(chunk), first, len(pieces), mark, last_mark, other, bare, read[1])
        self.chunks.append(row)
        return len(self.chunks) - 1

    def _type_id(self, text: str, group: str) -> int:
        """The number of a type, which is new if its text is."""
        number = self._type_ids.setdefault(text, len(self.types))
        if number == len(self.types):
            kind = self._kind(text, group)
            key = key_of(text) if group in ("word", "dotted") else text
            if kind in (Kind.ABBREVIATION, Kind.INITIALISM):
                key = key.removesuffix(".")
            rules = self._rules
            spoken = rules.abbreviations.get(text, "") or rules.symbols.get(text, "")
            letter = next(filter(str.isalpha, text), "")
            self.types.append(Type(text, key, kind, letter.isupper(), spoken))
            self.roles.append((_ROLES.get(group, 0), letter.islower()))
        return number

    def _kind(self, text: str, group: str) -> Kind:
        if group in ("word", "dotted"):
            return self._word_kind(text, dotted=group == "dotted")
        if group in ("symbol", "address"):
            return Kind.SYMBOL
        if group == "numeral":
            return Kind.NUMERAL
        return Kind.MARKUP if group == "mark" else Kind.PUNCTUATION

    def _word_kind(self, text: str, *, dotted: bool) -> Kind:
        """An abbreviation, initialism or Roman numeral, or else a word."""
        rules = self._rules
        if text in rules.abbreviations:
            return Kind.ABBREVIATION
        if dotted or text in rules.initialisms:
            return Kind.INITIALISM
        if text.islower():
            return Kind.WORD
        whole = _normal(text)
        base = re.sub(r"'?s$", "", whole)  # TVs, TV's
        if base in rules.initialisms:
            return Kind.INITIALISM
        if not base.isupper() or not base.isascii():
            return Kind.WORD
        if len(base) < 3 and len(base.rstrip(".")) == 1:  # a letter: B, J., B's; but not As
            letter = whole != base + "s" and whole not in rules.letters
            return Kind.INITIALISM if letter else Kind.WORD
        if _ROMAN.fullmatch(base) and base not in rules.not_roman:
            return Kind.NUMERAL
        noise = base in rules.noises or re.search(r"(.)\1\1", base)
        if noise or not rules.vowels.isdisjoint(base):
            return Kind.WORD
        return Kind.INITIALISM


def _letters(chunk: str) -> bool:
    """Whether a chunk is one word, whatever a tokenizer says."""
    return chunk.isascii() and chunk.isalpha()


@lru_cache(maxsize=1)
def _tokenizer() -> Any:
    import spacy  # half a second: only when there is a text to cut

    return spacy.blank("en").tokenizer
