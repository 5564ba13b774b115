"""Choose the reading of a heteronym (one spelling, two pronunciations) that a sentence calls for.

In: a rules file of heteronyms, each with its readings and the cues that point to them; then a
sentence as spaCy tokens with tags, and the place of the heteronym in it. Out: the id of one
reading, or None where nothing in the sentence tells, with the cue that decided, in words.
"""

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Literal, NamedTuple, Protocol, cast, get_args

from decodable.errors import FaultsError
from decodable.rules import read_toml

Place = Literal["after", "before", "near", "with", "written", "tagged"]
"""Where a cue looks, as seen from the heteronym: *after: to* says that it stands after *to*."""

_EDGE_ITEMS = frozenset({"START", "END", "PAUSE"})
"""Items that stand for a place instead of a word: the edges of a sentence, or any punctuation."""

_ARPABET = re.compile(
    r"(?:AA|AE|AH|AO|AW|AY|EH|ER|EY|IH|IY|OW|OY|UH|UW)[012]"
    r"|B|CH|D|DH|F|G|HH|JH|K|L|M|N|NG|P|R|S|SH|T|TH|V|W|Y|Z|ZH"
)
"""A phoneme as the CMU dictionary writes it: vowels with their stress, consonants without."""

_QUOTATION_TAGS = frozenset({"``", "''"})
"""The Penn Treebank's tags of opening and closing quotation marks."""

_QUOTATION_MARKS = frozenset(
    '"\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}\N{LEFT SINGLE QUOTATION MARK}'
)
"""Always quotation marks. The right single one may be an apostrophe: there the tag decides."""

_SENTENCE_END = re.compile(r"[.!?…]+")
_SPELLING = re.compile(r"[a-z]+")
_TAG = re.compile(r"[A-Z]{2,}\$?|-[A-Z]+-")

_PLACE_HEAD = rf"(?:not\s+)?(?:within\s+\d+\s+)?(?:{'|'.join(get_args(Place))})\s*:"
_NEXT_CONDITION = re.compile(rf"\s+and\s+(?={_PLACE_HEAD})")
_CONDITION = re.compile(
    r"(?P<negated>not\s+)?(?:within\s+(?P<reach>\d+)\s+)?"
    rf"(?P<place>{'|'.join(get_args(Place))})\s*:\s*(?P<items>.+)",
    re.DOTALL,
)


class Token(Protocol):
    """What is looked at in a token; spaCy's tokens have it."""

    @property
    def text(self) -> str:
        """The token as written."""

    @property
    def lower_(self) -> str:
        """The token in lower case."""

    @property
    def tag_(self) -> str:
        """Its Penn Treebank tag."""


class Tagged(NamedTuple):
    """A token that was tagged elsewhere."""

    text: str
    """The token as written."""
    lower_: str
    """The token in lower case."""
    tag_: str
    """Its Penn Treebank tag."""


class Tokens(Protocol):
    """A sequence of tokens, such as a spaCy Doc."""

    def __len__(self) -> int:
        """How many tokens there are."""

    def __getitem__(self, index: int, /) -> Token:
        """The token at an index."""


@dataclass(frozen=True, slots=True)
class Items:
    """What one condition looks for: any of these will do."""

    words: frozenset[str] = frozenset()
    """Whole words, in lower case (as written for the place *written*)."""
    stems: tuple[str, ...] = ()
    """Beginnings of words; the file marks them with a star, `boat*`: boat, boats, boatman."""
    tags: frozenset[str] = frozenset()
    """Penn Treebank tags."""
    edges: frozenset[str] = frozenset()
    """START, END or PAUSE."""
    phrases: tuple[tuple["Items", ...], ...] = ()
    """Several words in a row, in reading order."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that must be found, or must be absent, at one place."""

    place: Place
    """Where to look."""
    items: Items
    """What to look for."""
    reach: int | None = None
    """How many words away it may be; None: as far as the place usually looks."""
    negated: bool = False
    """Whether it must be absent."""


