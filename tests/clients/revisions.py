"""Three states of one feed: a plan, the same plan moved and shortened, and the plan back where it was.

From the invented sample's own plan, through the very functions that publish.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from scheduler import service
from scheduler.faces.asking import BatchFlags, Flags, question
from scheduler.faces.calendar import write_events
from scheduler.faces.calendar_events import events_of
from scheduler.faces.cautions import caution_sentence
from scheduler.faces.feed import Entry, publish

if TYPE_CHECKING:
    from scheduler.faces.calendar_event import Event

NOW = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)
LATER = timedelta(days=1)
"""How far the plan moves."""


@cache
def drafts() -> tuple[Event, ...]:
    asked = question(Flags(None, True, None, NOW.isoformat(), None), BatchFlags())
    answer = service.plan(asked)
    return events_of(answer.choice.plan, site=asked.site, stamp=NOW, credit=asked.forecast.credit,
                     caution_text=caution_sentence)  # fmt: skip


@cache
def revisions() -> tuple[tuple[Entry, ...], ...]:
    """As published at NOW, an hour later, and two hours later."""
    first = publish((), drafts(), NOW)
    moved = [replace(one, start=one.start + LATER, end=one.end + LATER) for one in drafts()[:-1]]
    second = publish(first, moved, NOW + timedelta(hours=1))
    return first, second, publish(second, drafts(), NOW + timedelta(hours=2))


def text_of(entries: tuple[Entry, ...]) -> bytes:
    return write_events([entry.event for entry in entries], name="Cold smoking: Alderbeck garden (invented)")
