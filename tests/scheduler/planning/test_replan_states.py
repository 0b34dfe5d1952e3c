"""How firmly a plan stands: by what is done, what somebody said, and the time to the lighting."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_builders import MINUTE_S
from replan_scenes import CURED, LIT, RINSED, SITE, Scene, clock, when

from scheduler.household.batch import Batch
from scheduler.household.policy import Policy
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.replan_rules import kept_verdict
from scheduler.planning.replanned import State

FAR, NEAR = clock(2, 8), clock(3, 13)
FROZEN = Scene()


@pytest.mark.parametrize(
    ("done", "state"),
    [
        ((), State.TENTATIVE),
        ((("soak", when(0, 18)),), State.TENTATIVE),
        ((("thaw", when(0, 18)),), State.COMMITTED),
        (CURED, State.COMMITTED),
        ((*RINSED[:1], ("salt", when(1, 6)), ("rinse", when(3, 2))), State.LOCKED),
    ],
    ids=["nothing", "the sawdust alone", "thawing", "in its cure", "rinsed"],
)
def test_what_is_done_says_how_firm_a_plan_is(done, state):
    now = max([FROZEN.now, *(at.timestamp() for _, at in done)])
    scene = Scene(batch=Batch(state="frozen", sawdust="dry" if "soak" not in dict(done) else None), done=done, now=now)
    policy = Policy(lock_h=0.0)
    adopted = scene.adopt(4 if state is not State.LOCKED else 3)
    assert scene.but(policy=policy).replan(adopted).state is state


def test_a_state_that_was_said_commits_as_a_step_that_was_recorded():
    scene = Scene(batch=Batch(state="salted", since=when(1, 18), sawdust="dry"), now=FAR)
    assert scene.replan(scene.adopt(4)).state is State.COMMITTED


def test_somebodys_word_commits_a_plan_of_which_nothing_is_done():
    assert FROZEN.replan(FROZEN.adopt(5, committed=True)).state is State.COMMITTED


@pytest.mark.parametrize(("minutes", "state"), [(0, State.COMMITTED), (1, State.LOCKED)])
def test_a_plan_is_locked_from_less_than_a_day_before_its_lighting(minutes, state):
    scene = Scene(done=CURED, now=clock(2, 8))
    adopted = scene.adopt(3)
    assert adopted.light == when(3, 16)
    assert scene.but(now=clock(2, 16) + minutes * MINUTE_S).replan(adopted).state is state


def test_a_lit_tray_is_smoking_and_a_lifted_one_is_not():
    scene = Scene(done=RINSED, now=clock(3, 15))
    adopted = scene.adopt(3)
    assert scene.but(done=LIT, now=clock(3, 20)).replan(adopted).state is State.SMOKING
    over = (*LIT, ("lift", when(4, 6)))
    assert scene.but(done=over, now=clock(4, 7)).replan(adopted).state is State.LIFTED


def judged(chance, verdict):
    light = when(4, 18)
    return Night(when(4, 12).date(), verdict, (), 12.0, 15.0, light_best=light, light_earliest=light, chance=chance)


@pytest.mark.parametrize(
    ("before", "chance", "now", "shown"),
    [
        (Verdict.GOOD, 0.70, Verdict.BORDERLINE, Verdict.GOOD),
        (Verdict.GOOD, 0.69, Verdict.BORDERLINE, Verdict.BORDERLINE),
        (Verdict.GOOD, 0.46, Verdict.NO, Verdict.BORDERLINE),
        (Verdict.GOOD, 0.44, Verdict.NO, Verdict.NO),
        (Verdict.BORDERLINE, 0.79, Verdict.BORDERLINE, Verdict.BORDERLINE),
        (Verdict.BORDERLINE, 0.80, Verdict.GOOD, Verdict.GOOD),
        (Verdict.BORDERLINE, 0.45, Verdict.NO, Verdict.BORDERLINE),
        (Verdict.BORDERLINE, 0.44, Verdict.NO, Verdict.NO),
        (Verdict.NO, 0.54, Verdict.NO, Verdict.NO),
        (Verdict.GOOD, 0.75, Verdict.UNKNOWN, Verdict.UNKNOWN),
        (Verdict.GOOD, 0.90, Verdict.BORDERLINE, Verdict.BORDERLINE),
    ],
)
def test_a_verdict_is_left_only_well_under_what_it_asks_for(before, chance, now, shown):
    """The last one is a window in doubt, which is never good however likely."""
    assert kept_verdict(before, judged(chance, now), SITE, 0.10) is shown


def test_a_limit_that_is_missed_ends_a_verdict_at_once():
    missed = replace(judged(0.79, Verdict.NO), light_best=None, light_earliest=None)
    assert kept_verdict(Verdict.GOOD, missed, SITE, 0.10) is Verdict.NO


def test_the_shown_verdict_remembers_through_several_forecasts():
    scene, shown = FROZEN, []
    adopted = scene.adopt(4)
    for chance in (0.82, 0.72, 0.69, 0.79, 0.46, 0.44, 0.54, 0.81):
        scene = FROZEN.but(chances=(chance,) * 10)
        answer = scene.replan(adopted)
        adopted = scene.carried(answer)
        shown.append(answer.verdict.value)
    assert shown == ["good", "good", "borderline", "borderline", "borderline", "no", "no", "good"]


def test_unknown_weather_does_not_make_a_verdict_forget():
    unknown = FROZEN.but(unknown=frozenset({4}))
    adopted = unknown.carried(unknown.replan(FROZEN.adopt(4)))
    assert FROZEN.but(chances=(0.72,) * 10).replan(adopted).verdict is Verdict.GOOD
