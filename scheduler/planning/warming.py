"""The chamber beside the air: how much warmer the fire and the sun make it, and what that leaves of the ceiling.

Two limits hold at once: the air stays at or under the site's ceiling, and the chamber, which is warmer than the air
by a rise, at or under its own.  Both are met where the air is at or under the lower of the ceiling and the chamber's
limit less the rise.  That is the same as counting the air as warmer by what the rise exceeds the room between the
ceiling and the limit: one curve then answers where the limits are met, which lighting has the greatest margin, and
how likely it holds.  Where the rise fits into that room, the air counts as it is.

The typical rise decides; its high end only makes a note.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import MINUTE_S
from scheduler.planning.curve import Curve, Periods
from scheduler.science.chamber import LIMIT_C, Course, Rise, fire_rise, measured_rise, sun_rise
from scheduler.science.radiation import sun_height_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.limits import Weather

    Floats = NDArray[np.float64]

SUN_STEP_S = 10 * MINUTE_S
"""Between two looks at the sun its warmth runs along a line, to within a tenth of a kelvin."""


def fire_rise_of(site: Site) -> Rise:
    """What the fire adds: as the household measured it, else by the fronts and the chamber's walls and size."""
    box = site.chamber
    if box.rise_k is not None:
        return measured_rise(box.rise_k)
    return fire_rise(site.tray.fronts, box.volume_l / 1000.0, box.material)


def ceiling_with_fire_c(site: Site) -> float:
    """Warmest outside air [°C] that keeps the site's ceiling and, with a typical fire, the chamber's limit."""
    return min(site.limits.ceiling_c, LIMIT_C - fire_rise_of(site).typical)


@dataclass(frozen=True)
class Warming:
    """A forecast at a site whose chamber is warmer than the air."""

    weather: Weather
    fire: Rise
    ceiling_c: float
    """The site's own, for the air."""
    sunlit: tuple[float, float] | None
    """Latitude and longitude [°] of a chamber that stands in the sun; None in the shade."""

    @property
    def room_k(self) -> float:
        """From the ceiling up to the chamber's limit."""
        return LIMIT_C - self.ceiling_c

    @cached_property
    def binds(self) -> bool:
        """Whether the chamber asks for a lower ceiling anywhere in the forecast."""
        return bool((self.excess_k(self._times(self.weather.air)) > 0.0).any())

    @cached_property
    def chamber(self) -> Curve:
        """Temperature in the chamber [°C]: a column for the typical rise, one for its high end."""
        times = self._times(self.weather.air)
        sun = self.sun(times)
        rises = np.stack([self.fire.typical + sun.typical, self.fire.high + sun.high], axis=1)
        return Curve(times, self.weather.air.at(times) + rises)

    @cached_property
    def counted(self) -> Weather:
        """The weather with its air as it counts against the ceiling; the very same where the chamber never binds."""
        if not self.binds:
            return self.weather
        weather = self.weather
        return replace(
            weather,
            air=self._raised(weather.air),
            warmest=self._raised_periods(weather.warmest),
            percentiles=None if weather.percentiles is None else self._raised(weather.percentiles),
            members=None if weather.members is None else self._raised(weather.members),
        )

    def sun(self, when: Floats) -> Course:
        """What the sun adds [K]; none in the shade, that of a clear sky where the cloud is not known."""
        if self.sunlit is None:
            none = np.zeros(len(when))
            return Course(none, none, none)
        return sun_rise(sun_height_deg(when, *self.sunlit), self.weather.cloud.at(when)[:, 0])

    def excess_k(self, when: Floats) -> Floats:
        """What the typical rise exceeds the room by, not under 0."""
        return np.maximum(self.fire.typical + self.sun(when).typical - self.room_k, 0.0)

    def sun_between(self, start: Floats, end: Floats) -> Floats:
        """The most that the sun adds [K] in each stretch of time: a column for the typical, one for the high end."""
        if self.sunlit is None:
            return np.zeros((len(start), 2))
        times = self._times(self.weather.air)
        sun = self.sun(times)
        return Curve(times, np.stack([sun.typical, sun.high], axis=1)).greatest(start, end)

    def sun_shines(self, when: Floats) -> NDArray[np.bool_]:
        """Where the chamber stands in the sun and the sun is up."""
        if self.sunlit is None:
            return np.zeros(len(when), dtype=bool)
        return np.asarray(sun_height_deg(when, *self.sunlit) > 0.0)

    def _times(self, curve: Curve) -> Floats:
        """The curve's samples and, while the sun is on the chamber, further ones between them."""
        if self.sunlit is None:
            return curve.times
        first, last = curve.times[0], curve.times[-1]
        grid = np.arange(np.ceil(first / SUN_STEP_S) * SUN_STEP_S, last, SUN_STEP_S)
        shines = self.sun_shines(grid)
        beside = shines | np.append(shines[1:], False) | np.insert(shines[:-1], 0, False)
        return np.union1d(curve.times, grid[beside])

    def _raised(self, curve: Curve) -> Curve:
        times = self._times(curve)
        return Curve(times, curve.at(times) + self.excess_k(times)[:, None])

    def _raised_periods(self, periods: Periods) -> Periods:
        """The maximum of a period is taken to come when the sun is strongest in it."""
        sun = self.sun_between(periods.times[:-1], periods.times[1:])[:, 0]
        excess = np.maximum(self.fire.typical + sun - self.room_k, 0.0)
        return Periods(periods.times, periods.values + np.append(excess, 0.0))


def warming_of(weather: Weather, site: Site) -> Warming:
    """The weather at the chamber of this site."""
    return Warming(
        weather,
        fire_rise_of(site),
        site.limits.ceiling_c,
        None if site.sun_shelter else (site.latitude_deg, site.longitude_deg),
    )
