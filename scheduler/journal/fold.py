"""What the records of a site add up to.  Pure: the same records give the same state, in whatever order they come.

They count in order of when they happened, then of when they were written down; only where both are the same does the
order in which they are given decide.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.journal.record import Kind, Record
from scheduler.journal.state import BatchState, Reading, SiteState, StepDone

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

_PLANS = (Kind.PLAN_ADOPTED, Kind.PLAN_MOVED)


def fold(records: Iterable[Record]) -> SiteState:
    """The state that the records leave; what was undone is as if it had never been, undoing included."""
    stand = standing(records)
    of_batch: dict[str, list[Record]] = {r.identity: [] for r in stand if r.kind is Kind.BATCH_OPENED}
    for record in stand:
        if record.batch in of_batch:
            of_batch[record.batch].append(record)
    readings = [reading for record in stand for reading in _readings(record, record.batch in of_batch)]
    forecasts = [record for record in stand if record.kind is Kind.FORECAST_LOGGED]
    return SiteState(
        tuple(_batch(identity, of) for identity, of in of_batch.items()),
        tuple(sorted(readings, key=lambda reading: reading.at)),
        tuple(sorted(forecasts, key=lambda record: datetime.fromisoformat(record.body["issued_at"]))),
    )


def standing(records: Iterable[Record]) -> tuple[Record, ...]:
    """The records that were not undone, in order of when they happened; those that undo are not among them."""
    told = tuple(records)
    gone = undone(told)
    left = (record for record in told if record.kind is not Kind.UNDONE and record.identity not in gone)
    return tuple(sorted(left, key=lambda record: (record.at, record.recorded_at)))


def undone(records: Sequence[Record]) -> set[str]:
    """Identities of what was undone, undos among them.

    An undo counts unless one that counts undoes it, so those that nobody undoes are settled first.
    """
    undoes: dict[str, str] = {r.identity: r.body["undoes"] for r in records if r.kind is Kind.UNDONE}
    unsettled = Counter(undoes.values())
    settled = [identity for identity in undoes if not unsettled[identity]]
    gone: set[str] = set()
    while settled:
        identity = settled.pop()
        target = undoes[identity]
        if identity not in gone:
            gone.add(target)
        unsettled[target] -= 1
        if target in undoes and not unsettled[target]:
            settled.append(target)
    return gone


def _batch(identity: str, records: Sequence[Record]) -> BatchState:
    """One batch from its records, in their order."""
    opened = next(record for record in records if record.identity == identity)
    done: dict[str, StepDone] = {}
    for record in _of(records, Kind.STEP_DONE):
        step = record.body["step"]
        done.pop(step, None)  # the last counts, and takes its own place in the order
        done[step] = StepDone(step, record.at, record.body.get("weight_g"), record.body.get("sawdust_g"))
    plan, looks, no_go = _plan(records)
    return BatchState(
        identity=identity,
        opened=opened,
        done=tuple(done.values()),
        relit=tuple(record.at for record in _of(records, Kind.RELIT)),
        ended=next(reversed(_of(records, Kind.BATCH_ENDED)), None),
        plan=plan,
        looks=looks,
        no_go=no_go,
        records=tuple(records),
    )


def _of(records: Sequence[Record], kind: Kind) -> list[Record]:
    return [record for record in records if record.kind is kind]


def _plan(records: Sequence[Record]) -> tuple[Record | None, tuple[Record, ...], bool]:
    """The plan that stands, the looks since it was adopted or last moved, and whether it is a no-go since."""
    plan: Record | None = None
    looks: list[Record] = []
    no_go = False
    for record in records:
        if record.kind in _PLANS or record.kind is Kind.PLAN_DROPPED:
            plan = record if record.kind in _PLANS else None
            looks, no_go = [], False
        elif record.kind is Kind.PLAN_LOOKED and plan is not None:
            looks.append(record)
        elif record.kind is Kind.GO_TOLD and plan is not None:
            no_go = not record.body["go"]
    return plan, tuple(looks), no_go


def _readings(record: Record, batch_stands: bool) -> Iterator[Reading]:
    """Temperatures of one record; their batch is left out where its opening was undone."""
    batch = record.batch if batch_stands else None
    if record.kind is Kind.READING:
        yield Reading(record.body["where"], record.at, record.body["c"], batch)
    elif record.kind is Kind.READINGS:
        for time, c in zip(record.body["times"], record.body["c"], strict=True):
            yield Reading(record.body["where"], datetime.fromisoformat(time), c, batch)
