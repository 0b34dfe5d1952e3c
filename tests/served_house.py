"""A household with a site file, a table of weather and a journal: looked at by the server, and by the command."""

from __future__ import annotations

import random
import threading
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING
from unittest.mock import patch

from command import Done, Shell, put_hours
from feed_house import DAY, NOON, SITE

from scheduler.faces.asking import Flags, forecasts_of
from scheduler.faces.web.cells import Cells
from scheduler.faces.web.keeper import Keeper
from scheduler.faces.web.publishing import FEED
from scheduler.faces.web.shelf import Shelf
from scheduler.faces.web.sites import Sites
from scheduler.household.site_file import write_site
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from pathlib import Path

NEW = (
    "batch",
    "new",
    "--weight",
    "1.3 kg",
    "--food",
    "salmon",
    "--frozen",
    "2026-09-01",
    "--at",
    "-20 C",
    "--measured",
)


class Served:
    """One site; the weather is that of its table."""

    def __init__(self, folder):
        self.shell = Shell(folder)
        self.site, self.journal, self.out = folder / "site.toml", folder / "j.sqlite", folder / "s.ics"
        self.table = folder / "hours.csv"
        write_site(replace(SITE, name="Invented shed", weather=self.table.name), self.site)
        self.put(NOON, NOON - DAY, NOON + 4 * DAY)
        self.now = NOON
        self.shelf, flags = Shelf(), Flags(self.site, False, None, None)
        self.keeper = Keeper(
            sites=Sites((self.site,)),
            shelf=self.shelf,
            cells=Cells(lambda served, now: forecasts_of(flags, served.site, now), random.Random(1)),
            journal=lambda: Journal.open(self.journal),
            busy_of=lambda *_: (),
            clock=lambda: self.now,
            public_url="http://127.0.0.1:1",
        )

    def put(self, issued_at: datetime, first: datetime, last: datetime, table: Path | None = None) -> None:
        """Cool weather with a warm stretch, into the household's table or another."""
        path = self.table if table is None else table
        put_hours(path, 8.0, days=12, head=f"# issued: {issued_at:%Y-%m-%dT%H:%MZ}\n")
        rows = [_warmed(line, first, last) for line in path.read_text("utf-8").splitlines()]
        path.write_text("\n".join(rows) + "\n", "utf-8")

    def run(self, *args: str | Path) -> Done:
        """A command of that moment."""
        about = ("--site", self.site, "--journal", self.journal, "--now", self.now.isoformat())
        done = self.shell.run(*args, *about)
        assert "Traceback" not in done.err
        return done

    def calendar(self, *more: str | Path) -> Done:
        """By the clock of the machine, which is the household's."""
        with patch("scheduler.faces.asking.datetime", wraps=datetime) as clock:
            clock.now.return_value = self.now
            done = self.shell.run("calendar", self.out, "--site", self.site, "--journal", self.journal, *more)
        assert "Traceback" not in done.err
        return done

    def by_command(self) -> bytes:
        """The file."""
        done = self.calendar()
        assert done.code in (0, 1), done.err
        return self.out.read_bytes()

    def by_server(self) -> bytes:
        """The feed."""
        for known in self.keeper.cells.known.values():
            known.due = self.now
        self.keeper.step(threading.Event())
        (secret,) = (one.secret for one in self.keeper.sites.served.values())
        body = self.shelf.find(secret, FEED)
        assert body is not None
        return body.data


def _warmed(row: str, first: datetime, last: datetime) -> str:
    """A row of the table, much warmer in that stretch."""
    if not row.startswith("20"):
        return row
    at, _ = row.split(",")
    return f"{at},22.0" if first <= datetime.fromisoformat(at) <= last else row
