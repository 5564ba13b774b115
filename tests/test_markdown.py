"""Markdown to plain text: what a reader sees, and where each code point of it stands."""

from __future__ import annotations

import time
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from decodable.markdown import Plain, plain

# id, source, plain text
CASES = [
    ("plain", "Pip sat.", "Pip sat."),
    ("emphasis", "a *b* **c** ***d*** _e_", "a b c d e"),
    ("emphasis-inside-a-word", "S**a**m, un*frigging*seen", "Sam, unfriggingseen"),
    ("underscore-inside-a-word", "snake_case_name", "snake_case_name"),
    ("stars-that-are-none", "2 * 3 * 4 ** a", "2 * 3 * 4 ** a"),
    ("link", '[the *ferry*](http://a.b "Go") left', "the ferry left"),
    ("link-by-reference", "[quay][q] [q]\n\n[q]: http://a.b", "quay q"),
    ("brackets-that-are-none", "[a] (b) [c", "[a] (b) [c"),
    ("bare-link", "see <http://a.b> now", "see   now"),
    ("picture", "a![crab *x*](c.png)b", "a b"),
    ("code", "a`code`b", "a b"),
    ("fenced", "a\n\n```py\nx = 1\n```\n\n~~~\ny\n~~~\nb", "a\n\nb"),
    ("indented-code", "a\n\n    x = 1\n\nb", "a\n\nb"),
    ("entities", "Tom &amp; caf&eacute; &#65;&#x42; &nope;", "Tom & café AB &nope;"),
    ("escapes", r"\*not\* 1\. \a \\", r"*not* 1. \a " + "\\"),
    ("soft-break", "one \ntwo\n   three", "one\ntwo\nthree"),
    ("hard-breaks", "one  \ntwo\\\nthree", "one\ntwo\nthree"),
    ("comment", "a<!-- b -->c", "ac"),
    ("tags", "S<b>a</b>m one<br>two", "Sam one\ntwo"),
    ("inline-script", "a <script>b</script> c", "a  c"),
    ("heading", "# Gull *Point* #\n\n## The ferry", "Gull Point\n\nThe ferry"),
    ("heading-right-above", "# a\nb", "a\nb"),
    ("heading-underlined", "Gull\nPoint\n===\nb\n---", "Gull\nPoint\n\nb"),
    ("empty-heading", "#\n\na", "a"),
    ("list", "- a\n- b\n  c\n\n1. d\n2) e", "a\n\nb\nc\n\nd\n\ne"),
    ("list-of-lists", "- a\n  - b\n\n    c", "a\n\nb\n\nc"),
    ("quote", "> a\n> *b*\nc\n>\n> d", "a\nb\nc\n\nd"),
    ("quote-of-quotes", "> a\n>> b\n> > > c", "a\n\nb\n\nc"),
    ("list-in-quote", "> - a\n>   b\n> - c", "a\nb\n\nc"),
    ("table", "|a|*b*|\n|-|-|\n|c|d|", "a\n\nb\n\nc\nd"),
    ("table-with-pipes", "a \\| b | c\n-|-\n\\|d **e\\|** | f", "a | b\n\nc\n\n|d e|\n\nf"),
    ("table-in-quote", "> | a | b |\n> |---|---|\n> | c |", "a\n\nb\n\nc"),
    ("rule", "a\n\n---\n\nb\n***\nc", "a\n\nb\n\nc"),
    ("html-block", "<div>\nIn *here* &lt; that\n</div>\n\nb", "\nIn *here* < that\n\n\nb"),
    ("html-paragraphs", "<p>one</p><p>two</p>", "one\n\ntwo"),
    ("html-block-hidden", "<!-- a\n\nb -->\n\n<style>\nc\n\nd</style>\n\ne", "e"),
    ("html-quote-in-tag", '<p title="a > b">c</p>', "c"),
    ("front-matter", "---\ntitle: x\n---\n# a", "a"),
    ("front-matter-toml", '---\ntitle = "x"\nwords = ["a"]\n---\na', "a"),
    ("front-matter-unclosed", "---\ntitle", "title"),
    ("rules-are-no-front-matter", "---\n\na\n\n---\n\nb", "a\n\nb"),
    ("form-feed-line", "a\n\x0c\nb", "a\n\x0c\nb"),
    ("tabs", ">\ta\n\n-\tb\n\tc", "a\n\nb\nc"),
    ("no-break-space", "a&nbsp;b\u00a0c", "a\u00a0b\u00a0c"),
    ("nothing", "", ""),
    ("only-markup", "```\na\n```\n\n---\n", ""),
]
IDS = [case[0] for case in CASES]

# What stands for a plain code point in the source, where it is not the code point itself.
STANDS_FOR = {"&amp;": "&", "&eacute;": "é", "&#65;": "A", "&#x42;": "B", "&lt;": "<"}


def check_offsets(source: str, found: Plain) -> None:
    assert found.starts.dtype == found.ends.dtype == np.int32
    assert len(found.starts) == len(found.ends) == len(found.text)
    assert (np.diff(found.starts) > 0).all()
    assert (found.starts < found.ends).all()
    assert (found.starts[1:] >= found.ends[:-1]).all()
    if found.text:
        assert found.starts[0] >= 0
        assert found.ends[-1] <= len(source)
    spans = [(block.start, block.end) for block in found.blocks]
    assert all(found.text[start:end].strip() for start, end in spans)
    for (_, end), (start, _) in pairwise(spans):
        assert found.text[end:start] in ("\n", "\n\n")


