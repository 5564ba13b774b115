"""One word, described: for machines, and for a teacher who asks what a child would make of it.

In go a word and the engine; out come the documented output of ``decodable word --json`` and the likely misreading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from decodable.accents import DICTIONARY_ACCENT, transcribed
from decodable.accents import accent as load_accent
from decodable.judging import NEVER
from decodable.model import Grapheme, Reading
from decodable.patterns import needs_of

if TYPE_CHECKING:
    from decodable.engine import Engine
    from decodable.judge import Judge, Missing
    from decodable.report import Report, WordVerdict
    from decodable.sequence import Sequence


def reading_dict(engine: Engine, reading: Reading, accent: str = DICTIONARY_ACCENT) -> dict[str, Any]:
    """One reading as the documented output has it; ``accent`` is the one that it was read in."""
    signs, ipa = transcribed(reading, load_accent(accent))
    return {
        "sounds": list(reading.sounds),
        "ipa": ipa,
        "source": reading.source,
        "sense": reading.sense,
        "graphemes": [
            {
                "letters": g.letters,
                "at": list(g.at),
                "sounds": list(g.sounds),
                "ipa": sign,
                "pattern": g.pattern,
                **({"note": g.note} if g.note else {}),
            }
            for g, sign in zip(reading.graphemes, signs, strict=True)
        ],
        "parts": [{"text": p.text, "kind": p.kind, "name": p.name} for p in reading.parts],
        "syllables": [[s.start, s.end] for s in reading.syllables],
        "syllable_types": [s.kind for s in reading.syllables],
        "shape": reading.shape,
        "needs": need_names(engine, reading),
        "tricky": tricky_part(engine, reading),
    }


def word_dict(engine: Engine, word: str, accent: str = DICTIONARY_ACCENT) -> dict[str, Any]:
    """A word as the documented output has it; no readings where none can be trusted."""
    return {"word": word, "readings": [reading_dict(engine, r, accent) for r in engine.readings(word, accent)]}


def need_names(engine: Engine, reading: Reading) -> list[str]:
    """What a reading needs, each once: correspondences in letter order, then gates and shapes."""
    out: dict[str, None] = {}
    for need in needs_of(reading, engine.rules.inventory, engine.rules.patterns.endings):
        shape = need.shape
        out[need.pattern or need.gate or ("C" * shape[0] + "V" + "C" * shape[1] if shape else "")] = None
    return [name for name in out if name]


def tricky_part(engine: Engine, reading: Reading) -> list[str]:
    """What a teacher would point at, whoever the reader is: letters with a rare correspondence, or those of a list."""
    if reading.word in engine.tricky_parts:
        return list(engine.tricky_parts[reading.word])
    patterns = engine.lexicon.teaching.patterns
    return [g.letters for g in reading.graphemes if g.pattern in patterns and patterns[g.pattern].tricky]


def opens(engine: Engine, word: str) -> list[tuple[str, int | None, str]]:
    """For each sequence: its name, the first step at which the word can be read, and that step's id."""
    from decodable.sequence import sequence_names

    out: list[tuple[str, int | None, str]] = []
    for name in sequence_names():
        reader = engine.reader(name)
        step = engine.judge(reader).entry(word.lower()).step
        ident = reader.sequence.steps[step - 1].id if 0 < step < NEVER else ""
        out.append((name, step if step < NEVER else None, ident))
    return out


def likely(judge: Judge, reading: Reading, step: int) -> tuple[str, ...]:
    """What a child who knows only what has been taught would probably say: sounds, empty where letters stay dumb.

    Each grapheme whose sound is taught keeps it. Another takes the first taught sound of the same letters; failing
    that, each of its letters takes its own first taught sound.
    """
    out: list[str] = []
    for g in reading.graphemes:
        if judge.now.step_of(g.pattern) <= step:
            out.extend(g.sounds)
        else:
            out.extend(_attempt(judge, g, step))
    return tuple(out)


def _attempt(judge: Judge, grapheme: Grapheme, step: int) -> list[str]:
    own = _taught_sound(judge, grapheme.letters, step)
    if own:
        return own
    return [sound for letter in grapheme.letters.replace("-", "") for sound in _taught_sound(judge, letter, step)]


def _taught_sound(judge: Judge, letters: str, step: int) -> list[str]:
    teaching = judge.lexicon.teaching
    for pattern in teaching.choices.get(letters, ()):
        if judge.now.step_of(pattern) <= step and not teaching.patterns[pattern].tricky:
            keyword = pattern.rsplit(" ", 1)[1]
            for reading in judge.lexicon.readings(keyword):
                for g in reading.graphemes:
                    if g.pattern == pattern:
                        return list(g.sounds)
    return []


def in_words(report: Report, word: WordVerdict) -> str:
    """Why a word has its verdict: a sentence for a teacher."""
    sequence = report.judge.reader.sequence
    if word.verdict == "decodable":
        known = "Every pattern in it has been taught."
        if word.allowance == "unstressed vowel":
            return f"{known} Its unstressed vowel was let pass."
        if word.allowance:
            return (
                "The dictionary does not have it. Every letter has one likely sound, so it was read as it is spelled."
            )
        return known
    if word.verdict == "taught-whole":
        if word.source:
            return f"It follows from {' and '.join(word.source)}, taught as a whole word."
        return "It is taught as a whole word."
    if word.verdict == "name":
        return "It is a name that this reader knows."
    if word.verdict == "told":
        return "An adult says this one: nobody is asked to sound it out."
    if word.verdict == "unknown":
        return "The dictionary does not have it, and its letters could be said in more than one way. How is it said?"
    if word.first_step:
        whole = "It is taught as a whole word" if word.note.endswith("taught whole then") else "It can be read"
        return f"{whole} from {step_in_words(sequence, word.first_step)}."
    return "It is irregular here: no step of this sequence teaches all of it."


def missing_in_words(report: Report, missing: Missing) -> str:
    """Why one pattern is missing, and when it comes: a sentence for a teacher."""
    sequence = report.judge.reader.sequence
    comes = f" It comes at {step_in_words(sequence, missing.step)}." if missing.step else ""
    if missing.why == "other-sound-taught":
        return f"Another sound of {missing.letters} has been taught.{comes or ' No step teaches this one.'}"
    if missing.why == "not-secure":
        return "Taught, but not secure."
    if missing.why == "never":
        return "No step teaches it."
    return f"Not taught yet.{comes}"


def step_in_words(sequence: Sequence, step: int) -> str:
    """A step by number and name: ``step 18 (wh tch)``."""
    return f"step {step} ({sequence.steps[step - 1].name})"
