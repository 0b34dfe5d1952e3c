"""Scheduling done the slow way: every assignment of whole hours to every step, tried one by one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from planning_builders import HOUR_S

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scheduler.planning.spans import Spans


@dataclass(frozen=True)
class Between:
    """The start of the later step lies hands-on time and a wait after the start of the earlier, in hours."""

    earlier: str
    later: str
    least: int
    longest: int
    hands_on: int = 0

    def holds(self, earlier: float, later: float) -> bool:
        return self.least <= later - earlier - self.hands_on <= self.longest


def every_assignment(own: Mapping[str, list[int]], waits: list[Between]) -> dict[str, set[int]] | None:
    """Hours of each step that belong to some complete assignment; None without one.

    An array with an axis for each step holds whether each combination of hours is allowed.
    """
    names = list(own)
    allowed = np.ones([len(own[name]) for name in names], dtype=bool)
    for wait in waits:
        axes = names.index(wait.earlier), names.index(wait.later)
        gap = np.array(own[wait.later])[None, :] - np.array(own[wait.earlier])[:, None] - wait.hands_on
        pair = (gap >= wait.least) & (gap <= wait.longest)
        shape = [len(own[name]) if n in axes else 1 for n, name in enumerate(names)]
        allowed &= (pair if axes[0] < axes[1] else pair.T).reshape(shape)
    if not allowed.any():
        return None
    found = {}
    for n, name in enumerate(names):
        kept = allowed.any(axis=tuple(k for k in range(len(names)) if k != n))
        found[name] = {hour for hour, ok in zip(own[name], kept, strict=True) if ok}
    return found


def on_the_hour(spans: Spans) -> set[int]:
    """The whole hours in a set of time whose ends are whole hours, so that they say all of it."""
    assert all(edge % HOUR_S == 0 for piece in spans for edge in piece)
    return {h for a, b in spans for h in range(round(a / HOUR_S), round(b / HOUR_S) + 1)}
