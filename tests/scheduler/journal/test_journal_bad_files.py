"""Files that are no journal, or no longer one: one clear message each, and the file stays as it was."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from journal_records import Writer

from scheduler.errors import BadJournal
from scheduler.journal import files
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal


@pytest.fixture
def path(tmp_path):
    """A journal of some pages."""
    path, writer = tmp_path / "journal.sqlite", Writer()
    with Journal.open(path) as journal:
        journal.add([writer.record(Kind.NOTE, words="x" * 900) for _ in range(100)])
    return path


def refusal(path, *, create=True):
    """The message of a file that is refused at opening or reading, and that it stays what it was."""
    before = path.read_bytes()
    with pytest.raises(BadJournal) as caught, Journal.open(path, create=create) as journal:
        journal.records()
    assert path.read_bytes() == before
    assert [each.name for each in path.parent.iterdir()] == [path.name], "nothing is left beside it"
    message = str(caught.value)
    assert message.startswith(f"journal {path} ")
    assert "\n" not in message
    return message


@pytest.mark.parametrize("create", [True, False])
@pytest.mark.parametrize("data", [b"not a database", b"\0" * 5000, b"SQLite format 4\0" + b"\1" * 4080, b"{}\n" * 2000])
def test_a_file_of_something_else_is_no_journal(tmp_path, data, create):
    path = tmp_path / "notes.txt"
    path.write_bytes(data)
    assert "is not a journal of smokenight: name another file" in refusal(path, create=create)


@pytest.mark.parametrize("mode", ["DELETE", "WAL"])
def test_the_database_of_another_program_is_no_journal(tmp_path, mode):
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(f"PRAGMA journal_mode = {mode}")
        db.execute("CREATE TABLE record (number INTEGER)")
        db.execute("PRAGMA user_version = 1")
    assert "is not a journal of smokenight" in refusal(path)


def test_an_empty_file_is_told_from_a_new_journal(tmp_path):
    path = tmp_path / "journal.sqlite"
    path.touch()
    assert "is empty, which a journal never is" in refusal(path)


@pytest.mark.parametrize("left", [50, 99, 100, 4000, 4096, 5000, 8192, 40_960, -4096, -1])
def test_a_file_that_was_cut_off_is_told(path, left):
    data = path.read_bytes()
    path.write_bytes(data[:left])
    assert "is cut off or damaged: keep it" in refusal(path)


@pytest.mark.parametrize("left", [1, 10])
def test_of_a_stump_nobody_can_say_what_it_was(path, left):
    path.write_bytes(path.read_bytes()[:left])
    assert "is not a journal of smokenight: name another file" in refusal(path)


def test_a_page_that_was_overwritten_is_told(path):
    data = bytearray(path.read_bytes())
    for page in range(4096, len(data), 4096):
        data[page : page + 16] = b"\xff" * 16
    path.write_bytes(data)
    assert "is cut off or damaged" in refusal(path)


@pytest.mark.parametrize("change", ["body = 'no json'", "body = '['", "kind = 'dreamt'", "at = 'yesterday'"])
def test_a_record_that_does_not_read_back_is_told(path, change):
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER record_is_never_changed")
        db.execute(f"UPDATE record SET {change} WHERE number = 9")  # noqa: S608
    assert "(record 9 does not read)" in refusal(path)


def test_a_folder_and_a_pipe_are_no_journal(tmp_path):
    with pytest.raises(BadJournal, match="is a folder: name the file in it"):
        Journal.open(tmp_path)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(BadJournal, match="is not a plain file"):
            Journal.open(tmp_path / "pipe")


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(BadJournal, match=r"cannot be used .* check its path and permissions"):
        Journal.open(tmp_path / "file" / "journal.sqlite")


def test_a_link_to_nothing_is_told(tmp_path):
    link = tmp_path / "journal.sqlite"
    link.symlink_to(tmp_path / "gone")
    with pytest.raises(BadJournal, match="check its path"):
        Journal.open(link)


def test_a_journal_of_a_newer_version_is_left_to_it(path):
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA user_version = 7")
    assert "is of version 7, newer than this smokenight knows (2): update it" in refusal(path)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may do everything")
def test_a_file_without_permission_is_told(path):
    path.chmod(0o000)
    with pytest.raises(BadJournal, match="cannot be opened: allow reading and writing"):
        Journal.open(path)
    path.chmod(0o400)
    with Journal.open(path) as journal, pytest.raises(BadJournal, match="cannot be written: allow writing"):
        journal.add([Writer(seed=9).opened()])


HOLD = """
import sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("PRAGMA locking_mode = " + sys.argv[2])
db.execute("BEGIN IMMEDIATE")
db.execute("INSERT INTO migration VALUES (99, 'held')")
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def held(path, request):
    command = [sys.executable, "-c", HOLD, str(path), request.param]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout.readline() == "held\n"
        yield path
        holder.stdin.close()


@pytest.mark.parametrize("held", ["NORMAL"], indirect=True)
def test_a_journal_that_somebody_writes_to_can_be_read_and_is_waited_for(held, monkeypatch):
    monkeypatch.setattr(files, "WAIT_S", 0.2)
    with Journal.open(held) as journal:
        assert len(journal.records()) == 100
        with pytest.raises(BadJournal, match=r"is held by another program: let it finish.* nothing was recorded"):
            journal.add([Writer(seed=9).opened()])
        assert len(journal.records()) == 100


@pytest.mark.parametrize("held", ["EXCLUSIVE"], indirect=True)
def test_a_journal_that_somebody_has_to_himself_is_told(held, monkeypatch):
    monkeypatch.setattr(files, "WAIT_S", 0.2)
    with pytest.raises(BadJournal, match="is held by another program"):
        Journal.open(held)
