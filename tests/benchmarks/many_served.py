"""Many sites in one server process, for the benchmark: `python many_served.py COUNT SHARED`, which prints JSON.

SHARED: how many sites share a grid cell.  The weather is invented in the process, with 51 members and two second
opinions, so that what is measured is ours.  While everything is planned anew, a process beside it asks for feeds.
"""

from __future__ import annotations

import json
import os
import resource
import socket
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import feed_house
import numpy as np
import pandas as pd

from scheduler.faces.book import Book, opening
from scheduler.faces.web.app import app_of
from scheduler.faces.web.cells import Cells
from scheduler.faces.web.keeper import Keeper
from scheduler.faces.web.listening import run, server_for
from scheduler.faces.web.shelf import Shelf
from scheduler.faces.web.sites import Sites
from scheduler.household.batch import Batch
from scheduler.household.site_file import write_site
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

MEMBERS = 51
HERE = Path(__file__)


class Weather:
    """Forecasts of the house's invented weather, a little other in every cell."""

    def __init__(self) -> None:
        self.asked, self.rng = 0, np.random.default_rng(2026)

    def __call__(self, served, now):
        self.asked += 1
        warmer = self.rng.normal(0.0, 1.0)
        made = feed_house.weather(now, lambda hour: feed_house.air_c(hour) + warmer)
        spread = self.rng.normal(0.0, 0.3, (len(made.hourly), MEMBERS)).cumsum(axis=0) / 4
        members = pd.DataFrame((made.hourly["air_c"].to_numpy()[:, None] + spread).round(1), index=made.hourly.index)
        others = tuple(replace(made, source=name) for name in ("us-nws", "met-norway"))
        fresh = now + timedelta(hours=1)
        return replace(made, source="open-meteo", members=members.rename(columns=str), fresh_until=fresh), others


def made(folder: Path, count: int, shared: int) -> tuple[Path, Path]:
    """A folder of site files, each with an open batch in the journal."""
    sites, journal = folder / "sites", folder / "journal.sqlite"
    sites.mkdir()
    records = []
    for number in range(count):
        lat_deg, lon_deg = 30.0 + 0.02 * (number // shared % 1000), -70.0 - 0.02 * (number // shared // 1000)
        site = replace(feed_house.SITE, name=f"Invented shed {number}", latitude_deg=lat_deg, longitude_deg=lon_deg)
        write_site(site, sites / f"{number:05}.toml")
        batch = Batch(name="lot", weight_g=1300.0, frozen_since=feed_house.NOON - timedelta(days=30), freezer_c=-20.0,
                      freezer_measured=True)  # fmt: skip
        records.append(Book(site, feed_house.NOON, None, kept=True).record(Kind.BATCH_OPENED, None, **opening(batch)))
    with Journal.open(journal) as kept:
        kept.add(records)
    return sites, journal


def memory_bytes() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def everything(keeper: Keeper) -> tuple[float, float]:
    """Seconds by the clock and of the processor until nothing is left to do."""
    began, worked = time.perf_counter(), time.thread_time()
    while keeper.step():
        pass
    return time.perf_counter() - began, time.thread_time() - worked


def load(port: int, secrets: list[str]) -> subprocess.Popen[str]:
    """A subscriber that asks for one feed after the other, longer where there is more to plan."""
    script = HERE.with_name("feed_asker.py")
    some = secrets[:: max(1, len(secrets) // 50)]
    given = json.dumps({"port": port, "secrets": some, "seconds": 5.0 + len(secrets) / 100})
    return subprocess.Popen([sys.executable, str(script), given], stdout=subprocess.PIPE, text=True)


def measured(count: int, shared: int) -> dict[str, float]:
    resource.setrlimit(resource.RLIMIT_NOFILE, (1024, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
    with tempfile.TemporaryDirectory() as folder:
        sites, journal = made(Path(folder), count, shared)
        weather, shelf, now = Weather(), Shelf(), [feed_house.NOON]
        before = memory_bytes()
        keeper = Keeper(Sites((sites,)), shelf, Cells(weather, Random(1)), lambda: Journal.open(journal),
                        lambda served, at: (), lambda: now[0], "http://127.0.0.1")  # fmt: skip
        keeper.begin()
        first_s, first_cpu_s = everything(keeper)
        held = memory_bytes() - before
        listening = socket.create_server(("127.0.0.1", 0))
        server = server_for(app_of(shelf))
        threading.Thread(target=run, args=(server, listening), daemon=True).start()
        asker = load(listening.getsockname()[1], [one.secret for one in keeper.sites.served.values()])
        time.sleep(1.0)
        now[0] += timedelta(hours=2)
        again_s, again_cpu_s = everything(keeper)
        told = json.loads(asker.communicate(timeout=300)[0])
        idle_s, _ = everything(keeper)
        began = time.perf_counter()
        fresh = Keeper(Sites((sites,)), Shelf(), Cells(weather, Random(1)), lambda: Journal.open(journal),
                       lambda served, at: (), lambda: now[0], "http://127.0.0.1")  # fmt: skip
        fresh.begin()
        start_s = time.perf_counter() - began
        trouble = [one.trouble for one in keeper._of.values() if one.trouble is not None]
        assert not trouble, trouble[:3]
        server.should_exit = True
        return {"count": count, "first_s": first_s, "first_cpu_s": first_cpu_s, "again_s": again_s,
                "again_cpu_s": again_cpu_s, "idle_s": idle_s, "start_s": start_s, "held_bytes": held,
                "asked": weather.asked, **told}  # fmt: skip


if __name__ == "__main__":
    print(json.dumps(measured(int(sys.argv[1]), int(sys.argv[2]))))  # noqa: T201 - told to the benchmark

_ = datetime, UTC
