"""From readings of the weather to what a layer of sawdust feels of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.science import drying, evaporation, radiation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Readings:
    """Weather in steps, each array of shape (steps,) or (steps, sites); NaN for what nobody knows."""

    start_s: Floats
    """Start of each step, seconds since 1970 UTC, shape (steps,)."""
    step_h: Floats
    """Length of each step [h], shape (steps,)."""
    air_c: Floats
    """Means over the step, as `step_means` makes them of readings at its ends."""
    humidity_pct: Floats
    wind_ms: Floats
    """At 10 m."""
    cloud_pct: Floats
    sun_wm2: Floats
    """Mean over the step."""
    rain_mm: Floats
    """Sum over the step."""


@dataclass(frozen=True, slots=True)
class Places:
    """Where, as numbers or arrays of shape (sites,)."""

    latitude_deg: ArrayLike
    longitude_deg: ArrayLike
    elevation_m: ArrayLike


def step_means(readings: Floats) -> Floats:
    """Means of neighbouring readings, one fewer than there are readings."""
    return (readings[:-1] + readings[1:]) / 2.0


def layer_weather(readings: Readings, places: Places, out: Bools, *, sheltered: bool) -> tuple[drying.Weather, bool]:
    """What reaches the layer, and whether any of the radiation had to be estimated (say `radiation.ESTIMATED` then).

    out: whether it lies in the open in each step, shape (steps,) or (steps, sites); sheltered: no rain reaches it.
    Arrays of the result have the shape of the readings.
    """
    table = [_by_site(values) for values in (readings.air_c, readings.humidity_pct, readings.wind_ms)]
    air, humidity, wind = table
    where = [np.atleast_1d(np.asarray(v, dtype=float)) for v in (places.latitude_deg, places.longitude_deg)]
    height = np.atleast_1d(np.asarray(places.elevation_m, dtype=float))
    sky = radiation.sky_over(readings.start_s, readings.step_h, where[0], where[1], height)
    given, cloud = _by_site(readings.sun_wm2), _by_site(readings.cloud_pct)
    sun, estimated = radiation.sun_or_estimate(given, cloud, sky.clear_mj_m2_h)
    rate = evaporation.over_hours(
        sky=sky, air_c=air, humidity_pct=humidity, wind_ms=wind, sun_mj_m2_h=sun, elevation_m=height
    )
    shape = readings.air_c.shape
    rain = np.zeros(shape) if sheltered else readings.rain_mm
    total = (rate * readings.step_h[:, None]).reshape(shape)
    moisture = drying.air_moisture(readings.air_c, readings.humidity_pct)
    return drying.Weather(readings.step_h, total, moisture, rain, out), estimated


def _by_site(values: Floats) -> Floats:
    """With an axis for sites, also where there is one."""
    return values[:, None] if values.ndim == 1 else values
