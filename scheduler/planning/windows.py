"""Lightings and the lift that each leads to; which of them stay inside a set of time; the one with the coolest peak.

The lift is the first moment, at least the planned duration after the lighting and at most the longest, at which
somebody can take the food out.  As a function of the lighting it is made of stretches of two kinds: it runs along
with the lighting, or it waits for the household to get up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.planning.curve import Curve

    Floats = NDArray[np.float64]

SAME_C = 1e-9
"""Two peaks nearer than this are the same; it only absorbs rounding."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Lightings from start to end that share one kind of lift."""

    start: float
    end: float
    lift: float | None
    """The lift all of them wait for; None where each is lifted right after the planned duration."""

    def lift_of(self, light: float, duration_s: float) -> float:
        """The lift that belongs to a lighting in it."""
        return light + duration_s if self.lift is None else self.lift


@dataclass(frozen=True, slots=True)
class Smokes:
    """All lightings that a household could make, weather aside, in order of time."""

    duration_s: float
    stretches: tuple[Stretch, ...]

    @property
    def lightings(self) -> Spans:
        """The moments themselves."""
        return Spans.of((one.start, one.end) for one in self.stretches)

    def lift_of(self, light: float) -> float:
        """The lift that belongs to a lighting; ValueError for a moment that is none."""
        lifts = [one.lift_of(light, self.duration_s) for one in self.stretches if one.start <= light <= one.end]
        if not lifts:
            raise ValueError("that moment is not one of the lightings")
        return min(lifts)

    def lifts_of(self, lights: Floats) -> Floats:
        """The lifts that belong to many lightings; NaN for a moment that is none."""
        found = np.full(len(lights), np.nan)
        for one in self.stretches:
            inside = (lights >= one.start) & (lights <= one.end)
            lift = lights + self.duration_s if one.lift is None else np.full(len(lights), one.lift)
            found = np.where(inside, np.fmin(found, lift), found)
        return found

    def __or__(self, other: Smokes) -> Smokes:
        """Those of either."""
        return Smokes(self.duration_s, tuple(sorted({*self.stretches, *other.stretches}, key=lambda s: s.start)))

    def between(self, start: float, end: float) -> Smokes:
        """Those lit in [start, end]."""
        cut = (Stretch(max(s.start, start), min(s.end, end), s.lift) for s in self.stretches)
        return Smokes(self.duration_s, tuple(s for s in cut if s.start <= s.end))

    def inside(self, allowed: Spans) -> Smokes:
        """Those whose whole window, lighting to lift, lies in one interval of `allowed`."""
        kept = []
        for one in self.stretches:
            for start, end in allowed:
                last = one.end
                if one.lift is None:
                    last = min(last, end - self.duration_s)
                elif one.lift > end:
                    continue
                if max(one.start, start) <= last:
                    kept.append(Stretch(max(one.start, start), last, one.lift))
        return Smokes(self.duration_s, tuple(sorted(kept, key=lambda s: s.start)))


def smokes(lightings: Spans, lifting: Spans, *, duration_s: float, longest_s: float) -> Smokes:
    """Join moments at which a tray can be lit with moments at which food can be lifted."""
    found: list[Stretch] = []
    awake_until = -np.inf
    for start, end in lifting:
        waiting = (max(awake_until - duration_s, start - longest_s), start - duration_s, start)
        along = (start - duration_s, end - duration_s, None)
        for low, high, lift in (waiting, along):
            cut = lightings.between(low, high) if low <= high else ()
            found.extend(Stretch(a, b, lift) for a, b in cut)
        awake_until = end
    return Smokes(duration_s, tuple(sorted(found, key=lambda s: (s.start, s.end))))


@dataclass(frozen=True, slots=True)
class Coolest:
    """The lighting whose window has the lowest peak, the earliest of equals."""

    light: float
    lift: float
    peak_c: float


def coolest(air: Curve, chosen: Smokes) -> Coolest | None:
    """Exact minimum over all lightings of the greatest air in the window; None where no window is wholly known.

    Between two neighbouring breakpoints (a sample at the lighting or at the lift) the air at either end of the
    window runs along a line and all between is fixed, so the peak is the greatest of two lines and a constant, and
    its minimum lies at an end or where two of them meet.
    """
    cells = _cells(air, chosen)
    if cells is None:
        return None
    left, right, left_lift, right_lift = cells
    a0, a1, b0, b1 = (air.at(when)[:, 0] for when in (left, right, left_lift, right_lift))
    first = np.searchsorted(air.times, right, side="left")
    last = np.searchsorted(air.times, left_lift, side="right") - 1
    inner = air.greatest_sample(first, last)[:, 0]
    inner = np.maximum(inner, np.maximum(a1, b0))
    shares = np.stack([np.zeros_like(a0), np.ones_like(a0), *_meetings(a0, a1, b0, b1, inner)])
    peaks = np.maximum(np.maximum(a0 + (a1 - a0) * shares, b0 + (b1 - b0) * shares), inner)
    if np.isnan(peaks).all():
        return None
    light = left + (right - left) * shares
    best = np.where(peaks <= np.nanmin(peaks) + SAME_C, light, np.inf)
    at = np.unravel_index(np.argmin(best), best.shape)
    lift = left_lift + (right_lift - left_lift) * shares
    return Coolest(float(light[at]), float(lift[at]), float(peaks[at]))


def _meetings(a0: Floats, a1: Floats, b0: Floats, b1: Floats, inner: Floats) -> list[Floats]:
    """Where in a cell, 0 to 1, the two lines meet each other and the constant; its start where they do not."""
    with np.errstate(divide="ignore", invalid="ignore"):
        met = [(inner - a0) / (a1 - a0), (inner - b0) / (b1 - b0), (b0 - a0) / ((a1 - a0) - (b1 - b0))]
    return [np.where((share >= 0.0) & (share <= 1.0), share, 0.0) for share in met]


def _cells(air: Curve, chosen: Smokes) -> tuple[Floats, Floats, Floats, Floats] | None:
    """Lightings cut at every breakpoint: first and last lighting of each cell, and their lifts."""
    lefts, rights, lifts_left, lifts_right = [], [], [], []
    for one in chosen.stretches:
        marks = [air.times[(air.times > one.start) & (air.times < one.end)]]
        if one.lift is None:
            shifted = air.times - chosen.duration_s
            marks.append(shifted[(shifted > one.start) & (shifted < one.end)])
        edges = np.unique(np.concatenate([[one.start], *marks, [one.end]]))
        left, right = (edges[:-1], edges[1:]) if len(edges) > 1 else (edges, edges)
        lefts.append(left)
        rights.append(right)
        along = one.lift is None
        lifts_left.append(left + chosen.duration_s if along else np.full(len(left), one.lift))
        lifts_right.append(right + chosen.duration_s if along else np.full(len(left), one.lift))
    if not lefts:
        return None
    return (np.concatenate(lefts), np.concatenate(rights), np.concatenate(lifts_left), np.concatenate(lifts_right))