@dataclass(frozen=True, slots=True)
class Cue:
    """Something in the sentence that speaks for a reading or, with *never*, against it."""

    text: str
    """The cue as written in the file."""
    points: int
    """What it counts; below 0 if it speaks against the reading."""
    conditions: tuple[Condition, ...]
    """What must hold, all of it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One pronunciation of a heteronym, with its meaning."""

    id: str
    """Its name, unique within the heteronym: *past*."""
    sounds: tuple[tuple[str, ...], ...]
    """The accepted pronunciations in ARPAbet, the best first."""
    means: str
    """The meaning in plain words."""
    like: str
    """A keyword that rhymes or shares the sound: *bed*; empty if there is none."""
    tags: frozenset[str]
    """The tags that speak for it."""
    cues: tuple[Cue, ...]
    """The cues that speak for or against it."""


@dataclass(frozen=True, slots=True)
class Guide:
    """How cues are read, the same for all the words of a file."""

    tag_points: int
    """What the tag counts for a reading that has it among its tags."""
    passed_over: frozenset[str]
    """The tags of words that *after* and *before* look past (adverbs, *not*)."""
    near: int
    """How many words to each side *near* looks."""
    tag_names: Mapping[str, str] = field(hash=False)
    """Each tag in words, for the explanations."""


@dataclass(frozen=True, slots=True)
class Heteronym:
    """A spelling with two readings or more."""

    word: str
    """The spelling, in lower case."""
    readings: tuple[Reading, ...]
    """The readings in the order of the file."""
    default: str | None
    """The id of the reading that is taken when nothing tells; None: it can't be told then."""
    form_of: str | None
    """The word whose form it is (*live* for *lives*), or None."""
    guide: Guide
    """How its cues are read."""

    def reading(self, reading_id: str) -> Reading:
        """The reading that has this id."""
        for reading in self.readings:
            if reading.id == reading_id:
                return reading
        ids = [reading.id for reading in self.readings]
        raise ValueError(f"{self.word}: {_expected('the id of a reading', reading_id, ids)}")


@dataclass(frozen=True, slots=True)
class Choice:
    """What was chosen, and why."""

    reading: str | None
    """The id of the reading; None if it can't be told."""
    why: str
    """What decided, in words."""


# Choosing


def choose(heteronym: Heteronym, tokens: Tokens, index: int) -> Choice:
    """Choose the reading that the sentence calls for where the heteronym stands at `index`.

    Each cue that holds gives its points to its reading, and so does the tag; the reading with
    the most points is chosen. If none is ahead, the default is, and without one nothing is.
    """
    totals: list[int] = []
    reasons: list[str] = []
    found_any = False
    for reading in heteronym.readings:
        evidence = list(_evidence(heteronym.guide, reading, tokens, index))
        found_any = found_any or bool(evidence)
        totals.append(sum(points for points, _ in evidence))
        points, reason = max(evidence, key=lambda item: item[0], default=(0, ""))
        reasons.append(reason if points > 0 else "")
    top = max(totals)
    if totals.count(top) == 1:
        winner = totals.index(top)
        return Choice(heteronym.readings[winner].id, reasons[winner] or "the cues rule out any other reading")
    silence = "the cues are balanced" if found_any else "nothing in the sentence tells"
    level = {reading.id for reading, total in zip(heteronym.readings, totals, strict=True) if total == top}
    if heteronym.default not in level:
        return Choice(None, silence)
    return Choice(heteronym.default, f"{silence}, and this reading is the usual one")


def _evidence(guide: Guide, reading: Reading, tokens: Tokens, index: int) -> Iterator[tuple[int, str]]:
    """The points for and against a reading, each with what was found, in the file's order."""
    for cue in reading.cues:
        found = _holds(cue, guide, tokens, index)
        if found is not None:
            yield cue.points, found
    tag = tokens[index].tag_
    if tag in reading.tags:
        yield guide.tag_points, f"tagged {tag}, {guide.tag_names.get(tag, tag)}"


def _holds(cue: Cue, guide: Guide, tokens: Tokens, index: int) -> str | None:
    """What was found, in words, if all conditions of the cue hold; else None."""
    parts: list[str] = []
    for condition in cue.conditions:
        found = _found(condition, guide, tokens, index)
        if condition.negated == (found is not None):
            return None
        if found is not None:
            parts.append(found)
    return " and ".join(parts) or cue.text


