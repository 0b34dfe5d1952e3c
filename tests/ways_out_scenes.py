"""Fish on its way at an invented site whose air is cold in some hours and warm in all others."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from asked import NOW, PROCESS, SITE, ZONE, made_forecast

from scheduler import service
from scheduler.household.batch import Batch
from scheduler.planning.ways_out import ways_out

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.household.site import Site
    from scheduler.planning.nights import Search
    from scheduler.planning.way_values import Way, WayOut

COLD_C, WARM_C = 3.0, 26.0


def on(text: str) -> datetime:
    """A clock time of October 2026 at the site: on("17 21:30")."""
    day, _, clock = text.partition(" ")
    return datetime.fromisoformat(f"2026-10-{day}T{clock}").replace(tzinfo=ZONE)


def weather(*cold: tuple[str, str], days: int = 8, warm_c: float = WARM_C) -> Forecast:
    """Cold from the first to the last hour of each stretch, warm in every other hour."""
    made = made_forecast(days)
    hourly = made.hourly.copy()
    air = np.full(len(hourly), warm_c)
    for first, last in cold:
        air[(hourly.index >= pd.Timestamp(on(first))) & (hourly.index <= pd.Timestamp(on(last)))] = COLD_C
    hourly["air_c"] = air
    return replace(made, hourly=hourly)


def rinsed(hours: float = 3.0, **changes: object) -> Batch:
    """Fish that was rinsed so many hours ago, with dry sawdust."""
    return replace(Batch(state="rinsed", since=NOW - timedelta(hours=hours), sawdust="dry"), **changes)


def in_salt(hours: float, **changes: object) -> Batch:
    """Fish that went into salt so many hours ago, with dry sawdust."""
    return rinsed(hours, state="salted", **changes)


def asked(batch: Batch, forecast: Forecast, site: Site = SITE, **changes: object) -> service.Question:
    """The question of this household."""
    return service.Question(site, PROCESS, batch, forecast, NOW, **changes)


def ways_of(question: service.Question) -> tuple[WayOut, ...]:
    """The ways out, as the service would ask for them."""
    chain = service.chain_of(question)
    return ways_out(chain, service.search_of(question, chain), service.look(question))


def ways(batch: Batch, forecast: Forecast, site: Site = SITE, **changes: object) -> tuple[WayOut, ...]:
    """The ways out of this household."""
    return ways_of(asked(batch, forecast, site, **changes))


def way(kind: Way, found: tuple[WayOut, ...]) -> WayOut | None:
    """The way of that kind, if it is there."""
    return next((each for each in found if each.kind is kind), None)


def search_at(question: service.Question, way: WayOut) -> Search:
    """The search at the site of a way: its length of smoke, its fronts."""
    site = question.site
    tray = replace(site.tray, fronts=way.fronts or site.tray.fronts)
    there = replace(question, site=replace(site, tray=tray, duration_h=way.duration_h or site.duration_h))
    return service.search_of(there, service.chain_of(there))
