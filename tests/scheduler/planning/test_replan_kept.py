"""What an adopted night is held to: its ceiling by the chance alone, its floor with slack; a new one to all limits."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from replan_scenes import CURED, LIT, RINSED, SITE, Scene, clock, night, times_of, with_chances

from scheduler.faces.replan_words import why_moved
from scheduler.household.policy import Policy
from scheduler.household.units import show_temperature
from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import Cause, Change

MIDNIGHT_H = {3: 84, 4: 108}
"""Hours from that Monday noon to the midnight of a night: every window of it holds that."""
OVER_C = SITE.limits.ceiling_c + 0.3
FLOOR_C = SITE.limits.floor_c


def air(day, midnight_c):
    """Ten degrees but for one midnight."""
    readings = np.full(220, 10.0)
    readings[MIDNIGHT_H[day]] = midnight_c
    return tuple(readings)


def tentative(chance, midnight_c, **changes):
    """Friday's plan of Monday, and what Friday has come to."""
    return Scene(cool_c=air(4, midnight_c), chances=with_chances(d4=chance, d6=0.9), **changes)


@pytest.mark.parametrize(("chance", "change"), [(0.40, Change.UNCHANGED), (0.39, Change.MOVED)])
def test_a_line_over_the_ceiling_moves_an_adopted_night_only_as_its_chance_falls_under_the_floor(chance, change):
    scene = tentative(chance, OVER_C, policy=Policy(gain=9, gain_twice=9))
    answer = scene.replan(Scene().adopt(4))
    assert (answer.change, answer.must) == (change, change is Change.MOVED)
    assert answer.is_now.peak_c == pytest.approx(OVER_C)


def test_a_line_over_the_ceiling_is_no_new_night_however_likely():
    scene = tentative(0.95, OVER_C)
    assert scene.choose().night.date == night(6)
    assert next(one for one in scene.nights if one.date == night(4)).verdict is Verdict.NO


@pytest.mark.parametrize(("chance", "change"), [(0.60, Change.UNCHANGED), (0.59, Change.NO_GO)])
def test_on_the_day_the_chance_decides_and_not_the_line(chance, change):
    scene = Scene(done=CURED, now=clock(3, 8), cool_c=air(3, OVER_C), chances=with_chances(d3=chance))
    adopted = scene.but(cool_c=None, chances=(0.9,) * 10).adopt(3)
    assert scene.replan(adopted).change is change


def test_a_night_that_misses_a_limit_by_little_is_borderline_at_best():
    answer = tentative(0.95, OVER_C).replan(Scene().adopt(4, verdict=Verdict.GOOD))
    assert (answer.change, answer.verdict) == (Change.UNCHANGED, Verdict.BORDERLINE)
    assert answer.plan.night.reasons[0].endswith("0.3 °C over your ceiling")


@pytest.mark.parametrize(
    ("under_k", "slack_k", "stays"), [(0.9, 1.0, True), (1.1, 1.0, False), (0.1, 0.0, False), (1.9, 2.0, True)]
)
def test_an_adopted_night_is_left_only_where_it_is_colder_than_the_slack_under_the_floor(under_k, slack_k, stays):
    scene = tentative(0.95, FLOOR_C - under_k, policy=Policy(floor_slack_k=slack_k))
    adopted = Scene().adopt(4)
    answer = scene.replan(adopted)
    assert (answer.change, answer.cause) == ((Change.UNCHANGED, None) if stays else (Change.MOVED, Cause.WEATHER))
    assert answer.plan.night.date == night(4 if stays else 6)
    if stays:
        assert times_of(answer.plan) == dict(adopted.steps)
        assert answer.verdict is Verdict.BORDERLINE


def test_a_new_night_has_to_keep_the_floor_itself():
    assert tentative(0.95, FLOOR_C - 0.1).choose().night.date == night(6)


def test_the_report_says_by_how_much_the_floor_is_missed():
    scene = tentative(0.95, FLOOR_C - 0.6)
    question = SimpleNamespace(site=SITE, now=Scene().replan(Scene().adopt(4)).is_now.issued_at, batch=scene.batch)
    told = why_moved(scene.replan(Scene().adopt(4)), question)
    floor = show_temperature(FLOOR_C, SITE.units)
    assert any(f"0.6 °C under your floor of {floor}" in one and "left from 1.0 °C on" in one for one in told)
    assert not why_moved(Scene().replan(Scene().adopt(4)), question)


def test_a_smoke_that_runs_is_not_lifted_for_air_that_it_was_lit_with():
    adopted = Scene(done=RINSED, now=clock(3, 15)).adopt(3)
    running = Scene(done=LIT, now=clock(3, 20))
    assert running.but(cool_c=air(3, FLOOR_C - 0.9)).replan(adopted).change is Change.UNCHANGED
    assert running.but(cool_c=air(3, FLOOR_C - 1.1)).replan(adopted).change is Change.LIFT_EARLY


def test_a_line_far_over_the_ceiling_with_no_other_night_is_lost():
    scene = Scene(done=CURED, now=clock(2, 8), hot=frozenset({3}), chances=with_chances(d3=0.9))
    assert scene.replan(scene.but(hot=frozenset()).adopt(3)).change is Change.LOST
