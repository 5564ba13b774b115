"""Markdown to plain text: in goes a Markdown source, out comes the text that a reader sees, with
the source offset of each of its code points, and its blocks.

markdown-it-py decides what is markup (CommonMark and tables). Two additions keep offsets exact
without any searching: the block rules note where each line of their text begins, and the inline
state notes where each token begins. Emphasis is taken away (``S**a**m`` is *Sam*), links stay by
their text, entities and backslash escapes become what they mean. Code, pictures, bare ``<links>``,
HTML comments, scripts, styles and tags are not read; the text between other HTML tags is.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from markdown_it import MarkdownIt, rules_block
from markdown_it.parser_block import RuleFuncBlockType
from markdown_it.rules_block import StateBlock
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token

Offsets = npt.NDArray[np.int32]
BlockKind = Literal["heading", "paragraph", "list", "quote", "table cell"]

_FRONT_MATTER = re.compile(r"---[ \t]*\n(?:(?![ \t]*\n)(?:.*\n)*?)??---[ \t]*(?:\n|\Z)")
_LEAVES = {  # block rules that hold text, and the blocks that they may interrupt (as in CommonMark)
    "table": ["paragraph", "reference"],
    "html_block": ["paragraph", "reference", "blockquote"],
    "heading": ["paragraph", "reference", "blockquote"],
    "lheading": [],
    "paragraph": [],
}
_TRIM = " \t\n\r\x0b\x0c"  # the white space that CommonMark strips
_CELL_END = re.compile(r"(?<!\\)\|")
_MANY = 20_000  # opening square brackets in a block; each may cost 0.1 ms, so 2 s at most
_BREAK = re.compile(  # names of HTML tags across which nobody reads on
    "address|article|aside|blockquote|body|button|caption|center|dd|details|dialog|div|dl|dt|"
    "fieldset|figcaption|figure|footer|form|h[1-6]|head|header|hr|html|iframe|legend|li|main|menu|"
    "nav|object|ol|optgroup|option|p|pre|section|select|summary|table|tbody|td|textarea|tfoot|th|"
    "thead|title|tr|ul|video"
)
_HTML = re.compile(
    r"""(?xis)
    (?P<skip> <!--.*?(?:-->|\Z) | <(?P<raw>script|style)\b.*?(?:</(?P=raw)\s*>|\Z)
            | <\?.*?(?:\?>|\Z) | <!\[CDATA\[.*?(?:\]\]>|\Z) | <![a-z][^<>]*> )
  | (?P<tag> </?(?P<name>[a-z][a-z0-9-]*)
             (?:[^<>"']|"[^"]{0,1000}"|'[^']{0,1000}')* > )  # bounds: a stray quote stays cheap
  | (?P<entity> &(?:\#[0-9]{1,7}|\#x[0-9a-f]{1,6}|[a-z][a-z0-9]{1,31}); )
  | (?P<text> [^<&]+ | [<&] )
    """
)
_TAG = re.compile(r"<(?P<close>/?)(?P<name>[A-Za-z][A-Za-z0-9-]*)")


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of text that no word crosses."""

    kind: BlockKind
    """What it is; the innermost, for a list in a quote."""
    level: int
    """Of a heading 1 to 6, of a list or quote how deep it is nested, from 1; else 0."""
    start: int
    """Its first code point, an offset into the plain text."""
    end: int
    """Behind its last code point."""


@dataclass(frozen=True, slots=True, eq=False)
class Plain:
    """What a reader sees of a Markdown source."""

    text: str
    """The text. Blocks are parted by a blank line, or by one line break where the source has room
    for one code point only between them (a heading right above its paragraph)."""
    starts: Offsets
    """int32, one a code point of ``text``: its offset in the source; strictly increasing."""
    ends: Offsets
    """int32, same shape: behind what stands for it in the source (``&amp;`` is one code point)."""
    blocks: tuple[Block, ...]
    """In order; every code point but the separators belongs to one."""
    front_matter: tuple[int, int] | None
    """Source offsets of the lines from ``---`` to ``---`` at the top, where there are some."""


def plain(source: str) -> Plain:
    """The plain text of a Markdown source, with any of the three line endings.

    Two things are read as plain text instead, so that no word is lost and nothing takes long: a
    source whose lists and quotes are nested beyond the parser's limit (10 lists or 20 quotes), and
    a block with more than 20,000 opening square brackets. Code in such text is not skipped.
    """
    text = re.sub(r"\r\n?", "\n", source)
    matter = _FRONT_MATTER.match(text)
    base = matter.end() if matter else 0
    writer = _Writer(base)
    if not _write_markdown(text[base:], writer):
        writer = _Writer(base)
        _write_paragraphs(text[base:], writer)
    starts, ends = writer.offsets()
    # Offsets so far count \r\n as one: every such line end before a place moves it on by one.
    pairs = np.array([m.start() for m in re.finditer(r"\r\n", source)], dtype=np.int32)
    pairs -= np.arange(len(pairs), dtype=np.int32)
    starts += np.searchsorted(pairs, starts).astype(np.int32)
    ends += np.searchsorted(pairs, ends).astype(np.int32)
    front = (0, base + int(np.searchsorted(pairs, base))) if matter else None
    return Plain("".join(writer.parts), starts, ends, tuple(writer.blocks), front)


@dataclass(frozen=True, slots=True)
class _Content:
    """The text of one block, cut out of the source line by line."""

    text: str
    """What the inline rules see."""
    keys: Sequence[int]
    """Offsets in ``text``, rising from 0, at which the source makes a jump."""
    sources: Sequence[int]
    """Where each of them stands in the source."""

    def source(self, at: int) -> int:
        """The source offset of one code point."""
        part = bisect_right(self.keys, at) - 1
        return self.sources[part] + at - self.keys[part]

    def runs(self, at: int, length: int) -> Iterator[tuple[int, int, int]]:
        """The same for a stretch: offset in it, source offset and length of each unbroken run."""
        part, done = bisect_right(self.keys, at) - 1, 0
        while done < length:
            jump = self.keys[part + 1] - at if part + 1 < len(self.keys) else length
            run = min(length, jump) - done
            if run > 0:
                yield done, self.sources[part] + at + done - self.keys[part], run
                done += run
            part += 1


class _Writer:
    """Collects the plain text block by block; ``base`` is added to all source offsets."""

    def __init__(self, base: int) -> None:
        self.parts: list[str] = []
        self.blocks: list[Block] = []
        self._base = base
        self._sources: list[int] = []  # of each part
        self._wide: dict[int, int] = {}  # plain offset -> source end, where it is not start + 1
        self._size = 0
        self._end = 0  # behind the last source offset in use
        self._open: list[tuple[str, int, int]] = []  # text, source and its end, of this block

    def put(self, text: str, source: int, end: int | None = None) -> None:
        """Add text that stands unbroken at ``source``, up to ``end`` if that is not its length."""
        if text:
            self._open.append((text, source, source + len(text) if end is None else end))

    def copy(self, content: _Content, text: str, at: int) -> None:
        """Add text that stands at ``at`` in a block's content."""
        for offset, source, length in content.runs(at, len(text)):
            self.put(text[offset : offset + length], source)

    def close_block(self, kind: BlockKind, level: int = 0) -> None:
        """End the block, and forget it if it holds no text."""
        parts, self._open = self._open, []
        if not any(text.strip() for text, _, _ in parts):
            return
        if self.parts:
            self._commit("\n\n"[: parts[0][1] - self._end], self._end)
        start = self._size
        for text, source, end in parts:
            self._commit(text, source, end)
        self.blocks.append(Block(kind, level, start, self._size))

    def _commit(self, text: str, source: int, end: int | None = None) -> None:
        self.parts.append(text)
        self._sources.append(source - self._size)
        self._size += len(text)
        self._end = source + len(text) if end is None else end
        if self._end != source + len(text):
            self._wide[self._size - 1] = self._end

    def offsets(self) -> tuple[Offsets, Offsets]:
        """Start and end in the source of every code point written, int32."""
        lengths = [len(part) for part in self.parts]
        starts = np.arange(self._base, self._base + self._size, dtype=np.int32)
        starts += np.repeat(np.array(self._sources, dtype=np.int32), lengths)
        ends = starts + np.int32(1)
        ends[list(self._wide)] = np.array(list(self._wide.values()), dtype=np.int32) + self._base
        return starts, ends


def _write_markdown(text: str, writer: _Writer) -> bool:
    """Write every block of ``text``; False where it is nested deeper than the parser reads."""
    parser, env = _parser(), dict[str, Any]()
    deepest = parser.options.maxNesting - 1
    around: list[tuple[BlockKind, int]] = [("paragraph", 0)]  # kind and level of the open blocks
    cells: Iterator[_Content] = iter(())
    for token in parser.parse(text, env):
        match token.type:
            case "blockquote_open" | "list_item_open":
                if token.level >= deepest:
                    return False
                kind: BlockKind = "quote" if token.type == "blockquote_open" else "list"
                around.append((kind, 1 + sum(outer == kind for outer, _ in around)))
            case "heading_open":
                around.append(("heading", int(token.tag[1])))
            case "th_open" | "td_open":
                around.append(("table cell", 0))
            case "blockquote_close" | "list_item_close" | "heading_close" | "th_close" | "td_close":
                around.pop()
            case "tr_open":
                cells = _cells(text, *token.meta["lines"][0])
            case "inline":
                _write_inline(_content(text, token, cells), env, writer)
                writer.close_block(*around[-1])
            case "html_block":
                _write_html(_lines(text, token.meta["lines"]), around[-1], writer)
    return True


def _content(text: str, token: Token, cells: Iterator[_Content]) -> _Content:
    """The content of an inline token; ``cells`` are those left in this row of a table."""
    if token.meta["rule"] == "table":
        return next(cells, _Content("", [0], [0]))
    if token.meta["rule"] == "heading":
        start, end = token.meta["lines"][0]
        start += len(text[start:end]) - len(text[start:end].lstrip("#").lstrip(_TRIM))
        return _Content(token.content, [0], [start])
    return _lines(text, token.meta["lines"])


def _lines(text: str, lines: Sequence[tuple[int, int]]) -> _Content:
    """Content made of whole lines, from their first letter (behind quote and list marks) on."""
    parts = [text[start:end] for start, end in lines]
    keys = np.cumsum([0] + [len(part) + 1 for part in parts[:-1]]).tolist()
    return _Content("\n".join(parts).rstrip(_TRIM), keys, [start for start, _ in lines])


def _cells(text: str, start: int, end: int) -> Iterator[_Content]:
    r"""The cells of one row of a table, between pipes; ``\|`` stands for a pipe inside a cell."""
    row = text[start:end]
    start += len(row) - len(row.lstrip(_TRIM))
    row = row.strip(_TRIM)
    marks = [m.start() for m in _CELL_END.finditer(row)]
    spans = list(zip([0] + [mark + 1 for mark in marks], [*marks, len(row)], strict=True))
    if spans and spans[0][0] == spans[0][1]:
        del spans[0]
    if spans and spans[-1][0] == spans[-1][1]:
        del spans[-1]
    for left, right in spans:
        cell = row[left:right]
        left += len(cell) - len(cell.lstrip(_TRIM))
        cell = cell.strip(_TRIM)
        pipes = [m.start() for m in re.finditer(r"\\\|", cell)]
        keys = [0] + [pipe - n for n, pipe in enumerate(pipes)]
        sources = [start + left] + [start + left + pipe + 1 for pipe in pipes]
        yield _Content(cell.replace("\\|", "|"), keys, sources)


def _write_inline(content: _Content, env: dict[str, Any], writer: _Writer) -> None:
    """Write what a reader sees of one block's text."""
    if content.text.count("[") > _MANY:
        writer.copy(content, content.text, 0)
        return
    parser = _parser()
    state = _State(content.text, parser, env, [])
    parser.inline.tokenize(state)
    for rule in parser.inline.ruler2.getRules(""):
        rule(state)
    hidden = ""  # inside what is not read: "auto" (a bare link), "script" or "style"
    for token in state.tokens:
        at: int = token.meta.get("at", 0)
        if token.type == "html_inline":
            tag = _TAG.match(token.content)
            name = tag["name"].lower() if tag else ""
            if name in ("script", "style"):
                hidden = "" if tag and tag["close"] else name
            elif name == "br" or _BREAK.fullmatch(name):
                writer.put("\n", content.source(at))
        elif token.info == "auto":
            hidden = "auto" if token.nesting > 0 else ""
            if hidden:
                writer.put(" ", content.source(at))
        elif hidden:
            continue
        elif token.type == "text":
            writer.copy(content, token.content, at)
        elif token.type == "text_special":
            end = content.source(at + len(token.markup) - 1) + 1
            writer.put(token.content, content.source(at), end)
        elif token.type in ("softbreak", "hardbreak"):
            writer.put("\n", content.source(at + (content.text[at] == "\\")))
        elif token.type in ("code_inline", "image"):
            writer.put(" ", content.source(at))


def _write_html(content: _Content, around: tuple[BlockKind, int], writer: _Writer) -> None:
    """Write the text between the tags of an HTML block; block tags part it."""
    for found in _HTML.finditer(content.text):
        at = found.start()
        if found["text"]:
            writer.copy(content, found["text"], at)
        elif found["entity"]:
            end = content.source(found.end() - 1) + 1
            writer.put(unescape(found["entity"]), content.source(at), end)
        elif found["tag"] and found["name"].lower() == "br":
            writer.put("\n", content.source(at))
        elif found["tag"] and _BREAK.fullmatch(found["name"].lower()):
            writer.close_block(*around)
    writer.close_block(*around)


def _write_paragraphs(text: str, writer: _Writer) -> None:
    """Write ``text`` as it stands, a block a paragraph."""
    at = 0
    for line in text.split("\n"):
        if line.strip():
            writer.put(line + "\n" if at + len(line) < len(text) else line, at)
        else:
            writer.close_block("paragraph")
        at += len(line) + 1
    writer.close_block("paragraph")


class _State(StateInline):
    """An inline state that notes where each token begins: ``token.meta["at"]``."""

    _text_at = 0  # where the text begins that is not yet a token
    _run = (-1, 0)  # where a run of emphasis marks begins, and how many of them are tokens

    def append_pending(self, text: str) -> None:
        if not self.pending:
            self._text_at = self.pos
        super().append_pending(text)

    def pushPending(self) -> Token:
        token = super().pushPending()
        token.meta["at"] = self._text_at
        return token

    def push(self, ttype: str, tag: str, nesting: Literal[-1, 0, 1]) -> Token:
        token = super().push(ttype, tag, nesting)
        token.meta["at"] = self.pos
        if ttype == "text":  # only emphasis pushes text: one token a mark, all from the same place
            count = self._run[1] + 1 if self._run[0] == self.pos else 0
            self._run = (self.pos, count)
            token.meta["at"] += count
        return token


def _noting(name: str, rule: RuleFuncBlockType) -> RuleFuncBlockType:
    """A block rule that notes on its tokens its name, and where each line of text stands."""

    def noting(state: StateBlock, start: int, end: int, silent: bool) -> bool:
        count = len(state.tokens)
        found = rule(state, start, end, silent)
        if found and not silent:
            for token in state.tokens[count:]:
                if token.map and token.type in ("inline", "html_block", "tr_open"):
                    token.meta["rule"] = name
                    token.meta["lines"] = [
                        (min(state.bMarks[n] + state.tShift[n], state.eMarks[n]), state.eMarks[n])
                        for n in range(*token.map)
                    ]
        return found

    return noting


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    """CommonMark with tables; it stops before the inline stage, which runs block by block here."""
    parser = MarkdownIt("commonmark").enable("table")
    parser.disable(["inline", "text_join", "fragments_join"])
    for name, interrupts in _LEAVES.items():
        rule = _noting(name, getattr(rules_block, name))
        parser.block.ruler.at(name, rule, {"alt": interrupts})
    return parser
