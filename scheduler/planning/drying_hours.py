"""A forecast, hour by hour, as a layer of sawdust spread at the site feels it.

The layer lies in the open by day and is brought in at night.  Where no roof keeps the rain off it is covered in the
hours that rain is forecast for, as the step's note asks.  An hour by day that nobody knows dries nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, cast

import numpy as np

from scheduler.planning.clock import HOUR_S
from scheduler.planning.curve import Curve, usable_steps
from scheduler.planning.limits import seconds_index
from scheduler.science import drying
from scheduler.science.air import vapour_pressure
from scheduler.science.open_air import Places, Readings, layer_weather, step_means

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from providers.forecast import Forecast
    from scheduler.household.site import Site

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

READ = ("air_c", "dewpoint_c", "humidity_pct", "wind_ms", "cloud_pct")


@dataclass(frozen=True, slots=True)
class DryingHours:
    """Whole hours of UTC; arrays of shape (hours,)."""

    start_s: Floats
    weather: drying.Weather
    """Its `out` is where the layer dries: by day, without rain on it, in weather that is known."""
    unknown: Bools
    """Hours by day of which the forecast does not say enough."""
    covered: Bools
    """Hours by day in which the layer is covered, as rain is forecast and no roof keeps it off."""
    day: NDArray[np.int64]
    """Date in the site's zone, as its ordinal."""
    known_until: float
    """End of the last hour whose weather is known."""
    estimated: bool
    """Whether any radiation had to be estimated (see `radiation.ESTIMATED`)."""


def drying_hours(forecast: Forecast, site: Site) -> DryingHours | None:
    """The hours of a forecast; None where it says too little of every hour by day."""
    frame = forecast.hourly
    times = seconds_index(cast("pd.DatetimeIndex", frame.index))
    grid = np.arange(np.ceil(times[0] / HOUR_S), np.floor(times[-1] / HOUR_S) + 1.0) * HOUR_S
    if len(grid) < 2:
        return None
    column = {str(name): frame[name].to_numpy(dtype=float) for name in frame.columns}
    rain = _in_hours(times, column["rain_mm"] / np.append(np.diff(times), HOUR_S) * HOUR_S, grid)
    readings = _readings(times, column, grid)
    local = [datetime.fromtimestamp(at, site.zone) for at in (grid[:-1] + HOUR_S / 2.0).tolist()]
    by_day = drying.out_by_day([at.hour + at.minute / 60.0 for at in local])
    uncovered = by_day if site.rain_shelter else by_day & (np.isnan(rain) | (rain <= 0.0))
    weather, estimated = layer_weather(readings, _place(forecast, site), uncovered, sheltered=True)
    known = ~np.isnan(weather.evaporation_mm) & ~np.isnan(weather.air_moisture)
    if not site.rain_shelter:
        known &= ~np.isnan(rain)
    out = uncovered & known
    if not out.any():
        return None
    return DryingHours(
        start_s=grid[:-1],
        weather=drying.Weather(weather.step_h, weather.evaporation_mm, weather.air_moisture, weather.rain_mm, out),
        unknown=by_day & ~known,
        covered=by_day & ~uncovered,
        day=np.array([at.toordinal() for at in local], dtype=np.int64),
        known_until=float(grid[np.flatnonzero(known)[-1] + 1]),
        estimated=estimated,
    )


def _readings(times: Floats, column: dict[str, Floats], grid: Floats) -> Readings:
    """Means of each hour, linear between readings; humidity by the dew point where it is not given."""
    table = Curve.of(times, np.stack([column[name] for name in READ], axis=1)).at(grid)
    air, dewpoint, given, wind, cloud = table.T
    humidity = np.where(np.isnan(given), humidity_by_dewpoint(air, dewpoint), given)
    return Readings(
        start_s=grid[:-1],
        step_h=np.ones(len(grid) - 1),
        air_c=step_means(air),
        humidity_pct=step_means(humidity),
        wind_ms=step_means(wind),
        cloud_pct=step_means(cloud),
        sun_wm2=_in_hours(times, column["sun_wm2"], grid),
        rain_mm=np.zeros(len(grid) - 1),
    )


def humidity_by_dewpoint(air_c: Floats, dewpoint_c: Floats) -> Floats:
    """Relative humidity [%] of air with that dew point."""
    return np.minimum(100.0 * vapour_pressure(dewpoint_c) / vapour_pressure(air_c), 100.0)


def _in_hours(times: Floats, values: Floats, grid: Floats) -> Floats:
    """The value of the period that each hour begins in; NaN where that is too long to say anything of an hour."""
    period = np.searchsorted(times, grid[:-1], side="right") - 1
    usable = np.append(usable_steps(times), False)
    return np.where(usable[period], values[period], np.nan)


def _place(forecast: Forecast, site: Site) -> Places:
    """Where; at sea level where neither the site nor the forecast says how high (it matters little)."""
    heights = (site.elevation_m, forecast.elevation_m, 0.0)
    return Places(site.latitude_deg, site.longitude_deg, next(height for height in heights if height is not None))
