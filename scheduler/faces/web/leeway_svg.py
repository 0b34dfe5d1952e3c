"""A small bar beside each step: when else it can be done, on one line of time for all steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.household.process import LIFT

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from scheduler.planning.answers import PlannedStep

WIDTH, HEIGHT, DOT = 240, 14, 4


@dataclass(frozen=True, slots=True)
class Timeline:
    """The stretch of time that all bars share, in seconds since 1970 UTC."""

    start: float
    end: float

    @classmethod
    def of(cls, steps: Sequence[PlannedStep], now: datetime) -> Timeline:
        """From now, or the first step, to the lift: what comes after hangs from it and would flatten the rest."""
        until = [planned.step.name for planned in steps].index(LIFT) if _has_lift(steps) else len(steps)
        times = [planned.at.timestamp() for planned in steps[: until + 1] if planned.at is not None]
        start, end = min([now.timestamp(), *times]), max([now.timestamp(), *times])
        return cls(start, max(end, start + 3600.0))

    def bar(self, planned: PlannedStep) -> str:
        """SVG of the leeway and the planned time, which the text beside it says too; empty off the line of time."""
        if planned.at is None or planned.at.timestamp() > self.end:
            return ""
        pieces = "".join(self._piece(first, last) for first, last in planned.spans)
        mark = f'<circle cx="{self._x(planned.at):.1f}" cy="{HEIGHT / 2:g}" r="{DOT}" class="at"/>'
        rail = f'<line x1="0" y1="{HEIGHT / 2:g}" x2="{WIDTH}" y2="{HEIGHT / 2:g}" class="rail"/>'
        size = f'viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}"'
        return f'<svg class="leeway" aria-hidden="true" focusable="false" {size}>{rail}{pieces}{mark}</svg>'

    def _piece(self, first: datetime, last: datetime) -> str:
        x, width = self._x(first), max(self._x(last) - self._x(first), 1.5)
        return f'<rect x="{x:.1f}" y="{HEIGHT / 2 - 3:g}" width="{width:.1f}" height="6" class="span"/>'

    def _x(self, moment: datetime) -> float:
        share = (moment.timestamp() - self.start) / (self.end - self.start)
        return DOT + min(max(share, 0.0), 1.0) * (WIDTH - 2 * DOT)


def _has_lift(steps: Sequence[PlannedStep]) -> bool:
    return any(planned.step.name == LIFT for planned in steps)
