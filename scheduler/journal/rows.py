"""Rows of the journal's table of records, and what they hold."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.errors import BadJournal
from scheduler.journal.record import Kind, Record

if TYPE_CHECKING:
    import sqlite3

COLUMNS = "number, identity, site, batch, kind, at, recorded_at, body"
_KINDS = {kind.value: kind for kind in Kind}
_FIND = f"SELECT {COLUMNS} FROM record WHERE identity = ?"  # noqa: S608 - of our own names
_APPEND = f"INSERT INTO record ({COLUMNS}) VALUES (NULL, ?, ?, ?, ?, ?, ?, ?)"  # noqa: S608


def find(db: sqlite3.Connection, identity: str) -> Record | None:
    """The record of that identity, None where there is none."""
    row = db.execute(_FIND, (identity,)).fetchone()
    return None if row is None else record_of(row)


def append(db: sqlite3.Connection, record: Record) -> None:
    """Put a checked record behind the others; BadJournal where its batch, or what it undoes, is not there."""
    _check_batch(db, record)
    _check_undone(db, record)
    body = json.dumps(record.body, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    times = record.at.isoformat(), record.recorded_at.isoformat()
    db.execute(_APPEND, (record.identity, record.site, record.batch, record.kind.value, *times, body))


def record_of(row: tuple[int, str, str, str | None, str, str, str, str]) -> Record:
    """What a row holds, as `append` wrote it (it was checked then); ValueError where somebody changed it."""
    number, identity, site, batch, kind, at, recorded_at, body = row
    try:
        times = datetime.fromisoformat(at), datetime.fromisoformat(recorded_at)
        return Record(identity, site, batch, _KINDS[kind], *times, json.loads(body))
    except (KeyError, ValueError, TypeError) as exc:
        raise ValueError(f"record {number} does not read") from exc


def _check_batch(db: sqlite3.Connection, record: Record) -> None:
    if record.batch is None or record.batch == record.identity:
        return
    opened = find(db, record.batch)
    if opened is None or opened.kind is not Kind.BATCH_OPENED or opened.site != record.site:
        raise BadJournal(f"record {record.kind}: batch: {record.batch} was not opened at {record.site}")


def _check_undone(db: sqlite3.Connection, record: Record) -> None:
    if record.kind is not Kind.UNDONE:
        return
    meant = find(db, record.body["undoes"])
    if meant is None or meant.site != record.site:
        raise BadJournal(f"record {record.kind}: undoes: no record of {record.site} is {record.body['undoes']}")
