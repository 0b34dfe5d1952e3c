"""One lighting judged at that very lighting; busy stretches; forecasts that have been too warm."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from asked import FROZEN, NOW, PROCESS, SITE, ZONE, made_forecast, with_gap
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples
from planning_scenes import Scene, scenes

from scheduler.planning.answers import Night, Plan, Verdict
from scheduler.planning.backward import Infeasible
from scheduler.planning.limits import read_weather, without_bias
from scheduler.planning.nights import find_nights, judge_lighting
from scheduler.planning.plan import plan_for
from scheduler.service import Question, chain_of, look, plan, search_of

if TYPE_CHECKING:
    from providers.forecast import Forecast

COLD = made_forecast(mean_c=8.0)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 10, day, hour, minute, tzinfo=ZONE)


def judged(light: datetime, weather: Forecast = COLD, now: datetime = NOW) -> Night:
    question = Question(SITE, PROCESS, FROZEN, weather, now)
    return judge_lighting(search_of(question, chain_of(question)), light.timestamp())


@examples(80)
@given(scenes())
def test_the_best_lighting_of_a_night_is_judged_as_the_night_is(scene: Scene) -> None:
    search = search_of(scene.question, chain_of(scene.question))
    for night in find_nights(search):
        if night.light_best is None:
            continue
        alone = judge_lighting(search, night.light_best.timestamp())
        assert alone == night


@examples(80)
@given(scenes(), st.integers(0, 200))
def test_a_lighting_holds_at_itself_if_and_only_if_it_is_among_those_that_hold(scene: Scene, tens: int) -> None:
    search = search_of(scene.question, chain_of(scene.question))
    light = scene.now_s + tens * 600.0
    night = judge_lighting(search, light)
    assert night.light_best is not None
    assert night.light_best.timestamp() == light
    if light not in scene.possible.lightings:
        assert night.verdict is Verdict.NO
        return
    assert night.lift is not None
    assert night.lift.timestamp() == round(scene.possible.lift_of(light))
    whole = search.spread.chances(
        np.array([light]), np.array([scene.possible.lift_of(light)]), scene.site.limits.ceiling_c
    )
    if light in scene.possible.inside(search.met.surely).lightings:
        assert night.chance == pytest.approx(float(whole[0]))
        assert night.verdict is not Verdict.UNKNOWN
    if night.verdict is Verdict.GOOD:
        assert light in scene.possible.inside(search.met.roughly).lightings


def test_a_lighting_whose_window_gets_too_warm_is_told_with_its_figures() -> None:
    night = judged(on(18, 19), made_forecast(mean_c=18.0))
    assert (night.verdict, night.light_best, night.lift) == (Verdict.NO, on(18, 19), on(19, 7))
    assert night.reasons[0].startswith("its window reaches")
    assert night.peak_c is not None
    assert night.peak_c > 15.6


def test_a_lighting_whose_window_is_not_wholly_known_is_unknown_without_figures() -> None:
    night = judged(on(18, 19), with_gap(COLD, 36, 38))
    assert (night.verdict, night.peak_c, night.lift) == (Verdict.UNKNOWN, None, on(19, 7))
    assert night.reasons[0].startswith("the forecast does not say the air from")


def test_a_lighting_that_is_past_or_that_nobody_is_at_home_for_says_so() -> None:
    assert judged(on(17, 18), now=on(17, 19)).reasons == ("the time to light it is past",)
    assert judged(on(18, 3)).reasons == ("nobody is at home to light, check and lift a smoke in this night",)


def test_a_lighting_that_does_not_hold_still_has_a_plan_for_those_who_want_it() -> None:
    question = Question(SITE, PROCESS, FROZEN, made_forecast(mean_c=18.0), NOW)
    chain = chain_of(question)
    night = judge_lighting(search_of(question, chain), on(23, 19).timestamp())
    found = plan_for(chain, night)
    assert isinstance(found, Plan)
    assert next(one.at for one in found.steps if one.step.name == "light") == on(23, 19)


def test_no_step_and_no_lighting_lies_in_a_busy_stretch() -> None:
    away = (on(20, 15), on(22, 17))
    free = plan(Question(SITE, PROCESS, FROZEN, COLD, NOW)).choice.plan
    busy = plan(Question(SITE, PROCESS, FROZEN, COLD, NOW, busy=(away,)))
    assert free is not None
    assert any(one.step.household and one.at is not None and away[0] < one.at < away[1] for one in free.steps)
    assert busy.choice.plan is not None
    for one in busy.choice.plan.steps:
        hands_on = timedelta(minutes=one.step.hands_on_min)
        for first, last in one.spans if one.step.household else ():
            assert last + hands_on <= away[0] or first >= away[1]
    nights = {night.date.day: night for night in busy.nights}
    assert nights[20].reasons == nights[21].reasons == (
        "nobody is at home to light, check and lift a smoke in this night",
    )  # fmt: skip


def test_a_household_that_is_away_for_ever_can_make_no_night() -> None:
    answer = plan(Question(SITE, PROCESS, FROZEN, COLD, NOW, busy=((NOW, NOW + timedelta(days=90)),)))
    assert answer.choice.plan is None
    assert isinstance(answer.choice.ready, Infeasible)


def test_a_busy_stretch_that_touches_the_end_of_the_day_leaves_no_single_moment() -> None:
    chain = chain_of(Question(SITE, PROCESS, FROZEN, COLD, NOW, busy=((on(18, 6), on(18, 22, 30)),)))
    assert not chain.at_home.between(on(18, 5).timestamp(), on(18, 23).timestamp())


def test_no_busy_stretch_and_no_bias_are_no_change() -> None:
    plain = Question(SITE, PROCESS, FROZEN, COLD, NOW)
    assert plan(replace(plain, busy=(), bias_c=0.0)).choice == plan(plain).choice
    weather = read_weather(COLD)
    assert without_bias(weather, 0.0) is weather


def test_a_bias_takes_the_same_off_every_air_temperature_before_it_is_judged() -> None:
    hourly = COLD.hourly.copy()
    members = hourly[["air_c"]].rename(columns={"air_c": "m0"})
    for number in range(1, 12):
        members[f"m{number}"] = hourly["air_c"] + 0.1 * number
    for name, more_c in (("air_p10_c", -1.0), ("air_p50_c", 0.0), ("air_p90_c", 1.0), ("air_max_c", 0.4)):
        hourly[name] = hourly["air_c"] + more_c
    biased = replace(COLD, hourly=hourly, members=members)
    lower = hourly.copy()
    for name in ("air_c", "air_p10_c", "air_p50_c", "air_p90_c", "air_max_c"):
        lower[name] = lower[name] - 1.5
    true = replace(COLD, hourly=lower, members=members - 1.5)
    corrected = look(Question(SITE, PROCESS, FROZEN, biased, NOW, bias_c=1.5))
    for one, other in zip(corrected, look(Question(SITE, PROCESS, FROZEN, true, NOW)), strict=True):
        assert (one.verdict, one.light_best, one.chance) == (
            other.verdict,
            other.light_best,
            pytest.approx(other.chance),
        )
        assert (one.peak_c, one.low_c) == (pytest.approx(other.peak_c), pytest.approx(other.low_c))
    without_members = replace(biased, members=None)
    for one, other in zip(
        look(Question(SITE, PROCESS, FROZEN, without_members, NOW, bias_c=1.5)),
        look(Question(SITE, PROCESS, FROZEN, replace(true, members=None), NOW)),
        strict=True,
    ):
        assert one.chance == pytest.approx(other.chance)
