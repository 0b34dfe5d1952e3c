"""When the weather of a place is asked for next: when its own service says there may be news, a little later at random.

Pure: the moment and the chance are arguments.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime
    from random import Random

    from providers.forecast import Forecast
    from scheduler.household.site import Site

SOONEST = timedelta(minutes=10)
"""No place is asked about more often, whatever a service says."""

LATEST = timedelta(hours=3)
"""Nor less often: models run every few hours."""

JITTER = 0.1
"""Share of the wait that is added at random, so that many servers do not come back together; at least:"""
LEAST_JITTER = timedelta(minutes=2)

FIRST_PAUSE, LONGEST_PAUSE = timedelta(minutes=5), timedelta(hours=1)
"""After the first failure in a row, and at most; each further failure doubles it."""

FURTHEST = LATEST * (1 + JITTER) + LEAST_JITTER
"""No look lies further ahead than this, unless the clock was set back since."""

Cell = tuple[str | None, float, float, float | None, str | None]
"""What sites must share to share a forecast: source, position, height and contact."""

CELL_DEG = 0.02
"""About 2 km: finer than any weather model that is asked (our judgement)."""
CELL_M = 50.0
"""A third of a degree by the standard atmosphere (our judgement)."""


def next_look(forecast: Forecast, now: datetime, rng: Random) -> datetime:
    """After an answer: when it is no longer fresh, within bounds; a table never says, and is soon looked at."""
    fresh_for = SOONEST if forecast.fresh_until is None else forecast.fresh_until - now
    return _with_jitter(min(max(fresh_for, SOONEST), LATEST), now, rng)


def next_try(failures: int, now: datetime, rng: Random) -> datetime:
    """After so many failures in a row (from 1)."""
    pause = LONGEST_PAUSE if failures > 8 else min(FIRST_PAUSE * 2 ** (failures - 1), LONGEST_PAUSE)
    return _with_jitter(pause, now, rng)


def _with_jitter(wait: timedelta, now: datetime, rng: Random) -> datetime:
    return now + wait + max(wait * JITTER, LEAST_JITTER) * rng.random()


def cell_of(site: Site) -> Cell:
    """The cell that the site lies in; sites in one cell are near enough to share a forecast."""
    height = None if site.elevation_m is None else round(site.elevation_m / CELL_M) * CELL_M
    return site.weather, _grid(site.latitude_deg), _grid(site.longitude_deg), height, site.contact


def _grid(deg: float) -> float:
    return round(round(deg / CELL_DEG) * CELL_DEG, 6)
