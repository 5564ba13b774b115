"""Aligning the letters of a morpheme with its sounds: a dynamic program over the inventory.

In go lower-case letters and phonemes; out comes the cheapest division into graphemes, or ``None`` where the inventory
has none. Costs are small whole numbers by how common a correspondence is, so a tie is a real tie; it goes to fewer
graphemes, then to the longer grapheme at the first difference from the left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeAlias

from decodable.inventory import Inventory
from decodable.model import VOWEL_SOUNDS, Correspondence, Grapheme

VOWEL_LETTERS = frozenset("aeiouy")
# Steps between the classes are wide enough that no chain of common graphemes outweighs one odd one, and a letter
# without a sound costs more than any spoken correspondence of the same class.
COST = {"main": 10, "often": 13, "some": 18, "rare": 30, "odd": 45}
SILENT_COST = {"some": 40, "rare": 46, "odd": 52}
# A split digraph inside a morpheme (an affix or compound that nothing else told).
INNER_SPLIT_COST = 22
# A correspondence where it does not usually stand (*gentleman*): tried only for a word that has no other division.
OUT_OF_PLACE_COST = 60
_MAX_LETTERS = 4
_MAX_SOUNDS = 3


@dataclass(frozen=True, slots=True)
class _Option:
    cost: int
    item: Correspondence


_Table: TypeAlias = dict[str, dict[tuple[str, ...], tuple[_Option, ...]]]
_Steps: TypeAlias = tuple[tuple[Correspondence, tuple[int, ...], int], ...]
_Step: TypeAlias = tuple[tuple[int, int, int], int, int, _Steps]


def _stressed(sounds: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Every stress marking that a sound of the inventory admits."""

    def forms(sound: str) -> tuple[str, ...]:
        if sound[-1] == "0":
            return (sound,)
        if sound[-1] == "1":
            return (sound, sound[:-1] + "2")
        if sound[-1] == "2":
            return (sound,)
        return (sound + "0", sound + "1", sound + "2") if sound in VOWEL_SOUNDS else (sound,)

    return [tuple(choice) for choice in product(*(forms(s) for s in sounds))]


def _touches(following: str, groups: Sequence[str]) -> bool:
    """Whether the letters that follow begin with one of the groups."""
    for group in groups:
        if group == "vowel":
            if following and following[0] in VOWEL_LETTERS:
                return True
        elif group == "consonant":
            if following and following[0] not in VOWEL_LETTERS:
                return True
        elif group == "end":
            if not following:
                return True
        elif following.startswith(group):
            return True
    return False


class Aligner:
    """The inventory made ready for lookup by letters and sounds."""

    def __init__(self, inventory: Inventory) -> None:
        table: dict[str, dict[tuple[str, ...], list[_Option]]] = {}
        split: dict[str, dict[tuple[str, ...], list[_Option]]] = {}
        for item in inventory.correspondences:
            silent = item.sounds == ((),)
            option = _Option((SILENT_COST if silent else COST)[item.use], item)
            goal, key = (split, item.letters[0]) if item.split else (table, item.letters)
            for sounds in item.sounds:
                for form in _stressed(sounds):
                    goal.setdefault(key, {}).setdefault(form, []).append(option)
        self._table: _Table = _frozen(table)
        self._split: _Table = _frozen(split)

    def align(
        self, letters: str, sounds: Sequence[str], *, suffix: bool = False, anywhere: bool = False
    ) -> tuple[Grapheme, ...] | None:
        """The best division of one morpheme.

        Args:
            letters: lower-case letters, no apostrophe.
            sounds: phonemes with stress digits.
            suffix: whether the morpheme is a suffix, which opens the correspondences kept for suffixes.
            anywhere: whether a correspondence may stand where the inventory does not expect it, at a price.

        Returns:
            Graphemes whose positions count from 0 in ``letters`` and whose sounds join to ``sounds``; ``None`` where
            no division exists.
        """
        length, said = len(letters), tuple(sounds)
        best: list[dict[int, _Step]] = [{} for _ in range(length + 1)]
        best[0][0] = ((0, 0, 0), -1, -1, ())
        for i in range(length):
            if not best[i]:
                continue
            spans = [
                (i + size, table)
                for size in range(1, min(_MAX_LETTERS, length - i) + 1)
                if (table := self._table.get(letters[i : i + size])) is not None
            ]
            inner = self._inner(letters, i) if letters[i] in self._split else ()
            for j, state in best[i].items():
                key = state[0]
                for count in range(min(_MAX_SOUNDS, len(said) - j) + 1):
                    chunk = said[j : j + count]
                    for end, table in spans:
                        options = table.get(chunk)
                        if options is None:
                            continue
                        found = _fitting(options, letters, i, end, suffix)
                        extra = 0
                        if found is None and anywhere:
                            found = next((o for o in options if o.item.where != "suffix"), None)
                            extra = OUT_OF_PLACE_COST
                        if found is not None:
                            steps = ((found.item, tuple(range(i, end)), count),)
                            _offer(best, end, j + count, key, found.cost + extra, end - i, i, j, steps)
                    if count and inner:
                        options = self._split[letters[i]].get(chunk)
                        if options is not None:
                            for middle in inner:
                                self._offer_split(best, letters, said, i, j, count, options[0], middle, key)
        if len(said) not in best[length]:
            return None
        return _trace(best, letters, said)

    def cost(self, graphemes: Sequence[Grapheme]) -> int:
        """What a division costs: lower is more usual."""
        total = 0
        for g in graphemes:
            table = self._split if "-" in g.letters else self._table
            options = table.get(g.letters[0] if "-" in g.letters else g.letters, {}).get(g.sounds, ())
            total += next((o.cost for o in options if o.item.pattern == g.pattern), 100)
        return total

    def single(self, letters: str, sounds: tuple[str, ...], *, suffix: bool = False) -> Correspondence | None:
        """The commonest correspondence of these letters with these sounds, wherever it may stand."""
        options = self._table.get(letters, {}).get(sounds, ())
        if not suffix:
            options = tuple(o for o in options if o.item.where != "suffix")
        return options[0].item if options else None

    def readings_of(self, letters: str) -> list[tuple[int, tuple[str, ...], Correspondence]]:
        """All sounds of a grapheme (a split digraph as ``"a-e"``) as (cost, sounds, correspondence), cheapest first."""
        table = self._split if "-" in letters else self._table
        found = table.get(letters[0] if "-" in letters else letters, {})
        rows = [(o.cost, sounds, o.item) for sounds, options in found.items() for o in options]
        return sorted(rows, key=lambda row: (row[0], row[1]))

    def _inner(self, letters: str, i: int) -> tuple[tuple[tuple[int, int], ...], ...]:
        """Consonant letters that may stand inside a split digraph at ``i``: each a tuple of (start, end) graphemes."""
        found: list[tuple[tuple[int, int], ...]] = []
        for size in (1, 2, 3):
            e = i + 1 + size
            if e < len(letters) and letters[e] == "e":
                piece = letters[i + 1 : e]
                if any(c in VOWEL_LETTERS and not (c == "u" and size > 1) for c in piece):
                    continue
                if e + 1 < len(letters) and letters[e + 1] in VOWEL_LETTERS:
                    continue
                if (size == 1 and piece not in "xwy") or (
                    size > 1 and piece in self._table and piece not in _NOT_INNER
                ):
                    found.append(((i + 1, e),))
                if piece == "st":
                    found.append(((i + 1, i + 2), (i + 2, e)))
        return tuple(found)

    def _offer_split(
        self,
        best: list[dict[int, _Step]],
        letters: str,
        said: tuple[str, ...],
        i: int,
        j: int,
        count: int,
        vowel: _Option,
        middle: tuple[tuple[int, int], ...],
        key: tuple[int, int, int],
    ) -> None:
        cost, at = vowel.cost, j + count
        steps: list[tuple[Correspondence, tuple[int, ...], int]] = []
        e = middle[-1][1]
        steps.append((vowel.item, (i, e), count))
        for start, end in middle:
            options = self._table.get(letters[start:end], {}).get(said[at : at + 1])
            found = _fitting(options, letters, start, end, False) if options else None
            if found is None:
                return
            cost += found.cost
            steps.append((found.item, tuple(range(start, end)), 1))
            at += 1
        if e + 1 < len(letters):
            cost += INNER_SPLIT_COST
        _offer(best, e + 1, at, key, cost, 2, i, j, tuple(steps))


