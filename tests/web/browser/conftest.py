"""The page in a real browser: a server of its own on an empty folder for each test, and Chromium.

Where the browser is not installed the tests skip, saying so; with ``CI`` set they fail instead. Screenshots go to
``artefacts/``.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Dialog, Page

ROOT = Path(__file__).parents[3]
ARTEFACTS = ROOT / "artefacts"
AXE = ROOT / "site" / "node_modules" / "axe-core" / "axe.min.js"
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()


def missing(what: str) -> None:
    """Skip, or fail where everything must be there."""
    if os.environ.get("CI"):
        pytest.fail(f"{what} is not installed")
    pytest.skip(f"{what} is not installed")


@dataclass
class Server:
    """A server in a process of its own, with its folder."""

    home: Path
    port: int = 0
    url: str = ""
    process: subprocess.Popen[str] | None = None

    def start(self) -> Server:
        """Start it, on the same port as before if there was one."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "decodable", "serve", "--port", str(self.port), "--no-browser"],
            env={**os.environ, "DECODABLE_HOME": str(self.home), "PYTHONPATH": str(ROOT)},
            cwd=self.home,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        assert self.process.stdout
        for line in self.process.stdout:
            if found := re.search(r"http://127\.0\.0\.1:(\d+)/#token=\S+", line):
                self.url, self.port = found.group(0), int(found.group(1))
                return self
        raise AssertionError("the server did not start")

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        if self.process:
            self.process.send_signal(how)
            assert self.process.stdout
            rest = self.process.stdout.read()
            left = self.process.wait(timeout=20)
            self.process.stdout.close()
            assert "Traceback" not in rest, rest
            assert how == signal.SIGKILL or left == 0, rest
            self.process = None


@pytest.fixture
def server(tmp_path: Path, compiled: None) -> Iterator[Server]:
    """A server on an empty folder, the compiled dictionary beside it."""
    home = tmp_path / "home"
    home.mkdir()
    (home / "cache").symlink_to(Path(os.environ["DECODABLE_HOME"]) / "cache", target_is_directory=True)
    made = Server(home).start()
    yield made
    made.stop()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if not path:
        missing("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield found
        found.close()


@dataclass
class Visit:
    """One window on the page, and everything that went wrong in it."""

    page: Page
    server: Server
    troubles: list[str] = field(default_factory=list)
    quiet: bool = False

    def open(self) -> Page:
        """Go to the address that the server showed, and wait for the page."""
        self.page.goto("about:blank")  # the address differs from the last only behind the #
        self.page.goto(self.server.url)
        self.page.locator(".page-head").wait_for()
        return self.page


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A browser profile that has seen nothing."""
    made = browser.new_context(viewport={"width": 1280, "height": 800}, accept_downloads=True)
    made.set_default_timeout(40_000)
    yield made
    made.close()


@pytest.fixture
def visit(context: BrowserContext, server: Server) -> Iterator[Callable[[], Visit]]:
    """Opens windows; fails in the end if any met an error, a broken policy, or asked elsewhere than here."""
    made: list[Visit] = []

    def new() -> Visit:
        page = context.new_page()
        found = Visit(page, server)
        made.append(found)

        def tell(kind: str, text: str) -> None:
            if not found.quiet:
                found.troubles.append(f"{kind}: {text}")

        def answer(dialog: Dialog) -> None:
            if dialog.type != "beforeunload":
                tell("dialog", dialog.message)
            dialog.accept()

        page.on("pageerror", lambda error: tell("error", str(error)))
        # A refusal (400) is shown by the page; the browser notes it, too.
        page.on(
            "console",
            lambda m: (
                tell(m.type, m.text) if m.type in ("error", "warning") and "status of 400" not in m.text else None
            ),
        )
        page.on("dialog", answer)
        page.on(
            "request", lambda r: None if r.url.startswith((server.base, "blob:", "about:")) else tell("asked", r.url)
        )
        return found

    yield new
    for found in made:
        assert found.troubles == []


@pytest.fixture
def page(visit: Callable[[], Visit]) -> Page:
    """The page, opened for the first time."""
    return visit().open()


@pytest.fixture
def shot(request: pytest.FixtureRequest) -> Callable[[Any, str], None]:
    """Keeps a picture of the page in ``artefacts/``."""

    def take(page: Page, name: str) -> None:
        ARTEFACTS.mkdir(exist_ok=True)
        page.screenshot(path=ARTEFACTS / f"{name}.png")

    return take


@pytest.fixture(scope="session")
def axe() -> str:
    """The accessibility checker."""
    if not AXE.is_file():
        missing("axe-core (cd site && npm ci)")
    return AXE.read_text(encoding="utf-8")
