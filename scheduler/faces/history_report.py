"""The journal read back: batch by batch and day by day, as a person would want it."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from scheduler.faces.batch_report import NONE_OPEN, night_words, what_words
from scheduler.faces.history_words import range_words, record_words
from scheduler.faces.terminal import Page
from scheduler.faces.wording import clock, day_words, one_line, when
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.household.site import Site
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, Reading, SiteState

Json = dict[str, Any]

NOTHING = f"The journal holds nothing of this site yet. {NONE_OPEN}"
UNSAID = (Kind.PLAN_LOOKED, Kind.FORECAST_LOGGED, Kind.READING, Kind.READINGS, Kind.UNDONE)
"""Kinds that have no line of their own: readings are summed up, the rest is for the machine."""

INDENT = " " * 9


def history_report(state: SiteState, site: Site, only: BatchState | None, width: int, *, colour: bool) -> str:
    """Every batch, or one, the oldest first; then what thermometers read beside them."""
    page = Page.of(width, colour=colour)
    for batch in state.batches if only is None else (only,):
        _say_batch(page, batch, state, site)
    loose = [] if only is not None else [one for one in state.readings if one.batch is None]
    if loose:
        page.heading("Thermometers")
        for line in _summaries(loose, site):
            page.say(line, first="  ", rest="    ")
    if not page.lines:
        page.say(NOTHING)
    return page.text()


def _say_batch(page: Page, batch: BatchState, state: SiteState, site: Site) -> None:
    """Its name and what it is, its days, its thermometers, and how it came out."""
    page.gap()
    page.say(f"{page.ink('strong', one_line(batch.name))}: {what_words(batch.opened, site)}", rest="  ")
    told = [record for record in batch.records if record.kind not in UNSAID]
    for day, records in groupby(told, key=lambda record: record.at.astimezone(site.zone).date()):
        page.say(f"  {page.ink('strong', day_words(day))}")
        for record in records:
            _say_record(page, record, batch, site)
    own = [reading for reading in state.readings if reading.batch == batch.identity]
    for line in _summaries(own, site):
        page.say(line, first="  ", rest="    ")
    if batch.ended is None:
        page.say(f"Still open; night: {night_words(batch, site)}.", first="  ", rest="  ", style="quiet")


def _say_record(page: Page, record: Record, batch: BatchState, site: Site) -> None:
    """One line with its time."""
    words = "opened" if record.kind is Kind.BATCH_OPENED else record_words(record, batch, site)
    page.say(words, first=f"  {clock(record.at, site.zone):>5}  ", rest=INDENT)


def _summaries(readings: Sequence[Reading], site: Site) -> list[str]:
    """What each thermometer read, from when to when."""
    found = []
    for where in sorted({reading.where for reading in readings}):
        own = [reading for reading in readings if reading.where == where]
        first, last = when(own[0].at, site.zone), when(own[-1].at, site.zone)
        span = first if first == last else f"{first} to {last}"
        found.append(f"{where} {range_words([reading.c for reading in own], site)}, {span}")
    return found


def history_json(state: SiteState, site: Site, only: BatchState | None) -> Json:
    """The same for programs: every standing record with its words and its body."""
    batches = state.batches if only is None else (only,)
    loose = [] if only is not None else [one for one in state.readings if one.batch is None]
    return {
        "site": site.name,
        "batches": [_batch_json(batch, state, site) for batch in batches],
        "readings": [_reading_json(reading, site) for reading in loose],
    }


def _batch_json(batch: BatchState, state: SiteState, site: Site) -> Json:
    own = [reading for reading in state.readings if reading.batch == batch.identity]
    return {
        "name": batch.name,
        "identity": batch.identity,
        "food": batch.opened.body["food"],
        "open": batch.ended is None,
        "how": None if batch.ended is None else batch.ended.body["how"],
        "records": [_record_json(record, batch, site) for record in batch.records if record.kind is not Kind.READINGS],
        "readings": [_reading_json(reading, site) for reading in own],
    }


def _record_json(record: Record, batch: BatchState, site: Site) -> Json:
    return {
        "identity": record.identity,
        "kind": str(record.kind),
        "at": record.at.astimezone(site.zone).isoformat(timespec="seconds"),
        "words": record_words(record, batch, site),
        "body": dict(record.body),
    }


def _reading_json(reading: Reading, site: Site) -> Json:
    at = reading.at.astimezone(site.zone).isoformat(timespec="seconds")
    return {"where": reading.where, "at": at, "c": round(reading.c, 2)}
