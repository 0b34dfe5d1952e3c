"""`--away`: days and times when nobody is at home, and what of them cannot be read."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from command import Shell
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import BadSetting
from scheduler.faces.away import away_spans

NEW_YORK = ZoneInfo("America/New_York")
NOW = datetime(2026, 10, 17, 18, tzinfo=UTC)
DAYS = st.dates(date(2026, 9, 1), date(2027, 9, 1))


def utc(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("2026-10-17..2026-10-20", (utc(10, 17, 4), utc(10, 21, 4))),
        ("2026-10-17", (utc(10, 17, 4), utc(10, 18, 4))),
        ("2026-11-01", (utc(11, 1, 4), utc(11, 2, 5))),  # the day has 25 hours
        (" 2026-10-17T12:00 .. 2026-10-18T09:00 ", (utc(10, 17, 16), utc(10, 18, 13))),
        ("2026-10-17..2026-10-18T09:00", (utc(10, 17, 4), utc(10, 18, 13))),
        ("2026-10-17T12:00..2026-10-17", (utc(10, 17, 16), utc(10, 18, 4))),
        ("2026-10-17T12:00Z..2026-10-17T13:30Z", (utc(10, 17, 12), utc(10, 17, 13, 30))),
    ],
)
def test_days_are_whole_on_the_sites_clock_and_times_are_as_said(text, span):
    assert away_spans([text], NEW_YORK, NOW) == (span,)


@given(DAYS, st.integers(0, 40))
def test_away_lasts_from_midnight_before_the_first_day_to_midnight_after_the_last(first, days):
    last = first + timedelta(days=days)
    ((start, end),) = away_spans([f"{first}..{last}"], NEW_YORK)
    assert (start.astimezone(NEW_YORK).isoformat()[:16], end.astimezone(NEW_YORK).isoformat()[:16]) == (
        f"{first}T00:00",
        f"{last + timedelta(days=1)}T00:00",
    )


def test_nothing_said_is_nobody_away():
    assert away_spans(None, NEW_YORK) == away_spans([], NEW_YORK) == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no stretch of days"),
        ("soon", "'soon' is no date; write it like 2026-10-17..2026-10-20"),
        ("2026-10-17..", "is no stretch of days"),
        ("..2026-10-17", "is no stretch of days"),
        ("2026-10-17..2026-10-18..2026-10-19", "is no stretch of days"),
        ("2026-10-20..2026-10-17", "ends before it starts"),
        ("2026-10-17T12:00..2026-10-17T12:00", "ends before it starts"),
        ("2026-10-17T12:00", "is one moment"),
        ("2026-02-30", "is no date"),
        ("2025-10-17..2025-10-20", "is the year right?"),
        ("1026-10-17", "is not from 1900 to 2200"),
        ("2026-03-08T02:30..2026-03-09", "the clock skips"),
    ],
)
def test_what_is_no_stretch_is_refused_in_one_line_that_names_the_flag(text, words):
    with pytest.raises(BadSetting) as caught:
        away_spans([text], NEW_YORK, NOW)
    assert str(caught.value).startswith("--away: ")
    assert words in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize("command", [("next",), ("nights",), ("dry",), ("calendar", "out.ics")])
def test_every_command_that_plans_takes_it_and_refuses_what_it_cannot_read(command, tmp_path):
    shell = Shell(tmp_path)
    done = shell.run(*command, "--sample", "--now", "2026-10-17T14:00", "--away", "soon")
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith("smokenight: --away: 'soon' is no date")


def test_a_plan_goes_round_the_days_away(tmp_path):
    shell = Shell(tmp_path)
    ask = ("next", "--sample", "--now", "2026-10-17T14:00")
    assert shell.run(*ask).out.startswith("Light on Fri 23 Oct")
    away = shell.run(*ask, "--away", "2026-10-23", "--away", "2026-10-25").out.splitlines()[0]
    assert not any(day in away for day in ("Fri 23 Oct", "Sun 25 Oct"))
