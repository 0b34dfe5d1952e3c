"""A program that brings up writers of one journal, each a process that a test may kill at any instant.

`python journal_nursery.py`; a line "SEED PATH CHECKPOINT" on its input forks a writer, which says on the output
"born PID", then "kept PID IDENTITY …" once the journal has acknowledged a group of records; "dead PID" follows its end.
Forked, as starting Python anew takes longer than most of the lives do.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from journal_records import Writer

from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

GROUP = 3
"""Records that are added at once."""
TIMES = [f"2026-10-20T{hour:02}:{minute:02}:00+00:00" for hour in range(4) for minute in range(60)]


def say(*words: object) -> None:
    """One line in one write, which a pipe keeps whole."""
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def write_for_ever(seed: int, path: Path, checkpoint: int) -> None:
    writer = Writer(seed)
    with Journal.open(path) as journal:
        journal._db.execute(f"PRAGMA wal_autocheckpoint = {checkpoint}")
        while True:
            batch = writer.opened(name=str(seed))
            probe = writer.record(Kind.READINGS, batch, where="porch", name="probe", times=TIMES, c=[0.5] * len(TIMES))
            group = [batch, writer.record(Kind.RELIT, batch), probe]
            journal.add(group)
            say("kept", os.getpid(), *(record.identity for record in group))


def bring_up(seed: int, path: Path, checkpoint: int) -> None:
    if os.fork() == 0:
        say("born", os.getpid())
        try:
            write_for_ever(seed, path, checkpoint)
        except BaseException as exc:  # noqa: BLE001 - to the test, as this process ends without a traceback
            say("failed", os.getpid(), repr(exc))
        os._exit(1)


def main() -> None:
    for line in sys.stdin:
        task, _, rest = line.rstrip("\n").partition(" ")
        if task == "bury":
            with suppress(ChildProcessError):
                os.waitpid(int(rest), 0)
            say("dead", rest)
        else:
            checkpoint, _, path = rest.partition(" ")
            bring_up(int(task), Path(path), int(checkpoint))


if __name__ == "__main__":
    main()
