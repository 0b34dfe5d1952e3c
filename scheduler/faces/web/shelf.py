"""What the server hands out, ready to send: every representation of every site, replaced whole.

A request only ever reads; the keeper puts a new set of pages in with one assignment, so nothing torn can be seen.
"""

from __future__ import annotations

import gzip
import hashlib
import hmac
from dataclasses import dataclass
from email.utils import format_datetime
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

Headers = list[tuple[bytes, bytes]]

WORTH_PACKING = 500
"""Bytes under which gzip saves nothing that a packet would notice (our judgement)."""

COMMON: Headers = [
    (b"cache-control", b"private, max-age=0, must-revalidate"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-robots-tag", b"noindex, nofollow"),
    (b"cross-origin-resource-policy", b"same-origin"),
]
"""What goes with every answer: kept by nobody between, guessed at by no browser, told to no other site."""


@dataclass(frozen=True, slots=True)
class Packed:
    """One representation in one encoding, with its headers."""

    data: bytes
    etag: bytes
    headers: Headers
    """Of a full answer."""
    headers_304: Headers
    """Of the answer that nothing changed."""


@dataclass(frozen=True)
class Body:
    """One representation: its bytes, its type, and when it last changed (whole seconds, UTC)."""

    data: bytes
    content_type: str
    modified: datetime
    further: tuple[tuple[bytes, bytes], ...] = ()
    """Headers of its own."""

    @cached_property
    def plain(self) -> Packed:
        """As it is."""
        return self._packed(self.data, b"")

    @cached_property
    def gzipped(self) -> Packed | None:
        """Packed, with an ETag of its own; None where that would not make it smaller."""
        if len(self.data) < WORTH_PACKING:
            return None
        packed = gzip.compress(self.data, compresslevel=9, mtime=0)  # without a time, so that equal bytes pack alike
        return self._packed(packed, b"gzip") if len(packed) < len(self.data) else None

    @cached_property
    def last_modified(self) -> bytes:
        """As HTTP writes it."""
        return format_datetime(self.modified, usegmt=True).encode()

    def _packed(self, data: bytes, encoding: bytes) -> Packed:
        digest = hashlib.sha256(self.data).hexdigest()[:32].encode()
        etag = b'"' + digest + (b"-" + encoding if encoding else b"") + b'"'
        shared: Headers = [
            *COMMON, *self.further, (b"etag", etag), (b"last-modified", self.last_modified),
            (b"vary", b"Accept-Encoding"),
        ]  # fmt: skip
        about: Headers = [(b"content-type", self.content_type.encode()), (b"content-length", str(len(data)).encode())]
        if encoding:
            about.append((b"content-encoding", encoding))
        return Packed(data, etag, [*about, *shared], shared)


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

    def find(self, secret: str, name: str) -> Body | None:
        """The page of that name under that secret; None where either is wrong."""
        # Looked up by a digest, so that the time it takes tells nothing of the secret; compared whole besides.
        given = secret.encode("utf-8", "surrogatepass")
        known, pages = self._by_digest.get(_digest(secret), (b"", {}))
        return pages.get(name) if hmac.compare_digest(known, given) else None


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()
