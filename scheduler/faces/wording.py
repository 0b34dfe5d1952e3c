"""Words that the faces share: times, stretches of time, chances, lists.

Times are in the site's zone on a 24 h clock; names of days and months do not depend on the machine's language.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from scheduler.household.units import show_duration, show_temperature

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from zoneinfo import ZoneInfo

    from scheduler.household.units import Units
    from scheduler.planning.answers import Span

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)
UNKNOWN = "—"

NO_SOURCE = "common practice, no source"
"""Beside every rule of the trade that nobody has measured."""


_TURNS = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A)))
"""Unicode's embeddings, overrides and isolates (UAX #9), with what ends them; single letters' direction stays."""


def day_words(day: date) -> str:
    """Such as "Thu 22 Oct"."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def clock(moment: datetime, zone: ZoneInfo) -> str:
    """Such as "18:40"; with the zone's short name in the hour that the clock shows twice."""
    local = moment.astimezone(zone)
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return f"{local:%H:%M}" + (f" {local.tzname()}" if twice else "")


def when(moment: datetime, zone: ZoneInfo) -> str:
    """Such as "Thu 22 Oct 18:40"."""
    return f"{day_words(moment.astimezone(zone).date())} {clock(moment, zone)}"


def weekday_clock(moment: datetime, zone: ZoneInfo) -> str:
    """Such as "Thu 18:40", where the date is clear."""
    return f"{WEEKDAYS[moment.astimezone(zone).weekday()]} {clock(moment, zone)}"


def inside(span: Span) -> Span:
    """The span cut inward to whole minutes; one that holds none stays as it is."""
    first = _floor(span[0] + MINUTE - timedelta.resolution)
    last = _floor(span[1])
    return (first, last) if first <= last else span


def _floor(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(second=0, microsecond=0)


def clock_span(span: Span, zone: ZoneInfo) -> str:
    """Such as "18:40–21:25", "22:00–Fri 01:30", or one time where first and last are the same."""
    first, last = inside(span)
    start, end = clock(first, zone), clock(last, zone)
    if first.astimezone(zone).date() != last.astimezone(zone).date():
        return f"{start}–{weekday_clock(last, zone)}"
    return start if start == end else f"{start}–{end}"


@dataclass(frozen=True, slots=True)
class _Days:
    """The same hours on one day, or on each of several days in a row."""

    first: date
    last: date
    hours: str
    spans: tuple[Span, ...]

    def words(self, near: date) -> str:
        start, end = _day_near(self.first, near), _day_near(self.last, near)
        if self.first == self.last:
            return f"{start} {self.hours}"
        return f"{start} {'and' if self.first + DAY == self.last else 'to'} {end} each {self.hours}"


def span_list(spans: Sequence[Span], zone: ZoneInfo, at: datetime, most: int = 3) -> str:
    """Stretches of time in few words: "Thu 19:15–22:00, Fri to Mon each 06:30–22:00 and 5 more days".

    Days within six of `at` go by their weekday, others by their date.  Of more than `most` groups those are shown
    that hold `at` or come right before and after.
    """
    groups = _by_hours(spans, zone)
    holds_at = [number for number, group in enumerate(groups) if any(a <= at <= b for a, b in group.spans)]
    first = min(max(0, (holds_at or [0])[0] - 1), max(0, len(groups) - most))
    shown = groups[first : first + most]
    near = at.astimezone(zone).date()
    words = ", ".join(group.words(near) for group in shown)
    hidden = sum((group.last - group.first).days + 1 for group in groups if group not in shown)
    return words if not hidden else f"{words} and {plural(hidden, 'more day')}"


def _by_hours(spans: Sequence[Span], zone: ZoneInfo) -> list[_Days]:
    """Spans in order, days in a row with the same hours taken together."""
    groups: list[_Days] = []
    for span in spans:
        day, hours = inside(span)[0].astimezone(zone).date(), clock_span(span, zone)
        last = groups[-1] if groups else None
        same = last is not None and last.hours == hours and last.last + DAY == day and _one_day(span, zone)
        if last is not None and same:
            groups[-1] = _Days(last.first, day, hours, (*last.spans, span))
        else:
            groups.append(_Days(day, day, hours, (span,)))
    return groups


def _one_day(span: Span, zone: ZoneInfo) -> bool:
    """Whether it begins and ends on the same date."""
    return span[0].astimezone(zone).date() == span[1].astimezone(zone).date()


def _day_near(day: date, near: date) -> str:
    return WEEKDAYS[day.weekday()] if abs((day - near).days) <= 6 else day_words(day)


def percent(chance: float) -> str:
    """Such as "95 %"."""
    return f"{100 * chance:.0f} %"


def share(pct: float) -> str:
    """A share of a weight, such as "12 %" or "2.5 %"."""
    return f"{pct:.2f}".rstrip("0").rstrip(".") + " %"


def degrees(c: float | None, units: Units) -> str:
    """The bare number of a temperature in the household's unit; a dash where it is not known."""
    return UNKNOWN if c is None else show_temperature(c, units).split(" ")[0]


def long_span(hours: float) -> str:
    """Hours as people count them: to the minute under two days, else in days and hours."""
    if abs(hours) < 48:
        return show_duration(hours)
    days, rest = divmod(round(abs(hours)), 24)
    return plural(days, "day") + (f" {rest} h" if rest else "")


def plural(count: int, noun: str) -> str:
    """Such as "1 night" or "3 nights"."""
    return f"{count} {noun}" + ("" if count == 1 else "s")


def listed(words: Iterable[str]) -> str:
    """Such as "thaw, salt and rinse"."""
    *most, last = list(words)
    return f"{', '.join(most)} and {last}" if most else last


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", ":")) else ".")


def one_line(text: str) -> str:
    """What somebody else wrote, without line ends or anything that could steer a terminal, or turn what follows."""
    harmless = (" " if unicodedata.category(char) in ("Cc", "Zl", "Zp") else char for char in text)
    return " ".join("".join(harmless).translate(_TURNS).split())
