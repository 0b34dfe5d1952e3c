"""A full disk: nothing acknowledged is lost, what was not is not there, and it goes on once there is room."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from journal_records import Writer, kept_form

from scheduler.errors import BadJournal
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
