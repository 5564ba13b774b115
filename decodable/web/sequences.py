"""Sequences over HTTP: looked at, changed with the effect at once, imported, saved to the user's own folder."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from starlette.concurrency import run_in_threadpool

from decodable.errors import DecodableError, FaultsError
from decodable.private import write_private
from decodable.rules import parse_toml
from decodable.sequence import (
    Fault,
    Sequence,
    find_sequence,
    from_toml,
    parse_csv,
    read_sequence,
    sequence_names,
    steps_dict,
    write_toml,
)
from decodable.source import decode
from decodable.store import safe_name, slug
from decodable.web import answers
from decodable.web.desk import Desk, MissingError
from decodable.web.effects import reader_effects, text_effect, words_freed
from decodable.web.shapes import Json, SequenceChange, SequenceDocument, SequenceSave


def routes(desk: Desk) -> APIRouter:
    """The addresses of sequences."""
    api = APIRouter(prefix="/api/sequences", tags=["sequences"])

    @api.get("", response_model=list[answers.ShownSequence])
    def list_sequences() -> list[Json]:
        """The shipped and the user's own sequences."""
        return sequences(desk)

    @api.get("/{name}", response_model=answers.WholeSequence, response_model_exclude_unset=True)
    def get_sequence(name: str) -> Json:
        """A sequence with its steps, and its unsaved changes if there are some."""
        found = desk.sequence(name)
        rows = words_freed(desk.engine, found)
        opened, freed = [r["dictionary"] for r in rows], [r["children"] for r in rows]
        return {
            **_about(desk, name),
            "steps": steps_dict(found, opened, freed),
            "document": document_of(found),
            "draft": desk.store.draft(name),
        }

    @api.post("/import", response_model=answers.Imported)
    async def import_file(request: Request, name: Annotated[str, Query(max_length=400)]) -> Json:
        """A sequence read from a spreadsheet (CSV) or a TOML file, to be looked at: nothing is saved."""
        return await run_in_threadpool(looked_at, await request.body(), name)

    def looked_at(data: bytes, name: str) -> Json:
        shown = name.replace("\\", "/").rsplit("/", 1)[-1][:200] or "file.csv"
        try:
            text, _ = decode(data, shown)
        except DecodableError as error:
            found = str(error).split(". ")[0].replace("plain text or Markdown", "a spreadsheet saved as CSV")
            raise DecodableError(f"{found}. In the spreadsheet program choose Save as: CSV (UTF-8).") from None
        document, lines = imported(text, shown)
        _, faults = read_sequence(document, slug(Path(shown).stem), desk.engine.phrases)
        return {"document": document, "lines": lines, "faults": [f.to_dict() for f in faults]}

    @api.post("/{name}/effect", response_model=answers.Effect, response_model_exclude_unset=True)
    def effect(name: str, change: SequenceChange) -> Json:
        """What a changed sequence would do: faults by place, words freed by step, the text, the readers."""
        document = with_ids(change.document)
        found, faults = read_sequence(document, name, desk.engine.phrases)
        saved = desk.sequence(name) if name in sequence_names() else None
        if change.keep and saved is not None:
            if found == saved:
                desk.store.drop_draft(name)
            else:
                desk.store.put_draft(name, change.document.model_dump())
        freed = words_freed(desk.engine, found)
        out: Json = {
            "faults": [f.to_dict() for f in faults],
            "changed": found != saved,
            "freed": freed,
            "freed_before": words_freed(desk.engine, saved) if saved else [],
            "readers": reader_effects(desk, name, found),
            "text": None,
        }
        if change.text:
            try:
                reader = desk.reader(change.reader)
                text = desk.text(change.text)
            except DecodableError:
                return out
            same = reader if reader.sequence.name == name else None
            out["text"] = text_effect(desk, text, found, same)
            if saved is not None:
                out["text"]["before"] = text_effect(desk, text, saved, same)["readable_by_step"]
        return out

    @api.delete("/{name}/draft", response_model=answers.WholeSequence, response_model_exclude_unset=True)
    def drop_draft(name: str) -> Json:
        """Leave the unsaved changes."""
        desk.store.drop_draft(name)
        return get_sequence(name)

    @api.put("/{name}", response_model=answers.WholeSequence, response_model_exclude_unset=True)
    def save(name: str, asked: SequenceSave) -> Any:
        """Save a sequence to the user's own folder; a shipped one is never touched."""
        document = with_ids(asked.document)
        title = str(document["title"]).strip()
        faults = [] if title else [Fault(-1, "title", -1, "Give the sequence a name.")]
        own = name in desk.store.sequences() and name not in desk.shipped
        if asked.as_new or not own:
            taken = desk.shipped | set(sequence_names())
            target = desk.store.new_sequence(title or "My sequence", lambda n: n in taken)
        else:
            target = safe_name(name, "sequence")
        found, more = read_sequence(document, target, desk.engine.phrases)
        faults += more
        if faults:
            shown = [f.to_dict() for f in faults]
            return JSONResponse(
                {"error": f"{len(faults)} faults: put them right first.", "faults": shown}, status_code=400
            )
        path = desk.store.sequence_file(target)
        old = _text_of(path) or _text_of(_source(name))
        text = write_toml(found, old)
        if from_toml(text, path.name, desk.engine.phrases) != found:
            text = write_toml(found)
        write_private(path, text)
        desk.store.drop_draft(name)
        return {
            "name": target,
            "sequences": sequences(desk),
            **{k: v for k, v in get_sequence(target).items() if k != "name"},
        }

    @api.delete("/{name}", response_model=answers.Sequences)
    def erase(name: str) -> Json:
        """Erase an own sequence."""
        if name in desk.shipped:
            raise DecodableError("A shipped sequence can't be erased.")
        desk.store.drop_sequence(name)
        return {"sequences": sequences(desk)}

    @api.get("/{name}/file", response_class=PlainTextResponse)
    def get_file(name: str) -> Response:
        """The sequence's file."""
        desk.sequence(name)
        headers = {"content-disposition": f'attachment; filename="{safe_name(name, "sequence")}.toml"'}
        return Response(
            write_toml(desk.sequence(name), _text_of(_source(name))),
            media_type="text/plain; charset=utf-8",
            headers=headers,
        )

    return api


