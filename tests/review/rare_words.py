"""Makes ``rules/rare_words.txt``: short words and names that the dictionary lacks, so that no made-up word is one of them.

``python tests/review/rare_words.py FOLDER``: FOLDER holds the lists of SCOWL (*scowl* in Debian, ``/usr/share/dict/scowl``).
Taken are English, American, British, Canadian and Australian words and names of every size, and what people write at least
as often as ``LEAST`` says (wordfreq), in small letters, with the spelling of one syllable. How a rare word is said is a guess.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import wordfreq

import decodable
from decodable import resources
from decodable.model import bare, is_vowel

SIZE, LEAST = 95, 2.5
ONE_SYLLABLE = re.compile(r"[^aeiouy]*[aeiouy]{1,3}[^aeiouy]*(?:e|es|ed)?")
KINDS = ("words", "upper", "proper-names")
HEAD = """\
# Short words and names that the dictionary lacks, with how they are probably said. No made-up word is one of them, or sounds
# like one. Made by tests/review/rare_words.py from the word lists SCOWL and wordfreq (see NOTICE); nothing here is ever offered.
"""


def listed(folder: Path) -> Iterator[str]:
    """The words of the lists, and what people write."""
    for path in sorted(folder.iterdir()):
        name, _, size = path.name.rpartition(".")
        if size.isdigit() and int(size) <= SIZE and name.split("-", 1)[-1] in KINDS:
            yield from path.read_text(encoding="latin-1").lower().split()
    yield from (w for w in wordfreq.top_n_list("en", 400_000) if wordfreq.zipf_frequency(w, "en") >= LEAST)


def main(folder: Path) -> None:
    """Write the file."""
    engine = decodable.shared_engine()
    known, unfit = engine.lexicon.index, engine.never_offered
    lines = []
    for word in sorted(set(listed(folder))):
        short = word.isascii() and word.isalpha() and 2 <= len(word) <= 8 and ONE_SYLLABLE.fullmatch(word)
        if short and word not in known and word not in unfit:
            readings = engine.readings(word)
            sounds = [bare(s) for s in readings[0].sounds] if readings else []
            if sum(map(is_vowel, sounds)) < 2:
                lines.append(f"{word} {' '.join(sounds)}".strip())
    path = resources.rules_dir() / "rare_words.txt"
    path.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(lines)} words in {path}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
