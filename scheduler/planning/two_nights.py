"""Two short nights in place of one long one, with the food chilled in the fridge between them.

Common practice, no source.  Two rules of ours hold it together: the first lighting lies inside the longest wait like
any other, and between the first lift and the second lighting the food is chilled no longer than the process's longest
rest.  Each night's smoke has half the planned length at least, and no less than `SHORTEST_HALF_H`.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import ceil
from typing import TYPE_CHECKING

from scheduler.planning.answers import Plan, Verdict
from scheduler.planning.clock import HOUR_S, seconds
from scheduler.planning.food_wait import rest_step
from scheduler.planning.plan import plan_for
from scheduler.planning.way_values import Smoke, Way, WayOut

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.process import Step
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night
    from scheduler.planning.chain import Chain
    from scheduler.planning.looking_again import Look

SHORTEST_HALF_H = 4.0
"""Less is no smoke that is worth a lighting: our judgement."""


def two_nights(site: Site, look: Look, bare: WayOut) -> WayOut | None:
    """The likeliest pair of short nights, two good ones before any other; None where no two can be made."""
    short_h = float(max(SHORTEST_HALF_H, ceil(site.duration_h / 2.0)))
    chain, nights = look(replace(site, duration_h=short_h))
    rest = rest_step(chain)
    if rest is None or rest[0].during is None or short_h >= site.duration_h:
        return None
    able = [night for night in nights if night.verdict.is_offered]
    firsts = [plan for plan in (plan_for(chain, night) for night in able) if isinstance(plan, Plan)]
    pairs = [
        (first, second)
        for first, night in product(firsts, able)
        if night.date > first.night.date and (second := _second(chain, rest[0], first, night)) is not None
    ]
    if not pairs:
        return None
    first, second = max(pairs, key=lambda pair: (_both_good(*pair), _chance(*pair)))
    return replace(
        bare,
        kind=Way.TWO_NIGHTS,
        by=plan_by(first),
        smokes=(Smoke.of(first), Smoke.of(second)),
        duration_h=short_h,
        fronts=site.tray.fronts,
        chance=_chance(first, second),
        good=_both_good(first, second),
        plan=first,
    )


def _second(chain: Chain, rest: Step, first: Plan, night: Night) -> Plan | None:
    """The second night, its food at rest since the first lift, once the first tray has surely burnt out.

    The sawdust for both is what one long smoke would have taken, so it is there if it was for the first.
    """
    smoke = Smoke.of(first)
    smoke_h = (smoke.lift - smoke.light).total_seconds() / HOUR_S
    burnt = seconds(smoke.light) + chain.burn(smoke_h).longest_h * HOUR_S
    batch = replace(chain.batch, state=rest.during or "", since=smoke.lift, sawdust="dry", sawdust_since=None, done=())
    again = replace(chain, batch=batch, now=max(burnt, seconds(smoke.lift)))
    plan = plan_for(again, night)
    return plan if isinstance(plan, Plan) else None


def _chance(first: Plan, second: Plan) -> float:
    """That both hold, as if the one told nothing of the other."""
    return (first.night.chance or 0.0) * (second.night.chance or 0.0)


def _both_good(first: Plan, second: Plan) -> bool:
    return first.night.verdict is Verdict.GOOD and second.night.verdict is Verdict.GOOD


def plan_by(plan: Plan) -> datetime | None:
    """The last moment for what a plan has to have done first."""
    ends = [each.leeway[1] for each in plan.steps if each.leeway is not None and each.step.household]
    return min(ends, default=None)
