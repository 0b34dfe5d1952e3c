"""A smoke that runs: lift by the weather, later where the tray was lit again; and what comes after it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from replan_scenes import AT_HOME, LIT, RINSED, SITE, Scene, clock, times_of, when

from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import Cause, Change, State

BEFORE = Scene(done=RINSED, now=clock(3, 15))
ADOPTED = BEFORE.adopt(3)
"""Lit on Thursday 16:00, lifted on Friday 04:00."""
SMOKING = Scene(done=LIT, now=clock(3, 20))


def test_a_smoke_that_runs_as_planned_is_unchanged():
    answer = SMOKING.replan(ADOPTED)
    assert (answer.change, answer.state, answer.moved, answer.lift_by) == (Change.UNCHANGED, State.SMOKING, (), None)
    assert times_of(answer.plan)["lift"] == when(4, 4)
    assert answer.verdict is Verdict.GOOD


def test_it_warms_while_smoking_so_the_lift_comes_earlier():
    scene = SMOKING.but(hot_from=clock(4, 2))
    answer = scene.replan(ADOPTED)
    assert (answer.change, answer.cause, answer.must) == (Change.LIFT_EARLY, Cause.WEATHER, True)
    assert when(4, 1) < answer.lift_by < when(4, 2), "where the air passes the ceiling"
    assert times_of(answer.plan)["lift"] == answer.lift_by
    assert [one.step for one in answer.moved] == ["lift"], "12 h later the slicing still holds"


def test_it_warms_while_everybody_sleeps_so_the_lift_is_before_bed():
    site = replace(SITE, household_hours=AT_HOME)
    scene = SMOKING.but(hot_from=clock(4, 2), site=site)
    answer = scene.replan(BEFORE.but(site=site).adopt(3))
    assert times_of(answer.plan)["lift"] == when(3, 22.5)
    assert answer.lift_by > when(4, 1)


def test_an_early_lift_that_was_taken_on_is_told_once():
    scene = SMOKING.but(hot_from=clock(4, 2))
    first = scene.replan(ADOPTED)
    again = scene.replan(scene.carried(first))
    assert (again.change, again.lift_by) == (Change.UNCHANGED, first.lift_by)


def test_an_early_lift_is_taken_back_where_the_weather_lets_it_be():
    scene = SMOKING.but(hot_from=clock(4, 2))
    answer = SMOKING.replan(scene.carried(scene.replan(ADOPTED)))
    assert (answer.change, answer.cause) == (Change.MOVED, Cause.WEATHER)
    assert times_of(answer.plan)["lift"] == when(4, 4)


def test_a_tray_that_was_lit_again_moves_the_lift():
    scene = SMOKING.but(batch=replace(SMOKING.batch, relit=when(3, 19)))
    answer = scene.replan(ADOPTED)
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.FIRE_OUT, True)
    assert times_of(answer.plan)["lift"] > when(4, 4)
    assert scene.replan(scene.carried(answer)).change is Change.UNCHANGED


def test_a_tray_lit_later_than_planned_moves_what_hangs_from_it():
    late = (*RINSED, ("light", when(3, 17)))
    answer = Scene(done=late, now=clock(3, 17.5)).replan(ADOPTED)
    assert (answer.change, answer.cause) == (Change.MOVED, Cause.LATE)
    assert times_of(answer.plan)["lift"] == when(4, 5)
    assert "light" not in {one.step for one in answer.moved}, "what is done is not moved"


def test_weather_that_nobody_knows_lets_a_smoke_be():
    answer = SMOKING.but(unknown=frozenset({3})).replan(ADOPTED)
    assert (answer.change, answer.lift_by) == (Change.UNCHANGED, None)
    old = SMOKING.but(issued=clock(1, 12), hot_from=clock(3, 21)).replan(ADOPTED)
    assert (old.change, old.lift_by) == (Change.UNCHANGED, None)


def test_a_lift_that_is_past_and_not_recorded_is_asked_about():
    answer = SMOKING.but(now=clock(4, 5)).replan(ADOPTED)
    assert [one.planned.step.name for one in answer.overdue] == ["lift"]
    assert answer.overdue[0].was_due == when(4, 4)


def test_after_the_lift_nothing_hangs_from_the_weather():
    over = (*LIT, ("lift", when(4, 4)))
    scene = Scene(done=over, now=clock(4, 7), hot=frozenset(range(10)))
    answer = scene.replan(ADOPTED)
    assert (answer.change, answer.state, answer.must) == (Change.UNCHANGED, State.LIFTED, False)
    assert answer.verdict is ADOPTED.verdict
    assert times_of(answer.plan)["slice"] == when(4, 16)


def test_steps_after_the_lift_follow_when_it_was():
    over = (*LIT, ("lift", when(4, 6)))
    answer = Scene(done=over, now=clock(4, 20)).replan(ADOPTED)
    assert times_of(answer.plan)["slice"] >= when(4, 6) + timedelta(hours=8)
