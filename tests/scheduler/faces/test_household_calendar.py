"""The household's calendars as files and over the network: what stands in, what is refused, and what stays private."""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import faults
import pytest
from command import ROOT
from loopback import Page, closed_port_url

from providers.errors import BadPayload, Refused, Unreachable, WeatherError
from scheduler.errors import BadSetting
from scheduler.faces import busy_events, household_calendar
from scheduler.faces.asking import SAMPLE_SITE
from scheduler.faces.household_calendar import AHEAD, Busy, household_busy
from scheduler.household.site_file import write_site

if TYPE_CHECKING:
    from pathlib import Path

    from command import Shell
    from fake_time import FakeTime
    from loopback import WeatherServer

    from providers.polite_http import PoliteClient

NEW_YORK = ZoneInfo("America/New_York")
UNLISTED = "/calendar/ical/7d1f-unlisted-9c/basic.ics"
TITLE = "Surprise for the neighbours"
CALENDAR = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//invented//calendar//EN\r\nBEGIN:VEVENT\r\nUID:1\r\n"
    f"SUMMARY:{TITLE}\r\nDTSTART:20261022T180000\r\nDURATION:PT2H\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)
SPAN = (datetime(2026, 10, 22, 22, tzinfo=UTC), datetime(2026, 10, 23, 0, tzinfo=UTC))
AWAY_ALL_OCTOBER = CALENDAR.replace("DTSTART:20261022T180000", "DTSTART:20261017T140000").replace("PT2H", "P60D")


@pytest.fixture
def shared(server: WeatherServer) -> WeatherServer:
    server.pages[UNLISTED] = Page(CALENDAR.encode(), {"Content-Type": "text/calendar"})
    return server


def fetch(server: WeatherServer, client: PoliteClient, fake_time: FakeTime, folder: Path) -> Busy:
    return household_busy([server.url + UNLISTED], NEW_YORK, fake_time.now, folder, lambda: client)


def assert_private(words: str) -> None:
    assert len(words.splitlines()) == 1
    assert "127.0.0.1" in words
    for secret in ("7d1f", "unlisted", "basic.ics", TITLE):
        assert secret not in words


def test_files_are_found_from_the_folder_of_the_site_and_all_of_them_count(tmp_path, fake_time):
    (tmp_path / "one.ics").write_bytes(CALENDAR.encode())
    (tmp_path / "two.ics").write_bytes(CALENDAR.replace("T180000", "T080000").encode())
    busy = household_busy(["one.ics", str(tmp_path / "two.ics")], NEW_YORK, fake_time.now, tmp_path, None)
    assert busy == Busy((tuple(at - timedelta(hours=10) for at in SPAN), SPAN))


def test_an_address_is_fetched_politely_and_not_again_while_it_holds(shared, client, fake_time, tmp_path):
    first = fetch(shared, client, fake_time, tmp_path)
    assert first == fetch(shared, client, fake_time, tmp_path) == Busy((SPAN,))
    (seen,) = shared.asked(UNLISTED)
    assert "text/calendar" in seen.headers["accept"]
    fake_time.pass_by(timedelta(hours=1))
    fetch(shared, client, fake_time, tmp_path)
    assert len(shared.asked(UNLISTED)) == 2


@pytest.mark.parametrize(
    "fault",
    [
        faults.hang_up,
        faults.status(404, b"nothing at /calendar/ical/7d1f-unlisted-9c/basic.ics"),
        faults.says(b"<html>Log in</html>"),
        faults.says(CALENDAR[:-30].encode()),
        faults.redirect("https://elsewhere.example/7d1f-unlisted-9c/basic.ics"),
        faults.gzip_bomb,
    ],
)
def test_the_last_good_calendar_stands_in_with_a_private_note(shared, client, fake_time, tmp_path, fault):
    fetch(shared, client, fake_time, tmp_path)
    fake_time.pass_by(timedelta(hours=1))
    shared.script(UNLISTED, fault)
    busy = fetch(shared, client, fake_time, tmp_path)
    assert busy.spans == (SPAN,)
    (note,) = busy.notes
    assert note.endswith("; the one fetched at 2026-10-20 08:00 stands in")
    assert_private(note)


@pytest.mark.parametrize(
    ("fault", "kind", "words"),
    [
        (faults.hang_up, Unreachable, "could not be"),
        (faults.status(404), Refused, "status 404"),
        (faults.status(404, b"nothing at /calendar/ical/7d1f-unlisted-9c/basic.ics"), Refused, "could not be had"),
        (faults.says(b"<html>Log in</html>"), BadPayload, "is not a calendar"),
        (faults.redirect("https://elsewhere.example/7d1f-unlisted-9c/basic.ics"), Unreachable, "could not be had"),
        (faults.says(CALENDAR.replace("DTSTART:2", "DTSTART:x").encode()), BadPayload, "its DTSTART cannot be read"),
    ],
)
def test_without_an_earlier_one_it_never_counts_as_free(shared, client, fake_time, tmp_path, fault, kind, words):
    shared.script(UNLISTED, *[fault] * 4)
    with pytest.raises(WeatherError) as caught:
        fetch(shared, client, fake_time, tmp_path)
    assert type(caught.value) is kind
    assert words in str(caught.value)
    assert_private(str(caught.value))


