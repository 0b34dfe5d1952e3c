"""How much warmer the chamber is than the air outside: the fire's heat, the sun on it, and what walls and draught lose.

Steady state: a small chamber follows its fire within the hour.  The typical rise decides, its high end only makes a
note, and what the household has measured replaces both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from scheduler.science.radiation import CLOUD_LOSS, CLOUD_POWER
from scheduler.science.smoulder import (
    LEAST_HEAT_MJ_KG,
    MOST_HEAT_MJ_KG,
    PRACTICE,
    USUAL_HEAT_MJ_KG,
    Rate,
    burn_power_w,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

LIMIT_F = 90.0
"""Warmest chamber of a cold smoke: from memory in the FDA's Fish and Fishery Products Hazards and Controls Guidance;
Ontario's Fish Plant Guidelines F.B.14.15 print the same 32.2 °C as their example (read)."""
LIMIT_C = (LIMIT_F - 32.0) / 1.8
NOTE_C = 30.0
"""Cold smoking is under 30 °C as a Norwegian food research institute defines it (Nofima, smoking; read)."""

HUMID_PCT = 75.0
"""Cold smoking needs air that is not more humid: University of Alaska Fairbanks Extension (read second hand)."""

Material = Literal["metal", "cardboard", "wood"]

WALL_W_M2_K: dict[Material, float] = {"metal": 4.5, "cardboard": 4.0, "wood": 3.0}
"""Heat through a wall, both films included: our estimate for bare sheet, 4 mm board and 18 mm boards."""

SURFACE_FACTOR = 6.2
"""Surface over volume^⅔: our estimate, a box a little longer than a cube (6)."""

AIR_CHANGES_PER_H = 10.0
"""Draught through a chamber that smoulders: our estimate."""

AIR_W_K_PER_M3_H = 0.335
"""Heat that a cubic metre of air an hour carries off for each kelvin: 1.2 kg/m³ times 1.005 kJ/kg K over 3600."""

SUNLIT_SHARE_LEAST, SUNLIT_SHARE_USUAL, SUNLIT_SHARE_MOST = 0.4, 0.7, 0.9
"""Share of the sunlight that a wall takes up: our estimate, bright metal to dark paint."""

OUTER_FILM_W_M2_K = 15.0
"""From a sunlit wall to moving air: our estimate (10 to 17)."""

HAURWITZ_W_M2, HAURWITZ_LOSS = 1098.0, 0.059
"""Clear sky on a level surface: Haurwitz (1945), with the figure pvlib uses for the loss; read in its source."""

DIFFUSE_SHARE = 0.2
"""Part of a clear sky's light that does not come from the sun itself: our estimate."""


@dataclass(frozen=True, slots=True)
class Rise:
    """Kelvin above the air outside."""

    low: float
    typical: float
    high: float

    def __post_init__(self) -> None:
        """ValueError where the three are out of order or under zero."""
        if not 0.0 <= self.low <= self.typical <= self.high:
            raise ValueError(f"rises of {self.low}, {self.typical} and {self.high} K are not low, typical and high")


def measured_rise(kelvin: float) -> Rise:
    """Rise that the household has measured: no range."""
    return Rise(kelvin, kelvin, kelvin)


def wall_loss_w_k(volume_m3: float, material: Material) -> float:
    """Heat that the walls pass for each kelvin [W/K]; ValueError for a volume not above zero."""
    if volume_m3 <= 0:
        raise ValueError(f"a chamber of {volume_m3} m³ holds nothing")
    return float(WALL_W_M2_K[material] * SURFACE_FACTOR * volume_m3 ** (2.0 / 3.0))


def draught_loss_w_k(volume_m3: float) -> float:
    """Heat that the draught carries off for each kelvin [W/K]."""
    return AIR_W_K_PER_M3_H * AIR_CHANGES_PER_H * volume_m3


def fire_rise(
    fronts: int, volume_m3: float, material: Material, rate: Rate = PRACTICE, share_inside: float = 1.0
) -> Rise:
    """Rise from the fire; share_inside: part of its heat that the chamber gets, 1 for a tray in it, less by a pipe."""
    _check_fronts(fronts)
    loss = wall_loss_w_k(volume_m3, material) + draught_loss_w_k(volume_m3)
    ends = (
        (rate.slow, LEAST_HEAT_MJ_KG),
        (rate.usual, USUAL_HEAT_MJ_KG),
        (rate.fast, MOST_HEAT_MJ_KG),
    )
    return Rise(*(share_inside * burn_power_w(fronts, speed, heat) / loss for speed, heat in ends))


