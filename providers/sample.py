"""Invented weather, for trying the tool without a file or a network.

An autumn that never was, whatever the date: eight days from one cold front to the next, over and over.  The air
cools behind the front, is cold for three nights, and warms until two nights never fall under the usual ceiling.
Nothing is random: the days differ by a small amount that depends on their date alone, so that the same day always
brings the same bytes, and tomorrow's weather agrees with today's about the days that both hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, NamedTuple

from providers.forecast import REQUIRED, Credit, Forecast

if TYPE_CHECKING:
    from collections.abc import Callable
    from zoneinfo import ZoneInfo

    import numpy as np
    import pandas as pd

    Values = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

HOURS = 16 * 24
NIGHTS = 16
CREDIT = Credit("Invented weather for trying the tool; it is no forecast", "")
NOTE = "This weather is invented; it is no forecast."

WARMEST = time(15, 0)
COLDEST = time(6, 30)
"""Wall clock of the day's warmest and the night's coldest air: about sunrise, in autumn."""

MAGNUS_WATER = (17.62, 243.12)  # -, degC.  Sonntag (1990), as WMO-No. 8 (2008) recommends; read second hand
GOLDEN = 0.6180339887498949  # (sqrt(5) - 1) / 2: its multiples spread over 0..1 most evenly


class Day(NamedTuple):
    """One day between two fronts, all invented."""

    high_c: float
    low_c: float
    """Of the night that follows."""
    cloud_pct: float
    wind_ms: float


CYCLE = (
    Day(13.6, 6.0, 55.0, 4.5),  # the front has passed
    Day(9.8, 3.2, 30.0, 3.0),
    Day(9.4, 2.4, 15.0, 2.0),
    Day(9.8, 4.2, 40.0, 1.8),
    Day(13.2, 8.6, 55.0, 2.2),
    Day(16.2, 12.0, 70.0, 2.6),  # its night just holds a 60 °F ceiling
    Day(20.4, 17.2, 45.0, 3.2),
    Day(20.8, 16.8, 75.0, 4.2),
)
SPREAD_C = 0.4
"""Most that a high or a low differs from the cycle's."""

GAP_DAY = 2
GAP_HOURS = range(1, 5)
FIRST_GAP_NIGHT = NIGHTS - len(CYCLE)
"""Of the later nights, the one in mid cold spell has four hours that nobody knows."""

GUSTS_END_H = 12 * 24
"""Further ahead the service does not speak of gusts."""


class Rain(NamedTuple):
    """Rain that comes around once a cycle."""

    day: int
    at: time
    half_h: float
    """From its peak until it stops."""
    peak_mm: float


RAINS = (Rain(0, time(4, 0), 8.0, 2.4), Rain(5, time(11, 0), 5.0, 0.7))


def sample_forecast(now: datetime, *, zone: ZoneInfo, latitude_deg: float, longitude_deg: float) -> Forecast:
    """Sixteen days of invented weather from the last local noon at or before ``now`` (aware).

    Hourly, the first and the last instant included.  The place decides where the sun stands and nothing else.
    """
    first = _noon_before(now, zone)
    return Forecast(
        source="sample",
        credit=CREDIT,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=None,
        issued_at=_instant(first, time(12), zone),
        fetched_at=now,
        fresh_until=_instant(first + timedelta(days=1), time(12), zone),
        hourly=_hourly(first, zone, latitude_deg, longitude_deg),
        notes=(NOTE,),
    )


def _noon_before(now: datetime, zone: ZoneInfo) -> date:
    local = now.astimezone(zone)
    return local.date() if local.hour >= 12 else local.date() - timedelta(days=1)


def _instant(day: date, clock: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock, zone).astimezone(UTC)


def _hourly(first: date, zone: ZoneInfo, latitude_deg: float, longitude_deg: float) -> pd.DataFrame:
    import numpy as np
    import pandas as pd

    stamps = [_instant(first, time(12), zone) + timedelta(hours=hour) for hour in range(HOURS + 1)]
    spell = Spell(np.array([_hour(stamp) for stamp in stamps]), first, zone)
    air = (spell.eased(lambda day: day.high_c, lambda day: day.low_c) + spell.ripple(0.2, 5.3)).round(1)
    dewpoint = spell.eased(lambda day: day.low_c - 0.8).round(1)  # easing alike, it stays under the air
    near_rain = spell.rain(wider=1.6)
    cloud = spell.eased(lambda day: day.cloud_pct) + spell.ripple(9.0, 7.7) + 45.0 * near_rain.clip(0.0, 1.0)
    wind = spell.eased(lambda day: 1.3 * day.wind_ms, lambda day: 0.7 * day.wind_ms) + 2.0 * near_rain
    table = {
        "air_c": air,
        "dewpoint_c": dewpoint,
        "humidity_pct": (100.0 * _vapour(dewpoint) / _vapour(air)).round(0),
        "rain_mm": spell.rain().round(1),
        "rain_chance": (0.03 + 0.92 * near_rain.clip(0.0, 1.0)).round(2),
        "wind_ms": wind.round(1),
        "gust_ms": (1.5 * wind + 1.2).round(1),
        "sun_wm2": _sun(stamps, cloud, latitude_deg, longitude_deg).round(0),
        "cloud_pct": cloud.clip(0.0, 100.0).round(0),
    }
    index = pd.DatetimeIndex(stamps, name="time").as_unit("us")
    frame = pd.DataFrame(table, index=index)[list(REQUIRED)]
    frame.loc[_in_gap(stamps, first, zone)] = np.nan
    frame.loc[index[GUSTS_END_H:], "gust_ms"] = np.nan
    return frame


