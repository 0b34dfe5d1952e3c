"""The secret part of a site's address: who knows it may read the site's page and calendar, nobody else.

It is 32 random bytes (the W3C TAG's advice on capability URLs: hard to guess, easy to replace), kept beside the
site file in a file that only its owner can read.
"""

from __future__ import annotations

import os
import re
import secrets
from typing import TYPE_CHECKING

from scheduler.errors import BadSetting

if TYPE_CHECKING:
    from pathlib import Path

SECRET_BYTES = 32
SUFFIX = ".address"

_SECRET = re.compile(r"[A-Za-z0-9_-]{43}")
"""What 32 bytes are in URL-safe base64."""


def address_path(site_file: Path) -> Path:
    """Where the secret of that site file lies."""
    return site_file.with_name(site_file.name.removesuffix(".toml") + SUFFIX)


def secret_of(site_file: Path) -> str | None:
    """The secret of a site; None where none was made.  BadSetting where the file holds something else."""
    path = address_path(site_file)
    try:
        text = path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as exc:
        raise BadSetting(f"{str(path)!r} cannot be read; `smokenight address --new` makes a new address") from exc
    if not _SECRET.fullmatch(text):
        raise BadSetting(f"{str(path)!r} holds no address; `smokenight address --new` makes a new one")
    return text


def new_secret(site_file: Path) -> str:
    """Draw a new secret and put it in place of any old one, whole or not at all."""
    secret, path = secrets.token_urlsafe(SECRET_BYTES), address_path(site_file)
    beside = path.with_name(f".{secrets.token_hex(8)}.tmp")
    try:
        with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
            file.write(f"{secret}\n")
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError as exc:
        beside.unlink(missing_ok=True)
        reason = (exc.strerror or type(exc).__name__).lower()
        raise BadSetting(f"cannot write {str(path)!r}: {reason}; the folder of the site file must allow it") from exc
    return secret


def secret_made(site_file: Path) -> str:
    """The secret of a site, drawn now if it has none."""
    found = secret_of(site_file)
    return new_secret(site_file) if found is None else found


def path_of(secret: str, page: str = "") -> str:
    """The path of one of the site's pages."""
    return f"/s/{secret}/{page}"
