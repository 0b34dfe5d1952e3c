"""A way out for food that is on its way with no good night left inside its longest wait.  Values only."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, LIFT

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.process import Step
    from scheduler.planning.answers import Night, Plan
    from scheduler.science.parasites import Rule


class Way(StrEnum):
    """What can be done instead, in the order in which equals are told."""

    SHORTER = "shorter smoke"
    ONE_FRONT = "one front"
    TWO_NIGHTS = "two short nights"
    HOLD = "hold chilled"
    FREEZE = "freeze, smoke later"
    COOK = "cook"


LAST_RESORTS = (Way.FREEZE, Way.COOK)
"""Told after every way that smokes the food now."""


@dataclass(frozen=True, slots=True)
class Smoke:
    """One night's smoke of a way out."""

    night: Night
    light: datetime
    light_until: datetime
    """The last lighting with which the way still holds."""
    lift: datetime

    @classmethod
    def of(cls, plan: Plan) -> Smoke:
        """Of a plan whose lighting is ahead; ValueError for another."""
        at = {each.step.name: each for each in plan.steps}
        light, lift = at[ANCHOR], at[LIFT]
        if light.at is None or light.leeway is None or lift.at is None:
            raise ValueError("a plan whose lighting is ahead has a time and a leeway for it")
        return cls(plan.night, light.at, light.leeway[1], lift.at)


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way out; instants are zone-aware and in UTC."""

    kind: Way
    until: datetime
    """End of the food's longest wait: by then it is lit, frozen or cooked.  No way out moves it."""
    by: datetime | None
    """The last moment to set out on this way with somebody at home; None where the wait is over: at once."""
    hours_left: float
    """From now to `until`, not under 0."""
    next_step: Step | None = None
    next_by: datetime | None = None
    """What the food needs before that all the same, and by when (salted fish is rinsed); None where nothing is left."""
    rest_h: float | None = None
    """The longest that the process chills the food after its last step: before a lighting, and between two nights."""
    smokes: tuple[Smoke, ...] = ()
    """Lightings: one, two for two short nights; for holding, of a borderline night to hold it for, if any."""
    duration_h: float | None = None
    """Planned length of each smoke; None where none is planned."""
    fronts: int | None = None
    chance: float | None = None
    """That every smoke of it holds; of two nights the product, though weather that lasts makes both likelier.
    None where nothing is known."""
    good: bool = False
    """Whether every night of it is good."""
    nights: tuple[Night, ...] = ()
    """For holding: borderline and unknown nights inside the wait.  For freezing: the first good one after it."""
    plan: Plan | None = None
    """The plan of its (first) smoke, ready to be adopted at the site of this way."""
    rule: Rule | None = None
    """For freezing: a rule against parasites that this freezing could still meet; None where none is needed."""
