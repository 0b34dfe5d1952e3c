"""Small rules of replanning that a wrong sign would turn round."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_builders import hour_spans
from replan_scenes import AT_HOME, CURED, LIT, RINSED, SITE, Scene, clock, night, times_of, when, with_chances

from scheduler.household.process import LIFT
from scheduler.planning.replanned import Cause, Change, State

THAWING = (("thaw", when(0, 18)),)
"""To be salted by Wednesday 18:00: lit on Thursday, Friday or Saturday."""


@pytest.mark.parametrize(("thursday", "saturday", "taken"), [(0.45, 0.54, 5), (0.52, 0.45, 3), (0.39, 0.41, 5)])
def test_food_on_its_way_takes_the_night_worth_most_of_those_over_the_floor(thursday, saturday, taken):
    scene = Scene(done=THAWING, now=clock(1, 8))
    adopted = scene.adopt(4)
    hot = scene.but(hot=frozenset({4}), chances=with_chances(d3=thursday, d4=0.9, d5=saturday))
    answer = hot.replan(adopted)
    assert (answer.change, answer.must, answer.plan.night.date) == (Change.MOVED, True, night(taken))


@pytest.mark.parametrize("hour", [18, 20, 21])
def test_a_lighting_that_cannot_be_kept_moves_as_little_as_it_can_within_its_night(hour):
    site = replace(SITE, household_hours=AT_HOME)
    scene = Scene(done=CURED, now=clock(2, 8), site=site)
    adopted = scene.adopt(4)
    steps = {**adopted.steps, "light": when(4, hour), "check": when(4, hour + 1)}
    later = replace(adopted, light=when(4, hour), steps=steps)
    away = scene.but(busy=hour_spans((clock(4, hour - 0.25) / 3600, clock(4, hour + 0.25) / 3600)))
    answer = away.replan(later)
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.HOURS, True)
    assert abs((times_of(answer.plan)["light"] - when(4, hour)).total_seconds()) <= 20 * 60


def test_what_follows_an_overdue_step_but_has_to_come_earlier_is_a_change():
    scene = Scene(now=clock(0, 12))
    adopted = scene.adopt(5)
    late = {**adopted.steps, "rinse": when(5, 15.75)}
    now = adopted.steps["thaw"].timestamp() + 600.0
    answer = scene.but(now=now).replan(replace(adopted, steps=late))
    assert [one.planned.step.name for one in answer.overdue] == ["thaw"]
    assert answer.change is Change.MOVED, "food needs an hour between its rinse and the lighting"


def test_an_overdue_step_that_holds_up_the_lighting_itself_is_a_change():
    scene = Scene(done=CURED, now=clock(3, 13))
    adopted = scene.adopt(3)
    asked = scene.but(now=clock(3, 14.9)).replan(replace(adopted, steps={**adopted.steps, "rinse": when(3, 14)}))
    assert (asked.change, [one.planned.step.name for one in asked.overdue]) == (Change.UNCHANGED, ["rinse"])
    late = scene.but(now=clock(3, 15.5)).replan(replace(adopted, steps={**adopted.steps, "rinse": when(3, 14)}))
    assert (late.change, late.cause, times_of(late.plan)["light"]) == (Change.MOVED, Cause.LATE, when(3, 16.5))


def test_what_follows_an_overdue_lift_gets_later_with_it_and_is_no_change():
    adopted = Scene(done=RINSED, now=clock(3, 15)).adopt(3)
    looked = (*LIT, ("check", when(3, 17)))
    answer = Scene(done=looked, now=adopted.lift.timestamp() + 5.5 * 3600).replan(adopted)
    assert (answer.change, [one.planned.step.name for one in answer.overdue]) == (Change.UNCHANGED, [LIFT])
    assert times_of(answer.plan)["slice"] > adopted.steps["slice"]


@pytest.mark.parametrize(("over", "overdue"), [(False, []), (True, ["light"])])
def test_a_lighting_does_not_move_with_the_clock_and_is_asked_about_once_it_is_past(over, overdue):
    scene = Scene(done=RINSED, now=clock(3, 15))
    adopted = scene.adopt(3)
    answer = scene.but(now=adopted.light.timestamp() + (60 if over else 0)).replan(adopted)
    assert (answer.state, answer.change) == (State.LOCKED, Change.UNCHANGED)
    assert [one.planned.step.name for one in answer.overdue] == overdue
