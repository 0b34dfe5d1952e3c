"""The very bytes of a household's feed, across clock changes, with every kind of name, by each way to get it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from feed_house import DAY, HOUR, SITE, House, air_c, weather
from served_house import NEW, Served

from scheduler.faces.calendar import write_events
from scheduler.household.site import ClockRange

# Bytes

NAMES = {
    "emoji": "Kipper \U0001f9d1\u200d\U0001f373\U0001f41f",
    "Chinese": "\u51b7\u71fb\u9bad\u9b5a\u7684\u5c0f\u68da\u5b50" * 6,
    "combining": "Cafe\u0301 n\u0303a\u0308" * 12,
    "separators": 'Lot 1, "one"; C:\\new BEGIN:VEVENT',
    "long": "a" * 200,
}


@pytest.fixture(scope="module", params=NAMES)
def feed(request) -> bytes:
    """A site and a batch of that name: adopted, moved, and with something cancelled."""
    name = NAMES[request.param]
    house = House(site=replace(SITE, name=name))
    identity = house.open(name)
    house.adopt(identity)
    house.did(identity, "thaw")
    house.keep()
    light = house.times(identity)["light"]
    house.now += 12 * HOUR
    house.forecast = weather(house.now, lambda moment: air_c(moment) + (9.0 if moment < light + DAY else 0.0))
    house.keep()
    house.now += HOUR
    house.forecast = weather(house.now, lambda moment: air_c(moment) + 25.0)
    house.keep()
    assert b"STATUS:CANCELLED" in house.bytes()
    return house.bytes()


def test_lines_end_as_the_standard_asks_and_hold_75_octets_and_whole_characters(feed):
    assert feed.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", feed)
    for line in feed.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")


def test_no_control_character_is_written(feed):
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]|\xc2[\x80-\x9f]", feed)


def test_the_calendar_says_what_it_is_and_nothing_that_readers_trip_over(feed):
    text = re.sub(rb"\r\n ", b"", feed).decode()
    head = text[: text.index("\r\nBEGIN:VEVENT\r\n") + 2]
    for line in ("VERSION:2.0", "COLOR:teal", "REFRESH-INTERVAL;VALUE=DURATION:PT4H", "X-PUBLISHED-TTL:PT4H"):
        assert head.count(f"\r\n{line}\r\n") == 1
    for name in ("NAME", "X-WR-CALNAME", "DESCRIPTION", "X-WR-CALDESC"):
        assert head.count(f"\r\n{name}:") == 1
    assert not re.search(r"^(?:UID|METHOD|SOURCE|URL)[;:]", head, re.MULTILINE)
    assert "VTIMEZONE" not in text
    assert "TZID" not in text


def test_what_is_read_is_what_was_published(feed):
    read = icalendar.Calendar.from_ical(feed)
    assert read.to_ical() == feed
    assert len(read.events) == len({str(one["uid"]) for one in read.events}) > 10
    for one in read.events:
        assert one.decoded("dtstamp") == one.decoded("last-modified") >= one.decoded("created")
        if one["status"] == "CANCELLED":
            assert str(one["summary"]).startswith("CANCELLED: ")
            assert (one["transp"], one.alarms.times) == ("TRANSPARENT", [])


# Clock changes

CHANGES = {
    "London spring": ("Europe/London", datetime(2027, 3, 28, 1, tzinfo=UTC)),
    "London autumn": ("Europe/London", datetime(2027, 10, 31, 1, tzinfo=UTC)),
    "New York spring": ("America/New_York", datetime(2027, 3, 14, 7, tzinfo=UTC)),
    "New York autumn": ("America/New_York", datetime(2027, 11, 7, 6, tzinfo=UTC)),
    "Lord Howe spring": ("Australia/Lord_Howe", datetime(2027, 10, 2, 15, 30, tzinfo=UTC)),
    "Lord Howe autumn": ("Australia/Lord_Howe", datetime(2027, 4, 3, 15, tzinfo=UTC)),
    "Santiago spring": ("America/Santiago", datetime(2027, 9, 5, 4, tzinfo=UTC)),
    "Santiago autumn": ("America/Santiago", datetime(2027, 4, 4, 3, tzinfo=UTC)),
    "Tokyo, no change": ("Asia/Tokyo", datetime(2027, 3, 27, 15, tzinfo=UTC)),
}
"""Zone, and the instant at which its clocks change (IANA time zone database, 2025b, by zoneinfo)."""


@pytest.fixture(scope="module", params=CHANGES)
def across(request) -> tuple[House, str, ZoneInfo]:
    """A plan whose only cold night is the one in which the clocks change."""
    name, change = CHANGES[request.param]
    zone = ZoneInfo(name)
    night = (change - 12 * HOUR).astimezone(zone).date()
    noon = datetime(night.year, night.month, night.day, 12, tzinfo=zone).astimezone(UTC)
    now = noon - 5 * DAY

    def air(moment: datetime) -> float:
        return 5.0 if noon <= moment <= noon + 26 * HOUR else 25.0

    evening = ClockRange(20 * 60, 22 * 60)
    house = House(site=replace(SITE, zone=zone, lighting_hours=evening), now=now, forecast=weather(now, air, days=8))
    identity = house.open()
    house.adopt(identity)
    house.keep()
    return house, identity, zone


def test_the_zone_does_change_its_clocks_there():
    for name, change in CHANGES.values():
        before, after = ((change + shift).astimezone(ZoneInfo(name)).utcoffset() for shift in (-HOUR, HOUR))
        assert (before != after) is (name != "Asia/Tokyo"), name


def by_icalendar(text: bytes) -> dict[str, tuple[datetime, datetime]]:
    return {str(one["uid"]): (one.start, one.end) for one in icalendar.Calendar.from_ical(text).events}


def by_recurring_ical_events(text: bytes) -> dict[str, tuple[datetime, datetime]]:
    found = recurring_ical_events.of(icalendar.Calendar.from_ical(text)).between((2027, 1, 1), (2028, 1, 1))
    return {str(one["uid"]): (one["dtstart"].dt, one["dtend"].dt) for one in found}


def by_vobject(text: bytes) -> dict[str, tuple[datetime, datetime]]:
    vobject = pytest.importorskip("vobject")
    found = vobject.readOne(text.decode()).vevent_list
    return {one.uid.value: (one.dtstart.value, one.dtend.value) for one in found}


@pytest.mark.parametrize("read", [by_icalendar, by_recurring_ical_events, by_vobject])
def test_readers_find_every_step_at_the_plans_own_instant(across, read):
    house, identity, _ = across
    times, found = house.times(identity), read(house.bytes())
    for step, event in house.steps().items():
        start, end = (moment.astimezone(UTC) for moment in found[event.uid])
        if step == "smoke":
            assert (start, end) == (times["light"], times["lift"])
        else:
            assert start == times[step]


def test_the_smoke_is_as_long_as_hours_are_and_its_clock_shows_the_change(across):
    house, _, zone = across
    smoke = house.event("smoke")
    assert smoke.end - smoke.start == timedelta(hours=12)
    first, last = smoke.start.astimezone(zone), smoke.end.astimezone(zone)
    shown = last.replace(tzinfo=None) - first.replace(tzinfo=None)
    assert shown - timedelta(hours=12) == last.utcoffset() - first.utcoffset()
    if "Tokyo" not in str(zone):
        assert last.utcoffset() != first.utcoffset(), "the smoke misses the change"


def test_what_needs_hands_stays_in_the_hours_of_the_clock_at_home(across):
    house, _, zone = across
    for step, event in house.steps().items():
        if step not in ("smoke", "burn_out", "eat_by"):
            at = event.start.astimezone(zone)
            assert 6.5 <= at.hour + at.minute / 60 <= 22.5, step


def test_reminders_of_the_evening_before_are_at_seven_on_the_clock(across):
    house, _, zone = across
    found = [
        (event.start - alarm.before).astimezone(zone)
        for event in house.steps().values()
        for alarm in event.alarms
        if alarm.text.startswith("Tomorrow")
    ]
    assert found
    assert {(at.hour, at.minute) for at in found} == {(19, 0)}


# One state, one feed


def both(house: Served, first: str) -> bytes:
    ways = [house.by_command, house.by_server]
    one, other = ways if first == "command" else reversed(ways)
    text = one()
    assert other() == text
    house.now += timedelta(minutes=7)
    assert one() == text
    return text


@pytest.mark.parametrize("first", ["command", "server"])
def test_the_file_and_the_served_feed_are_the_same_bytes_whoever_looks_first(tmp_path, first):
    house, seen = Served(tmp_path), []
    seen.append(both(house, first))
    house.run(*NEW)
    seen.append(both(house, first))
    assert house.run("plan").code == 0
    seen.append(both(house, first))
    (thaw,), (light,) = _starts(seen[-1], "Start thawing"), _starts(seen[-1], "Light the tray")
    house.now = thaw - HOUR
    assert house.run("did", "thaw").code == 0
    seen.append(both(house, first))
    assert house.run("undo").code == 0
    seen.append(both(house, first))
    assert house.run("did", "thaw").code == 0
    seen.append(both(house, first))
    house.now += 2 * HOUR
    house.put(house.now, light - 2 * HOUR, light + 18 * HOUR)
    assert house.run("replan").code == 10
    seen.append(both(house, first))
    assert _starts(seen[-1], "Light the tray") != [light]
    assert b"Moved from" in seen[-1]
    assert house.run("batch", "end", "--how", "given up").code == 0
    seen.append(both(house, first))
    assert b"The batch has ended" in re.sub(rb"\r\n ", b"", seen[-1])
    assert len(set(seen)) == len(seen)


def _starts(text: bytes, title: str) -> list[datetime]:
    events = icalendar.Calendar.from_ical(text).events
    return [one.start.astimezone(UTC) for one in events if title in str(one["summary"])]


def test_a_calendar_of_one_batch_is_its_part_of_the_households(tmp_path):
    house = Served(tmp_path)
    for name in ("one", "two"):
        house.run(*NEW, "--name", name)
    assert house.run("plan", "--batch", "one").code == 0
    whole = {str(one["uid"]): one.to_ical() for one in icalendar.Calendar.from_ical(house.by_command()).events}
    assert house.calendar("--batch", "ONE").code == 0
    part = {str(one["uid"]): one.to_ical() for one in icalendar.Calendar.from_ical(house.out.read_bytes()).events}
    assert 10 < len(part) < len(whole)
    assert part.items() <= whole.items()
    assert all(b"(one)" in text for text in part.values())


def test_nothing_is_written_for_no_entries():
    with pytest.raises(ValueError, match="at least one entry"):
        write_events([], name="Invented shed")
