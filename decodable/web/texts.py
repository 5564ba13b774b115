"""Texts over HTTP: kept, opened, changed as they are typed, marked, reported on."""

from __future__ import annotations

import re
import urllib.parse
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from starlette.concurrency import run_in_threadpool

from decodable import resources
from decodable.errors import DecodableError
from decodable.readers import Reader
from decodable.report import Report
from decodable.source import MARKDOWN_ENDINGS, decode
from decodable.store import Text
from decodable.web import answers, marks
from decodable.web.desk import Desk, MissingError, OpenText
from decodable.web.shapes import Comparison, Edit, Json, NewText, TextAbout
from decodable.web.units import whole_letters
from decodable.written import report_page, text_page

ReaderName = Annotated[str, Query(max_length=60, description="File name of the reader; empty: nobody in particular.")]
StepNumber = Annotated[int | None, Query(ge=0, le=400, description="Another step than the reader's; 0: all steps.")]
_FIRST_HEADING = re.compile(r"^#{1,3} +(.+?)(?: +#+)?\s*$", re.MULTILINE)


def routes(desk: Desk) -> APIRouter:
    """The addresses of texts."""
    api = APIRouter(prefix="/api/texts", tags=["texts"])

    def judged(name: str, reader: str, step: int | None) -> tuple[OpenText, Report]:
        text = desk.text(name)
        return text, desk.report(text, desk.reader(reader, step))

    @api.get("", response_model=list[answers.KeptText])
    def list_texts() -> list[Json]:
        """Every text that is kept, the latest first, without its words."""
        return [about(t) for t in desk.store.texts()]

    @api.post("", response_model=answers.WholeText)
    def new_text(new: NewText) -> Json:
        """Keep a new text."""
        return whole(desk.new_text(new.title or "Untitled", _lines(new.text), markdown=new.markdown))

    @api.post("/open", response_model=answers.WholeText)
    async def open_file(request: Request, name: Annotated[str, Query(max_length=400)]) -> Json:
        """Keep the text of a file: the body is its bytes, whatever their encoding."""
        return await run_in_threadpool(opened, await request.body(), name)

    def opened(data: bytes, name: str) -> Json:
        shown = name.replace("\\", "/").rsplit("/", 1)[-1][:200] or "file"
        text, _ = decode(data, shown)
        if not text.strip():
            raise DecodableError(f"{shown}: expected a text, but it is empty. Choose another file.")
        markdown = shown.lower().endswith(MARKDOWN_ENDINGS)
        heading = _FIRST_HEADING.search(text[:4000]) if markdown else None
        title = heading.group(1) if heading else re.sub(r"\.\w{1,10}$", "", shown)
        return whole(desk.new_text(title[:200], _lines(text), markdown=markdown))

    @api.get("/samples", response_model=list[answers.Sample])
    def list_samples() -> list[Json]:
        """The passages that come with the program, the shortest first."""
        return [{"name": name, "title": title} for name, title in samples().items()]

    @api.post("/samples/{name}", response_model=answers.WholeText)
    def open_sample(name: str) -> Json:
        """Keep a copy of a passage that comes with the program."""
        title = samples().get(name)
        if title is None:
            raise MissingError(f"There is no passage {name[:80]!r}. There are: {', '.join(samples())}")
        words = (resources.passages_dir() / f"{name}.md").read_text(encoding="utf-8")
        return whole(desk.new_text(title, _lines(words), markdown=True))

    @api.get("/{name}", response_model=answers.WholeText)
    def get_text(name: str) -> Json:
        """A text with its words and its revision."""
        return whole(desk.text(name))

    @api.patch("/{name}", response_model=answers.WholeText)
    def change_text(name: str, new: TextAbout) -> Json:
        """Give a text another title, or have it read as Markdown or not."""
        return whole(desk.rename_text(name, new.title or "Untitled", markdown=new.markdown))

    @api.delete("/{name}", response_model=answers.Texts)
    def erase_text(name: str) -> Json:
        """Erase a text."""
        desk.drop_text(name)
        return {"texts": [about(t) for t in desk.store.texts()]}

    @api.post("/{name}/edit", response_model=answers.Seen)
    def edit(name: str, change: Edit) -> Json:
        """Make the editor's changes; out come the marks of what is seen, and the figures. Only what changed is cut."""
        text = desk.edit(name, change.base, change.changes)
        return seen(
            text, desk.report(text, desk.reader(change.reader, change.step)), change.view.first, change.view.last
        )

    @api.get("/{name}/marks", response_model=answers.Seen)
    def get_marks(
        name: str,
        first: Annotated[int, Query(ge=0)] = 0,
        last: Annotated[int, Query(ge=0)] = 0,
        reader: ReaderName = "",
        step: StepNumber = None,
    ) -> Json:
        """Marks of a part of the text for a reader, and the figures of the whole."""
        text, report = judged(name, reader, step)
        return seen(text, report, first, last)

    def seen(text: OpenText, report: Report, first: int, last: int) -> Json:
        return {
            "revision": text.revision,
            "trouble": desk.keeper.trouble,
            **marks.view_marks(text, report, first, last),
            "figures": marks.figures(report),
        }

    @api.get("/{name}/lists", response_model=answers.Lists)
    def get_lists(name: str, reader: ReaderName = "", step: StepNumber = None) -> Json:
        """The flagged words by how often they occur, what to teach first, words for the teacher's eye."""
        text, report = judged(name, reader, step)
        return {"revision": text.revision, **marks.lists(report)}

    @api.get("/{name}/word", response_model=answers.Word, response_model_exclude_unset=True)
    def get_word(name: str, at: Annotated[int, Query(ge=0)], reader: ReaderName = "", step: StepNumber = None) -> Json:
        """All about the word at an offset (UTF-16 units): verdict, why, letters and sounds, when each part comes."""
        text, report = judged(name, reader, step)
        place = marks.place_at(text, report, at)
        return {"word": marks.card(desk, text, report, place) if place is not None else None}

    @api.get("/{name}/next", response_model=answers.Word, response_model_exclude_unset=True)
    def next_word(
        name: str,
        at: Annotated[int, Query(ge=0)] = 0,
        word: Annotated[str, Query(max_length=100, description="A word; empty: any flagged one.")] = "",
        back: bool = False,
        reader: ReaderName = "",
        step: StepNumber = None,
    ) -> Json:
        """The next place of a word, or of any flagged word, behind an offset: its card."""
        text, report = judged(name, reader, step)
        starts = text.units.units(report.tokens.start[report.index])
        here = int((starts <= at).sum()) - 1
        if back:
            place = marks.previous_flagged(report, max(here, 0))
        else:
            place = marks.next_place(report, desk.key_of(word), here)
        return {"word": marks.card(desk, text, report, place) if place is not None else None}

    @api.get("/{name}/check")
    def check(name: str, reader: ReaderName = "", step: StepNumber = None) -> JSONResponse:
        """The whole report, word by word: what `decodable check --json` writes."""
        return JSONResponse(judged(name, reader, step)[1].to_dict())

    @api.get("/{name}/report", response_class=PlainTextResponse)
    def get_report(name: str, reader: ReaderName = "", step: StepNumber = None) -> Response:
        """The report as a page in Markdown."""
        text, report = judged(name, reader, step)
        return _file(report_page(text.kept.title, report), f"{text.kept.title} report")

    @api.get("/{name}/file", response_class=PlainTextResponse)
    def get_file(name: str, reader: ReaderName = "") -> Response:
        """The text as a Markdown file."""
        text, who = desk.text(name), _reader_or_none(desk, reader)
        return _file(text_page(text.kept.title, text.kept.text, text.kept.markdown, who), text.kept.title)

    @api.post("/{name}/compare", response_model=answers.Compared, response_model_exclude_unset=True)
    def compare(name: str, asked: Comparison) -> Json:
        """One text for several readers."""
        text = desk.text(name)
        rows: list[Json] = []
        for reader in asked.readers:
            try:
                report = desk.report(text, desk.reader(reader))
            except DecodableError as error:
                rows.append({"reader": reader, "error": str(error)})
                continue
            flagged = [w.text for w, _ in report.flagged_words[:6]]
            who = report.judge.reader
            rows.append(
                {
                    "reader": reader,
                    "name": who.name,
                    "sequence": who.sequence.title,
                    "step_name": who.sequence.steps[who.step - 1].name if who.step else "",
                    "steps": len(who.sequence.steps),
                    "flagged_words": flagged,
                    "flagged_types": len(report.flagged_words),
                    **marks.figures(report),
                }
            )
        return {"title": text.kept.title, "rows": rows}

    return api


def samples() -> dict[str, str]:
    """File names without ending, and titles, of the shipped passages, shortest first."""
    files = sorted(resources.passages_dir().glob("*.md"), key=lambda p: (p.stat().st_size, p.name))
    texts = {p.stem: _FIRST_HEADING.search(p.read_text(encoding="utf-8")) for p in files}
    return {name: found.group(1) if found else name for name, found in texts.items()}


def about(text: Text) -> Json:
    """A text without its words."""
    return {"id": text.id, "title": text.title, "markdown": text.markdown}


def whole(text: OpenText) -> Json:
    """A text with its words."""
    return {**about(text.kept), "text": text.kept.text, "revision": text.revision}


def _lines(text: str) -> str:
    """Lines ended as the editor ends them, every letter whole."""
    return whole_letters(text.replace("\r\n", "\n").replace("\r", "\n"))


def _reader_or_none(desk: Desk, name: str) -> Reader | None:
    try:
        return desk.reader(name)
    except (MissingError, DecodableError):
        return None


def _file(content: str, title: str) -> Response:
    name = re.sub(r"[^\w \-]+", "", title).strip()[:80] or "text"
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{urllib.parse.quote(name)}.md"}
    return Response(content, media_type="text/markdown; charset=utf-8", headers=headers)
