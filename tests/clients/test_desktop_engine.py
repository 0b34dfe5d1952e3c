"""A desktop's calendar engine subscribed to the feed: evolution-data-server, which has no window of its own.

It keeps entries by their UIDs, so after each change they can be told apart as the household's calendar tells them.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

import icalendar
import pytest
from clients.conftest import HERE, found
from clients.revisions import LATER, NOW, drafts, revisions, text_of
from clients.test_household import HOUR, Household, steps_of
from web_server import serving

from scheduler.faces.web.shelf import Body, Shelf

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.calendar_event import Event

PYTHON = "/usr/bin/python3"
BACKEND = Path("/usr/lib/evolution-data-server/calendar-backends/libecalbackendhttp.so")
BINDINGS = "import gi; gi.require_version('ECal', '2.0'); from gi.repository import ECal"
SECRET = "k" * 43
PATIENCE_S, END_S = 20.0, 240
FOLDERS = ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR")

Told = dict[str, dict[str, Any]]
"""Entries by UID."""


class Engine:
    """The engine on a message bus of its own, in an empty folder, with one subscription."""

    def __init__(self, running: subprocess.Popen[str], said: Path) -> None:
        self.running, self.said = running, said

    def _order(self, word: str) -> None:
        assert self.running.stdin is not None
        self.running.stdin.write(f"{word}\n")
        self.running.stdin.flush()

    def holds(self) -> Told:
        assert self.running.stdout is not None
        self._order("tell")
        line = self.running.stdout.readline()
        assert line, self.said.read_text()
        return {one["uid"]: one for one in json.loads(line)}

    def fetched(self, feed: bytes) -> Told:
        """What it holds once it has the feed's entries in the feed's revisions, or when patience ends."""
        wanted = {str(one["uid"]): one["sequence"] for one in icalendar.Calendar.from_ical(feed).events}
        self._order("fetch")
        end = monotonic() + PATIENCE_S
        while revised(held := self.holds()) != wanted and monotonic() < end:
            sleep(0.1)
        return held


def revised(told: Told) -> dict[str, int]:
    """The revision of each entry."""
    return {uid: one["sequence"] for uid, one in told.items()}


@pytest.fixture(scope="module")
def session() -> list[str]:
    """The command that runs Debian's Python with the engine within reach."""
    run = found(shutil.which("dbus-run-session"), "dbus-run-session")
    found(BACKEND, "evolution-data-server")
    if subprocess.run([found(PYTHON, "Debian's Python"), "-c", BINDINGS], capture_output=True, check=False).returncode:
        pytest.skip("not run: evolution-data-server for Python is not here")
    return ["timeout", str(END_S), run, "--", PYTHON, str(HERE / "read_eds.py")]


@contextmanager
def subscribed(session: list[str], folder: Path, url: str) -> Iterator[Engine]:
    folder.mkdir(mode=0o700)
    env = {**dict.fromkeys(FOLDERS, str(folder)), "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8",
           "GSETTINGS_BACKEND": "memory", "GIO_USE_NETWORK_MONITOR": "base"}  # fmt: skip
    said = folder / "said.txt"
    with (
        said.open("w") as log,
        subprocess.Popen([*session, url], env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log,
                         text=True) as running,
    ):  # fmt: skip
        yield Engine(running, said)


@pytest.fixture(scope="module")
def held(session, tmp_path_factory) -> list[Told]:
    """What the engine holds after each of the three states was published at one address."""
    shelf = Shelf()

    def publish(feed: bytes) -> bytes:
        shelf.place(SECRET, {"smoke.ics": Body(feed, "text/calendar; charset=utf-8", NOW)})
        return feed

    feeds = [text_of(entries) for entries in revisions()]
    publish(feeds[0])
    with serving(shelf) as port:
        url = f"http://127.0.0.1:{port}/s/{SECRET}/smoke.ics"
        with subscribed(session, tmp_path_factory.mktemp("own") / "own", url) as engine:
            return [engine.fetched(publish(feed)) for feed in feeds]


def assert_is(one: dict[str, Any], event: Event, later: timedelta = timedelta(0)) -> None:
    assert (one["start"], one["end"]) == ((event.start + later).timestamp(), (event.end + later).timestamp())
    assert (one["summary"], one["description"]) == (event.summary, event.description)
    assert one["status"] == event.status
    assert one["reminders"] == sorted(alarm.before.total_seconds() for alarm in event.alarms)


def test_the_engine_holds_every_step_at_the_plans_own_time_in_its_own_words(held):
    first = held[0]
    assert first.keys() == {one.uid for one in drafts()}
    for one in drafts():
        assert_is(first[one.uid], one)


def test_after_a_replan_the_same_entries_stand_at_their_new_times_and_the_dropped_one_is_cancelled(held):
    *moved, dropped = drafts()
    assert held[1].keys() == held[0].keys()
    for one in moved:
        assert_is(held[1][one.uid], one, LATER)
    gone = held[1][dropped.uid]
    assert gone["status"] == "CANCELLED"
    assert gone["summary"] == f"CANCELLED: {dropped.summary}"
    assert (gone["start"], gone["end"]) == (dropped.start.timestamp(), dropped.end.timestamp())


def test_what_comes_back_stands_as_it_was_under_the_same_identity(held):
    assert held[2].keys() == held[0].keys()
    for one in drafts():
        assert_is(held[2][one.uid], one)


@pytest.fixture(scope="module")
def story(session, tmp_path_factory) -> list[tuple[bytes, Told]]:
    """What `serve` hands out and what the engine then holds: as planned, moved by the weather, and given up."""
    household, states = Household(tmp_path_factory.mktemp("household")), []
    with household.served():
        url = household.url + "smoke.ics"
    with subscribed(session, tmp_path_factory.mktemp("own") / "own", url) as engine:

        def look() -> bytes:
            with household.served():
                feed = household.get("smoke.ics")
                states.append((feed, engine.fetched(feed)))
                return feed

        feed = look()
        light = steps_of(feed)["light"].start
        household.put_weather(light - 2 * HOUR, light + 18 * HOUR)
        look()
        household.run("batch", "end", "--how", "given up")
        look()
    return states


@pytest.mark.parametrize("number", range(3), ids=["planned", "moved", "ended"])
def test_the_engine_holds_what_serve_hands_out(story, number):
    feed, held = story[number]
    events = {str(one["uid"]): one for one in icalendar.Calendar.from_ical(feed).events}
    assert held.keys() == events.keys()
    for uid, event in events.items():
        assert (held[uid]["start"], held[uid]["end"]) == (event.start.timestamp(), event.end.timestamp())
        assert (held[uid]["summary"], held[uid]["description"]) == (event["summary"], event["description"])
        assert held[uid]["status"] == event["status"]


def test_a_household_that_is_subscribed_sees_its_plan_move_and_end(story):
    (first, planned), (second, moved), (_, ended) = story
    light = str(steps_of(first)["light"]["uid"])
    assert light == str(steps_of(second)["light"]["uid"])
    assert moved[light]["start"] > planned[light]["start"]
    assert moved[light]["reminders"] == planned[light]["reminders"] == [0, 3600]
    assert ended[light]["status"] == "CANCELLED"
    assert ended[light]["summary"].startswith("CANCELLED: ")
    assert ended[light]["reminders"] == []
