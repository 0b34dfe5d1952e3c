"""The journal's file: made whole, looked at before it is touched, and every trouble with it in one line."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import tempfile
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.errors import BadJournal, NoJournal
from scheduler.household.toml_file import file_name
from scheduler.journal.migrations import APPLICATION_ID, MIGRATIONS, migrate, version

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

WAIT_S = 10.0
"""How long one process waits for another before it gives up."""

MODE = "WAL"
"""How SQLite keeps a file whole: readers and one writer at once.  A disk that cannot do it keeps to the usual way."""

_FOREIGN = "is not a journal of smokenight: name another file with --journal, or move this one away"
_EMPTY = "is empty, which a journal never is: put back a copy of it, or move it away to begin anew"
_DAMAGED = "is cut off or damaged: keep it, and import the last export into a new file, named with --journal"
_TROUBLE = {
    sqlite3.SQLITE_BUSY: "is held by another program: let it finish, then try again; nothing was recorded",
    sqlite3.SQLITE_FULL: "has no room left on its disk: free some, then say it again; nothing was recorded",
    sqlite3.SQLITE_READONLY: "cannot be written: allow writing to it and to its folder; nothing was recorded",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened: allow reading and writing of it and of its folder",
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _FOREIGN,
    sqlite3.SQLITE_IOERR: "cannot be read or written: its disk is full or failing, or it lies on a network folder "
    "that does not carry it: free some room, or name a file on a local disk with --journal; then look what is recorded",
}
_TROUBLE[sqlite3.SQLITE_LOCKED] = _TROUBLE[sqlite3.SQLITE_PROTOCOL] = _TROUBLE[sqlite3.SQLITE_BUSY]
_NO_ROOM = "can be read but not written, as its disk is full or failing: free some room; nothing was recorded"
_READ_ONLY = "can be read but not written, as its disk takes no writing: look why; nothing was recorded"
_AS_IT_IS = "mode=ro&immutable=1"
"""Without locks, and without a look at what lies beside the file."""
_WANTS_ROOM = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR)


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Whatever goes wrong with the file inside comes out as BadJournal, one line."""
    try:
        yield
    except sqlite3.ProgrammingError:  # ours, not the file's
        raise
    except sqlite3.Error as exc:
        kind = _kind_of(exc)
        said = _TROUBLE.get(kind, f"cannot be used ({exc})")
        refused = NoJournal if kind == sqlite3.SQLITE_NOTADB else BadJournal
        raise refused(f"journal {file_name(path)} {said}") from exc
    except OSError as exc:
        reason = exc.strerror or type(exc).__name__
        raise BadJournal(
            f"journal {file_name(path)} cannot be used ({reason}): check its path and permissions"
        ) from exc
    except BadJournal:
        raise
    except ValueError as exc:  # of what SQLite reads well, but nobody here wrote
        raise BadJournal(f"journal {file_name(path)} {_DAMAGED} ({exc})") from exc


def _kind_of(trouble: sqlite3.Error) -> int:
    """The low byte of its number; the rest tells the circumstances."""
    return int(getattr(trouble, "sqlite_errorcode", 0)) & 0xFF


def connect_to_journal(path: Path) -> tuple[sqlite3.Connection, str | None]:
    """A connection to a journal that is there, its tables up to date; and why it can only be read, else None.

    Even reading takes room on the disk, for what SQLite shares between processes.  Where there is none, a connection
    that is alone does without, and finds whatever was acknowledged: https://sqlite.org/wal.html#noshm.  A disk that
    takes no writing at all cannot change either, so there the file is read as it is, unless something lies beside it.
    """
    try:
        return _prepared(connect(path), path, migrate), None
    except sqlite3.Error as exc:
        name = f"journal {file_name(path)}"
        with suppress(sqlite3.Error):
            if _kind_of(exc) in _WANTS_ROOM:
                return _prepared(connect(path, alone=True), path, _only_read), f"{name} {_NO_ROOM}"
            if _takes_no_writing(path) and not _unfinished(path):
                return _prepared(connect(path, _AS_IT_IS), path, _only_read), f"{name} {_READ_ONLY}"
        raise


