"""An invented household whose calendar is kept up to date hour by hour, in a journal of its own."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from math import cos, pi, sin
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from providers.forecast import REQUIRED, Credit, Forecast
from scheduler.faces.asking import SAMPLE_SITE
from scheduler.faces.book import Book, opening, whole
from scheduler.faces.calendar import feed_bytes
from scheduler.faces.feed_file import usual_question
from scheduler.faces.journal_question import question_of
from scheduler.faces.keeping import Kept, keep
from scheduler.faces.memory import Memory
from scheduler.faces.plan_records import adopted_record
from scheduler.household.batch import Batch
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Callable

    from scheduler.faces.calendar_event import Event
    from scheduler.faces.feed import Entry
    from scheduler.faces.memory import Keeper
    from scheduler.household.site import Site

ZONE = ZoneInfo("America/New_York")
SITE = replace(SAMPLE_SITE, name="Invented shed", zone=ZONE)
NOON = datetime(2026, 10, 17, 16, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
CREDIT = Credit("Invented weather, made up for tests", "https://weather.example/terms")
DAYS = 14


def air_c(moment: datetime, mean_c: float = 9.0) -> float:
    """Warmest at 19:00 UTC, in waves of six days."""
    hours = moment.timestamp() / 3600
    return mean_c + 4.0 * cos((hours - 19) / 24 * 2 * pi) + 3.5 * sin(hours / 24 / 6 * 2 * pi)


def warmer(by_c: float, first: datetime, last: datetime = NOON + 60 * DAY) -> Callable[[datetime], float]:
    """The usual air, warmer by so much from the first moment to the last."""
    return lambda moment: air_c(moment) + (by_c if first <= moment <= last else 0.0)


def weather(issued_at: datetime, air: Callable[[datetime], float] = air_c, days: int = DAYS) -> Forecast:
    """A forecast that begins with the hour of its issue."""
    index = pd.date_range(issued_at.replace(minute=0), periods=days * 24 + 1, freq="h")
    hourly = pd.DataFrame({name: np.full(len(index), np.nan) for name in REQUIRED}, index=index)
    hourly["air_c"] = [round(air(one.to_pydatetime()), 1) for one in index]
    hourly["gust_ms"], hourly["rain_mm"] = 3.0, 0.0
    hourly["humidity_pct"], hourly["wind_ms"] = 70.0, 2.0
    return Forecast("table", CREDIT, None, None, None, issued_at, issued_at, None, hourly)


@dataclass
class House:
    """One site with its journal."""

    site: Site = SITE
    keeper: Keeper = field(default_factory=Memory)
    now: datetime = NOON
    forecast: Forecast = field(default_factory=lambda: weather(NOON))
    entries: tuple[Entry, ...] = ()

    @property
    def book(self) -> Book:
        return Book(self.site, self.now, self.keeper, kept=True)

    def keep(self, *, moving: bool = True) -> Kept:
        """Bring the calendar up to date."""
        usual = usual_question(self.book, (self.forecast, ()), ())
        kept = keep(self.book, usual, (self.forecast, ()), moving=moving)
        self.entries = kept.entries
        return kept

    def open(self, name: str = "autumn lot", **facts: object) -> str:
        """Open a batch of frozen salmon; gives its identity."""
        batch = replace(Batch(name=name, weight_g=1300.0, frozen_since=self.now - 30 * DAY, freezer_c=-20.0,
                              freezer_measured=True), **facts)  # fmt: skip
        record = self.book.record(Kind.BATCH_OPENED, None, **opening(batch))
        self.book.add(record)
        return record.identity

    def adopt(self, identity: str) -> None:
        """Take on the next night of a batch."""
        from scheduler import service

        state = self.book.state
        batch = next(one for one in state.open if one.identity == identity)
        question = question_of(self.book, state, batch, (self.forecast, ()))
        plan = service.plan(question).choice.plan
        assert plan is not None
        self.book.add(adopted_record(self.book, identity, plan, question, committed=False))

    def adopted(self) -> str:
        """A batch whose plan was taken on and published; its fish thaws."""
        identity = self.open()
        self.adopt(identity)
        self.did(identity, "thaw")
        self.keep()
        return identity

    def end(self, identity: str, how: str = "given up") -> None:
        """The batch is over."""
        self.book.add(self.book.record(Kind.BATCH_ENDED, identity, how=how, words=None))
        self.keep()

    def did(self, identity: str, step: str, at: datetime | None = None) -> None:
        at = self.now if at is None else at
        self.book.add(self.book.record(Kind.STEP_DONE, identity, at, step=step, weight_g=None, sawdust_g=None))

    def event(self, step: str) -> Event:
        """The one entry of a step by its name, "smoke" for the smoke."""
        (found,) = (one.event for one in self.entries if one.event.categories[-1] == step)
        return found

    def steps(self) -> dict[str, Event]:
        """Every entry of a plan, by step."""
        found = (one.event for one in self.entries)
        return {one.categories[-1]: one for one in found if one.categories[1] in ("food", "sawdust", "smoke")}

    def times(self, identity: str) -> dict[str, datetime]:
        """The plan of a batch as the journal has it."""
        (batch,) = (one for one in self.book.state.batches if one.identity == identity)
        return {name: whole(datetime.fromisoformat(at)) for name, at in batch.plan.body["steps"].items()}

    def bytes(self) -> bytes:
        return feed_bytes(self.entries, self.site)
