"""The calendar against RFC 5545 and RFC 7986, byte by byte, and against readers that others wrote.

The byte-level checks come first: none of the readers notices what they look for.
"""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import icalendar
import pytest
import recurring_ical_events
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces.calendar import calendar_bytes, write_events
from scheduler.faces.calendar_events import events_of
from scheduler.faces.calendar_words import clean_line, clean_text
from tests.builders import CREDIT, LONDON, STAMP, caution_text, make_plan, make_site, with_step

AWKWARD = 'Lot 1, "süß"; C:\\new\r\nBEGIN:VEVENT\x00\x07\x1b\x7f\x85 – ≤ 60 °F 🐟'
"""Everything that a name can do to a line: separators, escapes, line ends, controls, characters of 2 to 4 octets."""

SPRING = datetime(2027, 3, 27, 19, 0, tzinfo=LONDON)  # clocks go forward on the 28th at 01:00 UTC
AUTUMN = datetime(2027, 10, 30, 19, 0, tzinfo=LONDON)  # and back on the 31st at 01:00 UTC
WINTER = datetime(2026, 11, 20, 18, 40, tzinfo=LONDON)


def written(plan=None, *, site="Invented shed", credit=CREDIT) -> bytes:
    return calendar_bytes(
        plan or make_plan(), site=make_site(site), stamp=STAMP, credit=credit, caution_text=caution_text
    )


def awkward() -> bytes:
    """A plan in which every free text is awkward, and long enough to be folded."""
    plan = make_plan(batch=AWKWARD, tentative=True)
    plan = with_step(plan, "salt", title=AWKWARD * 3, note="\n".join([AWKWARD, "🐟" * 200, "°" * 200]))
    plan = with_step(plan, "rinse", done=True, spans=())
    plan = replace(plan, cautions=(AWKWARD,), night=replace(plan.night, reasons=(AWKWARD,)))
    return written(plan, site=AWKWARD, credit=replace(CREDIT, text=AWKWARD))


def lines(text: bytes) -> list[str]:
    """Content lines, unfolded (RFC 5545, 3.1)."""
    return re.sub(rb"\r\n[ \t]", b"", text).decode().removesuffix("\r\n").split("\r\n")


def components(text: bytes, name: str) -> list[list[str]]:
    """Content lines of each component of that name, without those of components inside it."""
    found, inside = [], []
    for line in lines(text):
        if line.startswith("BEGIN:"):
            inside.append((line.removeprefix("BEGIN:"), []))
        elif line.startswith("END:"):
            kind, content = inside.pop()
            assert kind == line.removeprefix("END:")
            if kind == name:
                found.append(content)
        else:
            inside[-1][1].append(line)
    assert not inside
    return found


def names(content: list[str]) -> list[str]:
    """Property names, without parameters."""
    return [re.split("[;:]", line, maxsplit=1)[0] for line in content]


def value(content: list[str], name: str) -> str:
    """The one value of a property, with the parameters before it."""
    (found,) = (line[len(name) :] for line in content if re.match(rf"{name}[;:]", line))
    return found


@pytest.fixture(params=["plain", "awkward"], scope="module")
def text(request) -> bytes:
    """Calendars that every check must hold for."""
    return written() if request.param == "plain" else awkward()


# Bytes


def test_every_line_ends_with_carriage_return_and_line_feed(text):
    # RFC 5545, 3.1: content lines are delimited by CRLF
    assert text.endswith(b"\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", text)


def test_no_line_is_longer_than_75_octets(text):
    # RFC 5545, 3.1: lines SHOULD NOT be longer than 75 octets, excluding the line break
    assert max(map(len, text.split(b"\r\n"))) <= 75


def test_no_fold_splits_a_character(text):
    # RFC 5545, 3.1 warns of folds inside a multi-octet sequence; 3.1.4: UTF-8
    for line in text.split(b"\r\n"):
        line.decode("utf-8")


def test_lines_are_folded_where_the_text_is_long():
    # RFC 5545, 3.1: so that the two checks above have something to look at
    assert re.search(rb"\r\n \xf0\x9f\x90\x9f", awkward())


def test_no_control_character_is_written(text):
    # RFC 5545, 3.1: CONTROL is everything below the space but the tab, and DEL
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)


TEXT_VALUE = re.compile(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,nN])*")


