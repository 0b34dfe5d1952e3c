"""Forecasts for sawdust to dry in: the same invented day over and over, and one day of each kind."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
from planning_builders import HOUR_S, planning_site, weather_of

from scheduler.household.process import Wait

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.household.site import Site

ZONE = ZoneInfo("Etc/GMT+5")
NOW_S = datetime(2026, 4, 17, 12, tzinfo=ZONE).timestamp()
DAYS = 16
WAIT = Wait(96.0, 96.0, 240.0, "clock", None, "drying")


def drying_site(**changes: Any) -> Site:
    """A household at 45° N whose clock never changes."""
    return planning_site(ZONE, **{"latitude_deg": 45.0, "longitude_deg": -75.0, "elevation_m": 200.0, **changes})


def forecast(
    days: int = DAYS,
    *,
    warm_c: float = 19.0,
    cold_c: float = 8.0,
    dry_pct: float = 45.0,
    damp_pct: float = 88.0,
    step_h: int = 1,
    **columns: Any,
) -> Forecast:
    """Warmest and driest at 15 h; half cloud, a breeze, no rain, and no radiation unless given."""
    times = NOW_S + HOUR_S * np.arange(0, days * 24 + 1, step_h)
    swing = np.cos((times - NOW_S + (12.0 - 15.0) * HOUR_S) / (12.0 * HOUR_S) * np.pi)
    usual = {
        "humidity_pct": (damp_pct + dry_pct) / 2.0 - (damp_pct - dry_pct) / 2.0 * swing,
        "wind_ms": np.full(len(times), 2.0),
        "cloud_pct": np.full(len(times), 50.0),
        "rain_mm": np.zeros(len(times)),
    }
    air = (warm_c + cold_c) / 2.0 + (warm_c - cold_c) / 2.0 * swing
    return weather_of(times, columns.pop("air_c", air), **{**usual, **columns})


def damp_winter(days: int = DAYS, **columns: Any) -> Forecast:
    """Air in which wood never falls to ready."""
    return forecast(days, warm_c=5.0, cold_c=1.0, dry_pct=88.0, damp_pct=96.0, **columns)


def column(made: Forecast, name: str) -> np.ndarray:
    """Its values, to change."""
    return made.hourly[name].to_numpy(dtype=float).copy()
