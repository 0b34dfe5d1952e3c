"""Times, stretches and lists in words."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces import wording

LONDON = ZoneInfo("Europe/London")


def at(day: int, hour: int, minute: int = 0, second: int = 0, month: int = 10) -> datetime:
    return datetime(2026, month, day, hour, minute, second, tzinfo=LONDON).astimezone(UTC)


def test_a_time_has_weekday_date_and_24_hour_clock():
    assert wording.when(at(22, 18, 40), LONDON) == "Thu 22 Oct 18:40"
    assert wording.weekday_clock(at(22, 6, 5), LONDON) == "Thu 06:05"


def test_an_hour_that_the_clock_shows_twice_names_its_zone():
    # Clocks in London go back from 2:00 to 1:00 on 25 October 2026.
    first, second = datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert wording.clock(first, LONDON) == "01:30 BST"
    assert wording.clock(second, LONDON) == "01:30 GMT"
    assert wording.clock(second + timedelta(hours=1), LONDON) == "02:30"


def test_a_span_is_cut_inward_to_whole_minutes():
    assert wording.clock_span((at(22, 6, 30, 1), at(22, 22, 0, 59)), LONDON) == "06:31–22:00"


def test_a_span_without_a_whole_minute_is_one_time():
    assert wording.clock_span((at(22, 6, 30, 10), at(22, 6, 30, 50)), LONDON) == "06:30"


def test_a_span_past_midnight_names_its_last_day():
    assert wording.clock_span((at(22, 22), at(23, 1, 30)), LONDON) == "22:00–Fri 01:30"


def test_days_in_a_row_with_the_same_hours_are_taken_together():
    spans = [(at(22, 19, 15), at(22, 22)), *((at(day, 6, 30), at(day, 22)) for day in (23, 24, 25))]
    assert wording.span_list(spans, LONDON, at(24, 12)) == "Thu 19:15–22:00, Fri to Sun each 06:30–22:00"
    assert wording.span_list(spans[1:3], LONDON, at(24, 12)) == "Fri and Sat each 06:30–22:00"


def test_days_more_than_six_away_go_by_their_date():
    assert wording.span_list([(at(22, 8), at(22, 9))], LONDON, at(15, 8)) == "Thu 22 Oct 08:00–09:00"
    assert wording.span_list([(at(22, 8), at(22, 9))], LONDON, at(16, 8)) == "Thu 08:00–09:00"


def test_a_long_list_keeps_the_stretch_that_holds_the_time_and_counts_the_rest():
    spans = [(at(day, 6 + day % 2), at(day, 20)) for day in range(12, 23)]
    assert wording.span_list(spans, LONDON, at(20, 12)) == (
        "Mon 07:00–20:00, Tue 06:00–20:00, Wed 07:00–20:00 and 8 more days"
    )


@given(st.lists(st.tuples(st.integers(1, 28), st.integers(0, 22)), min_size=1, max_size=28, unique_by=lambda d: d[0]))
def test_the_stretch_that_holds_the_time_is_always_shown(days):
    spans = [(at(day, hour), at(day, hour + 1)) for day, hour in sorted(days)]
    for span in spans:
        text = wording.span_list(spans, LONDON, span[0])
        assert wording.clock_span(span, LONDON) in text
        assert text.count(",") < 3


def test_hours_are_counted_in_days_from_two_days_on():
    assert wording.long_span(12.5) == "12 h 30 min"
    assert wording.long_span(47.75) == "47 h 45 min"
    assert wording.long_span(63.0) == "2 days 15 h"
    assert wording.long_span(72.2) == "3 days"


@pytest.mark.parametrize(
    ("words", "text"), [(["thaw"], "thaw"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_a_list_ends_in_and(words, text):
    assert wording.listed(words) == text


def test_zero_degrees_is_weather_and_nothing_is_a_dash():
    assert wording.degrees(0.0, "metric") == "0.0"
    assert wording.degrees(0.0, "us") == "32.0"
    assert wording.degrees(None, "metric") == "—"


def test_shares_keep_what_they_need_of_their_decimals():
    assert [wording.share(pct) for pct in (12.0, 2.5, 0.25, 10.0)] == ["12 %", "2.5 %", "0.25 %", "10 %"]


def test_a_day_does_not_depend_on_the_machines_language():
    assert [wording.day_words(date(2026, month, 1)).split()[2] for month in range(1, 13)] == list(wording.MONTHS)


def test_what_others_wrote_is_one_harmless_line():
    assert wording.one_line(" a\x1b[31m\r\nb\x00 \u2028c ") == "a [31m b c"


TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Every embedding, override and isolate, and what ends them (UAX #9, "Explicit directional formatting characters")."""


@pytest.mark.parametrize("turn", TURNS, ids=lambda turn: f"U+{ord(turn):04X}")
def test_nothing_that_others_wrote_turns_the_rest_of_a_line(turn):
    assert wording.one_line(f"autumn{turn} lot{turn}") == "autumn lot"
    assert wording.one_line(f"{turn} {turn}") == ""


def test_words_that_run_from_right_to_left_keep_their_letters_and_marks():
    assert wording.one_line("\u05d3\u05d2 \u200f12") == "\u05d3\u05d2 \u200f12"
