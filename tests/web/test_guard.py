"""What must not get in, and what every answer carries."""

from __future__ import annotations

import os
import re
import stat
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from decodable.errors import DecodableError
from decodable.web.app import page_files
from decodable.web.serve import hosts_of, listen
from tests.web.asker import Asker

READ = ("GET", "/api/desk")
WRITE = ("POST", "/api/texts")


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:9999", "evil.example:8571", "", None])
@pytest.mark.parametrize(("method", "path"), [READ, WRITE, ("GET", "/"), ("GET", "/page/page.js")])
def test_a_foreign_host_is_refused(ask: Asker, host: str | None, method: str, path: str) -> None:
    answer = ask(method, path, {"text": "x"}, headers={"host": host})
    assert answer.status == 421
    assert "decodable serve" in answer.error


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8571", "http://127.0.0.1:9999"])
@pytest.mark.parametrize(("method", "path"), [READ, WRITE])
def test_a_foreign_origin_is_refused(ask: Asker, origin: str, method: str, path: str) -> None:
    answer = ask(method, path, {"text": "x"}, headers={"origin": origin})
    assert answer.status == 403
    assert ask.store.texts() == []


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_request_that_another_site_began_is_refused(ask: Asker, site: str) -> None:
    assert ask(*READ, headers={"sec-fetch-site": site}).status == 403
    assert ask(*READ, headers={"sec-fetch-site": "same-origin"}).status == 200


@pytest.mark.parametrize("token", [None, "", "wrong", "the-token-of-this-launc", "the-token-of-this-launch "])
@pytest.mark.parametrize(("method", "path"), [READ, WRITE, ("GET", "/openapi.json"), ("POST", "/api/forget")])
def test_a_missing_or_wrong_token_is_refused(ask: Asker, token: str | None, method: str, path: str) -> None:
    answer = ask(method, path, {"text": "x"}, headers={"x-decodable-token": token})
    assert answer.status == 401
    assert "decodable serve" in answer.error
    assert ask.store.texts() == []


def test_the_page_itself_asks_for_no_token(ask: Asker) -> None:
    assert ask("GET", "/", headers={"x-decodable-token": None}).status == 200


def test_own_host_and_origin_are_let_in(ask: Asker) -> None:
    for host in ("127.0.0.1:8571", "localhost:8571", "LOCALHOST:8571"):
        assert ask(*READ, headers={"host": host, "origin": f"http://{host.lower()}"}).status == 200


