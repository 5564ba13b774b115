"""The application: every address of the page, its files, its errors.

In go an engine, the user's folder and the token of this launch; out comes an ASGI application behind its guard.
"""

from __future__ import annotations

import mimetypes
import secrets
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp

import decodable
from decodable import resources
from decodable.engine import Engine
from decodable.errors import DecodableError, FaultsError
from decodable.store import Store
from decodable.web import answers, readers, sequences, texts
from decodable.web.desk import ChangedElsewhereError, Desk, MissingError
from decodable.web.guard import Guard, policy
from decodable.web.shapes import Failure, Fix, Json, Settings

# The largest request: the longest novels are about 7 MB.
MOST = 16 * 2**20
_FAILURES: dict[int | str, dict[str, Any]] = {
    400: {"model": Failure, "description": "Bad input: what was expected, what came, what to do."},
    401: {"model": Failure, "description": "The token is missing, or that of an earlier launch."},
    403: {"model": Failure, "description": "Another site asked."},
    404: {"model": Failure, "description": "There is no such thing."},
    409: {"model": Failure, "description": "The text was changed in another window."},
    413: {"model": Failure, "description": "The request is too large."},
}


def create_app(engine: Engine, store: Store, *, token: str, hosts: Iterable[str], most: int = MOST) -> ASGIApp:
    """The application behind its guard.

    Args:
        engine: the engine that judges.
        store: the user's folder.
        token: what each request for data must carry in ``X-Decodable-Token``.
        hosts: every ``host:port`` under which the page may be asked for.
        most: the largest request, in bytes.
    """
    desk = Desk(engine, store)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        desk.keeper.close()

    app = FastAPI(
        title="Decodable",
        version=decodable.__version__,
        description=(
            "What the teacher's page asks of the engine. Every request carries the token of this launch in the header "
            "`X-Decodable-Token`. Texts, verdicts, readers and sequences have the form of the command line's JSON."
        ),
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
        responses=_FAILURES,
    )
    _errors(app)
    for router in (texts.routes(desk), readers.routes(desk), sequences.routes(desk), sequences.phrase_routes(desk)):
        app.include_router(router)
    _desk_routes(app, desk)
    _page(app)
    return Guard(app, hosts=hosts, token=token, most=most)


def _desk_routes(app: FastAPI, desk: Desk) -> None:
    def settings() -> Settings:
        known = {k: v for k, v in desk.store.settings().items() if k in Settings.model_fields}
        try:
            found = Settings.model_validate(known)
        except ValueError:
            found = Settings()
        if found.reader and found.reader not in desk.store.readers():
            found.reader = ""
        return found

    @app.get("/api/desk", tags=["desk"], response_model=answers.Desk, response_model_exclude_unset=True)
    def get_desk() -> Json:
        """What the page needs to begin: settings, texts, readers, sequences, the open text."""
        chosen = settings()
        kept = desk.store.texts()
        name = chosen.text if chosen.text in {t.id for t in kept} else kept[0].id if kept else ""
        return {
            "version": decodable.__version__,
            "folder": str(desk.store.root),
            "settings": chosen.model_dump(),
            "texts": [texts.about(t) for t in kept],
            "readers": readers.readers(desk),
            "sequences": sequences.sequences(desk),
            "open": texts.whole(desk.text(name)) if name else None,
            "counts": desk.store.counts(),
        }

    @app.put("/api/settings", tags=["desk"])
    def put_settings(new: Settings) -> Settings:
        """Keep what was chosen."""
        desk.store.put_settings(new.model_dump())
        return new

    @app.post("/api/words/fix", tags=["words"], response_model=answers.Words)
    def fix(asked: Fix) -> Json:
        """Say for good how a word is said: like another word; without one, take that back."""
        from decodable.describe import word_dict

        desk.fix_word(asked.word, asked.like.strip())
        return {"format": 1, "words": [word_dict(desk.engine, asked.word)]}

    @app.get("/api/words/{word}", tags=["words"], response_model=answers.Words)
    def word(word: str) -> Json:
        """A word by itself: what `decodable word --json` writes."""
        from decodable.describe import word_dict

        return {"format": 1, "words": [word_dict(desk.engine, word[:100])]}

    @app.get("/api/export", tags=["desk"])
    def export() -> Response:
        """Everything that is kept, as one ZIP archive."""
        desk.keeper.wait()
        headers = {"content-disposition": 'attachment; filename="decodable.zip"'}
        return Response(desk.store.export(), media_type="application/zip", headers=headers)

    @app.post("/api/forget", tags=["desk"], response_model=answers.Desk, response_model_exclude_unset=True)
    def forget() -> Json:
        """Erase everything that is kept: texts, readers, sequences, settings, fixed words."""
        desk.forget()
        return get_desk()


def _errors(app: FastAPI) -> None:
    @app.exception_handler(DecodableError)
    async def told(_: Request, error: DecodableError) -> JSONResponse:
        status = 409 if isinstance(error, ChangedElsewhereError) else 404 if isinstance(error, MissingError) else 400
        faults = [{"message": f} for f in error.faults] if isinstance(error, FaultsError) else []
        return JSONResponse({"error": str(error), "faults": faults}, status_code=status)

    @app.exception_handler(RequestValidationError)
    async def invalid(_: Request, error: RequestValidationError) -> JSONResponse:
        first = error.errors()[0]
        place = ".".join(str(p) for p in first["loc"] if p not in ("body", "query", "path"))
        message = (
            f"The request is not as expected{f' at {place}' if place else ''}: {first['msg']}. Load the page again."
        )
        return JSONResponse({"error": message, "faults": []}, status_code=400)

    @app.exception_handler(HTTPException)
    async def http(_: Request, error: HTTPException) -> JSONResponse:
        message = "There is nothing at this address." if error.status_code == 404 else str(error.detail)
        return JSONResponse({"error": message, "faults": []}, status_code=error.status_code)

    @app.exception_handler(Exception)
    async def broken(_: Request, error: Exception) -> JSONResponse:
        message = f"Something went wrong inside ({type(error).__name__}). Your text is kept; load the page again."
        return JSONResponse({"error": message, "faults": []}, status_code=500)


def page_files() -> dict[str, Path]:
    """The files of the built page by their names: nothing else is ever served from disk."""
    built = resources.site_dir() / "built"
    return {p.relative_to(built).as_posix(): p for p in sorted(built.rglob("*")) if p.is_file()}


def _page(app: FastAPI) -> None:
    files = page_files()
    if "page.html" not in files:
        raise DecodableError("The page is not built. In a checkout: cd site && npm ci && npm run build.")
    template = files["page.html"].read_text(encoding="utf-8")

    @app.get("/", include_in_schema=False)
    def page() -> HTMLResponse:
        nonce = secrets.token_urlsafe(18)
        headers = {"content-security-policy": policy(nonce), "cache-control": "no-store"}
        return HTMLResponse(template.replace("{{nonce}}", nonce), headers=headers)

    @app.get("/page/{name:path}", include_in_schema=False)
    def file(name: str) -> Response:
        found = files.get(name)
        if found is None or name == "page.html":
            raise HTTPException(404)
        kind = "font/woff2" if name.endswith(".woff2") else mimetypes.guess_type(name)[0] or "text/plain"
        return Response(found.read_bytes(), media_type=kind, headers={"cache-control": "no-cache"})
