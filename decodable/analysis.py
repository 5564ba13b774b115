"""From a word to its readings: letters aligned with sounds, morphemes first.

In go a word and the dictionary; out come :class:`~decodable.model.Reading` objects that know nothing of any reader. A
word is taken apart (suffix, prefix, compound) only where its base is pronounced in it as it is alone; its alignment is
then that of its base, changed as the spelling rule says (doubling, dropped e, y to i), so that no grapheme crosses a
seam. A simple word is aligned whole.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from decodable.alignment import Aligner
from decodable.inventory import Inventory
from decodable.model import Grapheme, Part, Reading, bare, is_vowel
from decodable.morphology import SIBILANT, VOICELESS, Affix, Join, Morphology, joins
from decodable.sounds import Dictionary, Sounds
from decodable.syllables import shape_of, syllabify

_APOSTROPHE = "'"
_MAX_DEPTH = 5


@dataclass(frozen=True, slots=True)
class Analysed:
    """One pronunciation of a word with its alignment, before syllables are drawn."""

    sounds: Sounds
    graphemes: tuple[Grapheme, ...]
    parts: tuple[Part, ...]


class Analyser:
    """Analyses words against one dictionary and one set of rules; results are kept."""

    def __init__(
        self,
        inventory: Inventory,
        morphology: Morphology,
        dictionary: Dictionary,
        known: Callable[[str], tuple[Analysed, ...] | None] | None = None,
    ) -> None:
        """``known`` may answer for a word whose alignments are at hand; it returns ``None`` for any other."""
        self.inventory = inventory
        self.morphology = morphology
        self.dictionary = dictionary
        self.aligner = Aligner(inventory)
        self._at_hand = known
        self._known: dict[str, tuple[Analysed, ...]] = {}
        self._busy: set[str] = set()

    def readings(self, word: str) -> tuple[Reading, ...]:
        """Every reading of a dictionary word; empty for a word that it lacks or that cannot be aligned."""
        source = "correction" if word in self.dictionary.corrected else "dictionary"
        return tuple(self.reading(word, a, source) for a in self.analysed(word))

    def reading(self, word: str, found: Analysed, source: str) -> Reading:
        """The finished value: with syllables and shape."""
        syllables = syllabify(word, found.graphemes, found.parts)
        shape = shape_of(word, found.graphemes, found.parts)
        return Reading(word, found.sounds, source, found.graphemes, found.parts, syllables, shape)

    def analysed(self, word: str) -> tuple[Analysed, ...]:
        """The alignments of a dictionary word, one a pronunciation that can be aligned."""
        known = self._known.get(word)
        if known is None and self._at_hand is not None:
            known = self._at_hand(word)
        if known is None:
            if word in self._busy or len(self._busy) > _MAX_DEPTH:
                return ()
            self._busy.add(word)
            try:
                found = (self.analyse_as(word, sounds) for sounds in self.dictionary.pronunciations.get(word, ()))
                known = tuple(a for a in found if a is not None)
            finally:
                self._busy.discard(word)
            self._known[word] = known
        return known

    def analyse_as(self, word: str, sounds: Sounds) -> Analysed | None:
        """The best alignment of a word said in a given way."""
        if _APOSTROPHE in word:
            return self._contraction(word, sounds)
        for said in schwa_r_variants(sounds):
            found = self._suffixed(word, said) or self._prefixed(word, said) or self._compound(word, said)
            if found is not None:
                return found
        return self.simple(word, sounds)

    def simple(self, word: str, sounds: Sounds) -> Analysed | None:
        """A word aligned whole. A dictionary's unstressed ER before a vowel may be a schwa and r (*around*)."""
        for anywhere in (False, True):
            best: tuple[int, int, Analysed] | None = None
            for order, said in enumerate(schwa_r_variants(sounds)):
                graphemes = self.aligner.align(word, said, anywhere=anywhere)
                if graphemes is not None:
                    cost = self.aligner.cost(graphemes)
                    if best is None or (cost, order) < best[:2]:
                        best = (cost, order, Analysed(said, graphemes, (Part(word, "base", word),)))
            if best is not None:
                return best[2]
        return None

    def _zipf(self, word: str) -> float:
        return self.dictionary.frequency.get(word, 0.0)

    # ------------------------------------------------------------------ suffixes
    def _suffixed(self, word: str, sounds: Sounds) -> Analysed | None:
        for affix in self.morphology.suffixes:
            if word.endswith(affix.letters):
                # the commoner base first: tell, not tel; crab, not Crabb
                for join in sorted(joins(word, affix), key=lambda j: -self._zipf(j.base)):
                    short = len(join.base) < 3 and join.base not in self.morphology.compound_short
                    if not short and self._zipf(join.base) >= affix.base:
                        found = self.suffixed_on(word, sounds, affix, join)
                        if found is not None:
                            return found
        return None

    def suffixed_on(self, word: str, sounds: Sounds, affix: Affix, join: Join) -> Analysed | None:
        """The word as this base and suffix, if it sounds like it."""
        for base in self.analysed(join.base):
            for tail in affix.sounds:
                found = self._join(word, sounds, base, affix, join, tail)
                if found is not None:
                    return found
        return None

    def _join(
        self, word: str, sounds: Sounds, base: Analysed, affix: Affix, join: Join, tail: Sounds
    ) -> Analysed | None:
        merged = join.how == "l merged" or (tail[:1] == ("L",) and join.base.endswith("l") and _ends(base, "L"))
        head_length = len(sounds) - len(tail)
        if merged and _same(sounds[:head_length], base.sounds[:-1]):
            head = sounds[: head_length + 1]
            tail_sounds = sounds[head_length + 1 :]
            return self._built(word, sounds, base.graphemes, base.parts, head, affix, "l merged", tail_sounds)
        if head_length < 1 or not _same(sounds[head_length:], tail):
            return None
        head, tail_sounds = sounds[:head_length], sounds[head_length:]
        if join.how == "l merged" or (affix.voicing and not _voiced_right(affix, head, tail_sounds)):
            return None
        if join.how == "f to ve":
            if head[-1] == "V" and _same((*head[:-1], "F"), base.sounds):
                return self._built(word, sounds, base.graphemes, base.parts, head, affix, join.how, tail_sounds)
            return None
        if join.how == "le to ly":
            head, tail_sounds = sounds[: head_length + 1], sounds[head_length + 1 :]
        if _same(head, base.sounds) or (join.how == "y to i" and _same_but_y(head, base.sounds)):
            return self._built(word, sounds, base.graphemes, base.parts, head, affix, join.how, tail_sounds)
        if len(head) + 1 == len(base.sounds) and join.base.endswith("le"):
            # handling, gently: the schwa of -le is not heard before the suffix
            full = (*head[:-1], "AH0", head[-1])
            if _same(full, base.sounds):
                return self._built(word, sounds, base.graphemes, base.parts, head, affix, join.how, tail_sounds)
        return None

    def _built(
        self,
        word: str,
        sounds: Sounds,
        base: Sequence[Grapheme],
        parts: tuple[Part, ...],
        head: Sounds,
        affix: Affix,
        how: str,
        tail: Sounds,
    ) -> Analysed | None:
        graphemes = list(_resounded(base, head))
        extra = affix.letters
        last = graphemes[-1] if graphemes else None
        if last is None:
            return None
        edge = max(p for g in graphemes for p in g.at) + 1
        syllabic_s = affix.letters == "s" and len(tail) == 2
        keeps_e = affix.letters == "ed" and how == "dropped e" and self._keeps_e(graphemes, edge)
        if syllabic_s or keeps_e:
            extra = "es" if syllabic_s else "d"
            if syllabic_s and not self._drop_e(graphemes, edge):
                return None
            edge = edge - 1 if syllabic_s else edge
        elif how == "f to ve":
            owner = max(i for i, g in enumerate(graphemes) if g.sounds == ("V",))
            at = tuple(p for p in (*graphemes[owner].at, *range(edge, len(word) - 1)))
            item = self.aligner.single("v" + "e" * (len(at) - 1), ("V",))
            if item is None:
                return None
            graphemes[owner] = replace(graphemes[owner], letters=item.letters, at=at, pattern=item.pattern, note=how)
            edge = len(word) - 1
        elif how == "doubling":
            owner = _owner(graphemes, edge - 1)
            g = graphemes[owner]
            graphemes[owner] = replace(g, letters=g.letters + word[edge], at=(*g.at, edge), note="doubling")
            edge += 1
        elif how == "dropped e":
            if not self._drop_e(graphemes, edge):
                return None
            edge -= 1
        elif how == "le to ly":
            if not self._drop_e(graphemes, edge):
                return None
            edge -= 1
            extra = "y"
        elif how == "y to i":
            owner = _owner(graphemes, edge - 1)
            g = graphemes[owner]
            if g.letters != "y" or not g.sounds:
                return None
            if extra in ("es", "ed"):
                graphemes[owner] = replace(g, letters="ie", at=(edge - 1, edge), note="y to i")
                extra, edge = extra[1:], edge + 1
            else:
                schwa = self.aligner.single("i", g.sounds) if _level(g.sounds[-1]) == "schwa" else None
                graphemes[owner] = replace(g, letters="i", pattern=(schwa or g).pattern, note="y to i")
        elif how == "l merged" or (
            how == "plain" and affix.letters == "ly" and tail == sounds[-len(tail) :] and len(tail) == 1
        ):
            if edge + 1 < len(word) and word[edge] == "l":
                owner = _owner(graphemes, edge - 1)
                g = graphemes[owner]
                graphemes[owner] = replace(g, letters=g.letters + "l", at=(*g.at, edge), note="seam")
                edge += 1
            extra = "y"
        elif how == "plain" and extra == "es" and len(tail) == 1:
            # potatoes, goes: the e joins the vowel
            owner = _owner(graphemes, edge - 1)
            g = graphemes[owner]
            item = self.aligner.single(g.letters + "e", g.sounds)
            if item is None:
                return None
            graphemes[owner] = Grapheme(g.letters + "e", (*g.at, edge), g.sounds, item.pattern, "-es", g.unit)
            extra, edge = "s", edge + 1
        ending = self._tail(extra, tail, affix, edge)
        if ending is None or edge + len(extra) != len(word):
            return None
        seam = next((p for p in range(edge, len(word))), edge)
        new_parts = (*_rebased(parts, word, seam), Part(word[seam:], affix.kind, affix.name))
        return Analysed(sounds, (*graphemes, *ending), new_parts)

    def _tail(self, letters: str, sounds: Sounds, affix: Affix, offset: int) -> tuple[Grapheme, ...] | None:
        if letters == "d" and sounds in (("D",), ("T",)):
            item = self.aligner.single("ed", sounds, suffix=True)
            pattern = item.pattern if item else ""
            return (Grapheme("d", (offset,), sounds, pattern, affix.name, affix.name),)
        aligned = self.aligner.align(letters, sounds, suffix=True)
        if aligned is None:
            return None
        return tuple(replace(g, at=tuple(p + offset for p in g.at), note=affix.name, unit=affix.name) for g in aligned)

    def _keeps_e(self, graphemes: Sequence[Grapheme], edge: int) -> bool:
        """Whether the base's final e belongs to a team or to -le, so that only d is added (*tied, glued, handled*)."""
        g = graphemes[_owner(graphemes, edge - 1)]
        if len(g.letters) < 2 or "-" in g.letters or not g.sounds:
            return False
        if g.letters == "le":
            return is_vowel(g.sounds[0])
        return is_vowel(g.sounds[-1]) and bare(g.sounds[-1]) != "ER"

    def _drop_e(self, graphemes: list[Grapheme], edge: int) -> bool:
        """Take the base's final e out of its grapheme; false where that leaves nothing that the inventory knows."""
        owner = _owner(graphemes, edge - 1)
        g = graphemes[owner]
        if not g.letters.endswith("e"):
            return False
        if g.letters == "e":
            if g.sounds:
                return False
            del graphemes[owner]
            return True
        at = g.at[:-1]
        if "-" in g.letters:
            graphemes[owner] = Grapheme(g.letters[0], at, g.sounds, g.pattern, "dropped e", g.unit)
            return True
        letters = g.letters[:-1]
        pattern = g.pattern
        if not (is_vowel(g.sounds[0]) and g.letters != "le"):
            if letters == "l" and len(g.sounds) == 2:
                item = self.aligner.single("le", g.sounds)
            else:
                item = self.aligner.single(letters, g.sounds)
            if item is None:
                return False
            pattern = item.pattern
        graphemes[owner] = Grapheme(letters, at, g.sounds, pattern, "dropped e", g.unit)
        return True

    # ------------------------------------------------------------------ prefixes, compounds, contractions
    def _prefixed(self, word: str, sounds: Sounds) -> Analysed | None:
        for affix in self.morphology.prefixes:
            base = word[len(affix.letters) :]
            if (
                word.startswith(affix.letters)
                and (len(base) > 2 or base in self.morphology.compound_short)
                and word not in affix.excluded
                and self._zipf(base) >= affix.base
            ):
                found = self.prefixed_on(word, sounds, affix)
                if found is not None:
                    return found
        return None

    def prefixed_on(self, word: str, sounds: Sounds, affix: Affix) -> Analysed | None:
        """The word as prefix and base, if it sounds like them."""
        for head in affix.sounds:
            if sounds[: len(head)] != head:
                continue
            start = self.aligner.align(affix.letters, head)
            for rest in self.analysed(word[len(affix.letters) :]):
                if start is not None and _same(sounds[len(head) :], rest.sounds):
                    first = tuple(replace(g, note=affix.name, unit=affix.name) for g in start)
                    second = _shifted(_resounded(rest.graphemes, sounds[len(head) :]), len(affix.letters))
                    part = Part(affix.letters, "prefix", affix.name)
                    return Analysed(sounds, (*first, *second), (part, *rest.parts))
        return None

    def _compound(self, word: str, sounds: Sounds) -> Analysed | None:
        rules = self.morphology
        if len(word) < 4 or word in rules.compound_excluded:
            return None
        best: tuple[float, Analysed] | None = None
        for k in range(2, len(word) - 1):
            a, b = word[:k], word[k:]
            if (k == 2 and a not in rules.compound_short) or (len(b) == 2 and b not in rules.compound_short):
                continue
            weight = min(self._zipf(a), self._zipf(b))
            if weight < rules.compound_base or (best is not None and weight <= best[0]):
                continue
            found = self.compound_of(a, b, sounds)
            if found is not None:
                best = (weight, found)
        return best[1] if best else None

    def compound_of(self, a: str, b: str, sounds: Sounds) -> Analysed | None:
        """The word as these two, if it sounds like them and both keep a stress; *-man* and the like may lose it."""
        rules = self.morphology
        if not self.analysed(a) or b not in self.dictionary.pronunciations:
            return None
        for first in self.analysed(a):
            n = len(first.sounds)
            head, tail = sounds[:n], sounds[n:]
            if _same(head, first.sounds) and (_stressed(head) or a in rules.reduced_first):
                left = _resounded(first.graphemes, head)
            elif a in rules.reduced_first and not _stressed(head):
                left = self.aligner.align(a, head) or ()
            else:
                continue
            right = self._second(b, tail, left[-1]) if left else None
            if right is not None:
                heard_once = right.graphemes[0].at[0] > 0
                after = _shifted(right.graphemes, len(a))
                if heard_once:
                    left = (
                        *left[:-1],
                        replace(left[-1], letters=left[-1].letters + b[0], at=(*left[-1].at, len(a)), note="seam"),
                    )
                return Analysed(sounds, (*left, *after), (*first.parts, *right.parts))
        return None

    def _second(self, b: str, tail: Sounds, last: Grapheme) -> Analysed | None:
        """The second part of a compound; without its first grapheme where that is heard once with the letter before."""
        weak = b in self.morphology.reduced_second
        if weak or _stressed(tail):
            for second in self.analysed(b):
                if _same(tail, second.sounds):
                    return replace(second, graphemes=_resounded(second.graphemes, tail))
                if _once(last, second) and _same(tail, second.sounds[1:]):
                    return replace(second, graphemes=_resounded(second.graphemes[1:], tail))
        if weak and len(tail) > 1 and not _stressed(tail):
            found = self.aligner.align(b, tail)
            return Analysed(tail, found, (Part(b, "base", b),)) if found else None
        return None

    def _contraction(self, word: str, sounds: Sounds) -> Analysed | None:
        head, _, tail = word.rpartition(_APOSTROPHE)
        letters = tail
        if tail == "t" and head.endswith("n"):
            head, letters = head[:-1], "nt"
        for affix in self.morphology.contractions:
            if affix.letters != letters or (affix.after and head not in affix.after):
                continue
            for base in self.analysed(head):
                for said in affix.sounds:
                    n = len(sounds) - len(said)
                    if n > 0 and _same(sounds[n:], said) and _same(sounds[:n], base.sounds):
                        return self._contracted(word, sounds, base.graphemes, base.parts, n, affix)
            # can't, don't, won't: the base changes; align the letters as they stand
            for said in affix.sounds:
                n = len(sounds) - len(said)
                changed = self.aligner.align(head, sounds[:n]) if n > 0 and _same(sounds[n:], said) else None
                if changed is not None:
                    # can't: its base is can, whose n the ending shares
                    full = self.dictionary.pronunciations.get(head + "n", ())
                    name = head + "n" if letters == "nt" and (*sounds[:n], "N") in full else head
                    return self._contracted(word, sounds, changed, (Part(head, "base", name),), n, affix)
        return self._around_apostrophe(word, sounds)

    def _contracted(
        self,
        word: str,
        sounds: Sounds,
        base: Sequence[Grapheme],
        parts: tuple[Part, ...],
        n: int,
        affix: Affix,
    ) -> Analysed | None:
        start = max(p for g in base for p in g.at) + 1
        ending = self.aligner.align(affix.letters, sounds[n:], suffix=True)
        if ending is None:
            return None
        places = [p for p in range(start, len(word)) if word[p] != _APOSTROPHE]
        tail = tuple(replace(g, at=tuple(places[p] for p in g.at), note=affix.name, unit=affix.name) for g in ending)
        head = _resounded(base, sounds[:n])
        return Analysed(sounds, (*head, *tail), (*parts, Part(word[start:], "contraction", affix.name)))

    def _around_apostrophe(self, word: str, sounds: Sounds) -> Analysed | None:
        """Words such as *o'clock* and *ma'am*: aligned as if the apostrophe were not there."""
        places = [p for p, c in enumerate(word) if c != _APOSTROPHE]
        found = self.simple(word.replace(_APOSTROPHE, ""), sounds)
        if found is None:
            return None
        graphemes = tuple(replace(g, at=tuple(places[p] for p in g.at)) for g in found.graphemes)
        return Analysed(found.sounds, graphemes, (Part(word, "base", word),))


