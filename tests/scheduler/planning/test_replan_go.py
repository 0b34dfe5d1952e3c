"""Go or no-go: a locked plan, its own chance, and what waiting would bring."""

from __future__ import annotations

from dataclasses import replace

import pytest
from replan_scenes import CURED, RINSED, SITE, Scene, clock, night, times_of, with_chances

from scheduler.household.policy import Policy
from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import Cause, Change, State
from scheduler.planning.stopping import threshold


def locked(chances, **changes):
    """Fish in its cure, to be lit on Thursday or Friday, on Thursday morning."""
    return Scene(done=CURED, now=clock(3, 8), chances=chances, **changes)


def adopted(scene, **changes):
    """Thursday's plan, from when it was good."""
    return scene.but(chances=(0.9,) * 10, hot=frozenset()).adopt(3, **changes)


@pytest.mark.parametrize(("chance", "change"), [(0.60, Change.UNCHANGED), (0.59, Change.NO_GO)])
def test_fish_in_its_cure_with_no_other_night_is_lit_from_three_in_five_on(chance, change):
    scene = locked(with_chances(d3=chance))
    answer = scene.replan(adopted(scene))
    assert (answer.state, answer.change, answer.must) == (State.LOCKED, change, change is Change.NO_GO)
    assert answer.plan.night.date == night(3), "whatever is decided, this is what is decided on"


def test_the_policy_says_from_which_chance_on_it_is_a_go():
    scene = locked(with_chances(d3=0.49), policy=Policy(go=0.45))
    assert scene.replan(adopted(scene)).change is Change.UNCHANGED


def test_under_the_floor_and_nowhere_to_go_is_no_go():
    scene = locked(with_chances(d3=0.35))
    answer = scene.replan(adopted(scene))
    assert (answer.change, answer.cause, answer.must) == (Change.NO_GO, Cause.WEATHER, True)


def test_a_window_that_is_gone_with_no_other_night_is_lost():
    scene = locked(with_chances(d3=0.6), hot=frozenset({3}))
    answer = scene.replan(adopted(scene))
    assert (answer.change, answer.plan) == (Change.LOST, None)


def test_a_no_go_with_another_night_in_reach_moves_there():
    scene = locked(with_chances(d3=0.45, d4=0.6))
    answer = scene.replan(adopted(scene))
    assert (answer.change, answer.must, answer.plan.night.date) == (Change.MOVED, True, night(4))


def test_a_no_go_does_not_move_to_a_night_that_would_be_one_too():
    scene = locked(with_chances(d3=0.45, d4=0.48), site=replace(SITE, borderline_chance=0.42))
    assert scene.replan(adopted(scene)).change is Change.NO_GO


def test_a_good_night_is_lit_whatever_a_later_one_promises():
    scene = locked(with_chances(d3=0.71, d4=0.98))
    assert scene.replan(adopted(scene, verdict=Verdict.GOOD)).change is Change.UNCHANGED


def test_tonight_is_left_for_a_better_night_only_if_somebody_takes_the_proposal():
    scene = locked(with_chances(d3=0.6, d4=0.9))
    before = adopted(scene, verdict=Verdict.BORDERLINE)
    answer = scene.replan(before)
    assert threshold(1, 0.9, wait_cost=0.10) - 0.05 > 0.6
    assert (answer.change, answer.cause, answer.must) == (Change.PROPOSED, Cause.BETTER, False)
    assert answer.proposed.night.date == night(4)
    assert answer.gain == pytest.approx(0.2), "a day of waiting costs fish in its cure 10 %"
    assert times_of(answer.plan) == dict(before.steps)


def test_a_later_night_that_is_better_by_less_than_a_committed_plan_asks_for_is_let_be():
    scene = locked(with_chances(d3=0.6, d4=0.89))
    assert scene.replan(adopted(scene, verdict=Verdict.BORDERLINE)).change is Change.UNCHANGED


LONG_LOCK = Policy(lock_h=240.0, begin=0.0)
"""So that a plan of which nothing is done is asked go or no-go, with six further nights in reach."""


@pytest.mark.parametrize(
    ("others", "change"), [(0.0, Change.UNCHANGED), (0.7, Change.PROPOSED)], ids=["few nights hold", "many do"]
)
def test_how_likely_the_nights_left_are_decides_whether_tonight_is_taken(others, change):
    """Saturday is better either way; six nights at a mean of 15 % ask for 55 %, at 73 % for 96 %, less 5 %."""
    chances = (0.0, 0.0, 0.0, 0.6, others, 0.9, *(others,) * 4)
    scene = Scene(chances=chances, policy=LONG_LOCK)
    answer = scene.replan(scene.adopt(3, verdict=Verdict.BORDERLINE))
    assert (answer.state, answer.change) == (State.LOCKED, change)
    assert threshold(6, 0.9 / 6, wait_cost=0.02) == pytest.approx(0.55, abs=0.01)
    assert threshold(6, (0.9 + 5 * 0.7) / 6, wait_cost=0.02) == pytest.approx(0.96, abs=0.01)


@pytest.mark.parametrize(("left", "change"), [(9, Change.PROPOSED), (5, Change.UNCHANGED)])
def test_how_many_nights_are_left_decides_too(left, change):
    """Six nights at a mean of 27 % ask for 71 %, two at 45 % for 67 %, less 5 %."""
    chances = (0.0, 0.0, 0.0, 0.635, 0.0, 0.9, 0.25, 0.25, 0.25, 0.0)[: left + 1]
    scene = Scene(chances=chances, policy=LONG_LOCK, unknown=frozenset(range(left + 1, 10)))
    answer = scene.replan(scene.adopt(3, verdict=Verdict.BORDERLINE))
    assert answer.change is change


def test_what_has_not_begun_is_asked_what_it_takes_to_begin_and_not_what_it_takes_to_light():
    """More is asked on the day of fish that cannot go back into the freezer."""
    scene = Scene(chances=with_chances(d3=0.45), policy=LONG_LOCK)
    answer = scene.replan(scene.but(chances=(0.9,) * 10).adopt(3))
    assert (answer.state, answer.change) == (State.LOCKED, Change.UNCHANGED)


def test_unknown_weather_is_neither_go_nor_no_go():
    scene = locked((0.3,) * 10, unknown=frozenset({3}))
    answer = scene.replan(adopted(locked((0.9,) * 10)))
    assert (answer.change, answer.verdict) == (Change.UNCHANGED, Verdict.UNKNOWN)


def test_rinsed_fish_stays_for_a_better_hour_tomorrow_only_within_its_longest_wait():
    scene = Scene(done=RINSED, now=clock(3, 15), chances=with_chances(d3=0.6, d4=0.98))
    answer = scene.replan(scene.but(chances=(0.9,) * 10).adopt(3, verdict=Verdict.BORDERLINE))
    assert answer.change is Change.UNCHANGED, "24 h after the rinse end before Friday's lighting hours"
