"""Windows against a search minute by minute: the lift, which lightings hold, and the coolest of them."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import (
    ALWAYS_HOME,
    HOUR_S,
    MINUTE_S,
    examples,
    hours_between,
    planning_site,
    weather_of,
)
from planning_scenes import NOON, Scene, scenes

from scheduler.planning.limits import read_weather
from scheduler.planning.spans import ALWAYS, Spans
from scheduler.planning.windows import coolest, smokes


def whole_minutes(spans: Spans, last: int) -> set[int]:
    """The minutes since 1970 that lie in a set of time, up to one of them."""
    return {m for a, b in spans for m in range(ceil(a / MINUTE_S), min(last, int(b // MINUTE_S)) + 1)}


# The lift.


@examples(60)
@given(scenes())
def test_lightings_and_lifts_are_those_that_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    last = int(truth.grid[-1]) - 24 * 60
    expected = {m for m in truth.lightings if m <= last}
    possible = scene.possible
    assert whole_minutes(possible.lightings, last) == expected
    some = sorted(expected)[:: max(1, len(expected) // 40)]
    lifts = [truth.lift_of(m) for m in some]
    assert [possible.lift_of(m * MINUTE_S) / MINUTE_S for m in some] == lifts
    assert (possible.lifts_of(np.array(some) * 60.0) / MINUTE_S).tolist() == lifts


def test_a_lift_is_due_right_after_the_planned_time_while_somebody_is_up() -> None:
    up = Spans.of([(0, 24 * HOUR_S)])
    found = smokes(up, up, duration_s=8 * HOUR_S, longest_s=12 * HOUR_S)
    assert found.lightings.pieces == ((0, 16 * HOUR_S),)
    assert found.lift_of(3 * HOUR_S) == 11 * HOUR_S


def test_a_lift_waits_for_the_household_to_get_up_but_no_longer_than_the_longest_smoke() -> None:
    evening, morning = (16 * HOUR_S, 22 * HOUR_S), (31 * HOUR_S, 40 * HOUR_S)
    found = smokes(Spans.of([evening]), Spans.of([evening, morning]), duration_s=8 * HOUR_S, longest_s=12 * HOUR_S)
    # Lit before 19:00 the smoke would be over 12 h old at 7:00.
    assert found.lightings.pieces == ((19 * HOUR_S, 22 * HOUR_S),)
    assert found.lift_of(20 * HOUR_S) == 31 * HOUR_S
    with pytest.raises(ValueError, match="not one of the lightings"):
        found.lift_of(18 * HOUR_S)


def test_the_last_lighting_that_can_be_lifted_before_bed_is_lifted_before_bed() -> None:
    home = Spans.of([(0, 10 * HOUR_S), (15 * HOUR_S, 24 * HOUR_S)])
    found = smokes(home, home, duration_s=8 * HOUR_S, longest_s=20 * HOUR_S)
    assert found.lift_of(2 * HOUR_S) == 10 * HOUR_S
    assert found.lift_of(2 * HOUR_S + 1) == 15 * HOUR_S
    assert found.lifts_of(np.array([2.0 * HOUR_S]))[0] == 10 * HOUR_S


def test_with_nobody_up_for_the_lift_there_is_no_lighting() -> None:
    found = smokes(Spans.of([(0, 5)]), Spans.of([(0, 5)]), duration_s=6, longest_s=9)
    assert not found.lightings


# The windows.


@examples(150)
@given(scenes())
def test_the_lightings_that_hold_are_those_that_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    hot = truth.doubtful[0]
    found = whole_minutes(scene.holding.lightings, int(truth.grid[-1]))
    assert {m for m in found if not holds_one(hot, m, truth.lift_of(m))} == truth.holding


def holds_one(periods: list[tuple[int, int]], light: int, lift: int | None) -> bool:
    assert lift is not None
    return any(light <= start and end <= lift for start, end in periods)


@examples(120)
@given(scenes(unknown=False))
def test_the_coolest_lighting_has_the_lowest_peak_of_all_and_is_the_earliest_of_equals(scene: Scene) -> None:
    truth, weather = scene.minutes, read_weather(scene.forecast)
    holding = scene.holding
    best = coolest(weather.air, holding)
    if best is None:
        assert not holding.stretches
        return
    assert best.light in holding.lightings
    assert best.lift == holding.lift_of(best.light)
    assert best.peak_c == pytest.approx(exact_peak_c(scene, best.light, best.lift), abs=1e-7)
    minutes = whole_minutes(holding.lightings, int(truth.grid[-1]))
    assume(minutes)
    peaks = {m: truth.peak_c(m) for m in minutes}
    least = min(peaks.values())
    assert best.peak_c <= least + 1e-7
    # No second beside the coolest minute, and none in the search's own answer, is cooler than what it found.
    for near in (min(peaks, key=peaks.__getitem__) * MINUTE_S, best.light):
        for light in np.arange(near - MINUTE_S, near + MINUTE_S + 1, 1.0):
            if light in holding.lightings:
                assert exact_peak_c(scene, light, holding.lift_of(light)) >= best.peak_c - 1e-7
    assert not [m for m in peaks if m * MINUTE_S < best.light - 1e-3 and peaks[m] <= best.peak_c + 1e-10]


def exact_peak_c(scene: Scene, light: float, lift: float) -> float:
    """Warmest air from lighting to lift: at either end or at a sample between them."""
    times = scene.minutes.samples * MINUTE_S
    air_c = scene.forecast.hourly["air_c"].to_numpy()
    ends = np.interp([light, lift], times, air_c)
    return float(max(*ends, *air_c[(times > light) & (times < lift)], -np.inf))


def test_a_single_dip_has_its_best_lighting_where_both_ends_are_as_warm() -> None:
    # 20 °C at noon falls to 8 °C at midnight and rises again: an 8 h window is coolest from 20:00 to 4:00, at 12 °C.
    air_c = [20.0 - hour if hour <= 12 else hour - 4.0 for hour in range(25)]
    weather = read_weather(weather_of(NOON + np.arange(25) * HOUR_S, air_c))
    day = Spans.of([(NOON, NOON + 24 * HOUR_S)])
    best = coolest(weather.air, smokes(day, day, duration_s=8 * HOUR_S, longest_s=8 * HOUR_S))
    assert best is not None
    assert (best.light, best.lift, best.peak_c) == (NOON + 8 * HOUR_S, NOON + 16 * HOUR_S, 12.0)


def test_of_many_lightings_with_the_same_peak_the_earliest_is_best() -> None:
    # The 13 °C at 20:00 are in every window lit from noon to 17:00; from 14:30 on it is no warmer at the lighting.
    air_c = [18.0, 16.0, 14.0, 12.0, 10.0, 10.0, 10.0, 10.0, 13.0, 10.0, 10.0, 10.0, 10.0, 10.0]
    weather = read_weather(weather_of(NOON + np.arange(14) * HOUR_S, air_c))
    lit = Spans.of([(NOON, NOON + 5 * HOUR_S)])
    best = coolest(weather.air, smokes(lit, ALWAYS, duration_s=8 * HOUR_S, longest_s=8 * HOUR_S))
    assert best is not None
    assert (best.light, best.peak_c) == (NOON + 2.5 * HOUR_S, 13.0)


@pytest.mark.parametrize(("hot_h", "holds"), [(16, False), (18, False), (19, True), (20, True)])
def test_air_counts_until_the_lift_that_waits_for_the_household(hot_h: int, holds: bool) -> None:
    # Lit at 20:00 for 8 h, but nobody is up before 6:30: an hour of 20 °C at 4:00 or 6:00 counts, one at 7:00 not.
    site = planning_site(
        household_hours=((hours_between("06:30", "22:30"),),) * 7,
        lighting_hours=hours_between("20:00", "20:01"),
        duration_h=8.0,
    )
    air_c = np.where(np.arange(40) == hot_h, 16.0, 14.0)
    scene = Scene(site, weather_of(NOON + np.arange(40) * HOUR_S, air_c), NOON)
    assert bool(scene.holding.stretches) is holds
    assert scene.possible.lift_of(NOON + 8.0 * HOUR_S) == NOON + 18.5 * HOUR_S


def test_even_air_has_its_best_lighting_at_the_first_moment() -> None:
    weather = read_weather(weather_of(NOON + np.arange(25) * HOUR_S, np.full(25, 0.0)))
    day = Spans.of([(NOON + 600, NOON + 24 * HOUR_S)])
    best = coolest(weather.air, smokes(day, day, duration_s=8 * HOUR_S, longest_s=8 * HOUR_S))
    assert best is not None
    assert (best.light, best.peak_c) == (NOON + 600, 0.0)


@examples(60)
@given(scenes(), st.sampled_from([0.5, 2.0, 9.0]))
def test_raising_the_ceiling_never_loses_a_window(scene: Scene, more: float) -> None:
    limits = scene.site.limits
    warmer = replace(scene, site=replace(scene.site, limits=replace(limits, ceiling_c=limits.ceiling_c + more)))
    kept = scene.holding.lightings
    assert kept & warmer.holding.lightings == kept


@examples(60)
@given(scenes(), st.sampled_from([0.5, 1.0, 4.0]))
def test_a_longer_smoke_never_gains_a_window_while_somebody_is_always_home(scene: Scene, more: float) -> None:
    home = replace(scene.site, household_hours=ALWAYS_HOME, longest_h=20.0)
    shorter = replace(scene, site=home)
    longer = replace(scene, site=replace(home, duration_h=home.duration_h + more))
    gained = longer.holding.lightings
    assert gained & shorter.holding.lightings == gained
