"""By when sawdust spread at any hour is dry, by a forecast: what the wait after spreading is taken from.

What no forecast says is filled in with common practice, never with good luck:

* Past the last known hour the drying still to do takes its share of the usual days, or of as many days as this
  forecast itself takes for a batch, if that is longer.  More than the process's longest wait is *not in this weather*.
* Before the first known hour the usual days count only down to the moisture at which drying slows; the rest is taken
  to last until the process's longest wait is over.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf, log
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import HOUR_S, MINUTE_S
from scheduler.planning.drying_hours import DryingHours, drying_hours
from scheduler.planning.ready_times import ReadyTimes
from scheduler.science.drying import OUT_FROM_H, OUT_UNTIL_H, QUICK_SHARE, SLOW_SHARE, Layer, dried

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from providers.forecast import Forecast
    from scheduler.household.process import Wait
    from scheduler.household.site import Site

    Floats = NDArray[np.float64]

LAYER = Layer()
MILD_AIR = 0.11
"""Moisture of wood in balance with mild air (10 °C, 60 %), where the air of days that nobody knows is needed: ours."""


LONGEST_BLIND_H = 20 * 24.0
"""Nobody dries sawdust for longer than this before the forecast begins: ours."""
WORK = (
    LAYER.start
    - LAYER.critical
    + (LAYER.critical - MILD_AIR) * log((LAYER.critical - MILD_AIR) / (LAYER.ready - MILD_AIR))
)
"""Water that such air has to be able to take, in kg per kg of wood, from spread to ready."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How one share of the evaporation dries what is spread at each start."""

    times: ReadyTimes
    moisture: tuple[float, ...]
    """Of what was spread at each start, when the known weather ends; at most ready where it is dry by then."""


@dataclass(frozen=True)
class Spell:
    """The drying weather of one forecast at one site."""

    hours: DryingHours
    usual: Pace
    quick: Pace
    slow: Pace

    @property
    def known_until(self) -> float:
        """End of the last hour whose weather is known."""
        return self.hours.known_until

    def takes_h(self, start: float | None, now: datetime) -> float:
        """Hours to dry from this start, else the fewest of any start from now; inf for never."""
        if start is None:
            return self.least_h(now.timestamp())
        return (self.usual.times.ready_at(start) - start) / HOUR_S

    def least_h(self, now: float) -> float:
        """The fewest hours from spreading to dry, of all moments from now to the end of the forecast; inf for never."""
        starts, ready = np.array(self.usual.times.starts), np.array(self.usual.times.ready)
        ahead = starts >= now
        waits = np.append(ready[ahead] - starts[ahead], self.usual.times.beyond_s)
        return float(waits.min()) / HOUR_S

    def moisture_at_end(self, start: float) -> float:
        """Moisture of what is spread then, when the known weather ends."""
        at = int(np.searchsorted(self.usual.times.starts, start))
        return self.usual.moisture[at] if at < len(self.usual.moisture) else LAYER.start


def drying_spell(forecast: Forecast, site: Site, wait: Wait) -> Spell | None:
    """The spell, its unknown days by the usual wait of the process; None where the forecast says nothing of drying."""
    hours = drying_hours(forecast, site)
    if hours is None:
        return None
    shares = (LAYER.share, QUICK_SHARE, SLOW_SHARE)
    head = _before(max(wait.usual_h, 1.0), min(wait.longest_h, LONGEST_BLIND_H))
    dries = _dry_all(hours, np.array(shares), head)
    first, last = hours.start_s[0], hours.known_until
    starts = np.arange(first - len(head) * HOUR_S, last + 1.0, HOUR_S)
    return Spell(hours, *(_pace(hours, one, starts, wait, share) for one, share in zip(dries, shares, strict=True)))


def work_left(moisture: Floats) -> Floats:
    """Share of the whole drying that is still to do at a moisture: 1 as it is spread, 0 when ready."""
    slowing = LAYER.critical - MILD_AIR
    over = np.clip(moisture, LAYER.ready, LAYER.critical) - MILD_AIR
    left = np.maximum(moisture - LAYER.critical, 0.0) + slowing * np.log(over / (LAYER.ready - MILD_AIR))
    return np.asarray(left / WORK)


