"""Readings along time, linear between samples: where they are under a level, and their greatest value in any window.

Arrays: times in seconds since 1970 UTC, sorted, shape (samples,); values of shape (samples, columns), one column
a forecast or an ensemble member.  NaN is a value that nobody knows; a stretch that touches one is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import HOUR_S
from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

LONGEST_STEP_S = 6 * HOUR_S
"""Readings further apart than this have a gap between them: the coarsest step of the services we know."""


def usable_steps(times: Floats) -> NDArray[np.bool_]:
    """Of each step between neighbouring samples, whether it is short enough to say anything in between."""
    return np.diff(times) <= LONGEST_STEP_S


@dataclass(frozen=True)
class Curve:
    """One or more readings over the same times."""

    times: Floats
    values: Floats

    @classmethod
    def of(cls, times: Floats, values: Floats) -> Curve:
        """The curve through these samples, with an unknown one in the middle of every step that is too long."""
        gap = np.nonzero(~usable_steps(times))[0]
        if not len(gap):
            return cls(times, values)
        middle = (times[gap] + times[gap + 1]) / 2.0
        return cls(np.insert(times, gap + 1, middle), np.insert(values, gap + 1, np.nan, axis=0))

    def shifted(self, by: float) -> Curve:
        """The same curve, so much higher everywhere."""
        return Curve(self.times, self.values + by)

    def at(self, when: Floats) -> Floats:
        """Values at these instants, shape (instants, columns); NaN outside the samples and beside a NaN."""
        when = np.asarray(when, dtype=float)
        if len(self.times) < 2:
            return np.where((when == self.times[0])[:, None], self.values[0], np.nan)
        after = np.searchsorted(self.times, when, side="right")
        after = np.minimum(np.maximum(after, 1), len(self.times) - 1)
        before = after - 1
        start = self.times[before]
        share = (when - start) / (self.times[after] - start)
        low, high = self.values[before], self.values[after]
        mixed = low + (high - low) * share[:, None]
        # At a sample its own value, whatever is unknown beside it.
        for at_one, own in ((share == 0.0, low), (share == 1.0, high)):
            if at_one.any():
                mixed[at_one] = own[at_one]
        mixed[(share < 0.0) | (share > 1.0)] = np.nan
        return mixed

    def greatest_sample(self, first: Ints, last: Ints) -> Floats:
        """Greatest value of samples first … last, both inside, shape (runs, columns); −inf for an empty run."""
        some = last >= first
        longest = int((last - first).max(initial=-1)) + 1
        # A shorter run ends with its last sample several times.
        rows = np.minimum(first[:, None] + np.arange(longest), last[:, None])
        if not some.all():
            rows[~some] = 0
        found: Floats = self.values[rows].max(axis=1, initial=-np.inf)
        found[~some] = -np.inf
        return found

    def greatest(self, start: Floats, end: Floats) -> Floats:
        """Greatest value in each window [start, end], shape (windows, columns); NaN where any of it is unknown."""
        first = np.searchsorted(self.times, start, side="left")
        last = np.searchsorted(self.times, end, side="right") - 1
        ends = self.at(np.concatenate([start, end]))
        found = np.maximum(ends[: len(start)], ends[len(start) :])
        return np.maximum(found, self.greatest_sample(first, last))

    def under(self, level: float, column: int = 0) -> Spans:
        """Where the reading is known and at or under the level, exact crossings included."""
        return _under(self.times, self.values[:, column], level)

    def over(self, level: float, column: int = 0) -> Spans:
        """Where the reading is known and at or over the level."""
        return _under(self.times, -self.values[:, column], -level)

    def known(self, column: int = 0) -> Spans:
        """Where the reading is known."""
        return _under(self.times, self.values[:, column], np.inf)


def _under(times: Floats, values: Floats, level: float) -> Spans:
    """Closed stretches in which the linear interpolation is at or under the level."""
    if len(times) < 2:
        return Spans(())
    left, right = values[:-1], values[1:]
    known = usable_steps(times) & ~np.isnan(left) & ~np.isnan(right)
    start, end = times[:-1].copy(), times[1:].copy()
    rises, falls = (left <= level) & (right > level), (left > level) & (right <= level)
    crossing = rises | falls
    share = (level - left[crossing]) / (right[crossing] - left[crossing])
    cross = times[:-1][crossing] + share * np.diff(times)[crossing]
    end[rises], start[falls] = cross[rises[crossing]], cross[falls[crossing]]
    held = known & ((left <= level) | (right <= level))
    return _joined(start[held], end[held])


def _joined(start: Floats, end: Floats) -> Spans:
    """Sorted stretches as spans, joined where one ends as the next begins."""
    if not len(start):
        return Spans(())
    breaks = np.nonzero(start[1:] > end[:-1])[0]
    first = np.concatenate(([0], breaks + 1))
    last = np.concatenate((breaks, [len(start) - 1]))
    return Spans(tuple(zip(start[first].tolist(), end[last].tolist(), strict=True)))


@dataclass(frozen=True)
class Periods:
    """Values that each hold for the period from their stamp to the next; the last stamp starts no known period."""

    times: Floats
    values: Floats
    """Shape (samples,)."""

    def under(self, level: float) -> Spans:
        """Whole periods known to be at or under the level."""
        held = usable_steps(self.times) & (self.values[:-1] <= level)
        return _joined(self.times[:-1][held], self.times[1:][held])

    def known(self) -> Spans:
        """Whole periods whose value is known."""
        return self.under(np.inf)

    def greatest_whole(self, start: Floats, end: Floats) -> Floats:
        """Greatest known value of the periods that lie wholly in each window; NaN where there is none."""
        known = ~np.isnan(self.values[:-1])
        low, high, values = self.times[:-1][known], self.times[1:][known], self.values[:-1][known]
        whole = (low >= start[:, None]) & (high <= end[:, None])
        found = np.where(whole, values, -np.inf).max(axis=1, initial=-np.inf)
        return np.where(np.isinf(found), np.nan, found)

    def inside(self, start: float, end: float) -> tuple[Floats, Floats]:
        """Values of the periods that share time with [start, end], and the share of each, 0 to 1."""
        low, high = self.times[:-1], self.times[1:]
        part = (np.minimum(high, end) - np.maximum(low, start)) / (high - low)
        touched = part > 0
        return self.values[:-1][touched], part[touched]
