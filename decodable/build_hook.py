"""Compiles the dictionary into the wheel, so that an installed package needs neither its sources nor half a minute."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CustomBuildHook(BuildHookInterface[Any]):
    """Called by hatchling for each target."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Add the compiled dictionary to an ordinary wheel; an editable install compiles it when first needed."""
        if self.target_name != "wheel" or version != "standard":
            return
        sys.path.insert(0, self.root)
        try:
            from decodable.lexicon import compile_lexicon, save_lexicon
        finally:
            sys.path.remove(self.root)
        path = Path(tempfile.mkdtemp()) / "lexicon.npz"
        save_lexicon(compile_lexicon(Path(self.root) / "rules"), path)
        build_data["force_include"][str(path)] = "decodable/data/lexicon.npz"
