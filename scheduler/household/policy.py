"""When an adopted plan may move: the household's thresholds, each with its default.

All of them are our judgement, from simulations of seasons with forecasts whose error grows with the lead.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Policy:
    """Thresholds of replanning; chances are 0 to 1, a gain is in chance less what waiting costs."""

    must_below: float = 0.40
    """A plan whose night is less likely than this has to move, in any state; nothing else judges its ceiling."""
    gain: float = 0.15
    """What another night must be better by before a tentative plan moves."""
    gain_twice: float = 0.10
    """The same, where two forecasts in a row say so."""
    gain_committed: float = 0.20
    """What another night must be better by, on two forecasts in a row, before a committed plan is asked about."""
    runs_apart_h: float = 6.0
    """Least time between two forecasts that count as two."""
    lock_h: float = 24.0
    """Before the lighting: from then on a plan is locked, and only go or no-go is asked."""
    move_every_h: float = 24.0
    """Least time between two moves that are not musts."""
    ignore_min: float = 30.0
    """A lighting of a tentative plan is not moved by less than this within its night."""
    ignore_committed_min: float = 60.0
    """The same, once the plan is committed."""
    hysteresis: float = 0.10
    """How far the chance must fall under what a verdict asks before an adopted plan loses the verdict."""
    go: float = 0.60
    """Least chance to light on the day for fish that is in its cure or out of it, with no better night in reach."""
    floor_slack_k: float = 1.0
    """How far under the floor the coldest air of an adopted night may be told to fall before the plan leaves it."""
    begin: float = 0.65
    """Least chance of a night for which the food's first step is taken: what is frozen loses nothing by waiting."""
