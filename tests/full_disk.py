"""A server that is started again on a disk without a byte of room, as a program of its own on a small disk of its own.

`python full_disk.py FOLDER HOW`; HOW the server before it ended: well (closed), killed, or restored (killed, and the
folder copied back without what processes shared).  Says what was served before, on the full disk, and with room again.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import feed_house
from feed_house import HOUR, NOON, SITE, House

from scheduler.faces.web.cells import Cells
from scheduler.faces.web.keeper import Keeper
from scheduler.faces.web.publishing import FEED, PAGE
from scheduler.faces.web.records import opened, refuse_what_is_none
from scheduler.faces.web.shelf import Shelf
from scheduler.faces.web.sites import Sites
from scheduler.household.site_file import write_site
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from datetime import datetime


class Served:
    """One site, kept from its start."""

    def __init__(self, folder: Path) -> None:
        self.now, self.shelf, path = NOON, Shelf(), folder / "site.toml"
        if not path.exists():
            write_site(SITE, path)
        self.keeper = Keeper(
            Sites((path,)), self.shelf, Cells(self.ask, Random(1)), lambda: opened(folder / "journal.sqlite"),
            lambda *_: (), lambda: self.now, "http://127.0.0.1:1",
        )  # fmt: skip
        refuse_what_is_none(folder / "journal.sqlite")
        self.keeper.begin()
        (self.secret,) = (one.secret for one in self.keeper.sites.served.values())

    def ask(self, _: object, now: datetime) -> object:
        return replace(feed_house.weather(now), fresh_until=now + HOUR), ()

    def look(self, after: timedelta = timedelta(0)) -> None:
        self.now += after
        self.keeper.step()

    def said(self) -> dict[str, object]:
        found = {name: self.shelf.find(self.secret, path) for name, path in (("feed", FEED), ("page", PAGE))}
        told = {name: None if body is None else body.data.decode() for name, body in found.items()}
        return {**told, "status": json.loads(self.shelf.health.data)["status"]}


def plan(folder: Path) -> int:
    """How many records are there once a night is adopted."""
    with Journal.open(folder / "journal.sqlite") as journal:
        house = House(SITE, journal, NOON)
        house.adopt(house.open("autumn lot"))
        return len(journal.records())


def before_it_is_full(folder: Path, how: str, answer: int) -> None:
    """A server's life, in a process that may end as it does."""
    records = plan(folder)
    first = Served(folder)
    if how != "well":
        held = Journal.open(folder / "journal.sqlite")  # else the last who closes empties the log of what was written
        held.records()
    first.look()
    os.write(answer, json.dumps({"records": records, **first.said()}).encode())
    os._exit(0)


def fill(path: Path) -> None:
    """Until nothing more can be written, not a byte."""
    handle = os.open(path, os.O_CREAT | os.O_WRONLY)
    for size in (4096, 1):
        try:
            while True:
                os.write(handle, b"x" * size)
        except OSError:
            continue
    os.close(handle)


def main() -> None:
    folder, how = Path(sys.argv[1]), sys.argv[2]
    reading, writing = os.pipe()
    if os.fork() == 0:
        before_it_is_full(folder, how, writing)
    os.close(writing)
    with os.fdopen(reading) as answer:
        before = json.loads(answer.read())
    os.wait()
    if how == "restored":
        (folder / "journal.sqlite-shm").unlink()
    beside = sorted(path.name for path in folder.iterdir())
    fill(folder / "ballast")
    again = Served(folder)
    begun = again.said()
    again.look(timedelta(days=1))
    full = again.said()
    (folder / "ballast").unlink()
    again.look(timedelta(minutes=1))
    with Journal.open(folder / "journal.sqlite") as journal:
        records = len(journal.records())
    freed = {**again.said(), "records": records}
    sys.stdout.write(json.dumps({"before": before, "beside": beside, "begun": begun, "full": full, "freed": freed}))


if __name__ == "__main__":
    main()
