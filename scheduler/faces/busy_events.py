"""When the events of a calendar (RFC 5545) keep a household busy.

What cannot be read is refused, never taken as free time.  No message repeats what an event is called.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import prod
from typing import TYPE_CHECKING, Any

from scheduler.errors import BadSetting
from scheduler.faces.calendar import PRODID
from scheduler.faces.calendar_event import TOPIC
from scheduler.planning.clock import instant, on_clock

if TYPE_CHECKING:
    from collections.abc import Iterator
    from zoneinfo import ZoneInfo

    import icalendar

Span = tuple[datetime, datetime]

MARGIN = timedelta(days=2)
"""No two clocks differ by more, so what lies further outside is outside on any of them."""
MOST_TIMES = 500_000
"""Our judgement: an event that came round oftener since its start is a slip, or meant to stall a reader."""
MOST_TIMES_AHEAD = 20_000
"""Our judgement: one every five minutes; of all events together that come round several times a day."""
PER_DAY = {"SECONDLY": 86_400, "MINUTELY": 1440, "HOURLY": 24}
FINER = {"SECONDLY": (), "MINUTELY": ("BYSECOND",), "HOURLY": ("BYMINUTE", "BYSECOND")}
EVERY_FINER = ("BYHOUR", "BYMINUTE", "BYSECOND")
TIMES = ("DTSTART", "DTEND", "DURATION", "RRULE", "RDATE", "EXDATE", "RECURRENCE-ID")
"""Properties that say when; what is wrong with any other does no harm."""

_ANY = re.IGNORECASE | re.MULTILINE
_EVENT = re.compile(r"^BEGIN:VEVENT\s*?\n.*?^END:VEVENT[^\S\n]*(?:\n|\Z)", _ANY | re.DOTALL)
_MOVES = re.compile("^(?:RRULE|RDATE|RECURRENCE-ID|DURATION)", _ANY)
_DATE = re.compile("^DT(?:START|END)[;:]", _ANY)
_PLAIN_DATE = re.compile(r"^DT(?:START|END)(?:;[^:\r\n]*)?:(\d{8})(?:T\d{6}Z?)?\s*?$", _ANY)

WRONG = (ValueError, KeyError, IndexError, TypeError, AttributeError, ArithmeticError, RecursionError)
"""What the libraries raise for a file that is none, or dates beyond all calendars."""


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch that is looked at, and the clock that floating times are on."""

    start: datetime
    end: datetime
    zone: ZoneInfo

    @property
    def days(self) -> tuple[date, date]:
        """First and last date that may touch it on any clock."""
        return (self.start - MARGIN).date(), (self.end + MARGIN).date()


def busy_in(data: bytes, name: str, window: Window) -> tuple[Span, ...]:
    """Stretches in the window that the calendar keeps busy, in order; BadSetting, one line, where it is broken."""
    text, kept = _without_past(_text(data, name), window)
    numbers = iter(kept)
    spans = [span for calendar in _calendars(text, name) for span in _busy(calendar, name, window, numbers)]
    return tuple(sorted(span for span in set(spans) if span[0] < window.end and span[1] > window.start))


