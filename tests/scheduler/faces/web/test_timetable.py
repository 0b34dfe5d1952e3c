"""When weather is asked for next, and which sites share it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from providers.sample import sample_forecast
from scheduler.faces.asking import SAMPLE_SITE
from scheduler.faces.web.timetable import LATEST, LONGEST_PAUSE, SOONEST, cell_of, next_look, next_try

NOW = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)
FORECAST = sample_forecast(NOW, zone=ZoneInfo("America/New_York"), latitude_deg=45.0, longitude_deg=-70.0)


def wait(fresh_for: timedelta | None, seed: int = 1) -> timedelta:
    until = None if fresh_for is None else NOW + fresh_for
    return next_look(replace(FORECAST, fresh_until=until), NOW, Random(seed)) - NOW


def test_weather_is_asked_for_after_its_own_service_says_there_may_be_news():
    assert timedelta(hours=1) <= wait(timedelta(hours=1)) <= timedelta(hours=1, minutes=6)


@pytest.mark.parametrize("fresh_for", [timedelta(days=-3), timedelta(0), timedelta(seconds=5)])
def test_a_service_that_is_never_fresh_is_still_not_asked_more_often_than_every_ten_minutes(fresh_for):
    assert wait(fresh_for) >= SOONEST


def test_a_service_that_claims_a_month_is_asked_every_few_hours():
    assert LATEST <= wait(timedelta(days=30)) <= LATEST * 1.1


def test_a_table_is_looked_at_every_ten_minutes():
    assert SOONEST <= wait(None) <= SOONEST + timedelta(minutes=2)


@given(st.integers(1, 1000), st.integers())
def test_the_pause_after_failures_doubles_up_to_an_hour(failures, seed):
    pause = next_try(failures, NOW, Random(seed)) - NOW
    least = min(timedelta(minutes=5) * 2 ** min(failures - 1, 10), LONGEST_PAUSE)
    assert least <= pause <= least + max(least * 0.1, timedelta(minutes=2))


def test_two_servers_do_not_come_back_at_the_same_moment():
    assert len({wait(timedelta(hours=1), seed) for seed in range(20)}) == 20


def test_neighbours_share_a_forecast():
    near = replace(SAMPLE_SITE, name="next door", latitude_deg=45.004, elevation_m=310.0)
    assert cell_of(near) == cell_of(SAMPLE_SITE)


@pytest.mark.parametrize(
    "other", [{"latitude_deg": 45.03}, {"elevation_m": 400.0}, {"elevation_m": None}, {"weather": "us-nws"}]
)
def test_who_lies_elsewhere_or_higher_or_asks_another_service_does_not(other):
    assert cell_of(replace(SAMPLE_SITE, **other)) != cell_of(SAMPLE_SITE)
