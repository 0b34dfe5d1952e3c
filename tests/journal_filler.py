"""A program that writes into a journal until there is no room, and then looks at what is left.

`python journal_filler.py FOLDER BYTES`; BYTES bounds each file (0: the disk does).  Says how many records were
acknowledged, the message, and what a reader then finds; then makes room, and goes on.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from journal_records import Writer, kept_form

from scheduler.errors import BadJournal
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal


def bound(most_bytes: int) -> None:
    """Let no file grow beyond; the system then says so to whoever writes."""
    import resource
    import signal

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, resource.RLIM_INFINITY))


def fill(path: Path, writer: Writer) -> dict[str, object]:
    kept, message = [], ""
    with Journal.open(path) as journal:
        while not message:
            record = writer.record(Kind.NOTE, words="x" * 900)
            try:
                journal.add([record])
                kept.append(record)
            except BadJournal as exc:
                message = str(exc)
        same = journal.records() == kept_form(kept)
    with Journal.open(path, create=False) as journal:
        return {"kept": len(kept), "message": message, "same": same and journal.records() == kept_form(kept)}


def go_on(path: Path, writer: Writer) -> dict[str, object]:
    with Journal.open(path) as journal:
        before = journal.records()
        journal.add([writer.record(Kind.NOTE)])
        return {"kept": len(before), "same": journal.records()[:-1] == before}


def refused(path: Path) -> str:
    try:
        Journal.open(path).close()
    except BadJournal as exc:
        return str(exc)
    return ""


def main() -> None:
    folder, most_bytes = Path(sys.argv[1]), int(sys.argv[2])
    path, writer = folder / "journal.sqlite", Writer()
    ballast = folder / "ballast"
    if most_bytes:
        bound(most_bytes)
    else:
        ballast.write_bytes(b"x" * 100_000)
    found = fill(path, writer)
    if most_bytes:
        bound(-1)
    else:
        found["anew"] = refused(folder / "another.sqlite")
        ballast.unlink()
    sys.stdout.write(json.dumps({"full": found, "freed": go_on(path, writer)}))


if __name__ == "__main__":
    main()
