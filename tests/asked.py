"""Questions with invented weather at an invented site, and the service's answers to them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from providers.forecast import REQUIRED, Credit, Forecast
from providers.sample import sample_forecast
from scheduler import service
from scheduler.household.batch import Batch
from scheduler.household.process_file import shipped_process
from scheduler.household.site import Site, Tray

if TYPE_CHECKING:
    from scheduler.service import Answer

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 10, 17, 14, 0, tzinfo=ZONE)
START = datetime(2026, 10, 17, 12, 0, tzinfo=ZONE)
SITE = Site("Invented shed", 41.0, -74.0, ZONE, sawdust_store_g=900.0)
LONG_NAME = "An invented place whose name goes on and on and on, Saint-Unlikely-upon-Nowhere"
WIDE_NAME = "冷たい煙の小屋、架空の場所にある小屋、とても長い名前の小屋"
FROZEN = Batch(weight_g=1300.0, frozen_since=NOW - timedelta(days=30), freezer_c=-20.0, freezer_measured=True)
PROCESS = shipped_process("salmon")


def made_forecast(days: int = 16, mean_c: float = 13.0, **changes: object) -> Forecast:
    """Air that swings by day and night, and in a slower wave of six days."""
    hours = np.arange(days * 24 + 1)
    air = mean_c + 5.0 * np.cos((hours - 3) / 24 * 2 * np.pi) - 4.0 * np.sin(hours / 24 / 6 * 2 * np.pi)
    index = pd.date_range(START.astimezone(UTC), periods=len(hours), freq="h")
    hourly = pd.DataFrame({name: np.full(len(hours), np.nan) for name in REQUIRED}, index=index)
    hourly["air_c"], hourly["gust_ms"], hourly["rain_mm"] = air.round(1), 3.0, 0.0
    credit = Credit("Invented weather", "https://weather.example/terms")
    made = Forecast("table", credit, None, None, None, START, NOW, None, hourly)
    return replace(made, **changes)


def with_gap(forecast: Forecast, first: int, last: int) -> Forecast:
    """The forecast with hours whose air nobody knows."""
    hourly = forecast.hourly.copy()
    hourly.loc[hourly.index[first:last], "air_c"] = np.nan
    return replace(forecast, hourly=hourly)


def ask(forecast: Forecast | None = None, site: Site = SITE, batch: Batch | None = None) -> Answer:
    """The answer for 1.3 kg of salmon that was frozen long enough, where nothing else is said."""
    batch = FROZEN if batch is None else batch
    return service.plan(service.Question(site, PROCESS, batch, made_forecast() if forecast is None else forecast, NOW))


def salted(hours: float) -> Batch:
    """Fish that went into salt so many hours ago."""
    return Batch(state="salted", since=NOW - timedelta(hours=hours))


STALE = {"issued_at": NOW - timedelta(hours=60), "fresh_until": NOW - timedelta(hours=50)}

CASES = {
    "good": lambda: ask(),
    "salted": lambda: ask(batch=salted(20.0)),
    "ready after the best lighting": lambda: ask(batch=salted(14.25)),
    "freezing under way": lambda: ask(batch=Batch(frozen_since=NOW - timedelta(days=12), freezer_c=-18.0)),
    "freezing ahead": lambda: ask(batch=Batch(state="fresh")),
    "no freezing record": lambda: ask(batch=Batch(weight_g=1300.0)),
    "farmed": lambda: ask(batch=Batch(state="fresh", farmed=True)),
    "tentative": lambda: ask(made_forecast(mean_c=16.7)),
    "too warm": lambda: ask(made_forecast(mean_c=21.0)),
    "lead-in past the end": lambda: ask(made_forecast(days=2), site=replace(SITE, sawdust_store_g=0.0)),
    "too long in salt": lambda: ask(batch=salted(100.0)),
    "nobody home": lambda: ask(site=replace(SITE, household_hours=((),) * 7)),
    "too old": lambda: ask(made_forecast(**STALE)),
    "gap": lambda: ask(with_gap(made_forecast(), 30, 60)),
    "no air": lambda: ask(with_gap(made_forecast(), 0, 400)),
    "weight unknown, two fronts": lambda: ask(
        site=replace(SITE, tray=Tray(fronts=2), duration_h=18.0), batch=Batch()
    ),
    "long name, US units": lambda: ask(site=replace(SITE, name=LONG_NAME, units="us")),
    "wide name": lambda: ask(site=replace(SITE, name=WIDE_NAME)),
    "sample": lambda: ask(sample_forecast(NOW, zone=ZONE, latitude_deg=41.0, longitude_deg=-74.0)),
    "polar day": lambda: ask(site=replace(SITE, latitude_deg=-80.0)),
}  # fmt: skip
"""Answers of every kind, by what is special about them."""


@cache
def answer(case: str) -> Answer:
    """One of the cases, worked out once."""
    return CASES[case]()
