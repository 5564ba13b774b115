"""Sequence and Readers, in the browser: shaped with the effect at once, imported, saved; readers kept and compared."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from decodable import resources
from tests.web.browser.conftest import Server
from tests.web.browser.steps import add_reader, go, kept, open_passage, type_text, until

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.slow

Shot = Callable[[Any, str], None]


def open_sequence(page: Page) -> None:
    go(page, "Sequence")
    page.locator(".step .frees small").first.wait_for()


def step(page: Page, name: str) -> Locator:
    return page.locator(".step").filter(has=page.locator(".what > b", has_text=name))


def number(page: Page, name: str) -> int:
    return int(step(page, name).locator(".number").first.inner_text())


def saved(server: Server, name: str) -> dict[str, Any]:
    return tomllib.loads((server.home / "sequences" / f"{name}.toml").read_text(encoding="utf-8"))


def test_a_sequence_is_shaped_and_saved_as_one_s_own(page: Page, server: Server, shot: Shot) -> None:
    before = (resources.rules_dir() / "sequences" / "gull-point.toml").read_bytes()
    add_reader(page, "Blue group", "th")
    go(page, "Text")
    open_passage(page)
    open_sequence(page)
    shot(page, "sequence")
    page.get_by_label("Name", exact=True).fill("Harbour school")
    # reorder
    assert number(page, "wh tch") == 18
    step(page, "wh tch").locator(".step-head").click()
    for _ in range(3):
        page.get_by_role("button", name="Move up").click()
    assert number(page, "wh tch") == 15
    page.locator(".touched").filter(has_text="Blue group").wait_for()
    assert "step 16 becomes step 17" in page.locator(".touched").inner_text()
    page.locator(".beside path.before").wait_for(state="attached")
    # rename, mark a word taught whole, take a pattern away
    page.locator(".step-form").get_by_label("Name").fill("Catch a fish")
    page.locator(".step-form").get_by_label("Words taught whole").last.fill("enough, could")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Remove wh", exact=True).click()
    # add and remove a step
    page.get_by_role("button", name="Add a step after this").click()
    until(lambda: "Patterns taught" in page.locator(".step-form").inner_text())
    page.locator(".step-form").get_by_label("Patterns taught").last.fill("zzq")
    page.keyboard.press("Enter")
    page.locator(".step-form .item.faulty .fault").filter(has_text="zzq").wait_for()
    shot(page, "sequence-fault")
    assert page.get_by_role("button", name="Save as mine").is_disabled()
    page.get_by_role("button", name="Remove zzq").click()
    page.locator(".step-form").get_by_label("Patterns taught").last.fill("ee as in see, oo as in moon")
    page.keyboard.press("Enter")
    until(lambda: page.get_by_role("button", name="Save as mine").is_enabled())
    step(page, "More sounds").or_(step(page, "i n m")).first.locator(".step-head").click()
    page.get_by_role("button", name="Remove this step").click()
    page.locator(".touched").filter(has_text="Blue group").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Save as mine").click()
    page.locator(".notice.good").filter(has_text="saved in your own folder").wait_for()
    found = saved(server, "harbour-school")["step"]
    assert found[1]["id"] == "more-sounds"
    catch = next(s for s in found if s["id"] == "wh-tch")
    assert catch["name"] == "Catch a fish"
    assert catch["words"][-2:] == ["enough", "could"]
    assert "wh" not in " ".join(catch["teach"])
    assert found[found.index(catch) + 1]["teach"] == ["ee as in see", "oo as in moon"]
    assert (resources.rules_dir() / "sequences" / "gull-point.toml").read_bytes() == before
    assert "Harbour school" in page.get_by_label("Sequence").locator("option:checked").inner_text()


def test_unsaved_changes_survive_a_reload(page: Page) -> None:
    open_sequence(page)
    page.get_by_label("Name", exact=True).fill("Half done")
    page.locator(".unsaved").wait_for()
    page.wait_for_timeout(400)
    page.reload()
    until(lambda: page.get_by_label("Name", exact=True).input_value() == "Half done")
    page.get_by_role("button", name="Leave the changes").click()
    until(lambda: page.get_by_label("Name", exact=True).input_value() == "Gull Point order")


SHEET = "step,name,teach,words\n1,First,s a t p,a\n2,Snow,ow (snow); zzq,the\n"


def test_a_spreadsheet_is_looked_at_then_taken_over(page: Page, server: Server, shot: Shot) -> None:
    open_sequence(page)
    chooser = page.locator(".sequence-screen input[type=file]")
    chooser.set_input_files({"name": "plan.xlsx", "mimeType": "", "buffer": b"PK\x03\x04 xl/workbook"})
    page.locator(".notice.bad").filter(has_text="CSV").wait_for()
    chooser.set_input_files({"name": "plan.csv", "mimeType": "text/csv", "buffer": SHEET.encode()})
    dialog = page.get_by_role("dialog")
    dialog.get_by_text("1 fault").wait_for()
    assert dialog.locator("tr.faulty td").first.inner_text() == "3"
    shot(page, "sequence-import")
    dialog.get_by_role("button", name="Take it over").click()
    until(lambda: page.locator(".step").count() == 2)
    page.locator(".step.faulty .fault").filter(has_text="zzq").wait_for()
    step(page, "Snow").locator(".step-head").click()
    page.get_by_role("button", name="Remove zzq").click()
    until(lambda: page.get_by_role("button", name="Save as mine").is_enabled())
    page.get_by_role("button", name="Save as mine").click()
    page.locator(".notice.good").filter(has_text="saved").wait_for()
    assert [s["teach"] for s in saved(server, "plan")["step"]] == [["s", "a", "t", "p"], ["ow as in snow"]]


def test_readers_are_kept_changed_compared_and_erased(page: Page, server: Server, shot: Shot) -> None:
    shot(page, "readers-empty")
    add_reader(page, "Blue group", "th")
    add_reader(page, "Mabel T.", "wh-tch")
    go(page, "Text")
    open_passage(page)
    go(page, "Readers")
    for name in ("Blue group", "Mabel T."):
        page.get_by_role("checkbox", name=name).check()
    until(lambda: page.locator(".compare tbody tr").count() == 2)
    assert "76.9 %" in page.locator(".compare tbody tr").nth(0).inner_text()
    assert "100 %" in page.locator(".compare tbody tr").nth(1).inner_text()
    shot(page, "readers-compare")
    page.get_by_role("button", name="Change Blue group").click()
    page.get_by_label("Patterns known beside the sequence").last.fill("tch, zzq")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".item.faulty .fault").filter(has_text="zzq").wait_for()
    page.get_by_role("button", name="Remove zzq").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    until(lambda: "95 %" in page.locator(".compare tbody tr").nth(0).inner_text())
    page.reload()
    go(page, "Readers")
    until(lambda: page.locator(".compare tbody tr").count() == 2)
    assert "Mabel T." in page.locator(".page-head option:checked").inner_text()
    page.get_by_role("button", name="Show the text for Blue group").click()
    until(lambda: "Blue group" in page.locator(".page-head option:checked").inner_text())
    go(page, "Readers")
    page.get_by_role("button", name="Change Mabel T.").click()
    page.get_by_role("button", name="Erase this reader").click()
    until(lambda: page.locator(".reader").count() == 1)
    assert [p.name for p in (server.home / "readers").iterdir()] == ["blue-group.toml"]


def test_a_copy_of_everything(page: Page) -> None:
    type_text(page, "The crab ran.")
    kept(page)
    go(page, "Readers")
    with page.expect_download() as copy:
        page.get_by_role("button", name="Download a copy of everything").click()
    assert copy.value.suggested_filename == "decodable.zip"
    assert copy.value.path().read_bytes()[:2] == b"PK"