def test_commas_semicolons_backslashes_and_newlines_are_escaped(text):
    # RFC 5545, 3.3.11: TEXT; 7986, 5.1: NAME is TEXT; 5545, 3.8.8.2: so is an X- property without VALUE
    texts = [value(calendar, name) for calendar in components(text, "VCALENDAR") for name in ("NAME", "X-WR-CALNAME")]
    for event in components(text, "VEVENT"):
        texts += [value(event, name) for name in ("SUMMARY", "DESCRIPTION")]
    texts += [value(alarm, "DESCRIPTION") for alarm in components(text, "VALARM")]
    assert all(TEXT_VALUE.fullmatch(each) for each in texts)


def test_an_awkward_name_is_escaped_as_the_standard_says():
    # RFC 5545, 3.3.11: the colon and the quotation mark are not escaped; here in a title, in one line
    want = 'Lot 1\\, "süß"\\; C:\\\\new BEGIN:VEVENT – ≤ 60 °F 🐟'
    summaries = [value(event, "SUMMARY") for event in components(awkward(), "VEVENT")]
    assert f":Cold smoke ({want})" in summaries
    (calendar,) = components(awkward(), "VCALENDAR")
    assert value(calendar, "X-WR-CALNAME") == f":Cold smoking: {want}"


def test_no_text_can_open_or_close_a_component():
    # RFC 5545, 3.1: a newline that got through would
    assert len(components(awkward(), "VEVENT")) == 15


# Properties


def test_the_calendar_has_a_version_and_a_product_once_each(text):
    # RFC 5545, 3.6: both are REQUIRED and MUST NOT occur more than once
    (calendar,) = components(text, "VCALENDAR")
    assert value(calendar, "VERSION") == ":2.0"
    assert value(calendar, "PRODID") == ":-//smokenight//smokenight calendar//EN"


def test_the_calendar_has_no_uid_of_its_own(text):
    # RFC 7986, 5.3 allows one, but readers that file entries by UID then keep a single entry of all
    (calendar,) = components(text, "VCALENDAR")
    assert "UID" not in names(calendar)


def test_the_calendar_has_no_method(text):
    # RFC 5546, 3.2.1: PUBLISH would need an ORGANIZER; RFC 5545, 3.8.7.2: DTSTAMP would mean something else
    (calendar,) = components(text, "VCALENDAR")
    assert "METHOD" not in names(calendar)


def test_the_refresh_interval_says_that_it_is_a_duration(text):
    # RFC 7986, 5.7: VALUE=DURATION is required
    (calendar,) = components(text, "VCALENDAR")
    assert value(calendar, "REFRESH-INTERVAL") == ";VALUE=DURATION:PT4H"
    assert value(calendar, "X-PUBLISHED-TTL") == ":PT4H"


def test_the_calendar_is_named_in_both_ways(text):
    # RFC 7986, 5.1, and the property that came before it
    (calendar,) = components(text, "VCALENDAR")
    assert value(calendar, "NAME") == value(calendar, "X-WR-CALNAME")


def test_every_entry_has_what_is_required_once(text):
    # RFC 5545, 3.6.1: UID and DTSTAMP, DTSTART as there is no METHOD; and nothing occurs twice
    for event in components(text, "VEVENT"):
        found = names(event)
        assert {"UID", "DTSTAMP", "DTSTART", "DTEND"} <= set(found)
        assert len(set(found)) == len(found)


def test_every_entry_ends_after_it_starts(text):
    # RFC 5545, 3.8.2.2: DTEND MUST be later than DTSTART
    for event in components(text, "VEVENT"):
        assert value(event, "DTSTART") < value(event, "DTEND")  # both :YYYYMMDDTHHMMSSZ


def test_every_time_is_in_utc(text):
    # RFC 5545, 3.3.5, form 2; so no VTIMEZONE is needed (3.6.5)
    assert b"TZID" not in text
    for event in components(text, "VEVENT"):
        for name in ("DTSTAMP", "DTSTART", "DTEND", "LAST-MODIFIED"):
            assert re.fullmatch(r":\d{8}T\d{6}Z", value(event, name))


def test_the_stamp_is_the_last_revision(text):
    # RFC 5545, 3.8.7.2: without METHOD, equivalent to LAST-MODIFIED
    for event in components(text, "VEVENT"):
        assert value(event, "DTSTAMP") == value(event, "LAST-MODIFIED") == f":{STAMP:%Y%m%dT%H%M%SZ}"


def test_a_first_revision_has_number_0(text):
    # RFC 5545, 3.8.7.4
    assert {value(event, "SEQUENCE") for event in components(text, "VEVENT")} == {":0"}


