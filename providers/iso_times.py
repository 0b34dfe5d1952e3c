"""Instants and intervals in ISO 8601, in the forms that weather services write them, read with nothing guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from providers.errors import BadPayload
from providers.payload import kind, one_line

HOUR = timedelta(hours=1)
FARTHEST = timedelta(days=40)
"""Ours: no service forecasts as far; what is farther from the time of the fetch is of another time."""

_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,6})?(?:Z|[+-]\d\d:\d\d)", re.ASCII)
_DURATION = re.compile(r"P(?:(\d{1,3})D)?(?:T(\d{1,3})H)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Interval:
    """Whole hours from a whole hour on, the last one before ``start`` plus ``hours``."""

    start: datetime
    """In UTC."""
    hours: int


def read_instant(given: object, where: str, source: str, *, near: datetime) -> datetime:
    """An instant in UTC, such as 2026-10-20T12:00:00Z, within 40 days of another; BadPayload otherwise."""
    try:
        if not isinstance(given, str) or not _INSTANT.fullmatch(given):
            raise ValueError
        instant = datetime.fromisoformat(given).astimezone(UTC)
    except (ValueError, OverflowError):  # no such day or offset; before the year 1
        raise BadPayload(f"{source}: {where} is {_shown(given)}, not an instant like 2026-10-20T12:00:00Z") from None
    if abs(instant - near) > FARTHEST:
        raise BadPayload(f"{source}: {where} is more than {FARTHEST.days} days from when it was fetched")
    return instant


def read_interval(given: object, where: str, source: str, *, near: datetime) -> Interval:
    """An interval written as its start and its length, such as 2026-10-20T12:00:00+00:00/P1DT6H.

    The length is in days of 24 hours, and hours; weeks, months, years and parts of an hour are refused, as are
    starts between two hours.  Raises BadPayload.
    """
    start_text, slash, length = given.partition("/") if isinstance(given, str) else ("", "", "")
    if not slash:
        raise BadPayload(f"{source}: {where} is {_shown(given)}, not an interval like 2026-10-20T12:00:00+00:00/PT1H")
    start = read_instant(start_text, where, source, near=near)
    if start != start.replace(minute=0, second=0, microsecond=0):
        raise BadPayload(f"{source}: {where} starts at {_shown(start_text)}, between two hours")
    return Interval(start, _length_h(length, where, source))


def _length_h(length: str, where: str, source: str) -> int:
    match = _DURATION.fullmatch(length)
    hours = 24 * int(match[1] or 0) + int(match[2] or 0) if match else 0
    if not 0 < hours <= FARTHEST // HOUR:
        raise BadPayload(f"{source}: {where} lasts {_shown(length)}, not days and hours like P1DT6H")
    return hours


def _shown(given: object) -> str:
    return repr(one_line(given, 60)) if isinstance(given, str) else kind(given)
