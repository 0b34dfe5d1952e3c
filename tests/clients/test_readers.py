"""Two further readers, in other languages, understand the feed as the plan has it: ical.js and libical."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from clients.conftest import found
from clients.revisions import revisions, text_of

HERE = Path(__file__).parent


def read(command: list[str], text: bytes):
    done = subprocess.run(command, input=text, capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


@pytest.fixture(params=["ical.js", "libical"])
def reader(request):
    """A function that gives what one reader understood."""
    if request.param == "libical":
        python = request.getfixturevalue("libical_python")
        return lambda text: read([python, str(HERE / "read_libical.py")], text)
    node, tools = request.getfixturevalue("node"), request.getfixturevalue("tools")
    found(tools / "node_modules" / "ical.js", "ical.js")
    return lambda text: read([node, str(HERE / "read_ical.mjs"), str(tools)], text)


@pytest.mark.parametrize("number", range(3))
def test_every_entry_is_read_as_it_is_published(reader, number):
    entries = revisions()[number]
    understood = {one["uid"]: one for one in reader(text_of(entries))["events"]}
    assert understood.keys() == {entry.event.uid for entry in entries}
    for event in (entry.event for entry in entries):
        one = understood[event.uid]
        assert (one["start"], one["end"]) == (event.start.timestamp(), event.end.timestamp())
        assert (one["summary"], one["description"]) == (event.summary, event.description)
        assert one["sequence"] == event.sequence
        assert one["status"].upper() == event.status


def test_libical_finds_nothing_against_its_restrictions(libical_python):
    for entries in revisions():
        understood = read([libical_python, str(HERE / "read_libical.py")], text_of(entries))
        assert understood["fits"]
        assert understood["errors"] == 0


def test_ical_js_reads_the_refresh_interval_as_a_duration_and_every_reminder(node, tools):
    found(tools / "node_modules" / "ical.js", "ical.js")
    entries = revisions()[0]
    understood = read([node, str(HERE / "read_ical.mjs"), str(tools)], text_of(entries))
    assert (understood["refresh_type"], understood["refresh_s"]) == ("duration", 4 * 3600)
    alarms = {one["uid"]: sorted(one["alarms"]) for one in understood["events"]}
    for event in (entry.event for entry in entries):
        assert alarms[event.uid] == sorted(-alarm.before.total_seconds() for alarm in event.alarms)
