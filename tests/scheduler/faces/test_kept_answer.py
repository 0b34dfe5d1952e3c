"""Answers of `next` that are read back from the journal: the same, truthful about time, and only while they hold."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta

import pytest
from command import Shell, put_hours
from loopback import closed_port_url

from providers.services import ADDRESSES
from scheduler.faces.kept_answer import _files, sealed

SITE = '[site]\nname = "invented garden"\nlatitude = 45.0\nlongitude = -70.0\nzone = "America/New_York"\n'
HEAVY = ("pandas", "numpy", "requests", "icalendar", "astral", "scheduler.service", "starlette")


class Garden:
    """A household with an open batch, on the invented site or on one of its own."""

    def __init__(self, shell: Shell, *where: object) -> None:
        self.shell, self.journal = shell, shell.home / "journal.sqlite"
        self.own = ("--journal", self.journal, *(where or ("--sample",)))
        shell.more |= dict.fromkeys(ADDRESSES.values(), closed_port_url())  # the same ones at every question
        self.run("17T14:00", "batch", "new", "--weight", "1.3 kg", "--frozen", "2026-09-20", "--at", "-20 C")

    def run(self, now, *command):
        done = self.shell.run(*command, *self.own, "--now", f"2026-10-{now}")
        assert done.code == 0, done.err
        return done.out

    def read_back(self, now, *flags):
        return "read back" in " ".join(self.run(now, "next", *flags).split())


@pytest.fixture(autouse=True)
def _one_program(monkeypatch):
    """While the tests run, nobody's editing makes this another program."""
    monkeypatch.setattr("scheduler.faces.kept_answer._program", lambda: (1, 1))


@pytest.fixture
def garden(shell):
    return Garden(shell)


def test_what_is_read_back_is_what_was_said_but_for_its_moment_and_the_age_of_its_forecast(garden):
    first = garden.run("17T14:00", "next").splitlines()
    again = garden.run("17T14:09", "next").splitlines()
    changed = [(old, new) for old, new in zip(first, again, strict=True) if old != new]
    assert changed == [
        ("  asked   Sat 17 Oct 14:00", "  asked   Sat 17 Oct 14:00, read back 14:09"),
        ("  sample, made Sat 17 Oct 12:00, 2 h ago", "  sample, made Sat 17 Oct 12:00, 2 h 9 min ago"),
    ]


def test_what_is_read_back_is_what_would_be_computed_but_for_what_counts_from_the_moment(garden):
    garden.run("17T14:00", "next")
    again = garden.run("17T14:09", "next")
    _forget(garden)
    fresh = garden.run("17T14:09", "next")
    assert "read back" not in fresh
    differing = [line for line in again.splitlines() if line not in fresh.splitlines()]
    assert [line for line in differing if "asked" not in line and "missing" not in line and "39 h" not in line] == []


def test_json_that_is_read_back_is_of_the_moment_that_it_was_asked(garden):
    first = garden.run("17T14:00", "next", "--json")
    assert garden.run("17T14:09", "next", "--json") == first
    assert json.loads(first)["as_of"] == "2026-10-17T14:00:00-04:00"
    assert json.loads(garden.run("17T14:15", "next", "--json"))["as_of"] == "2026-10-17T14:15:00-04:00"


