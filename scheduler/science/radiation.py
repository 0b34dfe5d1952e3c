"""Sun and sky: radiation above the air, under a clear sky, estimated from cloud, and what a surface keeps of it.

Equations are numbered as in Allen, Pereira, Raes and Smith (1998), FAO Irrigation and Drainage Paper 56, chapter 3;
read in published code that quotes the paper by equation and page, not on the FAO's own page.  Times are seconds since
1970 UTC, places degrees north and east.  All arguments broadcast, so hours and sites may lie on different axes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820  # FAO-56 Eq 21
ALBEDO = 0.23  # FAO-56 Eq 38, the grass of the reference surface
STEFAN_BOLTZMANN_MJ_M2_DAY = 4.903e-9  # FAO-56 Eq 39, per K⁴
KELVIN = 273.16  # as FAO-56 writes it
CLEAR_SHARE, CLEAR_SHARE_PER_M = 0.75, 2e-5  # FAO-56 Eq 37
OVERCAST_SHARE, SUNSHINE_SHARE = 0.25, 0.50  # FAO-56 Eq 35, Ångström's values where none are fitted
W_M2_TO_MJ_M2_H = 0.0036

CLOUD_LOSS, CLOUD_POWER = 0.75, 3.4
"""Kasten and Czeplak (1980), Solar and terrestrial radiation dependent on the amount and type of cloud: a fit to ten
years of Hamburg; read in published code and in a review of it."""

LEAST_RATIO = 0.3  # Rs/Rso under dense cloud: FAO-56 has 0.33, its hourly successor 0.3; read in published code
NIGHT_RATIO = 0.5  # FAO-56 chapter 4: 0.4 to 0.6 by night in humid climates
LAST_STEADY_ANGLE = 0.52  # radians before sunset, about 2 h: FAO-56 chapter 4 takes the night's ratio from there

ESTIMATED = "the forecast gives no radiation: estimated from cloud cover and the height of the sun"
"""What a person is told where `sun_or_estimate` had to estimate."""


def day_of_year(when_s: ArrayLike) -> Floats:
    """1 on 1 January, by the UTC date."""
    days = np.floor(np.asarray(when_s, dtype=float) / 86400.0).astype("datetime64[D]")
    return np.asarray((days - days.astype("datetime64[Y]")).astype(float) + 1.0)


def sun_distance(day: ArrayLike) -> Floats:
    """Inverse relative distance of the sun (Eq 23)."""
    return 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * np.asarray(day, dtype=float))


def declination(day: ArrayLike) -> Floats:
    """Declination of the sun [rad] (Eq 24)."""
    return 0.409 * np.sin(2.0 * np.pi / 365.0 * np.asarray(day, dtype=float) - 1.39)


def sunset_angle(latitude_deg: ArrayLike, day: ArrayLike) -> Floats:
    """Hour angle of sunset [rad] (Eq 25): 0 where the sun stays down, π where it stays up."""
    tangents = np.tan(np.radians(latitude_deg)) * np.tan(declination(day))
    return np.asarray(np.arccos(np.clip(-tangents, -1.0, 1.0)))


def daylight_hours(latitude_deg: ArrayLike, day: ArrayLike) -> Floats:
    """Hours from sunrise to sunset (Eq 34)."""
    return 24.0 / np.pi * sunset_angle(latitude_deg, day)


def solar_angle(when_s: ArrayLike, longitude_deg: ArrayLike) -> Floats:
    """Hour angle of the sun [rad], 0 at its noon, from −π to π (Eq 31 to 33, with UTC for the clock)."""
    season = 2.0 * np.pi * (day_of_year(when_s) - 81.0) / 364.0
    correction_h = 0.1645 * np.sin(2.0 * season) - 0.1255 * np.cos(season) - 0.025 * np.sin(season)
    clock_h = np.asarray(when_s, dtype=float) / 3600.0
    solar_h = clock_h + np.asarray(longitude_deg, dtype=float) / 15.0 + correction_h
    return np.pi / 12.0 * np.mod(solar_h, 24.0) - np.pi


def sun_height_deg(when_s: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Floats:
    """Height of the sun over a level horizon [°], to about one degree, without refraction (Eq 24 and 31)."""
    latitude, tilt = np.radians(latitude_deg), declination(day_of_year(when_s))
    swing = np.cos(latitude) * np.cos(tilt) * np.cos(solar_angle(when_s, longitude_deg))
    return np.asarray(np.degrees(np.arcsin(np.clip(np.sin(latitude) * np.sin(tilt) + swing, -1.0, 1.0))))


def extraterrestrial_daily(latitude_deg: ArrayLike, day: ArrayLike) -> Floats:
    """Radiation above the air in one day [MJ/m²] (Eq 21)."""
    latitude, tilt, sunset = np.radians(latitude_deg), declination(day), sunset_angle(latitude_deg, day)
    level = sunset * np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.sin(sunset)
    return np.asarray(24.0 * 60.0 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN * sun_distance(day) * level)


def extraterrestrial(
    start_s: ArrayLike, period_h: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike
) -> Floats:
    """Mean radiation above the air in periods of up to a day [MJ/m² an hour] (Eq 28 over the part with sun)."""
    length_h = np.asarray(period_h, dtype=float)
    middle_s = np.asarray(start_s, dtype=float) + 1800.0 * length_h
    day, angle = day_of_year(middle_s), solar_angle(middle_s, longitude_deg)
    latitude, tilt, sunset = np.radians(latitude_deg), declination(day), sunset_angle(latitude_deg, day)
    level, swing = np.sin(latitude) * np.sin(tilt), np.cos(latitude) * np.cos(tilt)
    half = np.pi / 24.0 * length_h
    total: Floats = np.zeros(np.broadcast(angle, sunset, half).shape)
    for turn in (-2.0 * np.pi, 0.0, 2.0 * np.pi):  # a long period may touch the sun of the day before or after
        first = np.clip(angle - half + turn, -sunset, sunset)
        last = np.clip(angle + half + turn, -sunset, sunset)
        total = total + (last - first) * level + swing * (np.sin(last) - np.sin(first))
    mean = 12.0 * 60.0 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN * sun_distance(day) * total / length_h
    return np.asarray(np.maximum(mean, 0.0))


def clear_sky(extraterrestrial_mj: ArrayLike, elevation_m: ArrayLike) -> Floats:
    """Radiation under a clear sky (Eq 37), in the unit given."""
    share = CLEAR_SHARE + CLEAR_SHARE_PER_M * np.asarray(elevation_m, dtype=float)
    return np.asarray(share * np.asarray(extraterrestrial_mj, dtype=float))


def from_sunshine(extraterrestrial_mj: ArrayLike, sunshine_h: ArrayLike, daylight_h: ArrayLike) -> Floats:
    """Radiation of a day from its hours of sunshine (Eq 35), in the unit given."""
    bright = np.asarray(sunshine_h, dtype=float) / np.asarray(daylight_h, dtype=float)
    return np.asarray((OVERCAST_SHARE + SUNSHINE_SHARE * bright) * np.asarray(extraterrestrial_mj, dtype=float))


def under_cloud(clear_mj: ArrayLike, cloud_pct: ArrayLike) -> Floats:
    """Radiation under a cloud cover [%], in the unit given.  Source: `CLOUD_LOSS`; a fit, good to some 30 % an hour."""
    cover = np.clip(np.asarray(cloud_pct, dtype=float) / 100.0, 0.0, 1.0)
    return np.asarray(clear_mj, dtype=float) * (1.0 - CLOUD_LOSS * cover**CLOUD_POWER)


def sun_or_estimate(sun_wm2: ArrayLike, cloud_pct: ArrayLike, clear_mj_m2_h: ArrayLike) -> tuple[Floats, bool]:
    """Radiation [MJ/m² an hour]: as given [W/m²], else estimated from cloud; and whether any of it was estimated.

    By night it is 0 whatever is known.  NaN where neither is given.
    """
    clear = np.asarray(clear_mj_m2_h, dtype=float)
    given = np.asarray(sun_wm2, dtype=float) * W_M2_TO_MJ_M2_H
    missing = np.isnan(given)
    estimate = np.where(clear > 0.0, under_cloud(clear, cloud_pct), 0.0)
    merged = np.where(missing, estimate, given)
    return merged, bool(np.any(missing & (clear > 0.0) & ~np.isnan(merged)))


def net_shortwave(sun_mj: ArrayLike) -> Floats:
    """Part of the sun's radiation that the reference surface keeps (Eq 38), in the unit given."""
    return (1.0 - ALBEDO) * np.asarray(sun_mj, dtype=float)


