"""What a journal holds of each smoke and of the air at the porch, put together for learning."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, LIFT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.journal.state import BatchState, Reading, SiteState, StepDone

MOST_GAP = timedelta(minutes=75)
"""Readings cover a stretch that has none longer than this between two of them: once an hour, a little late at times."""


@dataclass(frozen=True, slots=True)
class Smoke:
    """One fire, from lighting to lift, however many batches hung over it."""

    light: datetime
    lift: datetime
    relit: datetime | None
    """When it was last lit again."""
    sawdust_g: float | None
    """Dry, filled in; None where nobody wrote it down."""
    left_g: float | None


def step_of(batch: BatchState, name: str) -> StepDone | None:
    """The step as it was done; None where it was not."""
    return next((step for step in batch.done if step.step == name), None)


def smokes(state: SiteState) -> tuple[Smoke, ...]:
    """Every fire whose lighting and lift are recorded, in order; batches that share one are one fire."""
    found: list[Smoke] = []
    each = (smoke for batch in state.batches if (smoke := _smoke(batch)) is not None)
    for smoke in sorted(each, key=lambda one: (one.light, one.sawdust_g is None, one.left_g is None)):
        if found and smoke.light < found[-1].lift:
            found[-1] = _shared(found[-1], smoke)
        else:
            found.append(smoke)
    return tuple(found)


def _smoke(batch: BatchState) -> Smoke | None:
    light, lift = step_of(batch, ANCHOR), step_of(batch, LIFT)
    if light is None or lift is None or lift.at <= light.at:
        return None
    relit = [at for at in batch.relit if light.at < at < lift.at]
    return Smoke(light.at, lift.at, max(relit, default=None), light.sawdust_g, lift.sawdust_g)


def _shared(one: Smoke, other: Smoke) -> Smoke:
    """The same fire, written down with two batches."""
    relit = [at for at in (one.relit, other.relit) if at is not None]
    return Smoke(
        one.light,
        max(one.lift, other.lift),
        max(relit, default=None),
        one.sawdust_g if one.sawdust_g is not None else other.sawdust_g,
        one.left_g if one.left_g is not None else other.left_g,
    )


@dataclass(frozen=True, slots=True)
class Thermometer:
    """Readings of one place in order of time."""

    at: tuple[datetime, ...]
    c: tuple[float, ...]

    @classmethod
    def of(cls, readings: Sequence[Reading], where: str) -> Thermometer:
        """Those of one place, among readings in order of time."""
        here = [reading for reading in readings if reading.where == where]
        return cls(tuple(reading.at for reading in here), tuple(reading.c for reading in here))

    def between(self, first: datetime, last: datetime) -> list[tuple[datetime, float]]:
        """Readings from one moment to another, both included."""
        inside = slice(bisect_left(self.at, first), bisect_right(self.at, last))
        return list(zip(self.at[inside], self.c[inside], strict=True))

    def nearest(self, moment: datetime, within: timedelta) -> float | None:
        """The reading next to a moment; None where none is that near."""
        near = self.between(moment - within, moment + within)
        return min(near, key=lambda one: abs(one[0] - moment))[1] if near else None

    def warmest(self, first: datetime, last: datetime) -> float | None:
        """The highest reading of a stretch that the readings cover; None of one that they do not.

        Covered: no gap over `MOST_GAP` from the last reading at or before the stretch, through it, to the first at or
        after it.  At the ends of the stretch the air runs along a line between its readings.
        """
        begin, end = bisect_right(self.at, first) - 1, bisect_left(self.at, last)
        if first >= last or begin < 0 or end >= len(self.at):
            return None
        times, air = self.at[begin : end + 1], self.c[begin : end + 1]
        if any(after - before > MOST_GAP for before, after in pairwise(times)):
            return None
        inside = [c for at, c in zip(times, air, strict=True) if first <= at <= last]
        return max([*inside, self._at(begin, first), self._at(end - 1, last)])

    def _at(self, before: int, moment: datetime) -> float:
        """The air at a moment, on the line from one reading to the next."""
        whole = self.at[before + 1] - self.at[before]
        share = (moment - self.at[before]) / whole if whole else 0.0
        return self.c[before] + share * (self.c[before + 1] - self.c[before])
