"""The process that keeps feeds and pages true: weather, plans, journal, shelf, again and again.

Nothing that goes wrong with one site or one service stops the others, and what was served last stays until there is
something newer.  Clock, chance, weather and waiting are arguments, so that a month passes in a minute of a test.
"""

from __future__ import annotations

import json
import logging
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from providers.errors import WeatherError
from scheduler.errors import SchedulerError
from scheduler.faces.book import Book
from scheduler.faces.feed_file import usual_question
from scheduler.faces.keeping import as_it_was, keep
from scheduler.faces.web.page_trouble import page_in_trouble
from scheduler.faces.web.publishing import FEED, NOT_MADE, PAGE, feed_body, pages_of
from scheduler.faces.web.shelf import Body
from scheduler.faces.web.timetable import FURTHEST, next_try

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path
    from threading import Event

    from scheduler.faces.web.cells import Cells
    from scheduler.faces.web.shelf import Shelf
    from scheduler.faces.web.sites import Served, Sites
    from scheduler.household.site import Site
    from scheduler.journal.store import Journal
    from scheduler.planning.answers import Span

    BusyOf = Callable[[Served, datetime], tuple[Span, ...]]

LOOK_EVERY = timedelta(seconds=30)
"""How soon what somebody recorded, or changed in a site file, is seen."""

ANEW_EVERY = timedelta(hours=1)
"""How often a site is brought up to date without any news: nights pass."""

BEGIN_WITHIN = timedelta(seconds=3)
"""How long a start may take before questions are answered (our judgement)."""

log = logging.getLogger("smokenight")


@dataclass(slots=True)
class _Site:
    """What is known of one site between two looks."""

    record: int = -1
    """Number of the last record that was looked at."""
    tried_at: datetime | None = None
    """When it was brought up to date last, or would have been but for the trouble."""
    trouble: str | None = None
    failures: int = 0
    """In a row, of what is not tried again at every look: what lies elsewhere, and faults of ours."""
    again_at: datetime | None = None
    """When it is."""
    entries: int | None = None
    """A hash of what its feed holds: most looks change nothing there."""

    def is_to_try(self, now: datetime) -> bool:
        """Whether the pause after trouble is over; one that a clock set back made long is."""
        return self.again_at is None or not now < self.again_at <= now + FURTHEST


