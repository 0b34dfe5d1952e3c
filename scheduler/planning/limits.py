"""Where in time the weather meets the site's limits, misses them, or leaves it open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from scheduler.planning.clock import HOUR_S
from scheduler.planning.curve import Curve, Periods
from scheduler.planning.spans import ALWAYS, Spans

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from providers.forecast import Forecast
    from scheduler.household.site import Limits

    Floats = NDArray[np.float64]

TOLERANCE_C = 0.001
"""60 °F written as 15.556 °C, or taken through °F and back, is still 60 °F."""


@dataclass(frozen=True)
class Weather:
    """A forecast as the search reads it: curves of time in seconds, air [°C], and the periods beside it."""

    air: Curve
    rain: Periods
    """Millimetres in each period."""
    rain_rate: Periods
    """Millimetres an hour."""
    gust: Periods
    dewpoint: Curve
    issued: float
    """When it was made, seconds since 1970 UTC."""

    @property
    def end(self) -> float:
        """The last instant whose air is known; the last there is where none is known."""
        known = self.air.known()
        return known.last if known else float(self.air.times[-1])


def seconds_index(index: pd.DatetimeIndex) -> Floats:
    """A UTC index as seconds since 1970, whatever resolution it is kept in."""
    return np.asarray(index.as_unit("us").asi8 / 1e6)


def read_weather(forecast: Forecast) -> Weather:
    """The columns that the search needs."""
    frame = forecast.hourly
    times = seconds_index(cast("pd.DatetimeIndex", frame.index))
    steps_h = np.append(np.diff(times), HOUR_S) / HOUR_S
    column = {name: frame[name].to_numpy(dtype=float) for name in ("air_c", "rain_mm", "gust_ms", "dewpoint_c")}
    return Weather(
        air=Curve.of(times, column["air_c"][:, None]),
        rain=Periods(times, column["rain_mm"]),
        # Rounded, as 2.1 mm in 3 h is 0.7 mm/h and not a hair more.
        rain_rate=Periods(times, np.round(column["rain_mm"] / steps_h, 6)),
        gust=Periods(times, column["gust_ms"]),
        dewpoint=Curve.of(times, column["dewpoint_c"][:, None]),
        issued=forecast.issued_at.timestamp(),
    )


@dataclass(frozen=True)
class Met:
    """Where all limits are known to be met, and where nothing known speaks against it."""

    surely: Spans
    perhaps: Spans


def where_met(weather: Weather, limits: Limits, *, rain_matters: bool) -> Met:
    """Cut the limits with the weather, instant by instant."""
    met = [
        _either(weather.air.under(limits.ceiling_c + TOLERANCE_C), weather.air.known()),
        _either(weather.air.over(limits.floor_c + TOLERANCE_C), weather.air.known()),
    ]
    if rain_matters and limits.rain_mm_per_h is not None:
        met.append(_either(weather.rain_rate.under(limits.rain_mm_per_h), weather.rain_rate.known()))
    if limits.gust_ms is not None:
        met.append(_either(weather.gust.under(limits.gust_ms), weather.gust.known()))
    surely, perhaps = ALWAYS, ALWAYS
    for one in met:
        surely, perhaps = surely & one.surely, perhaps & one.perhaps
    return Met(surely, perhaps)


def _either(held: Spans, known: Spans) -> Met:
    """Held for sure, or held or unknown."""
    return Met(held, held | known.outside())
