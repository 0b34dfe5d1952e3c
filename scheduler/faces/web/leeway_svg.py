"""A small bar beside each step: when else it can be done, on one line of time for all steps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import takewhile
from math import ceil
from typing import TYPE_CHECKING

from scheduler.faces.wording import WEEKDAYS
from scheduler.household.process import LIFT
from scheduler.planning.clock import DAY_S, HOUR_S, on_clock

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from scheduler.planning.answers import PlannedStep

WIDTH, HEIGHT, DOT = 300, 16, 4
NAME_PX, NUMBER_PX = 44, 20
"""Room for a day's whole name, and for its number."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """The stretch of time that all bars share, in seconds since 1970 UTC, and the midnights in it."""

    start: float
    end: float
    zone: ZoneInfo
    midnights: tuple[float, ...]

    @classmethod
    def of(cls, steps: Sequence[PlannedStep], now: datetime, zone: ZoneInfo) -> Timeline:
        """From now, or the first step, to the lift: what comes after hangs from it and would flatten the rest."""
        names = [planned.step.name for planned in steps]
        until = names.index(LIFT) + 1 if LIFT in names else len(steps)
        times = [planned.at.timestamp() for planned in steps[:until] if planned.at is not None]
        start, end = min([now.timestamp(), *times]), max([now.timestamp() + HOUR_S, *times])
        first = datetime.fromtimestamp(start, zone).date()
        days = (first + timedelta(days=number) for number in range(1, int((end - start) / DAY_S) + 3))
        return cls(start, end, zone, tuple(takewhile(lambda at: at < end, (on_clock(day, 0, zone) for day in days))))

    def axis(self) -> str:
        """The days' names over all bars; only where there is a midnight to count from."""
        if not self.midnights:
            return ""
        day_px = DAY_S / (self.end - self.start) * (WIDTH - 2 * DOT)
        every = ceil(NUMBER_PX / day_px)
        names = "".join(self._name(first, whole=day_px >= NAME_PX) for first in self.midnights[::every])
        return f'<svg class="axis" {_SIZE}>{self._ticks()}{names}</svg>'

    def bar(self, planned: PlannedStep) -> str:
        """SVG of the leeway and the planned time, which the text beside it says too; empty off the line of time."""
        if planned.at is None or planned.done or planned.at.timestamp() > self.end:
            return ""
        pieces = "".join(self._piece(first, last) for first, last in planned.spans)
        mark = f'<circle cx="{self._x(planned.at.timestamp()):.1f}" cy="{HEIGHT / 2:g}" r="{DOT}" class="at"/>'
        rail = f'<line x1="0" y1="{HEIGHT / 2:g}" x2="{WIDTH}" y2="{HEIGHT / 2:g}" class="rail"/>'
        return f'<svg class="leeway" {_SIZE}>{rail}{self._ticks()}{pieces}{mark}</svg>'

    def _name(self, first: float, *, whole: bool) -> str:
        """A day right of its midnight, where the line has the room."""
        if self._x(first) + (NAME_PX if whole else NUMBER_PX) > WIDTH:
            return ""
        day = datetime.fromtimestamp(first, self.zone)
        words = f"{WEEKDAYS[day.weekday()]} {day.day}" if whole else f"{day.day}"
        return f'<text x="{self._x(first) + 3:.1f}" y="12">{words}</text>'

    def _ticks(self) -> str:
        lines = "".join(f"M{self._x(at):.1f} 1v{HEIGHT - 2}" for at in self.midnights)
        return f'<path class="tick" d="{lines}"/>' if lines else ""

    def _piece(self, first: datetime, last: datetime) -> str:
        """One stretch of leeway, as far as it lies on the line."""
        if first.timestamp() > self.end or last.timestamp() < self.start:
            return ""
        x = self._x(first.timestamp())
        width = max(self._x(last.timestamp()) - x, 1.5)
        return f'<rect x="{x:.1f}" y="{HEIGHT / 2 - 4:g}" width="{width:.1f}" height="8" class="span"/>'

    def _x(self, at: float) -> float:
        share = (at - self.start) / (self.end - self.start)
        return DOT + min(max(share, 0.0), 1.0) * (WIDTH - 2 * DOT)


_SIZE = f'aria-hidden="true" focusable="false" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}"'