# Two letters that no teacher would show between the vowel and the e of one split digraph.
_NOT_INNER = frozenset({"st", "ck", "ng", "mb", "mn", "bt", "ft", "lk", "wh", "qu", "gu", "dg", "tch"})


def _frozen(table: dict[str, dict[tuple[str, ...], list[_Option]]]) -> _Table:
    return {
        letters: {sounds: tuple(sorted(options, key=_rank)) for sounds, options in found.items()}
        for letters, found in table.items()
    }


def _rank(option: _Option) -> tuple[int, bool]:
    """Cheapest first; among equals the one that states where it stands."""
    item = option.item
    return option.cost, not (item.where or item.before or item.after or item.not_before or item.not_after)


def _fitting(options: tuple[_Option, ...], letters: str, start: int, end: int, suffix: bool) -> _Option | None:
    return next((o for o in options if fits(o.item, letters, start, end, suffix=suffix)), None)


def fits(item: Correspondence, letters: str, start: int, end: int, *, suffix: bool = False) -> bool:
    """Whether a correspondence may stand at these letters of a morpheme, by its place and its neighbours."""
    if item.where and not _stands(item.where, start, end, len(letters), suffix):
        return False
    if item.before and not _touches(letters[end:], item.before):
        return False
    if item.after and not letters[:start].endswith(item.after):
        return False
    if item.not_before and _touches(letters[end:], item.not_before):
        return False
    return not (item.not_after and letters[:start].endswith(item.not_after))


def _stands(where: str, start: int, end: int, length: int, suffix: bool) -> bool:
    match where:
        case "start":
            return start == 0
        case "end":
            return end == length
        case "not-start":
            return start > 0
        case "not-end":
            return end < length
        case _:
            return suffix


def _offer(
    best: list[dict[int, _Step]],
    end: int,
    at: int,
    key: tuple[int, int, int],
    cost: int,
    size: int,
    i: int,
    j: int,
    steps: tuple[tuple[Correspondence, tuple[int, ...], int], ...],
) -> None:
    """Keep the step if it is cheaper, or as cheap with fewer graphemes, or longer from the left."""
    new = (key[0] + cost, key[1] + len(steps), key[2] * 8 + 7 - size)
    old = best[end].get(at)
    if old is None or new < old[0]:
        best[end][at] = (new, i, j, steps)


def _trace(best: list[dict[int, _Step]], letters: str, said: tuple[str, ...]) -> tuple[Grapheme, ...]:
    i, j = len(letters), len(said)
    out: list[Grapheme] = []
    while i > 0:
        _, before_i, before_j, steps = best[i][j]
        at = before_j
        group: list[Grapheme] = []
        for item, positions, count in steps:
            shown = item.letters if item.split else letters[positions[0] : positions[-1] + 1]
            group.append(Grapheme(shown, positions, said[at : at + count], item.pattern))
            at += count
        out[:0] = group
        i, j = before_i, before_j
    return tuple(out)