def test_a_later_revision_keeps_its_uid_and_when_it_was_created():
    # RFC 5545, 3.8.7.1, 3.8.7.4 and 3.8.1.11: what a feed that keeps a record of its revisions writes
    events = events_of(make_plan(), site=make_site(), stamp=STAMP, credit=CREDIT, caution_text=caution_text)
    revised = replace(events[0], sequence=3, status="CANCELLED", created=STAMP - timedelta(days=1), alarms=())
    (event,) = components(write_events([revised], name="feed"), "VEVENT")
    assert value(event, "UID") == f":{events[0].uid}"
    assert value(event, "SEQUENCE") == ":3"
    assert value(event, "STATUS") == ":CANCELLED"
    assert value(event, "CREATED") == ":20261021T060000Z"


def test_nothing_is_said_of_the_creation_where_nobody_recorded_it(text):
    # RFC 5545, 3.8.7.1: CREATED is optional; the forecast's stamp would be untrue
    assert not any("CREATED" in names(event) for event in components(text, "VEVENT"))


def test_status_and_transparency_are_words_that_an_entry_may_have(text):
    # RFC 5545, 3.8.1.11 and 3.8.2.7
    for event in components(text, "VEVENT"):
        assert value(event, "STATUS") in {":TENTATIVE", ":CONFIRMED"}
        assert value(event, "TRANSP") in {":TRANSPARENT", ":OPAQUE"}


def test_uids_are_unique_and_say_nothing_of_the_host(text):
    # RFC 5545, 3.8.4.7: globally unique; RFC 7986, 5.3: a UUID and no host name
    uids = [value(each, "UID") for kind in ("VEVENT", "VALARM") for each in components(text, kind)]
    assert len(set(uids)) == len(uids)
    assert all(re.fullmatch(r":[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}", uid) for uid in uids)


def test_every_reminder_is_shown_and_tied_to_the_start():
    # RFC 5545, 3.6.6: a DISPLAY alarm has ACTION, DESCRIPTION and TRIGGER; 3.8.6.3: relative; 9074: a UID
    alarms = components(written(), "VALARM")
    assert len(alarms) == 16
    for alarm in alarms:
        assert sorted(names(alarm)) == ["ACTION", "DESCRIPTION", "TRIGGER", "UID"]
        assert value(alarm, "ACTION") == ":DISPLAY"
        assert re.fullmatch(r":P0D|:-P(?:\d+D)?(?:T(?:\d+H)?(?:\d+M)?(?:\d+S)?)?", value(alarm, "TRIGGER"))


def test_entries_point_to_the_smoke_as_their_parent():
    # RFC 5545, 3.8.4.5
    events = components(written(), "VEVENT")
    (smoke,) = (event for event in events if value(event, "SUMMARY").startswith(":Cold smoke"))
    parents = {value(event, "RELATED-TO") for event in events if event is not smoke}
    assert parents == {f";RELTYPE=PARENT{value(smoke, 'UID')}"}


# Other readers

# ics 0.7 calls re.split in a way that Python 3.13 and later warn of
ics_is_old = pytest.mark.filterwarnings("ignore:'maxsplit' is passed as positional:DeprecationWarning:ics")

Times = set[tuple[str, datetime, datetime]]


def meant(plan) -> Times:
    """Title, start and end of every entry, from the plan alone."""
    at = {each.step.name: each.at for each in plan.steps}
    steps = {
        (f"{each.step.title} (autumn lot)", each.at, each.at + timedelta(minutes=max(each.step.hands_on_min, 5)))
        for each in plan.steps
    }
    return {*steps, ("Cold smoke (autumn lot)", at["light"], at["lift"])}


def read_by_icalendar(text: bytes) -> Times:
    events = icalendar.Calendar.from_ical(text).events
    return {(str(each["summary"]), each.start.astimezone(UTC), each.end.astimezone(UTC)) for each in events}


def read_by_recurring_ical_events(text: bytes) -> Times:
    calendar = icalendar.Calendar.from_ical(text)
    events = recurring_ical_events.of(calendar).between("20260101T000000Z", "20280101T000000Z")
    return {(str(each["summary"]), each.start.astimezone(UTC), each.end.astimezone(UTC)) for each in events}


