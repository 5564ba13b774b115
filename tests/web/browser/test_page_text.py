"""Text, in the browser: judged as it is typed, explained by word, judged by step, opened and saved."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from tests.web.browser.steps import (
    PASSAGES,
    add_reader,
    editor,
    go,
    kept,
    marked,
    open_passage,
    type_text,
    until,
    words,
)

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

pytestmark = pytest.mark.slow

Shot = Callable[[Any, str], None]


def test_words_are_judged_as_they_are_typed(page: Page, shot: Shot) -> None:
    shot(page, "text-empty")
    type_text(page, "Pip ran to the ship. Xqzwv sat. TV")
    marked(page, "unknown", "Xqzwv").wait_for()
    marked(page, "told", "TV").wait_for()
    assert (
        page.locator(".shares").get_by_role("row", name=re.compile("^unknown")).locator("td").first.inner_text() == "1"
    )
    page.keyboard.type("s")  # TVs
    kept(page)
    for _ in range(10):
        page.keyboard.press("Backspace")
    until(lambda: marked(page, "told", "TV").count() == 0)


def test_a_page_from_gull_point_to_begin_with(page: Page) -> None:
    page.get_by_label("Or begin with a page from Gull Point").select_option("Fetch!")
    until(lambda: "Patch" in words(page))
    page.locator(".shares").wait_for()
    assert page.get_by_label("Title").input_value() == "Fetch!"


def test_a_word_says_why_and_when(page: Page, shot: Shot) -> None:
    add_reader(page, "Blue group", "th")
    go(page, "Text")
    open_passage(page)
    word = marked(page, "later", "Patch").first
    assert word.locator(".missing").inner_text() == "tch"
    word.click()
    card = page.locator("#word-card")
    card.get_by_role("heading", name="Patch").wait_for()
    assert card.locator(".letters li b").all_inner_texts() == ["P", "a", "tch"]
    assert "as in catch" in card.locator(".letters .lacks").inner_text()
    assert "step 18 (wh tch)" in card.inner_text()
    shot(page, "text-word")
    card.get_by_role("button", name="Taught whole").click()
    until(lambda: marked(page, "later", "Patch").count() == 0)
    until(lambda: marked(page, "taught-whole", "Patch").count() > 2)
    card.get_by_role("button", name="Taught whole").click()
    until(lambda: marked(page, "later", "Patch").count() > 2)
    card.get_by_role("button", name="Told").click()
    marked(page, "told", "Patch").first.wait_for()


def test_said_like_and_a_name_they_know(page: Page) -> None:
    type_text(page, "Then Xaqi met Vrel.")
    marked(page, "unknown", "Xaqi").click()
    page.locator("#word-card").get_by_role("heading", name="Xaqi").wait_for()
    page.get_by_role("button", name="A name they know").click()
    marked(page, "name", "Xaqi").wait_for()
    assert "My reader" in page.get_by_label("Reader").locator("option:checked").inner_text()
    editor(page).locator(".cm-line").click(position={"x": 5, "y": 10})
    page.locator("#word-card").get_by_role("heading", name="Then").wait_for()
    page.get_by_label("Said like").fill("men")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".notice.good").filter(has_text="said like").wait_for()
    page.get_by_role("button", name="As before").click()
    page.locator(".notice.good").filter(has_text="as before").wait_for()
    page.get_by_label("Said like").fill("zzzq")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".notice.bad").filter(has_text="zzzq").wait_for()


def test_a_click_on_a_step_judges_by_it(page: Page, shot: Shot) -> None:
    add_reader(page, "Blue group", "th")
    go(page, "Text")
    open_passage(page)
    assert "76.9 %" in page.locator(".big").inner_text()
    water = page.locator(".tide svg")
    box = water.bounding_box()
    assert box
    water.click(position={"x": box["width"] * 17.5 / 59, "y": 40})
    page.locator(".look").filter(has_text="Judged at step 18. Blue group is at step 16.").wait_for()
    until(lambda: "100 %" in page.locator(".big").inner_text())
    shot(page, "text-step")
    page.get_by_role("button", name="Back to step 16").click()
    until(lambda: "76.9 %" in page.locator(".big").inner_text())
    page.get_by_label("Step to judge by").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Move Blue group here").click()
    until(lambda: "step 18" in page.get_by_label("Reader").locator("option:checked").inner_text())
    until(lambda: "100 %" in page.locator(".big").inner_text())
    go(page, "Readers")
    page.get_by_role("button", name="Change Blue group").click()
    page.get_by_label("Step reached").select_option("th")
    page.get_by_role("button", name="Keep", exact=True).click()
    go(page, "Text")
    until(lambda: "76.9 %" in page.locator(".big").inner_text())
    marked(page, "later", "Patch").first.wait_for()


def test_flagged_words_by_how_often_and_what_to_teach_first(page: Page) -> None:
    add_reader(page, "Blue group", "th")
    go(page, "Text")
    open_passage(page)
    first = page.locator(".flagged tbody tr").first
    first.wait_for()
    assert first.locator("td").first.inner_text() == "11"
    first.get_by_role("button").click()
    page.locator("#word-card").get_by_role("heading", name="Patch").wait_for()
    assert page.locator(".gains li").first.locator("b").inner_text() == "tch as in catch"
    assert "then 95 % readable" in page.locator(".gains li").first.inner_text()


def test_files_are_opened_dropped_and_saved(page: Page, context: BrowserContext) -> None:
    open_passage(page)
    assert page.get_by_label("Title").input_value() == "Fetch!"
    transfer = page.evaluate_handle(
        "() => { const t = new DataTransfer(); t.items.add(new File(['A crab ran.'], 'crab.txt')); return t; }"
    )
    page.dispatch_event(".cm-content", "drop", {"dataTransfer": transfer})
    until(lambda: page.get_by_label("Title").input_value() == "crab")
    assert words(page) == "A crab ran."
    page.get_by_role("button", name="Kept").click()
    page.locator(".menu-list").get_by_role("button", name="Fetch!").click()
    until(lambda: "Patch" in words(page))
    page.get_by_role("button", name="Save").click()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Text as Markdown").click()
    assert saved.value.suggested_filename == "Fetch.md"
    assert saved.value.path().read_text(encoding="utf-8") == (PASSAGES / "fetch.md").read_text(encoding="utf-8")
    page.get_by_role("button", name="Save").click()
    with page.expect_download() as report:
        page.get_by_role("button", name="Report as Markdown").click()
    assert "* 160 words, 59 different" in report.value.path().read_text(encoding="utf-8")
    context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_role("button", name="Save").click()
    page.get_by_role("button", name="Copy the report").click()
    page.locator(".notice.good").filter(has_text="copied").wait_for()
    assert "* 160 words, 59 different" in page.evaluate("navigator.clipboard.readText()")


def test_a_file_that_is_no_text_is_refused_and_the_text_stays(page: Page) -> None:
    type_text(page, "The crab ran.")
    kept(page)
    page.locator(".sheet input[type=file]").set_input_files({"name": "b.pdf", "mimeType": "", "buffer": b"%PDF-1.7"})
    page.locator(".notice.bad").filter(has_text="a PDF file").wait_for()
    assert words(page) == "The crab ran."


HOSTILE = '<img src=x onerror="alert(1)"> <script>alert(2)</script> &amp; <b>Patch</b>'


def test_markup_in_a_text_is_shown_as_text(page: Page) -> None:
    add_reader(page, HOSTILE, "th")
    go(page, "Text")
    type_text(page, HOSTILE)
    kept(page)
    page.get_by_label("Title").fill(HOSTILE)
    page.keyboard.press("Enter")
    page.get_by_label("Title").blur()
    marked(page, "later", "Patch").click()
    page.locator("#word-card").get_by_role("heading", name="Patch").wait_for()
    page.locator(".flagged tbody tr").first.wait_for()
    assert words(page) == HOSTILE
    for screen in ("Sequence", "Readers", "Text"):
        go(page, screen)
        page.wait_for_timeout(300)
        assert page.locator("img[src=x], main script, main b:text-is('Patch') script").count() == 0
    assert page.locator(".page-head option:checked").inner_text().startswith("<img")
