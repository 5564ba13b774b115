"""Where words divide, against hyphenation patterns and by eye.

In: the package ``pyphen`` with its en_US patterns (made to hyphenate print: they leave many breaks out, and divide by
letters alone), for the 5,000 commonest words of two syllables or more; and ``hyphenation_read.tsv``, words where
patterns and program differed, each read by eye and divided as reading teachers show it: morphemes first, a doubled
consonant between its letters, a short vowel closed (*rob-in*), a long one open (*ro-bot*), *-le* with its consonant.
The number of syllables is the dictionary's. Out: how many breaks of the patterns are the program's, and a table of the
others by class; a failure for each word of the list that is divided otherwise. Rows marked ``yes`` as fault are known
to be wrong in the program.
"""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest

from decodable.engine import Engine
from decodable.model import Grapheme, Reading, bare, is_vowel

pytestmark = pytest.mark.standards

READ = Path(__file__).parent / "hyphenation_read.tsv"
WORDS = 5000
SHORT = frozenset({"AA", "AE", "AH", "AO", "EH", "IH", "UH"})


def _rows() -> list[dict[str, str]]:
    with READ.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))


def divided(word: str, cuts: Sequence[int]) -> str:
    """The word with dots at the cuts."""
    return ".".join(word[a:b] for a, b in pairwise([0, *sorted(cuts), len(word)]))


def breaks(reading: Reading) -> list[int]:
    """Where each syllable after the first begins."""
    return [s.start for s in reading.syllables[1:]]


def nucleus(g: Grapheme) -> bool:
    """Whether it holds a vowel sound."""
    return any(map(is_vowel, g.sounds))


def after(g: Grapheme) -> int:
    """The position after its letters; after the vowel letter of a split digraph."""
    return (g.at[0] if "-" in g.letters else g.at[-1]) + 1


def seams(reading: Reading) -> dict[int, str]:
    """Where morphemes meet, with the kind of the second."""
    at, out = 0, {}
    for left, right in pairwise(reading.parts):
        at += len(left.text)
        out[at] = right.kind
    return out


def inside(g: Grapheme, cut: int) -> bool:
    """Whether a cut goes through a grapheme that is no split digraph."""
    return "-" not in g.letters and g.at[0] < cut <= g.at[-1]


def difference(reading: Reading, cut: int) -> str:
    """Why the program has no break where the patterns have one: the class of the break it has instead."""
    vowels = [g for g in reading.graphemes if nucleus(g)]
    for (left, right), ours in zip(pairwise(vowels), breaks(reading), strict=True):
        if not after(left) <= cut <= right.at[0]:
            continue
        if ours in seams(reading):
            return f"a seam before a {seams(reading)[ours]}: act.or"
        between = [g for g in reading.graphemes if after(left) <= g.at[0] < right.at[0] and g.sounds]
        if any(inside(g, cut) and g.letters[0] == g.letters[1] for g in between):
            return "through a doubled letter: mil.lion"
        if any(inside(g, cut) for g in between):
            return "through a grapheme: lis.ten"
        if len(between) == 1:
            return _one_consonant(left, between[0], ours > cut)
        return "several consonants, more of them before" if ours > cut else "several consonants, more of them after"
    return "one vowel sound where the patterns have two: theor.y"


def _one_consonant(vowel: Grapheme, consonant: Grapheme, closed: bool) -> str:
    sound = vowel.sounds[-1]
    if bare(sound) in ("R", "ER") or consonant.letters[0] == "r":
        return "r after the vowel it colours: per.i.od"
    if closed:
        team = len(vowel.letters) > 1
        short = sound[-1] in "12" and bare(sound) in SHORT
        return (
            f"a short vowel {'team ' if team else ''}closed: {'meas.ure' if team else 'cab.in'}"
            if short
            else "closed otherwise: dia.mond"
        )
    return "a weak vowel open: a.noth.er" if sound[-1] == "0" else "a long vowel open: ro.bot"


def common(engine: Engine) -> list[tuple[str, Reading]]:
    """The commonest words of two syllables or more, with their taught reading."""
    lexicon = engine.lexicon
    words = sorted((w for w in lexicon.words if w.isalpha()), key=lambda w: (-lexicon.frequency(w), w))
    out: list[tuple[str, Reading]] = []
    for word in words:
        reading = lexicon.reading(word, lexicon.reading_numbers(word)[0])
        if len(reading.syllables) > 1:
            out.append((word, reading))
        if len(out) == WORDS:
            break
    return out


@pytest.mark.parametrize("row", _rows(), ids=lambda row: row["word"])
def test_divided_as_read(row: dict[str, str], engine: Engine) -> None:
    ours = divided(row["word"], breaks(engine.readings(row["word"])[0]))
    if row["fault"]:
        assert ours != row["division"], "take it out of the faults"
        pytest.xfail(f"{ours}: {row['why']}")
    assert ours == row["division"], row["why"]


def test_summary(engine: Engine, capsys: pytest.CaptureFixture[str]) -> None:
    pyphen = pytest.importorskip("pyphen")
    patterns = pyphen.Pyphen(lang="en_US", left=2, right=3)
    read = {row["word"]: row["division"] for row in _rows()}
    theirs = shared = mine = whole = 0
    classes: Counter[str] = Counter()
    judged: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    examples: defaultdict[str, list[str]] = defaultdict(list)
    for word, reading in common(engine):
        ours, cuts = set(breaks(reading)), set(patterns.positions(word))
        mine, theirs, shared = mine + len(ours), theirs + len(cuts), shared + len(cuts & ours)
        whole += cuts <= ours
        for cut in sorted(cuts - ours):
            name = difference(reading, cut)
            classes[name] += 1
            judged[name] += word in read
            wrong[name] += word in read and read[word] != divided(word, breaks(reading))
            examples[name].append(f"{divided(word, breaks(reading))} ({patterns.inserted(word)})")
    with capsys.disabled():
        print(
            f"\nhyphenation, {WORDS} common words: {shared} of {theirs} breaks of the patterns are the program's "
            f"({100 * shared / theirs:.1f} %), in {whole} words all of them; the program has {mine}"
        )
        print(f"{'the other breaks of the patterns':<54}{'breaks':>7}{'read':>6}{'wrong':>7}  for example")
        for name, number in classes.most_common():
            print(f"{name:<54}{number:>7}{judged[name]:>6}{wrong[name]:>7}  {', '.join(examples[name][:3])}")
        print(f"{len(read)} words read by eye, {sum(bool(row['fault']) for row in _rows())} of them divided wrongly")
    assert classes.total() == theirs - shared
    assert shared / theirs > 0.96
    assert whole / WORDS > 0.95
