"""What the weather and the chamber do in one window: the figures that a night is shown with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.chamber_figures import in_chamber
from scheduler.planning.clock import MINUTE_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.planning.chamber_figures import InChamber
    from scheduler.planning.curve import Curve, Periods
    from scheduler.planning.limits import Weather
    from scheduler.planning.warming import Warming

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Figures:
    """Air, chamber, rain, gusts and dew point from a lighting to its lift; None for what is not known."""

    light: float
    lift: float
    peak_c: float
    peak_at: float
    low_c: float
    low_at: float
    rain_mm: float | None
    gust_ms: float | None
    dewpoint_max_c: float | None
    margin_c: float
    """The least that the air stays under the ceiling, or under what the chamber leaves of it."""
    ceiling_c: float
    """That ceiling, where the margin is least."""
    chamber: InChamber
    wind_ms: float | None
    """At the lighting."""
    lighting_gust_ms: float | None


def figures_of(warming: Warming, light: float, lift: float) -> Figures:
    """The figures of one window whose air is known."""
    weather = warming.weather
    when, air = profile(weather.air, light, lift)
    when, air = _with_maximum(weather.warmest, light, lift, when, air)
    warmest, coldest = int(np.argmax(air)), int(np.argmin(air))
    dew = profile(weather.dewpoint, light, lift)[1]
    tight_c, tight_at = _tightest(warming.counted, light, lift)
    wind = float(weather.wind.at(np.array([light]))[0, 0])
    return Figures(
        light=light,
        lift=lift,
        peak_c=float(air[warmest]),
        peak_at=float(when[warmest]),
        low_c=float(air[coldest]),
        low_at=float(when[coldest]),
        rain_mm=_total(weather.rain, light, lift),
        gust_ms=_greatest(weather.gust, light, lift),
        dewpoint_max_c=None if np.isnan(dew).any() else float(dew.max()),
        margin_c=warming.ceiling_c - tight_c,
        ceiling_c=warming.ceiling_c - float(warming.excess_k(np.array([tight_at]))[0]),
        chamber=in_chamber(warming, light, lift),
        wind_ms=None if np.isnan(wind) else wind,
        lighting_gust_ms=_greatest(weather.gust, light, min(light + MINUTE_S, lift)),
    )


def _tightest(weather: Weather, light: float, lift: float) -> tuple[float, float]:
    """The warmest air of the window as it counts against the ceiling, and when."""
    when, air = profile(weather.air, light, lift)
    when, air = _with_maximum(weather.warmest, light, lift, when, air)
    at = int(np.argmax(air))
    return float(air[at]), float(when[at])


def _with_maximum(periods: Periods, light: float, lift: float, when: Floats, air: Floats) -> tuple[Floats, Floats]:
    """The readings, and the maximum of every period that lies wholly in the window, put in its middle."""
    low, high, values = periods.times[:-1], periods.times[1:], periods.values[:-1]
    whole = (low >= light) & (high <= lift) & ~np.isnan(values)
    middle = (low[whole] + high[whole]) / 2.0
    return np.concatenate([when, middle]), np.concatenate([air, values[whole]])


def profile(curve: Curve, start: float, end: float) -> tuple[Floats, Floats]:
    """The instants at which a line in the window can bend, its ends among them, and the readings there."""
    inner = curve.times[(curve.times > start) & (curve.times < end)]
    when = np.concatenate([[start], inner, [end]])
    return when, curve.at(when)[:, 0]


def _covered(periods: Periods, start: float, end: float) -> tuple[Floats, Floats] | None:
    """Values and shares of the periods in the window; None unless all of it is known."""
    values, share = periods.inside(start, end)
    if start < periods.times[0] or end > periods.times[-1] or np.isnan(values).any():
        return None
    return values, share


def _total(periods: Periods, start: float, end: float) -> float | None:
    """Sum over the window, of a period that is only partly inside its share."""
    found = _covered(periods, start, end)
    return None if found is None else float((found[0] * found[1]).sum())


def _greatest(periods: Periods, start: float, end: float) -> float | None:
    """Greatest value of any period that shares time with the window."""
    found = _covered(periods, start, end)
    return None if found is None or not len(found[0]) else float(found[0].max())
