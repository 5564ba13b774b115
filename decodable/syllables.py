"""Syllables and shapes: where a word divides, what type each syllable is, how many consonants stand around its vowel.

In go aligned graphemes and morphemes; out come :class:`~decodable.model.Syllable` spans of letters and a shape such as
``CVC.CVC``. Shapes are counted on the stem, in sounds as taught: a digraph, qu, x and a vowel with its /y/ are one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeAlias

from decodable.model import Grapheme, Part, Syllable, bare

# Pairs that begin an English syllable, so that they stay together after an open first syllable (common knowledge).
_ONSETS = frozenset(
    [
        "bl",
        "br",
        "cl",
        "cr",
        "dr",
        "dw",
        "fl",
        "fr",
        "gl",
        "gr",
        "kl",
        "kr",
        "pl",
        "pr",
        "qu",
        "sc",
        "sk",
        "sl",
        "sm",
        "sn",
        "sp",
        "st",
        "sw",
        "tr",
        "tw",
        "thr",
        "shr",
        "phr",
        "chr",
        "str",
        "spr",
        "spl",
        "scr",
        "squ",
    ]
)
Stems: TypeAlias = list[tuple[list[Grapheme], Grapheme, list[Grapheme]]]
_LONG = frozenset({"EY", "IY", "AY", "OW", "UW", "AW", "OY"})


def nucleus(g: Grapheme) -> bool:
    """Whether the grapheme holds a vowel sound."""
    for sound in g.sounds:  # noqa: SIM110 (asked for every grapheme of the dictionary)
        if sound[-1] in "012":
            return True
    return False


def _letters_end(g: Grapheme) -> int:
    return (g.at[0] if "-" in g.letters else g.at[-1]) + 1


def _seams(parts: Sequence[Part]) -> set[int]:
    at, out = 0, set()
    for part in parts[:-1]:
        at += len(part.text)
        out.add(at)
    return out


def _vowel_suffix(parts: Sequence[Part], seam: int) -> bool:
    at = 0
    for part in parts:
        if at == seam:
            return part.kind in ("suffix", "contraction") and part.text[:1] in "aeiouy'" and part.text not in ("s",)
        at += len(part.text)
    return False


def breaks(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> list[int]:
    """Letter positions at which a new syllable begins (the first, 0, left out)."""
    ordered = sorted((g for g in graphemes if g.at), key=lambda g: g.at[0])
    centres = [i for i, g in enumerate(ordered) if nucleus(g)]
    seams = _seams(parts)
    out: list[int] = []
    for left, right in pairwise(centres):
        out.append(_break_between(ordered, left, right, seams, parts))
    return out


def _break_between(ordered: Sequence[Grapheme], left: int, right: int, seams: set[int], parts: Sequence[Part]) -> int:
    vowel, following = ordered[left], ordered[right]
    low, high = _letters_end(vowel), following.at[0]
    inner = [g for g in ordered[left + 1 : right] if g.sounds]
    for seam in sorted(seams):
        if low <= seam <= high and not (_vowel_suffix(parts, seam) and seam < high):
            doubled = next((g for g in inner if g.note == "doubling" and g.at[-1] == seam - 1), None)
            return doubled.at[-1] if doubled else seam
    if not inner:
        return high
    if following.letters == "le" and len(following.sounds) == 2:
        last = inner[-1]
        if len(last.letters) == 2 and last.letters[0] == last.letters[1]:
            return last.at[-1]
        if last.letters == "st":  # cas-tle: the t that is not heard begins the last syllable
            return last.at[-1]
        return _letters_end(last) if last.letters == "ck" else last.at[0]
    if len(inner) == 1:
        return _single(vowel, inner[0])
    first, rest = inner[0], inner[1:]
    cluster = "".join(g.letters for g in inner)
    open_vowel = bare(vowel.sounds[-1]) in _LONG or vowel.sounds[-1] in ("AH0", "IH0")
    if len(inner) == 2 and open_vowel and cluster in _ONSETS and cluster[0] != "s":
        return first.at[0]
    if len(rest) == 1 or "".join(g.letters for g in rest) in _ONSETS:
        return rest[0].at[0]
    return rest[-1].at[0] if "".join(g.letters for g in rest[-2:]) not in _ONSETS else rest[-2].at[0]


def _single(vowel: Grapheme, consonant: Grapheme) -> int:
    if len(consonant.letters) == 2 and consonant.letters[0] == consonant.letters[1]:
        return consonant.at[-1]
    sound = vowel.sounds[-1]
    closed = sound[-1] in "12" and bare(sound) not in _LONG and bare(sound) != "ER"
    if len(consonant.letters) > 1 and consonant.letters[-1] in "aeiou" and consonant.letters not in ("ve", "se"):
        return consonant.at[0]
    held_left = consonant.letters in ("x", "ck", "tch", "dge", "dg", "ng") or bare(consonant.sounds[0]) == "NG"
    return _letters_end(consonant) if closed or held_left else consonant.at[0]


def syllabify(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> tuple[Syllable, ...]:
    """The syllables of a word; an empty tuple where it has no vowel sound."""
    centres = [g for g in sorted(graphemes, key=lambda g: g.at[0]) if nucleus(g)]
    if not centres:
        return ()
    edges = [0, *breaks(word, graphemes, parts), len(word)]
    out: list[Syllable] = []
    for g, start, end in zip(centres, edges[:-1], edges[1:], strict=True):
        stressed = any(s[-1] in "12" for s in g.sounds)
        out.append(Syllable(start, end, _kind(g, graphemes, end), stressed))
    return tuple(out)


def _kind(g: Grapheme, graphemes: Sequence[Grapheme], end: int) -> str:
    if g.letters == "le":
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
    kept = [g for g in sorted(graphemes, key=lambda g: g.at[0]) if g.sounds and not _affixed(g, parts)]
    centres = [i for i, g in enumerate(kept) if nucleus(g)]
    if not centres:
        return []
    cuts = breaks(word, kept, parts)
    edges = [0, *cuts, len(word)]
    out: list[tuple[list[Grapheme], Grapheme, list[Grapheme]]] = []
    for n, centre in enumerate(centres):
        before = 0 if n == 0 else centres[n - 1] + 1
        after = len(kept) if n == len(centres) - 1 else centres[n + 1]
        onset = [g for g in kept[before:centre] if _place(g) >= edges[n]]
        coda = [g for g in kept[centre + 1 : after] if _place(g) < edges[n + 1] and not _lost_le(g)]
        out.append((onset, kept[centre], coda))
    return out


def _place(g: Grapheme) -> int:
    """Where a consonant belongs for shapes: a letter doubled across the break closes the syllable before it."""
    return g.at[0]


def _lost_le(g: Grapheme) -> bool:
    """The l of -le whose vowel is not heard before a suffix (*handling*)."""
    return g.letters == "l" and g.note == "dropped e" and len(g.sounds) == 1


def _affixed(g: Grapheme, parts: Sequence[Part]) -> bool:
    return g.unit == "possessives" or any(p.name == g.unit and p.kind in ("suffix", "contraction") for p in parts)


def shape_of(word: str, graphemes: Sequence[Grapheme], parts: Sequence[Part]) -> str:
    """Consonant and vowel sounds of the stem: ``CVC``, ``CCVC``, ``CVC.CVC``."""
    shapes = ["C" * len(onset) + "V" + "C" * len(coda) for onset, _, coda in stem_syllables(word, graphemes, parts)]
    return ".".join(shapes)
