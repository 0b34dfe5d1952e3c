"""A keeper of a folder of sites, on a clock of the test's, with everything around it that a test may spoil."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random

import feed_house
from feed_house import HOUR, NOON, SITE

from scheduler.faces.web.cells import Cells
from scheduler.faces.web.keeper import Keeper
from scheduler.faces.web.publishing import FEED
from scheduler.faces.web.shelf import Shelf
from scheduler.faces.web.sites import Sites
from scheduler.household.site_file import write_site
from scheduler.journal.store import Journal


@dataclass
class Server:
    """Everything around a keeper that a test may spoil."""

    folder: object
    now: datetime = NOON
    asked: list[datetime] = field(default_factory=list)
    error: Exception | None = None
    shelf: Shelf = field(default_factory=Shelf)

    def __post_init__(self):
        self.keeper = self.made()

    @property
    def journal(self):
        return self.folder / "journal.sqlite"

    def made(self):
        return Keeper(
            Sites((self.folder / "sites",)), self.shelf, Cells(self.ask, Random(1)),
            lambda: Journal.open(self.journal), lambda served, now: (), lambda: self.now, "http://127.0.0.1:1",
        )  # fmt: skip

    def add(self, name="Invented shed"):
        path = self.folder / "sites" / f"{name}.toml"
        write_site(replace(SITE, name=name), path)
        return path

    def ask(self, served, now):
        self.asked.append(now)
        if self.error is not None:
            raise self.error
        return replace(feed_house.weather(now), fresh_until=now + HOUR), ()

    def restarted(self):
        self.shelf = Shelf()
        self.keeper = self.made()
        self.keeper.begin()

    def step(self, after=timedelta(0)):
        self.now += after
        return self.keeper.step()

    def secret(self, path):
        return self.keeper.sites.served[path].secret

    def data(self, path, page=FEED):
        body = self.shelf.find(self.secret(path), page)
        return None if body is None else body.data

    @property
    def health(self):
        return json.loads(self.shelf.health.data)
