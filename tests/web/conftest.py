"""An application with an empty profile, as often as asked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import decodable
from decodable.engine import Engine
from decodable.store import Store
from decodable.web.app import create_app
from tests.web.asker import HOST, TOKEN, Asker


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, compiled: None) -> Path:
    """An empty user's folder; the compiled dictionary stays where it is."""
    decodable.shared_engine()  # opened before the folder moves
    folder = tmp_path / "home"
    monkeypatch.setenv("DECODABLE_HOME", str(folder))
    return folder


@pytest.fixture
def make_asker(home: Path) -> Callable[..., Asker]:
    """Starts the application on the same folder, as often as asked."""
    shared = decodable.shared_engine()

    def make(**options: Any) -> Asker:
        engine = Engine()
        engine.__dict__["lexicon"] = shared.lexicon
        engine.__dict__["rules"] = shared.rules
        store = Store()
        return Asker(create_app(engine, store, token=TOKEN, hosts=[HOST, "localhost:8571"], **options), store)

    return make


@pytest.fixture
def ask(make_asker: Callable[..., Asker]) -> Asker:
    """The application on an empty folder."""
    return make_asker()
