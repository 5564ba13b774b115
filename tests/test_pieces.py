"""Cutting a text piece by piece gives what cutting it whole gives, and cuts again only what changed."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.pieces import Pieces, boundaries
from decodable.text import Tokens, tokenize

COLUMNS = ("start", "end", "kind", "block", "sentence_start", "capital", "spaced", "lines")
LINES = (
    "Pip sat.",
    "'I like the dogs' tails,' said Mabel.",
    "  The ferry came in.",
    "",
    " ",
    "# The light",
    "* a crab",
    "    code",
    "> Ahoy!",
    "```",
    "<div>",
    "[net]: here",
    "Look at the [net].",
    "S**a**m ran \N{CRAB} home",
    "-----",
    "1. A boat",
    "\u201cStop!\u201d",
    "a | b",
    "--- | ---",
    "---",
    "\u2028Nan",
    "Mum\rDad",
)


def same(one: Tokens, other: Tokens) -> None:
    for name in COLUMNS:
        assert np.array_equal(getattr(one, name), getattr(other, name)), name
    assert one.blocks == other.blocks
    assert one.front_matter == other.front_matter
    texts = [[t.types[n] if n >= 0 else None for n in t.type_id.tolist()] for t in (one, other)]
    assert texts[0] == texts[1]


@pytest.mark.parametrize("markdown", [False, True], ids=["plain", "markdown"])
@settings(max_examples=400, deadline=None)
@given(lines=st.lists(st.sampled_from(LINES), max_size=24), tail=st.sampled_from(("", "\n", "\n\n", "\n \n  ")))
def test_pieces_give_what_the_whole_gives(markdown: bool, lines: list[str], tail: str) -> None:
    text = "\n".join(lines) + tail
    same(Pieces().tokens(text, markdown=markdown), tokenize(text, markdown=markdown))


@settings(max_examples=200, deadline=None)
@given(text=st.text(alphabet="aI'\u2019.!\n \t\N{NO-BREAK SPACE}\x0b\x1c", max_size=60))
def test_pieces_of_any_text(text: str) -> None:
    same(Pieces().tokens(text), tokenize(text))


def long_text(paragraphs: int = 400) -> str:
    return "\n\n".join(f"Nan had {n} nets. The crab {'ran ' * (n % 7)}to the mud." for n in range(paragraphs))


def test_only_the_piece_that_changed_is_cut_again() -> None:
    pieces, text = Pieces(), long_text()
    pieces.tokens(text)
    assert pieces.cut == len(text)
    for n in range(8):
        text = text[: 9000 + n] + "x" + text[9000 + n :]
        before = pieces.cut
        same(pieces.tokens(text), tokenize(text))
        assert 0 < pieces.cut - before < len(text) / 20


def test_the_same_text_is_not_cut_twice() -> None:
    pieces = Pieces()
    pieces.tokens("Pip sat.")
    pieces.tokens("Pip sat.")
    assert pieces.cut == len("Pip sat.")


def test_boundaries_part_the_text() -> None:
    text = long_text()
    bounds = list(boundaries(text, markdown=False))
    assert len(bounds) > 20
    assert "".join(text[a:b] for a, b in pairwise(bounds)) == text


@pytest.mark.parametrize("mark", ["```", "<pre>", "[a]: b"])
def test_markdown_that_reaches_over_blank_lines_is_cut_whole(mark: str) -> None:
    text = long_text(40) + f"\n\n{mark}\n\n" + long_text(40)
    assert list(boundaries(text, markdown=True)) == [0, len(text)]
    assert len(list(boundaries(text, markdown=False))) > 5
