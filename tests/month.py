"""A month of the server: flapping weather services, kills, a disk that takes nothing, a household that works away,
and a subscriber that asks all the time and checks every answer.
"""

from __future__ import annotations

import http.client
import math
import os
import random
import resource
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime, parsedate_to_datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import faults
import feed_house
import icalendar
import requests
import shapes
import shapes_met_norway
import shapes_us_nws  # noqa: F401 - its routes
from feed_house import House
from loopback import Handler, Page, WeatherServer
from month_process import SharedClock
from three_services import CONTACT, ELEVATION_M, LATITUDE_DEG, LONGITUDE_DEG, addresses, cover_the_place

from scheduler.errors import SchedulerError
from scheduler.faces.web.address import path_of, secret_made
from scheduler.household.site_file import write_site
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import pytest

ROOT = Path(__file__).parents[1]
START = datetime(2026, 10, 10, 16, 0, tzinfo=UTC)
HOUR, DAY = 3600.0, 86400.0
SITE = replace(
    feed_house.SITE, name="Invented month shed", latitude_deg=LATITUDE_DEG, longitude_deg=LONGITUDE_DEG,
    elevation_m=ELEVATION_M, contact=CONTACT,
)  # fmt: skip


# The weather and its services.


def air_c(hour: datetime, made: datetime, member: int = 0) -> float:
    """Waves of six days; what is far ahead is told otherwise every six hours."""
    ahead = max((hour - made).total_seconds() / DAY, 0.0)
    telling = int(made.timestamp() // (6 * HOUR))
    wrong = 1.5 * math.sin(1.7 * telling + hour.timestamp() / DAY) * min(ahead / 4, 1.0)
    return round(feed_house.air_c(hour, 8.5) + wrong + 0.2 * math.sin(member) * min(ahead, 4.0), 1)


def slow(handler: Handler, page: Page) -> None:
    """Right, and late."""
    handler.wait(0.2)
    handler.answer(page)


def expires(text: Callable[[datetime], str]) -> Callable[[Handler, Page], None]:
    """The right answer, with another Expires and no max-age, which would outrank it (RFC 9111, section 5.3)."""

    def fault(handler: Handler, page: Page) -> None:
        others = {name: value for name, value in page.headers.items() if name != "Cache-Control"}
        handler.answer(replace(page, headers=others | {"Expires": text(handler.server.service.clock())}))

    return fault


def _in(span: timedelta) -> Callable[[datetime], str]:
    return lambda now: format_datetime(now + span, usegmt=True)


FAULTS = (
    faults.status(500), faults.status(503), faults.status(429, retry_after="20"), faults.status(429, retry_after="900"),
    faults.status(403, b"you are ban"), faults.hang_up, faults.stalled_body, faults.slow_body, faults.cut_body,
    faults.cut_gzip, faults.broken_gzip, faults.nested_gzip, faults.not_http, faults.says(faults.HTML),
    faults.says(b""), faults.says(b"[1, 2"), faults.says(b'{"hourly": 7}'), faults.says(b"null"),
    faults.spoilt(lambda _: []), faults.spoilt(lambda given: dict.fromkeys(given, "x")), faults.redirect_here,
    faults.redirect("http://127.0.0.1:9/elsewhere"), faults.redirect("https://elsewhere.example/"), faults.not_modified,
    faults.refusal_cut_short, slow, slow, faults.in_order, expires(_in(-timedelta(days=2))),
    expires(_in(timedelta(hours=3))), expires(lambda _: "soon"),
)  # fmt: skip
FAR = expires(_in(timedelta(days=30)))
"""Taken at its word for a day."""
LASTING = (faults.stalled_body, faults.slow_body, slow)
"""What keeps a client waiting."""


def _at_once(fault: Callable[[Handler, Page], None]) -> Callable[[Handler, Page], None]:
    """A fault after which the client may ask again before our thread has come to its end."""

    def told(handler: Watched, page: Page) -> None:
        handler.done_with()
        fault(handler, page)

    return told


SERVICE_OF = {"v1": "open-meteo", "points": "us-nws", "gridpoints": "us-nws", "weatherapi": "met-norway"}


class Watched(Handler):
    """Counts who is asked at the same time, and who before the last answer expired."""

    def do_GET(self) -> None:  # noqa: N802 - the name in http.server
        service = self.server.service
        name = SERVICE_OF.get(self.path.split("/")[1], "?")
        with service.lock:
            now = service.clock().timestamp()
            if service.well_until.get(self.path, 0.0) > now + 1.0 and not service.excused:
                service.too_soon.append((self.path.partition("?")[0], service.well_until[self.path] - now))
            service.active[name].add(self)
            waiting = sum(one.is_waited_for() for one in service.active[name])
            service.most_active[name] = max(service.most_active[name], waiting)
        try:
            super().do_GET()
        finally:
            self.done_with()

    def done_with(self) -> None:
        """Before the last byte is sent, as the client may ask again as soon as it has that."""
        service = self.server.service
        with service.lock:
            service.active[SERVICE_OF.get(self.path.split("/")[1], "?")].discard(self)

    def start(self, status: int, headers: dict[str, str]) -> None:
        if status == 304:
            self.done_with()
        super().start(status, headers)

    def is_waited_for(self) -> bool:
        """Whether the client has not given up, or been killed: it closes its end then."""
        try:
            return self.connection.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT) != b""
        except BlockingIOError:
            return True
        except OSError:
            return False

    def answer(self, page: Page) -> None:
        """What it sends in order, holds until it expires."""
        self.done_with()
        super().answer(page)
        when = page.headers.get("Expires")
        with suppress(ValueError, TypeError):
            if page.status == 200 and when is not None:
                span = min((parsedate_to_datetime(when) - self.server.service.clock()).total_seconds(), DAY)
                if not self.server.service.excused:
                    self.server.service.well_until[self.path] = self.server.service.clock().timestamp() + span