def _found(condition: Condition, guide: Guide, tokens: Tokens, index: int) -> str | None:
    """What is found at the condition's place, in words; None if nothing is."""
    items, token = condition.items, tokens[index]
    match condition.place:
        case "written":
            return f"written “{token.text}”" if token.text in items.words else None
        case "tagged":
            return f"tagged {token.tag_}" if token.tag_ in items.tags else None
        case "after" | "before":
            return _found_beside(condition, guide, tokens, index)
        case "near":
            reach = guide.near if condition.reach is None else condition.reach
            return _found_around(condition, tokens, index, reach, across=True)
        case "with":
            reach = len(tokens) if condition.reach is None else condition.reach
            return _found_around(condition, tokens, index, reach, across=False)


def _found_beside(condition: Condition, guide: Guide, tokens: Tokens, index: int) -> str | None:
    """What is found walking back (*after*) or on (*before*) from the heteronym."""
    items = condition.items
    step = -1 if condition.place == "after" else 1
    edge = "START" if step < 0 else "END"
    position, walked = index, 0
    while True:
        position += step
        if _is_edge(tokens, position):
            if items.edges & {edge, "PAUSE"}:
                return f"at the {edge.lower()} of its sentence"
            return None
        token = tokens[position]
        if token.text.isspace():
            continue
        if "PAUSE" in items.edges and not _has_letters(token):
            return f"{condition.place} a pause"
        found = _matched(items, tokens, position, step)
        if found is not None:
            return f"{condition.place} “{found}”"
        walked += 1
        if condition.reach is None:
            if token.tag_ not in guide.passed_over:
                return None
        elif walked >= condition.reach:
            return None


def _found_around(condition: Condition, tokens: Tokens, index: int, reach: int, *, across: bool) -> str | None:
    """What is found nearest on either side; past the sentence's edges only if `across`."""
    for step in (-1, 1):
        for distance in range(1, reach + 1):
            position = index + step * distance
            if not 0 <= position < len(tokens) or (not across and _is_edge(tokens, position)):
                break
            found = _matched(condition.items, tokens, position, step)
            if found is not None:
                return f"{condition.place} “{found}”"
    return None


def _matched(items: Items, tokens: Tokens, position: int, step: int) -> str | None:
    """The word found at `position`, or the phrase that begins (going back: ends) there."""
    token = tokens[position]
    if _fits(items, token):
        return token.text
    for phrase in items.phrases:
        if not _fits(phrase[0 if step > 0 else -1], token):
            continue
        first = position if step > 0 else position - len(phrase) + 1
        places = range(first, first + len(phrase))
        if all(_fits_at(part, tokens, at) for part, at in zip(phrase, places, strict=True)):
            return " ".join(tokens[at].text for at in places if not _is_edge(tokens, at))
    return None


def _fits_at(items: Items, tokens: Tokens, position: int) -> bool:
    """Whether what stands at `position` is one of the items; START and END fit an edge."""
    if _is_edge(tokens, position):
        return bool(items.edges)
    return _fits(items, tokens[position])


def _fits(items: Items, token: Token) -> bool:
    """Whether the token by itself is one of the items."""
    lower = token.lower_
    return lower in items.words or token.tag_ in items.tags or (bool(items.stems) and lower.startswith(items.stems))


def _is_edge(tokens: Tokens, position: int) -> bool:
    """Whether a sentence stops here: no text, its last mark, a quotation mark, an empty line."""
    if not 0 <= position < len(tokens):
        return True
    token = tokens[position]
    return (
        token.tag_ in _QUOTATION_TAGS
        or token.text in _QUOTATION_MARKS
        or token.text.count("\n") > 1
        or _SENTENCE_END.fullmatch(token.text) is not None
    )


def _has_letters(token: Token) -> bool:
    return any(character.isalnum() for character in token.text)


# Reading the rules file


class _Faults:
    """The faults found so far, each with the line of the file that it is on."""

    def __init__(self, path: Path, source: str) -> None:
        self._path = path
        self._lines = source.splitlines()
        self.found: list[str] = []

    def add(self, section: str, message: str, at: object = "") -> None:
        """Note a fault in a section; `at` is the text at fault, by which its line is found."""
        line = self._line(section, str(at))
        place = f"{self._path}:{line}" if line else str(self._path)
        fault = f"{place}: {section}: {message}" if section else f"{place}: {message}"
        if fault not in self.found:
            self.found.append(fault)

    def _line(self, section: str, at: str) -> int | None:
        header = re.compile(rf"\s*\[+\s*{re.escape(section)}\s*[\].]")
        first: int | None = None
        inside = False
        for number, line in enumerate(self._lines, start=1):
            if line.lstrip().startswith("["):
                inside = header.match(line.replace('"', "")) is not None
                if inside and first is None:
                    first = number
            if inside and at and at in line:
                return number
        return first


