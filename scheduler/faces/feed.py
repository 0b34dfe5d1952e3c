"""What a published calendar holds, and how each entry of it changed since it was published last.

Subscribers compare what they fetch, so an entry's bytes change only when the entry does; one that moves keeps its
UID and counts up its SEQUENCE, and one that is dropped stays for a while as cancelled.  Pure: the moment is an
argument, and the same drafts twice change nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING

from scheduler.faces.called_off import NO_GO, NOT_YET

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from scheduler.faces.calendar_event import Alarm, Event

SECOND = timedelta(seconds=1)
DAY = timedelta(days=1)

KEEP_CANCELLED = timedelta(days=14)
"""How long a cancelled entry stays: twice the slowest refresh that a calendar program was seen to have (our rule)."""

KEEP_PAST = timedelta(days=30)
"""How long an entry stays after its end (our rule)."""

CANCELLED = "CANCELLED: "
"""Before the summary, for programs that do not show the status."""

LEFT_OUT = "It is no longer part of the plan."
"""Why an entry was cancelled, where nothing else is known."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it is published."""

    event: Event
    gone_at: datetime | None = None
    """When it was cancelled; None while it stands."""


def publish(
    before: Iterable[Entry], drafts: Iterable[Event], now: datetime, why: Mapping[str, str] = MappingProxyType({})
) -> tuple[Entry, ...]:
    """The entries from now on, in order of time and UID.

    drafts: every entry that should stand, whatever their stamps say.  Entries that have begun are not cancelled; a
    fleeting one just leaves.  why: for what reason an entry is cancelled, by its UID.
    """
    moment = now.astimezone(UTC).replace(microsecond=0)
    old = {entry.event.uid: entry for entry in before}
    kept = [_revised(old.get(draft.uid), draft, moment) for draft in drafts]
    drafted = {entry.event.uid for entry in kept}
    left = (_without_draft(entry, moment, why.get(uid, LEFT_OUT)) for uid, entry in old.items() if uid not in drafted)
    found = [*kept, *(entry for entry in left if entry is not None)]
    return in_order(entry for entry in found if not _over(entry, moment))


def in_order(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """As a calendar lists them: by time, then by UID."""
    return tuple(sorted(entries, key=_order))


def _order(entry: Entry) -> tuple[datetime, datetime, str]:
    return entry.event.start, entry.event.end, entry.event.uid


def _revised(old: Entry | None, draft: Event, now: datetime) -> Entry:
    """A new entry, the old one to the byte, or its next revision."""
    if old is None:
        return Entry(replace(draft, sequence=0, stamp=now, created=now))
    if old.gone_at is None and _same(old.event, draft, now):
        return old
    return Entry(_next(old.event, draft, now))


def _next(old: Event, event: Event, now: datetime) -> Event:
    """Counted up and stamped later than before, even where the clock was set back."""
    stamp = max(now, old.stamp + SECOND)
    return replace(event, sequence=old.sequence + 1, stamp=stamp, created=old.created)


def _same(old: Event, draft: Event, now: datetime) -> bool:
    """Whether a subscriber would learn nothing from the draft that matters."""
    plain = replace(draft, stamp=old.stamp, sequence=old.sequence, created=old.created)
    if _ahead(old, now) != _ahead(draft, now):
        return False
    if _bare(plain) != _bare(old):
        return False
    return plain.description == old.description or _as_before(old, draft)


def _bare(event: Event) -> Event:
    """Without what is compared by what it means."""
    return replace(event, description="", core="", gist=(), alarms=())


def _ahead(event: Event, now: datetime) -> tuple[Alarm, ...]:
    """Reminders still to come: that one has rung is no change."""
    return tuple(alarm for alarm in event.alarms if event.start - alarm.before > now)


def _as_before(old: Event, draft: Event) -> bool:
    """Whether descriptions differ in nothing that is news, and figures by no more than they may."""
    return old.core == draft.core != "" and near(old, draft)


def near(old: Event, draft: Event) -> bool:
    """Whether the figures that both rest on say the same."""
    then, latest = ({figure.name: figure for figure in event.gist} for event in (old, draft))
    return then.keys() == latest.keys() and all(latest[name].near(then[name].value) for name in then)


def _without_draft(entry: Entry, now: datetime, why: str) -> Entry | None:
    """What becomes of an entry that no draft asks for: None, itself, or cancelled."""
    event = entry.event
    if event.fleeting:
        return None
    if entry.gone_at is not None or event.start <= now:
        return entry
    dropped = replace(
        event,
        status="CANCELLED",
        summary=f"{CANCELLED}{event.summary.removeprefix(NO_GO).removeprefix(NOT_YET)}",
        description=f"Cancelled. {why}",
        alarms=(),
        transparent=True,
        core="",
        gist=(),
    )
    return Entry(_next(event, dropped, now), now)


def _over(entry: Entry, now: datetime) -> bool:
    """Whether it has been kept for long enough; this changes at midnight UTC alone, not from fetch to fetch."""
    today = datetime(now.year, now.month, now.day, tzinfo=UTC)
    if entry.gone_at is None:
        return entry.event.end + KEEP_PAST < today
    return max(entry.event.end + DAY, entry.gone_at + KEEP_CANCELLED) < today


def changed(before: Sequence[Entry], after: Sequence[Entry]) -> tuple[tuple[Entry, ...], tuple[str, ...]]:
    """The entries that are new or revised, and the UIDs of those that have left."""
    old = {entry.event.uid: entry for entry in before}
    new = tuple(entry for entry in after if old.get(entry.event.uid) != entry)
    return new, tuple(sorted(old.keys() - {entry.event.uid for entry in after}))