@dataclass(slots=True)
class Keeper:
    """Everything that one server keeps."""

    sites: Sites
    shelf: Shelf
    cells: Cells
    journal: Callable[[], Journal]
    """Opens the records; anew for every look, as the file may be another one by then."""
    busy_of: BusyOf
    clock: Callable[[], datetime]
    public_url: str
    _records: Journal | None = None
    _no_records: SchedulerError | None = None
    """Why the journal cannot be opened in this look: it is not tried again for every site."""
    _no_look: str | None = None
    """Why the site files could not be looked at the last time."""
    _of: dict[Path, _Site] = field(default_factory=dict)

    def begin(self) -> None:
        """Before anything is asked for: every feed as it was published last, for as long as nobody should wait.

        With many sites the rest follow as the first thing in `run`; who asks for those is told to come again.
        """
        self._look_at_files()
        for served in self.sites.served.values():
            self.shelf.place(served.secret, NOT_MADE)
        self.shelf.health = self._health(self.clock())
        self._show_all(lambda began: self.clock() - began >= BEGIN_WITHIN)

    def run(self, stop: Event) -> None:
        """Keep until told to stop.  What is raised here is a fault that no other look will mend."""
        self._show_all(lambda _: stop.is_set())
        while not stop.is_set():
            if not self.step(stop):
                stop.wait(LOOK_EVERY.total_seconds())

    def step(self, stop: Event | None = None) -> bool:
        """One look at files, journal, weather and clock; what is due is done, for as long as a look may take.

        Returns whether something due is left for the next one.
        """
        self._clear(self._look_at_files())
        began = self.clock()
        self.cells.keep_only({one.cell for one in self.sites.served.values()}, began)
        with self._records_closed():
            left = self._do(self._due(began), began, stop)
        self.shelf.health = self._health(self.clock())
        return left

    def _show_all(self, enough: Callable[[datetime], bool]) -> None:
        began = self.clock()
        with self._records_closed():
            for served in self.sites.served.values():
                if enough(began):
                    return
                self._show_what_was(served)

    @contextmanager
    def _records_closed(self) -> Iterator[None]:
        """No longer than one look is a file held that somebody may move away or put another in the place of."""
        try:
            yield
        finally:
            records, self._records, self._no_records = self._records, None, None
            if records is not None:
                with suppress(SchedulerError):
                    records.close()

    def _do(self, due: Sequence[Path], began: datetime, stop: Event | None) -> bool:
        for path in due:
            if stop is not None and stop.is_set():
                return True
            self._bring_up_to_date(path, self.sites.served[path])
            if self.clock() - began >= LOOK_EVERY and path != due[-1]:
                return True
        return False

    def _clear(self, gone: set[str]) -> None:
        """What lies under these secrets goes; where another site has one now, its own is awaited."""
        served = {one.secret for one in self.sites.served.values()}
        for secret in gone:
            self.shelf.close(secret)
            if secret in served:
                self.shelf.place(secret, NOT_MADE)

    def _look_at_files(self) -> set[str]:
        """Forget what is known of sites that changed or are gone; the secrets whose pages are to go."""
        before = self.sites.troubles
        try:
            changed, gone = self.sites.look()
        except (SchedulerError, OSError) as exc:
            if str(exc) != self._no_look:
                log.warning("%s", exc)
            self._no_look = str(exc)
            return set()
        self._no_look = None
        for path, trouble in sorted(self.sites.troubles.items()):
            if before.get(path) != trouble:
                log.warning("%s", trouble)
        for path in (self._of.keys() - self.sites.served.keys()) | changed:
            self._of.pop(path, None)
        return gone

    def _due(self, now: datetime) -> list[Path]:
        """Sites to bring up to date: first where somebody recorded or changed something, then the oldest."""
        late = set(self.cells.due(now))
        ranks: dict[Path, tuple[bool, float]] = {}
        for path, served in sorted(self.sites.served.items()):
            own = self._of.setdefault(path, _Site())
            news = own.tried_at is None or self._has_news(own, served.site)
            again = _is_old(own.tried_at, now) if own.trouble is None else own.is_to_try(now)
            if news or again or served.cell in late:
                ranks[path] = not news, 0.0 if own.tried_at is None else own.tried_at.timestamp()
        return sorted(ranks, key=lambda path: ranks[path])

    def _has_news(self, own: _Site, site: Site) -> bool:
        """Whether somebody recorded something; the trouble that keeps us from knowing is told with the site."""
        try:
            return self._open().last(site.name) != own.record
        except SchedulerError:
            return True

    def _open(self) -> Journal:
        if self._no_records is not None:
            raise self._no_records
        if self._records is None:
            try:
                self._records = self.journal()
            except SchedulerError as exc:
                self._no_records = exc
                raise
        return self._records

    def _bring_up_to_date(self, path: Path, served: Served) -> None:
        """One site; its trouble is its own, and told once."""
        own = self._of[path]
        before, own.trouble = own.trouble, self._trouble_with(own, served)
        if own.trouble is None:
            if before is not None:
                log.info("%s: all is well again", path.name)
            return
        self._show_what_was(served)
        if own.trouble != before:
            log.warning("%s: %s", path.name, own.trouble)
            self._tell(served, own.trouble)

    def _trouble_with(self, own: _Site, served: Served) -> str | None:
        try:
            return self._keep(own, served)
        except WeatherError as exc:  # of a household's own calendar: it is not ours to ask it time and again
            self._pause(own)
            return str(exc)
        except (SchedulerError, OSError) as exc:
            return str(exc)
        except Exception as exc:  # whatever it is, one site must not stop the others
            self._pause(own)
            trouble = f"a fault of ours ({type(exc).__name__}); the log tells"
            if own.trouble != trouble:
                log.exception("a fault of ours")
            return trouble

    def _pause(self, own: _Site) -> None:
        own.failures += 1
        own.again_at = next_try(own.failures, self.clock(), self.cells.rng)

    def _keep(self, own: _Site, served: Served) -> str | None:
        """Weather, plans, journal, and only then the shelf; returns the trouble there was."""
        now, cell, records = self.clock(), served.cell, self._open()
        own.tried_at, own.record = now, records.last(served.site.name)
        if records.only_read is not None:
            return records.only_read
        asked = self.cells.known[cell].due <= now
        weather = self.cells.weather(cell, served, now)
        if weather is None:
            return self.cells.known[cell].trouble or "there is no weather"
        book = Book(served.site, now, records, kept=True)
        usual = usual_question(book, weather, self.busy_of(served, now))
        kept = keep(book, usual, weather, usual.busy, moving=True)
        if kept.is_behind and not asked:  # somebody was given newer weather: it may be had by now
            self.cells.known[cell].due = now
        entries = hash(kept.entries)
        feed = self.shelf.find(served.secret, FEED) if own.entries == entries else None
        self.shelf.place(served.secret, pages_of(kept, served, self.public_url, feed))
        own.record, own.entries = kept.last, entries
        own.failures, own.again_at = 0, None
        return None

    def _show_what_was(self, served: Served) -> None:
        """After a start without weather, or without room to write: the feed as it was published last."""
        if self.shelf.find(served.secret, FEED) is not None:
            return
        feed, now = None, self.clock()
        try:
            entries = as_it_was(Book(served.site, now, self._open(), kept=True))
            feed = feed_body(entries, served.site, now) if entries else None
        except SchedulerError as exc:
            log.warning("%s", exc)
        self._place(served, FEED, feed)

    def _tell(self, served: Served, trouble: str) -> None:
        """On the page, as whoever looks at it sees neither the log nor the health."""
        page, feed = (self.shelf.find(served.secret, name) for name in (PAGE, FEED))
        told = page_in_trouble(trouble, served.site, self.clock(), page, calendar=feed is not None)
        self._place(served, PAGE, told)

    def _place(self, served: Served, name: str, body: Body | None) -> None:
        """One page alone; the others stay."""
        there = {each: self.shelf.find(served.secret, each) for each in NOT_MADE}
        self.shelf.place(served.secret, {**there, name: body})

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
            "cells_in_trouble": sum(known.trouble is not None for known in self.cells.known.values()),
            "cells_without_weather": sum(known.issued_at is None for known in self.cells.known.values()),
            "oldest_weather_h": _hours(max(ages, default=None)),
            "newest_weather_h": _hours(min(ages, default=None)),
        }
        return Body(json.dumps(text).encode(), "application/json", now.replace(microsecond=0))


def _is_old(tried_at: datetime | None, now: datetime) -> bool:
    """Whether an hour has passed, or the clock was set back since."""
    return tried_at is None or not timedelta(0) <= now - tried_at < ANEW_EVERY


def _hours(age: timedelta | None) -> float | None:
    return None if age is None else round(age / timedelta(hours=1), 1)
