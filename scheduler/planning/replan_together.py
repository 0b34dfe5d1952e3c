"""One tray, one lighting: a batch that shares its night with another is lit when that one is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR
from scheduler.planning.answers import Plan
from scheduler.planning.clock import MINUTE_S, seconds
from scheduler.planning.nights import judge_lighting
from scheduler.planning.plan import plan_for
from scheduler.planning.replanned import Cause, Change, Moved, Replanned

if TYPE_CHECKING:
    from scheduler.planning.chain import Chain
    from scheduler.planning.nights import Search


def lit_together(chain: Chain, search: Search, found: Replanned, light: float) -> Replanned | None:
    """The same night at the other's lighting [s since 1970 UTC]; None where this batch cannot be lit then."""
    if found.plan is None:
        return None
    if abs(seconds(found.plan.at(ANCHOR)) - light) < MINUTE_S:
        return found
    night = judge_lighting(search, light)
    if not night.verdict.is_offered:
        return None
    before = [one for one in found.plan.steps if one.step.before and one.at is not None and not one.done]
    wanted = {one.step.name: seconds(one.at) for one in before if one.at is not None} | {ANCHOR: light}
    plan = plan_for(chain, night, prefer=wanted)
    if not isinstance(plan, Plan) or abs(seconds(plan.at(ANCHOR)) - light) >= MINUTE_S:
        return None
    moved = tuple(
        Moved(one.step.name, one.step.title, found.adopted.steps[one.step.name], one.at)
        for one in plan.steps
        if one.step.name in found.adopted.steps and not one.done and one.at != found.adopted.steps[one.step.name]
    )
    change = Change.MOVED if moved else Change.UNCHANGED
    return replace(found, change=change, plan=plan, verdict=night.verdict, cause=Cause.SHARED, must=True, moved=moved)
