"""Asks the application, without a server, as the page does."""

from __future__ import annotations

import asyncio
import json
from dataclasses import dataclass, field
from typing import Any

from starlette.types import Message

from decodable.store import Store

HOST = "127.0.0.1:8571"
TOKEN = "the-token-of-this-launch"


@dataclass
class Answer:
    """What the application answered."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.body)

    @property
    def error(self) -> str:
        return str(self.json["error"])


@dataclass
class Asker:
    """Asks the application as the page does."""

    app: Any
    store: Store
    headers: dict[str, str] = field(default_factory=lambda: {"host": HOST, "x-decodable-token": TOKEN})

    def __call__(
        self,
        method: str,
        target: str,
        body: Any = None,
        *,
        headers: dict[str, str | None] | None = None,
        pieces: list[bytes] | None = None,
    ) -> Answer:
        data = body if isinstance(body, bytes) else b"" if body is None else json.dumps(body).encode()
        sent = {**self.headers, "content-type": "application/json", **(headers or {})}
        path, _, query = target.partition("?")
        scope = {
            "type": "http",
            "http_version": "1.1",
            "method": method,
            "path": path,
            "raw_path": path.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "scheme": "http",
            "server": ("127.0.0.1", 8571),
            "client": ("127.0.0.1", 50000),
            "headers": [(k.lower().encode(), v.encode("latin-1")) for k, v in sent.items() if v is not None],
        }
        parts = [data] if pieces is None else list(pieces)
        answer = Answer(0, {}, b"")

        async def receive() -> Message:
            return {"type": "http.request", "body": parts.pop(0) if parts else b"", "more_body": bool(parts)}

        async def send(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer.status = message["status"]
                answer.headers = {k.decode().lower(): v.decode("latin-1") for k, v in message["headers"]}
            else:
                answer.body += message.get("body", b"")

        asyncio.run(self.app(scope, receive, send))
        return answer

    def ok(self, method: str, target: str, body: Any = None) -> Any:
        """The JSON of an answer that must be good."""
        answer = self(method, target, body)
        assert answer.status == 200, answer.body
        return answer.json

    def text(self, words: str, *, markdown: bool = False) -> dict[str, Any]:
        """A new text of these words."""
        made: dict[str, Any] = self.ok("POST", "/api/texts", {"title": "Test", "text": words, "markdown": markdown})
        return made
