"""A wait that the weather sets: by when something is ready, by the moment it was begun, and a link that heeds it.

What is begun later is never ready sooner, so both directions of the wait are plain maps, and the leeway they leave is
as exact as that of any other wait.  Times are seconds since 1970 UTC.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from scheduler.planning.backward import Link
from scheduler.planning.clock import HOUR_S
from scheduler.planning.spans import Spans


@dataclass(frozen=True, slots=True)
class ReadyTimes:
    """When it is ready, by when it was begun: the same for every moment after one start and up to the next."""

    starts: tuple[float, ...]
    """Rising; a beginning before the first counts as at the first."""
    ready: tuple[float, ...]
    """Never falling; inf where it is never ready."""
    beyond_s: float
    """What it takes when begun after the last start; inf for never."""

    def ready_at(self, start: float) -> float:
        """When it is ready if begun then."""
        at = bisect_left(self.starts, start)
        return self.ready[at] if at < len(self.starts) else start + self.beyond_s

    def latest_start(self, by: float) -> float:
        """The latest beginning with which it is ready by then; −inf where there is none."""
        enough = bisect_right(self.ready, by)
        if enough < len(self.starts):
            return self.starts[enough - 1] if enough else -inf
        return max(self.starts[-1], by - self.beyond_s)


@dataclass(frozen=True, slots=True)
class WeatherLink(Link):
    """A link whose least wait the weather sets, for a step before its neighbour; the longest stays the process's."""

    times: ReadyTimes
    wary: ReadyTimes
    """The slow end of the range: the usual time of the step is early enough for it."""

    def after(self, spans: Spans) -> Spans:
        """Where the later step can start when the earlier starts in `spans`."""
        kept = spans & _in_time(self)
        return kept.map_ends(self._ready, lambda at: self._move(self.wait.longest_h, 1, True, at))

    def ahead(self, spans: Spans) -> Spans:
        """Where the earlier step can start when the later starts in `spans`."""
        begun = spans.map_ends(self.earliest, lambda at: self._begun(self.times, at))
        return begun & _in_time(self)

    def usual(self, neighbour_at: float) -> float:
        """The latest start that has it ready by then even if it is slow."""
        return self._begun(self.wary, neighbour_at)

    def earliest(self, at: float) -> float:
        """The earliest start whose longest wait reaches that moment."""
        return self._move(self.wait.longest_h, -1, False, at)

    def _ready(self, at: float) -> float:
        return self.times.ready_at(at + self.hands_on_s)

    def _begun(self, times: ReadyTimes, at: float) -> float:
        return times.latest_start(at) - self.hands_on_s


def by_weather(link: Link, times: ReadyTimes, wary: ReadyTimes) -> WeatherLink:
    """The same link with its least wait set by the weather."""
    return WeatherLink(
        link.name, link.neighbour, link.before, link.hands_on_s, link.wait, link.zone, times=times, wary=wary
    )


@lru_cache(maxsize=16)
def _in_time(link: WeatherLink) -> Spans:
    """Starts that are ready before the longest wait is over; what is begun before one of them is ready no later."""
    times = link.times
    pieces = [
        (link.earliest(ready), start - link.hands_on_s)
        for start, ready in zip(times.starts, times.ready, strict=True)
        if ready < inf
    ]
    if times.beyond_s <= link.wait.longest_h * HOUR_S:
        pieces.append((times.starts[-1] - link.hands_on_s, inf))
    return Spans.of(pieces)
