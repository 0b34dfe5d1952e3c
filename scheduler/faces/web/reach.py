"""How a household reaches the server: the address that page, calendar and `smokenight address` name."""

from __future__ import annotations

import ipaddress
import shlex
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from scheduler.errors import BadSetting

if TYPE_CHECKING:
    import socket
    from collections.abc import Sequence
    from pathlib import Path

HOST, PORT = "127.0.0.1", 8471
"""This machine alone, and a port that no registered service has."""

USUAL_URL = f"http://{HOST}:{PORT}"


def checked(url: str) -> str:
    """A public address that a person can be given."""
    try:
        parts = urlsplit(url)
        good = parts.scheme in ("http", "https") and bool(parts.hostname) and not parts.query and not parts.fragment
        good = good and not _is_everywhere(parts.hostname or "")
    except ValueError:
        good = False
    if not good or not url.isprintable() or " " in url:
        raise BadSetting(f"--public-url: {url!r} is no address; write it like https://smoke.example.org")
    return url


def url_at(host: str, port: int, listening: socket.socket) -> str:
    """What a server that was told nothing else is reached by; BadSetting where it listens everywhere, by any name."""
    found, bound = listening.getsockname()[:2]
    if _is_everywhere(found):
        raise BadSetting(
            f"--host: {host!r} means every address of this machine, and none that a calendar can ask;"
            f" say how your household reaches it with --public-url http://NAME:{port or 'PORT'}"
        )
    return checked(f"http://{f'[{host}]' if ':' in host else host}:{bound}")


def _is_everywhere(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_unspecified
    except ValueError:
        return False


def address_command(url: str, sites: Sequence[Path], usual_site: Path) -> str:
    """What to type to see the addresses of the sites that are served at that URL."""
    words = ["smokenight", "address"]
    if list(sites) != [usual_site]:
        words += ["--site", str(sites[0]) if len(sites) == 1 else "FILE"]
    if url.rstrip("/") != USUAL_URL:
        words += ["--public-url", url]
    return shlex.join(words)
