"""Which addresses are asked, and where a redirect may lead.

Only https, so nobody on the way reads where the household lives; plain http is for this machine alone.
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urljoin, urlsplit

from providers.errors import Refused, Unreachable
from providers.payload import one_line


def checked_address(url: str) -> str:
    """The address, if it may be asked.  Raises Refused otherwise."""
    scheme, host = _scheme_and_host(url)
    if not host or scheme not in ("https", "http"):
        raise Refused(f"{one_line(url)!r} is not an address that can be asked; https://… is")
    if scheme == "http" and not is_loopback(host):
        raise Refused(f"{one_line(url)!r} is not asked: http is for this machine alone, all else needs https")
    return url


def redirected(url: str, location: str | None, source: str) -> str:
    """Where a redirect leads, if it may be followed.

    Followed are the same host, and a host under or above it ("api.example.org", "example.org"); never from
    https to http.  Raises Unreachable otherwise.
    """
    if not location:
        raise Unreachable(f"{source} redirects without saying where to")
    try:
        target = urljoin(url, location)
    except ValueError:
        target = ""
    (scheme, host), (new_scheme, new_host) = _scheme_and_host(url), _scheme_and_host(target)
    if new_scheme != scheme and (scheme, new_scheme) != ("http", "https"):
        raise Unreachable(f"{source} redirects from {scheme} to {one_line(target)!r}, which is not followed")
    if not _same_site(host, new_host):
        raise Unreachable(f"{source} redirects to another host ({one_line(target)!r}), which is not followed")
    return target


def is_loopback(host: str) -> bool:
    """Whether a host is this machine: 127.0.0.0/8, ::1 or localhost."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def host_of(url: str) -> str:
    """The host that an address names, in lower case; empty where it names none."""
    return _scheme_and_host(url)[1]


def _scheme_and_host(url: str) -> tuple[str, str]:
    try:
        parts = urlsplit(url)
        _ = parts.port  # a port that is no number raises here rather than deep in the library
        return parts.scheme.lower(), (parts.hostname or "").lower()
    except ValueError:
        return "", ""


def _same_site(one: str, other: str) -> bool:
    """The same host, or one above the other.

    Siblings are left out: telling them from strangers under a shared suffix (co.uk) takes the public suffix list.
    """
    return one == other or _is_under(one, other) or _is_under(other, one)


def _is_under(host: str, parent: str) -> bool:
    return "." in parent and host.endswith("." + parent) and not parent.replace(".", "").isdigit()