def _check_fronts(fronts: int) -> None:
    if fronts <= 0:
        raise ValueError(f"{fronts} fronts warm nothing")


@dataclass(frozen=True, slots=True)
class Course:
    """A figure along time with its range, each of the shape asked for."""

    low: Floats
    typical: Floats
    high: Floats


def sunlight_on_box(height_deg: ArrayLike, cloud_pct: ArrayLike) -> Floats:
    """Mean light on the outside of a box in the open [W/m²], by the height of the sun and the cloud cover.

    A convex body shows the sun a quarter of its surface, and half of the sky on average.  Where the cloud is not
    known (NaN) the sky counts as clear.
    """
    sine = np.sin(np.radians(np.asarray(height_deg, dtype=float)))
    above = np.maximum(sine, 1e-6)
    beam = np.where(sine > 0.0, HAURWITZ_W_M2 * np.exp(-HAURWITZ_LOSS / above), 0.0)
    clear = (1.0 - DIFFUSE_SHARE) * beam / 4.0 + DIFFUSE_SHARE * beam * above / 2.0
    cover = np.clip(np.nan_to_num(np.asarray(cloud_pct, dtype=float), nan=0.0) / 100.0, 0.0, 1.0)
    return np.asarray(clear * (1.0 - CLOUD_LOSS * cover**CLOUD_POWER))


def sun_rise(height_deg: ArrayLike, cloud_pct: ArrayLike) -> Course:
    """Kelvin that the sun adds to a chamber that stands in it.

    The walls' own excess over the air (light taken up over the outer film), which a closed box comes to all through;
    the draught, a tenth of the loss at most, is left out.
    """
    light = sunlight_on_box(height_deg, cloud_pct) / OUTER_FILM_W_M2_K
    return Course(SUNLIT_SHARE_LEAST * light, SUNLIT_SHARE_USUAL * light, SUNLIT_SHARE_MOST * light)


def temperature(air_c: ArrayLike, rise: Rise, sun: Course | None = None) -> Course:
    """Temperature in the chamber [°C] by the air's [°C], the fire's rise and, if it stands in the sun, the sun's."""
    air = np.asarray(air_c, dtype=float)
    if sun is None:
        return Course(air + rise.low, air + rise.typical, air + rise.high)
    return Course(air + rise.low + sun.low, air + rise.typical + sun.typical, air + rise.high + sun.high)


def effective_ceiling(ceiling_c: ArrayLike, rise_k: ArrayLike, limit_c: float = LIMIT_C) -> Floats:
    """Warmest outside air [°C] that keeps both the ambient rule and the chamber's limit under a rise [K]."""
    return np.asarray(np.minimum(np.asarray(ceiling_c, dtype=float), limit_c - np.asarray(rise_k, dtype=float)))


Advice = Literal["one_front", "shade", "ice", "shorter"]

ADVICE: dict[Advice, str] = {
    "one_front": "Light it at one end only: one front gives about half the heat.",
    "shade": "Keep the sun off the chamber, or lift the food before the sun reaches it.",
    "ice": "Put a tray of ice in the chamber, under the food and away from the sawdust.",
    "shorter": "Smoke for fewer hours, inside the coldest part of the night.",
}
"""What to do where the chamber's limit binds: common practice, no source."""


def advice(fronts: int, *, in_sun: bool) -> tuple[Advice, ...]:
    """What helps in this chamber, the best first."""
    found: list[Advice] = ["one_front"] if fronts > 1 else []
    if in_sun:
        found.append("shade")
    return (*found, "ice", "shorter")


@dataclass(frozen=True, slots=True)
class Warmth:
    """The warmest that the chamber gets, against its limits."""

    typical_c: float
    high_c: float
    over_limit: bool
    """The typical figure is above the limit: no."""
    note: bool
    """The typical figure is above the note, or the high one above the limit."""


def warmth(course: Course, limit_c: float = LIMIT_C) -> Warmth:
    """The warmest of a course of chamber temperatures [°C] that is known throughout."""
    typical, high = float(np.max(course.typical)), float(np.max(course.high))
    over = typical > limit_c
    return Warmth(typical, high, over, note=not over and (typical > NOTE_C or high > limit_c))
