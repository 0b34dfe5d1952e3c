"""Dusk, solar midnight and dawn of a night, to show beside it; they bound nothing.

By `astral`, which follows the equations of NOAA's solar calculator, for a flat horizon: within a minute of the
almanacs below 60 degrees of latitude, two minutes to 66, and more only where the sun grazes its limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from zoneinfo import ZoneInfo

    from astral import Observer

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class NightSun:
    """Instants of one night, in UTC."""

    dusk: datetime | None
    """End of civil twilight, the sun 6 degrees down; None where it does not get there, or never leaves."""
    solar_midnight: datetime
    dawn: datetime | None
    """Start of civil twilight in the morning."""


def sun_of_night(night: date, latitude_deg: float, longitude_deg: float, zone: ZoneInfo) -> NightSun:
    """Events of the night from clock noon of that date to the next clock noon in the zone."""
    from astral import Observer
    from astral.sun import dawn, dusk

    # Height stays 0: the library lowers the horizon for it, which is right on a peak and wrong in a valley.
    observer = Observer(latitude_deg, longitude_deg, 0.0)
    return NightSun(
        dusk=_event(dusk, observer, night, zone),
        solar_midnight=_solar_midnight(observer, night, zone),
        dawn=_event(dawn, observer, night, zone),
    )


def _event(event: Callable[..., datetime], observer: Observer, night: date, zone: ZoneInfo) -> datetime | None:
    """The event of the night.

    The library loses the one that passes midnight, UTC's or the zone's; that one lies midway between its neighbours.
    """
    found = _asked(event, observer, night, zone)
    if found is not None:
        return found
    before, after = (_asked(event, observer, near, zone) for near in (night - DAY, night + DAY))
    return None if before is None or after is None else before + (after - before) / 2


def _asked(event: Callable[..., datetime], observer: Observer, night: date, zone: ZoneInfo) -> datetime | None:
    """What the library says: the first of such events that lies in the night.

    It files an event under its calendar date, so a dusk just after midnight stands under the next day.
    """
    start, end = _noon(night, zone), _noon(night + DAY, zone)
    for day in (night, night + DAY):
        try:
            at = event(observer, day, tzinfo=zone).astimezone(UTC)
        except ValueError:  # no such event on that date: its only way of saying so
            continue
        if start <= at < end:
            return at
    return None


def _solar_midnight(observer: Observer, night: date, zone: ZoneInfo) -> datetime:
    """The one nearest the middle of the night."""
    from astral.sun import midnight

    middle = _noon(night, zone) + (_noon(night + DAY, zone) - _noon(night, zone)) / 2
    near = (midnight(observer, night + days * DAY, tzinfo=UTC) for days in range(3))
    return min(near, key=lambda at: abs(at - middle))


def _noon(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(12), zone).astimezone(UTC)
