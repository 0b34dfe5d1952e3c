"""What `did` answers: what was written down, and what comes next."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from scheduler.faces.batch_report import next_step, next_words
from scheduler.faces.history_words import record_words
from scheduler.faces.wording import long_span, one_line, when
from scheduler.household.process import LIFT
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.household.site import Site
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState

NEAR = timedelta(minutes=30)
"""A step done this near its planned time is on time (our judgement)."""

FAR = timedelta(hours=2)
"""After one done further from it, what the plan has next says little (our judgement)."""


def done_words(before: BatchState, after: BatchState, record: Record, site: Site) -> tuple[str, ...]:
    """Lines: what was recorded, what it replaces, and what is next."""
    return tuple(_lines(before, after, record, site))


def _lines(before: BatchState, after: BatchState, record: Record, site: Site) -> Iterator[str]:
    yield f"{one_line(before.name)}: {record_words(record, before, site)}, {when(record.at, site.zone)}."
    name = record.body.get("step")
    earlier = next((one for one in before.done if one.step == name), None)
    if earlier is not None:
        yield f"It takes the place of the record of {when(earlier.at, site.zone)}."
    if record.kind is Kind.RELIT:
        yield "The lift is planned anew from here: `smokenight replan`."
    elif name == LIFT:
        yield "When it is eaten, frozen or given up: `smokenight batch end --how eaten`."
    yield from _next_lines(before, after, record, site)


def _next_lines(before: BatchState, after: BatchState, record: Record, site: Site) -> Iterator[str]:
    """The next step by the adopted plan, and whether the plan still fits."""
    if before.plan is None:
        if record.body.get("step") != LIFT and not any(one.step == LIFT for one in after.done):
            yield "No night is adopted yet: `smokenight plan` adopts one, with a time for every step."
        return
    planned = before.plan.body["steps"].get(record.body.get("step"))
    off = timedelta(0) if planned is None else record.at - datetime.fromisoformat(planned)
    following = next_step(after)
    if following is not None and abs(off) <= FAR:
        yield f"Next: {next_words(after, following, record.at, site)}."
    if abs(off) > NEAR:
        hours, then = long_span(abs(off) / timedelta(hours=1)), "earlier" if off > timedelta(0) else "later"
        yield f"The plan had it {hours} {then}: `smokenight replan` fits the rest to it."
