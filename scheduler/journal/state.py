"""What the records of a site add up to: its batches, what was done to each, the plans, the readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.journal.record import Record


@dataclass(frozen=True, slots=True)
class StepDone:
    """One step somebody did."""

    step: str
    at: datetime
    weight_g: float | None = None
    """Of the food, weighed then."""
    sawdust_g: float | None = None
    """Dry sawdust filled in (at the lighting), or left unburnt (at the lift)."""


@dataclass(frozen=True, slots=True)
class BatchState:
    """One batch, as its records leave it."""

    identity: str
    opened: Record
    done: tuple[StepDone, ...] = ()
    """In order of when they were done; of a step done twice, the last."""
    relit: tuple[datetime, ...] = ()
    ended: Record | None = None
    plan: Record | None = None
    """The last `plan_adopted` or `plan_moved`; None where none stands."""
    looks: tuple[Record, ...] = ()
    """`plan_looked` since then."""
    no_go: bool = False
    """Whether the last that was told of the plan's lighting is not to light (`go_told`)."""
    records: tuple[Record, ...] = ()
    """All that stand, in order of when they happened."""

    @property
    def name(self) -> str:
        """What the household calls it."""
        return str(self.opened.body["name"])


@dataclass(frozen=True, slots=True)
class Reading:
    """An air temperature somebody or a probe read."""

    where: str
    """porch, chamber, fridge or freezer."""
    at: datetime
    c: float
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class SiteState:
    """One site, as its records leave it."""

    batches: tuple[BatchState, ...] = ()
    """In order of their opening, those that have ended among them."""
    readings: tuple[Reading, ...] = ()
    """In order of time."""
    forecasts: tuple[Record, ...] = ()
    """`forecast_logged`, in order of issue."""

    @property
    def open(self) -> tuple[BatchState, ...]:
        """Batches that have not ended."""
        return tuple(batch for batch in self.batches if batch.ended is None)
