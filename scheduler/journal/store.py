"""The journal on disk: records appended by any number of processes, durable once they are acknowledged."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, Self

from scheduler.errors import BadJournal, Overtaken
from scheduler.household.toml_file import file_name
from scheduler.journal.checks import checked
from scheduler.journal.files import connect_to_journal, look_at, make, told
from scheduler.journal.migrations import transaction
from scheduler.journal.record import Seen
from scheduler.journal.rows import COLUMNS, append, find, record_of

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path
    from types import TracebackType

    from scheduler.journal.record import Record

MOST_ANSWERS = 16
"""Our judgement: a few questions, each as it looks on a few terminals."""


class Taken(NamedTuple):
    """What came of an import."""

    added: int
    already: int
    """Records that were there before, the same in every value."""


def default_journal_path() -> Path:
    """Where the journal of this user lies."""
    from platformdirs import user_data_path  # loaded only where no --journal is given

    return user_data_path("smokenight", appauthor=False) / "journal.sqlite"


class Journal:
    """One file of records.  Use it as a context manager, in the thread that opened it."""

    def __init__(self, path: Path, db: sqlite3.Connection | None, only_read: str | None = None) -> None:
        self.path = path
        self.only_read = only_read
        """Why nothing can be recorded in a file that can be read; None where it can."""
        self._db = db
        """None where there is no file, which reads as an empty journal."""

    @classmethod
    def open(cls, path: Path, *, create: bool = True) -> Self:
        """The journal at the path; `create` makes the file, and its folder for this user alone, where there is none.

        Where its disk is full or may not be written, it can be read all the same, and says so in `only_read`.  Raises
        BadJournal, one line, for a file that is no journal, is damaged, newer, held or out of reach; the file is then
        as it was before.
        """
        with told(path):
            if not path.exists():
                if not create:
                    return cls(path, None)
                make(path)
            look_at(path)
            return cls(path, *connect_to_journal(path))

    def close(self) -> None:
        """Let go of the file."""
        if self._db is not None:
            with told(self.path):
                self._db.close()

    def __enter__(self) -> Self:
        """The journal itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let go of the file, whatever happened."""
        self.close()

    def add(self, records: Sequence[Record]) -> None:
        """Append all of the records, or none; when this returns they are on the disk.

        Raises BadJournal for a record that does not fit its kind, is there already, or names a batch or a record that
        is not there; also where the file cannot be written.
        """
        whole = [checked(record) for record in records]
        with told(self.path), transaction(self._file()) as db:
            _append_new(db, whole)

    def publish(
        self,
        site: str,
        records: Sequence[Record],
        entries: Mapping[str, str],
        left: Sequence[str],
        seen: Seen | None = None,
    ) -> int:
        """Append the records, put the site's calendar entries in place by UID, and take away those that have left.

        All of it or nothing; raises as `add` does, and Overtaken where anything was written since it was `seen`.
        Returns the number of the site's last record.
        """
        whole = [checked(record) for record in records]
        with told(self.path), transaction(self._file()) as db:
            if seen is not None and seen != self.seen(site):
                raise Overtaken(f"journal {file_name(self.path)}: somebody else wrote at the same time; say it again")
            _append_new(db, whole)
            db.executemany("DELETE FROM entry WHERE site = ? AND uid = ?", [(site, uid) for uid in left])
            rows = [(site, uid, content) for uid, content in entries.items()]
            db.executemany("INSERT OR REPLACE INTO entry (site, uid, content) VALUES (?, ?, ?)", rows)
            return self.last(site)

    def seen(self, site: str) -> Seen:
        """What there is of a site now, for `publish` to tell whether it still is."""
        return Seen(self.last(site), self.entries(site))

    def entries(self, site: str) -> tuple[str, ...]:
        """The site's calendar entries as they were published last, in order of their UIDs."""
        if self._db is None:
            return ()
        with told(self.path):
            select = "SELECT content FROM entry WHERE site = ? ORDER BY uid"
            return tuple(str(row[0]) for row in self._db.execute(select, (site,)).fetchall())

    def take(self, records: Iterable[Record]) -> Taken:
        """Append all of the records that are not there yet, or none where one is there with other values."""
        whole = [checked(record) for record in records]
        added = 0
        with told(self.path), transaction(self._file()) as db:
            for record in whole:
                there = find(db, record.identity)
                if there is None:
                    append(db, record)
                    added += 1
                elif there != record:
                    raise BadJournal(_differs(there, record))
        return Taken(added, len(whole) - added)

    def records(self, site: str | None = None) -> tuple[Record, ...]:
        """All records, or those of one site, in order of recording."""
        if self._db is None:
            return ()
        where, values = ("", ()) if site is None else ("WHERE site = ?", (site,))
        with told(self.path):
            select = f"SELECT {COLUMNS} FROM record {where} ORDER BY number"  # noqa: S608 - of our own words
            rows = self._db.execute(select, values).fetchall()  # all, as a cursor left half-way keeps the file open
            return tuple(record_of(row) for row in rows)

    def last(self, site: str | None = None) -> int:
        """The number of the last record, of one site or of all, counted over all from 1; 0 where there is none."""
        if self._db is None:
            return 0
        where, values = ("", ()) if site is None else ("WHERE site = ?", (site,))
        with told(self.path):
            row = self._db.execute(f"SELECT max(number) FROM record {where}", values).fetchone()  # noqa: S608
            return int(row[0] or 0)

    def keep_answer(self, question: str, site: str, content: str) -> None:
        """Put an answer in place of the one before; the newest few are kept.

        It is no record: one that is lost is only computed again, so it does not wait for another process.  Raises as
        `add` does.
        """
        with told(self.path):
            self._file().execute("PRAGMA busy_timeout = 0")
        with told(self.path), transaction(self._file()) as db:
            row = (question, site, content)
            db.execute("INSERT OR REPLACE INTO answer (question, site, content) VALUES (?, ?, ?)", row)
            newest = "SELECT rowid FROM answer ORDER BY rowid DESC LIMIT ?"
            db.execute(f"DELETE FROM answer WHERE rowid NOT IN ({newest})", (MOST_ANSWERS,))  # noqa: S608

    def answer(self, question: str) -> tuple[str, str] | None:
        """The site and the content of a kept answer; None where there is none."""
        if self._db is None:
            return None
        with told(self.path):
            row = self._db.execute("SELECT site, content FROM answer WHERE question = ?", (question,)).fetchone()
            return None if row is None else (str(row[0]), str(row[1]))

    def _file(self) -> sqlite3.Connection:
        if self._db is None:
            raise BadJournal(f"journal {file_name(self.path)} does not exist: nothing can be recorded in it")
        if self.only_read is not None:
            raise BadJournal(self.only_read)
        return self._db


def _append_new(db: sqlite3.Connection, records: Sequence[Record]) -> None:
    for record in records:
        if find(db, record.identity) is not None:
            raise BadJournal(f"record {record.kind} {record.identity} is in the journal already")
        append(db, record)


def _differs(there: Record, given: Record) -> str:
    keys = ("site", "batch", "kind", "at", "recorded_at", "body")
    key = next(key for key in keys if getattr(there, key) != getattr(given, key))
    return f"record {given.kind} {given.identity} is in the journal already with another {key}: nothing was taken in"
