"""The plan as an iCalendar file (RFC 5545), for any calendar program that a person already has.

The same plan and forecast give the same bytes: nothing here reads a clock or draws a number.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.calendar_events import events_of
from scheduler.faces.calendar_words import clean_line
from scheduler.faces.cautions import caution_sentence

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    import icalendar

    from providers.forecast import Credit
    from scheduler.faces.calendar_event import Event
    from scheduler.faces.feed import Entry
    from scheduler.household.site import Site
    from scheduler.planning.answers import Plan
    from scheduler.service import Question

PRODID = "-//smokenight//smokenight calendar//EN"
COLOUR = "teal"
ABOUT = (
    "Adopted plans step by step, each at the time to do it. What is tentative nobody has taken on: the next plan, good"
    " nights, weather that dries sawdust. All of it is made from forecasts, and moves with them."
)
REFRESH_H = 4  # weather models run every few hours; asking oftener gains nothing


def plan_calendar(plan: Plan, question: Question, *, adopted: bool = True) -> bytes:
    """Text of a calendar that holds the plan, stamped with the moment the forecast was issued.

    adopted: whether somebody took the night on; without that it is tentative.
    """
    return calendar_bytes(
        plan,
        site=question.site,
        stamp=question.forecast.issued_at,
        credit=question.forecast.credit,
        caution_text=caution_sentence,
        adopted=adopted,
    )


def calendar_bytes(
    plan: Plan,
    *,
    site: Site,
    stamp: datetime,
    credit: Credit,
    caution_text: Callable[[str], str],
    adopted: bool = True,
) -> bytes:
    """Text of a calendar that holds the plan.

    `stamp` is when the forecast was issued, `caution_text` gives the sentence of a caution's key.
    """
    events = events_of(plan, site=site, stamp=stamp, credit=credit, caution_text=caution_text, adopted=adopted)
    return write_events(events, name=f"Cold smoking: {site.name}")


def feed_bytes(entries: Sequence[Entry], site: Site) -> bytes:
    """Text of a site's published entries."""
    return write_events([entry.event for entry in entries], name=f"Cold smoking: {site.name}")


def write_events(events: Sequence[Event], *, name: str) -> bytes:
    """RFC 5545 text of the events under a calendar of that name; the same events give the same bytes."""
    from icalendar import Calendar, vText

    if not events:
        raise ValueError("a calendar needs at least one entry (RFC 5545, 3.6)")
    calendar = Calendar()  # not Calendar.new, which adds a random UID: readers of that keep one event of all
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    for prop in ("name", "x-wr-calname"):  # RFC 7986, 5.1, and what readers look for that do not know it
        calendar.add(prop, vText(clean_line(name)))  # a plain string would go out unescaped
    for prop in ("description", "x-wr-caldesc"):  # RFC 7986, 5.2, and the same again
        calendar.add(prop, vText(ABOUT))
    calendar.add("color", COLOUR)  # RFC 7986, 5.9: a name of CSS, no number
    calendar.add("refresh-interval", timedelta(hours=REFRESH_H), parameters={"VALUE": "DURATION"})  # RFC 7986, 5.7
    calendar.add("x-published-ttl", f"PT{REFRESH_H}H")  # the same, for readers from before RFC 7986
    for event in events:
        calendar.add_component(_vevent(event))
    text: bytes = calendar.to_ical()
    return text


def _vevent(event: Event) -> icalendar.Event:
    """The library's form of one event; UTC throughout, as these happen once and need no time zone's rules."""
    from icalendar import Alarm as Valarm
    from icalendar import Event as Vevent
    from icalendar.enums import STATUS, TRANSP

    # No METHOD goes with it, and without one DTSTAMP is the last revision (RFC 5545, 3.8.7.2).
    vevent = Vevent.new(
        uid=event.uid,
        stamp=event.stamp,
        last_modified=event.stamp,
        created=event.created,
        sequence=event.sequence,
        start=event.start,
        end=event.end,
        summary=event.summary,
        description=event.description,
        status=STATUS(event.status),
        transparency=TRANSP.TRANSPARENT if event.transparent else TRANSP.OPAQUE,
        categories=event.categories,
    )
    if event.related_to is not None:
        vevent.add("related-to", event.related_to, parameters={"RELTYPE": "PARENT"})
    for alarm in event.alarms:
        vevent.add_component(Valarm.new_display(alarm.text, -alarm.before, uid=alarm.uid))
    return vevent
