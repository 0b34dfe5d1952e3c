"""What of a household's calendar keeps it busy, and calendars that are broken."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from builders import make_site
from dateutil.rrule import DAILY, HOURLY, MONTHLY, WEEKLY, rrule
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import BadSetting
from scheduler.faces.busy_events import Window, busy_in
from scheduler.planning.clock import clock_spans, seconds
from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from collections.abc import Sequence

NEW_YORK = ZoneInfo("America/New_York")
NOW = datetime(2026, 10, 17, 18, tzinfo=UTC)
WINDOW = Window(NOW, NOW + timedelta(days=60), NEW_YORK)
TITLE = "Surprise for the neighbours"


def event(*lines: str, uid: str = "one") -> str:
    return "\r\n".join(["BEGIN:VEVENT", f"UID:{uid}", f"SUMMARY:{TITLE}", *lines, "END:VEVENT"])


def calendar(*parts: str, prodid: str = "-//invented//calendar//EN") -> bytes:
    lines = ("BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{prodid}", *parts, "END:VCALENDAR", "")
    return "\r\n".join(lines).encode()


def busy(*parts: str, prodid: str = "-//invented//calendar//EN") -> list[str]:
    """Spans on the site's clock, as short text."""
    spans = busy_in(calendar(*parts, prodid=prodid), "family.ics", WINDOW)
    return [" ".join(f"{at.astimezone(NEW_YORK):%m-%d %H:%M}" for at in span) for span in spans]


MEALS = ("DTSTART:20261020T180000", "DTEND:20261020T200000")


@pytest.mark.parametrize(
    ("lines", "spans"),
    [
        (MEALS, ["10-20 18:00 10-20 20:00"]),
        (("DTSTART:20261020T220000Z", "DURATION:PT90M"), ["10-20 18:00 10-20 19:30"]),
        (("DTSTART;TZID=Europe/London:20261020T230000", "DURATION:PT1H"), ["10-20 18:00 10-20 19:00"]),
        (("DTSTART;TZID=W. Europe Standard Time:20261020T120000", "DURATION:PT1H"), ["10-20 06:00 10-20 07:00"]),
        (("DTSTART;VALUE=DATE:20261020",), ["10-20 00:00 10-21 00:00"]),
        (("DTSTART;VALUE=DATE:20261101", "DTEND;VALUE=DATE:20261103"), ["11-01 00:00 11-03 00:00"]),
        (("DTSTART;VALUE=DATE:20261020", "DURATION:P2D"), ["10-20 00:00 10-22 00:00"]),
        ((*MEALS, "TRANSP:OPAQUE", "STATUS:TENTATIVE"), ["10-20 18:00 10-20 20:00"]),
        ((*MEALS, "TRANSP:TRANSPARENT"), []),
        ((*MEALS, "STATUS:CANCELLED"), []),
        ((*MEALS, "CATEGORIES:cold-smoking,smoke"), []),
        (("DTSTART:20261020T180000",), []),  # a time alone takes none
        (("DTSTART:20261020T180000", "DTEND:20261020T180000"), []),
        (("DTSTART:20200101T180000", "DTEND:20200101T200000"), []),
        (("DTSTART:20261017T120000", "DTEND:20261017T150000"), ["10-17 12:00 10-17 15:00"]),
        (("DTSTART;VALUE=DATE:16040101", "RRULE:FREQ=YEARLY;BYMONTH=11;BYMONTHDAY=5"), ["11-05 00:00 11-06 00:00"]),
        (
            (*MEALS, "RRULE:FREQ=WEEKLY;COUNT=3", "EXDATE:20261027T180000"),
            ["10-20 18:00 10-20 20:00", "11-03 18:00 11-03 20:00"],
        ),
        ((*MEALS, "RRULE:FREQ=DAILY;UNTIL=20261001T000000"), []),  # how programs write a series that was called off
        ((*MEALS, "RDATE:20261022T180000"), ["10-20 18:00 10-20 20:00", "10-22 18:00 10-22 20:00"]),
        (
            ("DTSTART;TZID=Europe/London:20261023T230000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=3"),
            ["10-23 18:00 10-23 19:00", "10-24 18:00 10-24 19:00", "10-25 19:00 10-25 20:00"],
        ),  # London's clock goes back a week before New York's
    ],
)
def test_an_event_keeps_busy_from_its_start_to_its_end(lines, spans):
    assert busy(event(*lines)) == spans


