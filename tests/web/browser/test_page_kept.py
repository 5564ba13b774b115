"""Nothing is lost: a reload, a restart, a crash, another window, a text that can't be sent."""

from __future__ import annotations

import signal
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from tests.web.browser.conftest import Server, Visit
from tests.web.browser.steps import add_reader, editor, go, kept, open_passage, type_text, until, words

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.slow

TEXT = "The gull sat on the quay."


def test_a_reload(page: Page) -> None:
    type_text(page, TEXT)
    kept(page)
    page.reload()
    until(lambda: words(page) == TEXT)


def test_going_to_another_screen_and_back(page: Page) -> None:
    open_passage(page)
    page.evaluate("document.querySelector('.cm-scroller').scrollTop = 500")
    page.wait_for_timeout(200)
    go(page, "Sequence")
    go(page, "Text")
    until(lambda: abs(page.evaluate("document.querySelector('.cm-scroller').scrollTop") - 500) < 40)
    editor(page).focus()
    page.keyboard.press("Control+Home")
    page.keyboard.type("x")
    page.keyboard.press("Control+z")
    kept(page)
    assert not words(page).startswith("x")


def test_a_restart_of_the_server(visit: Callable[[], Visit], server: Server) -> None:
    window = visit()
    page = window.open()
    add_reader(page, "Blue group", "sh")
    go(page, "Text")
    type_text(page, TEXT)
    kept(page)
    window.quiet = True
    server.stop()
    server.start()
    window.open()
    until(lambda: words(page) == TEXT)
    assert "Blue group" in page.get_by_label("Reader").locator("option:checked").inner_text()


def test_a_crash_of_the_server_while_typing(visit: Callable[[], Visit], server: Server) -> None:
    window = visit()
    page = window.open()
    type_text(page, TEXT)
    kept(page)
    window.quiet = True
    server.stop(signal.SIGKILL)
    type_text(page, " It slept.")
    page.locator(".kept-away").filter(has_text="decodable serve").wait_for()
    server.start()
    window.open()  # the same tab: what was not sent is still there
    until(lambda: "It slept." in words(page))
    kept(page)
    assert TEXT in words(page).replace(" It slept.", "")


def test_a_page_that_stays_open_over_a_crash_goes_on(visit: Callable[[], Visit], server: Server) -> None:
    first = visit()
    page = first.open()
    type_text(page, TEXT)
    kept(page)
    first.quiet = True
    server.stop(signal.SIGKILL)
    editor(page).press("Control+End")
    page.keyboard.type(" It slept.")
    page.locator(".kept-away").wait_for()
    server.start()
    second = visit()
    second.quiet = True
    second.open()  # brings the token of the new launch
    kept(page)
    second.page.reload()
    until(lambda: words(second.page) == f"{TEXT} It slept.")


def test_two_windows_on_one_text_lose_nothing(visit: Callable[[], Visit]) -> None:
    one, two = visit(), visit()
    type_text(one.open(), TEXT)
    kept(one.page)
    two.open()
    until(lambda: words(two.page) == TEXT)
    one.quiet = two.quiet = True
    editor(two.page).press("Control+End")
    two.page.keyboard.type(" Two.")
    kept(two.page)
    editor(one.page).press("Control+End")
    one.page.keyboard.type(" One.")
    one.page.locator(".notice.bad").filter(has_text="kept copy").wait_for()
    kept(one.page)
    assert words(one.page) == f"{TEXT} One."
    two.page.reload()
    until(lambda: len(two.page.get_by_role("button", name="Kept").all()) > 0)
    one.page.get_by_role("button", name="Kept").click()
    one.page.locator(".menu-list").get_by_role("button", name="Untitled", exact=True).click()
    until(lambda: words(one.page) == f"{TEXT} Two.")


def test_a_page_without_the_token_says_where_to_go(visit: Callable[[], Visit], server: Server) -> None:
    window = visit()
    window.quiet = True
    window.page.goto(server.base)
    window.page.get_by_role("alert").filter(has_text="decodable serve").wait_for()


def test_the_token_does_not_stay_in_the_address(page: Page, server: Server) -> None:
    assert page.url == f"{server.base}/"


def test_everything_is_forgotten_in_one_action(page: Page, server: Server) -> None:
    add_reader(page, "Blue group", "sh")
    go(page, "Text")
    type_text(page, TEXT)
    kept(page)
    page.locator(".shares").wait_for()
    page.wait_for_timeout(600)  # the lists beside the text
    go(page, "Readers")
    page.get_by_role("button", name="Forget everything").click()
    page.get_by_role("dialog").get_by_role("button", name="Forget everything").click()
    page.locator(".notice.good").filter(has_text="forgotten").wait_for()
    assert page.locator(".reader").count() == 0
    go(page, "Text")
    assert "quay" not in words(page)
    files = [p for p in server.home.rglob("*") if p.is_file() and "cache" not in p.relative_to(server.home).parts]
    assert files == []
