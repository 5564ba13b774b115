"""What stands before every request: only this page, of this launch, on this machine, within limits.

A request whose Host or Origin is foreign, whose token is wrong or whose body is too large is answered here, with a
message, and never reaches the application. Every answer leaves with headers that keep the page to itself.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN_HEADER = b"x-decodable-token"
_SAFE_METHODS = frozenset(["GET", "HEAD"])


def policy(nonce: str) -> str:
    """The Content-Security-Policy of the page; ``nonce`` lets the editor add its own style sheet."""
    return "; ".join(
        [
            "default-src 'none'",
            "script-src 'self'",
            f"style-src 'self' 'nonce-{nonce}'" if nonce else "style-src 'self'",
            "font-src 'self'",
            "img-src 'self'",
            "connect-src 'self'",
            "base-uri 'none'",
            "form-action 'none'",
            "frame-ancestors 'none'",
            "require-trusted-types-for 'script'",
            "trusted-types 'none'",
        ]
    )


HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), interest-cohort=()"),
    (b"x-frame-options", b"DENY"),
)


class Guard:
    """ASGI middleware around the whole application."""

    def __init__(self, app: ASGIApp, *, hosts: Iterable[str], token: str, most: int) -> None:
        """
        Args:
            app: what is guarded.
            hosts: every ``host:port`` under which the page may be asked for.
            token: what each request for data must carry.
            most: the largest body, in bytes.
        """
        self.app = app
        self.hosts = frozenset(hosts)
        self.origins = frozenset(f"http://{host}" for host in self.hosts)
        self.token = token.encode()
        self.most = most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets here
        refused = self._refusal(scope)
        if refused:
            status, message = refused
            await _answer(send, status, message)
            return
        body = await _body(receive, self.most)
        if body is None:
            await _answer(send, 413, _too_large(self.most))
            return

        async def once() -> Message:
            return {"type": "http.request", "body": body, "more_body": False}

        await self.app(scope, once, lambda message: _send_with_headers(send, message))

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Why a request is refused: a status and a message for a person."""
        headers: dict[bytes, list[bytes]] = {}
        for key, value in scope["headers"]:
            headers.setdefault(key.lower(), []).append(value)
        host = [h.decode("latin-1").lower() for h in headers.get(b"host", [])]
        if len(host) != 1 or host[0] not in self.hosts:
            return 421, "This address is not the page's. Open the address that `decodable serve` shows."
        origin = [o.decode("latin-1").lower() for o in headers.get(b"origin", [])]
        if any(o not in self.origins for o in origin):
            return 403, "Another site asked for this. Only the page itself may."
        site = headers.get(b"sec-fetch-site", [b"none"])[0]
        path = scope["path"]
        asks_for_data = path.startswith("/api/") or path == "/openapi.json"
        if site not in (b"same-origin", b"none") and (asks_for_data or scope["method"] not in _SAFE_METHODS):
            return 403, "Another site asked for this. Only the page itself may."
        if asks_for_data:
            given = headers.get(TOKEN_HEADER, [])
            if len(given) != 1 or not secrets.compare_digest(given[0], self.token):
                return 401, "The page belongs to an earlier start. Open the address that `decodable serve` shows now."
        elif scope["method"] not in _SAFE_METHODS:
            return 405, "This address can only be read."
        declared = headers.get(b"content-length", [b"0"])[0]
        if declared.isdigit() and int(declared) > self.most:
            return 413, _too_large(self.most)
        return None


async def _body(receive: Receive, most: int) -> bytes | None:
    """The whole body; ``None`` if it is larger than allowed, whatever its headers said."""
    parts: list[bytes] = []
    size = 0
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            break
        part = message.get("body", b"")
        size += len(part)
        if size > most:
            return None
        parts.append(part)
        if not message.get("more_body", False):
            break
    return b"".join(parts)


async def _send_with_headers(send: Send, message: Message) -> None:
    if message["type"] == "http.response.start":
        headers = list(message.get("headers", []))
        names = {key.lower() for key, _ in headers}
        headers += [(key, value) for key, value in HEADERS if key not in names]
        if b"content-security-policy" not in names:
            headers.append((b"content-security-policy", policy("").encode()))
        if b"cache-control" not in names:
            headers.append((b"cache-control", b"no-store"))
        message = {**message, "headers": headers}
    await send(message)


async def _answer(send: Send, status: int, message: str) -> None:
    body = json.dumps({"error": message}).encode()
    start: Message = {
        "type": "http.response.start",
        "status": status,
        "headers": [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())],
    }
    await _send_with_headers(send, start)
    await send({"type": "http.response.body", "body": body})


def _too_large(most: int) -> str:
    return (
        f"This is larger than {most // 2**20} MB, the most that the page takes. "
        "Split it by chapter, or check it with `decodable check`."
    )