def test_an_event_that_lasts_for_years_covers_the_whole_window():
    ((start, end),) = busy_in(calendar(event("DTSTART:19000101T000000", "DTEND:21991231T000000")), "x", WINDOW)
    assert start <= WINDOW.start
    assert end >= WINDOW.end


def test_one_of_a_series_may_be_moved_called_off_or_made_free():
    series = event(*MEALS, "RRULE:FREQ=DAILY;COUNT=4")
    moved = event("RECURRENCE-ID:20261021T180000", "DTSTART:20261021T080000", "DTEND:20261021T090000")
    off = event("RECURRENCE-ID:20261022T180000", *MEALS, "STATUS:CANCELLED")
    free = event("RECURRENCE-ID:20261023T180000", *MEALS, "TRANSP:TRANSPARENT")
    assert busy(series, moved, off, free) == ["10-20 18:00 10-20 20:00", "10-21 08:00 10-21 09:00"]


def test_a_calendar_that_this_tool_wrote_does_not_block_it():
    assert busy(event(*MEALS), prodid="-//smokenight//smokenight calendar//EN") == []


def test_events_that_wrongly_share_a_uid_all_count_and_a_later_revision_counts_alone():
    other = ("DTSTART:20261021T180000", "DTEND:20261021T200000")
    assert len(busy(event(*MEALS), event(*other))) == 2
    assert busy(event(*MEALS), event(*other, "SEQUENCE:1")) == ["10-21 18:00 10-21 20:00"]


def test_several_calendars_in_one_file_all_count():
    both = calendar(event(*MEALS)) + calendar(event("DTSTART;VALUE=DATE:20261101"))
    assert len(busy_in(both, "x", WINDOW)) == 2


def test_an_own_time_zone_that_the_calendar_describes_is_followed():
    zone = (
        "BEGIN:VTIMEZONE\r\nTZID:Invented\r\nBEGIN:STANDARD\r\nDTSTART:19700101T000000\r\n"
        "TZOFFSETFROM:+0300\r\nTZOFFSETTO:+0300\r\nEND:STANDARD\r\nEND:VTIMEZONE"
    )
    assert busy(zone, event("DTSTART;TZID=Invented:20261020T180000", "DURATION:PT1H")) == ["10-20 11:00 10-20 12:00"]


def test_events_that_are_over_change_nothing_but_the_time_it_takes():
    over = event("DTSTART;TZID=Nowhere/Town:20200101T180000", "DTEND;TZID=Nowhere/Town:20200101T200000", uid="over")
    since_long = event("DTSTART:20200101T180000", "DTEND:20270101T200000", uid="long")
    assert busy(over, event(*MEALS), over) == ["10-20 18:00 10-20 20:00"]
    assert len(busy(over, since_long)) == 1
    with pytest.raises(BadSetting, match="x: event 3: its DTSTART cannot be read"):
        busy_in(calendar(over, event(*MEALS), event("DTSTART:tomorrow"), over), "x", WINDOW)


def test_hundreds_of_birthdays_are_no_burden():
    days = [date(1950, 1, 1) + timedelta(days=37 * n) for n in range(700)]
    lines = [(f"DTSTART;VALUE=DATE:{day:%Y%m%d}", "RRULE:FREQ=YEARLY") for day in days]
    assert len(busy(*(event(*each, uid=str(n)) for n, each in enumerate(lines)))) > 50


