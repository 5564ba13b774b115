"""Checks of rule files, and counts of how many words each correspondence serves.

In go the rule files; out come faults as ``file:line: what``, so that whoever edits a rule sees at once what is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from decodable import resources
from decodable.accents import load_accent
from decodable.errors import DecodableError, FaultsError
from decodable.lexicon import Lexicon
from decodable.model import bare, is_vowel
from decodable.never_offered import FILE as NEVER_FILE
from decodable.never_offered import load_never_offered
from decodable.rules import read_toml
from decodable.vocabulary import BASE, PARTS_OF_SPEECH, read_vocabulary
from decodable.word_table import TRUSTED

if TYPE_CHECKING:
    from decodable.engine import Engine

_THEME = re.compile(r"^\[(?:" + "|".join(PARTS_OF_SPEECH) + r")\]", re.MULTILINE)


def faults_of(engine: Engine, files: Iterable[Path]) -> tuple[list[str], list[str]]:
    """Every fault of the given files, or of every shipped rule file, and the files checked.

    Given files may be sequences, readers, a school's words never offered, or its themes of the vocabulary.
    """
    jobs = [(path, _reader_of(engine, path)) for path in files] or list(_shipped(engine))
    faults: list[str] = []
    for path, read in jobs:
        try:
            read()
        except FaultsError as error:
            faults.extend(error.faults)
        except DecodableError as error:
            faults.append(f"{path.name}: {error}")
    return faults, [
        file.name for path, _ in jobs for file in (sorted(path.glob("*.toml")) if path.is_dir() else [path])
    ]


def _reader_of(engine: Engine, path: Path) -> Callable[[], object]:
    if not path.is_file():
        raise DecodableError(f"No such file: {path}")
    text = path.read_text(encoding="utf-8-sig", errors="replace") if path.suffix == ".toml" else "[[step]]"
    if "[[step]]" in text:
        return lambda: engine.sequence(path)
    if path.name == NEVER_FILE:
        return lambda: load_never_offered(own=path)
    if _THEME.search(text):
        return lambda: check_vocabulary(engine, own=path.parent)
    return lambda: engine.reader_file(path)


def _shipped(engine: Engine) -> Iterable[tuple[Path, Callable[[], object]]]:
    from decodable.division import load_syllable_rules
    from decodable.heteronyms import load
    from decodable.inflection import load_inflections
    from decodable.inventory import load_inventory
    from decodable.made_up_rules import load_made_up
    from decodable.morphology import load_morphology
    from decodable.patterns import load_patterns, load_tricky_parts
    from decodable.practice_rules import sayings
    from decodable.real_words import load_rare
    from decodable.sentences import sentence_rules
    from decodable.sounds import load_corrections
    from decodable.text import load_text_rules
    from decodable.word_links import load_chain_rules
    from decodable.word_order import load_order

    folder = resources.rules_dir()
    loaders: dict[str, Callable[[Path], object]] = {
        "correspondences.toml": load_inventory,
        "heteronyms.toml": load,
        "morphemes.toml": load_morphology,
        "patterns.toml": load_patterns,
        "pronunciations.toml": load_corrections,
        "syllables.toml": load_syllable_rules,
        "text.toml": load_text_rules,
        "tricky_parts.toml": load_tricky_parts,
    }
    loaders["inflections.toml"] = load_inflections
    loaders["words.toml"] = load_order
    loaders |= {
        "practice.toml": lambda path: _check_practice(engine, path),
        "saying_sounds.toml": sayings,
        "sentences.toml": sentence_rules,
    }
    loaders["never_offered.toml"] = load_never_offered
    loaders |= {"chains.toml": load_chain_rules, "made_up.toml": load_made_up, "rare_words.txt": load_rare}
    for name, loader in loaders.items():
        yield folder / name, lambda loader=loader, name=name: loader(folder / name)  # type: ignore[misc]
    for path in sorted((folder / "accents").glob("*.toml")):
        yield path, lambda path=path: load_accent(path)  # type: ignore[misc]
    for path in sorted((folder / "sequences").glob("*.toml")):
        yield path, lambda path=path: engine.sequence(path)  # type: ignore[misc]
    yield folder / "vocabulary", lambda: check_vocabulary(engine)


def _check_practice(engine: Engine, path: Path) -> None:
    """The settings of practice, and that what its charts list can be taught."""
    from decodable.practice_rules import practice_rules

    faults = []
    for member in (m for chart in practice_rules(path).charts for m in chart.members):
        try:
            engine.phrases.parse(member)
        except DecodableError as error:
            line = read_toml(path).line_of(repr(member).replace("'", '"'))
            faults.append(f"{path.name}:{line}: {error}")
    if faults:
        raise FaultsError(faults)


def check_vocabulary(engine: Engine, folder: Path | None = None, own: Path | None = None) -> None:
    """Every fault of the vocabulary at once: what :func:`~decodable.vocabulary.read_vocabulary` finds, and the sounds.

    Each form needs a pronunciation that is known, and a form that is derived by rule must sound like its lemma with the
    ending; one that does not (*says*, *longer*) is irregular, and is to be written out.
    """
    found = read_vocabulary(engine.never_offered, folder, own)
    inflections = found.inflections
    faults = list(found.faults)
    for lemma in found.lemmas:
        where = f"{lemma.theme}.toml:{lemma.line}: the {lemma.pos} {lemma.lemma!r}"
        endings = inflections.form.get(f"{lemma.pos}s", {})
        for form, text in lemma.forms.items():
            readings = engine.readings(text)
            if not readings or readings[0].source not in TRUSTED:
                shown = "" if form == BASE else f" of its {form.replace('_', ' ')} {text!r}"
                faults.append(
                    f"{where}: the pronunciation{shown} is not known; add it to pronunciations.toml, or take it out"
                )
            elif form != BASE and form not in lemma.written:
                tails = _ending_sounds(engine, endings[form])
                heads = [_consonants(r.sounds) for r in engine.readings(lemma.lemma)]
                if not any(_consonants(r.sounds) == head + tail for r in readings for head in heads for tail in tails):
                    said = " ".join(readings[0].sounds)
                    faults.append(
                        f"{where}: {text!r} ({said}) does not sound like it with -{endings[form]}; if it is irregular, "
                        f'write it: {form} = "{text}"'
                    )
    if faults:
        raise FaultsError(faults)


def _ending_sounds(engine: Engine, ending: str) -> set[tuple[str, ...]]:
    names = engine.rules.morphology.names
    affixes = [names[name] for name in (f"-{ending}", f"-e{ending}") if name in names]
    return {_consonants(sounds) for affix in affixes for sounds in affix.sounds}


def _consonants(sounds: Iterable[str]) -> tuple[str, ...]:
    """The consonants of a pronunciation: vowels vary from entry to entry of the dictionary. /er/ holds an r."""
    return tuple(
        s for sound in sounds for s in (("R",) if bare(sound) == "ER" else () if is_vowel(sound) else (sound,))
    )


def correspondence_counts(lexicon: Lexicon) -> list[tuple[str, int, str]]:
    """For each correspondence: how many words it serves in their first reading, and the commonest of them."""
    starts = lexicon.column("grapheme_start")
    pattern = lexicon.column("grapheme_pattern")
    firsts = lexicon.column("word_start")[:-1]
    frequency = lexicon.column("frequency")
    words = np.repeat(np.arange(len(firsts)), starts[firsts + 1] - starts[firsts])
    places = np.concatenate([np.arange(starts[r], starts[r + 1]) for r in firsts])
    served = pattern[places]
    pairs = np.unique(np.stack([served.astype(np.int64), words]), axis=1)
    counts = np.bincount(pairs[0], minlength=len(lexicon.meta["patterns"]))
    order = np.lexsort((-frequency[pairs[1]], pairs[0]))
    first = np.unique(pairs[0][order], return_index=True)
    example = {int(p): lexicon.words[pairs[1][order][i]] for p, i in zip(*first, strict=True)}
    rows = [(name, int(counts[n]), example.get(n, "")) for n, name in enumerate(lexicon.meta["patterns"])]
    unused = [
        (name, 0, "")
        for name in lexicon.teaching.patterns
        if " as in " in name and name not in set(lexicon.meta["patterns"])
    ]
    return sorted(rows + unused, key=lambda row: (-row[1], row[0]))
