"""Whether an adopted plan still holds, and what of it: at its lighting, else elsewhere in its night.

A night that is chosen has to keep every limit by the forecast's line.  One that is adopted is held to less, so that a
hair's breadth does not move it: its ceiling is judged by the chance alone, its floor with the household's slack.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR
from scheduler.planning.answers import Night, Plan, Verdict
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import HOUR_S, MINUTE_S, instant, night_bounds, night_of, seconds
from scheduler.planning.coarse import without_whole
from scheduler.planning.nights import find_nights, judge_lighting
from scheduler.planning.plan import choose_night, plan_for
from scheduler.planning.replan_rules import worth
from scheduler.planning.replanned import Cause
from scheduler.planning.spans import EMPTY, Spans
from scheduler.planning.windows import Smokes, Stretch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from scheduler.planning.nights import Search
    from scheduler.planning.replan_case import Case


@dataclass(frozen=True, slots=True)
class Held:
    """What is left of an adopted plan."""

    judged: Night
    """The adopted lighting by the newest forecast."""
    plan: Plan | None
    """The plan that stays in its night; None where it cannot."""
    cause: Cause | None = None
    """Why it cannot, or why its times could not stay."""
    blocked: Infeasible | None = None
    unlikely: Plan | None = None
    """The plan as adopted where all that speaks against it is a chance under the floor."""


def hold(case: Case) -> Held:
    """Keep the adopted lighting; else another one of the same night; else nothing."""
    judged = judge_kept(case, case.light)
    if case.adopted.night in case.taken:
        return Held(judged, None, Cause.SHARED)
    plan, cause = _as_it_is(case, judged)
    if cause is None:
        return Held(judged, plan if isinstance(plan, Plan) else None)
    return Held(
        judged,
        _elsewhere_in_its_night(case, judged),
        cause,
        blocked=plan if isinstance(plan, Infeasible) else None,
        unlikely=plan if isinstance(plan, Plan) else None,
    )


def window_holds(night: Night) -> bool:
    """Whether a night that was searched has a window that is known to meet every limit."""
    return night.verdict is not Verdict.UNKNOWN and night.light_earliest is not None


def judge_kept(case: Case, light: float) -> Night:
    """One lighting by the newest forecast: one of the adopted night that misses its limits, by what is asked of that.

    As such it is borderline at best; under the floor of chances it is told as the plain limits judge it.
    """
    judged = judge_lighting(case.search, light)
    if judged.verdict is Verdict.UNKNOWN or night_of(light, case.site.zone) != case.adopted.night:
        return judged
    if _meets(case.search, judged, light):
        return judged
    kept = judge_lighting(case.kept, light)
    return at_best_borderline(kept) if _stands(case, kept, light) else judged


def at_best_borderline(night: Night) -> Night:
    """A night that misses a limit, by little or only in the forecast's line, is not good."""
    return replace(night, verdict=Verdict.BORDERLINE) if night.verdict is Verdict.GOOD else night


def _limits_met(case: Case, judged: Night) -> bool:
    """Whether the window of one lighting is known to meet every limit that is asked of it, however likely that is."""
    light = case.light if judged.light_best is None else seconds(judged.light_best)
    return _meets(case.search, judged, light) or _stands(case, judged, light)


def _stands(case: Case, judged: Night, light: float) -> bool:
    """Whether a lighting keeps what is asked of the adopted night."""
    adopted = judged.date == case.adopted.night
    return adopted and above_floor(case, judged) and _meets(case.kept, judged, light)


def _meets(search: Search, judged: Night, light: float) -> bool:
    """Whether a smoke from there to the lift that was judged is known to meet the limits of a search."""
    if judged.lift is None:
        return False
    met, one = search.met, Smokes(search.smokes.duration_s, (Stretch(light, light, seconds(judged.lift)),))
    return bool(one.inside(met.surely).stretches or without_whole(one.inside(met.roughly), met.hot).stretches)


def above_floor(case: Case, night: Night) -> bool:
    """Whether a night is not known to be under the floor; what is unknown is no reason to move.

    A night that is borderline at this site is not under it: a plan would have to move as soon as it is made.
    """
    floor = min(case.policy.must_below, case.site.borderline_chance)
    return night.verdict is Verdict.UNKNOWN or night.chance is None or night.chance >= floor


def _as_it_is(case: Case, judged: Night) -> tuple[Plan | Infeasible | None, Cause | None]:
    """The plan at its adopted lighting, and what speaks against it."""
    if case.light < case.chain.now:
        return None, Cause.LATE
    if case.light not in case.search.smokes.lightings:
        return None, Cause.HOURS
    if judged.verdict is not Verdict.UNKNOWN and not _limits_met(case, judged):
        return None, Cause.WEATHER
    plan = plan_for(case.chain, _with_leeway(case, judged), prefer=case.wanted)
    if isinstance(plan, Infeasible):
        return plan, cause_of(case, judged, plan)
    return plan, None if above_floor(case, judged) else Cause.WEATHER


