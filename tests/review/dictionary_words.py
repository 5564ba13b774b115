"""Every word of the dictionary with a shape, whatever it means: ``python tests/review/dictionary_words.py CVC --least 2``.

For people who review the vocabulary: it shows what the vocabulary might hold, not whether it does. The list is not
fit for children, and holds names. Words with a suffix are left out. Each line: the word and its Zipf frequency.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from decodable.engine import Engine


def words_of_shape(engine: Engine, shape: str, least: float) -> Iterator[tuple[str, float]]:
    """Words with a reading of the shape and at least the frequency, in order of the alphabet."""
    lexicon = engine.lexicon
    for word in lexicon.words:
        frequency = lexicon.frequency(word)
        if frequency >= least and word.isalpha():
            readings = lexicon.readings(word)
            if any(r.shape == shape and all(p.kind != "suffix" for p in r.parts) for r in readings):
                yield word, frequency


def main() -> None:
    """Print the list."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shape", nargs="?", default="CVC")
    parser.add_argument("--least", type=float, default=2.0, help="the least Zipf frequency")
    given = parser.parse_args()
    for word, frequency in words_of_shape(Engine(), given.shape, given.least):
        print(f"{word}\t{frequency:.2f}")


if __name__ == "__main__":
    main()
