"""Stretches of the clock as a household writes them: "06:30-22:30"."""

from __future__ import annotations

import re

from scheduler.errors import BadSetting
from scheduler.household.quantity import shown
from scheduler.household.site import DAY_MIN, ClockRange

AWAY = "away"
"""Nobody is at home on that day."""

_RANGE = re.compile(r"\s*([0-9]{1,2}):([0-9]{2})\s*[-\u2013]\s*([0-9]{1,2}):([0-9]{2})\s*")
_WEEK_MIN = 7 * DAY_MIN

Days = tuple[tuple[ClockRange, ...], ...]
"""Seven days, Monday first, each of any number of stretches."""


def parse_clock_range(given: object) -> ClockRange:
    """One stretch; an end before its start lies on the next day, and 24:00 may end one."""
    found = _RANGE.fullmatch(given) if isinstance(given, str) else None
    if found is None:
        raise BadSetting(f'{shown(given)} is not a stretch of the clock: write one on 24 hours, such as "06:30-22:30"')
    start_h, start_min, end_h, end_min = (int(digits) for digits in found.groups())
    start, end = start_h * 60 + start_min, end_h * 60 + end_min
    if start_min > 59 or end_min > 59 or start >= DAY_MIN or end > DAY_MIN:
        raise BadSetting(f"{shown(given)} is not on the clock: write 00:00 to 23:59, or 24:00 as an end")
    if start == end:
        raise BadSetting(f'{shown(given)} has no length: write "00:00-24:00" for a whole day')
    return ClockRange(start, end)


def parse_day(given: object) -> tuple[ClockRange, ...]:
    """The stretches of one day: one, a list of them, or "away" for none."""
    if given == AWAY:
        return ()
    if not isinstance(given, list):
        return (parse_clock_range(given),)
    if not given:
        raise BadSetting(f'an empty list holds no hours: write "{AWAY}" where nobody is at home')
    return tuple(parse_clock_range(entry) for entry in given)


def ever_meet(one: Days, other: Days) -> bool:
    """Whether there is a minute of the week that lies in both."""
    # Sunday night runs into Monday, so the other week is laid before and after itself.
    weeks = (-_WEEK_MIN, 0, _WEEK_MIN)
    theirs = [(start + shift, end + shift) for start, end in _week(other) for shift in weeks]
    return any(start <= last and first <= end for start, end in _week(one) for first, last in theirs)


def _week(days: Days) -> list[tuple[int, int]]:
    """First and last minutes of every stretch, counted from Monday midnight."""
    return [
        (day * DAY_MIN + r.start_min, day * DAY_MIN + r.end_min + (0 if r.end_min > r.start_min else DAY_MIN))
        for day, ranges in enumerate(days)
        for r in ranges
    ]
