"""Reports and texts written out in Markdown: they say what the report says, and read back as they were."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import decodable
from decodable.describe import in_words
from decodable.text import tokenize
from decodable.written import band, report_page, text_page

LINES = (
    "Pip sat.",
    "# 1 crab",
    "- Nan ran",
    "  * up",
    "1. One",
    "2) Two",
    "    code & all",
    "<b>Bold</b> &amp; [net](x)",
    "===",
    "---",
    "> Ahoy",
    "~~a~~ `b` _c_ **d**",
    "| a | b |",
    "![x]",
    "+ plus",
    "back\\slash",
    "",
)


def spoken(text: str, *, markdown: bool) -> list[str]:
    tokens = tokenize(text, markdown=markdown)
    return [tokens.types[tokens.type_id[n]].text for n in tokens.word_indices()]


@settings(max_examples=300, deadline=None)
@given(lines=st.lists(st.sampled_from(LINES), max_size=8))
def test_a_plain_text_saved_as_markdown_reads_as_it_did(lines: list[str]) -> None:
    text = "\n".join(lines)
    assert spoken(text_page("Test", text, False, None), markdown=True) == spoken(text, markdown=False)


@pytest.mark.parametrize("title", ["The crab", 'A "crab": it # ran', "---", "\N{CRAB}"])
def test_the_title_stands_in_the_front_matter(title: str) -> None:
    reader = decodable.reader("gull-point", "sh")
    page = text_page(title, "It ran.", False, reader)
    assert page.startswith("---\ntitle: ")
    assert "sequence: gull-point\nstep: sh\n---\n\nIt ran.\n" in page
    assert spoken(page, markdown=True) == ["It", "ran"]


def test_markdown_is_saved_as_it_is() -> None:
    text = "---\ntitle: Fetch!\n---\n\n# Fetch!\n"
    assert text_page("Other", text, True, None) == text


def test_the_report_page_has_the_report_s_figures() -> None:
    report = decodable.check("Patch had *a* net. Xqzw | ran to Patch.", decodable.reader("gull-point", "th"))
    page = report_page("A [net]", report)
    assert page.startswith("# A \\[net\\]\n\nGull Point order, step 16 (th).\n")
    assert "* 8 words, 7 different: 3 decodable, 2 taught whole, 2 later, 1 unknown" in page
    assert f"Readable: {report.readable_share:.1%}" in page
    assert "| Patch | 2 | tch as in catch: Not taught yet. It comes at step 18 (wh tch). | step 18 (wh tch) |" in page
    assert "| Xqzw | 1 | how it is said is not known |  |" in page
    assert "| tch as in catch | 2: patch |" in page


def test_an_empty_text_has_a_page() -> None:
    assert "No words." in report_page("Nothing", decodable.check("", decodable.reader("gull-point", 1)))


@pytest.mark.parametrize(
    ("share", "label"),
    [
        (1.0, "to read alone"),
        (0.95, "to read alone"),
        (0.949, "with an adult"),
        (0.9, "with an adult"),
        (0.89, "to be read aloud to the child"),
    ],
)
def test_bands(share: float, label: str) -> None:
    assert band(share) == label


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("mat", "Every pattern in it has been taught."),
        ("the", "It is taught as a whole word."),
        ("42", "An adult says this one"),
        ("Xaqi", "a name that this reader knows"),
        ("patch", "from step 18 (wh tch)"),
        ("xqzw", "How is it said?"),
        ("zog", "Every letter has one likely sound"),
    ],
)
def test_a_verdict_in_words(text: str, wanted: str) -> None:
    report = decodable.check(text, decodable.reader("gull-point", "th", names=["Xaqi"]))
    assert wanted in in_words(report, report.word(0))
