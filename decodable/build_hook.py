"""Compiles dictionary and vocabulary into the wheel, so that an installed package needs neither sources nor time."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CustomBuildHook(BuildHookInterface[Any]):
    """Called by hatchling for each target."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Add the compiled files to an ordinary wheel; an editable install compiles it when first needed."""
        if self.target_name != "wheel" or version != "standard":
            return
        sys.path.insert(0, self.root)
        try:
            from decodable.accents import accent_codes
            from decodable.compiling import compile_lexicon
            from decodable.lexicon import Lexicon, load_rules, save_lexicon
            from decodable.never_offered import load_never_offered
            from decodable.unknown import WordFinder
            from decodable.vocabulary import load_vocabulary
            from decodable.word_table import compile_words, words_digest, words_file
        finally:
            sys.path.remove(self.root)
        folder = Path(tempfile.mkdtemp())
        columns = compile_lexicon(Path(self.root) / "rules")
        save_lexicon(columns, folder / "lexicon.npz")
        # The user's folder of whoever builds has no say: in its place stands one with nothing in it.
        nobody, lexicon, rules = folder / "nobody", Lexicon(columns), load_rules(Path(self.root) / "rules")
        vocabulary = load_vocabulary(load_never_offered(own=nobody / "never_offered.toml"), own=nobody)
        digest = words_digest(lexicon.meta["digest"], nobody)
        names = ["lexicon.npz"]
        for accent in accent_codes(Path(self.root) / "rules"):
            finder = WordFinder(rules, lexicon.in_accent(accent), {})
            words = compile_words(vocabulary, finder.readings, lexicon.frequency, rules, digest)
            names.append(words_file(accent))
            save_lexicon(words, folder / names[-1])
        for name in names:
            build_data["force_include"][str(folder / name)] = f"decodable/data/{name}"
