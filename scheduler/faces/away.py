"""Stretches when nobody is at home, as `--away` says them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from scheduler.errors import BadSetting
from scheduler.faces.printing import complain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from scheduler.faces.asking import Flags
    from scheduler.household.site import Site

Span = tuple[datetime, datetime]
"""First and last instant, in UTC."""

LIKE_DAYS = "2026-10-17..2026-10-20"
FLAG = "--away"


def away_spans(texts: Sequence[str] | None, zone: ZoneInfo, now: datetime | None = None) -> tuple[Span, ...]:
    """Each text as a stretch of the site's clock: whole days, the last one included, or times.

    Raises BadSetting, one line, for what is no stretch, ends before it starts, or, by `now`, is long over.
    """
    return tuple(_span(text, zone, now) for text in texts or ())


def busy_of(flags: Flags, site: Site, now: datetime) -> tuple[Span, ...]:
    """When nobody has time: what `--away` says, and the site's calendars; what to know of those goes to stderr."""
    away = away_spans(flags.away, site.zone, now)
    if not site.busy:
        return away
    from providers.services import polite_client
    from scheduler.faces.household_calendar import household_busy
    from scheduler.household.site_file import default_site_path

    folder = (flags.site if flags.site is not None else default_site_path()).parent
    # Without a contact: that is meant for weather services alone.
    client = None if flags.sample else lambda: polite_client(None)
    busy = household_busy(site.busy, site.zone, now, folder, client)
    for note in busy.notes:
        complain(note)
    return (*away, *busy.spans)


def _span(text: str, zone: ZoneInfo, now: datetime | None) -> Span:
    from scheduler.faces.asking import LONG_AGO

    first, dots, last = (part.strip() for part in text.partition(".."))
    if not first or (dots and not last) or ".." in last:
        raise BadSetting(f"{FLAG}: {text!r} is no stretch of days; write it like {LIKE_DAYS}")
    if not dots and _has_time(first):
        raise BadSetting(f"{FLAG}: {text!r} is one moment; write from when till when, like {first}..{first[:10]}T18:00")
    start, end = _edge(first, zone, 0), _edge(last or first, zone, 1)
    if end <= start:
        raise BadSetting(f"{FLAG}: {text!r} ends before it starts; write the earlier one first, like {LIKE_DAYS}")
    if now is not None and now - end > LONG_AGO:
        raise BadSetting(f"{FLAG}: {text!r} was over {(now - end).days} days ago; is the year right?")
    return start, end


def _has_time(text: str) -> bool:
    return "T" in text.upper() or " " in text


def _edge(text: str, zone: ZoneInfo, days: int) -> datetime:
    """A moment; of a date the midnight that many days later."""
    from scheduler.faces.asking import FIRST_YEAR, LAST_YEAR, moment
    from scheduler.planning.clock import instant, on_clock

    if _has_time(text):
        return moment(text, zone, FLAG).astimezone(UTC)
    try:
        day = date.fromisoformat(text)
    except ValueError as exc:
        raise BadSetting(f"{FLAG}: {text!r} is no date; write it like {LIKE_DAYS}") from exc
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise BadSetting(f"{FLAG}: {text!r} is not from {FIRST_YEAR} to {LAST_YEAR}; write it like {LIKE_DAYS}")
    return instant(on_clock(day + timedelta(days=days), 0, zone))
