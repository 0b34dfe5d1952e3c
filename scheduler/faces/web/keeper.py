"""The process that keeps feeds and pages true: weather, plans, journal, shelf, again and again.

Nothing that goes wrong with one site or one service stops the others, and what was served last stays until there is
something newer.  Clock, chance, weather and waiting are arguments, so that a month passes in a minute of a test.
"""

from __future__ import annotations

import json
import logging
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from providers.errors import WeatherError
from scheduler.errors import SchedulerError
from scheduler.faces.book import Book
from scheduler.faces.feed_file import usual_question
from scheduler.faces.keeping import as_it_was, keep
from scheduler.faces.web.publishing import FEED, feed_body, pages_of
from scheduler.faces.web.shelf import Body
from scheduler.faces.web.timetable import cell_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path
    from threading import Event

    from scheduler.faces.book import Keeper as Records
    from scheduler.faces.web.cells import Cells
    from scheduler.faces.web.shelf import Shelf
    from scheduler.faces.web.sites import Served, Sites
    from scheduler.household.site import Site
    from scheduler.planning.answers import Span

    BusyOf = Callable[[Served, datetime], tuple[Span, ...]]

LOOK_EVERY = timedelta(seconds=30)
"""How soon what somebody recorded, or changed in a site file, is seen."""

ANEW_EVERY = timedelta(hours=1)
"""How often a site is brought up to date without any news: nights pass."""

log = logging.getLogger("smokenight")


@dataclass(slots=True)
class _Site:
    """What is known of one site between two looks."""

    record: int = -1
    """Number of the last record that its pages rest on."""
    kept_at: datetime | None = None
    trouble: str | None = None


@dataclass(slots=True)
class Keeper:
    """Everything that one server keeps."""

    sites: Sites
    shelf: Shelf
    cells: Cells
    journal: Callable[[], Records]
    """Opens the records; asked again after trouble."""
    busy_of: BusyOf
    clock: Callable[[], datetime]
    public_url: str
    _records: Records | None = None
    _of: dict[Path, _Site] = field(default_factory=dict)

    def run(self, stop: Event) -> None:
        """Keep until told to stop."""
        while not stop.is_set():
            self.step(stop)
            stop.wait(LOOK_EVERY.total_seconds())

    def step(self, stop: Event | None = None) -> None:
        """One look at files, journal, weather and clock; whatever is due is done."""
        changed, gone = self._look_at_files()
        for secret in gone:
            self.shelf.close(secret)
        now = self.clock()
        self.cells.keep_only({cell_of(one.site) for one in self.sites.served.values()}, now)
        due = set(self.cells.due(now))
        for path, served in sorted(self.sites.served.items()):
            if stop is not None and stop.is_set():
                return
            if path in changed or cell_of(served.site) in due or self._has_news(path, served.site, now):
                self._bring_up_to_date(path, served)
        self.shelf.health = self._health(self.clock())

    def _look_at_files(self) -> tuple[set[Path], set[str]]:
        try:
            return self.sites.look()
        except SchedulerError as exc:
            log.warning("%s", exc)
            return set(), set()

    def _has_news(self, path: Path, site: Site, now: datetime) -> bool:
        """Whether somebody recorded something, the last try failed, or an hour has passed."""
        own = self._of.get(path)
        if own is None or own.kept_at is None or own.trouble is not None or now - own.kept_at >= ANEW_EVERY:
            return True
        try:
            return self._open().last(site.name) != own.record
        except SchedulerError:
            return True

    def _open(self) -> Records:
        if self._records is None:
            self._records = self.journal()
        return self._records

    def _bring_up_to_date(self, path: Path, served: Served) -> None:
        """One site; its trouble is its own."""
        own = self._of.setdefault(path, _Site())
        try:
            own.trouble = self._keep(own, served)
        except (SchedulerError, WeatherError, OSError) as exc:
            own.trouble = str(exc)
        except Exception:  # whatever it is, one site must not stop the others
            log.exception("a fault of ours")
            own.trouble = "a fault of ours; the log tells"
        if own.trouble is not None:
            log.warning("%s: %s", path.name, own.trouble)
            self._show_what_was(served)

    def _keep(self, own: _Site, served: Served) -> str | None:
        """Weather, plans, journal, and only then the shelf; returns the trouble there was."""
        now = self.clock()
        weather = self.cells.weather(cell_of(served.site), served, now)
        if weather is None:
            return self.cells.known[cell_of(served.site)].trouble or "there is no weather"
        records = self._open()
        book = Book(served.site, now, records, kept=True)
        number = records.last(served.site.name)
        usual = usual_question(book, weather, self.busy_of(served, now))
        kept = keep(book, usual, weather, usual.busy, moving=True)
        self.shelf.place(served.secret, pages_of(kept, served, self.public_url))
        # What it wrote itself is no news; what somebody else wrote meanwhile is seen at the next look.
        own.record, own.kept_at = records.last(served.site.name) if number != own.record else number, now
        return None

    def _show_what_was(self, served: Served) -> None:
        """After a start without weather: the feed as it was published last."""
        if self.shelf.find(served.secret, FEED) is not None:
            return
        try:
            entries = as_it_was(Book(served.site, self.clock(), self._open(), kept=True))
        except SchedulerError as exc:
            log.warning("%s", exc)
            return
        if entries:
            self.shelf.place(served.secret, {FEED: feed_body(entries, served.site)})

    def _health(self, now: datetime) -> Body:
        """How many sites, how old their weather is, and how much trouble there is; no name and no secret."""
        ages = [now - known.issued_at for known in self.cells.known.values() if known.issued_at is not None]
        troubles = sum(own.trouble is not None for own in self._of.values()) + len(self.sites.troubles)
        text = {
            "status": "well" if not troubles else "in trouble",
            "as_of": now.isoformat(timespec="seconds"),
            "sites": len(self.sites.served),
            "sites_in_trouble": troubles,
            "cells": len(self.cells.known),
            "cells_without_weather": sum(known.issued_at is None for known in self.cells.known.values()),
            "oldest_weather_h": _hours(max(ages, default=None)),
            "newest_weather_h": _hours(min(ages, default=None)),
        }
        return Body(json.dumps(text).encode(), "application/json", now.replace(microsecond=0))


def _hours(age: timedelta | None) -> float | None:
    return None if age is None else round(age / timedelta(hours=1), 1)
