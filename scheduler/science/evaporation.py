"""Water that the weather can take from a wet surface: the FAO Penman-Monteith equation, by the hour and by the day.

Source: Allen, Pereira, Raes and Smith (1998), FAO Irrigation and Drainage Paper 56, equations numbered as there; read
in published code that quotes the paper by equation and page, not on the FAO's own page.  1 mm is 1 kg of water per m².
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.science import radiation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

MM_PER_MJ = 0.408  # FAO-56 Eq 20: one over the latent heat 2.45 MJ/kg
DAILY_WIND, HOURLY_WIND = 900.0, 37.0  # FAO-56 Eq 6 and Eq 53
SURFACE = 0.34  # FAO-56 Eq 6: a grass cover of 70 s/m
DAY_GROUND, NIGHT_GROUND = 0.1, 0.5  # FAO-56 Eq 45 and 46, share of the net radiation that the ground takes
WIND_HEIGHT_M = 10.0  # where weather services give the wind


def pressure(elevation_m: ArrayLike) -> Floats:
    """Mean air pressure at a height above the sea [kPa] (Eq 7)."""
    return np.asarray(101.3 * ((293.0 - 0.0065 * np.asarray(elevation_m, dtype=float)) / 293.0) ** 5.26)


def psychrometric(elevation_m: ArrayLike) -> Floats:
    """Psychrometric constant γ [kPa/°C] (Eq 8)."""
    return 0.665e-3 * pressure(elevation_m)


def saturation(temp_c: ArrayLike) -> Floats:
    """Saturation vapour pressure [kPa] as this paper has it (Eq 11)."""
    temp = np.asarray(temp_c, dtype=float)
    return 0.6108 * np.exp(17.27 * temp / (temp + 237.3))


def saturation_slope(temp_c: ArrayLike) -> Floats:
    """Slope Δ of that curve [kPa/°C] (Eq 13)."""
    return np.asarray(4098.0 * saturation(temp_c) / (np.asarray(temp_c, dtype=float) + 237.3) ** 2)


def wind_at_2m(wind_ms: ArrayLike, height_m: ArrayLike = WIND_HEIGHT_M) -> Floats:
    """Wind at 2 m [m/s] from one measured over short grass at another height [m] (Eq 47)."""
    return np.asarray(wind_ms, dtype=float) * 4.87 / np.log(67.8 * np.asarray(height_m, dtype=float) - 5.42)


@dataclass(frozen=True, slots=True)
class Balance:
    """Reference evaporation and all that it was made of; radiation in MJ/m², evaporation in mm, per hour or per day."""

    slope: Floats
    """Δ, kPa/°C."""
    psychrometric: Floats
    """γ, kPa/°C."""
    saturation_kpa: Floats
    vapour_kpa: Floats
    net_shortwave: Floats
    net_longwave: Floats
    net: Floats
    ground: Floats
    by_radiation_mm: Floats
    by_wind_mm: Floats

    @property
    def evaporation_mm(self) -> Floats:
        """ET0, the sum of both parts; a little under 0 on a night of dew."""
        return self.by_radiation_mm + self.by_wind_mm


@dataclass(frozen=True, slots=True)
class _Air:
    temp_c: Floats
    saturation_kpa: Floats
    vapour_kpa: Floats
    wind_2m_ms: Floats
    elevation_m: Floats


def _balance(air: _Air, shortwave: Floats, longwave: Floats, ground: Floats, wind_factor: float) -> Balance:
    """Eq 6 or Eq 53, which differ in one number."""
    slope, gamma = saturation_slope(air.temp_c), psychrometric(air.elevation_m)
    below = slope + gamma * (1.0 + SURFACE * air.wind_2m_ms)
    net = shortwave - longwave
    dryness = air.saturation_kpa - air.vapour_kpa
    return Balance(
        slope=slope,
        psychrometric=gamma,
        saturation_kpa=air.saturation_kpa,
        vapour_kpa=air.vapour_kpa,
        net_shortwave=shortwave,
        net_longwave=longwave,
        net=net,
        ground=ground,
        by_radiation_mm=MM_PER_MJ * slope * (net - ground) / below,
        by_wind_mm=gamma * wind_factor / (air.temp_c + 273.0) * air.wind_2m_ms * dryness / below,
    )


def hourly(
    *,
    air_c: ArrayLike,
    humidity_pct: ArrayLike,
    wind_2m_ms: ArrayLike,
    sun_mj_m2_h: ArrayLike,
    clearness: ArrayLike,
    daylight: ArrayLike,
    elevation_m: ArrayLike,
) -> Balance:
    """Evaporation in mm an hour (Eq 53), for hours and sites that broadcast.

    clearness: Rs/Rso, by night the afternoon's (`radiation.carried_clearness`); daylight: whether the sun is up.
    """
    temp, humidity = np.asarray(air_c, dtype=float), np.asarray(humidity_pct, dtype=float)
    full = saturation(temp)
    vapour = full * humidity / 100.0
    air = _Air(temp, full, vapour, np.asarray(wind_2m_ms, dtype=float), np.asarray(elevation_m, dtype=float))
    shortwave = radiation.net_shortwave(sun_mj_m2_h)
    longwave = radiation.net_longwave((temp + radiation.KELVIN) ** 4, vapour, clearness) / 24.0
    share = np.where(np.asarray(daylight, dtype=bool), DAY_GROUND, NIGHT_GROUND)
    return _balance(air, shortwave, longwave, share * (shortwave - longwave), HOURLY_WIND)


def daily(
    *,
    air_max_c: ArrayLike,
    air_min_c: ArrayLike,
    vapour_kpa: ArrayLike,
    wind_2m_ms: ArrayLike,
    sun_mj_m2: ArrayLike,
    clear_mj_m2: ArrayLike,
    elevation_m: ArrayLike,
    ground_mj_m2: ArrayLike = 0.0,
) -> Balance:
    """Evaporation in mm a day (Eq 6), for days and sites that broadcast."""
    warmest, coldest = np.asarray(air_max_c, dtype=float), np.asarray(air_min_c, dtype=float)
    air = _Air(
        (warmest + coldest) / 2.0,
        (saturation(warmest) + saturation(coldest)) / 2.0,
        np.asarray(vapour_kpa, dtype=float),
        np.asarray(wind_2m_ms, dtype=float),
        np.asarray(elevation_m, dtype=float),
    )
    kelvin4 = ((warmest + radiation.KELVIN) ** 4 + (coldest + radiation.KELVIN) ** 4) / 2.0
    longwave = radiation.net_longwave(kelvin4, vapour_kpa, radiation.clearness(sun_mj_m2, clear_mj_m2))
    return _balance(
        air, radiation.net_shortwave(sun_mj_m2), longwave, np.asarray(ground_mj_m2, dtype=float), DAILY_WIND
    )


def over_hours(
    *,
    sky: radiation.Sky,
    air_c: Floats,
    humidity_pct: Floats,
    wind_ms: Floats,
    sun_mj_m2_h: Floats,
    elevation_m: ArrayLike,
) -> Floats:
    """Evaporation in mm an hour of a series, shape (periods, sites), not under 0; wind as measured at 10 m.

    Air and wind are the means of each period.  NaN where any of them is not known.
    """
    balance = hourly(
        air_c=air_c,
        humidity_pct=humidity_pct,
        wind_2m_ms=wind_at_2m(wind_ms),
        sun_mj_m2_h=sun_mj_m2_h,
        clearness=radiation.carried_clearness(sun_mj_m2_h, sky),
        daylight=sky.extraterrestrial_mj_m2_h > 0.0,
        elevation_m=elevation_m,
    )
    return np.maximum(balance.evaporation_mm, 0.0)
