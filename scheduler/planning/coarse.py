"""What a forecast leaves open between readings that are hours apart.

Far ahead some services give a reading every 6 h and, for the period between two of them, its warmest air.  A window
that holds a whole period holds its maximum; a window that a period reaches out of may not.  Where such a maximum is
over the ceiling, or there is none to look at, the window may hold, and is in doubt.
"""

from __future__ import annotations

from enum import StrEnum
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import HOUR_S
from scheduler.planning.curve import LONGEST_STEP_S
from scheduler.planning.spans import Piece, Spans

if TYPE_CHECKING:
    from scheduler.planning.curve import Curve, Periods
    from scheduler.planning.windows import Smokes

COARSE_STEP_S = 3 * HOUR_S
"""Between readings further apart than this the air can rise and fall unseen (our judgement)."""

EDGE_S = 1.0


class Doubt(StrEnum):
    """Why a window that meets its limits at every reading is in doubt all the same."""

    OVERLAP = "the warmest air of a period that reaches beyond the window is over your ceiling"
    NO_MAXIMUM = "part of the window has only readings hours apart, and nothing says how warm it gets between"


def hot_periods(warmest: Periods, ceiling_c: float) -> tuple[Piece, ...]:
    """Periods whose warmest air is known to be over the ceiling."""
    low, high, values = warmest.times[:-1], warmest.times[1:], warmest.values[:-1]
    hot = values > ceiling_c
    return tuple(zip(low[hot].tolist(), high[hot].tolist(), strict=True))


def without_whole(smokes: Smokes, periods: tuple[Piece, ...]) -> Smokes:
    """Those smokes whose window holds none of the periods from end to end."""
    for start, end in periods:
        smokes = smokes.between(start + EDGE_S, inf) | smokes.inside(Spans(((-inf, end - EDGE_S),)))
    return smokes


def unseen_steps(air: Curve, warmest: Periods) -> tuple[Piece, ...]:
    """Steps between readings hours apart for which nothing says how warm it gets between.

    They come in a row, where a service has only such; a single one among hours is a few that went missing.
    """
    low, high, values = warmest.times[:-1], warmest.times[1:], warmest.values[:-1]
    known = ~np.isnan(values)
    maximum_known = Spans.of(zip(low[known].tolist(), high[known].tolist(), strict=True))
    steps = np.diff(air.times)
    coarse = (steps > COARSE_STEP_S) & (steps <= LONGEST_STEP_S)
    coarse &= np.append(coarse[1:], False) | np.insert(coarse[:-1], 0, False)
    found = zip(air.times[:-1][coarse].tolist(), air.times[1:][coarse].tolist(), strict=True)
    return tuple(step for step in found if not _covers(maximum_known, step))


def _covers(spans: Spans, step: Piece) -> bool:
    held = spans.piece_at(step[0])
    return held is not None and held[1] >= step[1]


def doubt_of(hot: tuple[Piece, ...], light: float, lift: float) -> Doubt:
    """What puts a window in doubt that meets its limits at every reading and not surely."""
    overlaps = any(start < lift and end > light for start, end in hot)
    return Doubt.OVERLAP if overlaps else Doubt.NO_MAXIMUM
