"""The chance of many windows at once, from whatever spread a forecast has.

Each spread answers the same question for windows given by their lighting and lift (seconds since 1970 UTC, shape
(windows,)), with chances of that shape, capped as they are told to people; NaN where the air is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from scheduler.household.units import show_difference
from scheduler.planning.chance import capped, chance_under, error_sd_c
from scheduler.planning.clock import HOUR_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.curve import Curve

    Floats = NDArray[np.float64]

DAY_S = 24 * HOUR_S


class Spread(Protocol):
    """Anything that can say how likely windows hold."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """P(the air stays at or under the ceiling) for each window."""

    def words(self, light: float, lift: float, site: Site) -> str:
        """Where the chance of one window comes from, in the site's units."""


@dataclass(frozen=True)
class ErrorModel:
    """A single forecast with the verified error of forecasts like it, growing with the lead."""

    air: Curve
    issued: float

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        """By the one-factor closed form at the lighting, each full hour after it, and the lift."""
        samples = hourly_samples(self.air, light, lift)
        chance = chance_under(samples, ceiling_c, error_sd_c((light - self.issued) / DAY_S))
        unknown = np.isnan(self.air.greatest(light, lift)[:, 0])
        return np.where(unknown, np.nan, capped(chance))

    def words(self, light: float, lift: float, site: Site) -> str:  # noqa: ARG002 - the same for every lift
        """Names the error and its growth."""
        lead_days = max(0.0, (light - self.issued) / DAY_S)
        sd = float(error_sd_c(lead_days))
        error = show_difference(sd, site.units)
        return f"from one forecast and its usual error, {error} at {lead_days:.1f} days ahead"


def hourly_samples(air: Curve, light: Floats, lift: Floats) -> Floats:
    """Air at each window's lighting + 0, 1, 2 … h and at its lift, shape (windows, instants); NaN past its end."""
    if not len(light):
        return np.empty((0, 1))
    hours = np.arange(int(np.ceil((lift - light).max() / HOUR_S)))
    when = light[:, None] + hours * HOUR_S
    inside = when < lift[:, None] - 1.0
    when = np.concatenate([when, lift[:, None]], axis=1)
    inside = np.concatenate([inside, np.ones((len(light), 1), dtype=bool)], axis=1)
    values = air.at(when.ravel())[:, 0].reshape(when.shape)
    return np.where(inside, values, np.nan)