def test_what_is_heavy_is_not_loaded_to_read_back(garden):
    assert garden.shell.process("next", *garden.own, "--now", "2026-10-17T14:00").code == 0
    args = [str(each) for each in ("next", *garden.own, "--now", "2026-10-17T14:09")]
    code = (
        f"import sys; sys.argv = ['smokenight', *{args!r}]\n"
        "from scheduler.faces.cli import main\n"
        "try: main()\n"
        f"except SystemExit: print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    how = {"env": garden.shell.environment, "cwd": garden.shell.home, "capture_output": True, "text": True}
    done = subprocess.run([sys.executable, "-c", code], check=True, **how)
    assert "read back" in done.stdout
    assert done.stderr == "[]\n"


def test_an_answer_holds_for_a_quarter_of_an_hour(garden):
    garden.run("17T14:00", "next")
    assert garden.read_back("17T14:14")
    assert not garden.read_back("17T14:15")


def test_an_answer_is_not_read_back_for_an_earlier_moment(garden):
    garden.run("17T14:05", "next")
    assert not garden.read_back("17T14:04")


def test_an_answer_ends_where_a_day_does_and_where_a_newer_forecast_is_due(garden):
    garden.run("18T11:55", "next")  # the invented forecast holds until noon
    assert garden.read_back("18T11:59")
    assert not garden.read_back("18T12:00")
    garden.run("18T23:55", "next")
    assert garden.read_back("18T23:59")
    assert not garden.read_back("19T00:00")


def test_an_answer_ends_where_a_leeway_ends(garden):
    text = garden.run("20T21:30", "next")
    assert "–21:35" in text
    assert not garden.read_back("20T21:36")


def test_what_is_recorded_ends_an_answer(garden):
    garden.run("17T14:00", "next")
    garden.run("17T14:01", "note", "the freezer hums")
    assert not garden.read_back("17T14:02")
    assert garden.read_back("17T14:03")


def test_another_question_is_another_answer(garden):
    garden.run("17T14:00", "next")
    assert not garden.read_back("17T14:01", "--away", "2026-10-19")
    assert not garden.read_back("17T14:01", "--weight", "2 kg")
    garden.shell.more |= {"COLUMNS": "60"}
    assert not garden.read_back("17T14:01")
    assert garden.read_back("17T14:02")


def test_another_program_answers_for_itself(garden, monkeypatch):
    garden.run("17T14:00", "next")
    monkeypatch.setattr("scheduler.faces.kept_answer._program", lambda: (1, 2))
    assert not garden.read_back("17T14:01")


def test_a_program_that_was_changed_is_another_one(tmp_path):
    (tmp_path / "scheduler").mkdir()
    (tmp_path / "providers").mkdir()
    one = tmp_path / "scheduler" / "one.py"
    one.touch()
    before = [facts.st_mtime_ns for facts in _files(str(tmp_path))]
    os.utime(one, ns=(1, before[0] + 1))
    assert [facts.st_mtime_ns for facts in _files(str(tmp_path))] == [before[0] + 1]


def test_nothing_is_read_back_while_the_tray_burns(garden):
    for now, *did in (
        ("20T12:00", "thaw"), ("21T12:10", "salted"), ("23T13:00", "rinsed"), ("23T21:20", "lit"),
    ):  # fmt: skip
        garden.run(now, "did", *did)
    for now, done in (("23T21:35", "load"), ("23T22:25", "first_check")):
        garden.run(now, "did", done)
    garden.run("23T23:00", "next")  # nothing is due now
    assert not garden.read_back("23T23:01")


def test_without_a_journal_nothing_is_kept_and_none_is_made(shell):
    for now in ("14:00", "14:01"):
        done = shell.run("next", "--sample", "--now", f"2026-10-17T{now}")
        assert "read back" not in done.out
    assert list(shell.home.iterdir()) == []


@pytest.mark.parametrize(
    "changed",
    [
        lambda kept: "",
        lambda kept: "{}",
        lambda kept: b"\xff\x00",
        lambda kept: kept[:-1],
        lambda kept: kept.replace("salmon", "salmin", 1),
    ],
    ids=["empty", "bare", "no text", "cut short", "one letter"],
)
def test_a_kept_answer_that_is_not_as_it_was_written_is_as_good_as_none(garden, changed):
    garden.run("17T14:00", "next")
    with sqlite3.connect(garden.journal) as db:
        kept = db.execute("SELECT content FROM answer").fetchone()[0]
        db.execute("UPDATE answer SET content = ?", (changed(kept),))
    db.close()
    assert not garden.read_back("17T14:01")
    assert garden.read_back("17T14:02")


def test_files_that_an_answer_rests_on_are_looked_at_again(shell, tmp_path):
    table = put_hours(tmp_path / "hours.csv", 8.0, days=10, step_h=1)
    site = tmp_path / "garden.toml"
    site.write_text(SITE + '[weather]\nsource = "hours.csv"\n', encoding="utf-8")
    _age(table, site)
    garden = Garden(shell, "--site", site)
    garden.run("17T23:30", "next")
    assert garden.read_back("17T23:31")
    put_hours(table, 7.5, days=10)
    _age(table)
    assert not garden.read_back("17T23:32")
    assert garden.read_back("17T23:33")
    site.write_text(SITE + '[weather]\nsource = "hours.csv"\n[smoke]\nduration = "10 h"\n', encoding="utf-8")
    _age(site)
    assert not garden.read_back("17T23:34")
    assert garden.read_back("17T23:35")
    table.unlink()
    done = shell.run("next", *garden.own, "--now", "2026-10-17T23:36")
    assert (done.code, done.out) == (2, "")


def test_a_file_written_while_the_answer_was_computed_keeps_none(shell, tmp_path):
    table = put_hours(tmp_path / "hours.csv", 8.0, days=10)
    ahead = time.time() + 3600
    os.utime(table, (ahead, ahead))
    garden = Garden(shell)
    garden.run("17T23:30", "next", "--weather", table)
    assert not garden.read_back("17T23:31", "--weather", table)


def test_a_service_s_answer_ends_with_its_forecast_by_the_machine_s_own_clock(garden):
    """A moment that was asked for says nothing of how new the weather could be."""
    garden.run("17T14:00", "next")
    ago, ahead = (datetime.now(UTC) + timedelta(hours=hours) for hours in (-1, 1))
    for until, holds in ((ahead, True), (ago, False)):
        with sqlite3.connect(garden.journal) as db:
            held = json.loads(db.execute("SELECT content FROM answer").fetchone()[0].partition(" ")[2])
            db.execute("UPDATE answer SET content = ?", (sealed({**held, "fresh_until": until.isoformat()}),))
        db.close()
        assert garden.read_back("17T14:01") is holds


def test_a_journal_that_is_busy_costs_no_answer(garden, monkeypatch):
    monkeypatch.setattr("scheduler.journal.files.WAIT_S", 120.0)  # so that a wait is told from a busy machine
    with sqlite3.connect(garden.journal, isolation_level=None) as db:
        db.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        assert not garden.read_back("17T14:00")
        assert time.monotonic() - began < 60.0
    db.close()


def test_few_answers_are_kept(garden):
    for weight in range(20):
        garden.run("17T14:00", "next", "--weight", f"{1000 + weight} g")
    with sqlite3.connect(garden.journal) as db:
        assert db.execute("SELECT count(*) FROM answer").fetchone() == (16,)
    db.close()


def _forget(garden):
    with sqlite3.connect(garden.journal) as db:
        db.execute("DELETE FROM answer")
    db.close()


def _age(*paths):
    for path in paths:
        os.utime(path, (time.time() - 60,) * 2)