def schwa_r_variants(sounds: Sounds) -> list[Sounds]:
    """The sounds, and the same with each unstressed ER before a vowel as schwa and r."""
    out: list[list[str]] = [[]]
    for i, sound in enumerate(sounds):
        forms = [[sound]]
        if sound == "ER0" and i + 1 < len(sounds) and is_vowel(sounds[i + 1]):
            forms.append(["AH0", "R"])
        out = [[*head, *form] for head in out for form in forms]
    return [tuple(o) for o in out]


def _ends(base: Analysed, sound: str) -> bool:
    return bool(base.sounds) and base.sounds[-1] == sound


def _level(sound: str) -> str:
    """A sound as far as bases are compared: unstressed IH and AH are one (the dictionary writes AH2 for some)."""
    return "schwa" if sound in ("AH0", "AH2", "IH0") else bare(sound)


def _reduced(a: str, b: str) -> bool:
    """Whether both are weak vowels and one is a schwa, or both are kinds of e (*deform, deformed*)."""
    full = {bare(a), bare(b)} <= {"AA", "AE", "AH", "AO", "EH", "IH", "IY", "UH"}
    return (
        "1" not in (a[-1], b[-1]) and full and ("schwa" in (_level(a), _level(b)) or {bare(a), bare(b)} == {"IH", "IY"})
    )


