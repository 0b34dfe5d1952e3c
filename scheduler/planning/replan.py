"""The same question asked again: does the adopted plan stay, must it move, may it, or is a move only proposed.

Times are kept wherever they still hold.  What a person did is never moved, and what they are about to do is not moved
for a trifle:

- a plan must move, in any state, where its window is gone, a wait would run out, nobody is at home, another batch has
  the chamber, or its night is less likely than the floor; first within its night, then to the night that
  `choose_night` takes.  Weather that nobody knows never moves it.
- a tentative one moves for a gain that is large, or smaller and told by two forecasts, at most once a day, and only
  when the first step for either night is due before long;
- what cannot be kept only because nobody recorded a step is asked about for a day before it moves;
- a committed one only has a better night proposed, when two forecasts tell of it;
- what has not begun begins only for a night that is likely enough: else it waits, and is told so (see `replan_begin`);
- a locked one is asked go or no-go (see `replan_go`), and a running smoke when to lift (see `replan_running`);
- a lighting that is past and that nobody recorded is asked about for a day before anything else becomes of its plan,
  unless the last that was told of it is not to light: who forgot to say that the tray burns still has to lift.

A night under the floor with nothing better in reach stays adopted, flagged as a must, until it is locked: then no-go.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from scheduler.household.process import ANCHOR
from scheduler.planning.adopted import Look
from scheduler.planning.answers import Verdict
from scheduler.planning.clock import HOUR_S, MINUTE_S, seconds
from scheduler.planning.replan_begin import DECIDED_H, SOON_H, begins_within, may_begin
from scheduler.planning.replan_case import Case
from scheduler.planning.replan_go import better_wait, is_go
from scheduler.planning.replan_hold import Held, any_night, best_night, cause_of, hold
from scheduler.planning.replan_rules import (
    kept_verdict,
    may_move_again,
    night_now,
    night_then,
    nothing_better,
    reaches,
    said_twice,
    worth,
)
from scheduler.planning.replan_running import replan_running
from scheduler.planning.replanned import Cause, Change, Replanned, State

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from scheduler.household.policy import Policy
    from scheduler.planning.adopted import Past
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.chain import Chain
    from scheduler.planning.nights import Search


ASKED_H = 24.0
"""So long the last overdue step that nobody recorded is asked about before the plan moves for it: our judgement."""


def replan(
    chain: Chain,
    search: Search,
    nights: Sequence[Night],
    past: Past,
    policy: Policy,
    taken: frozenset[date] = frozenset(),
) -> Replanned:
    """What becomes of an adopted plan, given what was done since and the newest forecast.

    nights: as `find_nights` judges them for this search; taken: nights on which the chamber is another batch's.
    """
    case = Case(chain, search, tuple(nights), past, policy, taken)
    if case.state in (State.SMOKING, State.LIFTED):
        return replan_running(case)
    found = _before_the_smoke(case)
    return _unanswered(found) if _may_be_lit(case) else found


def _may_be_lit(case: Case) -> bool:
    """Whether the tray may burn, and only its record be forgotten: its time is past, and nobody was told not to."""
    return is_asked(case) and any(one.planned.step.name == ANCHOR for one in case.overdue)


def _unanswered(found: Replanned) -> Replanned:
    """Nothing that a burning tray hangs from is moved, called off or dropped before somebody says that it does not."""
    if found.change not in (Change.MOVED, Change.NO_GO, Change.LOST):
        return found
    other = found.plan if found.change is Change.MOVED else None
    return replace(found, change=Change.PROPOSED, plan=None, verdict=None, must=True, moved=(), proposed=other)


def _before_the_smoke(case: Case) -> Replanned:
    """As far as the records go, the tray is not lit."""
    past, held = case.past, hold(case)
    if held.plan is None:
        return _must_leave(case, held)
    if begins_within(case, held.plan, SOON_H) and not may_begin(case, held.plan.night):
        return _not_yet(case, held, held.plan)
    if case.state is State.LOCKED:
        return _locked(case, held, held.plan)
    better = _better(case, held.plan)
    if better is None:
        return _stays(case, held, held.plan, look=nothing_better(past.looks, case.issued_at, case.adopted.night))
    return _weighed(case, held, held.plan, better)


@dataclass(frozen=True, slots=True)
class Better:
    """Another lighting, and what it is better by."""

    plan: Plan
    gain: float


def _better(case: Case, stays: Plan) -> Better | None:
    """The night that would be chosen anew, where it is another one or lit at quite another time."""
    best = best_night(case, case.nights)
    if best is None:
        return None
    apart_s = abs((best.at(ANCHOR) - stays.at(ANCHOR)).total_seconds())
    trifle_min = case.policy.ignore_min if case.state is State.TENTATIVE else case.policy.ignore_committed_min
    if apart_s < MINUTE_S or (best.night.date == stays.night.date and apart_s < trifle_min * MINUTE_S):
        return None
    now, then = worth(stays.night, case.chain.now), worth(best.night, case.chain.now)
    return None if now is None or then is None else Better(best, then - now)


def _weighed(case: Case, held: Held, stays: Plan, better: Better) -> Replanned:
    """A better lighting against what it takes to move, or to propose it."""
    policy, tentative = case.policy, case.state is State.TENTATIVE
    look = Look(case.issued_at, better.plan.night.date, better.gain)
    least = policy.gain_twice if tentative else policy.gain_committed
    if not reaches(better.gain, least):
        broken = nothing_better(case.past.looks, case.issued_at, case.adopted.night)
        return _stays(case, held, stays, look=broken)
    twice = said_twice(case.past.looks, look, least, policy.runs_apart_h)
    if not tentative:
        proposed = better if twice else None
        return _stays(case, held, stays, look=look, proposed=proposed)
    if not twice and not reaches(better.gain, policy.gain):
        return _stays(case, held, stays, look=look)
    due = any(begins_within(case, plan, DECIDED_H) for plan in (stays, better.plan))
    if held.cause is None and not (due and may_move_again(case.adopted, case.chain.now, policy)):
        return _stays(case, held, stays, look=look)
    must = held.cause is not None and bool(case.moved_in(stays))
    return _answer(
        case, held, Change.MOVED, better.plan, cause=held.cause if must else Cause.BETTER, must=must, gain=better.gain
    )


def _stays(
    case: Case, held: Held, plan: Plan, *, look: Look | None = None, proposed: Better | None = None
) -> Replanned:
    """In its night: unchanged, but for steps that could not stay where they were; perhaps with a proposal."""
    better = {} if proposed is None else {"proposed": proposed.plan, "gain": proposed.gain}
    if case.is_pushed(plan):
        cause = held.cause or cause_of(case, held.judged)
        return _answer(case, held, Change.MOVED, plan, cause=cause, must=True, look=look, **better)
    if proposed is not None:
        return _answer(case, held, Change.PROPOSED, plan, cause=Cause.BETTER, look=look, **better)
    return _answer(case, held, Change.UNCHANGED, plan, look=look)


def _not_yet(case: Case, held: Held, stays: Plan) -> Replanned:
    """Its first step is due, its night too unlikely to begin for: to a likelier one, else it waits for a forecast.

    A plan that somebody's word commits is only told of it.
    """
    if case.adopted.committed:
        return replace(_stays(case, held, stays), wait=True)
    better = best_night(case, [one for one in case.nights if one.date != case.adopted.night])
    if better is not None and may_begin(case, better.night):
        return _answer(case, held, Change.MOVED, better, cause=Cause.WEATHER, must=True)
    found = _answer(case, held, Change.NO_GO, stays, cause=Cause.WEATHER, must=True, wait=True)
    food = {step.name for step in case.chain.process.steps if step.branch == "food"}
    return replace(found, overdue=tuple(one for one in found.overdue if one.planned.step.name not in food))


def _locked(case: Case, held: Held, stays: Plan) -> Replanned:
    """Go or no-go."""
    night = stays.night
    if night.verdict is Verdict.UNKNOWN:
        return _stays(case, held, stays)
    if not is_go(case, night):
        later = best_night(case, [one for one in case.nights if one.date != night.date])
        if later is not None and is_go(case, later.night):
            return _answer(case, held, Change.MOVED, later, cause=Cause.WEATHER, must=True)
        return _answer(case, held, Change.NO_GO, stays, cause=Cause.WEATHER, must=True)
    wait = better_wait(case, night)
    return _stays(case, held, stays, proposed=None if wait is None else Better(*wait))


def _must_leave(case: Case, held: Held) -> Replanned:
    """To the night that would be chosen anew; food on its way takes any night that is not under the floor."""
    plan = best_night(case, case.nights) or (any_night(case) if case.begun else None)
    if plan is not None and held.cause is Cause.LATE and is_asked(case):
        return _answer(case, held, Change.PROPOSED, None, cause=held.cause, must=True, proposed=plan)
    if plan is not None:
        return _answer(case, held, Change.MOVED, plan, cause=held.cause, must=True)
    if held.unlikely is not None:
        in_place = Change.MOVED if case.is_pushed(held.unlikely) else Change.UNCHANGED
        change = Change.NO_GO if case.state is State.LOCKED else in_place
        return _answer(case, held, change, held.unlikely, cause=held.cause, must=True)
    return _answer(case, held, Change.LOST, None, cause=held.cause, must=True)


def is_asked(case: Case) -> bool:
    """Whether a step is overdue since so lately that it may be done, and only its record forgotten."""
    return any(case.chain.now - seconds(one.was_due) < ASKED_H * HOUR_S for one in case.overdue)


def _answer(case: Case, held: Held, change: Change, plan: Plan | None, **more: Any) -> Replanned:
    """Put the facts together."""
    return Replanned(
        change=change,
        state=case.state,
        adopted=case.adopted,
        plan=plan,
        verdict=None if plan is None else _verdict(case, plan),
        was=night_then(case.adopted),
        is_now=night_now(held.judged, case.issued_at),
        moved=() if plan is None else case.moved_in(plan),
        overdue=case.overdue if plan is None else case.overdue_in(plan),
        blocked=held.blocked,
        nights=tuple(case.nights),
        **more,
    )


def _verdict(case: Case, plan: Plan) -> Verdict:
    """With hysteresis where the night has not moved."""
    if plan.night.date != case.adopted.night:
        return plan.night.verdict
    return kept_verdict(case.adopted.verdict, plan.night, case.site, case.policy.hysteresis)
