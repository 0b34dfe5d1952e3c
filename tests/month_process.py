"""The server of the month, in a process of its own: `python month_process.py PORT CLOCK JOURNAL PACE_S SITE…`.

It is what `serve` builds, but for its clock: that stands still while it works and runs PACE_S ahead whenever it waits,
and is shared with the test through the file CLOCK.  Patience with weather services is a second instead of minutes.
"""

from __future__ import annotations

import logging
import mmap
import os
import random
import socket
import struct
import sys
import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from providers import services, source
from providers.polite_http import Limits
from scheduler.faces.web import command
from scheduler.faces.web.keeper import Keeper
from scheduler.faces.web.shelf import Shelf

if TYPE_CHECKING:
    from threading import Event

IMPATIENT = Limits(connect_s=0.6, read_s=0.6, total_s=1.2, retry_after_s=30.0)


class SharedClock:
    """Seconds of the simulated time, moved on by the server alone, and by how much its machine's clock is wrong."""

    def __init__(self, path: Path) -> None:
        with path.open("r+b") as file:
            self._map = mmap.mmap(file.fileno(), 16)

    @classmethod
    def made(cls, path: Path, start: datetime) -> SharedClock:
        path.write_bytes(struct.pack("dd", start.timestamp(), 0.0))
        return cls(path)

    @property
    def true_s(self) -> float:
        return struct.unpack_from("d", self._map, 0)[0]

    @property
    def wrong_by_s(self) -> float:
        return struct.unpack_from("d", self._map, 8)[0]

    def set_wrong_by(self, seconds: float) -> None:
        struct.pack_into("d", self._map, 8, seconds)

    def run(self, seconds: float) -> None:
        struct.pack_into("d", self._map, 0, self.true_s + seconds)

    def true(self) -> datetime:
        return datetime.fromtimestamp(self.true_s, UTC)

    def machine(self) -> datetime:
        return datetime.fromtimestamp(self.true_s + self.wrong_by_s, UTC)


@dataclass(slots=True)
class Hurried(Keeper):
    """Waits by moving the clock on."""

    clock_file: SharedClock | None = None
    pace_s: float = 30.0

    def run(self, stop: Event) -> None:
        self._show_all(lambda _: stop.is_set())
        while not stop.is_set():
            self.step(stop)
            self.clock_file.run(self.pace_s)
            time.sleep(0.001)


def main(port: str, clock_path: str, journal: str, pace_s: str, *sites: str) -> None:
    logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stderr)
    clock = SharedClock(Path(clock_path))
    usual = services.polite_client

    def client(contact: str | None):
        own = usual(contact)
        return replace(
            own, clock=clock.machine, rng=random.Random(), sleep=lambda _: time.sleep(0.01), limits=IMPATIENT
        )

    services.polite_client = source.polite_client = client
    listening = socket.create_server(("127.0.0.1", int(port)))
    made = command._keeper(tuple(map(Path, sites)), Shelf(), Path(journal), f"http://127.0.0.1:{port}")
    keeper = Hurried(
        made.sites, made.shelf, made.cells, made.journal, made.busy_of, clock.machine, made.public_url,
        clock_file=clock, pace_s=float(pace_s),
    )  # fmt: skip
    if not command.run_together(keeper, listening):
        os._exit(command.FAULT)


if __name__ == "__main__":
    main(*sys.argv[1:])
