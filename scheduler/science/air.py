"""Moist air: vapour pressure, dew point, air that is warmed, and fish from the fridge that sweats in it.

All over liquid water, also below 0 °C.  Arguments may be numbers or arrays of any shapes that broadcast together;
NaN, the reading that nobody knows, stays NaN.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

MAGNUS_WATER = (6.112, 17.62, 243.12)
"""hPa, -, °C.  WMO-No. 8, Guide to Instruments and Methods of Observation, Annex 4.B, fitted for −45 to 60 °C; the
numbers read in a weather station's manual that prints that annex, the range from memory."""

DRIEST_PCT = 0.1  # ours: no air near the ground is drier, and a dew point needs some vapour

FISH_HEAT_KJ_KG_K = 3.536  # skipjack tuna, loin: differential scanning calorimetry, read in the paper's abstract
FISH_DENSITY_KG_M3 = 1050.0  # from memory; our estimate
FISH_HEAT_J_M3_K = FISH_HEAT_KJ_KG_K * 1000.0 * FISH_DENSITY_KG_M3

FILM_STILL_W_M2_K = 8.0  # our estimate: still air and radiation around a rack
FILM_DRAUGHT_W_M2_K = 15.0  # our estimate: a light draught over it


def vapour_pressure(temp_c: ArrayLike) -> Floats:
    """Saturation vapour pressure over water [hPa] at a temperature [°C].  Source: `MAGNUS_WATER`."""
    scale, slope, offset = MAGNUS_WATER
    temp = np.asarray(temp_c, dtype=float)
    return scale * np.exp(slope * temp / (offset + temp))


def dew_point(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """Temperature [°C] at which air of this temperature [°C] and relative humidity [%] is saturated.

    Humidity under `DRIEST_PCT` counts as that much.
    """
    scale, slope, offset = MAGNUS_WATER
    share = np.maximum(np.asarray(humidity_pct, dtype=float), DRIEST_PCT) / 100.0
    log_ratio = np.log(share * vapour_pressure(temp_c) / scale)
    return np.asarray(offset * log_ratio / (slope - log_ratio))


def humidity_after_warming(temp_c: ArrayLike, humidity_pct: ArrayLike, warmed_c: ArrayLike) -> Floats:
    """Relative humidity [%] of the same air at another temperature [°C]; 100 where it would be over-saturated."""
    vapour = np.asarray(humidity_pct, dtype=float) * vapour_pressure(temp_c)
    return np.minimum(vapour / vapour_pressure(warmed_c), 100.0)


def sweats(surface_c: ArrayLike, dewpoint_c: ArrayLike) -> NDArray[np.bool_]:
    """Whether dew forms on a surface of this temperature [°C]; false where either is not known."""
    return np.asarray(surface_c, dtype=float) < np.asarray(dewpoint_c, dtype=float)


def warm_up_tau_h(thickness_mm: float, film_w_m2_k: float) -> float:
    """Time constant [h] of a piece in air on both sides, taken as one lump: ρ c L / 2 h."""
    return FISH_HEAT_J_M3_K * (thickness_mm / 1000.0) / (2.0 * film_w_m2_k) / 3600.0


def hours_to_stand(surface_c: float, air_c: float, dewpoint_c: float, tau_h: float) -> float:
    """Hours until a cold piece has warmed to the dew point; 0 if it is there, inf in saturated air."""
    if surface_c >= dewpoint_c:
        return 0.0
    if air_c <= dewpoint_c:
        return inf
    return tau_h * log((air_c - surface_c) / (air_c - dewpoint_c))


@dataclass(frozen=True, slots=True)
class Standing:
    """How long fish from the fridge stands until its surface no longer draws dew."""

    dewpoint_c: float
    sweats: bool
    shortest_h: float
    """In a light draught."""
    longest_h: float
    """In still air; inf in saturated air."""


def standing(surface_c: float, air_c: float, humidity_pct: float, thickness_mm: float) -> Standing:
    """The wait for one piece taken from the fridge into this air."""
    dewpoint_c = float(dew_point(air_c, humidity_pct))
    shortest, longest = (
        hours_to_stand(surface_c, air_c, dewpoint_c, warm_up_tau_h(thickness_mm, film))
        for film in (FILM_DRAUGHT_W_M2_K, FILM_STILL_W_M2_K)
    )
    return Standing(dewpoint_c, bool(sweats(surface_c, dewpoint_c)), shortest, longest)
