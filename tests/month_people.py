"""The server of the simulated month, a subscriber that holds every answer against those before, and a household."""

from __future__ import annotations

import http.client
import os
import random
import resource
import signal
import subprocess
import sys
import threading
import time
from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import feed_house
import icalendar
import requests
from feed_house import House
from month_weather import air_c
from three_services import CONTACT, ELEVATION_M, LATITUDE_DEG, LONGITUDE_DEG

from scheduler.errors import SchedulerError
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from month_process import SharedClock

ROOT = Path(__file__).parents[1]
HOUR = 3600.0
SITE = replace(
    feed_house.SITE, name="Invented month shed", latitude_deg=LATITUDE_DEG, longitude_deg=LONGITUDE_DEG,
    elevation_m=ELEVATION_M, contact=CONTACT,
)  # fmt: skip


@dataclass
class Process:
    """The server: started, killed, started again."""

    folder: Path
    port: int
    environment: dict[str, str]
    arguments: list[str]
    process: subprocess.Popen[bytes] | None = None
    up: bool = False
    """From its first answer until it is killed."""
    ended: list[int] = field(default_factory=list)

    def start(self) -> None:
        log = (self.folder / "server.log").open("ab")
        command = [sys.executable, str(ROOT / "tests/month_process.py"), *self.arguments]
        self.process = subprocess.Popen(command, env=self.environment, stderr=log, stdout=log)
        log.close()
        end = time.monotonic() + 60
        while not self.up and time.monotonic() < end:
            with suppress(OSError):
                requests.get(f"http://127.0.0.1:{self.port}/health", timeout=5)
                self.up = True
            time.sleep(0.02)
        assert self.up, (self.folder / "server.log").read_text()[-2000:]

    def kill(self, how: int = signal.SIGKILL) -> int:
        assert self.process is not None
        assert self.process.poll() is None, "the server ended by itself"
        self.up = False
        self.process.send_signal(how)
        return self.process.wait(20)

    def disk(self, *, full: bool) -> None:
        """No file of the process may have more than a byte, or any number of them."""
        assert self.process is not None
        most = resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE)[1]
        resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE, (1 if full else most, most))

    @property
    def memory(self) -> int:
        assert self.process is not None
        return int(Path(f"/proc/{self.process.pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


# Who subscribes.

Told = tuple[int, datetime, bytes, str, datetime]
"""Sequence, last modified, bytes, status and end of an entry as it was served last."""


@dataclass
class Subscriber:
    """Asks for the feed all the time, and holds every answer against those before."""

    server: Process
    path: str
    clock: SharedClock
    told: dict[str, Told] = field(default_factory=dict)
    chains: list[dict[str, dict[str, datetime]]] = field(default_factory=list)
    """Of every feed that was served: the start of each step of each plan, by the plan's smoke."""
    answers: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    wrong: list[str] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)
    _tag: str | None = None

    def run(self) -> None:
        rng = random.Random(5)
        while not self.stop.wait(0.02):
            was_up = self.server.up
            try:
                status, headers, data = self._ask(
                    {"If-None-Match": self._tag} if self._tag and rng.random() < 0.8 else {}
                )
            except (OSError, http.client.HTTPException) as exc:
                if was_up and self.server.up and self.server.process.poll() is None:
                    self.wrong.append(f"no answer from a server that is up: {exc!r}")
                continue
            self.answers[status] += 1
            if status == 200:
                self._look(headers, data)
            elif status == 503 and not self.told:
                continue  # nothing was ever made
            elif status != 304:
                self.wrong.append(f"status {status}")

    def _ask(self, headers: dict[str, str]) -> tuple[int, Any, bytes]:
        link = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=20)
        try:
            link.request("GET", self.path, headers=headers)
            answer = link.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            link.close()

    def _look(self, headers: Any, data: bytes) -> None:
        if headers["ETag"] == self._tag:
            return
        self._tag = headers["ETag"]
        try:
            events = icalendar.Calendar.from_ical(data).walk("VEVENT")
            now = {str(event["UID"]): _told(event) for event in events}
        except (ValueError, KeyError) as exc:
            self.wrong.append(f"a feed that does not read: {exc!r}")
            return
        if len(now) != len(events):
            self.wrong.append("a UID twice")
        for uid, new in now.items():
            self._compare(uid, self.told.get(uid), new)
        for uid in self.told.keys() - now.keys():
            self._gone(uid, self.told[uid])
        self.told.update(now)
        self.chains.append(_chains(events))

    def _compare(self, uid: str, old: Told | None, new: Told) -> None:
        if old is None or old == new:
            return
        if new[0] < old[0] or new[1] < old[1]:
            self.wrong.append(f"{uid} went back from {old[:2]} to {new[:2]}")
        elif new[0] == old[0] and new[2] != old[2]:
            self.wrong.append(f"{uid} changed without counting up")

    def _gone(self, uid: str, old: Told) -> None:
        """Only what is tentative, cancelled or long over may leave."""
        if old[3] == "CONFIRMED" and old[4] > self.clock.true() - feed_house.DAY * 29:
            self.wrong.append(f"{uid} left without being cancelled: {old[2].decode()}")
        del self.told[uid]


