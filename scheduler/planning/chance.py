"""How likely it is that the air stays at or under the ceiling for a whole window.

One question, P(warmest instant of the window ≤ ceiling), asked of whatever spread a forecast has.  No random
numbers: the same forecast always gives the same answer.  It speaks of the air alone.
"""

from __future__ import annotations

from functools import cache
from math import erfc, sqrt
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Verified error of a corrected 2 m temperature forecast against stations, measured from open ensemble data sets
# (Toulouse +30 h 1.1 °C, Magdeburg +48 h 1.6 °C, Innsbruck day 8 3.0 °C); our straight line through them lies
# 0.2 to 0.4 °C above the good sites, on purpose, until a household has nights of its own.
ERROR_SD_C = 1.4
ERROR_SD_GROWTH_C_PER_DAY = 0.2

# Correlation between the errors of any two hours of one window.  An equicorrelated factor of 0.9 follows an hourly
# autoregression of 0.95 to within 0.06, which the measured within-night correlations (0.85 over 6 h) suggest.
COMMON_FACTOR = 0.9

# Forecast errors have fatter tails than a normal distribution (three to five times as many beyond 3 sd were
# measured), so nothing nearer to certainty than this is said.
LEAST_CHANCE, MOST_CHANCE = 0.02, 0.98

Z90 = 1.2815515655446004
"""Standard normal variable at the 90th percentile."""

LEAST_SD_C = 0.5
"""Nothing is known better than this: a station and a model's cell differ by more (our judgement)."""

NODES = 81
"""Of the quadrature over the common factor."""

CERTAIN_Z = 8.3
"""Beyond it Φ is 0 or 1 to within a double's last digit."""


def error_sd_c(lead_days: Floats | float) -> Floats:
    """Standard deviation of the forecast error [°C] at a lead of that many days; a negative lead counts as none."""
    return np.asarray(ERROR_SD_C + ERROR_SD_GROWTH_C_PER_DAY * np.maximum(np.asarray(lead_days, dtype=float), 0.0))


def chance_under(air_c: Floats, ceiling_c: float, sd_c: Floats | float, factor: float = COMMON_FACTOR) -> Floats:
    """P(no instant of the window is above the ceiling), for a forecast whose errors share one common factor.

    air_c: forecast at the instants of each window [°C], shape (..., instants); NaN marks an instant that a shorter
    window does not have.  sd_c: error of each window [°C], shape (...).  The result has shape (...), 0 to 1, not
    capped.
    """
    z = (ceiling_c - np.asarray(air_c, dtype=float)) / np.asarray(sd_c, dtype=float)[..., None]
    return all_under(z, factor)


def all_under(z: Floats, factor: float = COMMON_FACTOR) -> Floats:
    """P(every one of several standard normal variables with equal correlations is at or under its z).

    z: shape (..., variables), NaN for one that is not there; the result has shape (...).  P = E over x~N(0,1) of
    the product of Φ((z_t − √r·x) / √(1−r)): the one-factor form of the multivariate normal orthant probability, by
    Gauss-Hermite quadrature.
    """
    z = np.where(np.isnan(z), np.inf, z)
    nodes, weights = _hermite()
    each = normal_cdf((z[..., None] - sqrt(factor) * nodes) / sqrt(1.0 - factor))
    return np.asarray(each.prod(axis=-2) @ weights)


def percentile_z(ceiling_c: float, p10_c: Floats, middle_c: Floats, p90_c: Floats) -> Floats:
    """How far over the middle the ceiling lies, in standard deviations of a two-piece normal; same shape as the rest.

    Below the middle its standard deviation is what puts p10 where it is, above it what puts p90 there; neither is
    taken smaller than 0.5 °C.  NaN where a percentile is unknown.
    """
    below, above = (middle_c - p10_c) / Z90, (p90_c - middle_c) / Z90
    return (ceiling_c - middle_c) / np.maximum(np.where(ceiling_c < middle_c, below, above), LEAST_SD_C)


def dressed_chance(warmest_c: Floats, ceiling_c: float, sd_c: Floats) -> Floats:
    """P(the warmest instant of each window is at or under the ceiling), from an ensemble's members.

    warmest_c: the warmest air of each window in each member [°C], shape (windows, members), NaN for a member that
    does not reach it.  Raw member counts are overconfident, so each member is dressed with a normal error that
    brings the variance of the mixture of them up to the verified one: sd_c [°C], shape (windows,).  The result has
    that shape, not capped; NaN for a window without a member.
    """
    known = ~np.isnan(warmest_c)
    count = np.where(known.any(axis=1), known.sum(axis=1), np.nan)
    mean = np.where(known, warmest_c, 0.0).sum(axis=1) / count
    spread = (np.where(known, warmest_c - mean[:, None], 0.0) ** 2).sum(axis=1) / count
    dressing = np.sqrt(np.maximum(sd_c**2 - spread, LEAST_SD_C**2))
    each = normal_cdf(np.where(known, (ceiling_c - warmest_c) / dressing[:, None], -np.inf))
    return np.asarray(each.sum(axis=1) / count)


def normal_cdf(z: Floats) -> Floats:
    """The standard normal distribution function Φ, of any shape.

    By the standard library's erfc, element by element: for the few that are neither 0 nor 1 to the last digit this
    takes less time than it takes to import a library that has it for arrays.
    """
    found = np.where(z > 0.0, 1.0, 0.0)
    open_to_question = np.abs(z) < CERTAIN_Z
    between = (z[open_to_question] / -sqrt(2.0)).tolist()
    found[open_to_question] = np.fromiter(map(erfc, between), dtype=float, count=len(between)) / 2.0
    return found


def capped(chance: Floats) -> Floats:
    """The chance as it is told to people: never nearer to certainty than the tails of the errors allow."""
    return np.clip(chance, LEAST_CHANCE, MOST_CHANCE)


@cache
def _hermite() -> tuple[Floats, Floats]:
    """Nodes and weights for an expectation over a standard normal variable."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    return nodes, weights / weights.sum()