def _takes_no_writing(path: Path) -> bool:
    """Whether the disk is mounted for reading alone, as some are once they fail."""
    return hasattr(os, "statvfs") and bool(os.statvfs(path).f_flag & os.ST_RDONLY)


def _prepared(db: sqlite3.Connection, path: Path, prepare: Callable[[sqlite3.Connection], None]) -> sqlite3.Connection:
    try:
        check_header(path, db)
        prepare(db)
    except BaseException:
        db.close()
        raise
    return db


def _only_read(db: sqlite3.Connection) -> None:
    """Refuse what an older version wrote, as its tables cannot be changed now."""
    if version(db) < len(MIGRATIONS):
        raise sqlite3.OperationalError("tables of an older version")
    db.execute("PRAGMA query_only = ON")


def connect(path: Path, options: str = "mode=rw", *, alone: bool = False) -> sqlite3.Connection:
    """A connection to a file that is there; transactions begin where the code says so.

    alone: it holds the file for itself from its first look on, until it is closed.
    """
    db = sqlite3.connect(f"{path.absolute().as_uri()}?{options}", uri=True, timeout=WAIT_S, isolation_level=None)
    try:
        if alone:
            db.execute("PRAGMA locking_mode = EXCLUSIVE")
        db.execute("PRAGMA synchronous = FULL")
    except BaseException:
        db.close()
        raise
    return db


def look_at(path: Path) -> None:
    """Refuse, with BadJournal, what this version cannot read, and with NoJournal what is none; it stays as it is.

    The header is read by SQLite, as a file closed by anybody else in this process would drop SQLite's locks on it.
    """
    facts = path.stat()
    if stat.S_ISDIR(facts.st_mode):
        raise _no_journal(path, "is a folder: name the file in it")
    if not stat.S_ISREG(facts.st_mode):
        raise _no_journal(path, "is not a plain file: name one")
    if facts.st_size == 0:
        raise _no_journal(path, _EMPTY)
    try:
        with closing(connect(path, _AS_IT_IS)) as db:
            check_header(path, db)
            page_bytes = int(db.execute("PRAGMA page_size").fetchone()[0])
    except sqlite3.DatabaseError as exc:
        if exc.sqlite_errorcode == sqlite3.SQLITE_CORRUPT:
            return  # perhaps only in the midst of somebody's writing: the connection that takes locks tells
        raise
    if facts.st_size % page_bytes and not _unfinished(path):
        raise _refused(path, _DAMAGED)


def check_header(path: Path, db: sqlite3.Connection) -> None:
    """Refuse another program's file, and one that a newer version of this tool has changed."""
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise _no_journal(path, _FOREIGN)
    steps = version(db)
    if steps > len(MIGRATIONS):
        raise _refused(path, f"is of version {steps}, newer than this smokenight knows ({len(MIGRATIONS)}): update it")


def _unfinished(path: Path) -> bool:
    """Whether SQLite keeps pages beside the file."""
    whole = path.resolve()  # beside the file itself, where the path is a link to it
    return any(whole.with_name(whole.name + end).exists() for end in ("-wal", "-journal"))


def _refused(path: Path, problem: str) -> BadJournal:
    return BadJournal(f"journal {file_name(path)} {problem}")


def _no_journal(path: Path, problem: str) -> NoJournal:
    return NoJournal(f"journal {file_name(path)} {problem}")


def make(path: Path) -> None:
    """Put an empty journal at the path, whole or not at all; one that another process put there meanwhile stays."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    room = Path(tempfile.mkdtemp(prefix=".journal-", dir=path.parent))  # on the same disk, seen by nobody else
    try:
        fresh = room / "journal"
        fresh.touch(mode=0o600)
        with closing(connect(fresh)) as db:
            db.execute(f"PRAGMA journal_mode = {MODE}")
            migrate(db)
        with suppress(FileExistsError):
            _put(fresh, path)
    finally:
        shutil.rmtree(room, ignore_errors=True)
    _keep_entry(path.parent)


def _put(fresh: Path, path: Path) -> None:
    try:
        os.link(fresh, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links
        with path.open("xb") as file:
            path.chmod(0o600)
            file.write(fresh.read_bytes())
            file.flush()
            os.fsync(file.fileno())


def _keep_entry(folder: Path) -> None:
    """Have the folder's new entry on the disk, where the system can say so."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
