"""Waits on the clock, a person's days, where clocks are changed; the dates are those of `test_clock`."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import UTC, datetime
from functools import cache
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import (
    HOUR_S,
    MINUTE_S,
    NEW_YORK,
    at,
    examples,
    hour_link,
)

from scheduler.planning.clock import (
    clock_later,
)
from scheduler.planning.spans import Spans

LONDON = ZoneInfo("Europe/London")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
SYDNEY = ZoneInfo("Australia/Sydney")
SANTIAGO = ZoneInfo("America/Santiago")

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


@pytest.mark.parametrize(
    ("zone", "start", "hours", "end", "elapsed_h"),
    [
        (NEW_YORK, "2013-11-01T20:00", 96, "2013-11-05T20:00", 97.0),
        (NEW_YORK, "2013-03-08T20:00", 96, "2013-03-12T20:00", 95.0),
        (NEW_YORK, "2013-11-05T20:00", -96, "2013-11-01T20:00", -97.0),
        (LONDON, "2024-03-30T07:15", 24, "2024-03-31T07:15", 23.0),
        (LORD_HOWE, "2024-04-06T19:00", 24, "2024-04-07T19:00", 24.5),
        (LORD_HOWE, "2024-10-05T19:00", 240, "2024-10-15T19:00", 239.5),
        (SANTIAGO, "2024-09-07T21:00", 4, "2024-09-08T01:00", 3.0),
        (SYDNEY, "2024-07-01T19:00", 24, "2024-07-02T19:00", 24.0),
    ],
)
def test_a_clock_wait_ends_at_the_same_time_of_day(
    zone: ZoneInfo, start: str, hours: float, end: str, elapsed_h: float
) -> None:
    for latest in (False, True):
        found = clock_later(at(start, zone), hours, zone, latest=latest)
        assert found == at(end, zone)
        assert (found - at(start, zone)) / HOUR_S == elapsed_h


def test_a_clock_wait_into_a_skipped_time_ends_as_the_clock_skips() -> None:
    for latest in (False, True):
        assert clock_later(at("2013-03-09T02:30", NEW_YORK), 24, NEW_YORK, latest=latest) == at("2013-03-10T07:00")


def test_a_clock_wait_into_a_repeated_time_ends_when_it_is_first_shown() -> None:
    for latest in (False, True):
        assert clock_later(at("2013-11-02T01:30", NEW_YORK), 24, NEW_YORK, latest=latest) == at("2013-11-03T05:30")


def test_at_the_moment_of_a_skip_the_clock_shows_all_that_it_skips() -> None:
    skip = at("2013-03-10T07:00")
    assert clock_later(skip, 24, NEW_YORK, latest=False) == at("2013-03-11T02:00", NEW_YORK)
    assert clock_later(skip, 24, NEW_YORK, latest=True) == at("2013-03-11T03:00", NEW_YORK)


def test_while_the_clock_repeats_itself_it_counts_as_standing_still() -> None:
    # The first 2:00 that day is the moment of the change, at 1:00 winter time; the last is an hour later.
    for hours, start in ((24, "2013-11-02T02:00"), (-24, "2013-11-04T02:00")):
        assert clock_later(at(start, NEW_YORK), hours, NEW_YORK, latest=False) == at("2013-11-03T06:00")
        assert clock_later(at(start, NEW_YORK), hours, NEW_YORK, latest=True) == at("2013-11-03T07:00")
    for minute in (0, 30, 59):
        second = at(f"2013-11-03T01:{minute:02d}", NEW_YORK, fold=1)
        assert clock_later(second, 24, NEW_YORK, latest=False) == at("2013-11-04T02:00", NEW_YORK)


def test_a_wait_that_the_clock_cuts_short_is_not_over_before_it_began() -> None:
    second = at("2013-11-03T01:30", NEW_YORK, fold=1)
    none = hour_link("store", "light", (0, 0), before=True, clock=NEW_YORK)
    assert none.after(Spans(((second, second),))).first == second
    assert none.ahead(Spans(((second, second),))).last == second


def test_an_elapsed_wait_takes_no_notice_of_the_clock() -> None:
    salted = at("2013-11-02T18:00", NEW_YORK)
    cure = hour_link("salt", "rinse", (48, 48), before=True)
    ready = cure.after(Spans(((salted, salted),)))
    assert ready.pieces == ((salted + 48 * HOUR_S,) * 2,)
    assert datetime.fromtimestamp(ready.first, NEW_YORK).hour == 17


GRID_S = 10 * MINUTE_S
AROUND_H = 36


@cache
def standing_clock(zone: ZoneInfo, day: str) -> tuple[list[float], list[float], list[float]]:
    """Ten-minute instants around a change; lowest and highest minutes that a clock which never runs back shows.

    It stands still while the real one repeats itself, and passes all of the skipped time at the moment of the skip.
    """
    noon = at(f"{day}T12:00", zone)
    instants = [noon + n * GRID_S for n in range(-AROUND_H * 6, AROUND_H * 6 + 1)]
    walls = [datetime.fromtimestamp(t, zone).replace(tzinfo=UTC).timestamp() / MINUTE_S for t in instants]
    # The clock repeats from one step after the last reading before it is set back, which no ten-minute instant shows.
    high = [max(w, *(v + GRID_S / MINUTE_S for v in walls[:i])) if i else w for i, w in enumerate(walls)]
    low = [high[0], *(min(h, before + GRID_S / MINUTE_S) for h, before in zip(high[1:], high, strict=False))]
    return instants, low, [min(h, max(w, lo)) for h, w, lo in zip(high, walls, low, strict=True)]


def test_the_standing_clock_of_these_tests_stands_and_skips() -> None:
    for zone, day in CHANGES:
        _, low, high = standing_clock(zone, day)
        assert high == sorted(high)
        assert low == sorted(low)
        stands = sum(1 for a, b in pairwise(high) if a == b) * 10
        skips = sum(h - lo for lo, h in zip(low, high, strict=True))
        assert {stands, skips} in ({0, 30}, {0, 60})


grid_pieces = st.lists(st.tuples(st.integers(0, 140), st.integers(0, 14)), min_size=1, max_size=3)
waits = st.tuples(st.sampled_from([0, 1, 2, 24]), st.sampled_from([0, 0.5, 1, 3]), st.sampled_from([0, 0.5]))


@examples(150)
@given(changes, grid_pieces, waits)
def test_a_clock_wait_allows_what_a_clock_that_never_runs_back_allows(
    change: tuple[ZoneInfo, str], raw: list[tuple[int, int]], wait: tuple[float, float, float]
) -> None:
    """Both ways along a link, against every pair of ten-minute instants from the evening before the change."""
    zone, day = change
    instants, low, high = standing_clock(zone, day)
    least, more, hands_on = wait
    link = hour_link("spread", "store", (least, least + more), before=True, hands_on_h=hands_on, clock=zone)
    first = 18 * 6  # from 18 h before the change on; a day's wait still ends on the grid
    own = Spans.of((instants[first + a], instants[min(first + a + b, first + 150)]) for a, b in raw)
    hands = round(hands_on * 6)
    pairs = {
        (e, k)
        for e in range(len(instants) - hands)
        for k in _partners(e + hands, low, high, least * 60, (least + more) * 60)
    }
    later = {instants[k] for e, k in pairs if instants[e] in own}
    assert {t for t in instants if t in link.after(own)} == later
    earlier = {instants[e] for e, k in pairs if instants[k] in own}
    assert {t for t in instants if t in link.ahead(own)} == earlier


def _partners(start: int, low: list[float], high: list[float], least_min: float, longest_min: float) -> range:
    """Instants, not before the wait starts, at which the clock can have gone on by no less and no more."""
    return range(max(start, bisect_left(high, low[start] + least_min)), bisect_right(low, high[start] + longest_min))
