"""Syllables and shapes: what type each syllable of a word is, how many consonants stand around its vowel.

In go aligned graphemes and morphemes; out come :class:`~decodable.model.Syllable` spans of letters and a shape such as
``CVC.CVC``. Shapes are counted on the stem, in sounds as taught: a digraph, qu, x and a vowel with its /y/ are one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from decodable.division import VOWEL_LETTERS, breaks, glide, nucleus
from decodable.model import Grapheme, Part, Syllable, bare

Stems: TypeAlias = list[tuple[list[Grapheme], Grapheme, list[Grapheme]]]


def syllabify(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> tuple[Syllable, ...]:
    """The syllables of a word; an empty tuple where it has no vowel sound."""
    centres = [g for g in graphemes if nucleus(g)]
    if not centres:
        return ()
    edges = [0, *breaks(word, graphemes, parts), len(word)]
    out: list[Syllable] = []
    for g, start, end in zip(centres, edges[:-1], edges[1:], strict=True):
        stressed = any(s[-1] in "12" for s in g.sounds)
        out.append(Syllable(start, end, _kind(g, graphemes, end), stressed))
    return tuple(out)


def _kind(g: Grapheme, graphemes: Sequence[Grapheme], end: int) -> str:
    if g.letters in ("le", "l"):
        return "-le"
    if "-" in g.pattern.split(" ")[0]:
        return "split e"
    if any(bare(s) in ("ER", "R") for s in g.sounds):
        return "r-controlled"
    if len(g.letters.strip("'")) > 1:
        return "vowel team"
    closed = any(o.at[0] > g.at[-1] and o.at[0] < end and o.sounds and not nucleus(o) for o in graphemes)
    return "closed" if closed else "open"


def stem_syllables(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> Stems:
    """Onset, vowel and coda graphemes of each syllable of the stem (suffixes and contracted endings left out)."""
    affixes = {p.name for p in parts if p.kind in ("suffix", "contraction")} | {"possessives"}
    stem = [g for g in graphemes if g.unit not in affixes]
    kept = [g for g in stem if g.sounds]
    centres = [i for i, g in enumerate(kept) if nucleus(g)]
    if not centres:
        return []
    edges = [0, *breaks(word, stem, parts), len(word)]
    silent = [g.at[0] for g in stem if not g.sounds and g.letters[0] in VOWEL_LETTERS]
    out: list[tuple[list[Grapheme], Grapheme, list[Grapheme]]] = []
    onset = kept[: centres[0]]
    for n, centre in enumerate(centres):
        last = n == len(centres) - 1
        between = kept[centre + 1 :] if last else kept[centre + 1 : centres[n + 1]]
        coda = [g for g in between if not _lost_le(g)]
        following: list[Grapheme] = []
        if not last:
            coda, following = _shared(coda, edges[n + 1], _last_before(silent, kept[centres[n + 1]]))
        out.append((onset, kept[centre], coda))
        onset = following
    return out


def _last_before(silent: Sequence[int], vowel: Grapheme) -> int:
    """The last position before a vowel of a vowel letter that is not heard; 0 where there is none."""
    return max((p for p in silent if p < vowel.at[0]), default=0) if silent else 0


def _shared(consonants: Sequence[Grapheme], edge: int, silent: int) -> tuple[list[Grapheme], list[Grapheme]]:
    """The consonants heard before and after the break at ``edge``; ``silent``: where a vowel letter is not heard, or 0.

    A letter doubled across the break, and a consonant before a vowel letter that is not heard (*gro-cery*), closes the
    syllable before it, unless another consonant does. A glide is one with the consonant that begins its syllable.
    """
    heard_edge = max(edge, silent)
    before: list[Grapheme] = []
    after: list[Grapheme] = []
    for g in consonants:
        if g.at[-1] < edge or (g.at[0] < heard_edge and not before):
            before.append(g)
        elif not (after and glide(g)):
            after.append(g)
    return before, after


def _lost_le(g: Grapheme) -> bool:
    """The l of -le whose vowel is not heard before a suffix (*handling*)."""
    return g.letters == "l" and g.note == "dropped e" and len(g.sounds) == 1


def shape_of(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> str:
    """Consonant and vowel sounds of the stem: ``CVC``, ``CCVC``, ``CVC.CVC``."""
    shapes = ["C" * len(onset) + "V" + "C" * len(coda) for onset, _, coda in stem_syllables(word, graphemes, parts)]
    return ".".join(shapes)
