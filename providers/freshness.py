"""How long an answer holds, and how to ask whether it still does (RFC 9111, HTTP Caching, 2022)."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

KEPT_HEADERS = ("age", "cache-control", "date", "etag", "expires", "last-modified")
LONGEST = timedelta(days=1)
"""Ours: no header, right or wrong, keeps us from asking for longer than this."""

_MAX_AGE = re.compile(r'(?:^|[\s,])max-age\s*=\s*"?(\d{1,9})', re.IGNORECASE)
_NO_CACHE = re.compile(r"(?:^|[\s,])no-(?:cache|store)\b", re.IGNORECASE)


def http_date(text: str | None) -> datetime | None:
    """An HTTP date in UTC, or None where there is none or it is not one ("0", "-1", "soon")."""
    if text is None:
        return None
    try:
        instant = parsedate_to_datetime(text)
        return (instant if instant.tzinfo else instant.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, TypeError, OverflowError, IndexError):
        return None


def lifetime(headers: Mapping[str, str], received_at: datetime) -> timedelta:
    """How long after it was received an answer holds; zero where the headers do not say.

    ``max-age`` goes before ``Expires`` (section 5.3), which is measured against the service's own ``Date``, so
    a wrong clock on this machine makes no difference (section 4.2.1).
    """
    control = headers.get("cache-control", "")
    max_age = _MAX_AGE.search(control)
    if _NO_CACHE.search(control):
        span = timedelta(0)
    elif max_age:
        span = timedelta(seconds=int(max_age.group(1)) - _age_s(headers))
    else:
        expires = http_date(headers.get("expires"))
        sent_at = http_date(headers.get("date")) or received_at
        span = timedelta(0) if expires is None else expires - sent_at
    return min(max(span, timedelta(0)), LONGEST)


def conditions(headers: Mapping[str, str]) -> dict[str, str]:
    """Request headers that ask for the body only if it changed; stored values go back exactly as they came."""
    pairs = (("If-None-Match", "etag"), ("If-Modified-Since", "last-modified"))
    return {ask: headers[name] for ask, name in pairs if _can_be_sent(headers.get(name))}


def _age_s(headers: Mapping[str, str]) -> int:
    """Seconds that an answer already spent in a cache on the way."""
    age = re.fullmatch(r"\s*(\d{1,9})\s*", headers.get("age", ""))
    return int(age.group(1)) if age else 0


def _can_be_sent(value: str | None) -> bool:
    return value is not None and value != "" and value.isascii() and value.isprintable()