@pytest.mark.parametrize(("source", "text"), [case[1:] for case in CASES], ids=IDS)
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
def test_plain(source: str, text: str, line_end: str) -> None:
    source = source.replace("\n", line_end)
    found = plain(source)
    assert found.text == text
    check_offsets(source, found)
    spans = zip(found.text, found.starts.tolist(), found.ends.tolist(), strict=True)
    for char, start, end in spans:
        if not char.isspace():  # white space may stand for a line end or a skipped piece
            there = source[start:end]
            assert char in (there, STANDS_FOR.get(there), there.removeprefix("\\"))


# id, source, blocks as (kind, level, text)
BLOCKS = [
    ("headings", "# a\n## b\nc", [("heading", 1, "a"), ("heading", 2, "b"), ("paragraph", 0, "c")]),
    ("lists", "- a\n  - b\n- c", [("list", 1, "a"), ("list", 2, "b"), ("list", 1, "c")]),
    ("quotes", "> a\n>> b", [("quote", 1, "a"), ("quote", 2, "b")]),
    ("innermost", "> - a\n>\n> b", [("list", 1, "a"), ("quote", 1, "b")]),
    ("heading-in-quote", "> ### a", [("heading", 3, "a")]),
    ("cells", "a|b\n-|-\n|c", [("table cell", 0, x) for x in "abc"]),
    ("html", "<h1>a</h1>\n<p>b", [("paragraph", 0, "a"), ("paragraph", 0, "b")]),
]


@pytest.mark.parametrize(("source", "blocks"), [case[1:] for case in BLOCKS], ids=[case[0] for case in BLOCKS])
def test_blocks(source: str, blocks: list[tuple[str, int, str]]) -> None:
    found = plain(source)
    assert [(b.kind, b.level, found.text[b.start : b.end]) for b in found.blocks] == blocks


def test_span_of_entities_and_line_ends() -> None:
    source = "caf&eacute;\r\nand \\& [x](y)"
    found = plain(source)
    spans = zip(found.starts.tolist(), found.ends.tolist(), strict=True)
    pieces = [source[start:end] for start, end in spans]
    assert pieces[3:5] == ["&eacute;", "\r\n"]
    assert "\\&" in pieces
    assert pieces[-1] == "x"


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_front_matter_range(line_end: str) -> None:
    source = "---\ntitle: Gull Point\n---\nPip.".replace("\n", line_end)
    found = plain(source)
    assert found.front_matter == (0, source.index("Pip"))
    assert found.starts[0] == source.index("Pip")
    assert plain("Pip.").front_matter is None


def test_too_deeply_nested_loses_no_word() -> None:
    for source in ("> " * 30 + "crab", "".join(" " * 2 * n + f"- word{n}\n" for n in range(30))):
        found = plain(source)
        check_offsets(source, found)
        assert set(source.split()) - {">", "-"} <= set(found.text.split())


# id, a line that makes careless parsers slow
HARD = [
    ("stars", "*" * 100_000 + "a"),
    ("brackets", "[" * 100_000),
    ("bangs", "![" * 50_000),
    ("references", "[a]: b\n\n" + "[x][" * 25_000),
    ("backticks", " ".join("`" * (n % 99 + 1) for n in range(2_000))),
    ("angles", "<" * 100_000),
    ("comments", "<div>\n" + "<!--" * 25_000),
    ("stray-quotes", "<div>\n" + "<a b='" * 20_000),
    ("emphasis", "*a **b " * 15_000),
    ("quotes", ">" * 100_000),
    ("front-matter", "---\n" + "a\n" * 50_000),
]


@pytest.mark.parametrize("source", [case[1] for case in HARD], ids=[case[0] for case in HARD])
def test_hard_lines_take_no_time(source: str) -> None:
    before = time.perf_counter()
    check_offsets(source, plain(source))
    assert time.perf_counter() - before < 20  # half a second each; quadratic would take minutes


def test_a_megabyte() -> None:
    page = "# Gull *Point*\n\nPip **sat** on the [wall](x).\n\n- a crab\n- a gull\n\n|a|b|\n|-|-|\n\n"
    source = page * (1_000_000 // len(page))
    found = plain(source)
    assert len(found.blocks) == 6 * (len(source) // len(page))


PIECES = [
    *("# ", "> ", "- ", "1. ", "* ", "**", "*", "_", "`", "```\n", "~~~\n", "|", "|-|-|\n", "---\n"),
    *("===\n", "\n", "\r\n", "\r", "\n\n", "[a]", "(b)", "![", "](", "&amp;", "&nbsp;", "&#10;"),
    *("&NotEqualTilde;", "\\", "\\*", "\\|", "<b>", "<br>", "<!--", "-->", "<div>", "<script>"),
    *("</script>", "<p>", "<http://a.b>", "[a]: b\n", "  ", "    ", "\t", "cat", "a b", "\0", "\x0c"),
]


@settings(deadline=None, max_examples=500)
@given(st.lists(st.sampled_from(PIECES), max_size=30).map("".join) | st.text())
@example("- > a\r\n\tb")
def test_any_text(source: str) -> None:
    check_offsets(source, plain(source))


WORDS = st.text("abcdefghijklmnopqrstuvwxyzABC,.!?'\"éß ", min_size=1).map(lambda s: "x" + s)


@given(st.lists(WORDS, min_size=1))
def test_text_without_markup_stays(lines: list[str]) -> None:
    source = "\n\n".join(lines)
    found = plain(source)
    assert found.text.split() == source.split()
    kept = [source[at] for at in found.starts.tolist()]
    assert "".join(kept).split() == source.split()
