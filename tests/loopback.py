"""A weather service on this machine: real sockets and real HTTP, scripted with faults.

Routes make pages; a fault (see ``faults``) is given the page and does to the answer whatever it likes.  A new
service is a function under ``@route(path)``, with its shape in ``shapes``.
"""

from __future__ import annotations

import gzip
import json
import socket
import sys
import threading
from collections import defaultdict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socketserver import TCPServer
from typing import TYPE_CHECKING, Any, Self
from urllib.parse import parse_qsl, urlsplit

import shapes

if TYPE_CHECKING:
    import ssl

Query = dict[str, str]


@dataclass
class Page:
    """What a route answers."""

    body: bytes
    headers: dict[str, str] = field(default_factory=dict)
    status: int = 200


@dataclass(frozen=True)
class Seen:
    """One request as it came in; names of headers in lower case."""

    path: str
    query: Query
    headers: dict[str, str]


Route = Callable[[datetime, Query], Page]
Fault = Callable[["Handler", Page], None]
ROUTES: dict[str, Route] = {}


def route(path: str) -> Callable[[Route], Route]:
    """Register what a path answers."""

    def register(make: Route) -> Route:
        ROUTES[path] = make
        return make

    return register


def json_page(payload: Any, *, status: int = 200, **headers: str) -> Page:
    return Page(json.dumps(payload).encode(), {"Content-Type": "application/json; charset=utf-8"} | headers, status)


def open_meteo_error(reason: str) -> Page:
    return json_page({"error": True, "reason": reason}, status=400)


@route("/v1/forecast")
def open_meteo_forecast(now: datetime, query: Query) -> Page:
    variables = tuple(query.get("hourly", "").split(","))
    unknown = [name for name in variables if name not in shapes.VARIABLES]
    if unknown:
        return open_meteo_error(f"Cannot initialize ForecastVariable from invalid String value {unknown[0]}.")
    return json_page(
        shapes.open_meteo_forecast(
            now,
            past_days=int(query.get("past_days", "0")),
            forecast_days=int(query.get("forecast_days", "7")),
            wind_speed_unit=query.get("wind_speed_unit", "kmh"),
            timeformat=query.get("timeformat", "iso8601"),
            variables=variables,
        )
    )


@route("/v1/ensemble")
def open_meteo_ensemble(now: datetime, query: Query) -> Page:
    return json_page(
        shapes.open_meteo_ensemble(
            now,
            past_days=int(query.get("past_days", "0")),
            forecast_days=int(query.get("forecast_days", "7")),
            timeformat=query.get("timeformat", "iso8601"),
        )
    )


@route("/v1/search")
def open_meteo_search(now: datetime, query: Query) -> Page:
    found = "smokeham".startswith(query.get("name", "").casefold())
    return json_page(shapes.open_meteo_places() if found else {"generationtime_ms": 0.13})


class Handler(BaseHTTPRequestHandler):
    """Answers one connection."""

    protocol_version = "HTTP/1.1"
    server: Server

    def do_GET(self) -> None:
        parts = urlsplit(self.path)
        query = dict(parse_qsl(parts.query, keep_blank_values=True))
        service = self.server.service
        service.requests.append(Seen(parts.path, query, {k.lower(): v for k, v in self.headers.items()}))
        page = service.page(parts.path, query)
        faults = service.faults[parts.path]
        self.close_connection = True
        if faults:
            faults.popleft()(self, page)
        else:
            self.answer(page)

    def answer(self, page: Page) -> None:
        """Send a page as a service in order does: conditional requests, packing, length."""
        if page.status == 200 and self._holds_already(page):
            self.start(304, page.headers)
            return
        packed = "gzip" in self.headers.get("Accept-Encoding", "") and "Content-Encoding" not in page.headers
        body = gzip.compress(page.body) if packed else page.body
        packing = {"Content-Encoding": "gzip"} if packed else {}
        self.start(page.status, page.headers | packing | {"Content-Length": str(len(body))})
        self.wfile.write(body)

    def start(self, status: int, headers: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.flush()

    def wait(self, seconds: float) -> None:
        """Sleep, but not beyond the end of the server."""
        self.server.service.closing.wait(seconds)

    def date_time_string(self, _timestamp: float | None = None) -> str:
        return format_datetime(self.server.service.clock(), usegmt=True)

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - the name in http.server
        """Tests read ``requests`` instead."""

    def _holds_already(self, page: Page) -> bool:
        pairs = (("If-None-Match", "ETag"), ("If-Modified-Since", "Last-Modified"))
        asked = [(self.headers[ask], page.headers.get(name)) for ask, name in pairs if ask in self.headers]
        return bool(asked) and all(given == held for given, held in asked)


class Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    service: WeatherServer

    def server_bind(self) -> None:
        """Without the look-up of our own name that http.server does."""
        TCPServer.server_bind(self)
        self.server_name, self.server_port = "127.0.0.1", self.server_address[1]

    def handle_error(self, _request: Any, _client_address: Any) -> None:
        """A client that hangs up is in order; anything else is a mistake in this file."""
        error = sys.exception()
        if not isinstance(error, ConnectionError) and error is not None:
            self.service.errors.append(error)


class WeatherServer:
    """The service; ``with WeatherServer(clock) as server`` runs it on a free port of 127.0.0.1."""

    def __init__(self, clock: Callable[[], datetime]) -> None:
        self.clock = clock
        self.requests: list[Seen] = []
        self.faults: dict[str, deque[Fault]] = defaultdict(deque)
        self.pages: dict[str, Page] = {}
        """Pages that stand for a path whatever its route says."""
        self.errors: list[BaseException] = []
        self.sent_bytes = 0
        """What the endless faults got rid of."""
        self.closing = threading.Event()
        self._server = Server(("127.0.0.1", 0), Handler)
        self._server.service = self
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.02,), daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.closing.set()
        self._server.shutdown()
        self._server.server_close()
        assert not self.errors, self.errors

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_port}"

    def speak_tls(self, context: ssl.SSLContext) -> None:
        """From now on take https alone."""
        self._server.socket = context.wrap_socket(self._server.socket, server_side=True)

    def script(self, path: str, *faults: Fault) -> None:
        """The next requests for a path meet these faults, one each; after them all is well again."""
        self.faults[path].extend(faults)

    def page(self, path: str, query: Query) -> Page:
        if path in self.pages:
            return self.pages[path]
        if path in ROUTES:
            return ROUTES[path](self.clock(), query)
        return Page(b"not found", status=404)

    def asked(self, path: str) -> list[Seen]:
        """The requests for one path, in order."""
        return [seen for seen in self.requests if seen.path == path]


def closed_port_url() -> str:
    """An address at which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{probe.getsockname()[1]}"
