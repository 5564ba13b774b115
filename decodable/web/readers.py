"""Readers over HTTP: kept as the files that the command line takes, and words marked for one of them."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from fastapi.responses import JSONResponse

from decodable.errors import DecodableError
from decodable.readers import LISTS
from decodable.sequence import Fault, sequence_names
from decodable.web import answers
from decodable.web.desk import FIRST_SEQUENCE, Desk
from decodable.web.shapes import Json, ReaderDocument, WordMark


def routes(desk: Desk) -> APIRouter:
    """The addresses of readers."""
    api = APIRouter(prefix="/api/readers", tags=["readers"])

    @api.get("", response_model=list[answers.ShownReader], response_model_exclude_unset=True)
    def list_readers() -> list[Json]:
        """Every reader; what is wrong with one stands in its ``faults``."""
        return readers(desk)

    @api.post("", response_model=answers.Readers, response_model_exclude_unset=True)
    def new_reader(document: ReaderDocument) -> Any:
        """Keep a new reader."""
        return put("", document)

    @api.put("/{name}", response_model=answers.Readers, response_model_exclude_unset=True)
    def put_reader(name: str, document: ReaderDocument) -> Any:
        """Change a reader."""
        desk.reader_document(name)
        return put(name, document)

    def put(name: str, document: ReaderDocument) -> Any:
        data = document.model_dump()
        faults = [] if data["name"].strip() else [Fault(-1, "name", -1, "Give the reader a name; initials will do.")]
        known = [*sequence_names(), *([str(desk.reader_document(name).get("sequence"))] if name else [])]
        if data["sequence"] not in known:
            faults.append(Fault(-1, "sequence", -1, f"Choose a sequence: {', '.join(sequence_names())}."))
        if not faults:
            name, faults = desk.put_reader(name, data)
        if faults:
            shown = [f.to_dict() for f in faults]
            return JSONResponse({"error": faults[0].message, "faults": shown}, status_code=400)
        return {"id": name, "readers": readers(desk)}

    @api.delete("/{name}", response_model=answers.Readers, response_model_exclude_unset=True)
    def erase_reader(name: str) -> Json:
        """Erase a reader."""
        desk.drop_reader(name)
        return {"readers": readers(desk)}

    @api.post("/mark", response_model=answers.Readers, response_model_exclude_unset=True)
    def mark_word(asked: WordMark) -> Json:
        """Put a word among a reader's names, whole words or told words, or take it off."""
        name = desk.mark_word(asked.reader, asked.word.strip(), asked.mark, on=asked.on)
        return {"id": name, "readers": readers(desk)}

    return api


def readers(desk: Desk) -> list[Json]:
    """All readers for the page, in order of their names."""
    return sorted((_shown(desk, name) for name in desk.store.readers()), key=lambda r: str(r["name"]).casefold())


def _shown(desk: Desk, name: str) -> Json:
    out: Json = {"id": name, "name": name, "sequence": FIRST_SEQUENCE, "step": "", "step_number": 0, "step_name": ""}
    out |= {"unstressed": "", "faults": [], **{key: [] for key in LISTS}}
    try:
        document = desk.reader_document(name)
        for key in ("name", "sequence", "unstressed"):
            out[key] = str(document.get(key, out[key]))
        out["step"] = str(document.get("step", "") or "")
        for key in LISTS:
            value = document.get(key, [])
            out[key] = [str(v) for v in value] if isinstance(value, list) else []
        found = desk.reader(name)
    except DecodableError as error:
        out["faults"] = str(error).splitlines()
        return out
    out["title"] = found.sequence.title
    if found.step:
        step = found.sequence.steps[found.step - 1]
        out |= {"step": step.id, "step_number": found.step, "step_name": step.name}
    return out
