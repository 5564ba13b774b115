"""For everyone: no fault that the accessibility checker finds, in both themes and three sizes; all by keyboard."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from tests.web.browser.conftest import Server, Visit
from tests.web.browser.steps import add_reader, go, marked, open_passage, type_text, until, words

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.slow

Shot = Callable[[Any, str], None]
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def faults(page: Page, axe: str) -> list[str]:
    page.evaluate(axe)
    found = page.evaluate(f"axe.run(document, {{runOnly: {json.dumps(RULES)}}})")
    assert found["passes"]
    return [f"{v['id']}: {n['target']} {n['failureSummary']}" for v in found["violations"] for n in v["nodes"]]


SIZES = {"wide": (1280, 800), "tablet": (820, 1180), "phone": (390, 844)}


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_no_screen_has_a_fault(visit: Callable[[], Visit], axe: str, theme: str, size: str, shot: Shot) -> None:
    window = visit()
    window.page.set_viewport_size({"width": SIZES[size][0], "height": SIZES[size][1]})
    window.page.emulate_media(color_scheme="light" if theme == "light" else "dark", reduced_motion="reduce")
    page = window.open()
    found: dict[str, list[str]] = {"first": faults(page, axe)}

    def look(name: str) -> None:
        page.wait_for_timeout(250)
        shot(page, f"{size}-{theme}-{name}")
        found[name] = faults(page, axe)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{name} is {wide} px wider than the window"

    look("text-empty")
    add_reader(page, "Blue group", "th")
    add_reader(page, "Mabel T.", "wh-tch")
    page.get_by_role("button", name="Change Mabel T.").click()
    look("readers-form")
    page.get_by_role("button", name="Leave it").click()
    go(page, "Text")
    open_passage(page)
    page.locator(".cm-content").press("Control+End")
    page.keyboard.type('\n\nPip could see the lighthouse. "Xqzwv is a quokka," said Zoe. 42 crabs on TV.')
    marked(page, "unknown", "Xqzwv").wait_for()
    page.locator(".flagged").wait_for()
    look("text")
    page.get_by_label("Step to judge by").fill("30")
    marked(page, "unknown", "Xqzwv").click()
    page.locator("#word-card").wait_for()
    look("text-word")
    page.get_by_role("button", name="Save").click()
    look("text-menu")
    page.keyboard.press("Escape")
    go(page, "Sequence")
    page.locator(".step .frees small").first.wait_for()
    look("sequence")
    page.locator(".step-head").nth(2).click()
    page.locator(".step-form").get_by_label("Patterns taught").last.fill("zzq")
    page.keyboard.press("Enter")
    page.locator(".step-form .fault").wait_for()
    look("sequence-step")
    go(page, "Readers")
    for name in ("Blue group", "Mabel T."):
        page.get_by_role("checkbox", name=name).check()
    until(lambda: page.locator(".compare tbody tr").count() == 2)
    look("readers")
    page.get_by_role("button", name="Forget everything").click()
    look("dialog")
    assert {name: list_ for name, list_ in found.items() if list_} == {}


def focused(page: Page) -> str:
    return str(
        page.evaluate(
            "() => { const e = document.activeElement; "
            "return e.getAttribute('aria-label') || e.labels?.[0]?.innerText || e.innerText || e.tagName; }"
        )
    )


def tab_to(page: Page, name: str, most: int = 80) -> None:
    """Press Tab until something of this name has the focus."""
    for _ in range(most):
        if focused(page).strip().startswith(name):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab does not reach {name!r}; the focus is on {focused(page)!r}")


def test_everything_by_keyboard_alone(visit: Callable[[], Visit]) -> None:
    page = visit().open()
    # a reader
    tab_to(page, "Readers")
    page.keyboard.press("Enter")
    tab_to(page, "Add a reader")
    page.keyboard.press("Enter")
    until(lambda: focused(page).strip().startswith("Name"))
    page.keyboard.type("Blue group")
    tab_to(page, "Step reached")
    page.keyboard.type("16.")
    tab_to(page, "Keep")
    page.keyboard.press("Enter")
    page.locator(".reader").wait_for()
    assert "step 16, th" in page.locator(".reader").inner_text()
    # a text, its flagged word, its card
    page.keyboard.press("Control+Home")
    page.locator("body").press("Tab")
    tab_to(page, "Text")
    page.keyboard.press("Enter")
    tab_to(page, "The text")
    page.keyboard.type("Nan had a dog, Patch.")
    marked(page, "later", "Patch").wait_for()
    page.keyboard.press("F8")
    page.locator("#word-card").get_by_role("heading", name="Patch").wait_for()
    assert "later" in page.locator("[aria-live=polite]").last.inner_text()
    page.keyboard.press("Control+Enter")
    tab_to(page, "Told", 8)
    page.keyboard.press("Enter")
    marked(page, "told", "Patch").wait_for()
    page.keyboard.press("Escape")
    until(lambda: focused(page) == "The text")
    page.keyboard.press("Control+End")
    page.keyboard.type(" It is Pip.")
    # out of the editor, on to the step
    page.keyboard.press("Tab")
    tab_to(page, "Step to judge by")
    page.keyboard.press("ArrowLeft")
    page.locator(".look").filter(has_text="Judged at step 15").wait_for()
    # a step of the sequence moved and saved
    tab = page.get_by_role("navigation").get_by_role("button", name="Sequence")
    tab.focus()
    page.keyboard.press("Enter")
    page.locator(".step .frees small").first.wait_for()
    page.locator(".step-head").nth(3).focus()
    page.keyboard.press("Alt+ArrowUp")
    until(lambda: page.locator(".step-head").nth(2).locator(".what > b").inner_text() == "g o")
    assert "g o" in focused(page)
    page.locator(".unsaved").wait_for()
    tab_to(page, "Undo", 200)
    page.keyboard.press("Enter")
    page.locator(".unsaved").wait_for(state="detached")


def test_the_focus_is_always_seen(visit: Callable[[], Visit]) -> None:
    page = visit().open()
    add_reader(page, "Blue group", "th")
    for screen in ("Text", "Sequence", "Readers"):
        go(page, screen)
        page.wait_for_timeout(300)
        for _ in range(12):
            page.keyboard.press("Tab")
            page.wait_for_timeout(40)  # the editor shows its focus a moment later
            seen = page.evaluate(
                "() => { const e = document.activeElement; const s = getComputedStyle(e.closest('.cm-editor') || e); "
                "const b = e.getBoundingClientRect(); return [s.outlineStyle, parseFloat(s.outlineWidth), b.width]; }"
            )
            if page.evaluate("document.activeElement === document.body"):
                continue  # around the end
            assert seen[0] != "none", focused(page)
            assert seen[1] >= 2, focused(page)


def test_touch_targets_are_large_enough(visit: Callable[[], Visit]) -> None:
    page = visit().open()
    type_text(page, "Xqzwv and Patch ran.")
    page.locator(".flagged").wait_for()
    for screen in ("Text", "Sequence", "Readers"):
        go(page, screen)
        page.wait_for_timeout(400)
        small = page.evaluate(
            "() => [...document.querySelectorAll('button, select, input:not([type=checkbox], [hidden])')]"
            ".filter(e => e.checkVisibility()).map(e => [e.getBoundingClientRect(), e.innerText || e.tagName])"
            ".filter(([b]) => b.height < 24 || b.width < 24).map(([b, t]) => `${t} ${b.width} ${b.height}`)"
        )
        assert small == []


def test_a_tap_on_a_tablet_shows_a_word(browser: Browser, server: Server) -> None:
    context = browser.new_context(has_touch=True, viewport={"width": 820, "height": 1180})
    page = context.new_page()
    page.goto(server.url)
    page.get_by_label("Or begin with a page from Gull Point").select_option("Fetch!")
    page.locator(".shares").wait_for()
    page.locator(".cm-line", has_text="Nan had a dog").tap(position={"x": 12, "y": 12})
    page.locator("#word-card").get_by_role("heading", name="Nan").wait_for()
    page.get_by_role("button", name="Told").tap()
    marked(page, "told", "Nan").first.wait_for()
    context.close()


def test_letters_are_those_for_young_readers_and_never_joined(visit: Callable[[], Visit]) -> None:
    page = visit().open()
    type_text(page, "off the fifth cliff")
    until(lambda: words(page) == "off the fifth cliff")
    style = page.evaluate(
        "() => { const s = getComputedStyle(document.querySelector('.cm-line')); return [s.fontFamily, s.fontVariantLigatures]; }"
    )
    assert style[0].startswith("Andika")
    assert style[1] == "none"
    assert page.evaluate(
        "document.fonts.ready.then(() => [...document.fonts].some(f => f.family === 'Andika' && f.status === 'loaded'))"
    )


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_theme_is_chosen_and_kept(browser: Browser, visit: Callable[[], Visit], theme: str) -> None:
    page = visit().open()
    page.emulate_media(color_scheme="dark" if theme == "light" else "light")
    button = page.get_by_role("button", name="Dark")
    page.reload()
    button.wait_for()
    button.click()
    until(lambda: page.evaluate("getComputedStyle(document.documentElement).colorScheme") == theme)
    page.reload()
    button.wait_for()
    until(lambda: page.evaluate("getComputedStyle(document.documentElement).colorScheme") == theme)
