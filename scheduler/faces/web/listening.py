"""The HTTP server that the service runs in: uvicorn, told to log no address and to wait for nobody too long."""

from __future__ import annotations

import socket
from operator import attrgetter
from typing import TYPE_CHECKING, Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

if TYPE_CHECKING:
    import asyncio

    from starlette.types import ASGIApp

MOST_HEADER_BYTES = 16_384
PATIENCE_S = 15
"""Between two looks at a connection, and how long one may lie idle between two requests (our judgement)."""
MOST_CONNECTIONS = 600
"""Well under the 1,024 files that systems commonly let a process hold: the journal and the weather need some too."""


class Impatient(H11Protocol):
    """Closes a connection on which nothing came to its end for a while, however slowly bytes trickle in or out."""

    since = 0.0
    """When it was made, by the loop's clock."""
    _clock: asyncio.TimerHandle | None = None
    _seen: tuple[object, bool] = (None, False)

    def connection_made(self, transport: Any) -> None:
        """Start the clock; where there are too many, the oldest makes room."""
        if len(self.connections) >= MOST_CONNECTIONS:
            oldest = min(self.connections, key=attrgetter("since"))
            self.connections.discard(oldest)
            oldest.transport.abort()
        self.since = self.loop.time()
        super().connection_made(transport)
        # The event loop only does so for sockets that say TCP in so many words; else each whole answer waits 40 ms.
        transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.access_log = False  # the path holds the secret, and any handler of the process would get it
        self._clock = self.loop.call_later(PATIENCE_S, self._look)

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clock."""
        if self._clock is not None:
            self._clock.cancel()
        super().connection_lost(exc)

    def send_400_response(self, msg: str) -> None:
        """Refuse what is no HTTP; where that was the body of a request under way or answered, just hang up."""
        if self.conn.our_state is h11.IDLE:
            super().send_400_response(msg)
        else:
            self.transport.abort()

    def _look(self) -> None:
        """Close it if neither a request nor an answer was finished since the last look."""
        now = (self.cycle, self.cycle is not None and self.cycle.response_complete)
        if now == self._seen:
            self.transport.abort()
            return
        self._seen = now
        self._clock = self.loop.call_later(PATIENCE_S, self._look)


def server_for(app: ASGIApp) -> uvicorn.Server:
    """A server for the application; `run` it on a socket that is listening."""
    config = uvicorn.Config(
        app,
        http=Impatient,
        ws="none",
        lifespan="off",
        access_log=False,
        log_config=None,
        log_level="error",  # whatever the process logs: garbage fills no disk, and uvicorn's trace would tell paths
        proxy_headers=False,  # nobody asks who asked
        server_header=False,
        h11_max_incomplete_event_size=MOST_HEADER_BYTES,
        timeout_keep_alive=PATIENCE_S,
        timeout_graceful_shutdown=5,
    )
    return uvicorn.Server(config)


def run(server: uvicorn.Server, listening: socket.socket) -> None:
    """Serve until a signal ends it."""
    server.run(sockets=[listening])