def _before(usual_h: float, longest_h: float) -> Floats:
    """Moisture at the first known hour of what was spread so many hours before it, the earliest first, 1 h the last."""
    slow_part = float(work_left(np.array(LAYER.critical)))
    until_slow_h = (1.0 - slow_part) * usual_h
    ago = np.arange(ceil(longest_h), 0.0, -1.0)
    early = LAYER.start + (LAYER.critical - LAYER.start) * np.minimum(ago / until_slow_h, 1.0)
    left = slow_part * np.clip((longest_h - ago) / max(longest_h - until_slow_h, 1.0), 0.0, 1.0)
    slowing = LAYER.critical - MILD_AIR
    late = MILD_AIR + (LAYER.ready - MILD_AIR) * np.exp(left * WORK / slowing)
    return np.where(ago < until_slow_h, early, np.maximum(late, LAYER.ready))


@dataclass(frozen=True, slots=True)
class _Dries:
    """For what was spread before the forecast, and at each hour in the open, one more for after the last."""

    ready: Floats
    """When it is ready; inf where it is not by the end of the known weather."""
    moisture: Floats
    """What it has come down to; it stays as it is once ready, as it is brought in."""


def _dry_all(hours: DryingHours, shares: Floats, head: Floats) -> list[_Dries]:
    """Every batch at once, hour in the open by hour in the open, for each share."""
    steps = np.flatnonzero(hours.weather.out)
    moisture = np.tile(np.append(head, np.full(len(steps) + 1, LAYER.start)), (len(shares), 1))
    ready = np.where(moisture <= LAYER.ready, hours.start_s[0], inf)
    water = hours.weather.evaporation_mm[steps][:, None, None] * (shares / LAYER.share)[:, None]
    air = hours.weather.air_moisture[steps]
    for number, step in enumerate(steps):
        spread = slice(0, len(head) + number + 1)
        now = moisture[:, spread]
        wet = now > LAYER.ready
        now = np.where(wet, dried(now, air[number], water[number], 1.0, LAYER), now)
        ready[:, spread][wet & (now <= LAYER.ready)] = hours.start_s[step] + HOUR_S
        moisture[:, spread] = now
    return [_Dries(one, other) for one, other in zip(ready, moisture, strict=True)]


def _pace(hours: DryingHours, dries: _Dries, starts: Floats, wait: Wait, share: float) -> Pace:
    """Ready times for every start, those past the end of the known weather too."""
    open_at = hours.start_s[hours.weather.out]
    head = len(dries.ready) - len(open_at) - 1
    batch = np.where(
        starts < hours.start_s[0], np.arange(len(starts)), head + np.searchsorted(open_at, starts, side="left")
    )
    ready, moisture = dries.ready[batch], dries.moisture[batch]
    usual_h = wait.usual_h * LAYER.share / share
    beyond_h = _beyond_h(hours, starts, np.where(np.isinf(ready), moisture, np.nan), usual_h)
    if beyond_h > wait.longest_h - 1.0:  # an hour less, as a clock that is set forward takes one from the wait
        beyond_h = inf
    # Whole minutes, as all times of a plan: what is added to them can be taken away again without a rest.
    beyond_s = float(np.ceil(beyond_h * HOUR_S / MINUTE_S)) * MINUTE_S
    with np.errstate(invalid="ignore"):
        later = np.ceil((hours.known_until + beyond_s * work_left(moisture)) / MINUTE_S) * MINUTE_S
    ready = np.where(np.isinf(ready), later, ready)
    in_order = np.minimum.accumulate(ready[::-1])[::-1]  # against rounding alone: no later batch dries sooner
    times = ReadyTimes(tuple(starts.tolist()), tuple(in_order.tolist()), beyond_s)
    return Pace(times, tuple(moisture.tolist()))


def _beyond_h(hours: DryingHours, starts: Floats, wet_at_end: Floats, usual_h: float) -> float:
    """Hours that a whole batch takes in days that nobody knows.

    The usual ones, or as many as the first batch that this forecast leaves wet has taken and would still take at its
    own pace; if fewer than the usual hours of it are known, it proves nothing.
    """
    unfinished = np.flatnonzero((starts >= hours.start_s[0]) & ~np.isnan(wet_at_end))[0]
    counted = (hours.start_s >= starts[unfinished]) & (hours.start_s < hours.known_until)
    blind_h = float((hours.unknown & counted).sum()) * 24.0 / (OUT_UNTIL_H - OUT_FROM_H)
    known_h = float(counted.sum()) - blind_h
    if known_h < usual_h:
        return usual_h
    done = 1.0 - float(work_left(wet_at_end[unfinished]))
    return max(usual_h, known_h / done) if done > 0.0 else inf