BROKEN = {
    "empty": (b"", "is not a calendar: an .ics file starts with BEGIN:VCALENDAR"),
    "a web page": (b"<html>Log in</html>", "is not a calendar"),
    "cut short": (calendar(event(*MEALS))[:-20], "is cut short"),
    "an event that does not end": (calendar("BEGIN:VEVENT", *MEALS), "a VEVENT in it has no end"),
    "not UTF-8": (calendar(event(*MEALS, "LOCATION:R\xe4ucherei")).decode().encode("latin-1"), "line 9 is not UTF-8"),
    "NULs": (b"\0" * 50, "is not a calendar"),
    "no start": (calendar(event()), "event 1: it has no DTSTART"),
    "a start of letters": (calendar(event("DTSTART:tomorrow")), "event 1: its DTSTART cannot be read"),
    "two starts": (calendar(event(*MEALS, "DTSTART:20261021T180000")), "event 1: its DTSTART stands twice"),
    "a rule of letters": (calendar(event(*MEALS, "RRULE:FREQ=SOMETIMES")), "its RRULE cannot be read"),
    "a rule without a pace": (calendar(event(*MEALS, "RRULE:COUNT=2")), "RRULE"),
    "an interval of nothing": (calendar(event(*MEALS, "RRULE:FREQ=DAILY;INTERVAL=0")), "an INTERVAL under 1"),
    "an exception of letters": (calendar(event(*MEALS, "EXDATE:x")), "its EXDATE cannot be read"),
    "a negative duration": (
        calendar(event("DTSTART:20261020T180000", "DURATION:-PT1H")),
        "event 1, from 2026-10-20: it ends before it starts",
    ),
    "an end before the start": (calendar(event(*MEALS[:1], "DTEND:20261019T180000")), "it ends before it starts"),
    "a duration beyond all calendars": (
        calendar(event("DTSTART:20261020T180000", "DURATION:P9999999D")),
        "its end is beyond all calendars",
    ),
    "an unknown zone": (
        calendar(event("DTSTART;TZID=Nowhere/Town:20261020T180000", "DURATION:PT1H")),
        "its time zone 'Nowhere/Town' is not known",
    ),
    "every second for years": (
        calendar(event("DTSTART:20200101T000000", "DURATION:PT1S", "RRULE:FREQ=SECONDLY")),
        "it comes round more than 500000 times",
    ),
    "every minute from now": (
        calendar(event("DTSTART:20261017T000000", "DURATION:PT1S", "RRULE:FREQ=MINUTELY")),
        "more than 20000 times in 60 days",
    ),
    "every second of every day": (
        calendar(event(*MEALS, "RRULE:FREQ=DAILY;BYHOUR=" + ",".join(map(str, range(24))) + ";BYMINUTE="
                       + ",".join(map(str, range(60))))),
        "more than 20000 times in 60 days",
    ),
    "free and busy times alone": (
        calendar("BEGIN:VFREEBUSY\r\nUID:1\r\nFREEBUSY:20261020T180000Z/PT1H\r\nEND:VFREEBUSY"),
        "without events",
    ),
    "nested without end": (
        calendar("BEGIN:VEVENT\r\n" * 20_000 + "END:VEVENT\r\n" * 20_000),
        "family.ics: ",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("data", "words"), BROKEN.values(), ids=BROKEN)
def test_a_broken_calendar_is_refused_in_one_line_that_tells_nothing_of_its_events(data, words):
    with pytest.raises(BadSetting) as caught:
        busy_in(data, "family.ics", WINDOW)
    assert str(caught.value).startswith("family.ics: ")
    assert words in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1
    assert TITLE not in str(caught.value)


@given(st.binary(max_size=40), st.integers(0, 250))
def test_a_damaged_calendar_is_read_or_refused_in_one_line(damage, at):
    whole = calendar(event(*MEALS, "RRULE:FREQ=WEEKLY;COUNT=2"))
    try:
        message = str(busy_in(whole[:at] + damage + whole[at:], "family.ics", WINDOW))
    except BadSetting as exc:
        message = str(exc)
    assert len(message.splitlines()) == 1


EVENTS = st.tuples(
    st.datetimes(datetime(2026, 10, 15), datetime(2026, 11, 20)),  # noqa: DTZ001 - floating times
    st.integers(1, 3000),
    st.sampled_from(["", "RRULE:FREQ=DAILY;INTERVAL=2;COUNT=9", "RRULE:FREQ=WEEKLY;BYDAY=MO,TH"]),
)


def event_of(number: int, start: datetime, minutes: int, rule: str) -> str:
    lines = [f"DTSTART:{start:%Y%m%dT%H%M%S}", f"DURATION:PT{minutes}M", *([rule] if rule else [])]
    return event(*lines, uid=str(number))


@settings(max_examples=40)
@given(st.lists(EVENTS, min_size=1, max_size=4), st.lists(st.integers(0, 60 * 24 * 60), min_size=1, max_size=30))
def test_an_instant_is_a_household_moment_just_where_it_was_one_and_no_event_holds_it(events, minutes):
    site = make_site(zone=NEW_YORK)
    parts = [event_of(number, *each) for number, each in enumerate(events)]
    spans = busy_in(calendar(*parts), "x", WINDOW)
    hours = clock_spans(site.household_hours, seconds(WINDOW.start), seconds(WINDOW.end), NEW_YORK)
    left = hours & Spans.of((seconds(a), seconds(b)) for a, b in spans).outside()
    for minute in minutes:
        at = seconds(NOW) + minute * 60 + 30
        inside = any(seconds(a) < at < seconds(b) for a, b in spans)
        assert (at in left) == (at in hours and not inside)


PACES = {"DAILY": DAILY, "WEEKLY": WEEKLY, "MONTHLY": MONTHLY, "HOURLY": HOURLY}


@settings(max_examples=60)
@given(
    st.sampled_from(sorted(PACES)),
    st.integers(1, 5),
    st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 1)),  # noqa: DTZ001
    st.none() | st.integers(1, 400),
    st.lists(st.integers(0, 6), max_size=3, unique=True),
)
def test_recurring_events_agree_with_dateutils_rrule(pace, interval, start, count, weekdays):
    start = start.replace(microsecond=0)
    days = [("MO", "TU", "WE", "TH", "FR", "SA", "SU")[day] for day in weekdays]
    rule = f"RRULE:FREQ={pace};INTERVAL={interval}"
    rule += f";COUNT={count}" * (count is not None) + f";BYDAY={','.join(days)}" * bool(days)
    data = calendar(event(f"DTSTART:{start:%Y%m%dT%H%M%S}Z", "DURATION:PT30M", rule))
    half = timedelta(minutes=30)
    theirs = rrule(PACES[pace], start.replace(tzinfo=UTC), interval, count=count, byweekday=weekdays or None)
    # RFC 5545, 3.8.5.3: the start counts, whether the rule has it or not.
    starts = {start.replace(tzinfo=UTC), *theirs.between(NOW - half, WINDOW.end, inc=True)}
    expected = {(at, at + half) for at in starts if at + half > NOW and at < WINDOW.end}
    assert set(busy_in(data, "x", WINDOW)) == expected


def days_of(spans: Sequence[tuple[datetime, datetime]]) -> set[date]:
    return {start.astimezone(NEW_YORK).date() for start, _ in spans}


def test_the_example_of_the_standard_weekly_on_two_days_in_new_york_keeps_its_clock_time():
    """RFC 5545 (2009), 3.8.5.3: "Every other week on Tuesday and Thursday, for 8 occurrences"."""
    data = calendar(
        event(
            "DTSTART;TZID=America/New_York:19970902T090000",
            "DURATION:PT1H",
            "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        )
    )
    first = datetime(1997, 9, 1, tzinfo=UTC)
    spans = busy_in(data, "x", Window(first, first + timedelta(days=60), NEW_YORK))
    september = {date(1997, 9, day) for day in (2, 4, 16, 18, 30)}
    assert days_of(spans) == september | {date(1997, 10, day) for day in (2, 14, 16)}
    assert {start.astimezone(NEW_YORK).hour for start, _ in spans} == {9}
