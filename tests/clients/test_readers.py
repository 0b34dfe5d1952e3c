"""Two further readers, in other languages, understand the feed as the plan has it: ical.js and libical."""

from __future__ import annotations

import pytest
from clients.conftest import found, read_ical_js, read_libical
from clients.revisions import revisions, text_of


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
        understood = read_libical(libical_python, text_of(entries))
        assert understood["fits"]
        assert understood["errors"] == 0


def test_ical_js_reads_the_refresh_interval_as_a_duration_and_every_reminder(node, tools):
    found(tools / "node_modules" / "ical.js", "ical.js")
    entries = revisions()[0]
    understood = read_ical_js(node, tools, text_of(entries))
    assert (understood["refresh_type"], understood["refresh_s"]) == ("duration", 4 * 3600)
    alarms = {one["uid"]: sorted(one["alarms"]) for one in understood["events"]}
    for event in (entry.event for entry in entries):
        assert alarms[event.uid] == sorted(-alarm.before.total_seconds() for alarm in event.alarms)