def _text(data: bytes, name: str) -> str:
    """The file as text that begins and ends like a calendar."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        raise BadSetting(f"{name}: line {line} is not UTF-8: save the calendar as an .ics file once more") from exc
    lines = [line.rstrip().upper() for line in text.splitlines()]
    if "BEGIN:VCALENDAR" not in lines:
        raise BadSetting(f"{name}: is not a calendar: an .ics file starts with BEGIN:VCALENDAR")
    for part in ("VCALENDAR", "VEVENT"):
        if lines.count(f"BEGIN:{part}") != lines.count(f"END:{part}"):
            raise BadSetting(f"{name}: is cut short: a {part} in it has no end; save the calendar once more")
    return text


def _without_past(text: str, window: Window) -> tuple[str, list[int]]:
    """The text less events that are plainly over, and the numbers of the rest: ten years are slow to read in full."""
    first = f"{window.days[0]:%Y%m%d}"
    kept: list[int] = []
    number = 0

    def left(found: re.Match[str]) -> str:
        nonlocal number
        number += 1
        if _is_over(found[0], first):
            return ""
        kept.append(number)
        return found[0]

    return _EVENT.sub(left, text), kept


def _is_over(event: str, first: str) -> bool:
    """Whether all its times are plain ones before that day, and nothing moves or repeats them."""
    dates = _PLAIN_DATE.findall(event)
    return not _MOVES.search(event) and 0 < len(dates) == len(_DATE.findall(event)) and max(dates) < first


def _calendars(text: str, name: str) -> list[icalendar.Calendar]:
    from icalendar import Calendar

    try:
        return [part for part in Calendar.from_ical(text, multiple=True) if part.name == "VCALENDAR"]
    except WRONG as exc:
        raise BadSetting(f"{name}: cannot be read as a calendar (RFC 5545): save it as an .ics file once more") from exc


def _busy(calendar: icalendar.Calendar, name: str, window: Window, numbers: Iterator[int]) -> list[Span]:
    """What one calendar keeps busy; one that this tool wrote, none."""
    import recurring_ical_events  # type: ignore[import-untyped]
    from icalendar import Calendar

    if str(calendar.get("PRODID", "")) == PRODID:
        for _ in calendar.walk("VEVENT"):
            next(numbers, None)
        return []
    kinds = {part.name for part in calendar.subcomponents}
    if "VFREEBUSY" in kinds and "VEVENT" not in kinds:
        raise BadSetting(f"{name}: holds free and busy times without events: share the calendar with its events")
    asked, ahead = Calendar(), 0.0
    event: Any
    for event in calendar.walk("VEVENT"):
        where = f"{name}: event {next(numbers, 'x')}"
        if _matters(event, where, window) and TOPIC not in event.categories:
            ahead += _times_ahead(event, where, window)
            asked.add_component(event)
    if ahead > MOST_TIMES_AHEAD:
        days = (window.end - window.start).days
        raise BadSetting(
            f"{name}: its events come round more than {MOST_TIMES_AHEAD} times in {days} days: leave it out"
        )
    _tell_apart(asked)
    try:
        found = recurring_ical_events.of(asked).between(window.start - MARGIN, window.end + MARGIN)
        return [span for event in found if _counts(event) for span in _span(event, window)]
    except WRONG as exc:
        raise BadSetting(f"{name}: how its events recur cannot be read: save it as an .ics file once more") from exc


def _counts(event: Any) -> bool:
    """Whether it takes up time (RFC 5545, 3.8.2.7) and was not called off."""
    return str(event.get("TRANSP", "")).upper() != "TRANSPARENT" and str(event.get("STATUS", "")).upper() != "CANCELLED"


def _matters(event: Any, name: str, window: Window) -> bool:
    """Whether it may touch the window; BadSetting where its times cannot be read."""
    broken = [prop for prop, _ in event.errors if prop in TIMES]
    twice = [prop for prop in ("DTSTART", "DTEND", "DURATION", "RECURRENCE-ID") if isinstance(event.get(prop), list)]
    if broken or twice or "DTSTART" not in event:
        said = [*(f"its {prop} cannot be read" for prop in broken), *(f"its {prop} stands twice" for prop in twice)]
        raise BadSetting(
            f"{name}: {(*said, 'it has no DTSTART')[0]}: mend it in your calendar program, and save it once more"
        )
    start = event["DTSTART"].dt
    where = f"{name}, from {start:%Y-%m-%d}"
    try:
        end = _end(event, start)
    except WRONG as exc:
        raise BadSetting(f"{where}: its end is beyond all calendars: mend it in your calendar program") from exc
    first, last = window.days
    recurs = any(prop in event for prop in ("RRULE", "RDATE", "RECURRENCE-ID"))
    if not recurs and not (_day(start) <= last and max(_day(start), _day(end)) >= first):
        return False
    _check(event, where, start, end)
    return True


def _end(event: Any, start: Any) -> Any:
    """Its end as it says it; without one, a date is a day long and a time takes none."""
    if "DTEND" in event:
        return event["DTEND"].dt
    if "DURATION" in event:
        return start + event["DURATION"].dt
    return start if isinstance(start, datetime) else start + timedelta(days=1)


def _check(event: Any, where: str, start: Any, end: Any) -> None:
    """Refuse an unknown zone, and an end before the start."""
    for prop in ("DTSTART", "DTEND", "RECURRENCE-ID"):
        value = event.get(prop)
        if value is not None and "TZID" in value.params and getattr(value.dt, "tzinfo", UTC) is None:
            said = str(value.params["TZID"])[:40]
            raise BadSetting(f"{where}: its time zone {said!r} is not known, and the calendar does not describe it")
    if isinstance(start, datetime) is not isinstance(end, datetime):
        before = _day(end) < _day(start)
    elif isinstance(start, datetime) and (start.tzinfo is None) is not (end.tzinfo is None):
        before = end.replace(tzinfo=None) < start.replace(tzinfo=None) - MARGIN
    else:
        before = end < start
    if before:
        raise BadSetting(f"{where}: it ends before it starts: mend it in your calendar program, and save it once more")


def _times_ahead(event: Any, where: str, window: Window) -> float:
    """At most how often it comes round in the window, where that may be several times a day.

    BadSetting for a rule that would take for ever to follow.
    """
    rules = event.get("RRULE")
    ahead, (first, last) = 0.0, window.days
    for rule in rules if isinstance(rules, list) else [rules] if rules is not None else []:
        if any(not isinstance(each, int) or each < 1 for each in rule.get("INTERVAL", [1])) or "FREQ" not in rule:
            raise BadSetting(f"{where}: its RRULE has no FREQ, or an INTERVAL under 1: mend it there")
        started = _day(event["DTSTART"].dt)
        if _times(rule, started, last) > MOST_TIMES:
            raise BadSetting(f"{where}: it comes round more than {MOST_TIMES} times: give it a later start, or an end")
        if _several_a_day(rule):
            ahead += _times(rule, max(first, started), last)
    return ahead


def _several_a_day(rule: Any) -> bool:
    return str(rule["FREQ"][0]).upper() in PER_DAY or any(len(rule.get(part, [0])) > 1 for part in EVERY_FINER)


def _times(rule: Any, first: date, last: date) -> float:
    """At most how often a rule comes round between two dates."""
    freq = str(rule["FREQ"][0]).upper()
    finer = prod(len(rule.get(part, [0])) for part in FINER.get(freq, EVERY_FINER))
    until = min([last, *(_day(each) for each in rule.get("UNTIL", []))])
    days = max(0, (until - first).days + 1)
    times = days * finer * PER_DAY.get(freq, 1) / (rule.get("INTERVAL", [1])[0] if freq in PER_DAY else 1)
    return min([times, *(float(each) for each in rule.get("COUNT", []))])


def _tell_apart(calendar: icalendar.Calendar) -> None:
    """Events that wrongly share a UID and a revision all count: the library would keep one of them."""
    seen: set[tuple[str, int]] = set()
    for number, event in enumerate(calendar.walk("VEVENT")):  # type: int, Any
        known = (str(event.get("UID", "")), int(event.get("SEQUENCE", 0)))
        if "RECURRENCE-ID" in event:
            continue
        if known in seen:
            event["UID"] = f"{known[0]} {number}"
        seen.add(known)


def _span(event: Any, window: Window) -> list[Span]:
    """The occurrence as instants; what takes up no time is none."""
    start, end = (_instant(event[prop].dt, window) for prop in ("DTSTART", "DTEND"))
    return [(start, end)] if end > start else []


def _instant(at: Any, window: Window) -> datetime:
    """A date's midnight and a floating time are on the site's clock (RFC 5545, 3.3.5); far ones come nearer."""
    day, (first, last) = _day(at), window.days
    if not first <= day <= last:
        return window.start - MARGIN if day < first else window.end + MARGIN
    if not isinstance(at, datetime):
        return instant(on_clock(day, 0, window.zone))
    if at.tzinfo is None:
        return instant(on_clock(day, at.hour * 60 + at.minute, window.zone)) + timedelta(seconds=at.second)
    return at.astimezone(UTC)


def _day(at: Any) -> date:
    return at.date() if isinstance(at, datetime) else at
