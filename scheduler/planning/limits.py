"""Where in time the weather meets the site's limits, misses them, or leaves it open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import numpy as np

from scheduler.planning.clock import HOUR_S
from scheduler.planning.coarse import hot_periods, unseen_steps
from scheduler.planning.curve import Curve, Periods
from scheduler.planning.spans import ALWAYS, Piece, Spans

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
    wind: Curve
    dewpoint: Curve
    cloud: Curve
    """Per cent of the sky."""
    warmest: Periods
    """Warmest air of whole periods, where a service gives it beside readings that are hours apart."""
    percentiles: Curve | None
    """Three columns: the 10th, 50th and 90th percentile of the air."""
    members: Curve | None
    """One column an ensemble member."""
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
    column = {str(name): frame[name].to_numpy(dtype=float) for name in frame.columns}
    unknown = np.full(len(times), np.nan)
    return Weather(
        air=Curve.of(times, column["air_c"][:, None]),
        rain=Periods(times, column["rain_mm"]),
        # Rounded, as 2.1 mm in 3 h is 0.7 mm/h and not a hair more.
        rain_rate=Periods(times, np.round(column["rain_mm"] / steps_h, 6)),
        gust=Periods(times, column["gust_ms"]),
        wind=Curve.of(times, column["wind_ms"][:, None]),
        dewpoint=Curve.of(times, column["dewpoint_c"][:, None]),
        cloud=Curve.of(times, column["cloud_pct"][:, None]),
        warmest=Periods(times, column.get("air_max_c", unknown)),
        percentiles=_percentiles(times, column),
        members=None if forecast.members is None else _members(forecast.members),
        issued=forecast.issued_at.timestamp(),
    )


def without_bias(weather: Weather, bias_c: float) -> Weather:
    """The weather with its air as much cooler as forecasts have been too warm; the very same for no bias."""
    if bias_c == 0.0:
        return weather
    percentiles, members, warmest = weather.percentiles, weather.members, weather.warmest
    return replace(
        weather,
        air=weather.air.shifted(-bias_c),
        warmest=Periods(warmest.times, warmest.values - bias_c),
        percentiles=None if percentiles is None else percentiles.shifted(-bias_c),
        members=None if members is None else members.shifted(-bias_c),
    )


def _percentiles(times: Floats, column: dict[str, Floats]) -> Curve | None:
    """The percentiles that a forecast has; the air stands for a middle that is not given, kept between the others."""
    if "air_p10_c" not in column or "air_p90_c" not in column:
        return None
    low, high = column["air_p10_c"], column["air_p90_c"]
    middle = np.clip(column.get("air_p50_c", column["air_c"]), low, high)
    return None if np.isnan(low).all() else Curve.of(times, np.stack([low, middle, high], axis=1))


def _members(members: pd.DataFrame) -> Curve:
    """The ensemble on its own hours."""
    return Curve.of(seconds_index(cast("pd.DatetimeIndex", members.index)), members.to_numpy(dtype=float))


@dataclass(frozen=True)
class Met:
    """Where all limits are known to be met, and where nothing known speaks against it."""

    surely: Spans
    roughly: Spans
    """As surely, but by the readings alone where they are hours apart (see `coarse`)."""
    hot: tuple[Piece, ...]
    """Periods of which only the maximum is over the ceiling."""
    perhaps: Spans


def where_met(weather: Weather, limits: Limits, *, rain_matters: bool, counted: Weather | None = None) -> Met:
    """Cut the limits with the weather, instant by instant.

    counted: the same weather with its air as it counts against the ceiling (see `warming`), where that is not as it is.
    """
    ceiling_c = limits.ceiling_c + TOLERANCE_C
    counted = weather if counted is None else counted
    hot = hot_periods(counted.warmest, ceiling_c)
    met = [
        _either(counted.air.under(ceiling_c), counted.air.known()),
        _either(weather.air.over(limits.floor_c + TOLERANCE_C), weather.air.known()),
    ]
    if rain_matters and limits.rain_mm_per_h is not None:
        met.append(_either(weather.rain_rate.under(limits.rain_mm_per_h), weather.rain_rate.known()))
    if limits.gust_ms is not None:
        met.append(_either(weather.gust.under(limits.gust_ms), weather.gust.known()))
    roughly, perhaps = ALWAYS, ALWAYS
    for held, held_or_unknown in met:
        roughly, perhaps = roughly & held, perhaps & held_or_unknown
    in_doubt = Spans.of((*hot, *unseen_steps(weather.air, weather.warmest)))
    return Met(roughly & in_doubt.outside(), roughly, hot, perhaps)


def _either(held: Spans, known: Spans) -> tuple[Spans, Spans]:
    """Where a limit holds for sure, and where it holds or nobody knows."""
    return held, held | known.outside()