def cause_of(case: Case, judged: Night, blocked: Infeasible | None = None) -> Cause:
    """Why steps cannot be where they were: nobody at home, a step not done, or sawdust that dries more slowly."""
    if case.chain.busy:
        free = plan_for(replace(case.chain, busy=EMPTY), _with_leeway(case, judged), prefer=case.wanted)
        if isinstance(free, Plan) and not case.moved_in(free):
            return Cause.HOURS
    if case.overdue:
        return Cause.LATE
    by_sawdust = blocked is None or {blocked.step, blocked.other} & sawdust_steps(case)
    return Cause.WEATHER if case.chain.spell is not None and by_sawdust else Cause.LATE


def _with_leeway(case: Case, judged: Night) -> Night:
    """Weather that nobody knows leaves the lift all the time that the site does."""
    if judged.verdict is not Verdict.UNKNOWN:
        return judged
    return replace(judged, lift_latest=instant(case.light + case.site.longest_h * HOUR_S))


def _elsewhere_in_its_night(case: Case, judged: Night) -> Plan | None:
    """As little moved as can be: a lighting near the adopted one, else the night's best."""
    night = case.own if case.own is not None and window_holds(case.own) else _own_kept(case)
    if night is None and judged.verdict is Verdict.UNKNOWN:
        night = _unknown_night(case, judged)
    if night is None:
        return None
    without = {name: at for name, at in case.wanted.items() if name != ANCHOR}
    for held, wanted in ((_nearest(case, night), case.wanted), (night, case.wanted), (night, without)):
        plan = settled(case, held, wanted)
        if plan is not None and above_floor(case, plan.night):
            return plan
    return None


def _own_kept(case: Case) -> Night | None:
    """The adopted night at its coolest, by what is asked of it; None where it has no window even so."""
    found = (night for night in find_nights(case.kept) if night.date == case.adopted.night and window_holds(night))
    return next(map(at_best_borderline, found), None)


def _nearest(case: Case, night: Night) -> Night:
    """The night judged where it can be lit nearest to the adopted lighting, if that is not in its span, and as good."""
    first, last = night.light_earliest, night.light_latest
    if first is None or last is None or night.verdict is Verdict.UNKNOWN:
        return night
    minutes = [
        (ceil(seconds(a) / MINUTE_S), floor(seconds(b) / MINUTE_S)) for a, b in ((first, last), *night.other_spans)
    ]
    held = Spans.of((a * MINUTE_S, b * MINUTE_S) for a, b in minutes if a <= b)
    light = held.nearest(case.light) if held else seconds(first)
    if seconds(first) <= light <= seconds(last):
        return night
    judged = judge_kept(case, light)
    return judged if judged.verdict is night.verdict else night


def _unknown_night(case: Case, judged: Night) -> Night | None:
    """A night of which the weather says nothing, as wide as it is; None where it is past."""
    start, end = night_bounds(case.adopted.night, case.site.zone)
    early, late = max(start, case.chain.now), end - 1.0
    if early > late:
        return None
    light = min(max(case.light, early), late)
    smoke_s, longest_s = case.site.duration_h * HOUR_S, case.site.longest_h * HOUR_S
    return replace(
        judged, light_earliest=instant(early), light_best=instant(light), light_latest=instant(late),
        lift=instant(light + smoke_s), lift_latest=instant(late + longest_s),
    )  # fmt: skip


def settled(case: Case, night: Night, wanted: Mapping[str, float]) -> Plan | None:
    """The plan for a night with its facts told of the lighting it has come to; None where it cannot be made."""
    plan = plan_for(case.chain, night, prefer=wanted)
    if isinstance(plan, Infeasible):
        return None
    light = plan.at(ANCHOR)
    if light == night.light_best or night.verdict is Verdict.UNKNOWN:
        return plan
    judged = judge_kept(case, seconds(light))
    if not _limits_met(case, judged):
        return plan
    settled_at = {one.step.name: seconds(one.at) for one in plan.steps if one.at is not None and not one.done}
    again = plan_for(case.chain, judged, prefer={**wanted, **settled_at})
    return plan if isinstance(again, Infeasible) else again


def best_night(case: Case, nights: Sequence[Night]) -> Plan | None:
    """Among nights not under the floor: the earliest good one that can be made, else the borderline one worth most."""
    free = [night for night in nights if night.date not in case.taken and above_floor(case, night)]
    chosen = choose_night(case.chain, free).plan
    return None if chosen is None else settled(case, chosen.night, sawdust_times(case)) or chosen


def any_night(case: Case) -> Plan | None:
    """For food that is on its way: the night worth most of all that are not under the floor."""
    makeable = []
    for night in case.nights:
        value = worth(night, case.chain.now)
        if value is None or night.date in case.taken or not window_holds(night) or not above_floor(case, night):
            continue
        plan = settled(case, night, sawdust_times(case))
        if plan is not None:
            makeable.append((value, plan))
    return max(makeable, key=lambda pair: pair[0])[1] if makeable else None


def sawdust_times(case: Case) -> Mapping[str, float]:
    """Adopted times that a plan for another night keeps too: dry sawdust waits, food is better off with usual waits."""
    return {name: at for name, at in case.wanted.items() if name in sawdust_steps(case)}


def sawdust_steps(case: Case) -> set[str]:
    """What is done with the sawdust alone."""
    return {step.name for step in case.chain.process.steps if step.branch == "sawdust"}
