"""A server in a process of its own, for the benchmarks: `python serving_process.py WHAT`, which prints its port.

WHAT: feed (a site's pages), empty (the framework's own smallest answer, same settings), or busy (the feed while a
thread of the same process computes without a pause, as replanning does).
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

HERE = Path(__file__)
SECRET = "k" * 43
TARGET = f"/s/{SECRET}/smoke.ics"


@contextmanager
def served_by(what: str) -> Iterator[tuple[int, int]]:
    """The port and the process of such a server."""
    ours = os.pathsep.join([str(HERE.parents[2]), str(HERE.parents[1])])
    command, environment = [sys.executable, str(HERE), what], {**os.environ, "PYTHONPATH": ours}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout is not None
        try:
            yield int(process.stdout.readline()), process.pid
        finally:
            process.terminate()


def memory_bytes(pid: int) -> int:
    """What that process holds in memory now."""
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def feed() -> bytes:
    """About what a site's feed is: 20 kB in 28 events."""
    event = "BEGIN:VEVENT\r\nUID:{0}\r\nDTSTART:20261017T{0:02}0000Z\r\nDESCRIPTION:{1}\r\nEND:VEVENT\r\n"
    words = " ".join(str(number * 7919 % 997) for number in range(160))
    events = "".join(event.format(number, words[number:]) for number in range(28))
    return f"BEGIN:VCALENDAR\r\n{events}END:VCALENDAR\r\n".encode()


def _empty_app():
    from starlette.applications import Starlette
    from starlette.responses import Response
    from starlette.routing import Route

    async def empty(request):
        return Response()

    return Starlette(routes=[Route(TARGET, empty)])


def _feed_app():
    from scheduler.faces.web.app import app_of
    from scheduler.faces.web.shelf import Body, Shelf

    shelf = Shelf()
    changed = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)
    shelf.place(SECRET, {"smoke.ics": Body(feed(), "text/calendar; charset=utf-8", changed)})
    return app_of(shelf)


def _compute() -> None:
    while True:
        sum(number * number for number in range(10_000))


def main(what: str) -> None:
    """Serve until told to stop."""
    from scheduler.faces.web.listening import run, server_for

    listening = socket.create_server(("127.0.0.1", 0))
    if what == "busy":
        threading.Thread(target=_compute, daemon=True).start()
    print(listening.getsockname()[1], flush=True)  # noqa: T201 - told to the benchmark
    run(server_for(_empty_app() if what == "empty" else _feed_app()), listening)


if __name__ == "__main__":
    main(sys.argv[1])
