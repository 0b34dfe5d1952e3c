"""A full disk: nothing acknowledged is lost, what was not is not there, and it goes on once there is room."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from journal_records import Writer, kept_form

from scheduler.errors import BadJournal
from scheduler.journal.migrations import MIGRATIONS, migrate
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

ROOT = Path(__file__).parents[3]
FILLER = [sys.executable, str(ROOT / "tests/journal_filler.py")]
MOUNTED = 'mount -t tmpfs -o size=512k none "$1" && exec "$2" "$3" "$1" 0'


def outcome(command):
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests")))}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def may_mount(folder):
    """Whether a small disk can be had that nobody else sees and that is gone with the process."""
    if shutil.which("unshare") is None:
        return False
    mount = ["unshare", "-m", "sh", "-c", 'mount -t tmpfs -o size=64k none "$1"', "sh", str(folder)]
    return subprocess.run(mount, capture_output=True).returncode == 0


def test_a_full_disk_loses_nothing_and_says_what_to_do(tmp_path):
    if not may_mount(tmp_path):
        pytest.skip("needs a small disk of its own, which this user may not mount")
    found = outcome(["unshare", "-m", "sh", "-c", MOUNTED, "sh", str(tmp_path), *FILLER])
    full, freed = found["full"], found["freed"]
    assert "has no room left on its disk: free some, then say it again; nothing was recorded" in full["message"]
    assert full["kept"] > 10
    assert full["same"]
    assert "has no room left" in full["anew"]
    assert freed == {"kept": full["kept"], "same": True}


@pytest.mark.skipif(os.name != "posix", reason="limits of POSIX")
@pytest.mark.parametrize("most_bytes", [60_000, 100_000, 123_456, 200_000, 500_000])
def test_a_file_that_may_not_grow_loses_nothing_and_says_what_to_do(tmp_path, most_bytes):
    found = outcome([*FILLER, str(tmp_path), str(most_bytes)])
    full, freed = found["full"], found["freed"]
    assert "its disk is full or failing" in full["message"]
    assert "free some room" in full["message"]
    assert full["same"]
    assert freed == {"kept": full["kept"], "same": True}


def test_a_database_that_may_have_no_more_pages_says_so_and_keeps_what_it_has(tmp_path):
    writer, kept = Writer(), []
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        journal._db.execute("PRAGMA max_page_count = 20")
        groups = [[writer.record(Kind.NOTE, words="x" * 900) for _ in range(3)] for _ in range(100)]
        refused = []
        for group in groups:
            try:
                journal.add(group)
                kept += group
            except BadJournal as exc:
                refused.append((group, str(exc)))
        assert journal.records() == kept_form(kept)
        assert kept
        left, message = refused[0]
        assert "has no room left on its disk" in message
        journal._db.execute("PRAGMA max_page_count = 1000")
        journal.add(left)
        assert journal.records() == kept_form([*kept, *left])


@contextmanager
def no_room():
    """Not a byte can be added to any file, as on a disk that is full."""
    resource = pytest.importorskip("resource", reason="limits of POSIX")
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, usual[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


@pytest.fixture
def kept(tmp_path):
    """A journal, and what is in it."""
    path, writer = tmp_path / "journal.sqlite", Writer()
    records = tuple(writer.record(Kind.NOTE, words="x" * 900) for _ in range(20))
    with Journal.open(path) as journal:
        journal.add(records)
    return path, kept_form(records)


def test_without_any_room_a_journal_is_read_and_says_why_nothing_can_be_recorded(kept):
    path, records = kept
    data = path.read_bytes()
    with no_room(), Journal.open(path) as journal:
        assert journal.records() == records
        assert journal.only_read.startswith(f"journal {path} can be read but not written, as its disk is full")
        with pytest.raises(BadJournal, match="free some room; nothing was recorded"):
            journal.add([Writer(seed=9).opened()])
        with pytest.raises(BadJournal, match="free some room"):
            journal.keep_answer("question", "site", "content")
    assert path.read_bytes() == data
    with Journal.open(path) as journal:
        assert journal.only_read is None
        journal.add([Writer(seed=9).opened()])
        assert journal.records()[:-1] == records


def test_what_was_acknowledged_but_not_carried_over_yet_is_read_without_room_too(kept, tmp_path):
    path, records = kept
    late = Writer(seed=9).opened()
    with Journal.open(path) as journal:
        journal.add([late])
        left = tmp_path / "left"
        left.mkdir()
        for name in ("journal.sqlite", "journal.sqlite-wal"):  # as after a cut of power, in a copy
            shutil.copyfile(tmp_path / name, left / name)
    alone = left / "journal.sqlite"
    assert late.identity.encode() not in alone.read_bytes()
    with no_room(), Journal.open(alone) as journal:
        assert journal.only_read is not None
        assert journal.records() == (*records, *kept_form([late]))
    with Journal.open(alone) as journal:
        assert journal.records() == (*records, *kept_form([late]))


READ_ONLY = """
import subprocess, sys
from pathlib import Path
from scheduler.errors import BadJournal
from scheduler.journal.store import Journal
path = Path(sys.argv[1]) / "journal.sqlite"
for name in sys.argv[2:]:
    (path.parent / f"journal.sqlite{name}").write_bytes(Path(f"{path.parent}.{name}").read_bytes())
