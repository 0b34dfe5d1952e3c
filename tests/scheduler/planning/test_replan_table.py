"""The rules of replanning as one table: what happens, by how firmly the plan stands."""

from __future__ import annotations

from datetime import timedelta

import pytest
from planning_builders import moment
from replan_scenes import CURED, Scene, clock, night, when, with_chances

from scheduler.household.policy import Policy
from scheduler.planning.adopted import Look
from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import State

SCENES = {
    State.TENTATIVE: Scene(policy=Policy(begin=0.0)),
    State.COMMITTED: Scene(done=CURED, now=clock(2, 8)),
    State.LOCKED: Scene(done=CURED, now=clock(3, 8)),
}
"""Thursday (3) is taken on; Friday (4) is the only other night that can be had."""

SITUATIONS = {
    "nothing changed": {"chances": with_chances(d3=0.6)},
    "Friday is better by 0.12": {"chances": with_chances(d3=0.62, d4=0.76)},
    "Friday is better by 0.17": {"chances": with_chances(d3=0.62, d4=0.81)},
    "Friday is better by 0.35": {"chances": with_chances(d3=0.62, d4=0.99)},
    "under the floor, Friday holds": {"chances": with_chances(d3=0.35, d4=0.6)},
    "under the floor, no other": {"chances": with_chances(d3=0.35)},
    "between floor and go, no other": {"chances": with_chances(d3=0.45)},
    "window gone, Friday holds": {"chances": with_chances(d3=0.6, d4=0.6), "hot": frozenset({3})},
    "window gone, no other": {"chances": with_chances(d3=0.6), "hot": frozenset({3})},
    "nobody knows the weather": {"chances": with_chances(d3=0.6, d4=0.9), "unknown": frozenset({3})},
    "taken, Friday holds": {"chances": with_chances(d3=0.9, d4=0.6), "taken": frozenset({night(3)})},
    "taken, no other": {"chances": with_chances(d3=0.9), "taken": frozenset({night(3)})},
}

TABLE = """
                                  |       | tentative      | committed      | locked
nothing changed                   | once  | unchanged      | unchanged      | unchanged
Friday is better by 0.12          | once  | unchanged      | unchanged      | unchanged
Friday is better by 0.12          | twice | moved          | unchanged      | unchanged
Friday is better by 0.17          | once  | moved          | unchanged      | unchanged
Friday is better by 0.17          | twice | moved          | unchanged      | unchanged
Friday is better by 0.35          | once  | moved          | unchanged      | proposed
Friday is better by 0.35          | twice | moved          | proposed       | proposed
under the floor, Friday holds     | once  | moved must     | moved must     | moved must
under the floor, no other         | once  | unchanged must | unchanged must | no-go must
between floor and go, no other    | once  | unchanged      | unchanged      | no-go must
window gone, Friday holds         | once  | moved must     | moved must     | moved must
window gone, no other             | once  | lost must      | lost must      | lost must
nobody knows the weather          | once  | unchanged      | unchanged      | unchanged
taken, Friday holds               | once  | moved must     | moved must     | moved must
taken, no other                   | once  | lost must      | lost must      | lost must
"""


def rows():
    """Situation, how many forecasts told of it, state, and what happens."""
    lines = [[cell.strip() for cell in line.split("|")] for line in TABLE.strip("\n").splitlines()]
    states = [State(name) for name in lines[0][2:]]
    for situation, told, *outcomes in lines[1:]:
        for state, outcome in zip(states, outcomes, strict=True):
            yield pytest.param(situation, told, state, outcome, id=f"{state}: {situation}, {told}")


@pytest.mark.parametrize(("situation", "told", "state", "outcome"), list(rows()))
def test_each_cell_of_the_table_holds(situation, told, state, outcome):
    plain = SCENES[state]
    scene = plain.but(**SITUATIONS[situation])
    adopted = plain.adopt(3, verdict=Verdict.BORDERLINE)
    gain = float(situation.rpartition(" ")[2]) if "better" in situation else 0.0
    earlier = (Look(moment(scene.now) - timedelta(hours=6), night(4), gain),) if told == "twice" else ()
    answer = scene.replan(adopted, earlier)
    assert answer.state is state
    assert f"{answer.change.value}{' must' if answer.must else ''}" == outcome
    assert (answer.proposed is not None) == (outcome == "proposed")
    if outcome.startswith("moved"):
        assert answer.plan.night.date == night(4)
    assert answer.was.night == answer.is_now.night == night(3)


def test_the_table_speaks_of_every_situation():
    assert {one.values[0] for one in rows()} == set(SITUATIONS)
    assert when(3, 16) == SCENES[State.LOCKED].adopt(3).light
