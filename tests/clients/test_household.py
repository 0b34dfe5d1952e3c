"""A household from its first plan to one that moved and a batch that ended, seen by every client.

The server is a process of its own, the commands run beside it, and the clients read the very feed that is served.
"""

from __future__ import annotations

import json
import os
import subprocess
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from math import cos, pi
from pathlib import Path
from time import monotonic, sleep
from typing import NamedTuple

import icalendar
import pytest
from clients.subscriber import Row, Subscriber
from command import Shell, command

from scheduler.faces.asking import SAMPLE_SITE
from scheduler.household.site_file import write_site

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
PATIENCE_S = 40.0


@dataclass
class Household:
    """A site file with a table of weather beside it, a journal, and the address it is served at."""

    folder: Path
    began: datetime = field(default_factory=lambda: datetime.now(UTC).replace(minute=0, second=0, microsecond=0))
    port: int = 0

    def __post_init__(self) -> None:
        self.shell = Shell(self.folder)
        write_site(replace(SAMPLE_SITE, weather="weather.csv"), self.folder / "site.toml")
        self.put_weather()
        frozen = f"{self.began - 60 * DAY:%Y-%m-%d}"
        self.run("batch", "new", "--food", "salmon", "--weight", "1 kg", "--frozen", frozen,
                 "--at", "-20 C", "--measured")  # fmt: skip
        self.run("plan")
        self.run("did", "thaw")

    def put_weather(self, *warm: datetime) -> None:
        """Cool days, warmest in the afternoon, with a warm stretch."""
        rows = [f"# issued: {datetime.now(UTC):%Y-%m-%dT%H:%MZ}", "time,air_c,gust_ms,rain_mm"]
        for at in (self.began + hour * HOUR for hour in range(14 * 24)):
            air_c = 7.0 + 4.0 * cos((at.hour - 19) / 24 * 2 * pi)
            hot = warm and warm[0] <= at <= warm[1]
            rows.append(f"{at:%Y-%m-%dT%H:%MZ},{air_c + (12.0 if hot else 0.0):.1f},3,0")
        (self.folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")

    def run(self, *args: str) -> str:
        about = [] if args[0] == "address" else ["--journal", self.folder / "j.sqlite"]
        done = self.shell.process(*args, "--site", self.folder / "site.toml", *about)
        assert done.code in (0, 10), done
        return done.out

    @contextmanager
    def served(self):
        """The server, until its first answer is there; at the same port each time."""
        args = ["serve", self.folder / "site.toml", "--journal", self.folder / "j.sqlite", "--port", str(self.port)]
        with subprocess.Popen(command(args), env=self.shell.environment, stderr=subprocess.PIPE, text=True) as running:
            try:
                line = next(line for line in running.stderr if line.startswith("serving "))
                self.port = int(line.split("; ")[0].rsplit(":", 1)[1])
                self._until_it_answers()
                yield
            finally:
                running.terminate()

    def _until_it_answers(self) -> None:
        end = monotonic() + PATIENCE_S
        while True:
            try:
                self.get("next.json")
                return
            except OSError:
                assert monotonic() < end, "the server does not answer"
                sleep(0.1)

    @property
    def url(self) -> str:
        """Of the page; the calendar and the answers lie under it."""
        page = self.run("address").splitlines()[0].split()[1]
        return f"http://127.0.0.1:{self.port}/" + page.split("/", 3)[3]

    def get(self, name: str) -> bytes:
        with urllib.request.urlopen(self.url + name, timeout=10) as answer:  # noqa: S310 - of this machine
            return answer.read()

    @property
    def planned(self) -> dict[str, datetime]:
        """When each step of the plan is, by what the server answers to programs."""
        steps = json.loads(self.get("next.json"))["plan"]["steps"]
        return {one["name"]: datetime.fromisoformat(one["at"]).astimezone(UTC) for one in steps}


@pytest.fixture(scope="module")
def household(tmp_path_factory) -> Household:
    return Household(tmp_path_factory.mktemp("household"))


def steps_of(feed: bytes) -> dict[str, icalendar.Event]:
    """The entries of the adopted plan, by step."""
    found = icalendar.Calendar.from_ical(feed).events
    return {one.categories[-1]: one for one in found if one.categories[1] in ("food", "sawdust", "smoke")}


def assert_as_planned(household: Household, feed: bytes) -> None:
    steps, planned = steps_of(feed), household.planned
    assert steps.keys() == {*planned, "smoke"}
    for name, at in planned.items():
        assert steps[name].start == at, name
    assert (steps["smoke"].start, steps["smoke"].end) == (planned["light"], planned["lift"])


class State(NamedTuple):
    """What is served at one time, and what a subscriber then shows."""

    feed: bytes
    shown: dict[str, Row] | None
    """None where there is no subscriber to ask."""


@pytest.fixture(scope="module")
def story(household, tmp_path_factory) -> dict[str, State]:
    """As planned, moved by the weather, and ended."""
    states, subscriber = {}, None
    programs = [
        Path(os.environ.get("SMOKENIGHT_TEST_TOOLS", ""), "cal", "bin", name) for name in ("khal", "vdirsyncer")
    ]

    def look(state: str) -> None:
        nonlocal subscriber
        feed, shown = household.get("smoke.ics"), None
        if all(one.is_file() for one in programs):
            subscriber = subscriber or Subscriber(tmp_path_factory.mktemp("own") / "own", *map(str, programs),
                                                  household.url + "smoke.ics")  # fmt: skip
            subscriber.sync()
            shown = subscriber.shown(household.began - 2 * DAY)
        states[state] = State(feed, shown)

    with household.served():
        look("planned")
        assert_as_planned(household, states["planned"].feed)
    light = steps_of(states["planned"].feed)["light"].start
    household.put_weather(light - 2 * HOUR, light + 18 * HOUR)
    with household.served():
        look("moved")
        assert_as_planned(household, states["moved"].feed)
    household.run("batch", "end", "--how", "given up")
    with household.served():
        look("ended")
    return states


def test_every_time_is_the_plans_and_the_plan_moves_and_ends_in_the_feed(story):
    planned, moved = steps_of(story["planned"].feed), steps_of(story["moved"].feed)
    assert moved["light"].start > planned["light"].start
    assert moved["light"]["uid"] == planned["light"]["uid"]
    assert str(moved["light"]["description"]).startswith("Moved from ")
    ended = {str(one["uid"]): one for one in icalendar.Calendar.from_ical(story["ended"].feed).events}
    assert ended[moved["light"]["uid"]]["status"] == "CANCELLED"
    assert ended[moved["thaw"]["uid"]].to_ical() == moved["thaw"].to_ical()


@pytest.mark.parametrize("state", ["planned", "moved", "ended"])
@pytest.mark.usefixtures("khal", "vdirsyncer")
def test_a_subscriber_shows_what_is_served_after_each_sync(story, state):
    feed, shown = story[state]
    events = {str(one["summary"]): one for one in icalendar.Calendar.from_ical(feed).events}
    assert shown is not None
    assert shown.keys() == events.keys()
    for title in (one for one in events if not one.startswith("A good night")):  # of those there are many
        assert shown[title].start == events[title].start.replace(second=0)
        assert shown[title].end == events[title].end.replace(second=0)
        assert ("CANCELLED" in shown[title].status.upper()) is (events[title]["status"] == "CANCELLED")


@pytest.mark.parametrize("state", ["planned", "moved", "ended"])
def test_other_readers_read_what_is_served(story, reader, state):
    events = {str(one["uid"]): one for one in icalendar.Calendar.from_ical(story[state].feed).events}
    read = {one["uid"]: one for one in reader(story[state].feed)["events"]}
    assert read.keys() == events.keys()
    for uid, event in events.items():
        assert (read[uid]["start"], read[uid]["end"]) == (event.start.timestamp(), event.end.timestamp())
        assert (read[uid]["summary"], read[uid]["description"]) == (event["summary"], event["description"])
        assert (read[uid]["sequence"], read[uid]["status"].upper()) == (event["sequence"], event["status"])
