"""Four ways to pick a night, asked at every run of the weather service; each holds what it has decided.

All of them get the same chain of steps, household hours and forecasts.  The plain ones look at the single forecast
alone: a night will do if its forecast stays within the limits, whatever the forecast's error.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

import numpy as np
from planning_builders import moment

from scheduler.household.policy import Policy
from scheduler.planning.adopted import Past, carried_on, taken_on
from scheduler.planning.nights import Search, find_nights
from scheduler.planning.plan import choose_night
from scheduler.planning.replan import replan
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.chain import Chain

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Scene:
    """What a household sees when a run comes in."""

    now: float
    chain: Chain
    search: Search
    nights: tuple[Night, ...]

    @cached_property
    def plain_nights(self) -> tuple[Night, ...]:
        """As the single forecast has them, each that holds called good."""
        return plain(self.search)


class Player(Protocol):
    """Somebody with one batch."""

    name: str

    def look(self, scene: Scene) -> Plan | None:
        """The plan to follow until the next run."""


@dataclass
class FirstNight:
    """Takes the first night whose single forecast holds, and stays with it whatever comes."""

    name: str = "first night, never moved"
    held: Plan | None = None

    def look(self, scene: Scene) -> Plan | None:
        if self.held is None:
            self.held = choose_night(scene.chain, scene.plain_nights).plan
        return self.held


@dataclass
class EveryRun:
    """Takes the first night whose single forecast holds, at every run anew."""

    name: str = "the same, anew at every run"

    def look(self, scene: Scene) -> Plan | None:
        return choose_night(scene.chain, scene.plain_nights).plan


@dataclass
class NoMemory:
    """Asks the tool which night is next, at every run anew, and never tells it what was decided."""

    name: str = "this tool's `next` at every run"

    def look(self, scene: Scene) -> Plan | None:
        return choose_night(scene.chain, scene.nights).plan


@dataclass
class ThisTool:
    """Adopts the tool's night, replans at every run, and does what it says."""

    takes: bool = True
    """Whether proposals for a committed plan are taken."""
    policy: Policy = field(default_factory=Policy)
    past: Past | None = None

    @property
    def name(self) -> str:
        lit_from = "" if self.policy.go == Policy().go else f", lit from {self.policy.go:.2f}"
        return f"this tool, proposals {'taken' if self.takes else 'not taken'}{lit_from}"

    def look(self, scene: Scene) -> Plan | None:
        issued_at, now = moment(scene.search.weather.issued), moment(scene.now)
        if self.past is None:
            plan = choose_night(scene.chain, scene.nights).plan
            self.past = None if plan is None else Past(taken_on(plan, issued_at, now))
            return plan
        answer = replan(scene.chain, scene.search, scene.nights, self.past, self.policy)
        if answer.change is Change.LOST:
            self.past = None
            return None
        if answer.proposed is not None and self.takes:
            self.past = Past(replace(taken_on(answer.proposed, issued_at, now), moved_at=now))
            return answer.proposed
        looks = (*self.past.looks, *(() if answer.look is None else (answer.look,)))
        adopted = carried_on(answer, issued_at, now)
        self.past = Past(adopted, looks if adopted.night == self.past.adopted.night else ())
        return None if answer.change is Change.NO_GO else answer.plan


class Surely:
    """A spread that takes the single forecast for the truth."""

    def chances(self, light: Floats, lift: Floats, ceiling_c: float) -> Floats:
        return np.ones(len(light))

    def words(self, light: float, lift: float, site: Site) -> str:
        return "from the single forecast"


def plain(search: Search) -> tuple[Night, ...]:
    """The nights by the single forecast alone."""
    return find_nights(replace(search, spread=Surely()))
