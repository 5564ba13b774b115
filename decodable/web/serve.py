"""Starting the page: an address on this machine, a token for this launch, a server until it is stopped.

In go a port and what to say; the page is up until Ctrl-C.
"""

from __future__ import annotations

import contextlib
import ipaddress
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable

import uvicorn

from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.store import Store
from decodable.web.app import create_app

PORT = 8571


def hosts_of(address: str, port: int) -> list[str]:
    """Every ``host:port`` that names this address; a loopback address also as *localhost*."""
    shown = f"[{address}]" if ":" in address else address
    names = [shown, "localhost"] if ipaddress.ip_address(address).is_loopback else [shown]
    return [f"{name}:{port}" for name in names] + (names if port == 80 else [])


def listen(address: str, port: int) -> socket.socket:
    """A socket on one address of this machine; port 0 takes any free one."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        raise DecodableError(f"An address to serve on is like 127.0.0.1, not {address!r}.") from None
    if found.is_unspecified:
        raise DecodableError(f"{address} would serve on every network. Name one address of this machine.")
    made = socket.socket(socket.AF_INET6 if found.version == 6 else socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((address, port))
        made.listen(128)  # a browser that comes early waits until the server is up
    except OSError as error:
        made.close()
        raise DecodableError(
            f"Cannot serve on {address} port {port}: {error.strerror}. Is the page open already? "
            f"Else choose another: decodable serve --port {port + 1 if port else 0}"
        ) from None
    return made


def serve(
    address: str, port: int, *, tell: Callable[[str], None], open_browser: bool, engine: Engine | None = None
) -> None:
    """Serve the page until it is stopped.

    Args:
        address: one IP address of this machine.
        port: its port; 0: any.
        tell: is given the page's address, with the token of this launch.
        open_browser: whether to open the page.
        engine: the engine, if there is one already.
    """
    store = Store()
    store.open()
    listening = listen(address, port)
    port = listening.getsockname()[1]
    token = secrets.token_urlsafe(32)
    made = engine or Engine()
    app = create_app(made, store, token=token, hosts=hosts_of(address, port))
    url = f"http://{hosts_of(address, port)[0]}/#token={token}"
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        timeout_graceful_shutdown=3,
        h11_max_incomplete_event_size=64 * 1024,
    )
    threading.Thread(target=made.warm, daemon=True).start()
    tell(url)
    if open_browser:
        threading.Timer(0.4, webbrowser.open, (url,)).start()
    try:
        with contextlib.suppress(KeyboardInterrupt):  # raised again by the server once it has stopped
            uvicorn.Server(config).run(sockets=[listening])
    finally:
        listening.close()
