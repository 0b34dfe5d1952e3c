"""What an adopted plan cannot withstand, in any state, and what does not touch it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from planning_builders import HOUR_S, hour_spans
from replan_scenes import AT_HOME, CURED, RINSED, SITE, Scene, clock, night, times_of, when, with_chances

from scheduler.household.policy import Policy
from scheduler.planning.answers import Verdict
from scheduler.planning.replan import ASKED_H
from scheduler.planning.replanned import Cause, Change, State
from scheduler.planning.spans import Spans

USUAL = Scene()
STATES = [
    ("tentative", Scene(), 4),
    ("committed", Scene(done=CURED, now=clock(2, 8)), 4),
    ("locked", Scene(done=CURED, now=clock(3, 8)), 3),
]
"""Scenes in each state and the day of the night taken on."""

ALL_STATES = pytest.mark.parametrize(("state", "scene", "day"), STATES, ids=[one[0] for one in STATES])


def given_chance(scene, chance, day):
    """The scene with another chance on one night."""
    return scene.but(chances=tuple(chance if d == day else c for d, c in enumerate(scene.chances)))


@ALL_STATES
def test_an_unchanged_world_leaves_the_plan_as_it_is(state, scene, day):
    adopted = scene.adopt(day)
    answer = scene.replan(adopted)
    assert (answer.change, answer.state, answer.moved) == (Change.UNCHANGED, State(state), ())
    assert times_of(answer.plan) == dict(adopted.steps)
    assert answer.verdict is Verdict.GOOD


@ALL_STATES
def test_a_night_whose_window_is_gone_moves_at_once(state, scene, day):
    answer = scene.but(hot=frozenset({day})).replan(scene.adopt(day))
    assert (answer.state, answer.change, answer.cause, answer.must) == (state, Change.MOVED, Cause.WEATHER, True)
    assert answer.plan.night.date != night(day)


@ALL_STATES
def test_a_night_under_the_floor_moves_at_once(state, scene, day):
    answer = given_chance(scene, 0.39, day).replan(scene.adopt(day))
    assert (answer.state, answer.change, answer.cause, answer.must) == (state, Change.MOVED, Cause.WEATHER, True)


@pytest.mark.parametrize(("state", "scene", "day"), STATES[:2], ids=["tentative", "committed"])
def test_a_night_at_the_floor_stays(state, scene, day):
    scene = given_chance(scene.but(chances=(0.5,) * 10), 0.40, day)
    answer = scene.replan(scene.but(chances=(0.9,) * 10).adopt(day))
    assert (answer.state, answer.change) == (state, Change.UNCHANGED)


@ALL_STATES
def test_a_night_that_another_batch_takes_moves_at_once(state, scene, day):
    answer = scene.but(taken=frozenset({night(day)})).replan(scene.adopt(day))
    assert (answer.state, answer.change, answer.cause, answer.must) == (state, Change.MOVED, Cause.SHARED, True)
    assert answer.plan.night.date != night(day)


@ALL_STATES
def test_nobody_at_home_for_the_night_moves_it_at_once(state, scene, day):
    away = Spans(((clock(day, 16), clock(day, 22.5)),))
    answer = scene.but(busy=away).replan(scene.adopt(day))
    assert (answer.state, answer.change, answer.cause, answer.must) == (state, Change.MOVED, Cause.HOURS, True)
    assert answer.plan.night.date != night(day)


def test_nobody_at_home_for_one_step_moves_that_step_alone():
    adopted = USUAL.adopt(4)
    salting = adopted.steps["salt"].timestamp()
    away = hour_spans((salting / HOUR_S - 1, salting / HOUR_S + 1))
    answer = USUAL.but(busy=away).replan(adopted)
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.HOURS, True)
    assert [one.step for one in answer.moved] == ["salt"]
    assert abs(answer.moved[0].now - answer.moved[0].was) == timedelta(hours=1)


@ALL_STATES
def test_weather_that_nobody_knows_never_moves_a_plan(state, scene, day):
    adopted = scene.adopt(day)
    answer = scene.but(unknown=frozenset({day}), chances=(0.95,) * 10).replan(adopted)
    assert (answer.state, answer.change, answer.must) == (state, Change.UNCHANGED, False)
    assert answer.verdict is Verdict.UNKNOWN
    assert answer.plan.night.reasons
    assert times_of(answer.plan) == dict(adopted.steps)


@ALL_STATES
def test_a_forecast_that_is_too_old_never_moves_a_plan(state, scene, day):
    adopted = scene.adopt(day)
    old = scene.but(issued=scene.now - 49 * HOUR_S, hot=frozenset({day}))
    answer = old.replan(adopted)
    assert (answer.state, answer.change, answer.verdict) == (state, Change.UNCHANGED, Verdict.UNKNOWN)
    assert "49 h old" in answer.plan.night.reasons[0]


def test_a_night_past_the_end_of_the_forecast_is_unknown_and_stays():
    adopted = USUAL.adopt(9)
    answer = USUAL.but(unknown=frozenset({8, 9})).replan(adopted)
    assert (answer.change, answer.verdict) == (Change.UNCHANGED, Verdict.UNKNOWN)


def test_the_move_goes_to_the_night_that_a_fresh_choice_would_take():
    scene = USUAL.but(hot=frozenset({4}), chances=with_chances(d3=0.6, d5=0.7, d6=0.85, d7=0.95))
    answer = scene.replan(USUAL.adopt(4))
    assert answer.plan.night.date == scene.choose().night.date == night(6)


def test_a_window_that_is_gone_at_its_hour_alone_moves_within_its_night():
    adopted = USUAL.adopt(4)
    later = USUAL.but(cool_c=[20.0 if 96 <= hour <= 102 else 10.0 for hour in range(200)])
    answer = later.replan(adopted)
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.WEATHER, True)
    assert answer.plan.night.date == night(4)
    light = times_of(answer.plan)["light"]
    assert when(4, 18) < light < when(4, 20), "the nearest moment that holds"
    assert answer.plan.night.light_best == light
    assert answer.plan.night.chance == 0.9


def test_food_on_its_way_takes_any_night_over_the_floor_and_what_has_not_begun_does_not():
    chances = with_chances(d3=0.3, d4=0.45)
    begun = Scene(done=CURED, now=clock(2, 8), chances=chances)
    answer = begun.replan(begun.but(chances=(0.9,) * 10).adopt(3))
    assert (answer.change, answer.plan.night.date) == (Change.MOVED, night(4))
    frozen = USUAL.but(chances=chances)
    answer = frozen.replan(USUAL.adopt(3))
    assert (answer.change, answer.must, answer.plan.night.date) == (Change.UNCHANGED, True, night(3))


def test_a_night_under_the_floor_stays_where_nothing_else_can_be_made():
    scene = Scene(done=CURED, now=clock(2, 8), chances=with_chances(d3=0.3))
    adopted = scene.but(chances=(0.9,) * 10).adopt(3)
    answer = scene.replan(adopted)
    assert (answer.change, answer.cause, answer.must) == (Change.UNCHANGED, Cause.WEATHER, True)
    assert times_of(answer.plan) == dict(adopted.steps)
    assert answer.verdict is Verdict.NO


def test_a_batch_with_no_night_left_is_lost():
    scene = Scene(done=CURED, now=clock(2, 8), hot=frozenset(range(10)))
    answer = scene.replan(scene.but(hot=frozenset()).adopt(3))
    assert (answer.change, answer.must, answer.plan, answer.verdict) == (Change.LOST, True, None, None)
    assert answer.is_now is not None
    assert answer.nights


def test_a_step_that_nobody_recorded_in_time_is_asked_about_before_the_night_moves():
    adopted = USUAL.adopt(3)
    late = USUAL.but(now=clock(1, 20))
    answer = late.replan(adopted)
    assert (answer.change, answer.cause, answer.must) == (Change.PROPOSED, Cause.LATE, True)
    assert (answer.plan, answer.proposed.night.date) == (None, night(4))
    assert [one.planned.step.name for one in answer.overdue] == ["thaw", "salt"]
    assert answer.blocked is not None


def test_a_step_that_is_not_recorded_for_a_day_moves_the_night():
    adopted = USUAL.adopt(3)
    last_due = max(adopted.steps[name] for name in ("thaw", "salt")).timestamp()
    answer = USUAL.but(now=last_due + ASKED_H * HOUR_S + 60).replan(adopted)
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.LATE, True)


def test_a_step_that_is_overdue_is_asked_about_and_planned_around():
    adopted = USUAL.adopt(5)
    late = USUAL.but(now=adopted.steps["thaw"].timestamp() + 90 * 60)
    answer = late.replan(adopted)
    (overdue,) = answer.overdue
    assert answer.change is Change.UNCHANGED, "what waits for it gets later as it does, and is no news"
    assert times_of(answer.plan)["salt"] > adopted.steps["salt"]
    assert overdue.planned.step.name == "thaw"
    assert overdue.was_due == adopted.steps["thaw"]
    assert overdue.planned.at == adopted.steps["thaw"] + timedelta(minutes=90)
    assert answer.plan.night.date == night(5)
    again = late.replan(late.carried(answer))
    assert (again.change, [one.was_due for one in again.overdue]) == (Change.UNCHANGED, [overdue.was_due])


def test_what_is_overdue_and_keeps_nothing_waiting_leaves_the_plan_unchanged():
    adopted = USUAL.adopt(5)
    early = replace(adopted, steps={**adopted.steps, "thaw": adopted.steps["thaw"] - timedelta(hours=10)})
    answer = USUAL.but(now=early.steps["thaw"].timestamp() + 5 * HOUR_S).replan(early)
    assert answer.change is Change.UNCHANGED
    assert [one.planned.step.name for one in answer.overdue] == ["thaw"]


def test_a_lighting_that_is_past_is_asked_about_and_is_no_move_while_it_can_still_be_made():
    scene = Scene(done=RINSED, now=clock(3, 15))
    adopted = scene.adopt(3)
    answer = scene.but(now=clock(3, 17)).replan(adopted)
    assert answer.plan.night.date == night(3)
    assert [one.planned.step.name for one in answer.overdue] == ["light"]
    assert times_of(answer.plan)["light"] == when(3, 17)
    assert answer.change is Change.UNCHANGED


def test_a_lighting_that_nobody_recorded_all_evening_is_asked_about_before_it_moves_to_another_night():
    cured = Scene(done=CURED, now=clock(3, 13))
    answer = cured.but(now=clock(3, 22.5), done=(*CURED, ("rinse", when(3, 20)))).replan(cured.adopt(3))
    assert (answer.change, answer.cause, answer.proposed.night.date) == (Change.PROPOSED, Cause.LATE, night(4))


@pytest.mark.parametrize("hours", [22.5, 24 + 2, 24 + 14])
def test_a_lighting_that_nobody_recorded_is_asked_about_for_a_day_before_its_batch_is_lost(hours):
    """Who lit the tray and forgot to say so still has to be told when to lift."""
    scene = Scene(done=RINSED, now=clock(3, 15))
    answer = scene.but(now=clock(3, hours)).replan(scene.adopt(3))
    assert (answer.change, answer.cause, answer.must) == (Change.PROPOSED, Cause.LATE, True)
    assert (answer.plan, answer.proposed) == (None, None), "rinsed fish keeps 24 h"
    assert "light" in {one.planned.step.name for one in answer.overdue}


def test_a_lighting_that_nobody_recorded_for_a_day_and_more_loses_its_batch():
    scene = Scene(done=RINSED, now=clock(3, 15))
    adopted = scene.adopt(3)
    last_due = max(adopted.steps[name] for name in ("light", "lift")).timestamp()
    answer = scene.but(now=last_due + ASKED_H * HOUR_S + 60).replan(adopted)
    assert (answer.change, answer.plan) == (Change.LOST, None)


@pytest.mark.parametrize("hours", [17, 22.5, 24 + 2])
@pytest.mark.parametrize(
    "then",
    [{"chances": with_chances(d3=0.3)}, {"chances": with_chances(d3=0.3, d4=0.9)}, {"hot": frozenset(range(10))}],
    ids=["unlikely", "unlikely, the next one good", "hot for ever"],
)
def test_a_warmer_forecast_after_the_time_of_the_lighting_does_not_take_the_lift_away(hours, then):
    """It may burn: nobody was told not to light it."""
    adopted = Scene(done=RINSED, now=clock(3, 15)).adopt(3)
    answer = Scene(done=RINSED, now=clock(3, hours)).but(**then).replan(adopted)
    assert (answer.change, answer.plan) == (Change.PROPOSED, None)
    assert answer.is_unanswered
    assert answer.proposed is None or answer.proposed.night.date == night(4)


@pytest.mark.parametrize("hours", [22.5, 24 + 2])
@pytest.mark.parametrize("chance", [0.3, 0.9])
def test_a_tray_that_was_not_to_be_lit_is_not_asked_about_once_its_evening_is_over(hours, chance):
    """Whatever a newer forecast says of that night: who obeyed has nothing to lift."""
    scene = Scene(done=RINSED, now=clock(3, 15))
    before = scene.but(chances=with_chances(d3=0.3), now=clock(3, 15.5)).replan(scene.adopt(3))
    assert before.change is Change.NO_GO
    later = scene.but(chances=with_chances(d3=chance), now=clock(3, hours))
    answer = later.replan(scene.adopt(3), no_go=True)
    assert (answer.change, answer.plan, answer.overdue) == (Change.LOST, None, ())


def test_a_no_go_that_becomes_a_go_while_there_is_time_has_a_new_lighting():
    scene = Scene(done=RINSED, now=clock(3, 15))
    answer = scene.but(now=clock(3, 17)).replan(scene.adopt(3), no_go=True)
    assert (answer.change, times_of(answer.plan)["light"]) == (Change.MOVED, when(3, 17))


def test_a_cure_that_would_run_out_before_the_night_moves_it():
    scene = Scene(done=CURED, now=clock(2, 8))
    adopted = scene.adopt(4)
    earlier = (("thaw", when(0, 0.5)), ("salt", when(1, 0.5)))
    answer = scene.but(done=earlier, now=clock(2, 8)).replan(adopted)
    assert (answer.change, answer.must, answer.plan.night.date) == (Change.MOVED, True, night(2))
    assert answer.blocked.early


def test_hours_of_the_household_that_changed_are_the_cause():
    scene = Scene(site=replace(SITE, household_hours=AT_HOME))
    adopted = scene.adopt(4)
    away = replace(SITE, household_hours=(*AT_HOME[:4], (), *AT_HOME[5:]))
    answer = scene.but(site=away).replan(adopted)
    assert (answer.change, answer.cause) == (Change.MOVED, Cause.HOURS)


def test_the_adopted_window_is_told_as_it_was_and_as_it_is():
    adopted = USUAL.adopt(4)
    warm = np.full(200, 10.0)
    warm[100] = 16.8
    answer = USUAL.but(cool_c=warm, now=clock(1, 12)).replan(replace(adopted, steps={}))
    assert (answer.was.peak_c, answer.was.night, answer.was.issued_at) == (10.0, night(4), when(0, 12))
    assert (answer.is_now.peak_c, answer.is_now.peak_at) == (16.8, when(4, 16))
    assert answer.is_now.issued_at == when(1, 12)


def test_times_are_kept_wherever_they_still_hold():
    adopted = USUAL.adopt(5)
    odd = {name: at + timedelta(minutes=17) for name, at in adopted.steps.items() if name in ("thaw", "salt", "rinse")}
    adopted = replace(adopted, steps={**adopted.steps, **odd})
    answer = USUAL.but(chances=(0.85,) * 10).replan(adopted)
    assert answer.change is Change.UNCHANGED
    assert times_of(answer.plan) == dict(adopted.steps)


def test_a_plan_for_another_night_keeps_the_times_of_the_sawdust_and_centres_those_of_the_food():
    scene = Scene(batch=replace(Scene().batch, sawdust="none"))
    adopted = scene.adopt(4)
    answer = scene.but(hot=frozenset({3, 4})).replan(adopted)
    times = times_of(answer.plan)
    assert answer.plan.night.date == night(5)
    assert times["soak"] == adopted.steps["soak"]
    assert times["salt"] == times["rinse"] - timedelta(hours=48)


def test_the_policy_says_where_the_floor_is():
    scene = given_chance(USUAL, 0.45, 4)
    adopted = USUAL.adopt(4)
    assert scene.but(policy=Policy(must_below=0.5, gain=9, gain_twice=9)).replan(adopted).must
    assert not scene.but(policy=Policy(must_below=0.45, gain=9, gain_twice=9)).replan(adopted).must


def test_a_step_that_is_no_longer_needed_is_no_move():
    scene = Scene(batch=replace(Scene().batch, sawdust="none"))
    adopted = scene.adopt(5)
    assert {"soak", "store"} <= adopted.steps.keys()
    answer = USUAL.replan(adopted)
    assert (answer.change, answer.moved) == (Change.UNCHANGED, ())


def test_a_step_done_at_another_time_than_planned_is_no_move():
    adopted = USUAL.adopt(5)
    early = adopted.steps["thaw"] - timedelta(hours=1)
    answer = USUAL.but(done=(("thaw", early),), now=early.timestamp() + HOUR_S).replan(adopted)
    assert (answer.change, answer.moved) == (Change.UNCHANGED, ())
    assert times_of(answer.plan)["thaw"] == early


@pytest.mark.parametrize(("borderline", "taken"), [(0.2, 3), (0.38, 3), (0.395, 6), (0.55, 6)])
def test_the_floor_is_never_above_what_a_household_calls_borderline(borderline, taken):
    site = replace(SITE, borderline_chance=borderline)
    scene = Scene(site=site, chances=with_chances(d3=0.39, d6=0.56), policy=Policy(gain=9, gain_twice=9, begin=0.0))
    if taken == 3:
        adopted = scene.adopt(3)
        assert (scene.replan(adopted).change, scene.replan(adopted).must) == (Change.UNCHANGED, False)
    else:
        answer = scene.replan(USUAL.adopt(3))
        assert (answer.change, answer.must, answer.plan.night.date) == (Change.MOVED, True, night(6))
