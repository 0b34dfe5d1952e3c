"""What goes wrong between a weather service and us, for ``loopback.WeatherServer.script``.

Each is a fault or makes one: it is given the handler and the page that would have been right.
"""

from __future__ import annotations

import gzip
import json
import socket
import struct
import zlib
from typing import TYPE_CHECKING, Any

from loopback import Page, json_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from loopback import Fault, Handler

MB = 2**20
JSON_TYPE = {"Content-Type": "application/json; charset=utf-8"}


def in_order(handler: Handler, page: Page) -> None:
    """No fault: for a queue in which only a later request goes wrong."""
    handler.answer(page)


# On the wire.


def hang_up(handler: Handler, page: Page) -> None:
    """Reset the connection without a word."""
    handler.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    handler.connection.close()


def silent(handler: Handler, page: Page) -> None:
    """Take the request and never answer."""
    handler.wait(30)


def slow_headers(handler: Handler, page: Page) -> None:
    """A header that never ends, a byte at a time and often enough that no single wait is long."""
    handler.wfile.write(b"HTTP/1.1 200 OK\r\nX-Slow: ")
    _drip(handler)


def slow_body(handler: Handler, page: Page) -> None:
    """A body a byte at a time."""
    handler.start(200, JSON_TYPE | {"Content-Length": "100000"})
    _drip(handler)


def stalled_body(handler: Handler, page: Page) -> None:
    """Half a body, then silence."""
    handler.start(200, JSON_TYPE | {"Content-Length": str(len(page.body))})
    handler.wfile.write(page.body[: len(page.body) // 2])
    handler.wait(30)


def cut_body(handler: Handler, page: Page) -> None:
    """Half of the body that was announced, then the end of the connection."""
    handler.start(200, JSON_TYPE | {"Content-Length": str(len(page.body))})
    handler.wfile.write(page.body[: len(page.body) // 2])


def cut_gzip(handler: Handler, page: Page) -> None:
    """Half of a packed body, announced with the length of the half."""
    packed = gzip.compress(page.body)
    half = packed[: len(packed) // 2]
    handler.start(200, JSON_TYPE | {"Content-Encoding": "gzip", "Content-Length": str(len(half))})
    handler.wfile.write(half)


def broken_gzip(handler: Handler, page: Page) -> None:
    """Bytes that are called gzip and are not."""
    handler.answer(Page(b"no gzip at all", JSON_TYPE | {"Content-Encoding": "gzip"}))


def nested_gzip(handler: Handler, page: Page) -> None:
    """Packed twice, which nobody asked for."""
    body = gzip.compress(gzip.compress(page.body))
    handler.answer(Page(body, JSON_TYPE | {"Content-Encoding": "gzip, gzip"}))


def endless(handler: Handler, page: Page) -> None:
    """200 MB of blanks, made as they are sent."""
    _stream(handler, (b" " * 65536 for _ in range(200 * MB // 65536)), {})


def gzip_bomb(handler: Handler, page: Page) -> None:
    """200 MB of blanks in 200 kB."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    _stream(
        handler,
        filter(None, (packer.compress(b" " * MB) + packer.flush(zlib.Z_SYNC_FLUSH) for _ in range(200))),
        {"Content-Encoding": "gzip"},
    )


def not_http(handler: Handler, page: Page) -> None:
    """Something that does not speak HTTP at all."""
    handler.wfile.write(b"SSH-2.0-OpenSSH_9.6\r\n")


# In the status line and the headers.


def status(code: int, body: bytes = b"", **headers: str) -> Fault:
    """A bare status; ``retry_after`` in ``headers`` becomes Retry-After."""
    named = {name.replace("_", "-").title(): value for name, value in headers.items()}
    return lambda handler, _page: handler.answer(Page(body, named, code))


def reason(code: int, text: str, **headers: str) -> Fault:
    """An error with its reason, in the shape of Open-Meteo."""
    return status(code, json.dumps({"error": True, "reason": text}).encode(), **headers)


def refusal_cut_short(handler: Handler, page: Page) -> None:
    """403 with a body that breaks off."""
    handler.start(403, {"Content-Type": "text/plain", "Content-Length": "1000"})
    handler.wfile.write(b"you are ban")


def redirect(location: str, code: int = 301) -> Fault:
    """Over to another address, with a problem document as body, as the US service does."""
    body = json.dumps({"type": "about:blank", "title": "moved", "status": code}).encode()
    return lambda handler, _page: handler.answer(Page(body, {"Location": location}, code))


def redirect_here(handler: Handler, page: Page) -> None:
    """Over to the same question, by a relative address."""
    handler.answer(Page(b"", {"Location": handler.path}, 301))


def not_modified(handler: Handler, page: Page) -> None:
    """304, asked for or not."""
    handler.start(304, {})


# In the body.


def says(body: bytes, **headers: str) -> Fault:
    """A body of another kind with status 200."""
    return lambda handler, _page: handler.answer(Page(body, JSON_TYPE | headers))


def spoilt(change: Callable[[Any], Any]) -> Fault:
    """The right payload after a change."""
    return lambda handler, page: handler.answer(json_page(change(json.loads(page.body))))


HTML = b"<!DOCTYPE html>\n<html><head><title>x</title></head><body><h1>Sign in to the guest network</h1></body></html>"
NOT_COVERED = (
    b'{"latitude":nan,"longitude":nan,"generationtime_ms":0.02,"utc_offset_seconds":0,"timezone":"GMT",'
    b'"timezone_abbreviation":"GMT"}'
)


def with_hours(name: str, change: Callable[[list[Any]], list[Any]]) -> Fault:
    """The right payload with one of its arrays changed."""

    def spoil(payload: Any) -> Any:
        payload["hourly"][name] = change(payload["hourly"][name])
        return payload

    return spoilt(spoil)


def _drip(handler: Handler) -> None:
    for _ in range(600):
        if handler.server.service.closing.is_set():
            return
        handler.wfile.write(b" ")
        handler.wait(0.05)


def _stream(handler: Handler, pieces: Iterator[bytes], headers: dict[str, str]) -> None:
    """Send in chunks for as long as somebody takes them."""
    handler.start(200, JSON_TYPE | headers | {"Transfer-Encoding": "chunked"})
    for piece in pieces:
        handler.wfile.write(f"{len(piece):x}\r\n".encode() + piece + b"\r\n")
        handler.server.service.sent_bytes += len(piece)
    handler.wfile.write(b"0\r\n\r\n")
