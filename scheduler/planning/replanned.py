"""What replanning answers with.  Values only; the faces word them and the journal keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from scheduler.planning.adopted import Adopted, Look
    from scheduler.planning.answers import Night, Plan, PlannedStep, Verdict
    from scheduler.planning.backward import Infeasible


class State(StrEnum):
    """How firmly a plan stands."""

    TENTATIVE = "tentative"
    """Nothing is done."""
    COMMITTED = "committed"
    """Food is thawing or in its cure, or somebody said that the plan stands."""
    LOCKED = "locked"
    """The lighting is less than a day off, or the food is rinsed."""
    SMOKING = "smoking"
    """The tray is lit."""
    LIFTED = "lifted"
    """The food is out; what is left does not hang from the weather."""


class Change(StrEnum):
    """What a replan comes to."""

    UNCHANGED = "unchanged"
    """As adopted; with `must`, its night is under the floor and nothing else can be made yet."""
    MOVED = "moved"
    """Another night, another lighting, or steps that could not stay where they were."""
    PROPOSED = "proposed"
    """Another night is better, but what is committed or locked moves only if somebody takes the proposal.

    Without a plan: the adopted one holds if what is overdue is done, which somebody has to say; else `proposed` is
    next, or nothing."""
    NO_GO = "no-go"
    """The locked night is too unlikely to light, and no other one is left in reach; its plan is told all the same.

    With `wait`: nothing is done, and the night is too unlikely to begin for yet."""
    LIFT_EARLY = "lift-early"
    """It warms while smoking: lift by `lift_by`; the plan has the last moment at home before it."""
    LOST = "lost"
    """By this forecast no night is left that this batch can make; see the ways out.  What was adopted stays so."""


class Cause(StrEnum):
    """Why a plan moved, or is proposed to."""

    WEATHER = "weather"
    """The adopted night no longer holds, or is less likely than the floor or than what it takes to begin or light."""
    BETTER = "better"
    """Another night is better by enough."""
    LATE = "late"
    """A step was not done in time, so the adopted night cannot be made."""
    FIRE_OUT = "fire out"
    """The tray was lit again, so the lift is later."""
    HOURS = "hours"
    """Nobody is at home at a time of the plan."""
    SHARED = "shared"
    """Another batch takes the chamber that night: one nearer its limit, or opened before."""


@dataclass(frozen=True, slots=True)
class NightThen:
    """What a forecast said of one night's window: the adopted one then, or now."""

    night: date
    chance: float | None
    peak_c: float | None
    peak_at: datetime | None
    issued_at: datetime


@dataclass(frozen=True, slots=True)
class Moved:
    """One step whose time is another."""

    step: str
    title: str
    was: datetime
    now: datetime | None
    """None where the new plan has no such step."""


@dataclass(frozen=True, slots=True)
class Overdue:
    """A step whose planned time is past and of which nobody said that it is done."""

    planned: PlannedStep
    was_due: datetime


@dataclass(frozen=True, slots=True)
class Replanned:
    """The same question asked again."""

    change: Change
    state: State
    adopted: Adopted
    """As it was."""
    plan: Plan | None
    """The plan that holds from now on: as adopted, its times kept wherever they still hold, or moved; None if lost."""
    verdict: Verdict | None
    """Of the plan's night, with hysteresis where it has not moved; None if lost."""
    cause: Cause | None = None
    must: bool = False
    """The move is no matter of taste: a limit is missed, a wait would run out, or the chance is under the floor."""
    proposed: Plan | None = None
    """The better plan, where it waits for somebody to take it."""
    gain: float | None = None
    """Of the plan moved to or proposed, over the adopted one, each less what waiting for it costs; None for others."""
    wait: bool = False
    """Its first step is due, but its night is less likely than what is asked before food leaves its store."""
    look: Look | None = None
    """To be remembered for the next replan."""
    was: NightThen | None = None
    is_now: NightThen | None = None
    """The adopted night's window by the forecast of then and by the newest one."""
    moved: tuple[Moved, ...] = ()
    """In order of the adopted times, what is overdue among them: unchanged is a plan of which nothing else moved."""
    overdue: tuple[Overdue, ...] = ()
    blocked: Infeasible | None = None
    """What leaves the adopted night no time, where that is why."""
    lift_by: datetime | None = None
    """Latest lift at which every limit still holds, where the smoke has to end before its planned duration does."""
    nights: tuple[Night, ...] = ()
    """Every coming night as judged now."""

    @property
    def is_unanswered(self) -> bool:
        """Whether the adopted plan stands or falls with a step that nobody recorded."""
        return self.change is Change.PROPOSED and self.plan is None

    @property
    def is_stuck(self) -> bool:
        """Whether nothing of the plan is left to follow, but for a tray that may be lit and that nobody recorded."""
        nothing = self.change in (Change.LOST, Change.NO_GO) or (self.is_unanswered and self.proposed is None)
        return nothing and not self.wait