@dataclass(frozen=True, slots=True)
class _Kind:
    """Tags and cues that many readings share, with the kind that each ending makes of it."""

    tags: frozenset[str]
    cues: tuple[Cue, ...]
    forms: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Language:
    """What the cues of a file may use: its points, lists, tags and kinds."""

    guide: Guide
    points: Mapping[str, int]
    lists: Mapping[str, Items]
    kinds: Mapping[str, _Kind]


def load(path: Path) -> Mapping[str, Heteronym]:
    """Read a file of heteronyms; its words and their forms, in lower case, are the keys.

    A :class:`FaultsError` lists all the faults of the file, one a line.
    """
    file = read_toml(path)
    source, data = file.text, file.data
    faults = _Faults(path, source)
    for key in ("title", "origin"):
        _text(data.pop(key, None), "", key, faults)
    language = _read_guide(data.pop("guide", None), faults)
    heteronyms: dict[str, Heteronym] = {}
    for word, entry in data.items():
        for heteronym in _read_entry(word, entry, language, faults):
            if heteronym.word in heteronyms:
                faults.add(word, f"expected {heteronym.word!r} once in the file, got it again")
            heteronyms[heteronym.word] = heteronym
    if faults.found:
        raise FaultsError(faults.found)
    return MappingProxyType(heteronyms)


def _read_guide(raw: object, faults: _Faults) -> _Language:
    table = _table(raw, "guide", faults)
    _check_keys(table, ("points", "passed_over", "near", "tags", "lists", "kinds"), "guide", faults)
    tag_names = {
        tag: _text(name, "guide.tags", tag, faults)
        for tag, name in _table(table.get("tags"), "guide.tags", faults).items()
    }
    points = {
        name: _number(value, "guide.points", name, faults)
        for name, value in _table(table.get("points"), "guide.points", faults).items()
    }
    guide = Guide(
        tag_points=_number(points.pop("tag", None), "guide.points", "tag", faults),
        passed_over=_tags(table.get("passed_over"), tag_names, "guide", "passed_over", faults),
        near=_number(table.get("near"), "guide", "near", faults),
        tag_names=MappingProxyType(tag_names),
    )
    lists: dict[str, Items] = {}
    language = _Language(guide, points, lists, {})
    for name, words in _table(table.get("lists"), "guide.lists", faults).items():
        text = ", ".join(_strings(words, "guide.lists", name, faults))
        lists[name] = _parse_items(text, language, "guide.lists", faults)
    raw_kinds = _table(table.get("kinds"), "guide.kinds", faults)
    kinds: dict[str, _Kind] = {}
    for name, value in raw_kinds.items():
        section = f"guide.kinds.{name}"
        kind = _table(value, section, faults)
        _check_keys(kind, ("tags", "cues", "forms"), section, faults)
        forms = _table(kind.get("forms", {}), section, faults)
        for form in forms.values():
            if form not in raw_kinds:
                faults.add(section, _expected("a kind", form, raw_kinds), form)
        kinds[name] = _Kind(
            tags=_tags(kind.get("tags", []), tag_names, section, "tags", faults),
            cues=_read_cues(kind.get("cues", []), language, section, faults),
            forms={ending: str(form) for ending, form in forms.items()},
        )
    return _Language(guide, points, lists, kinds)


