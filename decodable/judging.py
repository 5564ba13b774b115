"""From taught steps to readable steps: one vectorised pass over any table of readings.

In go the needs of readings and what a sequence (with a reader's exceptions) teaches at which step; out comes, for each
need, reading and word, the number of the first step at which it can be read, or :data:`NEVER`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from decodable.lexicon import NeedTable, Table
from decodable.patterns import Teaching
from decodable.sequence import Sequence

# Larger than any step number, and small enough to be added to.
NEVER = 30_000
_MOST = 5
Steps = npt.NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Taught:
    """When each pattern opens. 0: known before the first step."""

    unit: Mapping[str, int]
    """Listed steps of correspondences, affixes, endings and rimes, as units."""
    sound: Mapping[str, int]
    """Correspondences with what implies them."""
    gate: Mapping[str, int]
    """Listed gates, opened for unlisted members of the family by the last listed one."""
    families: Mapping[str, int]
    """Families that gate: the step of their last listed member."""
    allow: bool
    """Whether unstressed vowels are let pass."""

    def step_of(self, pattern: str) -> int:
        """First step at which a pattern, of whatever kind, counts as taught."""
        return min(self.sound.get(pattern, NEVER), self.gate.get(pattern, NEVER), self.unit.get(pattern, NEVER))


def taught(
    sequence: Sequence,
    teaching: Teaching,
    *,
    extra: Iterable[str] = (),
    insecure: Iterable[str] = (),
    unstressed: str | None = None,
) -> Taught:
    """When everything opens in a sequence, for a reader.

    Args:
        sequence: the sequence.
        teaching: what implies what, and the families.
        extra: names of patterns that the reader knows beside the sequence.
        insecure: names of patterns that count as not taught.
        unstressed: allow or strict, in place of the sequence's own.
    """
    not_secure = frozenset(insecure)
    listed = dict(sequence.taught)
    known = {**listed, **dict.fromkeys(extra, 0)}
    for name in not_secure:
        known.pop(name, None)
    sound = _implied(known, teaching)
    for name in not_secure:
        sound.pop(name, None)
    gate: dict[str, int] = {}
    families: dict[str, int] = {}
    for family in teaching.families:
        steps = [listed[m] for m in family.members if m in listed]
        if not steps:
            continue
        families[family.name] = max(steps)
        for member in family.members:
            gate[member] = min(known.get(member, listed.get(member, families[family.name])), NEVER)
            if member in not_secure:
                gate[member] = NEVER
    allow = (unstressed or sequence.unstressed) == "allow"
    return Taught(known, sound, gate, families, allow)


def _implied(known: Mapping[str, int], teaching: Teaching) -> dict[str, int]:
    """Steps of correspondences, with groups and implications followed until nothing changes."""
    sound = dict(known)
    changed = True
    while changed:
        changed = False
        for members in teaching.groups.values():
            first = min((known.get(m, NEVER) for m in members), default=NEVER)
            for member in members:
                if first < sound.get(member, NEVER):
                    sound[member], changed = first, True
        for pattern, sources in teaching.implied_by.items():
            first = min(sound.get(s, NEVER) for s in sources)
            if first < sound.get(pattern, NEVER):
                sound[pattern], changed = first, True
    return sound


def need_steps(needs: NeedTable, taught: Taught) -> Steps:
    """The step at which each need is met; int32, shape [needs]."""
    if not len(needs.pattern):
        return np.zeros(0, np.int32)
    sound = _by_number(needs, taught.sound, NEVER)
    unit = _by_number(needs, taught.unit, NEVER)
    gate = _gate_steps(needs, taught)
    steps = sound[needs.pattern]
    owners = needs.has_units
    if len(owners):
        by_unit = np.minimum.reduceat(unit[needs.unit], needs.unit_start[owners])
        steps[owners] = np.minimum(steps[owners], by_unit)
    if taught.allow:
        steps = np.minimum(steps, sound[needs.schwa])
    is_gate = needs.gate >= 0
    steps[is_gate] = gate[needs.gate[is_gate]]
    is_shape = needs.shape[:, 0] >= 0
    steps[is_shape] = _shape_steps(needs.shape[is_shape], gate, taught)
    return steps


def _by_number(needs: NeedTable, steps: Mapping[str, int], otherwise: int) -> Steps:
    """Steps by the numbers of the table; the last entry, which no number names, stands for -1."""
    out = np.full(len(needs.names) + 1, otherwise, np.int32)
    for name, step in steps.items():
        number = needs.numbers.get(name)
        if number is not None:
            out[number] = step
    out[-1] = NEVER
    return out


def _gate_steps(needs: NeedTable, taught: Taught) -> Steps:
    """An unlisted member waits for the last listed one of its family; an ungated family holds nothing back."""
    out = _by_number(needs, {}, 0)
    for family, numbers in needs.families.items():
        out[numbers] = taught.families.get(family, 0)
    for name, step in taught.gate.items():
        number = needs.numbers.get(name)
        if number is not None:
            out[number] = step
    return out


def _shape_steps(shapes: Steps, gate: Steps, taught: Taught) -> Steps:
    """Steps of shapes [n,4]; a taught blend counts as one consonant of the shape it makes."""
    if "shapes" not in taught.families:
        return np.zeros(len(shapes), np.int32)
    grid = np.full((_MOST + 1, _MOST + 1), NEVER, np.int32)
    for name, step in taught.unit.items():
        if name and not name.strip("CV") and name.count("V") == 1:
            rows, columns = (min(len(part), _MOST) + 1 for part in name.split("V"))
            grid[:rows, :columns] = np.minimum(grid[:rows, :columns], step)
    grid = np.minimum(grid, np.where(grid == NEVER, taught.families["shapes"], grid))
    before, after = (np.minimum(shapes[:, k], _MOST) for k in (0, 1))
    first = _blend_steps(shapes[:, 2], gate, taught, ("initial blends", "three-letter blends"))
    last = _blend_steps(shapes[:, 3], gate, taught, ("final blends",))
    one_before, one_after = np.minimum(before, 1), np.minimum(after, 1)
    out = grid[before, after]
    out = np.minimum(out, np.maximum(grid[one_before, after], first))
    out = np.minimum(out, np.maximum(grid[before, one_after], last))
    both: Steps = np.maximum(grid[one_before, one_after], np.maximum(first, last))
    return np.minimum(out, both, dtype=np.int32)


def _blend_steps(numbers: Steps, gate: Steps, taught: Taught, families: tuple[str, ...]) -> Steps:
    if not any(f in taught.families for f in families):
        return np.full(len(numbers), NEVER, np.int32)
    return np.where(numbers >= 0, gate[numbers], NEVER).astype(np.int32)


def reading_steps(table: Table, by_need: Steps) -> Steps:
    """The step at which each reading can be sounded out; int32, shape [readings]."""
    if len(table.need_start) < 2:
        return np.zeros(0, np.int32)
    return np.maximum.reduceat(by_need[table.need_of], table.need_start[:-1])


def word_steps(table: Table, by_reading: Steps) -> Steps:
    """The step at which the easiest reading of each word can be sounded out; int32, shape [words]."""
    out = np.full(len(table.word_start) - 1, NEVER, np.int32)
    owners = np.flatnonzero(np.diff(table.word_start))
    if len(owners):
        out[owners] = np.minimum.reduceat(by_reading, table.word_start[owners])
    return out
