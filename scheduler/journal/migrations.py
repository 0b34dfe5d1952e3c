"""The journal's tables, built by numbered steps; each runs in one transaction together with the row that records it.

A step that was released is never changed: a file somewhere has run it.  What is new is a step of its own.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterator, Sequence

APPLICATION_ID = int.from_bytes(b"smkn", "big")
"""Marks an SQLite file as a journal of ours (a number in its header)."""


def the_records(db: sqlite3.Connection) -> None:
    """The records, appended and never changed, and the list of steps that were run."""
    for statement in _FIRST:
        db.execute(statement)


_FIRST = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    "CREATE TABLE migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL)",
    """CREATE TABLE record (
        number INTEGER PRIMARY KEY,
        identity TEXT NOT NULL UNIQUE,
        site TEXT NOT NULL,
        batch TEXT,
        kind TEXT NOT NULL,
        at TEXT NOT NULL,
        recorded_at TEXT NOT NULL,
        body TEXT NOT NULL
    )""",
    "CREATE INDEX record_by_site ON record (site)",
    """CREATE TRIGGER record_is_never_changed BEFORE UPDATE ON record
        BEGIN SELECT RAISE(ABORT, 'records are never changed'); END""",
    """CREATE TRIGGER record_is_never_deleted BEFORE DELETE ON record
        BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END""",
    # INSERT OR REPLACE deletes without asking the trigger above
    """CREATE TRIGGER record_is_never_replaced BEFORE INSERT ON record
        WHEN EXISTS (SELECT 1 FROM record WHERE identity = NEW.identity OR number = NEW.number)
        BEGIN SELECT RAISE(ABORT, 'records are never replaced'); END""",
)


def what_is_shown(db: sqlite3.Connection) -> None:
    """What was published last, and answers that hold for a while: both are replaced, neither is a record."""
    db.execute(
        "CREATE TABLE entry (site TEXT NOT NULL, uid TEXT NOT NULL, content TEXT NOT NULL, PRIMARY KEY (site, uid))"
    )
    db.execute("CREATE TABLE answer (question TEXT PRIMARY KEY, site TEXT NOT NULL, content TEXT NOT NULL)")


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (the_records, what_is_shown)
"""In order; the file's `user_version` is how many of them it has run."""


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """All of what is written inside, durable at the end, or nothing of it."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield db
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:  # a full disk may have ended it
            db.execute("ROLLBACK")
        raise


def version(db: sqlite3.Connection) -> int:
    """How many steps the file has run."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def migrate(db: sqlite3.Connection, steps: Sequence[Callable[[sqlite3.Connection], None]] = MIGRATIONS) -> None:
    """Run the steps that the file lacks; another process may be doing the same."""
    while (number := version(db)) < len(steps):
        with transaction(db):
            if version(db) == number:  # nobody did it while we waited for our turn
                _run(db, number + 1, steps[number])


def _run(db: sqlite3.Connection, number: int, step: Callable[[sqlite3.Connection], None]) -> None:
    step(db)
    db.execute("INSERT INTO migration (number, name) VALUES (?, ?)", (number, step.__name__))
    db.execute(f"PRAGMA user_version = {number}")
