"""What a person does in the page, said once."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

PASSAGES = Path(__file__).parents[3] / "passages"


def go(page: Page, screen: str) -> None:
    page.get_by_role("navigation").get_by_role("button", name=screen, exact=True).click()


def editor(page: Page) -> Locator:
    return page.locator(".cm-content")


def words(page: Page) -> str:
    """The text in the editor, lines joined."""
    return "\n".join(page.locator(".cm-line").all_inner_texts())


def type_text(page: Page, text: str) -> None:
    editor(page).click()
    page.keyboard.type(text)


def kept(page: Page) -> None:
    """Wait until the program has every key."""
    page.locator(".foot .kept-kept").filter(has_text="Kept").wait_for()


def open_passage(page: Page, name: str = "fetch.md") -> None:
    page.locator(".sheet input[type=file]").set_input_files(PASSAGES / name)
    page.locator(".shares").wait_for()
    kept(page)


def add_reader(page: Page, name: str, step: str) -> None:
    go(page, "Readers")
    page.get_by_role("button", name="Add a reader").click()
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Step reached").select_option(step)
    page.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".reader h2").filter(has_text=name).wait_for()


def marked(page: Page, verdict: str, text: str) -> Locator:
    """The words of the text with a verdict."""
    return page.locator(f".cm-content .word.{verdict}").filter(has_text=text)


def until(holds: Callable[[], bool], seconds: float = 40) -> None:
    """Wait until something holds."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.03)
