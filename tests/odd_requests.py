"""Requests that no calendar client sends, what becomes of each, and what no answer may ever tell."""

from __future__ import annotations

import re
import socket
from datetime import UTC, datetime

from scheduler.faces.web.shelf import Body, Shelf

MINE = "mKe0Yd1dTn0iQb0vV5cU5o2hC8wJz6aR4sX7pL9gE3f"
"""The secret that the asker of these requests knows."""
THEIRS = "mKe0Yd1dTn0iQb0vV5cU5o2hC8wJz6aR4sX7pL9gE3g"
"""Another site's, one letter away."""
PAGES = ("", "smoke.ics", "next.json", "nights.json")
FEED = f"/s/{MINE}/smoke.ics"
CHANGED = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)

THEIR_WORDS = b"the pike of the other household"
TELLING = re.compile(
    rb"traceback|exception|file \"|/usr|/tmp|/root|/home|site-packages|python|uvicorn|starlette|h11|asyncio"
    rb"|" + re.escape(MINE[:20].encode()) + rb"|" + re.escape(THEIR_WORDS),
    re.IGNORECASE,
)
"""What names the inside of the server, a secret, or another site's pages."""


def two_sites() -> Shelf:
    """The asker's site, somebody else's, and the health of the process."""
    shelf = Shelf()
    shelf.place(MINE, _pages(b"the trout of this household"))
    shelf.place(THEIRS, _pages(THEIR_WORDS))
    shelf.health = Body(b"{}", "application/json", CHANGED)
    return shelf


def _pages(words: bytes) -> dict[str, Body]:
    kind = "text/plain; charset=utf-8"
    return {name: Body(b"%s, %s\n" % (words, name.encode()) * 200, kind, CHANGED) for name in PAGES}


def asked(target: str = FEED, *headers: str, method: str = "GET", version: str = "HTTP/1.1") -> bytes:
    """A request as it goes over the line."""
    lines = [f"{method} {target} {version}", "Host: x", *headers, "", ""]
    return "\r\n".join(lines).encode("latin-1")


def answer_to(port: int, raw: bytes, wait_s: float = 10.0) -> bytes:
    """All that comes back for these bytes when nothing follows them."""
    found = b""
    with socket.create_connection(("127.0.0.1", port), timeout=wait_s) as link:
        try:
            link.sendall(raw)
            link.shutdown(socket.SHUT_WR)
            while chunk := link.recv(65536):
                found += chunk
        except (BrokenPipeError, ConnectionResetError):
            pass  # hung up on while still talking
        except OSError as exc:
            if exc.errno != 107:  # not connected any more, on shutting down
                raise
    return found


def statuses(answer: bytes) -> str:
    """The status codes in an answer, in order, with a space between."""
    return " ".join(code.decode() for code in re.findall(rb"(?:^|\n)HTTP/\d\.\d (\d+)", answer))


CHUNKED = "Transfer-Encoding: chunked"
NEXT = asked("/health")
"""A second request, hidden behind or inside a first one."""

