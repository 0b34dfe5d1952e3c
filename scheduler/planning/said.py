"""What somebody said of the food and the sawdust, where no step was recorded: a state, and since when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.errors import BadBatch
from scheduler.planning.clock import seconds

if TYPE_CHECKING:
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process, Step

SAWDUST_STATES = ("dry", "soaking", "drying", "none")


def said_of_sawdust(batch: Batch) -> str | None:
    """The state of the sawdust as it was said; None where nothing was. BadBatch where there is no such state."""
    said = batch.sawdust
    if said is not None and said not in SAWDUST_STATES:
        raise BadBatch(f"sawdust {said!r} is not known; choose one of: {', '.join(SAWDUST_STATES)}")
    return said


def step_of_state(process: Process, branch: str, state: str, unstarted: tuple[str, ...]) -> Step | None:
    """The step whose wait, or whose end of it, the state names; None for what has not begun."""
    if state in unstarted:
        return None
    for step in process.steps:
        if step.branch == branch and state in (step.during, step.after) and step.wait is not None:
            return step
    known = [s for step in process.steps if step.branch == branch for s in (step.during, step.after) if s]
    raise BadBatch(
        f"{state!r} is no state of the {branch} in the process {process.name!r};"
        f" choose one of: {', '.join((*unstarted, *known))}"
    )


def since_of_state(batch: Batch, branch: str, state: str, now: float) -> float:
    """The instant since when, as it must be given for this state."""
    option, since = ("--since", batch.since) if branch == "food" else ("--sawdust-since", batch.sawdust_since)
    if since is None:
        raise BadBatch(f"{branch} that is {state} needs the time since when: add {option} TIME")
    at = seconds(since)
    if at > now:
        raise BadBatch(f"{option} {since.isoformat()} lies in the future; {branch} cannot be {state} since then")
    return at
