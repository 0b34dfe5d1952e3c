"""The unbroken stretch of lightings around one of them in which the chance stays enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.clock import HOUR_S, MINUTE_S

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from scheduler.planning.spans import Piece
    from scheduler.planning.windows import Smokes

    Floats = NDArray[np.float64]
    ChancesOf = Callable[[Floats], Floats]

SCAN_S = 30 * MINUTE_S
"""Step at which the chance is looked at in any case, beside where it can bend or jump."""

LOOK_BESIDE_S = 2.0
"""How far beside a jump the chance is looked at: more than the second within which an hour counts as the lift."""


SECTIONS = 8
"""Parts that a stretch is cut into at each round of the search for its end: one call for many looks is cheaper."""


def span_of_chance(chances: ChancesOf, needed: float, light: float, piece: Piece, marks: Floats) -> Piece:
    """Ends of the stretch around the lighting, inside the piece, in which the chance is at least `needed`.

    marks: lightings between which the chance has no dip that they do not show (see `marks_of`).
    """
    ends = []
    for end, between in ((piece[0], marks[marks < light][::-1]), (piece[1], marks[marks > light])):
        walk = np.concatenate([[light], between, [end]])
        short = np.nonzero(chances(walk[1:]) < needed)[0]
        ends.append(_edge(chances, needed, walk[short[0]], walk[short[0] + 1]) if len(short) else end)
    return ends[0], ends[1]


def _edge(chances: ChancesOf, needed: float, enough: float, short: float) -> float:
    """The last lighting with enough chance between one that has it and one that falls short, to the second."""
    while abs(short - enough) > 1.0:
        between = np.linspace(enough, short, SECTIONS + 1)
        falls = np.append(chances(between[1:-1]) < needed, True)
        first = int(np.argmax(falls))
        enough, short = float(between[first]), float(between[first + 1])
    return enough


def marks_of(samples: Floats, held: Smokes, piece: Piece) -> Floats:
    """Lightings in the piece at which the chance has to be looked at.

    Between two lightings at which some hour after the lighting meets a sample or the lift, every air temperature in
    the window runs along a line; the chance of the error model is then log-concave in the lighting (the integral of
    a log-concave function is one: Prékopa 1973, from memory) and lowest at an end.  It jumps where an hour after the
    lighting passes the lift, hence a look on both sides.  An ensemble's chance is only nearly so.
    """
    lifts = np.array([one.lift for one in held.stretches if one.lift is not None])
    edges = np.array([edge for one in held.stretches for edge in (one.start, one.end)])
    bends = _every_hour(np.concatenate([samples, samples - held.duration_s]), piece)
    jumps = np.concatenate([_every_hour(lifts, piece), edges])
    scan = np.arange(piece[0], piece[1], SCAN_S)
    looks = np.unique(np.concatenate([bends, jumps - LOOK_BESIDE_S, jumps, jumps + LOOK_BESIDE_S, scan]))
    return looks[(looks > piece[0]) & (looks < piece[1])]


def _every_hour(instants: Floats, piece: Piece) -> Floats:
    """Instants that lie whole hours from any of these, all over the piece."""
    hours = np.arange(np.floor(piece[0] / HOUR_S), piece[1] / HOUR_S + 1.0) * HOUR_S
    return np.asarray((hours[:, None] + np.unique(instants % HOUR_S)).ravel())
