"""Before the food's first step: what is frozen waits for a likelier night, and a better one is decided on only then."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from planning_builders import HOUR_S, moment
from replan_scenes import SITE, Scene, clock, night, when, with_chances

from scheduler.faces.replan_words import headline, why_moved
from scheduler.household.policy import Policy
from scheduler.planning.replanned import Cause, Change, State

THAW = Scene().adopt(5).steps["thaw"].timestamp()
SOON = THAW - 11 * HOUR_S


def saturday(chance, *, now=SOON, **changes):
    """A plan for Saturday, whose thaw is due in eleven hours."""
    return Scene(now=now, chances=with_chances(d5=chance), **changes)


def adopted(**changes):
    return Scene().adopt(5, **changes)


@pytest.mark.parametrize(("chance", "change"), [(0.65, Change.UNCHANGED), (0.64, Change.NO_GO)])
def test_a_night_that_is_too_unlikely_is_not_begun_for(chance, change):
    answer = saturday(chance).replan(adopted())
    waits = change is Change.NO_GO
    assert (answer.state, answer.change, answer.must, answer.wait) == (State.TENTATIVE, change, waits, waits)
    assert answer.plan.night.date == night(5)
    assert not answer.is_stuck, "nothing is to be taken: it waits"


def test_it_is_asked_only_when_the_first_step_is_due_before_long():
    assert saturday(0.6, now=THAW - 12 * HOUR_S).replan(adopted()).change is Change.UNCHANGED
    assert saturday(0.6, now=THAW - 11.9 * HOUR_S).replan(adopted()).change is Change.NO_GO


def test_a_likelier_night_is_moved_to_and_one_that_would_not_be_begun_for_either_is_not():
    scene = saturday(0.6)
    moved = scene.but(chances=with_chances(d5=0.6, d6=0.66)).replan(adopted())
    assert (moved.change, moved.must, moved.cause) == (Change.MOVED, True, Cause.WEATHER)
    assert moved.plan.night.date == night(6)
    assert scene.but(chances=with_chances(d5=0.58, d6=0.64)).replan(adopted()).change is Change.NO_GO


def test_what_somebodys_word_commits_is_only_told_of_it():
    answer = saturday(0.6).replan(adopted(committed=True))
    assert (answer.state, answer.change, answer.wait) == (State.COMMITTED, Change.UNCHANGED, True)
    told = why_moved(answer, question())
    assert any("it stands because you said so" in one for one in told)


def test_food_that_has_begun_is_not_asked_again():
    scene = saturday(0.6, now=THAW + HOUR_S, done=(("thaw", moment(THAW)),))
    answer = scene.replan(adopted())
    assert (answer.change, answer.wait) == (Change.UNCHANGED, False)


def test_while_it_waits_nobody_is_asked_whether_the_first_step_was_done():
    answer = saturday(0.6, now=THAW + HOUR_S).replan(adopted())
    assert (answer.change, answer.overdue) == (Change.NO_GO, ())


def test_more_than_a_good_night_is_never_asked():
    site = replace(SITE, good_chance=0.6)
    assert saturday(0.6, site=site).replan(adopted()).change is Change.UNCHANGED


def test_the_policy_says_what_is_asked_to_begin():
    assert saturday(0.6, policy=Policy(begin=0.6)).replan(adopted()).change is Change.UNCHANGED
    assert saturday(0.7, policy=Policy(begin=0.75)).replan(adopted()).change is Change.NO_GO


def test_the_answer_says_not_to_begin_yet_and_what_is_asked():
    told = headline(saturday(0.6).replan(adopted()), question())
    assert "do not begin yet" in told
    assert "holds with 60 %, and 65 % is asked to begin; look again with the next forecast" in told


def question():
    return SimpleNamespace(site=SITE, now=when(2, 12), batch=SimpleNamespace(name="trout", done=(), relit=None))


@pytest.mark.parametrize(("before_h", "moves"), [(23.9, True), (24.1, False)])
def test_a_better_night_is_decided_on_when_the_first_step_for_either_is_due_within_a_day(before_h, moves):
    scene = Scene(now=THAW - before_h * HOUR_S, chances=with_chances(d5=0.66, d6=0.95))
    answer = scene.replan(adopted())
    assert (answer.change is Change.MOVED) is moves
    assert moves or answer.look.night == night(6), "it is remembered"


def test_an_earlier_night_that_is_better_is_decided_on_before_its_own_first_step():
    scene = Scene(now=clock(0, 12), chances=with_chances(d3=0.95, d7=0.6))
    answer = scene.replan(Scene().adopt(7))
    assert (answer.change, answer.plan.night.date) == (Change.MOVED, night(3))