def phrase_routes(desk: Desk) -> APIRouter:
    """What a sequence or reader can teach."""
    api = APIRouter(prefix="/api/phrases", tags=["sequences"])

    @api.get("", response_model=answers.Phrases)
    def phrases(q: Annotated[str, Query(max_length=100)] = "") -> Json:
        """Phrases like the one being typed, those that begin with it first; and what is wrong with it as it stands."""
        wanted = " ".join(q.lower().split())
        known = sorted({*desk.engine.lexicon.teaching.patterns, *desk.engine.phrases.phrases()})
        first = [p for p in known if p.lower().startswith(wanted)]
        inside = [p for p in known if wanted in p.lower() and not p.lower().startswith(wanted)]
        first.sort(key=lambda p: (len(p.split(" as in ")[0]), p))
        fault = ""
        if wanted:
            try:
                desk.engine.phrases.parse(q)
            except DecodableError as error:
                fault = str(error)
        return {"phrases": (first + inside)[:30], "fault": fault}

    return api


def sequences(desk: Desk) -> list[Json]:
    """All sequences for the page: the user's own first."""
    found = [_about(desk, name) for name in sequence_names()]
    return sorted(found, key=lambda s: (not s["own"], str(s["title"]).casefold()))


def _about(desk: Desk, name: str) -> Json:
    own = name not in desk.shipped
    try:
        found = desk.sequence(name)
    except MissingError:
        raise
    except DecodableError as error:
        return {"name": name, "title": name, "own": own, "note": "", "steps": [], "faults": str(error).splitlines()}
    steps = [{"id": s.id, "name": s.name} for s in found.steps]
    return {"name": name, "title": found.title, "own": own, "note": found.note, "steps": steps, "faults": []}


def document_of(sequence: Sequence) -> Json:
    """A sequence as its file has it."""
    return {
        "title": sequence.title,
        "accent": sequence.accent,
        "unstressed": sequence.unstressed,
        "note": sequence.note,
        "step": [
            {"id": s.id, "name": s.name, "teach": [p.text for p in s.teach], "words": list(s.words)}
            for s in sequence.steps
        ],
    }


def with_ids(document: SequenceDocument) -> Json:
    """The document with an id for each step that has none, made of its name or of what it teaches."""
    data = document.model_dump()
    taken = {step["id"] for step in data["step"]}
    for step in data["step"]:
        step["teach"] = [t for t in step["teach"] if t.strip()]
        step["words"] = [w.strip() for w in step["words"] if w.strip()]
        if not step["id"]:
            base = slug(step["name"] or " ".join(step["teach"]) or "step")
            step["id"] = next(n for n in (base, *(f"{base}-{k}" for k in range(2, 1000))) if n not in taken)
            taken.add(step["id"])
    return data


def imported(text: str, name: str) -> tuple[Json, list[int]]:
    """The document of a spreadsheet or TOML file in hand, made to fit, and the line of each step."""
    path = Path(name)
    if path.suffix.lower() == ".toml":
        file = parse_toml(text, path)
        lines = file.header_lines("step")
    else:
        file = parse_csv(text, path)
        lines = list(file.rows)
    data = file.data
    steps = data.get("step")
    if not isinstance(steps, list) or not steps or not all(isinstance(s, dict) for s in steps):
        raise FaultsError(
            [f"{name}: no steps found. A sequence has one row a step, with the columns step, name, teach, words."]
        )
    shaped = SequenceDocument.model_validate(
        {
            "title": str(data.get("title") or path.stem)[:200],
            "note": str(data.get("note", ""))[:4000],
            "accent": str(data.get("accent", "general-american"))[:40],
            "unstressed": str(data.get("unstressed", "allow"))[:40],
            "step": [
                {
                    "id": str(s.get("id", ""))[:80],
                    "name": str(s.get("name", ""))[:200],
                    "teach": [str(t)[:200] for t in _listed(s.get("teach"))],
                    "words": [str(w)[:200] for w in _listed(s.get("words"))],
                }
                for s in steps
            ][:400],
        }
    )
    return shaped.model_dump(), lines


def _listed(value: Any) -> list[Any]:
    return value[:500] if isinstance(value, list) else []


def _source(name: str) -> Path | None:
    try:
        return find_sequence(name) if re.fullmatch(r"[a-z0-9-]+", name) else None
    except DecodableError:
        return None


def _text_of(path: Path | None) -> str:
    try:
        return path.read_text(encoding="utf-8-sig") if path and path.suffix == ".toml" else ""
    except OSError:
        return ""
