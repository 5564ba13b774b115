"""Word families and word sorts: words that belong together, under two to four headers, and the odd ones out.

In go a reader's :class:`~decodable.words.WordIndex` and how to sort: by sound (one spelling or vowel against another,
each with its own sound), by spelling (one sound, several spellings), by family (rimes). Out comes a :class:`WordSort`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from decodable.errors import DecodableError
from decodable.model import bare, is_vowel
from decodable.practice import Flags, distinct, drawn, patterns_of, readable, seeded, target_phrases
from decodable.practice_rules import practice_rules
from decodable.rules import nearest
from decodable.words import OfferedWord, Query, WordIndex

SOUND, SPELLING, FAMILY = "sound", "spelling", "family"
WAYS = (SOUND, SPELLING, FAMILY)


@dataclass(frozen=True, slots=True)
class Column:
    """One header with its words."""

    header: str
    """A pattern (``ai as in rain``) or a family (``-at``)."""
    words: tuple[OfferedWord, ...]
    """The words that belong there, the clearest first; the first is the key word."""


@dataclass(frozen=True, slots=True)
class WordSort:
    """A word sort."""

    by: str
    """sound, spelling or family."""
    columns: tuple[Column, ...]
    """Two to four."""
    odd: tuple[OfferedWord, ...]
    """Words that look or sound as if they belonged, and belong nowhere."""
    mixed: tuple[str, ...]
    """All the words, as the child gets them."""

    def to_dict(self) -> dict[str, Any]:
        """For machines."""
        return {
            "by": self.by,
            "columns": [{"header": c.header, "words": [w.to_dict() for w in c.words]} for c in self.columns],
            "odd": [w.to_dict() for w in self.odd],
            "mixed": list(self.mixed),
        }


def word_sort(
    index: WordIndex,
    *,
    by: str = SOUND,
    headers: Iterable[str] = (),
    target: Iterable[str] = (),
    columns: int = 0,
    seed: int = 0,
) -> WordSort:
    """A sort for a reader.

    Args:
        index: the reader's words.
        by: sound, spelling or family.
        headers: patterns, or families; where left out, those that suit the target best.
        target: what to practise; what the reader's step teaches where left out.
        columns: how many columns to choose where no headers are given; 0: as many as there are, up to the settings'.
        seed: 0 for the clearest words.

    Raises:
        DecodableError: for an unknown way or header, or where the reader has no two columns of two words.
    """
    if by not in WAYS:
        raise DecodableError(f"Sort by one of {', '.join(WAYS)}, not {by!r}{nearest(by, WAYS)}.")
    rules, given = practice_rules(), tuple(headers)
    most = rules.number("sort", "most")
    asked = len(given) or columns
    if asked and not 2 <= asked <= most:
        raise DecodableError(f"A sort has 2 to {most} headers, not {asked}.")
    choices = _given(index, by, given) if given else _choices(index, by, tuple(target))
    groups = _apart(choices)
    groups = {name: mask for name, mask in groups.items() if np.count_nonzero(mask) > 1 or given}
    chosen: dict[str, Flags] = {}
    for name, mask in groups.items():
        if given or len(chosen) < (columns or most):
            chosen[name] = mask
    count, out = rules.number("sort", "words"), []
    for name, mask in chosen.items():
        words = distinct(index.find(Query(base=by != SOUND, limit=6 * count), mask))
        out.append(Column(name, drawn(words, count, seeded(seed, "sort", name))))
    out = [column for column in out if column.words]
    if len(out) < 2:
        raise DecodableError(f"There are no two columns of words to sort by {by} at this step.")
    odd = _odd(index, by, chosen, rules.number("sort", "odd"), seed)
    mixed = sorted({w.word for c in out for w in c.words} | {w.word for w in odd})
    (seeded(seed, "mixed") or seeded(1, *mixed)).shuffle(mixed)  # type: ignore[union-attr]
    return WordSort(by, tuple(out), odd, tuple(mixed))


def _short(index: WordIndex) -> Flags:
    """Readable words of one syllable without a suffix, the ones to sort by their vowel."""
    found: Flags = readable(index) & (index.table.column("family") >= 0)
    return found


def _given(index: WordIndex, by: str, headers: Sequence[str]) -> dict[str, Flags]:
    if by == FAMILY:
        return {index.family_name(n): index.in_family(n) & readable(index) for n in map(index.family, headers)}
    phrases = [index.phrases.parse(text) for text in headers]
    return {p.text: index.using(p.patterns) & readable(index) for p in phrases}


def _choices(index: WordIndex, by: str, target: tuple[str, ...]) -> dict[str, Flags]:
    """Headers that suit the target, the best first: its own, then those most like it, the latest taught first."""
    if by == FAMILY:
        return _families(index, target, practice_rules().number("sort", "most"))
    short = _short(index)
    vowels = _vowels(index, short)
    aimed = [p for p in patterns_of(target_phrases(index, target)) if p in vowels]
    steps = {p: index.judge.now.step_of(p) for p in vowels}
    if not aimed:
        aimed = sorted(vowels, key=lambda p: (-steps[p], p))[:1]
    if by == SPELLING:
        best: list[str] = []
        for p in [*aimed, *sorted(vowels, key=lambda p: (-steps[p], p))]:
            same = [q for q in vowels if q != p and vowels[q][1] == vowels[p][1]]
            if same:
                best = [p, *sorted(same, key=lambda q: (q not in aimed, -np.count_nonzero(vowels[q][0])))]
                break
        ordered = best
    else:
        sounds = {vowels[p][1] for p in aimed[:1]}
        rest = [p for p in vowels if p not in aimed[:1]]
        spelled = vowels[aimed[0]][2] if aimed else ""
        rest.sort(
            key=lambda q: (vowels[q][2] != spelled, q not in aimed, -steps[q], -np.count_nonzero(vowels[q][0]), q)
        )
        ordered = aimed[:1]
        for q in rest:
            if vowels[q][1] not in sounds:
                sounds.add(vowels[q][1])
                ordered.append(q)
    return {p: vowels[p][0] for p in ordered if np.count_nonzero(vowels[p][0]) > 1}


def _vowels(index: WordIndex, short: Flags) -> dict[str, tuple[Flags, str, str]]:
    """Vowel patterns of the readable short words: the words, the sound and the letters of each."""
    found: dict[str, tuple[set[int], dict[str, int], str]] = {}
    for number in np.flatnonzero(short).tolist():
        for letters, _, sounds, pattern in index.table.spelled[number]:
            if any(is_vowel(s) for s in sounds):
                words, said, _ = found.setdefault(pattern, (set(), {}, letters))
                words.add(number)
                key = "+".join(bare(s) for s in sounds)
                said[key] = said.get(key, 0) + 1
    out: dict[str, tuple[Flags, str, str]] = {}
    for pattern, (words, said, letters) in found.items():
        mask = np.zeros(len(short), np.bool_)
        mask[list(words)] = True
        out[pattern] = (mask, max(said, key=lambda k: (said[k], k)), letters)
    return out


def _families(index: WordIndex, target: tuple[str, ...], most: int) -> dict[str, Flags]:
    """So many families, those with the target first, then the largest, no two that sound alike."""
    admitted = readable(index)
    numbers = index.table.column("family")
    counts = np.bincount(numbers[admitted & (numbers >= 0)], minlength=len(index.table.meta["families"]))
    step = index.judge.reader.step
    aimed = index.using(patterns_of(target_phrases(index, target))) if target or step else np.zeros_like(admitted)
    fresh = np.bincount(numbers[admitted & aimed & (numbers >= 0)], minlength=len(counts))
    order = sorted(np.flatnonzero(counts > 1).tolist(), key=lambda n: (-int(fresh[n]), -int(counts[n]), n))
    out: dict[str, Flags] = {}
    sounds: set[str] = set()
    for number in order:
        said = index.table.meta["families"][number].split("|", 1)[1]
        if said not in sounds and len(out) < most:
            sounds.add(said)
            out[index.family_name(number)] = index.in_family(number) & admitted
    return out


def _apart(groups: dict[str, Flags]) -> dict[str, Flags]:
    """The groups without the words that stand in several."""
    if not groups:
        return groups
    several = np.sum([mask.astype(np.uint8) for mask in groups.values()], axis=0) > 1
    return {name: mask & ~several for name, mask in groups.items()}


def _odd(index: WordIndex, by: str, groups: dict[str, Flags], count: int, seed: int) -> tuple[OfferedWord, ...]:
    """Words that have the letters of a header but not its sound, those taught whole among them; else words apart.

    A family's look-alike ends in its letters.
    """
    letters = [name.split(" as in ")[0].strip("-") for name in groups]
    anywhere = np.zeros(len(index.table.words), np.bool_)
    for mask in groups.values():
        anywhere |= mask
    if by != FAMILY:
        for name in groups:
            anywhere |= index.using(index.phrases.parse(name).patterns)
    known = (readable(index) | (index.whole <= index.step)) & ~anywhere & (index.table.column("syllables") == 1)
    looks = np.zeros_like(known)
    for number in np.flatnonzero(known).tolist():
        text: str = index.table.words[number]
        looks[number] = any(_looks(text, part, by) for part in letters)
    found = distinct(index.find(Query(whole=True, base=True, limit=6 * count), known & looks))
    if len(found) < count:
        found = (*found, *distinct(index.find(Query(base=True, limit=6 * count), known & ~looks & _short(index))))
    return drawn(distinct(found), count, seeded(seed, "odd"))


def _looks(word: str, letters: str, by: str) -> bool:
    if by == FAMILY:
        return word.endswith(letters) and word != letters
    first, split, last = letters.partition("-")
    if split:
        return word.endswith(last) and len(word) > 3 and word[-3] == first
    return len(letters) > 1 and letters in word