def test_the_policy_of_the_page_is_strict(ask: Asker) -> None:
    first, second = ask("GET", "/"), ask("GET", "/")
    policies = [a.headers["content-security-policy"] for a in (first, second)]
    rules = dict(part.split(" ", 1) for part in policies[0].split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    assert rules["frame-ancestors"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert rules["require-trusted-types-for"] == "'script'"
    assert "unsafe" not in policies[0]
    nonces = [re.search(r"'nonce-([\w-]{20,})'", p) for p in policies]
    assert nonces[0]
    assert nonces[1]
    assert nonces[0].group(1) != nonces[1].group(1)
    assert f'nonce="{nonces[0].group(1)}"'.encode() in first.body


def test_the_page_has_no_inline_script_and_nothing_from_outside(ask: Asker) -> None:
    page = ask("GET", "/").body.decode()
    assert re.findall(r"<script(?![^>]*\bsrc=)", page) == []
    assert re.findall(r"\son\w+=|\sstyle=", page) == []
    assert re.findall(r"(?:src|href)=\"(?!/page/)", page) == []
    for name in ("style.css", "page.html"):
        assert re.findall(rb"https?://", page_files()[name].read_bytes()) == []


@pytest.mark.parametrize("path", ["/", "/api/desk", "/page/page.js", "/api/none", "/nowhere"])
def test_every_answer_is_kept_to_the_page(ask: Asker, path: str) -> None:
    headers = ask("GET", path).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["x-frame-options"] == "DENY"
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "access-control-allow-origin" not in headers


def test_an_oversize_request_is_refused_with_what_to_do(make_asker: Callable[..., Asker]) -> None:
    ask = make_asker(most=2**20)
    for headers, pieces in (({}, [b"x" * 2**19] * 3), ({"content-length": str(2**30)}, [b""])):
        answer = ask("POST", "/api/texts/open?name=long.txt", headers=dict(headers), pieces=pieces)
        assert answer.status == 413
        assert "larger than 1 MB" in answer.error
        assert "decodable check" in answer.error
    assert ask.store.texts() == []
    assert ask("POST", "/api/texts/open?name=a.txt", b"A crab.").status == 200


NAMES = [
    "../settings",
    "..",
    "a/b",
    "a%2fb",
    "..%2f..%2fetc%2fpasswd",
    "%2e%2e",
    "a\\b",
    "C:x",
    "CON",
    "con",
    ".hidden",
    "x" * 61,
    "a\0b",
    "\N{CRAB}",
    "-a",
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("GET", "/api/texts/{}", None),
        ("DELETE", "/api/texts/{}", None),
        ("PATCH", "/api/texts/{}", {"title": "x", "markdown": False}),
        ("GET", "/api/sequences/{}", None),
        ("DELETE", "/api/sequences/{}", None),
        ("DELETE", "/api/sequences/{}/draft", None),
        ("PUT", "/api/readers/{}", {"name": "x"}),
        ("DELETE", "/api/readers/{}", None),
    ],
)
def test_no_name_leads_out_of_the_folder(
    ask: Asker, home: Path, name: str, method: str, path: str, body: object
) -> None:
    from urllib.parse import unquote

    outside = home.parent / "outside.toml"
    outside.write_text("kept", encoding="utf-8")
    answer = ask(method, unquote(path.format(name)), body)
    assert answer.status in (400, 404, 405), answer.body
    assert outside.read_text(encoding="utf-8") == "kept"
    assert [p for p in home.rglob("*") if p.is_file()] == []


@pytest.mark.parametrize(
    "path", ["/page/../../pyproject.toml", "/page/..%2f..%2fpyproject.toml", "/page//etc/passwd", "/page/page.html"]
)
def test_only_the_page_s_own_files_are_served(ask: Asker, path: str) -> None:
    assert ask("GET", path).status == 404
    assert ask("GET", path.replace("%2f", "/")).status == 404


@pytest.mark.parametrize("sequence", ["../../etc/passwd.toml", "/etc/passwd", "pyproject.toml", "x.csv"])
def test_a_reader_names_a_sequence_never_a_file(ask: Asker, sequence: str) -> None:
    answer = ask("POST", "/api/readers", {"name": "Blue", "sequence": sequence})
    assert answer.status == 400
    assert answer.json["faults"][0]["field"] == "sequence"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_what_is_kept_is_the_user_s_alone(ask: Asker, home: Path) -> None:
    old = os.umask(0)
    try:
        ask.text("A crab ran.")
        ask.ok("POST", "/api/readers", {"name": "Blue group", "step": "sh"})
        ask.ok("PUT", "/api/settings", {"theme": "dark"})
        ask.ok("POST", "/api/words/fix", {"word": "Zoe", "like": "snowy"})
    finally:
        os.umask(old)
    files = list(home.rglob("*"))
    assert len([p for p in files if p.is_file()]) == 5
    for path in [home, *files]:
        wanted = 0o700 if path.is_dir() else 0o600
        assert stat.S_IMODE(path.stat().st_mode) == wanted, path


@pytest.mark.parametrize(
    ("body", "place"),
    [
        (b"{", "JSON"),
        (b"[" * 100_000, ""),
        (b'{"text": 3}', "text"),
        (b'{"words": "x"}', "words"),
        (b'{"title": "' + b"x" * 300 + b'"}', "title"),
        (b"\xff\xfe", ""),
    ],
)
def test_a_bad_request_gets_one_clear_message(ask: Asker, body: bytes, place: str) -> None:
    answer = ask("POST", "/api/texts", body)
    assert answer.status == 400
    assert place in answer.error
    assert "Traceback" not in answer.error


def test_an_error_inside_is_told_without_its_insides(ask: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("secret insides")

    monkeypatch.setattr(Asker, "text", Asker.text)
    monkeypatch.setattr("decodable.web.readers.readers", fail)
    with pytest.raises(RuntimeError, match="secret"):  # the server logs it, after it has answered
        ask("GET", "/api/readers")


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "example.org", ""])
def test_only_one_address_of_this_machine_is_served(address: str) -> None:
    with pytest.raises(DecodableError, match="address"):
        listen(address, 0)


def test_a_taken_port_is_told() -> None:
    with listen("127.0.0.1", 0) as first, pytest.raises(DecodableError, match="--port"):
        listen("127.0.0.1", first.getsockname()[1])


def test_hosts_of_an_address() -> None:
    assert hosts_of("127.0.0.1", 8571) == ["127.0.0.1:8571", "localhost:8571"]
    assert hosts_of("::1", 80) == ["[::1]:80", "localhost:80", "[::1]", "localhost"]
    assert hosts_of("192.0.2.7", 8571) == ["192.0.2.7:8571"]
