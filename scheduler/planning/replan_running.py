"""Replanning a smoke that runs, or is over: the lift follows the weather and the fire, nothing else moves."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR
from scheduler.planning.replan_rules import night_now, night_then
from scheduler.planning.replanned import Cause, Change, Replanned, State
from scheduler.planning.under_way import under_way

if TYPE_CHECKING:
    from scheduler.planning.replan_case import Case


def replan_running(case: Case) -> Replanned:
    """Lift earlier where it warms, later where the tray had to be lit again; what is over stays as it is."""
    found = under_way(case.chain, replace(case.search, floor_slack_k=case.policy.floor_slack_k), prefer=case.wanted)
    over = case.state is State.LIFTED
    answer = Replanned(
        change=Change.UNCHANGED,
        state=case.state,
        adopted=case.adopted,
        plan=found.plan,
        verdict=case.adopted.verdict if over else found.night.verdict,
        was=night_then(case.adopted),
        is_now=night_now(found.night, case.issued_at),
        moved=case.moved_in(found.plan),
        overdue=case.overdue_in(found.plan),
        lift_by=found.lift_by,
        nights=tuple(case.nights),
    )
    if over or not case.is_pushed(found.plan):
        return answer
    if found.lift_by is not None:
        return replace(answer, change=Change.LIFT_EARLY, cause=Cause.WEATHER, must=True)
    return replace(answer, change=Change.MOVED, cause=_why(case), must=True)


def _why(case: Case) -> Cause:
    """Why the steps of a running smoke have other times: the fire, the lighting, or the weather that lets it be."""
    relit = case.chain.batch.relit
    if relit is not None and relit >= case.adopted.adopted_at:
        return Cause.FIRE_OUT
    return Cause.LATE if case.recorded[ANCHOR] > case.adopted.light else Cause.WEATHER
