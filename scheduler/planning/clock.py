"""Clock time and elapsed time: nights, household hours and wall-clock waits as instants.

The core counts in seconds since 1970 UTC; everything here takes the site's zone and never reads a clock.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from zoneinfo import ZoneInfo

    from scheduler.household.site import ClockRange

HOUR_S = 3600.0
DAY_S = 24 * HOUR_S
MINUTE_S = 60.0
NOON_MIN = 12 * 60
DAY = timedelta(days=1)


def instant(seconds: float) -> datetime:
    """The moment in UTC, to the second."""
    return datetime.fromtimestamp(round(seconds), UTC)


def seconds(moment: datetime) -> float:
    """Seconds since 1970 UTC of a zone-aware moment; ValueError for a naive one."""
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no time zone")
    return moment.timestamp()


def on_clock(day: date, minutes: int, zone: ZoneInfo) -> float:
    """The instant at which the clock shows that many minutes after midnight of that day (it may be past 24 h).

    A time that the clock skips is the moment of the skip; one that it shows twice is the first.
    """
    return _resolve(datetime.combine(day, datetime.min.time()) + timedelta(minutes=minutes), zone)


def _resolve(wall: datetime, zone: ZoneInfo) -> float:
    """The first instant of a wall-clock time; where the clock skips it, the moment of the skip."""
    at = wall.replace(tzinfo=zone).timestamp()
    shown = datetime.fromtimestamp(at, zone).replace(tzinfo=None)
    if shown == wall:
        return at
    # In the skipped stretch the two readings of `fold` straddle the change; the first instant after it is wanted.
    return _change_between(wall.replace(tzinfo=zone, fold=1).timestamp(), at, zone)


def _change_between(early: float, late: float, zone: ZoneInfo) -> float:
    """First whole second in (early, late] with another offset than `early` has."""
    before = datetime.fromtimestamp(early, zone).utcoffset()
    low, high = int(early), int(late)
    while high - low > 1:
        middle = (low + high) // 2
        if datetime.fromtimestamp(middle, zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    return float(high)


def clock_later(at: float, hours: float, zone: ZoneInfo, *, latest: bool) -> float:
    """The same clock time `hours` of wall clock later (earlier where negative).

    The clock is one that never runs back: it stands still while the real one shows its hours a second time.  Where
    more than one instant fits (it stands still, or it skips), the first or, with `latest`, the last of them.
    """
    found = _resolve(_standing(at, zone, latest=latest) + timedelta(hours=hours), zone)
    before = datetime.fromtimestamp(found - 1.0, zone)
    return found if latest or not before.fold else _first_change(before, zone)


def _standing(at: float, zone: ZoneInfo, *, latest: bool) -> datetime:
    """What a clock that never runs back shows; at the moment of a skip, its reading before or after."""
    local = datetime.fromtimestamp(at, zone)
    wall = local.replace(tzinfo=None)
    if local.fold:
        return wall + timedelta(seconds=_first_change(local, zone) - local.replace(fold=0).timestamp())
    just_before = datetime.fromtimestamp(at - 1.0, zone).replace(tzinfo=None) + timedelta(seconds=1)
    return wall if latest else min(wall, just_before)


def _first_change(repeated: datetime, zone: ZoneInfo) -> float:
    """The moment from which the clock repeats itself, for a time in its second showing."""
    return _change_between(repeated.replace(fold=0).timestamp(), repeated.timestamp(), zone)


def night_of(at: float, zone: ZoneInfo) -> date:
    """The date of the night (clock noon to clock noon) that holds the instant."""
    local = datetime.fromtimestamp(at, zone)
    return local.date() if local.hour >= 12 else local.date() - DAY


def night_bounds(night: date, zone: ZoneInfo) -> tuple[float, float]:
    """First instant of the night and first instant of the next."""
    return on_clock(night, NOON_MIN, zone), on_clock(night + DAY, NOON_MIN, zone)


def days_between(start: float, end: float, zone: ZoneInfo) -> Iterator[date]:
    """Local dates that touch [start, end], and the one before (whose hours may run past midnight)."""
    day = datetime.fromtimestamp(start, zone).date() - DAY
    last = datetime.fromtimestamp(end, zone).date()
    while day <= last:
        yield day
        day += DAY


def clock_spans(week: Sequence[Sequence[ClockRange]], start: float, end: float, zone: ZoneInfo) -> Spans:
    """The clock ranges of each weekday (Monday first) as instants between start and end."""
    pieces = []
    for day in days_between(start, end, zone):
        for hours in week[day.weekday()]:
            over = 0 if hours.end_min > hours.start_min else 24 * 60
            pieces.append((on_clock(day, hours.start_min, zone), on_clock(day, hours.end_min + over, zone)))
    return Spans.of(pieces).between(start, end)
