"""A month of the server: flapping weather services, kills, a disk that takes nothing, a household that works away,
and a subscriber that asks all the time and checks every answer.
"""

from __future__ import annotations

import os
import random
import socket
import threading
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import requests
import shapes
from month_people import SITE, Household, Process, Subscriber
from month_process import SharedClock
from month_weather import Flapping, air_c
from three_services import addresses, cover_the_place

from scheduler.faces.web.address import path_of, secret_made
from scheduler.household.site_file import write_site
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pytest

ROOT = Path(__file__).parents[1]
START = datetime(2026, 10, 10, 16, 0, tzinfo=UTC)
HOUR, DAY = 3600.0, 86400.0


class Month:
    """`with Month(…) as month` runs it all; then `month.until(hours)` lets time pass."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch, *, pace_s: float, seed: int) -> None:
        self.folder, self.rng = folder, random.Random(seed)
        self.clock = SharedClock.made(folder / "clock", START)
        patch.setattr(shapes, "air_c", lambda hour, member=0: air_c(hour, self.clock.true(), member))
        patch.setitem(shapes.VARIABLES, "temperature_2m", lambda hour: air_c(hour, self.clock.true()))
        patch.setitem(shapes.VARIABLES, "precipitation", lambda _: 0.0)
        self.weather = Flapping(self.clock.true, random.Random(seed + 1))
        cover_the_place(self.weather)
        site, self.journal = folder / "shed.toml", folder / "journal.sqlite"
        Journal.open(self.journal).close()
        write_site(SITE, site)
        self.secret = secret_made(site)
        self.server = self._process(site, pace_s)
        self.household = Household(self.journal, self.clock, random.Random(seed + 2))
        self.subscriber = Subscriber(self.server, path_of(self.secret, "smoke.ics"), self.clock)
        self.threads = [
            threading.Thread(target=one.run, daemon=True, name=type(one).__name__)
            for one in (self.household, self.subscriber)
        ]

    def _process(self, site: Path, pace_s: float) -> Process:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        ours = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
        environment = {
            **os.environ, **addresses(self.weather), "PYTHONPATH": ours, "XDG_CACHE_HOME": str(self.folder / "cache"),
        }  # fmt: skip
        clock, journal = self.folder / "clock", self.journal
        return Process(self.folder, port, environment, [str(port), str(clock), str(journal), str(pace_s), str(site)])

    def __enter__(self) -> Month:
        self.weather.__enter__()
        self.server.start()
        for thread in self.threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        for one in (self.household, self.subscriber):
            one.stop.set()
        for thread in self.threads:
            thread.join(30)
        if self.server.process is not None and self.server.process.poll() is None:
            self.server.process.kill()
            self.server.process.wait(20)
        self.weather.closing.set()
        self.weather.__exit__()

    @property
    def hours(self) -> float:
        """How many hours of the month are over."""
        return (self.clock.true_s - START.timestamp()) / HOUR

    def until(self, hours: float, patience_s: float = 900.0) -> None:
        """Let time pass."""
        end = time.monotonic() + patience_s
        while self.hours < hours:
            assert time.monotonic() < end, f"only {self.hours:.1f} hours passed"
            assert self.server.process.poll() is None, "the server ended by itself"
            time.sleep(0.02)

    def again(self) -> None:
        """Killed at once, and started again."""
        self.server.kill()
        # What was answered in that very moment may not have reached the disk.
        self.weather.well_until.clear()
        self.server.start()

    def full_disk_for(self, hours: float) -> None:
        """Nothing can be written by the server."""
        self.weather.excused = True
        self.weather.well_until.clear()
        self.server.disk(full=True)
        self.until(self.hours + hours)
        self.server.disk(full=False)
        self.weather.excused = False

    def wrong_clock_for(self, hours: float, by_h: float) -> None:
        """The machine's clock is set, and set back."""
        for seconds in (by_h * HOUR, 0.0):
            self.weather.excused = True
            self.weather.well_until.clear()
            self.clock.set_wrong_by(seconds)
            self.until(self.hours + hours / 2)
            self.weather.excused = False

    def get(self, page: str) -> requests.Response:
        path = "/health" if page == "health" else path_of(self.secret, page)
        return requests.get(f"http://127.0.0.1:{self.server.port}{path}", timeout=20)

    def all_is_well(self) -> None:
        """From now on no service is ill; within the longest wait of the timetable everything is fresh."""
        self.weather.ill = False
        for queue in self.weather.faults.values():
            queue.clear()
        self.until(self.hours + 3.4)
        health = self.get("health").json()
        assert health["status"] == "well", health
        assert health["cells_in_trouble"] == health["cells_without_weather"] == 0, health
        assert health["oldest_weather_h"] <= 3.5, health
        assert "old, looked at" in self.get("").text

    def check(self) -> None:
        """What must have held all along."""
        self.household.stop.set()
        self.threads[0].join(30)
        assert not self.household.faults, self.household.faults
        assert not self.subscriber.wrong, self.subscriber.wrong[:5]
        assert not self.weather.too_soon, self.weather.too_soon[:5]
        assert max(self.weather.most_active.values()) == 1, dict(self.weather.most_active)
        with Journal.open(self.journal) as journal:
            records = journal.records()
        assert set(self.household.acknowledged) <= {one.identity for one in records}
        assert "fault of ours" not in (self.folder / "server.log").read_text()
        revisions = [_steps(one.body) for one in records if one.kind in (Kind.PLAN_ADOPTED, Kind.PLAN_MOVED)]
        for number, feed in enumerate(self.subscriber.chains):
            for chain in feed.values():
                if "lift" not in chain:
                    continue  # what follows a lift counts from the lift itself
                assert any(chain.items() <= one.items() for one in revisions), (number, chain)


def _steps(body: Any) -> dict[str, datetime]:
    return {name: datetime.fromisoformat(at) for name, at in body["steps"].items()}


def lives(rng: random.Random, hours: float, mean_h: float) -> Iterator[float]:
    """When the server is killed, at random, until so many hours are over."""
    at = 0.0
    while (at := at + rng.uniform(0.3, 1.7) * mean_h) < hours:
        yield at
