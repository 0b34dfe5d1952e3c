"""When a better night moves a plan, when it is only proposed, and when it is let be."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from planning_builders import HOUR_S
from replan_scenes import CURED, Scene, clock, night, times_of, when, with_chances

from scheduler.household.policy import Policy
from scheduler.planning.adopted import Look
from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import Cause, Change, State

THEN, NOW = clock(0, 18), clock(1, 0)
"""Two forecasts that are six hours apart."""


ANY_BEGIN = Policy(begin=0.0)
"""So that no night is too unlikely to begin for."""


def tentative(gain, **changes):
    """Friday's plan, and a Saturday that is better by so much, a day of waiting taken off."""
    return Scene(chances=with_chances(d4=0.6, d5=0.6 + gain + 0.02), now=NOW, policy=ANY_BEGIN, **changes)


def committed(gain):
    """Thursday's plan with fish in its cure, and a Friday that is better by so much."""
    return Scene(done=CURED, now=clock(2, 8), chances=with_chances(d3=0.6, d4=0.6 + gain + 0.02))


def look(gain, *, day=5, at=THEN):
    return Look(when(0, 0) + timedelta(seconds=at - clock(0, 0)), night(day), gain)


@pytest.mark.parametrize(
    ("gain", "looks", "moves"),
    [
        (0.15, (), True),
        (0.14, (), False),
        (0.10, (look(0.10),), True),
        (0.10, (look(0.09),), False),
        (0.09, (look(0.15),), False),
        (0.10, (look(0.10, day=6),), False),
        (0.10, (look(0.10, at=NOW - 5.9 * HOUR_S),), False),
        (0.10, (look(0.10), look(0.0, day=4, at=NOW - HOUR_S)), False),
        (0.10, (look(0.10), look(0.10, at=NOW - HOUR_S)), True),
    ],
    ids=[
        "a large gain", "not quite", "twice", "the first was too small", "the second is too small",
        "it was another night", "too soon after the first", "not in a row", "three in a row",
    ],
)  # fmt: skip
def test_a_tentative_plan_moves_for_a_large_gain_or_a_smaller_one_told_twice(gain, looks, moves):
    scene = tentative(gain)
    answer = scene.replan(scene.adopt(4), looks)
    assert (answer.state, answer.must) == (State.TENTATIVE, False)
    assert (answer.change, answer.cause) == ((Change.MOVED, Cause.BETTER) if moves else (Change.UNCHANGED, None))
    assert answer.plan.night.date == night(5 if moves else 4)
    if moves:
        assert answer.gain == pytest.approx(gain)


def test_waiting_takes_its_share_off_a_gain():
    scene = Scene(chances=with_chances(d3=0.6, d8=0.6 + 0.15 + 5 * 0.02), policy=ANY_BEGIN)
    assert scene.replan(scene.adopt(3)).gain == pytest.approx(0.15)
    scene = Scene(chances=with_chances(d3=0.6, d8=0.6 + 0.15 + 4.5 * 0.02), policy=ANY_BEGIN)
    assert scene.replan(scene.adopt(3)).change is Change.UNCHANGED


@pytest.mark.parametrize(
    ("gain", "looks", "proposes"),
    [
        (0.30, (), False),
        (0.20, (look(0.20, day=4),), True),
        (0.19, (look(0.20, day=4),), False),
        (0.20, (look(0.19, day=4),), False),
        (0.20, (look(0.20, day=5),), False),
    ],
    ids=["one forecast is not enough", "two are", "too small now", "too small then", "another night then"],
)
def test_a_committed_plan_only_has_a_better_night_proposed_that_two_forecasts_tell_of(gain, looks, proposes):
    scene = committed(gain)
    adopted = scene.adopt(3)
    answer = scene.replan(adopted, looks)
    assert (answer.state, answer.must) == (State.COMMITTED, False)
    assert times_of(answer.plan) == dict(adopted.steps), "it stays in any case"
    if proposes:
        assert (answer.change, answer.cause) == (Change.PROPOSED, Cause.BETTER)
        assert answer.proposed.night.date == night(4)
        assert answer.gain == pytest.approx(gain)
        assert times_of(answer.proposed)["salt"] == when(1, 18), "what is done is not moved"
    else:
        assert (answer.change, answer.proposed) == (Change.UNCHANGED, None)


def test_a_gain_that_may_count_later_is_remembered_and_one_that_is_too_small_is_not():
    scene = tentative(0.12)
    answer = scene.replan(scene.adopt(4))
    assert answer.look.night == night(5)
    assert answer.look.gain == pytest.approx(0.12)
    assert answer.look.issued_at == when(1, 0)
    scene = tentative(0.05)
    assert scene.replan(scene.adopt(4)).look is None


