"""Records for tests of the journal: of an invented hut, one after the other, and any that hypothesis can think of."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random
from typing import TYPE_CHECKING, Any
from uuid import UUID

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

from scheduler.journal.checks import checked
from scheduler.journal.record import Kind, Record

SITE = "Invented hut"
START = datetime(2026, 10, 17, 16, 0, tzinfo=UTC)
OPENING = {"name": "autumn", "food": "salmon", "state": "frozen", "freezer_measured": False, "farmed": True}
PLAN = {
    "night": "2026-10-20",
    "light": "2026-10-20T18:00:00+00:00",
    "lift": "2026-10-21T06:00:00+00:00",
    "steps": {"salted": "2026-10-18T07:00:00+00:00", "lit": "2026-10-20T18:00:00+00:00"},
    "verdict": "good",
    "chance": 0.9,
    "peak_c": 0.0,
    "peak_at": None,
    "issued_at": "2026-10-17T12:00:00+00:00",
    "source": "sample",
    "committed": False,
    "moved_at": None,
}
WHY = {"why": ["Tuesday now reaches 16.8 °C at 20:00; 3 days ago it was 13.9"]}
MOVE = {
    **PLAN, **WHY, "from_night": "2026-10-19", "from_light": "2026-10-19T18:00:00+00:00", "must": True, "cause": None,
}  # fmt: skip
LOOK = {"issued_at": "2026-10-17T12:00:00+00:00", "night": "2026-10-21", "gain": 0.11}
BODIES: dict[Kind, dict[str, Any]] = {
    Kind.BATCH_OPENED: OPENING,
    Kind.BATCH_ENDED: {"how": "eaten", "words": "a little salty"},
    Kind.STEP_DONE: {"step": "salted", "weight_g": 1300, "sawdust_g": None},
    Kind.RELIT: {},
    Kind.NOTE: {"words": "the neighbour came for a look"},
    Kind.READING: {"where": "porch", "c": 0},
    Kind.READINGS: {"where": "chamber", "name": "probe.csv", "times": ["2026-10-20T18:00:00Z"], "c": [11.5]},
    Kind.PLAN_ADOPTED: PLAN,
    Kind.PLAN_MOVED: MOVE,
    Kind.PLAN_DROPPED: WHY,
    Kind.PLAN_LOOKED: LOOK,
    Kind.GO_TOLD: {"go": False, "issued_at": "2026-10-17T12:00:00+00:00", "chance": 0.49},
    Kind.FORECAST_LOGGED: {
        "source": "sample", "issued_at": "2026-10-17T12:00:00+00:00",
        "nights": [{"night": "2026-10-20", "light": None, "lift": None, "peak_c": 9.25, "chance": 0.9}],
    },
}  # fmt: skip
"""One that fits each kind, `undone` aside, which needs a record to undo."""


class Writer:
    """Writes records down one after the other, a minute apart."""

    def __init__(self, seed: int = 0, site: str = SITE) -> None:
        self._random = Random(seed)
        self._site = site
        self._minutes = 0

    def identity(self) -> str:
        return str(UUID(int=self._random.getrandbits(128), version=4))

    def record(self, kind: Kind, batch: Record | None = None, at: datetime | None = None, **body: Any) -> Record:
        """A record of that kind; without a body, one that fits it."""
        self._minutes += 1
        now = START + timedelta(minutes=self._minutes)
        identity = self.identity()
        own = identity if kind is Kind.BATCH_OPENED else batch and batch.identity
        return Record(identity, self._site, own, kind, now if at is None else at, now, body or BODIES[kind])

    def opened(self, **body: Any) -> Record:
        return self.record(Kind.BATCH_OPENED, **{**OPENING, **body})

    def undone(self, record: Record) -> Record:
        return self.record(Kind.UNDONE, undoes=record.identity)

    def one_of_each(self) -> Iterator[Record]:
        """A batch with a record of every kind."""
        batch = self.opened()
        yield batch
        for kind in BODIES:
            if kind is not Kind.BATCH_OPENED:
                yield self.record(kind, None if kind is Kind.FORECAST_LOGGED else batch)
        yield self.undone(batch)


def kept_form(records: Iterable[Record]) -> tuple[Record, ...]:
    """The records as the journal gives them back."""
    return tuple(checked(record) for record in records)
