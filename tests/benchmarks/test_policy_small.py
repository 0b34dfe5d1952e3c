"""A few batches of one autumn, and what a household does in the simulation: the short twin of the benchmark."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from planning_builders import moment
from policy_players import EveryRun, FirstNight, ThisTool
from policy_seasons import DAY_S, ORACLE, Share, Tally, World, follow, frozen_fish, household, openings, play
from policy_study import MEASURED
from policy_weather import Runs, new_york


@cache
def autumn() -> World:
    runs = Runs(new_york("JFK"), replace(MEASURED, every_h=24), seed=5)
    return World(runs, household(), frozen_fish(runs.issued_s(0)))


@cache
def played() -> dict[str, Tally]:
    firsts = openings(autumn().runs, 12.0, months=(4, 9, 10))
    return play(autumn(), lambda: (FirstNight(), EveryRun(), ThisTool()), firsts)


def test_this_tool_lights_fewer_nights_that_turn_too_warm_than_who_never_moves() -> None:
    found = played()
    assert found["this tool, proposals taken"].under.value >= found["first night, never moved"].under.value


def test_its_plans_move_less_than_those_decided_anew_at_every_run() -> None:
    found = played()
    assert found["this tool, proposals taken"].moves < found["the same, anew at every run"].moves


def test_who_knows_the_weather_never_lights_a_night_that_turns_too_warm_or_too_cold() -> None:
    known = played()[ORACLE]
    assert known.lit
    assert known.under.value == known.over_floor.value == 1.0


def test_who_never_moves_never_moves() -> None:
    assert played()["first night, never moved"].moves == 0


def test_a_batch_is_lit_only_after_its_thaw_cure_and_rest() -> None:
    # 24 h in thaw, 44 in salt, 1 at rest, 85 min at the hands.
    least_days = (24 + 44 + 1 + 85 / 60) / 24
    for tally in played().values():
        assert all(one.waited_days >= least_days for one in tally.lit)
        assert all(one.lift_s - one.lit_s >= 12 * 3600 for one in tally.lit)


def test_food_that_has_begun_is_lit_or_lost_and_never_given_up() -> None:
    world = autumn()
    for first in openings(world.runs, 12.0, months=(4, 9)):
        outcome = follow(world, Begins(), first)
        assert outcome.lost
        assert outcome.lit_s is None


class Begins(FirstNight):
    """Starts on the first night's plan and then has none."""

    name = "begins, and then has no plan"
    looks = 0

    def look(self, scene):
        begun = any(scene.chain.batch.done)
        return None if begun else super().look(scene)


@pytest.mark.parametrize(
    ("count", "of", "low", "high"), [(8, 10, 0.490, 0.943), (0, 10, 0.0, 0.278), (10, 10, 0.722, 1.0)]
)
def test_the_interval_is_wilsons(count: int, of: int, low: float, high: float) -> None:
    # Values of scipy.stats.binomtest(...).proportion_ci(method="wilson").
    from scipy.stats import binomtest

    expected = binomtest(count, of).proportion_ci(method="wilson")
    assert Share(count, of).interval == pytest.approx((expected.low, expected.high), abs=1e-6)
    assert Share(count, of).interval == pytest.approx((low, high), abs=1e-3)


def test_batches_are_opened_on_days_apart_and_end_before_the_weather() -> None:
    runs = autumn().runs
    firsts = openings(runs, 12.0, months=(1, 10))
    assert {moment(runs.issued_s(run)).month for run in firsts} == {1, 10}
    assert all(b - a >= 12 for a, b in pairwise(firsts))
    assert runs.issued_s(firsts[-1]) + 34 * DAY_S <= runs.issued_s(runs.count)
