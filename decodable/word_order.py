"""How lists of words are put in order: the rules of ``rules/words.toml``, read and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from decodable.model import CONSONANT_SOUNDS
from decodable.rules import expect_keys, nearest, read_toml

_POINTS = ("frequency", "early", "middle", "later", "picture", "base", "regional", "continuant")


@dataclass(frozen=True, slots=True)
class OrderRules:
    """How lists are put in order."""

    points: Mapping[str, float]
    """What each quality of a word is worth."""
    continuants: frozenset[str]
    """Sounds that can be stretched, without stress."""
    new_until: tuple[str, ...]
    """Phrases of sequences: blending is new until the first of them is taught."""


def load_order(path: Path) -> OrderRules:
    """Read and check ``rules/words.toml``."""
    file = read_toml(path)
    expect_keys(file, 1, file.data, ("title", "points", "blending"), "the order of lists")
    points, blending = file.data.get("points", {}), file.data.get("blending", {})
    expect_keys(file, file.line_of("[points]"), points, _POINTS, "[points]")
    expect_keys(file, file.line_of("[blending]"), blending, ("continuants", "new_until"), "[blending]")
    for name in _POINTS:
        if not isinstance(points.get(name), int | float):
            file.fault(file.line_of("[points]"), f"[points] needs a number for {name}")
    for sound in blending.get("continuants", ()):
        if sound not in CONSONANT_SOUNDS:
            file.fault(file.line_of("continuants"), f"{sound!r} is no consonant{nearest(sound, CONSONANT_SOUNDS)}")
    file.check()
    return OrderRules(
        MappingProxyType({k: float(v) for k, v in points.items()}),
        frozenset(blending.get("continuants", ())),
        tuple(blending.get("new_until", ())),
    )
