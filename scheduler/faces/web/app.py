"""The HTTP face: five addresses, GET and HEAD only, one 404 for everything else."""

from __future__ import annotations

from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.routing import Route

from scheduler.faces.web.shelf import COMMON, Body, Headers, Sent

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

    from scheduler.faces.web.shelf import Shelf

TEXT = (b"content-type", b"text/plain; charset=utf-8")
NOT_FOUND = b"There is nothing here.\n"
NOT_ALLOWED = b"Only GET and HEAD are answered here.\n"
NOT_YET = b"This is being made; please come back in a minute.\n"
ANNOUNCE_BODY = (b"content-length", b"transfer-encoding")
HANG_UP = (b"connection", b"close")


def app_of(shelf: Shelf) -> ASGIApp:
    """The application over a shelf."""
    handlers = {404: _plain(404, NOT_FOUND), 405: _plain(405, NOT_ALLOWED, (b"allow", b"GET, HEAD"))}
    app = Starlette(routes=[Route("/health", _Health(shelf)), Route("/s/{secret}/{name:path}", _Site(shelf))])
    app.router.redirect_slashes = False  # a redirect would tell that something is there
    app.router.default = handlers[404]
    return _OnlyReading(app, handlers[404], handlers[405])


class _OnlyReading:
    """Refuses every method but GET and HEAD before any address is looked at, so that none answers differently."""

    def __init__(self, app: ASGIApp, missing: ASGIApp, refuse: ASGIApp) -> None:
        self.app, self.missing, self.refuse = app, missing, refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if any(name in ANNOUNCE_BODY for name, _ in scope["headers"]):
            scope["headers"].append(HANG_UP)  # no body is read here, so nothing after it may pass for a request
        await self._app_for(scope)(scope, receive, send)

    def _app_for(self, scope: Scope) -> ASGIApp:
        if scope["method"] not in ("GET", "HEAD"):
            return self.refuse
        # The framework's routes also match an address with a line break behind it.
        return self.app if scope["path"].isprintable() else self.missing


class _Site:
    """The pages of one site, behind its secret."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        asked = scope["path_params"]
        # In this order, as the keeper may put the page there in between.
        nothing = _not_yet if self.shelf.awaits(asked["secret"], asked["name"]) else _missing
        body = self.shelf.find(asked["secret"], asked["name"])
        await (nothing if body is None else _Answer(body))(scope, receive, send)


class _Health:
    """Whether the process is well, without a name or a secret."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        body = self.shelf.health
        await (_missing if body is None else _Answer(body))(scope, receive, send)


class _Answer:
    """One body in the encoding that was asked for, or the answer that it has not changed."""

    def __init__(self, body: Body) -> None:
        self.body = body

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:  # noqa: ARG002 - ASGI's shape
        headers = _Asked(scope["headers"])
        sent = self.body.gzipped if headers.takes_gzip else self.body.plain
        if headers.has(self.body, sent):
            await _send(send, 304, sent.headers_304, b"")
        else:
            await _send(send, 200, sent.headers, b"" if scope["method"] == "HEAD" else self.body.data_of(sent))


class _Asked:
    """What the headers of a request ask for."""

    def __init__(self, headers: Headers) -> None:
        self.headers = headers

    def get(self, name: bytes) -> bytes:
        """All values of that header, joined as HTTP joins them."""
        return b",".join(value for key, value in self.headers if key == name)

    @property
    def takes_gzip(self) -> bool:
        """Whether gzip is named without being refused."""
        for part in self.get(b"accept-encoding").lower().split(b","):
            coding, _, weight = part.partition(b";")
            if coding.strip() in (b"gzip", b"x-gzip"):
                return weight.replace(b" ", b"").rstrip(b"0") not in (b"q=", b"q=0.")
        return False

    def has(self, body: Body, sent: Sent) -> bool:
        """Whether the asker holds this body already: by tag, and only without one by date (RFC 9110, 13.2.2)."""
        tags = self.get(b"if-none-match")
        if tags:
            given = [tag.strip().removeprefix(b"W/") for tag in tags.split(b",")]
            return b"*" in given or sent.etag in given
        since = _date(self.get(b"if-modified-since"))
        return since is not None and body.modified <= since


def _date(given: bytes) -> datetime | None:
    """An HTTP date; None for what is none."""
    try:
        found = parsedate_to_datetime(given.decode("ascii"))
    except (ValueError, TypeError, OverflowError):
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def _plain(status: int, text: bytes, *further: tuple[bytes, bytes]) -> ASGIApp:
    """An answer that is the same for everybody."""
    headers: Headers = [*COMMON, TEXT, (b"content-length", str(len(text)).encode()), *further]

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:  # noqa: ARG001 - ASGI's shape
        await _send(send, status, headers, b"" if scope["method"] == "HEAD" else text)

    return answer


_missing = _plain(404, NOT_FOUND)
# A calendar program takes "nothing here" for the end of a subscription.
_not_yet = _plain(503, NOT_YET, (b"retry-after", b"60"))


async def _send(send: Send, status: int, headers: Headers, data: bytes) -> None:
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": data})
