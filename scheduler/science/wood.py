"""Moisture that wood takes from the air, and gives to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

# Hailwood and Horrobin's (1946) sorption with two hydrates, coefficients for °C by Simpson (1998), USDA FPL-RN-0268:
# read in published code that names it.  From memory the same as the Wood Handbook's (FPL-GTR-190), chapter 4.
# Each is a + b T + c T².
MOLAR_WEIGHT = (349.0, 1.29, 0.0135)
DISSOLVED = (0.805, 0.000736, -0.00000273)
FIRST_HYDRATE = (6.27, -0.00938, -0.000303)
SECOND_HYDRATE = (1.91, 0.0407, -0.000293)

WATER_PER_MOLE = 18.0


def _quadratic(coefficients: tuple[float, float, float], temp: Floats) -> Floats:
    constant, linear, square = coefficients
    return constant + linear * temp + square * temp**2


def equilibrium_moisture(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """Moisture [kg water per kg oven-dry wood] in balance with air of this temperature [°C] and humidity [%].

    A mean over species; wood that dries holds 0.01 to 0.03 more than wood that takes water up (from memory).  Below
    −1 °C it extrapolates.  Source: Hailwood and Horrobin, coefficients above.

    >>> round(float(equilibrium_moisture(20.0, 50.0)), 4)
    0.0927
    """
    temp = np.asarray(temp_c, dtype=float)
    weight = _quadratic(MOLAR_WEIGHT, temp)
    first, second = _quadratic(FIRST_HYDRATE, temp), _quadratic(SECOND_HYDRATE, temp)
    activity = _quadratic(DISSOLVED, temp) * np.asarray(humidity_pct, dtype=float) / 100.0
    bound = first * activity + 2.0 * first * second * activity**2
    sites = 1.0 + first * activity + first * second * activity**2
    return np.asarray(WATER_PER_MOLE / weight * (activity / (1.0 - activity) + bound / sites))
