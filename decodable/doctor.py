"""Checks of rule files, and counts of how many words each correspondence serves.

In go the rule files; out come faults as ``file:line: what``, so that whoever edits a rule sees at once what is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from decodable import resources
from decodable.errors import DecodableError, FaultsError
from decodable.lexicon import Lexicon

if TYPE_CHECKING:
    from decodable.engine import Engine


def faults_of(engine: Engine, files: Iterable[Path]) -> tuple[list[str], list[str]]:
    """Every fault of the given sequence and reader files, or of every shipped rule file, and the files checked."""
    jobs = [(path, _reader_of(engine, path)) for path in files] or list(_shipped(engine))
    faults: list[str] = []
    for path, read in jobs:
        try:
            read()
        except FaultsError as error:
            faults.extend(error.faults)
        except DecodableError as error:
            faults.append(f"{path.name}: {error}")
    return faults, [path.name for path, _ in jobs]


def _reader_of(engine: Engine, path: Path) -> Callable[[], object]:
    if not path.is_file():
        raise DecodableError(f"No such file: {path}")
    if path.suffix == ".toml" and "[[step]]" not in path.read_text(encoding="utf-8-sig", errors="replace"):
        return lambda: engine.reader_file(path)
    return lambda: engine.sequence(path)


def _shipped(engine: Engine) -> Iterable[tuple[Path, Callable[[], object]]]:
    from decodable.division import load_syllable_rules
    from decodable.heteronyms import load
    from decodable.inventory import load_inventory
    from decodable.morphology import load_morphology
    from decodable.patterns import load_patterns
    from decodable.sounds import load_corrections
    from decodable.text import load_text_rules

    folder = resources.rules_dir()
    loaders: dict[str, Callable[[Path], object]] = {
        "correspondences.toml": load_inventory,
        "heteronyms.toml": load,
        "morphemes.toml": load_morphology,
        "patterns.toml": load_patterns,
        "pronunciations.toml": load_corrections,
        "syllables.toml": load_syllable_rules,
        "text.toml": load_text_rules,
    }
    for name, loader in loaders.items():
        yield folder / name, lambda loader=loader, name=name: loader(folder / name)  # type: ignore[misc]
    for path in sorted((folder / "sequences").glob("*.toml")):
        yield path, lambda path=path: engine.sequence(path)  # type: ignore[misc]


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
