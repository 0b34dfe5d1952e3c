"""The chance of many windows at once, from whatever spread a forecast has.

Each spread answers the same question for windows given by their lighting and lift (seconds since 1970 UTC, shape
(windows,)), with chances of that shape, capped as they are told to people; NaN where the air is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from scheduler.household.units import show_difference
from scheduler.planning.chance import (
    all_under,
    capped,
    chance_under,
    dressed_chance,
    error_sd_c,
    normal_cdf,
    percentile_z,
)
from scheduler.planning.clock import DAY_S, HOUR_S
from scheduler.planning.curve import Curve
from scheduler.planning.limits import TOLERANCE_C

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.curve import Periods
    from scheduler.planning.limits import Weather

    Floats = NDArray[np.float64]

FEWEST_MEMBERS = 10
"""With fewer members for a window, an ensemble says nothing of its spread (our judgement)."""


class Spread(Protocol):
    """Anything that can say how likely windows hold."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """P(the air stays at or under the ceiling) for each window."""

    def words(self, light: float, lift: float, site: Site) -> str:
        """Where the chance of one window comes from, in the site's units."""


def spread_of(weather: Weather) -> Spread:
    """The best spread that the weather has: an ensemble's members, else percentiles, else the error model."""
    spread: Spread = ErrorModel(weather.air, weather.issued, weather.warmest)
    if weather.percentiles is not None:
        spread = Percentiles(weather.percentiles, spread, weather.warmest)
    if weather.members is not None:
        spread = Members(weather.members, weather.issued, spread)
    return spread


@dataclass(frozen=True)
class ErrorModel:
    """A single forecast with the verified error of forecasts like it, growing with the lead."""

    air: Curve
    issued: float
    warmest: Periods | None = None
    """Warmest air of whole periods, where a service gives it beside readings that are hours apart."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """By the one-factor closed form at the lighting, each full hour after it, and the lift.

        So that no peak between two of these is missed, it is never above the chance of the warmest instant alone.
        """
        sd_c, warmest = self._sd_c(light), self.air.greatest(light, lift)[:, 0]
        air = hourly_samples(self.air, light, lift)
        if self.warmest is not None:
            air = np.concatenate([air, self.warmest.greatest_whole(light, lift)[:, None]], axis=1)
        alone = normal_cdf((ceiling_c - warmest) / sd_c)
        chance = capped(np.minimum(chance_under(air, ceiling_c, sd_c), alone))
        return np.where(np.isnan(warmest), np.nan, chance)

    def words(self, light: float, lift: float, site: Site) -> str:  # noqa: ARG002 - the same for every lift
        """Names the error and its lead."""
        error = show_difference(float(self._sd_c(np.asarray(light))), site.units)
        days = max(0.0, (light - self.issued) / DAY_S)
        return f"from one forecast and its usual error, {error} at {days:.1f} days ahead"

    def _sd_c(self, light: Floats) -> Floats:
        return error_sd_c((light - self.issued) / DAY_S)


@dataclass(frozen=True)
class Percentiles:
    """Percentiles of the air at each hour, as the service gives them."""

    p10_p50_p90: Curve
    otherwise: Spread
    """Asked about windows for which a percentile is missing."""
    warmest: Periods | None = None
    """Warmest air of whole periods, where a service gives it beside readings that are hours apart."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """By the one-factor closed form over each hour's two-piece normal; as the error model, no peak is missed."""
        chance, known = self._chances(light, lift, ceiling_c)
        return chance if known.all() else np.where(known, chance, self.otherwise.chances(light, lift, ceiling_c))

    def words(self, light: float, lift: float, site: Site) -> str:
        """Says so."""
        known = self._chances(np.array([light]), np.array([lift]), site.limits.ceiling_c)[1]
        return "from the service's own percentiles" if known[0] else self.otherwise.words(light, lift, site)

    def _chances(self, light: Floats, lift: Floats, ceiling_c: float) -> tuple[Floats, NDArray[np.bool_]]:
        """Chances, and for which windows every percentile is known."""
        when, inside = hourly_instants(light, lift)
        p10, p50, p90 = np.where(inside, self.p10_p50_p90.at(when.ravel()).T.reshape(3, *when.shape), np.nan)
        z = percentile_z(ceiling_c, p10, p50, p90)
        known: NDArray[np.bool_] = np.logical_not((np.isnan(z) & inside).any(axis=1))
        if self.warmest is not None:
            # A period's maximum is as uncertain as the most uncertain reading of the window.
            most = self.warmest.greatest_whole(light, lift)[:, None]
            below, above = (np.fmax.reduce(side, axis=1, keepdims=True) for side in (p50 - p10, p90 - p50))
            z = np.concatenate([z, percentile_z(ceiling_c, most - below, most, most + above)], axis=1)
        return capped(np.minimum(all_under(z), self._alone(light, lift, ceiling_c))), known

    def _alone(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """The least chance of any single hour of each window."""
        p10, p50, p90 = self.p10_p50_p90.values.T
        over = Curve(self.p10_p50_p90.times, -percentile_z(ceiling_c, p10, p50, p90)[:, None])
        return normal_cdf(-over.greatest(light, lift)[:, 0])


@dataclass(frozen=True)
class Members:
    """An ensemble: the warmest air of each window in each member, dressed to the verified error."""

    members: Curve
    issued: float
    otherwise: Spread
    """Asked about windows that too few members reach."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """Mean chance over the dressed members."""
        warmest = self.members.greatest(light, lift)
        enough = (~np.isnan(warmest)).sum(axis=1) >= FEWEST_MEMBERS
        chance = capped(dressed_chance(warmest, ceiling_c, self._sd_c(light)))
        return chance if enough.all() else np.where(enough, chance, self.otherwise.chances(light, lift, ceiling_c))

    def words(self, light: float, lift: float, site: Site) -> str:
        """The raw count beside the error that the members are dressed to."""
        warmest = self.members.greatest(np.array([light]), np.array([lift]))[0]
        known = warmest[~np.isnan(warmest)]
        if len(known) < FEWEST_MEMBERS:
            return self.otherwise.words(light, lift, site)
        under = int((known <= site.limits.ceiling_c + TOLERANCE_C).sum())
        error = show_difference(float(self._sd_c(np.asarray(light))), site.units)
        return (
            f"from {len(known)} ensemble members, of which {under} keep to your ceiling,"
            f" widened to the usual error of {error}"
        )

    def _sd_c(self, light: Floats) -> Floats:
        return error_sd_c((light - self.issued) / DAY_S)


def hourly_instants(light: Floats, lift: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Each window's lighting + 0, 1, 2 … h and its lift, shape (windows, instants), and which of them are in it."""
    if not len(light):
        return np.empty((0, 1)), np.empty((0, 1), dtype=bool)
    hours = np.arange(int(np.ceil((lift - light).max() / HOUR_S)))
    when = np.concatenate([light[:, None] + hours * HOUR_S, lift[:, None]], axis=1)
    inside = when < lift[:, None] - 1.0
    inside[:, -1] = True
    return when, inside


def hourly_samples(air: Curve, light: Floats, lift: Floats) -> Floats:
    """Air at those instants, shape (windows, instants); NaN past a window's end."""
    when, inside = hourly_instants(light, lift)
    return np.where(inside, air.at(when.ravel())[:, 0].reshape(when.shape), np.nan)