def _told(event: Any) -> Told:
    return (
        int(event["SEQUENCE"]), event["LAST-MODIFIED"].dt, event.to_ical(), str(event.get("STATUS", "")),
        event["DTEND"].dt,
    )  # fmt: skip


def _chains(events: list[Any]) -> dict[str, dict[str, datetime]]:
    """Steps still to be done of plans that were taken on, by the smoke that they belong to."""
    found: dict[str, dict[str, datetime]] = defaultdict(dict)
    for event in events:
        ahead = str(event["STATUS"]) == "CONFIRMED" and not str(event["SUMMARY"]).startswith("Done")
        if ahead and "RELATED-TO" in event:
            found[str(event["RELATED-TO"])][str(event["CATEGORIES"].cats[-1])] = event["DTSTART"].dt
    return dict(found)


# Who lives there.


@dataclass
class Household:
    """Opens batches, takes nights on, does the steps and says so, from a process other than the server's."""

    journal: Path
    clock: SharedClock
    rng: random.Random
    acknowledged: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    faults: list[BaseException] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)
    opened: int = 0

    def run(self) -> None:
        while self._rests(self.rng.uniform(0.2, 2.5) * HOUR):
            try:
                with Journal.open(self.journal) as journal:
                    self._act(House(SITE, journal, self.clock.machine()))
            except SchedulerError as exc:
                self.refused.append(str(exc))
            except Exception as exc:  # noqa: BLE001 - the test looks at them
                self.faults.append(exc)
                return

    def _rests(self, seconds: float) -> bool:
        """Let the simulated time pass; whether there is more to do."""
        until = self.clock.true_s + seconds
        while self.clock.true_s < until:
            if self.stop.wait(0.01):
                return False
        return True

    def _act(self, house: House) -> None:
        state = house.book.state
        waiting = [one for one in state.open if one.plan is None]
        if len(state.open) < 2 and self.rng.random() < 0.3:
            self.opened += 1
            self._write(house, Kind.BATCH_OPENED, None, **_opening(house, f"lot {self.opened}"))
        elif waiting and self.rng.random() < 0.5:
            self._adopt(house, state, waiting[0])
        elif self.rng.random() < 0.1:
            self._write(house, Kind.NOTE, None, words=f"a word at {house.now:%H:%M}")
        for one in state.open:
            self._do_what_is_due(house, one)

    def _adopt(self, house: House, state: Any, batch: Any) -> None:
        from scheduler import service
        from scheduler.faces.journal_question import question_of
        from scheduler.faces.plan_records import adopted_record

        made = feed_house.weather(house.now, lambda hour: air_c(hour, house.now), days=10)
        question = question_of(house.book, state, batch, (made, ()))
        plan = service.plan(question).choice.plan
        if plan is not None:
            self._add(
                house, adopted_record(house.book, batch.identity, plan, question, committed=self.rng.random() < 0.3)
            )

    def _do_what_is_due(self, house: House, batch: Any) -> None:
        if batch.plan is None:
            return
        done = {one.step for one in batch.done}
        times = {name: datetime.fromisoformat(at) for name, at in batch.plan.body["steps"].items()}
        due = sorted((at, name) for name, at in times.items() if name not in done and at <= house.now)
        for _, name in due[:1]:
            self._write(house, Kind.STEP_DONE, batch.identity, step=name, weight_g=None, sawdust_g=None)
        if times and done >= times.keys():
            self._write(house, Kind.BATCH_ENDED, batch.identity, how="eaten", words="")

    def _write(self, house: House, kind: Kind, batch: str | None, **body: Any) -> None:
        self._add(house, house.book.record(kind, batch, **body))

    def _add(self, house: House, record: Any) -> None:
        house.book.add(record)
        self.acknowledged.append(record.identity)


def _opening(house: House, name: str) -> dict[str, Any]:
    from scheduler.faces.book import opening
    from scheduler.household.batch import Batch

    since = house.now - timedelta(days=30)
    return opening(Batch(name=name, weight_g=1300.0, frozen_since=since, freezer_c=-20.0, freezer_measured=True))