def _hour(moment: datetime) -> float:
    return moment.timestamp() / 3600.0


def _of_cycle(day: date) -> Day:
    """The day's place in the cycle, moved a little by its date."""
    usual = CYCLE[day.toordinal() % len(CYCLE)]
    return usual._replace(
        high_c=usual.high_c + SPREAD_C * (2.0 * _share(day) - 1.0),
        low_c=usual.low_c + SPREAD_C * (2.0 * _share(day, 0.5) - 1.0),
    )


def _share(day: date, shift: float = 0.0) -> float:
    """A number from 0 to 1 that belongs to a date."""
    return (day.toordinal() * GOLDEN + shift) % 1.0


@dataclass(frozen=True, slots=True)
class Spell:
    """The hours that weather is invented for."""

    at_h: Values
    """Hours since 1970 in UTC."""
    first: date
    zone: ZoneInfo

    def days(self) -> list[date]:
        """Every day that has a say in the hours."""
        return [self.first + timedelta(days=number) for number in range(-1, NIGHTS + 2)]

    def eased(self, by_day: Callable[[Day], float], by_night: Callable[[Day], float] | None = None) -> Values:
        """The curve that eases from each warmest hour to the next coldest along half a cosine, and on."""
        import numpy as np

        hours, values = [], []
        for day in self.days():
            hours += [self._hour_of(day, WARMEST), self._hour_of(day + timedelta(days=1), COLDEST)]
            values += [by_day(_of_cycle(day)), (by_night or by_day)(_of_cycle(day))]
        place = np.searchsorted(hours, self.at_h, side="right") - 1
        start, step = np.array(hours)[place], np.diff(hours)[place]
        share = (1.0 - np.cos(np.pi * (self.at_h - start) / step)) / 2.0
        curve: Values = np.array(values)[place] + np.diff(values)[place] * share
        return curve

    def ripple(self, height: float, period_h: float) -> Values:
        """A small wave that keeps the curves from looking drawn."""
        import numpy as np

        wave: Values = height * np.sin(self.at_h * (2.0 * np.pi / period_h))
        return wave

    def rain(self, *, wider: float | None = None) -> Values:
        """Rain of the hour that each stamp begins [mm]; where wider, how near rain is, about 0 to 1."""
        import numpy as np

        total = np.zeros_like(self.at_h)
        for day in self.days():
            for rain in RAINS:
                if day.toordinal() % len(CYCLE) != rain.day:
                    continue
                away = np.abs(self.at_h + 0.5 - self._hour_of(day, rain.at)) / (rain.half_h * (wider or 1.0))
                height = 1.0 if wider else rain.peak_mm * (0.6 + 0.8 * _share(day))
                total += np.where(away < 1.0, height * np.cos(away * np.pi / 2.0) ** 2, 0.0)
        return total

    def _hour_of(self, day: date, clock: time) -> float:
        return _hour(_instant(day, clock, self.zone))


def _vapour(temp_c: Values) -> Values:
    """Saturation vapour pressure over its value at 0 degC, Magnus form."""
    import numpy as np

    slope, shift_c = MAGNUS_WATER
    pressure: Values = np.exp(slope * temp_c / (shift_c + temp_c))
    return pressure


def _sun(stamps: list[datetime], cloud_pct: Values, latitude_deg: float, longitude_deg: float) -> Values:
    """Mean sunshine on level ground of the hour that each stamp begins: the sun's true height, an invented sky."""
    import numpy as np
    from astral import Observer
    from astral.sun import elevation

    place = Observer(latitude_deg, longitude_deg)
    height_deg = [elevation(place, stamp + timedelta(minutes=30)) for stamp in stamps]
    clear = 1000.0 * np.sin(np.radians(height_deg)).clip(0.0) ** 1.2
    return clear * (1.0 - 0.75 * (cloud_pct.clip(0.0, 100.0) / 100.0) ** 3)


def _in_gap(stamps: list[datetime], first: date, zone: ZoneInfo) -> list[bool]:
    nights = (first + timedelta(days=number) for number in range(FIRST_GAP_NIGHT, NIGHTS))
    night = next(day for day in nights if day.toordinal() % len(CYCLE) == GAP_DAY)
    morning = night + timedelta(days=1)
    local = [stamp.astimezone(zone) for stamp in stamps]
    return [moment.date() == morning and moment.hour in GAP_HOURS for moment in local]
