"""What the chamber does in one window: how warm and how humid it gets, and how long the food is how warm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import HOUR_S, instant
from scheduler.science.air import humidity_after_warming
from scheduler.science.exposure import Exposure, exposure

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from scheduler.planning.warming import Warming

    Floats = NDArray[np.float64]

TYPICAL, HIGH = 0, 1
"""Columns of the chamber's curve."""


@dataclass(frozen=True, slots=True)
class InChamber:
    """The chamber from a lighting to its lift, with a typical rise where nothing else is said."""

    peak_c: float
    peak_at: datetime
    low_c: float
    high_c: float
    """Its warmest with the high end of the rise."""
    fire_k: float
    sun_k: float
    """What the fire and the sun add where it is warmest."""
    cloud_unknown: bool
    """The sun is on it in the window, and nobody knows the cloud."""
    humidity_pct: float | None
    """The most humid that its air gets; None where the dew point is not known."""
    humidity_at: datetime
    exposure: Exposure
    """Hours of the window by the chamber's temperature."""


def in_chamber(warming: Warming, light: float, lift: float) -> InChamber:
    """The figures of one window whose air is known."""
    when = _bends(warming, light, lift)
    chamber = warming.chamber.at(when)
    at, warmest = _with_maxima(warming, light, lift, when, chamber)
    peak = int(np.argmax(warmest[:, TYPICAL]))
    # Air at its dew point is saturated.
    humidity = humidity_after_warming(warming.weather.dewpoint.at(when)[:, 0], 100.0, chamber[:, TYPICAL])
    most = int(np.argmax(humidity))  # of a NaN too
    cloud = warming.weather.cloud.at(when)[:, 0]
    return InChamber(
        peak_c=float(warmest[peak, TYPICAL]),
        peak_at=instant(float(at[peak])),
        low_c=float(chamber[:, TYPICAL].min()),
        high_c=float(warmest[:, HIGH].max()),
        fire_k=warming.fire.typical,
        sun_k=float(warming.sun(at[peak : peak + 1]).typical[0]),
        cloud_unknown=bool((warming.sun_shines(when) & np.isnan(cloud)).any()),
        humidity_pct=None if np.isnan(humidity[most]) else float(humidity[most]),
        humidity_at=instant(float(when[most])),
        exposure=exposure((when - light) / HOUR_S, chamber[:, TYPICAL]),
    )


def _bends(warming: Warming, light: float, lift: float) -> Floats:
    """The instants of the window at which the chamber's line can bend, its ends among them."""
    times = warming.chamber.times
    return np.concatenate([[light], times[(times > light) & (times < lift)], [lift]])


def _with_maxima(warming: Warming, light: float, lift: float, when: Floats, chamber: Floats) -> tuple[Floats, Floats]:
    """The readings, and the maximum of every period that lies wholly in the window, put in its middle."""
    periods = warming.weather.warmest
    low, high, values = periods.times[:-1], periods.times[1:], periods.values[:-1]
    whole = (low >= light) & (high <= lift) & ~np.isnan(values)
    rises = np.array([warming.fire.typical, warming.fire.high]) + warming.sun_between(low[whole], high[whole])
    return np.concatenate([when, (low[whole] + high[whole]) / 2.0]), np.concatenate(
        [chamber, values[whole][:, None] + rises]
    )
