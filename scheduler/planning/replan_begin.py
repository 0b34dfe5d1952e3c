"""Before the food's first step: whether its night is likely enough for the food to leave its store at all.

What is frozen loses nothing by waiting, what is thawing cannot go back: so more is asked before the first step
(`Policy.begin`) than of a plan that stands.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, FREEZE
from scheduler.planning.answers import Verdict
from scheduler.planning.clock import HOUR_S, seconds
from scheduler.planning.replan_rules import reaches

if TYPE_CHECKING:
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.replan_case import Case

SOON_H = 12.0
"""So long before the food's first step its night has to be likely enough: no more than two forecasts come until then.

Our judgement.
"""

DECIDED_H = 24.0
"""So long before it a better night is decided on; earlier ones change again, and nothing is lost by waiting.

Our judgement: somebody who looks once a day still looks before it.
"""


def may_begin(case: Case, night: Night) -> bool:
    """Whether a night is likely enough to begin for; what nobody knows is asked about by other rules."""
    if night.verdict is Verdict.UNKNOWN or night.chance is None:
        return True
    return reaches(night.chance, asked_to_begin(replace(case.site, policy=case.policy)))


def asked_to_begin(site: Site) -> float:
    """Never more than what makes a night good at this site."""
    return min(site.policy.begin, site.good_chance)


def begins_within(case: Case, plan: Plan, hours: float) -> bool:
    """Whether the food's first step of a plan is due by then, and nothing is done yet."""
    if case.begun:
        return False
    names = {step.name for step in case.chain.process.steps if step.before and step.branch == "food"} - {FREEZE}
    due = [
        seconds(one.at)
        for one in plan.steps
        if one.at is not None and not one.done and (one.step.name in names or one.step.name == ANCHOR)
    ]
    return bool(due) and min(due) - case.chain.now < hours * HOUR_S