def _read_entry(word: str, raw: object, language: _Language, faults: _Faults) -> Iterator[Heteronym]:
    """The heteronym of an entry, then its forms."""
    entry = _table(raw, word, faults)
    _check_keys(entry, ("default", "reading", "forms"), word, faults)
    raw_readings = entry.get("reading")
    if not isinstance(raw_readings, list) or len(raw_readings) < 2:
        faults.add(word, f"expected [[{word}.reading]] twice or more, got {raw_readings!r:.40}")
        return
    tables = [_table(item, word, faults) for item in raw_readings]
    readings = [_read_reading(table, language, word, faults) for table in tables]
    ids = [reading.id for reading in readings]
    for again in sorted({name for name in ids if ids.count(name) > 1}):
        faults.add(word, f"expected each id once in a word, got {again!r} again", f'"{again}"')
    default = entry.get("default")
    if default not in (*ids, ""):
        faults.add(word, _expected('the id of a reading, or "", as default', default, ids), "default")
    usual = str(default) if default else None
    spellings: dict[str, list[Reading]] = {word: readings}
    for form, raw_sounds in _table(entry.get("forms", {}), word, faults).items():
        sounds = _table(raw_sounds, word, faults)
        if sorted(sounds) != sorted(ids):
            wanted = ", ".join(ids)
            faults.add(word, f"{form}: expected sounds of {wanted}, got {', '.join(sounds)}", form)
            continue
        if not form.startswith(word):
            faults.add(word, f"expected forms that begin with {word!r}, got {form!r}", form)
            continue
        spellings[form] = [
            _read_form(
                {**table, "id": name, "sounds": sounds[name]},
                form.removeprefix(word),
                language,
                word,
                faults,
            )
            for table, name in zip(tables, ids, strict=True)
        ]
    for spelling, readings in spellings.items():
        if not _SPELLING.fullmatch(spelling):
            faults.add(word, f"expected a word in small letters, got {spelling!r}", spelling)
        form_of = None if spelling == word else word
        yield Heteronym(spelling, tuple(readings), usual, form_of, language.guide)


def _read_form(table: Mapping[str, object], ending: str, language: _Language, word: str, faults: _Faults) -> Reading:
    """The reading of a form: like that of its word, but of the kinds that the ending makes."""
    named = _strings(table.get("kind", []), word, "kind", faults)
    kinds: list[str] = []
    for name in named:
        target = language.kinds[name].forms.get(ending) if name in language.kinds else None
        if target is not None and target not in kinds:
            kinds.append(target)
    if named and not kinds:
        faults.add(word, f"expected a kind with a form in {ending!r}, got {', '.join(named)}")
    return _read_reading({**table, "kind": kinds, "tags": []}, language, word, faults)


def _read_reading(table: Mapping[str, object], language: _Language, word: str, faults: _Faults) -> Reading:
    _check_keys(table, ("id", "sounds", "means", "like", "kind", "tags", "cues"), word, faults)
    sounds: list[tuple[str, ...]] = []
    for pronunciation in _strings(table.get("sounds"), word, "sounds", faults):
        phonemes = tuple(pronunciation.split())
        for phoneme in phonemes:
            if not _ARPABET.fullmatch(phoneme):
                faults.add(
                    word,
                    f"expected ARPAbet such as 'R EH1 D', got {phoneme!r}",
                    f'"{pronunciation}"',
                )
        sounds.append(phonemes)
    if not sounds or not all(sounds):
        faults.add(word, 'expected sounds = "..." in ARPAbet, got none')
    kinds: list[_Kind] = []
    named = _strings(table.get("kind", []), word, "kind", faults)
    for name in named:
        if name in language.kinds:
            kinds.append(language.kinds[name])
        else:
            faults.add(word, _expected("a kind", name, language.kinds), name)
    own = _tags(table.get("tags", []), language.guide.tag_names, word, "tags", faults)
    return Reading(
        id=_text(table.get("id", next(iter(named), None)), word, "id", faults),
        sounds=tuple(sounds),
        means=_text(table.get("means"), word, "means", faults),
        like=str(table.get("like", "")),
        tags=own.union(*(kind.tags for kind in kinds)),
        cues=_read_cues(table.get("cues", []), language, word, faults)
        + tuple(cue for kind in kinds for cue in kind.cues),
    )


def _read_cues(raw: object, language: _Language, section: str, faults: _Faults) -> tuple[Cue, ...]:
    cues: list[Cue] = []
    for text in _strings(raw, section, "cues", faults):
        strength, _, rest = text.strip().partition(" ")
        if strength not in language.points:
            message = _expected("a cue that opens with its strength", strength, language.points)
            faults.add(section, message, text)
            continue
        conditions: list[Condition] = []
        for part in _NEXT_CONDITION.split(rest.strip()):
            match = _CONDITION.fullmatch(part)
            if match is None:
                faults.add(section, _expected("a place and ':'", part, get_args(Place)), text)
                continue
            place = cast(Place, match["place"])
            if place == "written":
                words = frozenset(item.strip() for item in match["items"].split(","))
                items = Items(words=words)
            else:
                items = _parse_items(match["items"], language, section, faults)
            reach = int(match["reach"]) if match["reach"] else None
            conditions.append(Condition(place, items, reach, match["negated"] is not None))
        cues.append(Cue(text, language.points[strength], tuple(conditions)))
    return tuple(cues)


