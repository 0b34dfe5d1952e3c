"""`calendar`: what it writes, and where; asked "what if" it leaves what subscribers have as it is."""

from __future__ import annotations

import re
import threading
from datetime import UTC
from typing import TYPE_CHECKING

import icalendar
import pytest
from feed_house import DAY, HOUR
from served_house import NEW, Served

from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from command import Done, Shell

    from scheduler.journal.record import Seen

NAME = "Invented shed"


def says(done: Done) -> str:
    """What it says where all went well."""
    assert done.code == 0, done.err
    return done.out + done.err


def warm_table(house: Served) -> Path:
    table = house.out.with_name("warm.csv")
    house.put(house.now, house.now + DAY, house.now + 12 * DAY, table)
    return table


WHAT_IFS: dict[str, Callable[[Served], tuple[str | Path, ...]]] = {
    "a later moment": lambda house: ("--now", (house.now + 2 * DAY).isoformat()),
    "a moment far ahead": lambda house: ("--now", (house.now + 90 * DAY).isoformat()),
    "nobody at home": lambda house: ("--away", f"{house.now:%Y-%m-%d}..{house.now + 6 * DAY:%Y-%m-%d}"),
    "other weather": lambda house: ("--weather", warm_table(house)),
    "invented weather": lambda _: ("--sample",),
}


@pytest.fixture
def house(tmp_path: Path) -> Served:
    """A plan that was adopted and published."""
    house = Served(tmp_path)
    house.run(*NEW)
    assert house.run("plan").code == 0
    house.by_server()
    return house


def held(house: Served) -> Seen:
    with Journal.open(house.journal, create=False) as journal:
        return journal.seen(NAME)


def revisions(feed: bytes) -> dict[str, tuple[int, object]]:
    events = icalendar.Calendar.from_ical(feed).events
    return {str(one["uid"]): (int(one["sequence"]), one.decoded("created")) for one in events}


def asked(house: Served, name: str) -> None:
    done = house.calendar(*WHAT_IFS[name](house))
    assert done.code in (0, 1), done.err


@pytest.mark.parametrize("name", WHAT_IFS)
def test_a_what_if_writes_nothing_to_the_journal(house, name):
    before = held(house)
    assert len(before.entries) > 10
    asked(house, name)
    assert held(house) == before


@pytest.mark.parametrize("name", WHAT_IFS)
def test_the_feed_after_a_what_if_is_the_same_to_the_byte(house, name):
    before = house.by_server()
    asked(house, name)
    house.now += HOUR / 4
    assert house.by_server() == before
    assert house.by_command() == before


@pytest.mark.parametrize("name", WHAT_IFS)
def test_no_entry_ever_counts_down_or_is_created_anew(house, name):
    last = revisions(house.by_server())
    for _ in range(3):
        asked(house, name)
        house.now += 6 * HOUR
        feed = revisions(house.by_server())
        for uid in last.keys() & feed.keys():
            assert feed[uid][0] >= last[uid][0]
            assert feed[uid][1] == last[uid][1]
        last = feed


def test_a_what_if_begins_with_what_was_published_and_shows_what_would_be(house):
    before = revisions(house.by_server())
    asked(house, "other weather")
    there = revisions(house.out.read_bytes())
    steps = {uid for uid in before if uid in there}
    assert len(steps) > 5
    assert all(there[uid][0] >= before[uid][0] for uid in steps)
    assert any(there[uid][0] > before[uid][0] for uid in steps)


def test_a_what_if_makes_no_journal(tmp_path):
    house = Served(tmp_path)
    assert house.calendar("--now", house.now.astimezone(UTC).isoformat()).code in (0, 1)
    assert house.out.exists()
    assert not house.journal.exists()


def test_without_such_a_flag_what_is_published_is_kept(house):
    house.now += 12 * HOUR
    house.put(house.now, house.now, house.now + 12 * DAY)
    before = held(house)
    text = house.by_command()
    assert held(house) != before
    house.keeper.step(threading.Event())
    assert house.by_server() == text


# Without a plan, as the help says


def without_a_plan(tmp_path: Path) -> Served:
    house = Served(tmp_path)
    house.put(house.now, house.now, house.now + 12 * DAY)
    house.out.write_bytes(b"as it was")
    return house


def told_by_help(shell: Shell) -> str:
    return " ".join(shell.run("calendar", "--help").out.partition("Arguments:")[0].split())


def test_a_household_without_a_plan_gets_its_file_all_the_same(tmp_path):
    house = without_a_plan(tmp_path)
    done = house.calendar()
    assert (done.code, done.err.splitlines()[-1]) == (1, f"{house.out} is written")
    assert house.out.read_bytes().startswith(b"BEGIN:VCALENDAR")
    assert "Without a plan the exit code is 1: the household's file is written" in told_by_help(house.shell)


@pytest.mark.parametrize("flags", [("--food", "salmon"), ("--sample",)], ids=" ".join)
def test_a_file_for_food_that_flags_describe_or_for_the_invented_site_is_left_as_it_was(tmp_path, flags):
    house = without_a_plan(tmp_path)
    about = ("--site", house.site, "--now", house.now.isoformat(), "--weather", house.table)
    done = house.shell.run("calendar", house.out, *about, *flags)
    assert (done.code, done.err.splitlines()[-1]) == (1, f"{house.out} is left as it was")
    assert house.out.read_bytes() == b"as it was"
    assert "for food that flags describe, or for the invented site, is left as it was" in told_by_help(house.shell)


@pytest.mark.parametrize(
    "command", [("serve", "nope.toml"), ("address",), ("address", "--site", "nope.toml")], ids=" ".join
)
def test_the_sample_is_named_as_a_way_out_only_by_commands_that_have_it(shell, command):
    done = shell.run(*command)
    assert (done.code, done.out) == (2, "")
    assert "there is no such file: run `smokenight setup` to make one" in done.err
    assert "--sample" not in done.err


# What was adopted


def lightings(path):
    """Status, revision and UID of the entry that lights the tray."""
    events = icalendar.Calendar.from_ical(path.read_bytes()).events
    return [(one["status"], one["sequence"], one["uid"]) for one in events if "Light the tray" in one["summary"]]


@pytest.fixture
def published(tmp_path):
    """A batch in a household whose calendar is written by its own clock, and so published."""
    house = Served(tmp_path)
    assert house.run(*NEW).code == 0
    return house


def test_the_calendar_is_tentative_until_a_night_is_adopted(published):
    says(published.calendar())
    ((status, first, uid),) = lightings(published.out)
    assert (status, first) == ("TENTATIVE", 0)
    adopted = says(published.run("plan"))
    night = re.search(r"\w{3} \d+ Oct", adopted)[0]
    assert night in says(published.calendar())
    assert lightings(published.out) == [("CONFIRMED", 1, uid)]


def test_a_plan_that_moved_keeps_its_entries_and_counts_them_up(published):
    says(published.run("plan"))
    says(published.calendar())
    ((_, first, uid),) = lightings(published.out)
    says(published.run("plan", "--night", "2026-10-26"))
    says(published.calendar())
    assert (first, lightings(published.out)) == (0, [("CONFIRMED", 1, uid)])
