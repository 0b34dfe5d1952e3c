"""An adopted plan as it was taken on, for faces that move nothing."""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING

from scheduler.planning.answers import Night, Plan, PlannedStep
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from scheduler.faces.replanning import Asked

MOVES = (Change.MOVED, Change.LIFT_EARLY)
"""What gives a plan other times; a proposal waits for somebody."""


def adopted_plan(asked: Asked) -> Plan:
    """The plan as it was taken on: with its leeway where it still holds, else with its bare times."""
    found, question = asked.found, asked.question
    if found.plan is not None and found.change not in MOVES:
        return found.plan
    done = dict(question.batch.done)
    times = {**found.adopted.steps, **done}
    steps = [
        PlannedStep(step, times[step.name].astimezone(UTC), (), done=step.name in done)
        for step in question.process.steps
        if step.name in times
    ]
    night = next((one for one in found.nights if one.date == found.adopted.night), _bare_night(asked))
    return Plan(
        batch=question.batch,
        night=night,
        steps=tuple(sorted(steps, key=lambda one: times[one.step.name])),
        sawdust_g=None,
        salt_g=None,
        sugar_g=None,
        cautions=question.process.cautions,
        tentative=True,
    )


def _bare_night(asked: Asked) -> Night:
    """A night that no forecast speaks of any more."""
    site, adopted = asked.question.site, asked.found.adopted
    return Night(adopted.night, adopted.verdict, (), site.duration_h, site.limits.ceiling_c)