def events_by_ics(text: bytes) -> set:
    """Events as the library gives them.

    Its grammar recurses for every content line, so that any calendar of a few hundred lines, whoever wrote it, needs
    more than Python's usual depth.
    """
    import ics

    usual = sys.getrecursionlimit()
    sys.setrecursionlimit(max(usual, 20_000))
    try:
        return ics.Calendar(text.decode()).events
    finally:
        sys.setrecursionlimit(usual)


def read_by_ics(text: bytes) -> Times:
    events = events_by_ics(text)
    return {(each.name, each.begin.datetime.astimezone(UTC), each.end.datetime.astimezone(UTC)) for each in events}


def read_by_vobject(text: bytes) -> Times:
    import vobject

    (calendar,) = vobject.readComponents(text.decode())
    assert calendar.validate(raiseException=True)
    return {
        (each.summary.value, each.dtstart.value.astimezone(UTC), each.dtend.value.astimezone(UTC))
        for each in calendar.vevent_list
    }


READERS = [read_by_icalendar, read_by_recurring_ical_events, read_by_ics, read_by_vobject]


@pytest.mark.parametrize("light", [WINTER, SPRING, AUTUMN], ids=["winter", "spring", "autumn"])
@pytest.mark.parametrize("read", READERS)
class TestReaders:
    pytestmark = ics_is_old

    def test_read_every_time_as_the_plan_means_it(self, read, light):
        plan = make_plan(light)
        assert read(written(plan)) == meant(plan)

    def test_read_a_smoke_of_twelve_hours_across_any_clock_change(self, read, light):
        ((start, end),) = [each[1:] for each in read(written(make_plan(light))) if each[0].startswith("Cold smoke")]
        assert start == light.astimezone(UTC)
        assert end - start == timedelta(hours=12)


@pytest.mark.parametrize("read", READERS)
class TestClockChange:
    pytestmark = ics_is_old

    def test_readers_tell_the_two_half_past_ones_of_an_autumn_night_apart(self, read):
        first = datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
        plan = with_step(make_plan(AUTUMN), "check", at=first, spans=())
        plan = with_step(plan, "late_check", at=first + timedelta(hours=1), spans=())
        starts = {title: start for title, start, _ in read(written(plan))}
        assert starts["First look (autumn lot)"] == first
        assert starts["Look before bed (autumn lot)"] == first + timedelta(hours=1)


def test_the_spring_smoke_ends_at_eight_on_the_clock():
    # 19:00 GMT and 12 h are 08:00 BST, 07:00 UTC
    read = read_by_icalendar(written(make_plan(SPRING)))
    assert ("Cold smoke (autumn lot)", SPRING.astimezone(UTC), datetime(2027, 3, 28, 7, 0, tzinfo=UTC)) in read


@ics_is_old
def test_another_reader_finds_the_reminders_when_they_are_due():
    events = events_by_ics(written())
    (light,) = (event for event in events if event.name.startswith("Light"))
    assert {alarm.trigger for alarm in light.alarms} == {timedelta(0), -timedelta(hours=1)}


# Any text

any_text = st.text(st.characters(exclude_categories=()))
"""Every code point, lone halves of characters among them."""


def unescaped(text: str) -> str:
    """RFC 5545, 3.3.11; icalendar 7.3 leaves it to us for a property that it does not know."""
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], text)


@given(title=any_text, note=any_text, batch=any_text, site=any_text)
def test_any_text_comes_back(title, note, batch, site):
    plan = with_step(make_plan(batch=batch), "salt", title=title, note=note)
    calendar = icalendar.Calendar.from_ical(written(plan, site=site))
    (event,) = (each for each in calendar.events if "salt" in each.categories)
    assert str(event["summary"]) == clean_line(f"{title} ({batch})")
    assert str(event["description"]).startswith(clean_text(note))
    assert unescaped(str(calendar["X-WR-CALNAME"])) == clean_line(f"Cold smoking: {site}")
    assert len(calendar.events) == 15


@given(any_text)
def test_cleaning_takes_away_nothing_but_controls_halves_and_space_at_the_ends(text):
    def visible(text: str) -> list[str]:
        return [each for each in text if each.isprintable() and not each.isspace() and each != "\ufeff"]

    assert visible(clean_text(text)) == visible(text)
    assert visible(clean_line(text)) == visible(text)


@given(any_text)
def test_cleaned_text_is_clean_and_cleaning_it_again_changes_nothing(text):
    for clean in (clean_text, clean_line):
        once = clean(text)
        assert clean(once) == once
        once.encode("utf-8")
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029]", once)
    assert "\n" not in clean_line(text)
