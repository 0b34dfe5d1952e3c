"""A real subscriber: vdirsyncer fetches the feed over HTTP, khal shows it; after a change it shows the new state.

vdirsyncer puts a hash of the content in the place of each UID, so entries are told apart by their titles.
"""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime

import pytest
from clients.revisions import LATER, NOW, drafts, revisions, text_of
from web_server import serving

from scheduler.faces.web.shelf import Body, Shelf

SECRET = "k" * 43
FORMAT = "{start-long-full}|{end-long-full}|{status}|{title}"
SHOWN = "%Y-%m-%d %H:%M"


@pytest.fixture
def subscriber(tmp_path, khal, vdirsyncer):
    """Functions that put a state on the server, sync, and list what khal has."""
    shelf = Shelf()
    with serving(shelf) as port:
        yield Subscriber(tmp_path, khal, vdirsyncer, shelf, port)


class Subscriber:
    def __init__(self, folder, khal, vdirsyncer, shelf, port):
        self.folder, self.khal, self.vdirsyncer, self.shelf = folder, khal, vdirsyncer, shelf
        (folder / "vds.conf").write_text(
            f'[general]\nstatus_path = "{folder}/status"\n'
            '[pair smoke]\na = "here"\nb = "there"\ncollections = null\nconflict_resolution = "b wins"\n'
            f'[storage here]\ntype = "filesystem"\npath = "{folder}/events"\nfileext = ".ics"\n'
            f'[storage there]\ntype = "http"\nurl = "http://127.0.0.1:{port}/s/{SECRET}/smoke.ics"\n'
        )
        (folder / "khal.conf").write_text(
            f"[calendars]\n[[smoke]]\npath = {folder}/events\n"
            "[locale]\ntimeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\n"
            "datetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\nlocal_timezone = UTC\n"
            f"default_timezone = UTC\n[sqlite]\npath = {folder}/khal.db\n"
        )
        (folder / "events").mkdir()

    def run(self, *command, feed=""):
        env = {"HOME": str(self.folder), "XDG_CONFIG_HOME": str(self.folder), "PATH": "/usr/bin:/bin",
               "XDG_DATA_HOME": str(self.folder), "XDG_CACHE_HOME": str(self.folder), "LC_ALL": "C.UTF-8"}  # fmt: skip
        done = subprocess.run(command, input=feed, env=env, capture_output=True, text=True, timeout=60, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def sync(self, text: bytes):
        self.shelf.put({SECRET: {"smoke.ics": Body(text, "text/calendar; charset=utf-8", NOW)}})
        conf = str(self.folder / "vds.conf")
        if not (self.folder / "status").exists():
            self.run(self.vdirsyncer, "-c", conf, "discover", feed="y\n" * 5)
        return self.run(self.vdirsyncer, "-c", conf, "sync")

    def shown(self):
        """title -> (start, end, status), as khal lists them."""
        lines = self.run(self.khal, "-c", str(self.folder / "khal.conf"), "list", "--once", "--format", FORMAT,
                         "--day-format", "", "2026-10-01", "60d").splitlines()  # fmt: skip
        rows = [line.split("|") for line in lines if line.count("|") >= 3]
        return {title: (moment(start), moment(end), status.strip()) for start, end, status, title in rows}


def moment(text: str) -> datetime:
    return datetime.strptime(text.strip(), SHOWN).replace(tzinfo=UTC)


def test_a_new_subscriber_sees_every_step_at_the_plans_own_time(subscriber):
    subscriber.sync(text_of(revisions()[0]))
    shown = subscriber.shown()
    assert shown.keys() == {one.summary for one in drafts()}
    for one in drafts():
        assert shown[one.summary][:2] == (one.start.replace(second=0), one.end.replace(second=0))


def test_after_a_replan_the_moved_are_at_their_new_time_alone_and_the_dropped_marked_cancelled(subscriber):
    first, second, _ = revisions()
    subscriber.sync(text_of(first))
    subscriber.sync(text_of(second))
    shown, (*moved, dropped) = subscriber.shown(), drafts()
    assert shown.keys() == {*(one.summary for one in moved), f"CANCELLED: {dropped.summary}"}
    for one in moved:
        assert shown[one.summary][0] == (one.start + LATER).replace(second=0)
    assert "CANCELLED" in shown[f"CANCELLED: {dropped.summary}"][2].upper()


def test_what_comes_back_is_shown_as_it_was(subscriber):
    for state in revisions():
        subscriber.sync(text_of(state))
    shown = subscriber.shown()
    assert shown.keys() == {one.summary for one in drafts()}
    assert not [row for row in shown.values() if "CANCELLED" in row[2].upper()]
    assert {row[0] for row in shown.values()} == {one.start.replace(second=0) for one in drafts()}


def test_a_sync_without_news_copies_nothing(subscriber):
    subscriber.sync(text_of(revisions()[0]))
    assert "Copying" not in subscriber.sync(text_of(revisions()[0]))
