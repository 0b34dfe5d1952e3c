"""The last good answer to each question, on disk, one file each.

A file is replaced whole or not at all, so several processes may share a folder.  What is torn, foreign or of
another version is as good as absent: it is never an error.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

FIRST_LINE = b"smokenight answer 1\n"
LARGEST_FILE = 16 * 2**20
"""Bytes; twice the largest answer that is taken, so anything above is not ours."""


@dataclass(frozen=True, slots=True)
class Stored:
    """One answer as it is kept."""

    url: str
    """What was asked; holds no identity."""
    status: int
    headers: Mapping[str, str]
    """Those that matter for asking again, names in lower case, values exactly as received."""
    fetched_at: datetime
    """When the body came in (UTC)."""
    confirmed_at: datetime
    """When the service last said that the body still holds (UTC)."""
    body: bytes


@dataclass(frozen=True, slots=True)
class AnswerStore:
    """A folder of answers, made when the first one is kept."""

    folder: Path

    def read(self, url: str) -> Stored | None:
        """The answer kept for this address, or None where there is none that can be read."""
        try:
            return _decoded(_file_bytes(self._path(url)), url)
        except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
            return None

    def write(self, stored: Stored) -> None:
        """Keep an answer in place of the one before.  Raises OSError where the disk does not let us."""
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=self.folder, suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(_encoded(stored))
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, self._path(stored.url))
        except BaseException:
            os.unlink(name)
            raise

    def _path(self, url: str) -> Path:
        return self.folder / (hashlib.sha256(url.encode("utf-8", "replace")).hexdigest() + ".answer")


def _file_bytes(path: Path) -> bytes:
    """The bytes of an ordinary file of a size that we would have written."""
    facts = path.stat()
    if not stat.S_ISREG(facts.st_mode) or facts.st_size > LARGEST_FILE:
        raise ValueError("not a file of ours")
    return path.read_bytes()


def _encoded(stored: Stored) -> bytes:
    head = {
        "url": stored.url,
        "status": stored.status,
        "headers": dict(stored.headers),
        "fetched_at": stored.fetched_at.isoformat(),
        "confirmed_at": stored.confirmed_at.isoformat(),
        "sha256": hashlib.sha256(stored.body).hexdigest(),
    }
    return FIRST_LINE + json.dumps(head).encode() + b"\n" + stored.body


def _decoded(raw: bytes, url: str) -> Stored:
    """Undo ``_encoded``; ValueError, KeyError or TypeError for what it did not write for this address."""
    if not raw.startswith(FIRST_LINE):
        raise ValueError("not a file of ours")
    line, _, body = raw[len(FIRST_LINE) :].partition(b"\n")
    head = json.loads(line)
    if head["url"] != url or head["sha256"] != hashlib.sha256(body).hexdigest():
        raise ValueError("torn, or of another address")
    return Stored(
        url=url, status=int(head["status"]), headers=_texts(head["headers"]), body=body,
        fetched_at=_instant(head["fetched_at"]), confirmed_at=_instant(head["confirmed_at"]),
    )  # fmt: skip


def _texts(headers: Any) -> dict[str, str]:
    if not isinstance(headers, dict) or not all(isinstance(value, str) for value in headers.values()):
        raise TypeError("headers must be texts")
    return headers


def _instant(text: str) -> datetime:
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None:
        raise ValueError("an instant without its zone")
    return instant.astimezone(UTC)