def test_a_forecast_that_says_nothing_of_it_breaks_the_row():
    scene = tentative(0.05)
    broken = scene.replan(scene.adopt(4), (look(0.12),)).look
    assert (broken.night, broken.gain) == (night(4), 0.0)
    assert scene.replan(scene.adopt(4), (look(0.12), broken)).look is None, "once is enough"


@pytest.mark.parametrize(("hours", "moves"), [(23.9, False), (24.0, True)])
def test_a_plan_moves_at_most_once_a_day_without_having_to(hours, moves):
    scene = tentative(0.3)
    adopted = scene.adopt(4, moved_at=when(1, 0) - timedelta(hours=hours))
    answer = scene.replan(adopted)
    assert answer.change is (Change.MOVED if moves else Change.UNCHANGED)
    assert moves or answer.look.gain == pytest.approx(0.3)


def test_a_must_does_not_wait_for_the_day_to_pass():
    scene = tentative(0.3, hot=frozenset({4}))
    adopted = tentative(0.3).adopt(4, moved_at=when(0, 23))
    answer = scene.replan(adopted)
    assert (answer.change, answer.must) == (Change.MOVED, True)
    assert scene.carried(answer).moved_at == when(0, 23), "a must is not counted"


def test_a_move_that_was_none_of_the_musts_is_counted():
    scene = tentative(0.3)
    assert scene.carried(scene.replan(scene.adopt(4))).moved_at == when(1, 0)


def within_one_night(minutes, *, committed):
    """A plan for Friday that is lit so many minutes before the hour from which its chance is 95 %, not 60 %."""
    done, now = ((("thaw", when(1, 12)), ("salt", when(2, 18))), clock(2, 20)) if committed else ((), clock(0, 12))
    better = clock(4, 18)
    scene = Scene(
        done=done,
        now=now,
        hot=frozenset({3, 5, 6, 7, 8, 9}),
        cool_c=[10.5 if hour in (100, 101) else 10.0 for hour in range(200)],
        by_clock=lambda light: 0.95 if light >= better else 0.6,
    )
    early = when(4, 18) - timedelta(minutes=minutes)
    adopted = scene.adopt(4)
    return scene, replace(adopted, light=early, lift=early + timedelta(hours=12), steps={"light": early})


@pytest.mark.parametrize(("minutes", "moves"), [(29, False), (31, True)])
def test_a_tentative_lighting_is_not_moved_by_less_than_half_an_hour_within_its_night(minutes, moves):
    scene, adopted = within_one_night(minutes, committed=False)
    answer = scene.replan(adopted)
    assert answer.state is State.TENTATIVE
    assert (answer.change is Change.MOVED) is moves
    assert answer.plan.night.date == night(4)


@pytest.mark.parametrize(("minutes", "proposes"), [(59, False), (61, True)])
def test_a_committed_lighting_is_not_asked_about_for_less_than_an_hour(minutes, proposes):
    scene, adopted = within_one_night(minutes, committed=True)
    answer = scene.replan(adopted, (look(0.30, day=4),))
    assert answer.state is State.COMMITTED
    assert (answer.change is Change.PROPOSED) is proposes


def test_the_verdict_of_a_night_moved_to_is_its_own():
    scene = tentative(0.19)
    answer = scene.replan(scene.adopt(4, verdict=Verdict.GOOD))
    assert answer.plan.night.date == night(5)
    assert answer.verdict is Verdict.GOOD if answer.plan.night.chance >= 0.8 else Verdict.BORDERLINE


def test_without_thresholds_it_is_choosing_anew():
    free = Policy(gain=-9, gain_twice=-9, move_every_h=0, ignore_min=0, must_below=0, begin=0)
    for chances in ((0.9,) * 10, with_chances(d3=0.7, d4=0.6), with_chances(d3=0.85, d4=0.7, d6=0.97)):
        scene = Scene(chances=chances, policy=free)
        for day in (3, 4, 6):
            answer = scene.replan(scene.adopt(day))
            assert times_of(answer.plan)["light"] == times_of(scene.choose())["light"]


def test_thresholds_of_nothing_take_the_chosen_night_wherever_it_is_worth_no_less():
    free = Policy(gain=0, gain_twice=0, move_every_h=0, ignore_min=0)
    scene = Scene(chances=with_chances(d4=0.6, d5=0.63, d6=0.7), policy=free)
    assert scene.replan(scene.adopt(4)).plan.night.date == scene.choose().night.date == night(6)
    scene = Scene(chances=with_chances(d4=0.82, d5=0.97), policy=free)
    assert scene.replan(scene.adopt(5)).change is Change.UNCHANGED, "a good night is earlier, and worth less"
