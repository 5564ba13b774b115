"""Where the rules, the page's files and the user's own folder are: the only module that looks for them.

They stand beside the package in a checkout and an editable install, and inside it (``decodable/data``) in a wheel.
"""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

_PACKAGE = Path(__file__).resolve().parent


def _data_dir(name: str) -> Path:
    inside = _PACKAGE / "data" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def rules_dir() -> Path:
    """The folder of rule files."""
    return _data_dir("rules")


def site_dir() -> Path:
    """The folder of the web page's files."""
    return _data_dir("site")


def passages_dir() -> Path:
    """The folder of graded passages."""
    return _data_dir("passages")


def built(name: str) -> Path:
    """A compiled file that a wheel carries; in a checkout it does not exist."""
    return _PACKAGE / "data" / name


def user_dir() -> Path:
    """The user's own folder: pronunciations, names, sequences, readers. ``DECODABLE_HOME`` moves it."""
    home = os.environ.get("DECODABLE_HOME")
    return Path(home) if home else Path(platformdirs.user_data_dir("decodable", appauthor=False))


def cache_dir() -> Path:
    """Where a dictionary compiled on this machine is kept. ``DECODABLE_HOME`` moves it too."""
    home = os.environ.get("DECODABLE_HOME")
    return Path(home) / "cache" if home else Path(platformdirs.user_cache_dir("decodable", appauthor=False))
