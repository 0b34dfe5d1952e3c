"""What holds of replanning whatever the forecasts say, run after run, while the steps are done when they are due."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st
from planning_builders import HOUR_S, examples, moment
from replan_scenes import MONDAY, NIGHTS, STAYS, Scene, times_of

from scheduler.household.process import LIFT
from scheduler.planning.answers import Verdict
from scheduler.planning.plan import choose_night
from scheduler.planning.replanned import Change, Replanned, State

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.planning.adopted import Adopted, Look

RUN_H = 6
"""A new forecast comes so often."""

SEASONS = 30
"""Each is up to fourteen replans."""

chance = st.sampled_from([0.0, 0.2, 0.39, 0.42, 0.5, 0.6, 0.7, 0.75, 0.85, 0.95])
chances = st.tuples(*[chance] * NIGHTS)
nights = st.frozensets(st.integers(3, NIGHTS - 1), max_size=3)
weather = st.tuples(chances, nights, nights)
seasons = st.lists(weather, min_size=2, max_size=14)


@dataclass(frozen=True)
class Run:
    """One replan of a season."""

    scene: Scene
    before: Adopted
    looks: tuple[Look, ...]
    answer: Replanned


def scene_of(run: int, said: tuple[tuple[float, ...], frozenset[int], frozenset[int]], done: Sequence = ()) -> Scene:
    return Scene(chances=said[0], hot=said[1], unknown=said[2] - said[1], now=MONDAY + run * RUN_H * HOUR_S,
                 done=tuple(done))  # fmt: skip


def followed(season: Sequence) -> Iterator[Run]:
    """A household that adopts the first plan there is, and does every step of it before the lift when it is due."""
    adopted, looks, done = None, (), []
    for run, said in enumerate(season):
        scene = scene_of(run, said, done)
        if adopted is None:
            plan = scene.choose()
            adopted = None if plan is None else scene.adopt((plan.night.date - moment(MONDAY).date()).days)
            continue
        answer = scene.replan(adopted, looks)
        yield Run(scene, adopted, looks, answer)
        if answer.plan is None or answer.state is State.LIFTED:
            return
        moved = answer.plan.night.date != adopted.night
        looks = () if moved else (*looks, *([answer.look] if answer.look else []))
        adopted = scene.carried(answer)
        due = scene.now + RUN_H * HOUR_S
        known = {name for name, _ in done}
        done += [
            (one.step.name, one.at)
            for one in answer.plan.steps
            if one.step.name not in known and one.at is not None and one.at.timestamp() < due and not one.done
        ]


@examples(SEASONS)
@given(seasons)
def test_a_step_that_is_done_never_moves(season):
    for run in followed(season):
        done = dict(run.scene.done)
        assert not done.keys() & {one.step for one in run.answer.moved}
        if run.answer.plan is not None:
            times = times_of(run.answer.plan)
            assert all(times[name] == at for name, at in done.items() if name in times)


@examples(SEASONS)
@given(seasons)
def test_a_plan_moves_at_most_once_a_day_without_having_to_and_never_once_it_is_committed(season):
    last = None
    for run in followed(season):
        answer = run.answer
        if answer.change is not Change.MOVED or answer.must:
            continue
        assert answer.state is State.TENTATIVE
        assert last is None or run.scene.now - last >= 24 * HOUR_S
        last = run.scene.now


@examples(SEASONS)
@given(seasons)
def test_a_plan_never_stays_under_the_floor_where_a_night_that_is_borderline_can_be_made(season):
    for run in followed(season):
        answer, scene = run.answer, run.scene
        if answer.plan is None or answer.state in (State.SMOKING, State.LIFTED):
            continue
        night = answer.plan.night
        if night.verdict is Verdict.UNKNOWN or night.chance is None or night.chance >= scene.policy.must_below:
            continue
        others = [one for one in scene.nights if one.date != night.date]
        assert choose_night(scene.chain, others).plan is None


@examples(SEASONS)
@given(seasons)
def test_nothing_is_lost_while_a_night_that_is_borderline_can_be_made(season):
    for run in followed(season):
        if run.answer.change is Change.LOST:
            assert run.scene.choose() is None


@examples(SEASONS)
@given(seasons)
def test_the_same_forecast_once_more_changes_nothing(season):
    for run in followed(season):
        if run.answer.plan is None:
            continue
        looks = () if run.answer.plan.night.date != run.before.night else run.looks
        again = run.scene.replan(run.scene.carried(run.answer), looks)
        assert again.change in STAYS
        assert times_of(again.plan) == times_of(run.answer.plan)
        if run.answer.change is Change.UNCHANGED:
            assert again.change is Change.UNCHANGED


@examples(SEASONS)
@given(seasons)
def test_a_must_has_a_cause_and_an_unchanged_plan_has_no_time_that_is_another(season):
    for run in followed(season):
        answer = run.answer
        assert (answer.change is Change.UNCHANGED and not answer.must) == (answer.cause is None)
        if answer.change in (Change.UNCHANGED, Change.PROPOSED):
            late = {one.planned.step.name for one in answer.overdue}
            assert all(one.step in late or (waits_for(one.step, late) and one.now > one.was) for one in answer.moved)


def waits_for(name: str, late: set[str]) -> bool:
    """Whether a step of the invented process comes after one of these, and not after its lighting."""
    led_to = {"thaw": {"salt", "rinse"}, "salt": {"rinse"}, "soak": {"store"}, LIFT: {"slice"}}
    return any(name in led_to.get(one, ()) for one in late)


@examples(SEASONS)
@given(chances, st.integers(3, NIGHTS - 1))
def test_unknown_weather_never_moves_a_plan(said, day):
    adopted = Scene().adopt(day)
    answer = Scene(chances=said, unknown=frozenset(range(3, NIGHTS))).replan(adopted)
    assert (answer.change, answer.verdict) == (Change.UNCHANGED, Verdict.UNKNOWN)