def _alike(a: str, b: str) -> bool:
    return a == b or _level(a) == _level(b) or (bare(a) == bare(b) and {a[-1], b[-1]} != {"0", "1"})


def _same(a: Sequence[str], b: Sequence[str]) -> bool:
    """Whether a base sounds the same: a full vowel's stress may shift, but no stressed one may become a schwa."""
    if len(a) != len(b):
        return False
    # fire, fired: the dictionary writes the r after a diphthong as R or as ER, as it comes
    loose = len(a) > 1 and {a[-1], b[-1]} == {"R", "ER0"} and bare(a[-2]) in ("AY", "AW")
    pairs = list(zip(a, b, strict=True))[: len(a) - loose]
    *rest, last = pairs or [("", "")]
    return all(_alike(x, y) or _reduced(x, y) for x, y in rest) and _alike(*last)


def _stressed(sounds: Sequence[str]) -> bool:
    return any(s[-1] in "12" for s in sounds)


def _same_but_y(head: Sequence[str], base: Sequence[str]) -> bool:
    """Whether they differ only in the vowel of a y that has become an unstressed i (*happy, happily*)."""
    return head[-1] in ("AH0", "IH0") and base[-1] == "IY0" and _same(head[:-1], base[:-1])


def _once(last: Grapheme, second: Analysed) -> bool:
    """Whether the letter on both sides of a seam is one consonant, heard once (*filmmaker, cannot*)."""
    first = second.graphemes[0]
    alike = len(last.at) == 1 and first.at == (0,) and last.letters == first.letters and last.sounds == first.sounds
    return alike and len(last.sounds) == 1 and not is_vowel(last.sounds[0])


