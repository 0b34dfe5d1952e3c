"""Why entries of a calendar are cancelled, in words for whoever finds them on a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.calendar_event import uid_of
from scheduler.faces.feed_ways import WAYS
from scheduler.faces.from_journal import process_of
from scheduler.faces.replan_words import why_moved
from scheduler.faces.wording import sentence, when
from scheduler.household.process import ANCHOR, LIFT
from scheduler.journal.record import Kind
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.faces.replanning import Asked
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, SiteState

LOST = "no night is left that this batch can make"
INSTEAD = "; what can be done with it instead has an entry of its own"
DROPPED = "The plan was dropped."
LIT = "The tray is lit."
AGAIN = "There is a night again that this batch can make."
"""Why nothing has to be done instead."""


def cancel_reasons(asked: Sequence[Asked], state: SiteState) -> dict[str, str]:
    """By UID, for every entry that a batch may still have and not need."""
    lost = {one.batch.identity: _lost(one) for one in asked if one.found.change is Change.LOST}
    reasons = {}
    for batch in state.batches:
        why = lost.get(batch.identity) or _ended(batch)
        if why is not None:
            reasons.update(dict.fromkeys(uids_of(batch), why))
        reasons[uid_of(batch.identity, WAYS)] = lost.get(batch.identity) or _ways_over(batch)
    return reasons


def _ways_over(batch: BatchState) -> str:
    """Why nothing has to be done instead any more."""
    if batch.ended is not None:
        return _end_words(batch.ended)
    return LIT if any(one.step == ANCHOR for one in batch.done) else AGAIN


def _lost(asked: Asked) -> str:
    now = when(asked.question.now, asked.question.site.zone)
    lost = f"As of {now} {LOST}{INSTEAD if asked.ways else ''}."
    return " ".join((lost, *why_moved(asked.found, asked.question)))


def _ended(batch: BatchState) -> str | None:
    """None where it goes on and has a plan, or never had one."""
    if batch.ended is not None:
        return _end_words(batch.ended)
    plans = [record for record in batch.records if record.kind is Kind.PLAN_DROPPED]
    if batch.plan is not None or not plans:
        return None
    return " ".join((DROPPED, *plans[-1].body["why"][1:]))  # the first one says what could be done about it


def _end_words(ended: Record) -> str:
    return sentence(f"the batch has ended: {ended.body['how']}")


def uids_of(batch: BatchState) -> Iterator[str]:
    """Of every entry that the batch has, or had by one of its plans."""
    process = process_of(batch)
    names = {name for record in batch.records for name in record.body.get("steps", ())}
    yield uid_of(batch.identity, ANCHOR, LIFT)
    yield uid_of(batch.identity, WAYS)
    yield from (uid_of(batch.identity, name) for name in sorted(names | {step.name for step in process.steps}))