def net_longwave(kelvin4: ArrayLike, vapour_kpa: ArrayLike, ratio: ArrayLike) -> Floats:
    """Radiation that the surface loses to the sky [MJ/m² a day] (Eq 39).

    kelvin4: mean fourth power of the air's absolute temperature; ratio: Rs/Rso, 0.3 to 1.
    """
    damp = 0.34 - 0.14 * np.sqrt(np.asarray(vapour_kpa, dtype=float))
    cloudy = 1.35 * np.asarray(ratio, dtype=float) - 0.35
    return np.asarray(STEFAN_BOLTZMANN_MJ_M2_DAY * np.asarray(kelvin4, dtype=float) * damp * cloudy)


def clearness(sun_mj: ArrayLike, clear_mj: ArrayLike) -> Floats:
    """Rs/Rso between `LEAST_RATIO` and 1; NaN where there is no sun."""
    clear = np.asarray(clear_mj, dtype=float)
    sunlit = np.where(clear > 0.0, clear, np.nan)
    return np.clip(np.asarray(sun_mj, dtype=float) / sunlit, LEAST_RATIO, 1.0)


@dataclass(frozen=True, slots=True)
class Sky:
    """Sun above a series of periods, time on the first axis."""

    extraterrestrial_mj_m2_h: Floats
    clear_mj_m2_h: Floats
    steady: NDArray[np.bool_]
    """Sun up and not within two hours of setting: where the clearness is fit to be carried into the night."""


def sky_over(
    start_s: Floats, period_h: Floats, latitude_deg: Floats, longitude_deg: Floats, elevation_m: Floats
) -> Sky:
    """The sun above sites, shape (periods, sites), for periods (periods,) that start at these times."""
    start, length = start_s[:, None], period_h[:, None]
    above = extraterrestrial(start, length, latitude_deg, longitude_deg)
    middle = start + 1800.0 * length
    sunset = sunset_angle(latitude_deg, day_of_year(middle))
    steady = (above > 0.0) & (solar_angle(middle, longitude_deg) <= sunset - LAST_STEADY_ANGLE)
    return Sky(above, clear_sky(above, elevation_m), steady)


def carried_clearness(sun_mj: Floats, sky: Sky) -> Floats:
    """Rs/Rso for every period: its own by day; by night that of the afternoon before, first of all `NIGHT_RATIO`."""
    ratio = clearness(sun_mj, sky.clear_mj_m2_h)
    index = np.arange(len(ratio))[:, None]
    last = np.maximum.accumulate(np.where(sky.steady & ~np.isnan(ratio), index, -1), axis=0)
    columns = np.arange(ratio.shape[1])[None, :]
    carried = np.where(last >= 0, ratio[np.maximum(last, 0), columns], NIGHT_RATIO)
    return np.where(sky.clear_mj_m2_h > 0.0, ratio, carried)
