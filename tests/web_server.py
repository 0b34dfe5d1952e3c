"""The project's own HTTP server in a thread, on a port of this machine, and a raw way to talk to it."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from scheduler.faces.web.app import app_of
from scheduler.faces.web.listening import server_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.web.shelf import Shelf


@contextmanager
def serving(shelf: Shelf) -> Iterator[int]:
    """The port that the shelf is served at."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = server_for(app_of(shelf))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    end = time.monotonic() + 20
    while not server.started and time.monotonic() < end:
        time.sleep(0.01)
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()


def say(port: int, raw: bytes, wait_s: float = 5.0) -> bytes:
    """What comes back for these very bytes, until the other side closes or falls silent."""
    with socket.create_connection(("127.0.0.1", port), timeout=wait_s) as link:
        link.sendall(raw)
        found = b""
        try:
            while chunk := link.recv(65536):
                found += chunk
        except (TimeoutError, ConnectionResetError):
            pass
        return found
