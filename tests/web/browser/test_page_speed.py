"""A whole novel in the page: typing stays smooth, only what is seen is marked, only what changed is judged again.

Times are printed as ratios to the same in a short text, and held against generous limits: a key must reach the screen
within a frame or two, its mark within the time that a person takes for immediate.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from tests.web.browser.conftest import ROOT, Visit
from tests.web.browser.steps import editor, kept, marked, until

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.slow

NOVEL = ROOT.parent / "shared" / "gold" / "texts" / "wind_in_the_willows.txt"

# Notes when a key goes down, when its letter is on the screen, and when a mark of the typed word is.
WATCH = """
() => {
  window.keys = []; window.marks = [];
  const content = document.querySelector('.cm-content');
  content.addEventListener('keydown', () => {
    const at = performance.now();
    requestAnimationFrame(() => requestAnimationFrame(() => window.keys.push(performance.now() - at)));
    if (!window.since) window.since = at;
  }, true);
  new MutationObserver(() => {
    if (window.since && [...document.querySelectorAll('.cm-content .word.unknown')].some(w => w.textContent === window.wanted)) {
      window.marks.push(performance.now() - window.since); window.since = 0; window.wanted = '';
    }
  }).observe(content, {subtree: true, childList: true, characterData: true, attributes: true});
}
"""


# Notes every task that keeps the page from answering for more than a twentieth of a second.
LONG_TASKS = """
() => {
  window.tasks = [];
  new PerformanceObserver(list => list.getEntries().forEach(entry => window.tasks.push(entry.duration)))
    .observe({entryTypes: ['longtask']});
}
"""


def novel() -> str:
    """A whole novel: the measuring text where it is at hand, else one as long, made of many different words."""
    if NOVEL.is_file():
        return NOVEL.read_text(encoding="utf-8")
    people, things = (
        ("Nan", "Pip", "Mabel", "Zed", "Miss Quill"),
        ("crab", "net", "ferry", "lighthouse", "parcel", "gull"),
    )
    lines = []
    for n in range(2600):
        who, what = people[n % 5], things[n % 6]
        lines.append(
            f"{who} had {n} reasons to fetch the {what}, and read about it all night. {'It rained. ' * (n % 5)}"
        )
    return "\n\n".join(lines)


def timed(page: Page, rounds: int = 8) -> tuple[float, float]:
    """Median milliseconds from a key to its letter on the screen, and from the last key of a word to its mark."""
    page.evaluate(WATCH)
    marks: list[float] = []
    for n in range(rounds):
        word = f"xqzw{'bcdfghjk'[n]}v"
        page.keyboard.type(" " + word[:-1], delay=20)
        kept(page)
        page.evaluate(f"window.since = 0; window.wanted = {word!r}")
        page.keyboard.type(word[-1])
        until(lambda n=n: page.evaluate("window.marks.length") == n + 1)  # type: ignore[misc]
    marks = page.evaluate("window.marks")
    return statistics.median(page.evaluate("window.keys")), statistics.median(marks)


def test_a_page_is_judged_as_it_is_typed(visit: Callable[[], Visit]) -> None:
    """Three hundred words: from the key to the mark, and the server's share of it."""
    window = visit()
    page = window.open()
    editor(page).click()
    page.keyboard.insert_text(" ".join(["Nan had a big net and Pip sat on a wet log in the sun."] * 22))
    kept(page)
    key, mark = timed(page)
    server: list[float] = []
    for letter in "abcdefgh":
        with page.expect_response("**/edit") as answer:
            page.keyboard.type(letter)
        times = answer.value.request.timing
        server.append(times["responseStart"] - times["requestStart"])
        kept(page)
    share = statistics.median(server)
    print(f"\n300 words: key to screen {key:.0f} ms, key to mark {mark:.0f} ms, of that the server {share:.0f} ms")
    assert mark < 500
    assert share < 250


def test_a_novel_stays_smooth(visit: Callable[[], Visit]) -> None:
    window = visit()
    page = window.open()
    page.set_default_timeout(60_000)
    editor(page).click()
    page.keyboard.type("A short text.")
    kept(page)
    short = timed(page)
    text = novel()
    page.evaluate(LONG_TASKS)
    page.locator(".sheet input[type=file]").set_input_files(
        {"name": "novel.txt", "mimeType": "", "buffer": text.encode()}
    )
    until(lambda: page.get_by_label("Title").input_value() == "novel", 60)
    page.locator(".flagged").wait_for()
    drawn = page.locator(".cm-line").count()
    assert drawn < 200, "more lines are drawn than a screen shows"
    page.evaluate("document.querySelector('.cm-scroller').scrollTop = 1e6 / 2")
    page.wait_for_timeout(600)
    for place in range(1, 9):
        page.evaluate(f"document.querySelector('.cm-scroller').scrollTop = {place}e6 / 16")
        page.wait_for_timeout(150)
    tasks = page.evaluate("window.tasks")
    page.locator(".cm-scroller").click()
    page.keyboard.press("End")
    kept(page)
    long = timed(page)
    seen = page.locator(".cm-content .word").count()
    with window.page.expect_response("**/edit") as answer:
        page.keyboard.type("x")
    found = answer.value.json()
    size = len(answer.value.request.post_data or "")
    print(
        f"\n{len(text):,} letters, {found['figures']['counts']['tokens']['all']:,} words; {drawn} lines drawn, {seen} marks drawn"
        f"\nkey to screen: {long[0]:.0f} ms, {long[0] / short[0]:.1f} times that of a short text"
        f"\nkey to mark:   {long[1]:.0f} ms, {long[1] / short[1]:.1f} times that of a short text; {size} bytes sent a key"
        f"\nopening and scrolling: {len(tasks)} tasks over 50 ms, the longest {max(tasks, default=0):.0f} ms"
    )
    assert max(tasks, default=0) < 1000
    assert size < 1000
    assert len(found["marks"]) < 2000
    assert long[0] < 150
    assert long[1] < 700
    # every part is marked as it comes into view
    page.evaluate("document.querySelector('.cm-scroller').scrollTop = 1e7")
    page.wait_for_timeout(200)
    marked(page, "taught-whole", "").first.wait_for()