def _voiced_right(affix: Affix, head: Sounds, tail: Sounds) -> bool:
    last = bare(head[-1])
    if affix.letters == "ed":
        want = 2 if last in ("T", "D") else 1
        return len(tail) == want and (
            want == 2 or (tail == ("T",)) == (last in VOICELESS | SIBILANT - {"Z", "ZH", "JH"})
        )
    want = 2 if last in SIBILANT else 1
    return len(tail) == want and (want == 2 or (tail == ("S",)) == (last in VOICELESS))


def _resounded(graphemes: Sequence[Grapheme], sounds: Sounds) -> tuple[Grapheme, ...]:
    """The same letters with the sounds as the longer word has them (stress may have moved, a schwa of -le be lost)."""
    out: list[Grapheme] = []
    at = 0
    total = sum(len(g.sounds) for g in graphemes)
    for i, g in enumerate(graphemes):
        count = len(g.sounds)
        if i == len(graphemes) - 1 and total == len(sounds) + 1:
            count -= 1
        out.append(replace(g, sounds=tuple(sounds[at : at + count])))
        at += count
    return tuple(out)


def _shifted(graphemes: Sequence[Grapheme], by: int) -> tuple[Grapheme, ...]:
    return tuple(replace(g, at=tuple(p + by for p in g.at)) for g in graphemes)


def _owner(graphemes: Sequence[Grapheme], position: int) -> int:
    """Which grapheme holds a letter position."""
    return next(i for i, g in enumerate(graphemes) if position in g.at)


def _rebased(parts: tuple[Part, ...], word: str, seam: int) -> tuple[Part, ...]:
    """The base's parts, the last one with its letters as they stand in the longer word."""
    start = sum(len(p.text) for p in parts[:-1])
    last = parts[-1]
    return (*parts[:-1], Part(word[start:seam], last.kind, last.name))
