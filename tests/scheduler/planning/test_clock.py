"""Clock time against elapsed time: nights, household hours and waits where clocks are changed.

The dates are those of the zone database: New York 10 March and 3 November 2013, London 31 March and 27 October 2024,
Lord Howe Island (half an hour) 7 April and 6 October 2024, Sydney on the same two days, Santiago (at midnight)
7 April and 8 September 2024.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import (
    ALL_DAY,
    ALWAYS_HOME,
    DAY_S,
    HOUR_S,
    MINUTE_S,
    NEW_YORK,
    at,
    examples,
    hours_between,
    moment,
    nights_of,
    planning_site,
    weather_of,
)

from scheduler.household.site import ClockRange
from scheduler.planning.clock import (
    clock_spans,
    instant,
    night_bounds,
    night_of,
    on_clock,
    seconds,
)

LONDON = ZoneInfo("Europe/London")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
SYDNEY = ZoneInfo("Australia/Sydney")
SANTIAGO = ZoneInfo("America/Santiago")

SHORT_AND_LONG_NIGHTS = [
    (NEW_YORK, "2013-03-09", 23.0),
    (NEW_YORK, "2013-03-10", 24.0),
    (NEW_YORK, "2013-11-02", 25.0),
    (NEW_YORK, "2013-11-03", 24.0),
    (LONDON, "2024-03-30", 23.0),
    (LONDON, "2024-10-26", 25.0),
    (LORD_HOWE, "2024-04-06", 24.5),
    (LORD_HOWE, "2024-10-05", 23.5),
    (SYDNEY, "2024-04-06", 25.0),
    (SYDNEY, "2024-10-05", 23.0),
    (SANTIAGO, "2024-04-06", 25.0),
    (SANTIAGO, "2024-09-07", 23.0),
]
CHANGES = [
    (NEW_YORK, "2013-03-10"),
    (NEW_YORK, "2013-11-03"),
    (LONDON, "2024-03-31"),
    (LONDON, "2024-10-27"),
    (LORD_HOWE, "2024-04-07"),
    (LORD_HOWE, "2024-10-06"),
    (SYDNEY, "2024-04-07"),
    (SANTIAGO, "2024-04-07"),
    (SANTIAGO, "2024-09-08"),
]
changes = st.sampled_from(CHANGES)


@pytest.mark.parametrize(("zone", "begins", "hours"), SHORT_AND_LONG_NIGHTS)
def test_a_night_runs_from_clock_noon_to_clock_noon(zone: ZoneInfo, begins: str, hours: float) -> None:
    start, end = night_bounds(date.fromisoformat(begins), zone)
    assert (end - start) / HOUR_S == hours
    for edge in (start, end):
        assert datetime.fromtimestamp(edge, zone).strftime("%H:%M:%S") == "12:00:00"


@pytest.mark.parametrize(("zone", "begins", "hours"), SHORT_AND_LONG_NIGHTS)
def test_every_instant_belongs_to_the_night_whose_bounds_hold_it(zone: ZoneInfo, begins: str, hours: float) -> None:
    night = date.fromisoformat(begins)
    start, end = night_bounds(night, zone)
    assert {night_of(t, zone) for t in np.arange(start, end, 10 * MINUTE_S)} == {night}
    assert night_of(end - 1, zone) == night
    assert night_of(end, zone) == night + timedelta(days=1)
    assert night_of(start - 1, zone) == night - timedelta(days=1)


def test_nights_follow_each_other_without_a_gap_for_a_year() -> None:
    for zone in (NEW_YORK, LORD_HOWE, SANTIAGO):
        bounds = [night_bounds(date(2024, 1, 1) + timedelta(days=n), zone) for n in range(366)]
        assert all(one[1] == other[0] for one, other in pairwise(bounds))


@pytest.mark.parametrize(
    ("zone", "day", "skipped", "moment_utc"),
    [
        (NEW_YORK, "2013-03-10", "02:30", "2013-03-10T07:00"),
        (NEW_YORK, "2013-03-10", "02:00", "2013-03-10T07:00"),
        (NEW_YORK, "2013-03-10", "02:59", "2013-03-10T07:00"),
        (LONDON, "2024-03-31", "01:30", "2024-03-31T01:00"),
        (LORD_HOWE, "2024-10-06", "02:15", "2024-10-05T15:30"),
        (SYDNEY, "2024-10-06", "02:30", "2024-10-05T16:00"),
        (SANTIAGO, "2024-09-08", "00:30", "2024-09-08T04:00"),
    ],
)
def test_a_time_that_the_clock_skips_is_the_moment_of_the_skip(
    zone: ZoneInfo, day: str, skipped: str, moment_utc: str
) -> None:
    minutes = hours_between(skipped, "23:00").start_min
    assert on_clock(date.fromisoformat(day), minutes, zone) == at(moment_utc)


@pytest.mark.parametrize(
    ("zone", "day", "repeated", "first_utc"),
    [
        (NEW_YORK, "2013-11-03", "01:30", "2013-11-03T05:30"),
        (NEW_YORK, "2013-11-03", "01:00", "2013-11-03T05:00"),
        (NEW_YORK, "2013-11-03", "02:00", "2013-11-03T07:00"),
        (LONDON, "2024-10-27", "01:30", "2024-10-27T00:30"),
        (LORD_HOWE, "2024-04-07", "01:45", "2024-04-06T14:45"),
        (SANTIAGO, "2024-04-06", "23:30", "2024-04-07T02:30"),
    ],
)
def test_a_time_that_the_clock_shows_twice_is_the_first(
    zone: ZoneInfo, day: str, repeated: str, first_utc: str
) -> None:
    minutes = hours_between(repeated, "23:00").start_min
    assert on_clock(date.fromisoformat(day), minutes, zone) == at(first_utc)


def test_minutes_past_midnight_fall_on_the_next_day() -> None:
    assert on_clock(date(2013, 11, 2), 26 * 60, NEW_YORK) == at("2013-11-03T02:00", NEW_YORK)


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        seconds(datetime(2024, 1, 1, 12))  # noqa: DTZ001 - that is the point


def test_an_instant_comes_back_from_its_seconds() -> None:
    assert instant(seconds(datetime(2024, 1, 1, 12, 30, tzinfo=LONDON))) == datetime(2024, 1, 1, 12, 30, tzinfo=UTC)


# Household hours.

MONDAY = date(2013, 10, 28)


def at_home(week: tuple[tuple[ClockRange, ...], ...], t: float, zone: ZoneInfo) -> bool:
    """Read the wall clock and look it up: today's stretches, and yesterday's that run past midnight."""
    local = datetime.fromtimestamp(t, zone)
    minute = local.hour * 60 + local.minute + local.second / 60
    today, yesterday = week[local.weekday()], week[(local.weekday() - 1) % 7]
    over = [r for r in yesterday if r.end_min <= r.start_min]
    return any(r.start_min <= minute < (r.end_min if r.end_min > r.start_min else 1440) for r in today) or any(
        minute < r.end_min for r in over
    )


# Edges stay clear of the hours that a change skips or repeats (23:00 to 04:00); those have facts of their own below.
clear_minutes = st.sampled_from([4 * 60, 5 * 60 + 10, 6 * 60 + 30, 12 * 60, 15 * 60, 18 * 60 + 20, 22 * 60 + 30])
stretches = st.builds(ClockRange, clear_minutes, clear_minutes).filter(lambda r: r.start_min != r.end_min)
weeks = st.tuples(*[st.lists(st.one_of(stretches, st.just(ALL_DAY)), max_size=2).map(tuple)] * 7)


@examples(60)
@given(weeks, changes)
def test_household_hours_are_what_the_wall_clock_says(
    week: tuple[tuple[ClockRange, ...], ...], change: tuple[ZoneInfo, str]
) -> None:
    zone, day = change
    start = at(f"{day}T12:00", zone) - 3 * DAY_S
    found = clock_spans(week, start, start + 5 * DAY_S, zone)
    for t in np.arange(start + 5 * MINUTE_S, start + 5 * DAY_S, 10 * MINUTE_S):
        assert (t in found) == at_home(week, t, zone), moment(t)


def test_hours_of_each_weekday_are_its_own() -> None:
    week = tuple((hours_between("10:00", "11:00"),) if day == 2 else () for day in range(7))
    start = at(f"{MONDAY}T00:00", NEW_YORK)
    wednesday = at("2013-10-30T10:00", NEW_YORK)
    assert clock_spans(week, start, start + 6 * DAY_S, NEW_YORK).pieces == ((wednesday, wednesday + HOUR_S),)


def test_sunday_hours_past_midnight_reach_into_monday() -> None:
    week = (*((),) * 6, (hours_between("22:00", "01:30"),))
    sunday = at("2013-11-10T22:00", NEW_YORK)
    found = clock_spans(week, sunday + 3 * HOUR_S, sunday + 9 * HOUR_S, NEW_YORK)
    assert found.pieces == ((sunday + 3 * HOUR_S, sunday + 3.5 * HOUR_S),)


def test_whole_days_join_into_one_stretch_across_every_change() -> None:
    for zone, day in CHANGES:
        start = at(f"{day}T12:00", zone) - 2 * DAY_S
        assert clock_spans(ALWAYS_HOME, start, start + 4 * DAY_S, zone).pieces == ((start, start + 4 * DAY_S),)


def test_hours_that_end_when_they_start_last_a_day() -> None:
    week = (*((),) * 6, (hours_between("10:00", "10:00"),))
    sunday = at("2013-11-10T10:00", NEW_YORK)
    found = clock_spans(week, sunday - DAY_S, sunday + 2 * DAY_S, NEW_YORK)
    assert found.pieces == ((sunday, sunday + DAY_S),)


def test_hours_that_the_clock_skips_are_only_a_moment() -> None:
    week = ((hours_between("02:10", "02:50"),),) * 7
    start = at("2013-03-10T00:00", NEW_YORK)
    assert clock_spans(week, start, start + 12 * HOUR_S, NEW_YORK).pieces == ((start + 2 * HOUR_S,) * 2,)


def test_hours_across_the_repeated_one_are_an_hour_longer() -> None:
    week = ((hours_between("00:30", "03:00"),),) * 7
    start = at("2013-11-03T00:00", NEW_YORK)
    found = clock_spans(week, start, start + 12 * HOUR_S, NEW_YORK)
    assert found.pieces == ((start + 0.5 * HOUR_S, start + 4 * HOUR_S),)


def test_hours_that_begin_in_the_repeated_one_begin_when_it_is_first_shown() -> None:
    week = ((hours_between("01:30", "03:00"),),) * 7
    start = at("2013-11-03T00:00", NEW_YORK)
    assert clock_spans(week, start, start + 12 * HOUR_S, NEW_YORK).first == start + 1.5 * HOUR_S


# Lighting hours.


def lit_of(zone: ZoneInfo, lighting: ClockRange, start: str) -> dict[date, tuple[str, str]]:
    """Earliest and latest lighting of three nights of even, cold weather, on the local clock."""
    begin = at(start, zone)
    site = planning_site(zone, lighting_hours=lighting, duration_h=8.0, longest_h=8.0)
    weather = weather_of(begin + np.arange(0, 73) * HOUR_S, np.full(73, 5.0))
    return {
        night.date: (_local(night.light_earliest, zone), _local(night.light_latest, zone))
        for night in nights_of(site, weather, begin)
        if night.light_earliest is not None
    }


def _local(instant: datetime | None, zone: ZoneInfo) -> str:
    assert instant is not None
    return instant.astimezone(zone).strftime("%d %H:%M")


def test_a_lighting_after_midnight_belongs_to_the_night_that_began_the_day_before() -> None:
    lit = lit_of(LONDON, hours_between("00:30", "02:00"), "2024-12-02T12:00")
    assert lit[date(2024, 12, 2)] == ("03 00:30", "03 02:00")
    assert lit[date(2024, 12, 3)] == ("04 00:30", "04 02:00")


def test_lighting_hours_past_midnight_stay_in_one_night() -> None:
    lit = lit_of(LONDON, hours_between("22:00", "01:00"), "2024-12-02T12:00")
    assert lit[date(2024, 12, 2)] == ("02 22:00", "03 01:00")


def test_a_lighting_before_noon_belongs_to_the_night_that_ends_that_noon() -> None:
    lit = lit_of(LONDON, hours_between("09:00", "11:30"), "2024-12-02T08:00")
    assert lit[date(2024, 12, 1)] == ("02 09:00", "02 11:30")
    assert lit[date(2024, 12, 2)] == ("03 09:00", "03 11:30")


def test_lighting_hours_across_noon_are_shared_by_two_nights() -> None:
    lit = lit_of(LONDON, hours_between("11:00", "13:00"), "2024-12-02T10:00")
    assert lit[date(2024, 12, 1)] == ("02 11:00", "02 11:59")
    # The greatest margin of even air is the earliest lighting, so its stretch is the one that begins at noon.
    assert lit[date(2024, 12, 2)] == ("02 12:00", "02 13:00")


def test_a_smoke_over_the_change_lasts_elapsed_hours() -> None:
    for day, lift in (("2013-11-02", "03 05:00"), ("2013-03-09", "10 07:00")):
        begin = at(f"{day}T12:00", NEW_YORK)
        site = planning_site(NEW_YORK, lighting_hours=hours_between("18:00", "19:00"), longest_h=12.0)
        weather = weather_of(begin + np.arange(0, 37) * HOUR_S, np.full(37, 5.0))
        night = nights_of(site, weather, begin)[0]
        assert _local(night.lift, NEW_YORK) == lift
        assert night.lift is not None
        assert night.light_best is not None
        assert night.lift - night.light_best == timedelta(hours=12)
