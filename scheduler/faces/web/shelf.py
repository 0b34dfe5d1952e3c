"""What the server hands out, ready to send: every representation of every site, replaced whole.

A request only ever reads; the keeper puts a new set of pages in with one assignment, so nothing torn can be seen.
"""

from __future__ import annotations

import gzip
import hashlib
import hmac
from dataclasses import dataclass
from email.utils import format_datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

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

    __slots__ = ("_gzip", "gzipped", "modified", "plain")

    def __init__(self, data: bytes, content_type: str, modified: datetime, *further: tuple[bytes, bytes]) -> None:
        self.modified = modified
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

    def data_of(self, sent: Sent) -> bytes:
        """The bytes in that encoding."""
        return self._gzip if sent is self.gzipped else self.data


def _sent(etag: bytes, length: int, about: Headers, shared: Headers) -> Sent:
    tagged = [*shared, (b"etag", etag)]
    return Sent(etag, [*about, (b"content-length", b"%d" % length), *tagged], tagged)


Pages = dict[str, Body]
"""What one site has, by the last part of its path."""


class Shelf:
    """Pages by the secret part of their path, which is compared without telling how much of it was right."""

    def __init__(self) -> None:
        self._by_digest: dict[bytes, tuple[bytes, Pages]] = {}
        self.health: Body | None = None

    def put(self, sites: Mapping[str, Pages]) -> None:
        """Replace everything: secrets and what each opens."""
        self._by_digest = {_digest(secret): (secret.encode(), pages) for secret, pages in sites.items()}

    def place(self, secret: str, pages: Pages) -> None:
        """Put one site's pages in the place of what was there."""
        self._by_digest[_digest(secret)] = (secret.encode(), pages)

    def close(self, secret: str) -> None:
        """From now on there is nothing under that secret."""
        self._by_digest.pop(_digest(secret), None)

    def find(self, secret: str, name: str) -> Body | None:
        """The page of that name under that secret; None where either is wrong."""
        # Looked up by a digest, so that the time it takes tells nothing of the secret; compared whole besides.
        given = secret.encode("utf-8", "surrogatepass")
        known, pages = self._by_digest.get(_digest(secret), (b"", {}))
        return pages.get(name) if hmac.compare_digest(known, given) else None


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()