class Flapping(WeatherServer):
    """Services that are well for some hours and ill for some, each on its own."""

    def __init__(self, clock: Callable[[], datetime], rng: random.Random) -> None:
        super().__init__(clock)
        self.rng, self.lock = rng, threading.Lock()
        self.ill = True
        """Whether there is any fault at all."""
        self.lies = True
        """Whether an answer may say that it holds for a month."""
        self.excused = False
        """Whether the disk takes nothing, so that no answer can be kept."""
        self.active: dict[str, set[Watched]] = defaultdict(set)
        self.most_active: dict[str, int] = defaultdict(int)
        self.well_until: dict[str, float] = {}
        self.too_soon: list[tuple[str, float]] = []
        self.met_by: dict[str, int] = defaultdict(int)
        self._server.RequestHandlerClass = Watched

    def page(self, path: str, query: dict[str, str]) -> Page:
        page = super().page(path, query)
        spell = int(self.clock().timestamp() // (7 * HOUR)) + hash(path.split("/")[1]) % 3
        if self.ill and self.rng.random() < (0.85 if spell % 3 == 0 else 0.15):
            fault = self.rng.choice((*FAULTS, FAR) if self.lies else FAULTS)
            self.faults[path].append(fault if fault in LASTING else _at_once(fault))
            self.met_by[getattr(fault, "__name__", "?")] += 1
        return page


# The server's process.


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


# All together.


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
                assert any(chain.items() <= one.items() for one in revisions), (number, chain)


def _steps(body: Any) -> dict[str, datetime]:
    return {name: datetime.fromisoformat(at) for name, at in body["steps"].items()}


def lives(rng: random.Random, hours: float, mean_h: float) -> Iterator[float]:
    """When the server is killed, at random, until so many hours are over."""
    at = 0.0
    while (at := at + rng.uniform(0.3, 1.7) * mean_h) < hours:
        yield at


_ = shapes_met_norway  # its route
