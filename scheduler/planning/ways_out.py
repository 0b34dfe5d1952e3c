"""When fish is in salt or rinsed and no good night is left inside its longest wait: the ways out, ranked.

The longest wait is never moved: every lighting lies inside it, and what is not lit by then is frozen or cooked.  Good
ways come first, by chance less what waiting costs; freezing and cooking come last, cooking always.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, inf
from typing import TYPE_CHECKING

from scheduler.household.process import FREEZE
from scheduler.household.site_values import SHORTEST_SMOKE_H
from scheduler.planning.answers import Verdict
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import DAY_S, HOUR_S, instant, night_bounds, seconds
from scheduler.planning.food_wait import at_home_by, food_wait, rest_step
from scheduler.planning.looking_again import looking_again
from scheduler.planning.plan import AS_LIKELY, WAIT_COST_PER_DAY, choose_night, plan_for
from scheduler.planning.two_nights import plan_by, two_nights
from scheduler.planning.way_values import LAST_RESORTS, Smoke, Way, WayOut
from scheduler.science.parasites import CORE_LAG_H, EXTENSION_14_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.household.site import Site
    from scheduler.planning.answers import Night
    from scheduler.planning.chain import Chain
    from scheduler.planning.looking_again import Look
    from scheduler.planning.nights import Search
    from scheduler.science.parasites import Rule


def ways_out(chain: Chain, search: Search, nights: Sequence[Night]) -> tuple[WayOut, ...]:
    """Every way out, the best first; none where a good night is left, or for food that has not begun or is lit.

    nights: as found with this chain and this search.
    """
    bare = _bare(chain)
    whole = None if bare is None else _smoked(Way.HOLD, chain, nights, bare)
    if bare is None or (whole is not None and whole.good):
        return ()
    last = seconds(bare.until) + (chain.site.longest_h + (bare.rest_h or 0.0)) * HOUR_S
    look = looking_again(chain, search, last)
    found = list(_last_resorts(chain, nights, bare))
    if bare.by is not None:
        found += [*_lit_ways(chain.site, look, whole, bare), *_held(chain, nights, whole, bare)]
    return ranked(found, chain.now)


def ranked(ways: Sequence[WayOut], now: float) -> tuple[WayOut, ...]:
    """The best first; of those that are as good as the best, the first by kind."""
    left, order, found = list(ways), list(Way), []
    while left:
        group = min(_group(way) for way in left)
        worth = [_worth(way, now) if _group(way) == group else -inf for way in left]
        equals = [way for way, each in zip(left, worth, strict=True) if each >= max(worth) - AS_LIKELY]
        found.append(min(equals, key=lambda way: order.index(way.kind)))
        left.remove(found[-1])
    return tuple(found)


def _group(way: WayOut) -> int:
    """Good ways first, then what may hold, what nobody knows, and the last resorts."""
    if way.kind in LAST_RESORTS:
        return 3
    return 2 if way.chance is None else int(not way.good)


def _worth(way: WayOut, now: float) -> float:
    """Chance less what waiting for its last lighting costs; all are equals where there is no chance."""
    if way.chance is None:
        return 0.0
    return way.chance - WAIT_COST_PER_DAY * (seconds(way.smokes[-1].light) - now) / DAY_S


def _bare(chain: Chain) -> WayOut | None:
    """What every way has in common, as the one that is always left: cooking."""
    wait = food_wait(chain)
    if wait is None:
        return None
    step, rest = wait.next_step, rest_step(chain)
    return WayOut(
        kind=Way.COOK,
        until=instant(wait.until),
        by=at_home_by(chain, wait.until),
        hours_left=max(0.0, wait.until - chain.now) / HOUR_S,
        next_step=step,
        next_by=None if step is None else at_home_by(chain, wait.next_until),
        rest_h=None if rest is None else rest[1].longest_h,
    )


def _lit_ways(site: Site, look: Look, whole: WayOut | None, bare: WayOut) -> Iterator[WayOut]:
    """Ways that smoke the food now; each only where it is better than the whole smoke on the best night inside."""
    shorter = _longest(Way.SHORTER, site, look, bare, _shorter_h(site))
    if shorter is not None and _gains(shorter, whole):
        yield shorter
    else:
        shorter = whole
    if site.tray.fronts > 1:
        slower = replace(site, tray=replace(site.tray, fronts=1))
        one = _longest(Way.ONE_FRONT, slower, look, bare, [site.duration_h, *_shorter_h(site)])
        if one is not None and _gains(one, shorter):
            yield one
    both = two_nights(site, look, bare)
    if both is not None and _gains(both, whole):
        yield both


def _shorter_h(site: Site) -> list[float]:
    """Shorter smokes in whole hours, the longest first."""
    return [float(hours) for hours in range(ceil(site.duration_h) - 1, ceil(SHORTEST_SMOKE_H) - 1, -1)]


def _gains(way: WayOut, other: WayOut | None) -> bool:
    """Whether a way is better: good where the other is not, good and longer, or likelier."""
    if other is None or way.good != other.good:
        return other is None or way.good
    if way.good and (way.duration_h or 0.0) > (other.duration_h or 0.0):
        return True
    return (way.chance or 0.0) > (other.chance or 0.0) + AS_LIKELY


def _longest(kind: Way, site: Site, look: Look, bare: WayOut, lengths_h: Sequence[float]) -> WayOut | None:
    """The longest smoke among these with a good night; else the longest with a borderline one; None without either."""
    borderline = None
    for hours in lengths_h:
        way = _smoked(kind, *look(replace(site, duration_h=hours)), bare)
        if way is not None and way.good:
            return way
        borderline = borderline or way
    return borderline


def _smoked(kind: Way, chain: Chain, nights: Sequence[Night], bare: WayOut) -> WayOut | None:
    """One smoke inside the wait, of the night that is chosen for it; None where there is none."""
    plan = choose_night(chain, nights).plan
    if plan is None:
        return None
    return replace(
        bare,
        kind=kind,
        by=plan_by(plan),
        smokes=(Smoke.of(plan),),
        duration_h=chain.site.duration_h,
        fronts=chain.site.tray.fronts,
        chance=plan.night.chance,
        good=plan.night.verdict is Verdict.GOOD,
        plan=plan,
    )


def _held(chain: Chain, nights: Sequence[Night], whole: WayOut | None, bare: WayOut) -> Iterator[WayOut]:
    """Keep it chilled to the end of its wait, where a night in it may still come good."""
    inside = tuple(night for night in nights if _in_reach(chain, night))
    if inside:
        yield replace(whole or bare, kind=Way.HOLD, by=bare.by, nights=inside)


def _in_reach(chain: Chain, night: Night) -> bool:
    """Whether a borderline or unknown night has a lighting that the food can wait for."""
    if night.verdict is Verdict.BORDERLINE:
        return not isinstance(plan_for(chain, night), Infeasible)
    if night.verdict is not Verdict.UNKNOWN:
        return False
    start, end = night_bounds(night.date, chain.site.zone)
    lightings = chain.smokes().between(max(start, chain.now), end - 1.0).lightings
    return bool(lightings) and not isinstance(chain.tree(chain.site.duration_h).leeway(lightings), Infeasible)


def _last_resorts(chain: Chain, nights: Sequence[Night], bare: WayOut) -> Iterator[WayOut]:
    """Freezing, as long as the wait lasts, and cooking: of food that is cured (salt and cheese are not cooked)."""
    if chain.process.cure is None:
        return
    if bare.by is not None:
        rule = None if chain.freezing is None or chain.freezing.settled else EXTENSION_14_DAYS
        ready = seconds(bare.until) + _frozen_and_thawed_h(chain, rule) * HOUR_S
        later = [night for night in nights if night.verdict is Verdict.GOOD and _lit_from(night, ready)]
        yield replace(bare, kind=Way.FREEZE, nights=tuple(later[:1]), rule=rule)
    yield bare


def _frozen_and_thawed_h(chain: Chain, rule: Rule | None) -> float:
    """Least hours from the freezer to the lighting: what the rule asks for, and the thaw."""
    frozen_h = 0.0 if rule is None else rule.hold_h + CORE_LAG_H
    leads_to = {step.neighbour for step in chain.process.steps if step.name == FREEZE}
    return frozen_h + sum(s.wait.least_h for s in chain.process.steps if s.name in leads_to and s.wait is not None)


def _lit_from(night: Night, ready: float) -> bool:
    """Whether the night's last lighting comes at that instant or later."""
    return night.light_latest is not None and seconds(night.light_latest) >= ready
