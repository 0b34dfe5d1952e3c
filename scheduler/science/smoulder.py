"""How long a tray of smouldering sawdust burns.

All from common practice, no source: a tray of 450 g lit at one end burns for up to 48 h, lit at both ends for 12 to
18 h.  Two fronts warm each other, so one front of them burns up to twice as fast as one alone.
"""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE_FILL_G = 450.0
ONE_FRONT_LONGEST_H = 48.0
TWO_FRONTS_SHORTEST_H = 12.0
TWO_FRONTS_LONGEST_H = 18.0

SLOWEST_G_PER_H = PRACTICE_FILL_G / ONE_FRONT_LONGEST_H
FASTEST_G_PER_H = PRACTICE_FILL_G / TWO_FRONTS_SHORTEST_H / 2.0


@dataclass(frozen=True, slots=True)
class Burn:
    """How long a fill lasts, in hours."""

    shortest_h: float
    longest_h: float


def burn_time(fill_g: float, fronts: int) -> Burn:
    """Time until a fill [g, dry] is burnt out with so many fronts; ValueError for a fill or fronts not above zero."""
    if fill_g <= 0 or fronts <= 0:
        raise ValueError(f"a fill of {fill_g} g and {fronts} fronts burn nothing")
    return Burn(fill_g / (fronts * FASTEST_G_PER_H), fill_g / (fronts * SLOWEST_G_PER_H))


def fill_for(hours: float, fronts: int) -> float:
    """Fill [g, dry] that lasts so many hours even at the fastest rate."""
    return hours * fronts * FASTEST_G_PER_H