def test_an_address_without_encryption_is_not_asked_and_not_repeated(tmp_path, client, fake_time):
    with pytest.raises(BadSetting, match=r"the calendar at calendar\.example is not asked: write its https") as caught:
        household_busy(["http://calendar.example/hidden"], NEW_YORK, fake_time.now, tmp_path, lambda: client)
    assert "hidden" not in str(caught.value)


def test_the_sample_asks_nobody_and_says_so(tmp_path, fake_time):
    busy = household_busy(["webcal://calendar.example/hidden"], NEW_YORK, fake_time.now, tmp_path, None)
    assert busy.spans == ()
    (note,) = busy.notes
    assert note.startswith("the calendar at calendar.example was not asked")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.ics", None, "none.ics: there is no such calendar file: see [household] busy in the site file"),
        (".", None, "there is no such calendar file"),
        ("page.ics", b"<html>", "page.ics: is not a calendar"),
        ("large.ics", b"x" * (8 * 2**20 + 1), "large.ics: is larger than 8 MB"),
    ],
)
def test_a_file_that_is_no_calendar_is_refused(tmp_path, fake_time, name, content, words):
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(BadSetting) as caught:
        household_busy([name], NEW_YORK, fake_time.now, tmp_path, None)
    assert words in str(caught.value)


def test_a_calendar_that_takes_too_long_to_read_is_refused(tmp_path, fake_time, monkeypatch):
    monkeypatch.setattr(household_calendar, "READ_S", 0.05)
    monkeypatch.setattr(busy_events, "busy_in", lambda *_: time.sleep(1.0))
    (tmp_path / "a.ics").write_bytes(CALENDAR.encode())
    with pytest.raises(BadSetting, match=r"a\.ics: takes more than 0\.05 s to read"):
        household_busy(["a.ics"], NEW_YORK, fake_time.now, tmp_path, None)


def test_it_looks_further_than_any_forecast_and_what_follows_it():
    assert timedelta(days=16 + 40) < AHEAD


def put_site(shell: Shell, *busy: str) -> Path:
    path = shell.home / "site.toml"
    write_site(replace(SAMPLE_SITE, busy=busy), path)
    return path


ASK = ("next", "--weather", "sample", "--now", "2026-10-17T14:00")


def test_a_plan_goes_round_the_events_of_a_file(shell):
    path = put_site(shell, "family.ics")
    (shell.home / "family.ics").write_bytes(CALENDAR.encode())
    assert shell.run(*ASK, "--site", path).code == 0
    (shell.home / "family.ics").write_bytes(AWAY_ALL_OCTOBER.encode())
    done = shell.run(*ASK, "--site", path)
    assert done.code == 1
    assert TITLE not in done.out + done.err


def test_a_broken_file_ends_with_2_and_an_address_out_of_reach_with_3(shell):
    path = put_site(shell, "family.ics")
    (shell.home / "family.ics").write_bytes(CALENDAR[:-30].encode())
    done = shell.run(*ASK, "--site", path)
    assert (done.code, done.out) == (2, "")
    assert "family.ics: is cut short" in done.err
    done = shell.run(*ASK, "--site", put_site(shell, closed_port_url() + UNLISTED))
    assert (done.code, done.out) == (3, "")
    assert_private(done.err)


def test_the_note_of_a_stand_in_goes_to_stderr(shell, shared, client, fake_time, monkeypatch):
    monkeypatch.setattr("providers.services.polite_client", lambda contact: client)
    path = put_site(shell, shared.url + UNLISTED)
    assert shell.run(*ASK, "--site", path).err == ""
    fake_time.pass_by(timedelta(hours=1))
    shared.script(UNLISTED, faults.hang_up)
    done = shell.run(*ASK, "--site", path, "--json")
    assert done.code == 0
    assert done.err.startswith("smokenight: the calendar at 127.0.0.1 ")
    assert done.err.endswith("stands in\n")


def test_the_calendar_library_is_loaded_for_a_household_with_a_calendar_alone(shell):
    code = (
        "import sys, runpy\nsys.argv = ['smokenight', 'nights', '--sample', '--now', '2026-10-17T14:00']\n"
        "try:\n    runpy.run_module('scheduler', run_name='__main__')\nexcept SystemExit:\n    pass\n"
        "print(sorted({'icalendar', 'recurring_ical_events', 'requests'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=shell.environment, cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"
