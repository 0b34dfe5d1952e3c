"""The search for windows done the slow way: minute by minute, on a household's clock, for tests to compare with.

Written for sites in UTC and for data on whole minutes, where a line bends at no other instant.  An "interval" here is
the minute from one instant of the grid to the next; a limit holds in it, is broken in it, or is unknown in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from planning_builders import MINUTE_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from providers.forecast import Forecast
    from scheduler.household.site import ClockRange, Site

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

LONGEST_STEP_MIN = 6 * 60
COARSE_STEP_MIN = 3 * 60
SAME_CEILING_C = 0.001
"""60 °F is 15.5556 °C however it was rounded to three digits."""


@dataclass(frozen=True)
class Minutes:
    """One site and one forecast on a grid of minutes."""

    site: Site
    forecast: Forecast
    now_s: int
    hands_on_min: int = 0
    look_min: tuple[int, int] | None = None
    """Least and longest wait of a look that somebody has to take after the lighting."""

    @cached_property
    def samples(self) -> Floats:
        """Stamps of the forecast, in minutes since 1970."""
        index = self.forecast.hourly.index
        return np.array([stamp.timestamp() / MINUTE_S for stamp in index])

    @cached_property
    def grid(self) -> NDArray[np.int64]:
        """Minutes from now to two days after the forecast: a lift may come late, a lighting may come without one."""
        return np.arange(self.now_s // MINUTE_S, int(self.samples[-1]) + 2 * 1440 + 1)

    def shown(self, hours: ClockRange, day: int) -> tuple[int, int]:
        """The stretch of the clock on that day, in minutes since 1970."""
        midnight = day * 1440
        over = 0 if hours.end_min > hours.start_min else 1440
        return midnight + hours.start_min, midnight + hours.end_min + over

    def at_clock(self, week: tuple[tuple[ClockRange, ...], ...]) -> Bools:
        """Of each interval, whether it lies in the hours of its weekday.  1970-01-01 was a Thursday."""
        inside = np.zeros(len(self.grid) - 1, dtype=bool)
        for day in range(int(self.grid[0]) // 1440 - 1, int(self.grid[-1]) // 1440 + 1):
            for hours in week[(day + 3) % 7]:
                start, end = (int(m - self.grid[0]) for m in self.shown(hours, day))
                inside[max(0, start) : max(0, end)] = True
        return inside

    def can_start(self, inside: Bools, length_min: int) -> Bools:
        """Of each minute, whether something of that length can start at it inside of the hours."""
        touches = np.concatenate([inside, [False]]) | np.concatenate([[False], inside])
        if length_min == 0:
            return touches
        broken = np.concatenate([[0], np.cumsum(~inside)])
        fits = np.zeros(len(self.grid), dtype=bool)
        fits[:-length_min] = broken[length_min:] == broken[:-length_min]
        return fits

    @cached_property
    def home(self) -> Bools:
        """Of each minute, whether a hands-on step can start."""
        return self.can_start(self.at_clock(self.site.household_hours), self.hands_on_min)

    @cached_property
    def lightings(self) -> list[int]:
        """Minutes since 1970 at which the tray can be lit, with its look and its lift."""
        able = self.home & self.can_start(self.at_clock(((self.site.lighting_hours,),) * 7), 0)
        return [int(m) for m, ok in zip(self.grid, able, strict=True) if ok and self._looked(m) and self.lift_of(m)]

    def _looked(self, light: int) -> bool:
        if self.look_min is None:
            return True
        least, longest = (int(light - self.grid[0]) + self.hands_on_min + wait for wait in self.look_min)
        return bool(self.home[least : longest + 1].any())

    def lift_of(self, light: int) -> int | None:
        """First minute, no sooner than planned and no later than the longest, at which somebody can lift."""
        first = int(light - self.grid[0]) + round(self.site.duration_h * 60)
        last = int(light - self.grid[0]) + round(self.site.longest_h * 60)
        able = np.nonzero(self.home[first : last + 1])[0]
        return int(self.grid[first + able[0]]) if len(able) else None

    @cached_property
    def air(self) -> tuple[Floats, Floats]:
        """Warmest and coldest air of each interval; NaN where the forecast does not say."""
        values = self.forecast.hourly["air_c"].to_numpy()
        step = np.searchsorted(self.samples, self.grid[:-1], side="right") - 1
        inside = (step >= 0) & (step < len(self.samples) - 1)
        step = np.where(inside, step, 0)
        length = self.samples[step + 1] - self.samples[step]
        slope = (values[step + 1] - values[step]) / length
        start = values[step] + slope * (self.grid[:-1] - self.samples[step])
        end = values[step] + slope * (self.grid[1:] - self.samples[step])
        known = inside & (length <= LONGEST_STEP_MIN)
        return np.where(known, np.maximum(start, end), np.nan), np.where(known, np.minimum(start, end), np.nan)

    def period(self, name: str, *, rate: bool) -> Floats:
        """A column that speaks of the period after its stamp, of each interval; NaN where nobody says."""
        values = self.forecast.hourly[name].to_numpy()
        step = np.searchsorted(self.samples, self.grid[:-1], side="right") - 1
        inside = (step >= 0) & (step < len(self.samples) - 1)
        step = np.where(inside, step, 0)
        length = self.samples[step + 1] - self.samples[step]
        found = values[step] / (length / 60) if rate else values[step]
        return np.where(inside & (length <= LONGEST_STEP_MIN), found, np.nan)

    @property
    def ceiling_c(self) -> float:
        """The site's own, or what a chamber limit of 90 °F leaves under the fire's rise, or a measured one.

        A front burns 14 g/h at 8 MJ/kg; wooden walls of 6.2 V^⅔ pass 3 W/m²K, ten changes of air an hour the rest.
        """
        measured, volume_m3 = self.site.chamber.rise_k, self.site.chamber.volume_l / 1000.0
        fire_w = self.site.tray.fronts * 14.0 * 8.0 / 3.6
        loss_w_k = 3.0 * 6.2 * volume_m3 ** (2 / 3) + 0.335 * 10.0 * volume_m3
        rise_k = fire_w / loss_w_k if measured is None else measured
        return min(self.site.limits.ceiling_c, (90.0 - 32.0) / 1.8 - rise_k)

    @cached_property
    def broken(self) -> tuple[Bools, Bools]:
        """Of each interval, whether a limit is broken in it, and whether one that matters is unknown."""
        limits, (warmest, coldest) = self.site.limits, self.air
        over = (warmest > self.ceiling_c + SAME_CEILING_C) | (coldest < limits.floor_c + SAME_CEILING_C)
        unknown = np.isnan(warmest)
        if limits.rain_mm_per_h is not None and not self.site.rain_shelter:
            rain = self.period("rain_mm", rate=True)
            over, unknown = over | (rain > limits.rain_mm_per_h + 1e-9), unknown | np.isnan(rain)
        if limits.gust_ms is not None:
            gust = self.period("gust_ms", rate=False)
            over, unknown = over | (gust > limits.gust_ms), unknown | np.isnan(gust)
        return over, unknown

    def window(self, values: NDArray, light: int) -> NDArray:
        """The intervals of one lighting's window."""
        lift = self.lift_of(light)
        assert lift is not None
        return values[light - self.grid[0] : lift - self.grid[0]]

    @cached_property
    def doubtful(self) -> tuple[list[tuple[int, int]], Bools]:
        """Periods of which the maximum alone is over the ceiling, in minutes, and the intervals that are in doubt.

        In doubt are those periods, and readings over 3 h apart, in a row, for which nothing says how warm it gets.
        """
        maxima_c = np.append(self.forecast.hourly.get("air_max_c", self.samples * np.nan)[:-1], np.nan)
        length = np.append(np.diff(self.samples), 0)
        coarse = (length > COARSE_STEP_MIN) & (length <= LONGEST_STEP_MIN)
        in_a_row = coarse & (np.append(coarse[1:], False) | np.append([False], coarse[:-1]))
        hot = maxima_c > self.ceiling_c + SAME_CEILING_C
        doubt = np.zeros(len(self.grid) - 1, dtype=bool)
        for n in np.nonzero(hot | (in_a_row & np.isnan(maxima_c)))[0]:
            start, end = (max(0, int(self.samples[k] - self.grid[0])) for k in (n, n + 1))
            doubt[start:end] = True
        return [(int(self.samples[n]), int(self.samples[n + 1])) for n in np.nonzero(hot)[0]], doubt

    def _holds_a_hot_period(self, light: int) -> bool:
        lift = self.lift_of(light)
        assert lift is not None
        return any(light <= start and end <= lift for start, end in self.doubtful[0])

    @cached_property
    def holding(self) -> set[int]:
        """Lightings whose window meets every limit at every reading, and holds no period known to be too warm."""
        over, unknown = self.broken
        at_readings = {m for m in self.lightings if not self.window(over | unknown, m).any()}
        return {m for m in at_readings if not self._holds_a_hot_period(m)}

    @cached_property
    def surely_holding(self) -> set[int]:
        """Those of them whose window nothing puts in doubt."""
        return {m for m in self.holding if not self.window(self.doubtful[1], m).any()}

    @cached_property
    def perhaps_holding(self) -> set[int]:
        """Lightings whose window is not known to break a limit."""
        at_readings = {m for m in self.lightings if not self.window(self.broken[0], m).any()}
        return {m for m in at_readings if not self._holds_a_hot_period(m)}

    def peak_c(self, light: int) -> float:
        """Warmest reading of a lighting's window."""
        return float(self.window(self.air[0], light).max())

    def told_peak_c(self, light: int) -> float:
        """Warmest reading, or warmest maximum of a period that lies wholly in the window."""
        lift = self.lift_of(light)
        assert lift is not None
        maxima_c = self.forecast.hourly.get("air_max_c", self.samples * np.nan)[:-1]
        whole = (self.samples[:-1] >= light) & (self.samples[1:] <= lift) & ~np.isnan(maxima_c)
        return max([self.peak_c(light), *np.asarray(maxima_c)[whole]])

    def night_of(self, minute: int) -> int:
        """The day, counted from 1970, on whose noon the night of that minute begins."""
        return (minute - 720) // 1440

    @property
    def nights(self) -> range:
        """Nights from now to the last instant whose air is known; to the last stamp where none is."""
        ends = np.nonzero(~np.isnan(self.air[0]))[0]
        values = self.forecast.hourly["air_c"].to_numpy()
        known = np.nonzero(~np.isnan(values[:-1] + values[1:]) & (np.diff(self.samples) <= LONGEST_STEP_MIN))[0]
        last = int(self.samples[known[-1] + 1] if len(known) else self.samples[-1])
        assert not len(ends) or last >= self.grid[ends[-1]]
        return range(self.night_of(self.now_s // MINUTE_S), self.night_of(last - 1) + 1)


def runs(minutes: set[int]) -> list[tuple[int, int]]:
    """Unbroken runs of minutes, in order."""
    found: list[tuple[int, int]] = []
    for minute in sorted(minutes):
        if found and found[-1][1] == minute - 1:
            found[-1] = (found[-1][0], minute)
        else:
            found.append((minute, minute))
    return found


DAYS_TO_1970 = 719163
"""Ordinal of 1970-01-01 in the standard library's count of days."""
