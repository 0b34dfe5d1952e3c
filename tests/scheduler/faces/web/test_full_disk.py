"""A server started again while its disk is full: the calendar of before is served, the trouble told, nothing lost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[4]
PROGRAM = ROOT / "tests/full_disk.py"
MOUNTED = 'mount -t tmpfs -o size=4m none "$1" && exec "$2" "$3" "$1" "$4"'
BESIDE = {"well": set(), "killed": {"-shm", "-wal"}, "restored": {"-wal"}}


def in_its_own_world(script, *args):
    """Mounts are seen by nobody else, and are gone with the process."""
    command = ["unshare", "-m", "sh", "-c", script, "sh", *map(str, args)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests")))}
    return subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120)


@pytest.fixture(scope="module", params=BESIDE)
def found(request, tmp_path_factory):
    """What was served before, on the full disk and after, by how the server before it ended."""
    folder = tmp_path_factory.mktemp("small")
    if shutil.which("unshare") is None or in_its_own_world('mount -t tmpfs none "$1"', folder).returncode:
        pytest.skip("needs a small disk of its own, which this user may not mount")
    done = in_its_own_world(MOUNTED, folder, sys.executable, PROGRAM, request.param)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    beside = {name.removeprefix("journal.sqlite") for name in told["beside"] if name.startswith("journal")}
    assert beside - {""} == BESIDE[request.param]
    return told


def test_the_calendar_of_before_is_served_from_the_start_on(found):
    assert "autumn lot" in found["before"]["feed"]
    assert found["begun"]["feed"] == found["full"]["feed"] == found["before"]["feed"]


def test_page_and_health_tell_what_to_do_and_not_where_the_journal_lies(found):
    full = found["full"]
    assert full["status"] == "in trouble"
    assert "Journal journal.sqlite" in full["page"]
    assert "free some" in full["page"]
    assert "The calendar is served as it was published last." in full["page"]


def test_once_there_is_room_nothing_is_lost_and_all_goes_on(found):
    freed = found["freed"]
    assert freed["status"] == "well"
    assert freed["records"] >= found["before"]["records"] > 1
    assert "autumn lot" in freed["page"]
    assert 'id="trouble"' not in freed["page"]
    assert freed["feed"] != found["before"]["feed"], "a day has passed"
