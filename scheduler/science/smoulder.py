"""How long a tray of smouldering sawdust burns, and how much heat it gives.

The rates are common practice, no source: a tray of 450 g lit at one end burns for up to 48 h, lit at both ends for 12
to 18 h.  Two fronts warm each other, so one front of them burns up to twice as fast as one alone.  A front is one
smouldering edge: lit at one end of the track there is one, at both ends, or in mid-track, two.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PRACTICE_FILL_G = 450.0
ONE_FRONT_LONGEST_H = 48.0
TWO_FRONTS_SHORTEST_H = 12.0
TWO_FRONTS_LONGEST_H = 18.0

SLOWEST_G_PER_H = PRACTICE_FILL_G / ONE_FRONT_LONGEST_H
FASTEST_G_PER_H = PRACTICE_FILL_G / TWO_FRONTS_SHORTEST_H / 2.0

USUAL_G_PER_H = 14.0
"""Our estimate, the middle of the range.  In a track of 3.5 by 3 cm at 220 kg/m³ it is a front of 1.7e-3 cm/s; Kim,
Kim and Rie (2017), BioResources 12:7552, measured 1.4 to 1.8e-3 downward in pine wood flour (read)."""

LEAST_HEAT_MJ_KG, USUAL_HEAT_MJ_KG, MOST_HEAT_MJ_KG = 6.0, 8.0, 12.0
"""Heat given off per kg of dry sawdust burnt: from memory, after Rein's reviews of smouldering (2009, 2016); the
usual figure is our estimate.  The rest of wood's 19 MJ/kg leaves as carbon monoxide, tar and char."""

CALM_MS = 0.3
"""Under this no wind is felt: Beaufort 0, from memory."""
STRONG_MS = 10.8
"""From here on a wind is called strong: Beaufort 6, from memory.  That it matters for a tray is our judgement: in a
channel of smouldering wood the fire died under 0.09 m/s of air over it and tended to flame at 0.22 (Ohlemiller 1991,
Combustion and Flame; read in summary), and what a chamber lets through of a wind is not known."""

KJ_PER_G_H_TO_W = 1.0 / 3.6


@dataclass(frozen=True, slots=True)
class Rate:
    """Grams of dry sawdust that one front burns in an hour."""

    slow: float
    usual: float
    fast: float

    def __post_init__(self) -> None:
        """ValueError where the figures are not above zero, or out of order."""
        if not 0.0 < self.slow <= self.usual <= self.fast:
            raise ValueError(f"rates of {self.slow}, {self.usual} and {self.fast} g/h are not slow, usual and fast")


PRACTICE = Rate(SLOWEST_G_PER_H, USUAL_G_PER_H, FASTEST_G_PER_H)
"""One front of any tray that nobody has timed."""


def own_rate(fill_g: float, hours: float, fronts: int) -> Rate:
    """The rate of a burn that somebody timed: fill [g, dry] burnt out after so many hours."""
    _check(fill_g, fronts)
    if hours <= 0:
        raise ValueError(f"a burn of {hours} h has no rate")
    rate = fill_g / hours / fronts
    return Rate(rate, rate, rate)


def tray_rate(g_per_h: float | None) -> Rate:
    """The range about a household's own usual rate [g/h per front]; None takes practice.

    As wide as that of practice, as smokes differ, and never faster at its slow end: what was learned calls no fire out
    sooner.
    """
    if g_per_h is None:
        return PRACTICE
    own = g_per_h / USUAL_G_PER_H
    return Rate(min(own * PRACTICE.slow, PRACTICE.slow), g_per_h, own * PRACTICE.fast)


@dataclass(frozen=True, slots=True)
class Burn:
    """How long a fill lasts, in hours."""

    shortest_h: float
    longest_h: float
    usual_h: float


def burn_time(fill_g: float, fronts: int, rate: Rate = PRACTICE) -> Burn:
    """Time until a fill [g, dry] is burnt out with so many fronts; ValueError for a fill or fronts not above zero."""
    _check(fill_g, fronts)
    shortest, longest, usual = (fill_g / (fronts * each) for each in (rate.fast, rate.slow, rate.usual))
    return Burn(shortest, longest, usual)


def fill_for(hours: float, fronts: int, rate: Rate = PRACTICE) -> float:
    """Fill [g, dry] that lasts so many hours even at the fastest rate."""
    return hours * fronts * rate.fast


def lasts(fill_g: float, fronts: int, hours: float, rate: Rate = PRACTICE) -> Literal["yes", "perhaps", "no"]:
    """Whether a fill burns for so many hours: at any rate, at some, or at none."""
    burn = burn_time(fill_g, fronts, rate)
    if burn.shortest_h >= hours:
        return "yes"
    return "perhaps" if burn.longest_h >= hours else "no"


def burn_power_w(fronts: int, g_per_h: float, heat_mj_kg: float) -> float:
    """Heat of so many fronts [W], each burning at this rate; the water in the dust, 6 % of it at most, is left out."""
    return fronts * g_per_h * heat_mj_kg * KJ_PER_G_H_TO_W


def _check(fill_g: float, fronts: int) -> None:
    if fill_g <= 0 or fronts <= 0:
        raise ValueError(f"a fill of {fill_g} g and {fronts} fronts burn nothing")