def _parse_items(text: str, language: _Language, section: str, faults: _Faults) -> Items:
    """Items between commas: a word, `stem*`, TAG, START, END, PAUSE, @list, or several in a row."""
    single: list[Items] = []
    phrases: list[tuple[Items, ...]] = []
    for item in text.split(","):
        parts = [_parse_item(part, language, section, faults, text) for part in item.split()]
        if not parts:
            faults.add(section, f"expected a word between commas, got nothing in {text!r}", text)
        elif len(parts) == 1:
            single.append(parts[0])
        elif any(part.phrases for part in parts):
            faults.add(section, f"expected no list of phrases inside a phrase, got {item!r}", text)
        else:
            phrases.append(tuple(parts))
    return Items(
        words=frozenset().union(*(part.words for part in single)),
        stems=tuple(stem for part in single for stem in part.stems),
        tags=frozenset().union(*(part.tags for part in single)),
        edges=frozenset().union(*(part.edges for part in single)),
        phrases=tuple(phrase for part in single for phrase in part.phrases) + tuple(phrases),
    )


def _parse_item(item: str, language: _Language, section: str, faults: _Faults, text: str) -> Items:
    if item.startswith("@"):
        if item[1:] not in language.lists:
            faults.add(section, _expected("a list", item[1:], language.lists), text)
        return language.lists.get(item[1:], Items())
    if item in _EDGE_ITEMS:
        return Items(edges=frozenset({item}))
    if _TAG.fullmatch(item):
        if item not in language.guide.tag_names:
            names = (*language.guide.tag_names, *sorted(_EDGE_ITEMS))
            faults.add(section, _expected("a tag", item, names), text)
        return Items(tags=frozenset({item}))
    if item.endswith("*"):
        return Items(stems=(item.removesuffix("*").lower(),))
    return Items(words=frozenset({item.lower()}))


# Checking single values; each notes a fault and goes on with an empty value


def _table(raw: object, section: str, faults: _Faults) -> dict[str, object]:
    if not isinstance(raw, dict):
        faults.add(section, f"expected a table, got {raw!r}")
        return {}
    return raw


def _text(raw: object, section: str, key: str, faults: _Faults) -> str:
    if not isinstance(raw, str) or not raw:
        faults.add(section, f'expected {key} = "...", got {raw!r}', key)
        return ""
    return raw


def _number(raw: object, section: str, key: str, faults: _Faults) -> int:
    if not isinstance(raw, int) or isinstance(raw, bool):
        faults.add(section, f"expected {key} = a whole number, got {raw!r}", key)
        return 0
    return raw


def _strings(raw: object, section: str, key: str, faults: _Faults) -> list[str]:
    """A list of strings; a single string counts as a list of one."""
    items = [raw] if isinstance(raw, str) else raw
    if not isinstance(items, list) or not all(isinstance(item, str) for item in items):
        faults.add(section, f'expected {key} = ["...", ...], got {raw!r}', key)
        return []
    return items


def _tags(raw: object, tag_names: Mapping[str, str], section: str, key: str, faults: _Faults) -> frozenset[str]:
    tags = _strings(raw, section, key, faults)
    for tag in tags:
        if tag not in tag_names:
            faults.add(section, _expected("a tag", tag, tag_names), tag)
    return frozenset(tags)


def _check_keys(table: Mapping[str, object], known: tuple[str, ...], section: str, faults: _Faults) -> None:
    for key in table:
        if key not in known:
            faults.add(section, _expected("a key", key, known), key)


def _expected(what: str, got: object, choices: Iterable[str]) -> str:
    """What was expected and what came, with the nearest of the valid choices."""
    names = list(choices)
    nearest = difflib.get_close_matches(str(got), names) or names[:8]
    return f"expected {what} ({', '.join(nearest)}), got {got!r}"
