"""A plan that somebody took on, as the journal keeps it: what replanning compares the newest weather with."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, LIFT
from scheduler.planning.answers import Verdict
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from scheduler.planning.answers import Plan
    from scheduler.planning.replanned import Replanned


@dataclass(frozen=True, slots=True)
class Adopted:
    """One batch's night and times; instants zone-aware and in UTC."""

    night: date
    light: datetime
    lift: datetime
    steps: Mapping[str, datetime]
    """When each step of the process is to be done, by its name, lighting and lift among them."""
    verdict: Verdict
    """As it is shown: hysteresis keeps it from flickering."""
    chance: float | None
    peak_c: float | None
    peak_at: datetime | None
    """Warmest air of the window by the forecast that the plan rests on."""
    issued_at: datetime
    """When that forecast was made."""
    adopted_at: datetime
    """When this night was taken on, or last moved to."""
    committed: bool = False
    """Somebody said that it stands, though nothing is done yet."""
    moved_at: datetime | None = None
    """When it last moved without having to."""


@dataclass(frozen=True, slots=True)
class Look:
    """What an earlier replan saw and did not act on: another night was better by so much."""

    issued_at: datetime
    """Of the forecast that said so."""
    night: date
    gain: float


@dataclass(frozen=True, slots=True)
class Past:
    """What replanning is told of the time before."""

    adopted: Adopted
    looks: tuple[Look, ...] = field(default=())
    """Since the night was taken on, in order."""
    no_go: bool = False
    """Whether the last that was told of its lighting is not to light."""


def taken_on(plan: Plan, issued_at: datetime, now: datetime, *, committed: bool = False) -> Adopted:
    """A plan as somebody takes it on."""
    night, steps = plan.night, {one.step.name: one.at for one in plan.steps if one.at is not None}
    return Adopted(
        night=night.date, light=steps[ANCHOR], lift=steps[LIFT], steps=steps, verdict=night.verdict,
        chance=night.chance, peak_c=night.peak_c, peak_at=night.peak_at, issued_at=issued_at, adopted_at=now,
        committed=committed,
    )  # fmt: skip


def carried_on(answer: Replanned, issued_at: datetime, now: datetime) -> Adopted:
    """What is adopted after a replan: the plan it moved to, else what was, with the verdict that is left of it.

    A proposal is not taken here, and weather that nobody knows forgets no verdict.  A step that is overdue keeps the
    time it was due at as long as its night does, so that it is still asked about.
    """
    before = answer.adopted
    if answer.plan is None or answer.change not in (Change.MOVED, Change.LIFT_EARLY):
        known = answer.verdict not in (None, Verdict.UNKNOWN)
        return replace(before, verdict=answer.verdict or before.verdict) if known else before
    after = taken_on(answer.plan, issued_at, now, committed=before.committed)
    after = replace(after, verdict=answer.verdict or after.verdict, moved_at=before.moved_at if answer.must else now)
    if after.night != before.night:
        return after
    due = {one.planned.step.name: one.was_due for one in answer.overdue}
    return replace(after, steps={**after.steps, **due}, adopted_at=before.adopted_at)
