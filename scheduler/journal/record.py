"""One record of the journal: something that happened, never changed afterwards.

A record is plain values, so that the store, the exchange file and the fold (`state`) share one shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


class Kind(StrEnum):
    """What can happen.  `kinds` says what the body of each holds."""

    BATCH_OPENED = "batch_opened"
    BATCH_ENDED = "batch_ended"
    STEP_DONE = "step_done"
    RELIT = "relit"
    NOTE = "note"
    READING = "reading"
    READINGS = "readings"
    PLAN_ADOPTED = "plan_adopted"
    PLAN_MOVED = "plan_moved"
    PLAN_DROPPED = "plan_dropped"
    PLAN_LOOKED = "plan_looked"
    GO_TOLD = "go_told"
    FORECAST_LOGGED = "forecast_logged"
    UNDONE = "undone"


@dataclass(frozen=True, slots=True)
class Record:
    """What happened, when, to which batch, and when that was written down."""

    identity: str
    """Drawn at random by who writes it (UUID 4, lower-case text); the same record is never stored twice."""
    site: str
    """Name of the site."""
    batch: str | None
    """Identity of the batch (that of the record that opened it); None for what concerns none."""
    kind: Kind
    at: datetime
    """When it happened; zone-aware, UTC, whole seconds."""
    recorded_at: datetime
    """When it was written down; zone-aware, UTC, whole seconds."""
    body: Mapping[str, Any]
    """Values that JSON can hold, as the kind says."""


class Seen(NamedTuple):
    """What a writer of a site's calendar rests on."""

    last: int
    """Number of the site's last record."""
    entries: tuple[str, ...]
    """The calendar entries as they were published last."""
