"""A household with a plan it has taken on, nights whose chances are given, and what was done; all of it invented."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from planning_builders import ALWAYS_HOME, DAY_S, HOUR_S, at, hours_between, moment, planning_site, weather_of

from scheduler.household.batch import Batch
from scheduler.household.policy import Policy
from scheduler.household.process import ANCHOR, LIFT, Process, Step, Wait
from scheduler.household.site import Chamber, Site
from scheduler.planning.adopted import Adopted, Look, Past, carried_on, taken_on
from scheduler.planning.chain import Chain
from scheduler.planning.clock import night_of
from scheduler.planning.limits import read_weather
from scheduler.planning.nights import Search, find_nights
from scheduler.planning.plan import choose_night, plan_for
from scheduler.planning.replan import replan
from scheduler.planning.replanned import Change, Replanned
from scheduler.planning.spans import EMPTY, Spans
from scheduler.planning.warming import warming_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date, datetime

    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.curve import Curve

MONDAY = at("2024-01-15T12:00")
NIGHTS = 10
COOL_C, HOT_C = 10.0, 20.0
FAR_OVER_K, UNLIKELY = 2.0, 0.02


def clock(day: int, hour: float) -> float:
    """So many days after that Monday, at that hour: clock(3, 16) is Thursday 16:00."""
    return MONDAY - 12 * HOUR_S + day * DAY_S + hour * HOUR_S


def when(day: int, hour: float) -> datetime:
    """The same, as a datetime."""
    return moment(clock(day, hour))


def day_of(night: date) -> int:
    """How many days after that Monday a night begins."""
    return (night - when(0, 12).date()).days


def night(day: int) -> date:
    """The night that begins so many days after that Monday."""
    return when(day, 12).date()


FISH = (
    Step("thaw", "Thaw", 0.0, "salt", True, Wait(24, 24, 48), during="thawing", after="thawed"),
    Step("salt", "Salt", 0.0, "rinse", True, Wait(44, 48, 60), during="salted"),
    Step("rinse", "Rinse", 0.0, ANCHOR, True, Wait(1, 8, 24), during="rinsed"),
)
SAWDUST = (
    Step("soak", "Soak", 0.0, "store", True, Wait(24, 24, 48), branch="sawdust", during="soaking"),
    Step("store", "Store", 0.0, ANCHOR, True, Wait(0, 24, 720), branch="sawdust"),
)
AFTER = (
    Step(ANCHOR, "Light", 0.0, None, False, None),
    Step("check", "Check", 0.0, ANCHOR, False, Wait(1, 1, 1)),
    Step(LIFT, "Lift", 0.0, ANCHOR, False, None),
    Step("slice", "Slice", 0.0, LIFT, False, Wait(8, 12, 24)),
)
PROCESS = Process("invented", "Invented", ("salmon",), None, (*FISH, *SAWDUST, *AFTER))
SITE = planning_site(
    lighting_hours=hours_between("16:00", "22:00"),
    good_chance=0.80,
    borderline_chance=0.55,
    chamber=Chamber(rise_k=0.0),
)
AT_HOME = ((hours_between("06:30", "22:30"),),) * 7


@dataclass(frozen=True)
class GivenChances:
    """A spread that is told how likely each lighting is, and knows that air far over the ceiling will not hold."""

    chance: Callable[[float], float]
    air: Curve

    def chances(self, light: np.ndarray, lift: np.ndarray, ceiling_c: float) -> np.ndarray:
        told = np.array([self.chance(one) for one in light], dtype=float)
        return np.where(self.air.greatest(light, lift)[:, 0] > ceiling_c + FAR_OVER_K, UNLIKELY, told)

    def words(self, light: float, lift: float, site: Site) -> str:
        return "as the test says"


@dataclass(frozen=True)
class Scene:
    """Everything that a replan is given, easily changed."""

    chances: Sequence[float] = (0.9,) * NIGHTS
    """Of each night, from that Monday on."""
    now: float = MONDAY
    issued: float | None = None
    """None: now."""
    done: tuple[tuple[str, datetime], ...] = ()
    hot: frozenset[int] = frozenset()
    """Nights with a hot midnight."""
    hot_from: float | None = None
    unknown: frozenset[int] = frozenset()
    """Nights of which the forecast says nothing."""
    policy: Policy = field(default_factory=Policy)
    busy: Spans = EMPTY
    site: Site = SITE
    batch: Batch = field(default_factory=lambda: Batch(state="frozen", sawdust="dry"))
    by_clock: Callable[[float], float] | None = None
    """Chance by lighting, in place of the nights'."""
    taken: frozenset[date] = frozenset()
    cool_c: Sequence[float] | None = None
    """Air of each hour from that Monday noon on, in place of ever the same."""

    def but(self, **changes: Any) -> Scene:
        return replace(self, **changes)

    @cached_property
    def chain(self) -> Chain:
        batch = replace(self.batch, done=self.done)
        return Chain(self.site, PROCESS, batch, self.now, clock(NIGHTS + 40, 12), None, self.busy)

    @cached_property
    def search(self) -> Search:
        times = np.arange(MONDAY - DAY_S, clock(NIGHTS, 12) + 1, HOUR_S)
        air = np.full(len(times), COOL_C)
        if self.cool_c is not None:
            air[24 : 24 + len(self.cool_c)] = self.cool_c
        for index, one in enumerate(times):
            day = int((one - MONDAY) // DAY_S)
            hour = (one - MONDAY) % DAY_S / HOUR_S
            if day in self.hot and hour == 12:
                air[index] = HOT_C
            if day in self.unknown and 2 < hour < 22:
                air[index] = np.nan
        if self.hot_from is not None:
            air[times >= self.hot_from] = HOT_C
        forecast = weather_of(times, air, issued_s=self.now if self.issued is None else self.issued)
        warming = warming_of(read_weather(forecast), self.site)
        return Search(
            self.site, warming, GivenChances(self._chance, warming.counted.air), self.chain.smokes(), self.now
        )

    def _chance(self, light: float) -> float:
        if self.by_clock is not None:
            return self.by_clock(light)
        return self.chances[min(max(0, day_of(night_of(light, self.site.zone))), len(self.chances) - 1)]

    @cached_property
    def nights(self) -> tuple[Night, ...]:
        return find_nights(self.search)

    def plan(self, day: int) -> Plan:
        """The plan for one night, as `plan` would make it."""
        found = next(one for one in self.nights if one.date == night(day))
        plan = plan_for(self.chain, found)
        assert not hasattr(plan, "missing_h"), plan
        return plan

    def adopt(self, day: int, **changes: Any) -> Adopted:
        """That night taken on, by this scene's forecast."""
        issued = moment(self.now if self.issued is None else self.issued)
        return replace(taken_on(self.plan(day), issued, moment(self.now)), **changes)

    def choose(self) -> Plan | None:
        return choose_night(self.chain, self.nights).plan

    def replan(self, adopted: Adopted, looks: Sequence[Look] = (), *, no_go: bool = False) -> Replanned:
        past = Past(adopted, tuple(looks), no_go)
        return replan(self.chain, self.search, self.nights, past, self.policy, self.taken)

    def carried(self, answer: Replanned) -> Adopted:
        issued = moment(self.now if self.issued is None else self.issued)
        return carried_on(answer, issued, moment(self.now))


def times_of(plan: Plan) -> dict[str, datetime]:
    """When each step is to be done."""
    return {one.step.name: one.at for one in plan.steps if one.at is not None}


def with_chances(**by_day: float) -> tuple[float, ...]:
    """Nights of 30 %, but for those given: with_chances(d3=0.9)."""
    return tuple(by_day.get(f"d{day}", 0.3) for day in range(NIGHTS))


CURED = (("thaw", when(0, 18)), ("salt", when(1, 18)))
"""Fish in its cure since Tuesday 18:00: to be rinsed from Thursday 14:00 on, lit by Saturday 06:00."""
RINSED = (*CURED, ("rinse", when(3, 14)))
LIT = (*RINSED, (ANCHOR, when(3, 16)))
STAYS = (Change.UNCHANGED, Change.PROPOSED, Change.NO_GO)
HOME = ALWAYS_HOME
