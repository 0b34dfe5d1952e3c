"""What the server hands out, ready to send: every representation of every site, replaced whole.

A request only ever reads; the keeper puts a new set of pages in with one assignment, so nothing torn can be seen.
"""

from __future__ import annotations

import gzip
import hashlib
import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from email.utils import format_datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

SECOND = timedelta(seconds=1)

Headers = list[tuple[bytes, bytes]]

COMMON: Headers = [
    (b"cache-control", b"private, max-age=0, must-revalidate"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-robots-tag", b"noindex, nofollow"),
    (b"cross-origin-resource-policy", b"same-origin"),
]
"""What goes with every answer: kept by nobody between, guessed at by no browser, told to no other site."""


@dataclass(frozen=True, slots=True)
class Sent:
    """One representation in one encoding, ready to send."""

    etag: bytes
    headers: Headers
    """Of a full answer."""
    headers_304: Headers
    """Of the answer that nothing changed."""


class Body:
    """One representation of one page: kept packed, as thousands of sites fit into memory that way.

    modified: when it last changed (whole seconds, UTC).  Equal bytes pack alike: gzip is given no time of its own.
    """

    __slots__ = ("_further", "_gzip", "_type", "gzipped", "modified", "plain")

    def __init__(self, data: bytes, content_type: str, modified: datetime, *further: tuple[bytes, bytes]) -> None:
        self.modified, self._type, self._further = modified, content_type, further
        self._gzip = gzip.compress(data, compresslevel=9, mtime=0)
        tag = hashlib.sha256(data).hexdigest()[:32].encode()
        shared: Headers = [
            *COMMON,
            *further,
            (b"last-modified", format_datetime(modified, usegmt=True).encode()),
            (b"vary", b"Accept-Encoding"),
        ]
        kind = (b"content-type", content_type.encode())
        self.plain = _sent(b'"%s"' % tag, len(data), [kind], shared)
        self.gzipped = _sent(b'"%s-gzip"' % tag, len(self._gzip), [kind, (b"content-encoding", b"gzip")], shared)

    @property
    def data(self) -> bytes:
        """The bytes as they are."""
        return gzip.decompress(self._gzip)

    def after(self, before: Body | None) -> Body:
        """What stands in the place of the body before: that very one where nothing changed, else a later one.

        Who asks by date alone must not be told that nothing changed, even where the clock was set back.
        """
        if before is None:
            return self
        if self.plain.etag == before.plain.etag:
            return before
        if self.modified > before.modified:
            return self
        return Body(self.data, self._type, before.modified + SECOND, *self._further)

    def data_of(self, sent: Sent) -> bytes:
        """The bytes in that encoding."""
        return self._gzip if sent is self.gzipped else self.data


def _sent(etag: bytes, length: int, about: Headers, shared: Headers) -> Sent:
    tagged = [*shared, (b"etag", etag)]
    return Sent(etag, [*about, (b"content-length", b"%d" % length), *tagged], tagged)


Pages = Mapping[str, Body | None]
"""What one site has, by the last part of its path; None for what is not made yet."""


class Shelf:
    """Pages by the secret part of their path, which is compared without telling how much of it was right."""

    def __init__(self) -> None:
        self._by_digest: dict[bytes, tuple[bytes, Pages]] = {}
        self.health: Body | None = None

    def place(self, secret: str, pages: Pages) -> None:
        """Put one site's pages in the place of what was there; what did not change stays as it is."""
        digest = _digest(secret)
        _, before = self._by_digest.get(digest, (b"", {}))
        after = {name: None if body is None else body.after(before.get(name)) for name, body in pages.items()}
        self._by_digest[digest] = (secret.encode(), after)

    def close(self, secret: str) -> None:
        """From now on there is nothing under that secret."""
        self._by_digest.pop(_digest(secret), None)

    def find(self, secret: str, name: str) -> Body | None:
        """The page of that name under that secret; None where either is wrong, or where it is not made yet."""
        return self._pages(secret).get(name)

    def awaits(self, secret: str, name: str) -> bool:
        """Whether there will be such a page, but is not yet."""
        return self._pages(secret).get(name, ...) is None

    def _pages(self, secret: str) -> Pages:
        # Looked up by a digest, so that the time it takes tells nothing of the secret; compared whole besides.
        given = secret.encode("utf-8", "surrogatepass")
        known, pages = self._by_digest.get(_digest(secret), (b"", {}))
        return pages if hmac.compare_digest(known, given) else {}


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()
