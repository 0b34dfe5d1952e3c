"""No record may leave a batch that no command can follow any more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.errors import BadBatch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.faces.book import Book
    from scheduler.journal.record import Record


def keep_readable(own: Book, batch: str | None, *new: Record) -> None:
    """BadBatch where a batch that can be followed could not be with these records, which are not written yet.

    One that cannot be followed as it is takes any record: it may be the one that mends it.
    """
    problem = None if batch is None else _problem(own, batch, (*own.records, *new))
    if problem is not None and batch is not None and _problem(own, batch, own.records) is None:
        raise problem


def _problem(own: Book, batch: str, records: Sequence[Record]) -> BadBatch | None:
    """Why a batch cannot be followed by these records; None where it can, or where they open no such batch."""
    from scheduler.faces.from_journal import batch_of, process_of
    from scheduler.journal.fold import fold
    from scheduler.planning.clock import seconds
    from scheduler.planning.progress import progress_of

    state = next((one for one in fold(records).batches if one.identity == batch), None)
    if state is None:
        return None
    process = process_of(state)
    try:
        progress_of(process, batch_of(state, process), seconds(own.now))
    except BadBatch as exc:
        return exc
    return None