ODD: dict[str, tuple[bytes, str]] = {
    # Path tricks
    "dot segments": (asked(f"/s/{MINE}/x/../smoke.ics"), "404"),
    "dot segments at the root": (asked("/../../../../etc/passwd"), "404"),
    "encoded dots": (asked("/s/%2e%2e/%2e%2e/etc/passwd"), "404"),
    "dots encoded twice": (asked("/s/%252e%252e%252fetc%252fpasswd"), "404"),
    "overlong dots": (asked("/s/%c0%ae%c0%ae/etc/passwd"), "404"),
    "an encoded NUL": (asked(f"{FEED}%00.html"), "404"),
    "an encoded line break behind an address": (asked(f"{FEED}%0a"), "404"),
    "an encoded line break behind health": (asked("/health%0a"), "404"),
    "an encoded header": (asked("/%0d%0aSet-Cookie:%20a=b"), "404"),
    "two slashes": (asked(f"/{FEED}"), "404"),
    "a slash too many": (asked(f"{FEED}/"), "404"),
    "path parameters": (asked(f"{FEED};a=b"), "404"),
    "backslashes": (asked(f"\\s\\{MINE}\\smoke.ics"), "404"),
    "broken escapes": (asked("/s/%zz/%"), "404"),
    "a query": (asked(f"{FEED}?secret={THEIRS}"), "200"),
    "escapes that mean the same": (asked(FEED.replace("smoke", "%73moke")), "200"),
    "absolute form": (asked(f"http://x{FEED}"), "404"),
    "authority form": (asked("x:80"), "404"),
    "asterisk form": (asked("*"), "404"),
    "a target of 100 kB": (asked("/" + "a" * 100_000), "400|404"),
    "a target that is not ASCII": (asked("/s/\xe4/smoke.ics"), "400"),
    "a secret that is nearly right": (asked(f"/s/{MINE[:-1]}/smoke.ics"), "404"),
    # Methods
    "CONNECT": (asked("x:80", method="CONNECT"), "405"),
    "TRACE": (asked(method="TRACE"), "405"),
    "OPTIONS of everything": (asked("*", method="OPTIONS"), "405"),
    "a method in small letters": (asked(method="get"), "405"),
    "a method of 8 kB": (asked(method="A" * 8000), "405"),
    # Versions and connections
    "HTTP/0.9": (b"GET /health\r\n\r\n", "400"),
    "HTTP/1.0": (b"GET /health HTTP/1.0\r\n\r\n", "200"),
    "HTTP/1.0 that wants to stay": (b"GET /health HTTP/1.0\r\nConnection: keep-alive\r\n\r\n" * 2, "200"),
    "HTTP/9.9": (asked(version="HTTP/9.9"), "200"),
    "the preface of HTTP/2": (b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", "405 400"),
    "a greeting of TLS": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", "400"),
    "an upgrade to a socket": (asked(FEED, "Upgrade: websocket", "Connection: upgrade"), "200"),
    "an upgrade to HTTP/2": (asked(FEED, "Upgrade: h2c", "Connection: upgrade, http2-settings"), "200"),
    "three at once": (asked(FEED) + asked("/") + asked("/", method="PUT"), "200 404 405"),
    "nothing": (b"", ""),
    "empty lines": (b"\r\n" * 1000, "|400"),
    "a request cut short": (asked()[:-3], ""),
    # Headers
    "no host": (b"GET /health HTTP/1.1\r\n\r\n", "400"),
    "two hosts": (asked(FEED, "Host: y"), "400"),
    "a strange host": (b"GET /health HTTP/1.1\r\nHost: ../../etc<script>\r\n\r\n", "200"),
    "a header of 100 kB": (asked(FEED, "If-None-Match: " + '"a", ' * 20_000), "200|400"),
    "20,000 headers": (asked(FEED, *["X: y"] * 20_000), "200|400"),
    "a header folded onto a second line": (asked(FEED, "X: a\r\n b"), "200"),
    "a space before the colon": (asked(FEED, "X : a"), "400"),
    "a NUL in a header": (asked(FEED, "X: a\x00b"), "400"),
    "a header that is no header": (asked(FEED, "nothing"), "400"),
    "header bytes beyond ASCII": (asked(FEED, "If-None-Match: \xff\xfe", "Accept-Encoding: \xe4"), "200"),
    "part of the feed": (asked(FEED, "Range: bytes=0-3"), "200"),
    "parts that are none": (asked(FEED, "Range: bytes=-1-9999999999999999999999,a-b"), "200"),
    "a date that is none": (asked(FEED, "If-Modified-Since: Thu, 99 Foo 99999999999 99:99:99 +9999"), "200"),
    "a path given by a header": (asked("/", f"X-Original-URL: /s/{THEIRS}/", f"X-Rewrite-URL: /s/{THEIRS}/"), "404"),
    "an address given by a header": (asked("/", "X-Forwarded-For: 127.0.0.1", "X-Forwarded-Prefix: /s"), "404"),
    # Bodies, and requests hidden in them
    "asks to go on": (asked(FEED, "Expect: 100-continue", "Content-Length: 5"), "200"),
    "a body of a terabyte": (asked(FEED, "Content-Length: 1000000000000") + b"a" * 1000, "200"),
    "a body": (asked(FEED, "Content-Length: 5") + b"hello" + NEXT, "200"),
    "two lengths": (asked(FEED, "Content-Length: 5", "Content-Length: 6") + b"hello" + NEXT, "400"),
    "twice the same length": (asked(FEED, "Content-Length: 5", "Content-Length: 5") + b"hello" + NEXT, "200"),
    "a signed length": (asked(FEED, "Content-Length: +5") + b"hello" + NEXT, "400"),
    "a length and chunks": (asked(FEED, "Content-Length: 4", CHUNKED) + b"0\r\n\r\n" + NEXT, "200"),
    "chunks and a length": (asked(FEED, CHUNKED, "Content-Length: 999") + b"0\r\n\r\n" + NEXT, "200"),
    "chunks on a folded line": (asked(FEED, CHUNKED.replace(" ", "\r\n ")) + b"0\r\n\r\n" + NEXT, "200"),
    "chunks by another name": (asked(FEED, "Transfer-Encoding: xchunked") + b"0\r\n\r\n" + NEXT, "400"),
    "chunks twice": (asked(FEED, "Transfer-Encoding: chunked, chunked") + b"0\r\n\r\n" + NEXT, "400"),
    "a chunk of no size": (asked(FEED, CHUNKED) + b"zz\r\n" + NEXT, "|200"),
    "a chunk of negative size": (asked(FEED, CHUNKED) + b"-1\r\n" + NEXT, "|200"),
    "a chunk of huge size": (asked(FEED, CHUNKED) + b"f" * 15 + b"\r\n" + NEXT, "200"),
    "line feeds alone": (b"GET /health HTTP/1.1\nHost: x\n\n", "200"),
}  # fmt: skip
"""By what is odd: the bytes, and a pattern of the status codes of all answers to them."""
