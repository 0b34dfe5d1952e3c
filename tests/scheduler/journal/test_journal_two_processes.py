"""Two processes at once: nothing is lost, whoever makes the file."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from journal_records import SITE

from scheduler.journal.store import Journal

ROOT = Path(__file__).parents[3]
EACH = 200
WRITE = f"""
import sys
from pathlib import Path
from journal_records import Writer
from scheduler.journal.store import Journal

writer = Writer(seed=int(sys.argv[2]))
for _ in range({EACH // 20}):  # each time opened anew, so that making, opening and closing fall together, too
    with Journal.open(Path(sys.argv[1])) as journal:
        for _ in range(20):
            record = writer.opened(name=sys.argv[2])
            journal.add([record])
            print(record.identity)
"""


def test_two_processes_that_write_at_once_keep_every_record(tmp_path):
    path = tmp_path / "journal.sqlite"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests")))}
    two = [
        subprocess.Popen(
            [sys.executable, "-c", WRITE, str(path), seed], stdout=subprocess.PIPE, text=True, env=environment
        )
        for seed in ("1", "2")
    ]
    told = [process.communicate(timeout=120)[0].split() for process in two]
    assert [process.returncode for process in two] == [0, 0]
    with Journal.open(path) as journal:
        records = journal.records()
        assert journal.last(SITE) == 2 * EACH
    for seed, identities in zip(("1", "2"), told, strict=True):
        mine = [record.identity for record in records if record.body["name"] == seed]
        assert mine == identities, "every record, in the order in which it was acknowledged"
        assert len(mine) == EACH
    assert [each.name for each in tmp_path.iterdir()] == [path.name]
