"""What the planner answers with: nights, plans and their steps.  Values only; every face shows these facts.

Instants are zone-aware and in UTC; a face turns them into the site's zone.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from scheduler.household.batch import Batch
    from scheduler.household.process import Step
    from scheduler.planning.chamber_figures import InChamber
    from scheduler.planning.drying_plan import PlannedDrying
    from scheduler.planning.plan_notes import FoodHours

Span = tuple["datetime", "datetime"]
"""First and last instant, both inside."""


class Verdict(StrEnum):
    """What a night is worth; always given with reasons."""

    GOOD = "good"
    BORDERLINE = "borderline"
    NO = "no"
    UNKNOWN = "unknown"

    @property
    def is_offered(self) -> bool:
        """Whether a plan may be made for such a night."""
        return self in (Verdict.GOOD, Verdict.BORDERLINE)


@dataclass(frozen=True, slots=True)
class Night:
    """Clock noon to clock noon, the smoke that fits it best, and what it is worth."""

    date: date
    """The day it begins on, in the site's zone."""
    verdict: Verdict
    reasons: tuple[str, ...]
    """Sentences, the deciding one first."""
    duration_h: float
    """Planned time from lighting to lift."""
    ceiling_c: float
    """The site's, or what the chamber's limit leaves of it where that is lower (where the margin is least)."""
    light_best: datetime | None = None
    """Lighting with the greatest margin, the earliest of equals; None without a window."""
    light_earliest: datetime | None = None
    light_latest: datetime | None = None
    """Ends of the unbroken span around the best in which the window meets every limit and the verdict's chance."""
    lift: datetime | None = None
    """Lift that belongs to the best lighting."""
    lift_latest: datetime | None = None
    """Until when the weather still meets every limit after the best lighting."""
    other_spans: tuple[Span, ...] = ()
    """Further stretches of this night in which a lighting meets every limit."""
    peak_c: float | None = None
    """Warmest air in the window (without a window: of the lighting that misses by least)."""
    peak_at: datetime | None = None
    low_c: float | None = None
    low_at: datetime | None = None
    margin_c: float | None = None
    """Ceiling minus the air, where that is least."""
    chance: float | None = None
    """Probability that the air stays at or under the ceiling for the whole window, 0 to 1."""
    chance_from: str = ""
    """Where the chance comes from, in words."""
    rain_mm: float | None = None
    gust_ms: float | None = None
    dewpoint_max_c: float | None = None
    chamber: InChamber | None = None
    """What the chamber does in the window, by the typical rise."""
    looked_at: Span | None = None
    """Lighting and lift that the figures are of; equals best and lift where there is a window."""


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step of one batch, with its time and its leeway."""

    step: Step
    at: datetime | None
    """When to do it, or when it was done; None where it was done at an unknown time."""
    spans: tuple[Span, ...]
    """Every moment at which it can be done with the plan still holding; empty once done."""
    done: bool = False
    notes: tuple[str, ...] = ()
    """What the weather of that time asks for, in sentences."""

    @property
    def leeway(self) -> Span | None:
        """The piece of the leeway that holds the planned time; None once done."""
        for span in self.spans:
            if self.at is not None and span[0] <= self.at <= span[1]:
                return span
        return None


@dataclass(frozen=True, slots=True)
class Plan:
    """One batch, one night, and a time and leeway for every step."""

    batch: Batch
    night: Night
    steps: tuple[PlannedStep, ...]
    """In order of time."""
    sawdust_g: float | None
    salt_g: float | None
    sugar_g: float | None
    """None where the weight is unknown or the step is done."""
    cautions: tuple[str, ...]
    """Keys of the cautions that hold for the whole plan."""
    tentative: bool = False
    """The night is borderline."""
    food_hours: FoodHours | None = None
    """How long the food is how warm; None where nobody knows, or the smoke is over."""
    drying: PlannedDrying | None = None
    """By when the sawdust is dry in this weather; None where it is dry, or not yet spread at a known time."""

    def at(self, name: str) -> datetime:
        """When a step is; ValueError for one without a time."""
        for planned in self.steps:
            if planned.step.name == name and planned.at is not None:
                return planned.at
        raise ValueError(f"the plan has no time for {name}")
