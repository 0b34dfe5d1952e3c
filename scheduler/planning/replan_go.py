"""A locked plan: light tonight, or not.

Food in its cure or out of it is lit from the household's own threshold on (`Policy.go`).  Where a later night in reach
is better, after what waiting costs, by the gain that a committed plan asks for, more is asked of tonight: the threshold
of optimal stopping by the nights left inside the longest waits and their mean chance, but never more than what makes a
night good.  One forecast is enough to be asked, as there may be no second one before the lighting.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.planning.answers import Verdict
from scheduler.planning.plan import WAIT_COST_PER_DAY
from scheduler.planning.replan_hold import best_night, window_holds
from scheduler.planning.replan_rules import kept_verdict, reaches, worth
from scheduler.planning.stopping import threshold

if TYPE_CHECKING:
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.replan_case import Case

BEGUN_WAIT_COST = 0.10
"""Chance that a night of waiting is worth for fish in its cure or out of it: our judgement."""

CORRELATED = 0.05
"""What neighbouring nights' likeness takes off the threshold, which counts them as independent: our judgement."""


def wait_cost(case: Case) -> float:
    """Of each day: food on its way cannot wait as what is frozen can."""
    return BEGUN_WAIT_COST if case.begun else WAIT_COST_PER_DAY


def is_go(case: Case, night: Night) -> bool:
    """Whether tonight is likely enough by itself; food that has not begun loses nothing but the smoke."""
    return night.chance is None or not case.begun or reaches(night.chance, case.policy.go)


def better_wait(case: Case, night: Night) -> tuple[Plan, float] | None:
    """A later night that tonight should be left for, and its gain; None where tonight is to be taken."""
    if kept_verdict(case.adopted.verdict, night, case.site, case.policy.hysteresis) is Verdict.GOOD:
        return None
    tonight = worth(night, case.chain.now, wait_cost(case))
    later = best_night(case, [one for one in case.nights if one.date in case.reach])
    if later is None or tonight is None or night.chance is None:
        return None
    value = worth(later.night, case.chain.now, wait_cost(case))
    if (
        value is None
        or not reaches(value - tonight, case.policy.gain_committed)
        or reaches(night.chance, tonight_needs(case))
    ):
        return None
    return later, value - tonight


def tonight_needs(case: Case) -> float:
    """Least chance to light tonight, by the nights left after it and how likely they are on the mean."""
    chances = [_usable(night) for night in case.nights if night.date in case.reach]
    known = [chance for chance in chances if chance is not None]
    rate = sum(known) / len(known) if known else 0.0
    least = threshold(len(known), rate, wait_cost=wait_cost(case))
    return max(0.0, least - CORRELATED)


def _usable(night: Night) -> float | None:
    """What a night counts for: nothing where a limit is missed; None where nobody knows."""
    if night.verdict is Verdict.UNKNOWN:
        return None
    return night.chance if window_holds(night) else 0.0