subprocess.run(["mount", "-o", "remount,ro", str(path.parent)], check=True)
try:
    with Journal.open(path) as journal:
        print(len(journal.records()), journal.only_read)
except BadJournal as exc:
    print(exc)
"""


def on_a_disk_that_takes_no_writing(folder, *beside):
    if not may_mount(folder / "small"):
        pytest.skip("needs a small disk of its own, which this user may not mount")
    script = 'mount -t tmpfs -o size=2m none "$1" && shift && exec "$@"'
    program = [sys.executable, "-c", READ_ONLY, str(folder / "small"), *beside]
    command = ["unshare", "-m", "sh", "-c", script, "sh", str(folder / "small"), *program]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True)


def test_a_disk_that_takes_no_writing_any_more_is_read_unless_something_was_left_beside_the_file(kept, tmp_path):
    path, records = kept
    (tmp_path / "small").mkdir()
    shutil.copyfile(path, tmp_path / "small.")
    done = on_a_disk_that_takes_no_writing(tmp_path, "")
    assert done.stdout.startswith(f"{len(records)} journal "), done.stderr
    assert "as its disk takes no writing" in done.stdout
    with Journal.open(path) as journal:
        journal.add([Writer(seed=9).opened()])
        for name in ("", "-wal"):
            shutil.copyfile(f"{path}{name}", tmp_path / f"small.{name}")
    assert "cannot be opened" in on_a_disk_that_takes_no_writing(tmp_path, "", "-wal").stdout


def test_without_room_nobody_else_reads_until_it_is_let_go(kept, monkeypatch):
    monkeypatch.setattr("scheduler.journal.files.WAIT_S", 0.2)
    path, records = kept
    with no_room(), Journal.open(path) as journal:
        assert journal.records() == records
        look = "import sys; from pathlib import Path; from scheduler.journal import files, store; files.WAIT_S = 0.2;"
        look += "print(len(store.Journal.open(Path(sys.argv[1])).records()))"
        other = [sys.executable, "-c", look, str(path)]
        assert "is held by another program" in subprocess.run(other, cwd=ROOT, capture_output=True, text=True).stderr
    assert subprocess.run(other, cwd=ROOT, capture_output=True, text=True).stdout == "20\n"


def test_a_journal_of_an_older_version_is_not_read_without_room_as_its_tables_lack_some(tmp_path):
    path = tmp_path / "journal.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        migrate(db, MIGRATIONS[:1])
    with no_room(), pytest.raises(BadJournal, match="its disk is full or failing"):
        Journal.open(path)
    with Journal.open(path) as journal:
        assert journal.records() == ()
