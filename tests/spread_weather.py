"""Invented weather over a spread layer, the same every day: figures that no service gave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.science import drying


@dataclass(frozen=True)
class Season:
    """Warmest and coldest air, driest and dampest air, and the evaporation that reaches a layer out from 9 to 18 h."""

    warm_c: float
    cold_c: float
    dry_pct: float
    damp_pct: float
    evaporation_mm: float


DESERT = Season(34, 18, 15, 45, 6.0)
SUMMER = Season(25, 13, 40, 85, 4.4)
MILD = Season(19, 8, 45, 88, 2.9)
AUTUMN = Season(14, 5, 60, 95, 1.4)
WINTER_SUN = Season(9, -1, 55, 92, 1.1)
DAMP_WINTER = Season(5, 1, 88, 96, 0.21)


def hours_of_day(days: int) -> np.ndarray:
    return np.arange(24.0 * days) % 24.0


def air(season: Season, days: int) -> tuple[np.ndarray, np.ndarray]:
    """Temperature [°C] and humidity [%] in the middle of every hour; warmest and driest at 15 h."""
    swing = np.cos((hours_of_day(days) + 0.5 - 15.0) / 24.0 * 2.0 * np.pi)
    temp = (season.warm_c + season.cold_c) / 2.0 + (season.warm_c - season.cold_c) / 2.0 * swing
    humidity = (season.damp_pct + season.dry_pct) / 2.0 - (season.damp_pct - season.dry_pct) / 2.0 * swing
    return temp, humidity


def spread(season: Season, days: int = 40, *, left_out: bool = False) -> drying.Weather:
    """That season hour by hour, the layer brought in at night unless it is left out, no rain."""
    temp, humidity = air(season, days)
    by_day = drying.out_by_day(hours_of_day(days))
    shape = np.where(by_day, np.sin((hours_of_day(days) + 0.5 - 6.0) / 13.0 * np.pi), 0.0)
    evaporation = shape / shape[:24].sum() * season.evaporation_mm
    out = np.ones_like(by_day) if left_out else by_day
    return drying.Weather(
        np.ones(len(temp)), evaporation, drying.air_moisture(temp, humidity), np.zeros(len(temp)), out
    )


def day_and_hour(answer: drying.Answer) -> tuple[int, int]:
    """Day, from 1, and hour of the day at which the layer is ready."""
    assert isinstance(answer, drying.Dry)
    return int(answer.hours // 24) + 1, round(answer.hours % 24)
