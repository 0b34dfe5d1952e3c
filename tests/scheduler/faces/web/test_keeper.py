"""The keeper on a clock of ours: what it does when, and what a site, a service or the journal may do to it."""

from __future__ import annotations

import json
import logging
import re
import sqlite3
from dataclasses import replace
from datetime import timedelta
from threading import Event

import pytest
from feed_house import HOUR, NOON, SITE, House, weather
from keeper_server import Server

from providers.errors import Unreachable
from scheduler.faces.web import keeper as keeping
from scheduler.faces.web.cells import Cells
from scheduler.faces.web.keeper import LOOK_EVERY
from scheduler.faces.web.publishing import FEED, NEXT, PAGE
from scheduler.household.site_file import write_site
from scheduler.journal import files
from scheduler.journal.store import Journal


@pytest.fixture
def server(tmp_path):
    (tmp_path / "sites").mkdir()
    return Server(tmp_path)


@pytest.fixture
def shed(server):
    path = server.add()
    server.step()
    return path


def test_a_first_look_makes_every_page(server, shed):
    assert server.data(shed).startswith(b"BEGIN:VCALENDAR")
    assert b"<html" in server.data(shed, PAGE)
    assert json.loads(server.data(shed, NEXT))["site"] == SITE.name
    assert server.health["status"] == "well"


def test_a_look_without_news_does_nothing(server, shed):
    page = server.shelf.find(server.secret(shed), PAGE)
    server.step(LOOK_EVERY)
    assert server.shelf.find(server.secret(shed), PAGE) is page


def test_what_somebody_records_is_seen_at_the_next_look(server, shed):
    with Journal.open(server.journal) as journal:
        House(SITE, journal, server.now).open("spring lot")
    server.step(LOOK_EVERY)
    assert b"spring lot" in server.data(shed, PAGE)


def test_what_the_keeper_writes_itself_is_no_news(server, shed):
    with Journal.open(server.journal) as journal:
        house = House(SITE, journal, server.now)
        house.adopt(house.open())
    server.step(LOOK_EVERY)
    page = server.shelf.find(server.secret(shed), PAGE)
    server.step(LOOK_EVERY)
    assert server.shelf.find(server.secret(shed), PAGE) is page


def test_a_plan_that_rests_on_newer_weather_than_ours_makes_us_ask_again_once(server, shed):
    server.now += 10 * LOOK_EVERY
    with Journal.open(server.journal) as journal:
        house = House(SITE, journal, server.now, weather(server.now))
        house.adopt(house.open())
    asked = len(server.asked)
    server.step(LOOK_EVERY)
    assert len(server.asked) == asked, "it is not due by its own time yet"
    server.step(LOOK_EVERY)
    assert len(server.asked) == asked + 1
    for _ in range(3):
        server.step(LOOK_EVERY)
    assert len(server.asked) == asked + 1


def test_without_news_a_site_is_brought_up_to_date_every_hour(server, shed):
    page = server.shelf.find(server.secret(shed), PAGE)
    server.step(HOUR)
    assert server.shelf.find(server.secret(shed), PAGE) is not page


@pytest.mark.parametrize("hours", [1, -1])
def test_a_clock_set_an_hour_on_or_back_and_back_again_stops_nothing_and_no_stamp_goes_back(server, shed, hours):
    stamps = []
    for by in (hours, -hours, 0, 0):
        server.step(by * HOUR + LOOK_EVERY)
        stamps.append(max(re.findall(rb"LAST-MODIFIED:(\S+)", server.data(shed))))
    assert stamps == sorted(stamps)
    assert server.health["status"] == "well"


def test_a_page_made_after_the_clock_was_set_back_is_later_than_the_one_before(server, shed):
    server.step(2 * HOUR)
    before = server.shelf.find(server.secret(shed), PAGE)
    server.step(-2 * HOUR)
    after = server.shelf.find(server.secret(shed), PAGE)
    assert after.data != before.data
    assert after.modified > before.modified
    assert server.health["status"] == "well"


def test_a_clock_that_was_a_year_ahead_and_is_right_again_does_not_keep_a_site_from_being_looked_at(server, shed):
    server.step(timedelta(days=365))
    asked = len(server.asked)
    server.step(-timedelta(days=365))
    assert len(server.asked) == asked + 1


def test_without_weather_the_feed_that_was_published_last_is_served_after_a_restart(server, shed):
    before = server.data(shed)
    server.error = Unreachable("the service is silent")
    server.restarted()
    assert server.data(shed) == before
    server.step(HOUR)
    assert server.data(shed) == before
    assert server.health["status"] == "in trouble"
    assert server.health["cells_without_weather"] == 1


def test_a_page_that_is_not_made_yet_is_awaited_and_not_missing(server):
    path = server.add()
    server.error = Unreachable("the service is silent")
    server.keeper.begin()
    assert server.data(path, PAGE) is None
    assert server.shelf.awaits(server.secret(path), PAGE)
    assert not server.shelf.awaits(server.secret(path), "elsewhere")
    assert not server.shelf.awaits("x" * 43, PAGE)


def test_a_page_without_weather_from_the_start_says_so_and_answers_for_programs_are_awaited(server):
    path = server.add()
    server.error = Unreachable("the service is silent")
    server.restarted()
    server.step()
    assert b"The service is silent." in server.data(path, PAGE)
    assert server.shelf.awaits(server.secret(path), NEXT)
    assert server.shelf.awaits(server.secret(path), FEED)
    server.error = None
    server.step(2 * HOUR)
    assert b"silent" not in server.data(path, PAGE)


def test_weather_that_cannot_be_had_is_not_asked_for_at_every_look(server):
    server.add()
    server.error = Unreachable("the service is silent")
    for _ in range(9):
        server.step(LOOK_EVERY)
    assert len(server.asked) == 1


def test_the_trouble_of_one_site_stops_no_other_and_is_logged_once(server, shed, monkeypatch, caplog):
    other = server.add("other shed")
    usual = keeping.keep

    def keep(book, *args, **more):
        if book.site.name == "other shed":
            raise RuntimeError("a slip")
        return usual(book, *args, **more)

    monkeypatch.setattr(keeping, "keep", keep)
    page = server.shelf.find(server.secret(shed), PAGE)
    with caplog.at_level(logging.INFO):
        for _ in range(5):
            server.step(HOUR)
    assert server.shelf.find(server.secret(shed), PAGE) is not page
    assert server.health["sites_in_trouble"] == 1
    assert sum("RuntimeError: a slip" in (one.exc_text or "") for one in caplog.records) == 1
    monkeypatch.setattr(keeping, "keep", usual)
    with caplog.at_level(logging.INFO):
        server.step(2 * HOUR)
    assert server.data(other, PAGE) is not None
    assert "other shed.toml: all is well again" in caplog.text
    assert server.health["status"] == "well"


def test_a_household_calendar_that_cannot_be_had_is_asked_for_less_and_less_often(server, shed):
    asked = []

    def busy(served, now):
        asked.append(now)
        raise Unreachable("the calendar at calendar.example is silent")

    server.keeper.busy_of = busy
    before = server.data(shed)
    server.step(HOUR)
    while server.now < NOON + 5 * HOUR:
        server.step(LOOK_EVERY)
    assert 5 <= len(asked) <= 12
    assert server.data(shed) == before
    server.keeper.busy_of = lambda served, now: ()
    server.step(2 * HOUR)
    assert server.health["status"] == "well"


def test_a_journal_that_another_process_holds_costs_one_look_and_no_feed(server, shed, monkeypatch):
    monkeypatch.setattr(files, "WAIT_S", 0.05)
    before = server.data(shed)
    holder = sqlite3.connect(server.journal, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    server.now += timedelta(days=1)
    server.step()
    assert server.data(shed) == before
    assert server.health["status"] == "in trouble"
    holder.execute("ROLLBACK")
    holder.close()
    server.step(LOOK_EVERY)
    assert server.health["status"] == "well"
    assert server.data(shed) != before


def test_a_journal_put_in_the_place_of_the_old_one_is_the_one_that_is_kept(server, shed, tmp_path):
    other = tmp_path / "other.sqlite"
    with Journal.open(other) as journal:
        House(SITE, journal, server.now).open("restored lot")
    server.journal.unlink()
    other.rename(server.journal)
    server.step(LOOK_EVERY)
    assert b"restored lot" in server.data(shed, PAGE)


def test_a_journal_that_cannot_be_read_is_tried_once_a_look_and_the_feed_stays(server, shed, monkeypatch):
    server.add("other shed")
    server.step(LOOK_EVERY)
    before, tries = server.data(shed), []
    whole = server.journal.read_bytes()
    server.journal.write_bytes(b"garbage" * 1000)
    opens = server.keeper.journal
    server.keeper.journal = lambda: (tries.append(1), opens())[1]
    server.step(HOUR)
    assert len(tries) == 1
    assert server.data(shed) == before
    assert server.health["sites_in_trouble"] == 2
    assert b"Not up to date" in server.data(shed, PAGE)
    server.step(LOOK_EVERY)
    assert server.data(shed, PAGE).count(b"is not a journal of smokenight") == 1
    server.journal.write_bytes(whole)
    server.step(LOOK_EVERY)
    assert server.health["status"] == "well"
    assert b"Not up to date" not in server.data(shed, PAGE)


def test_a_long_look_stops_for_news_of_others(server):
    for name in ("a", "b", "c"):
        server.add(name)
    server.keeper.journal = lambda: _slow(server)
    assert server.step() is True
    assert sum(one.tried_at is not None for one in server.keeper._of.values()) == 1
    while server.step():
        pass
    assert all(one.tried_at is not None for one in server.keeper._of.values())


def _slow(server):
    server.now += LOOK_EVERY
    return Journal.open(server.journal)


def test_a_feed_whose_last_entry_left_is_not_taken_for_unchanged_by_who_asks_by_date(server, shed):
    secret = server.secret(shed)
    first = server.shelf.find(secret, FEED)
    server.step(timedelta(days=2))
    second = server.shelf.find(secret, FEED)
    assert second.data != first.data
    assert second.modified > first.modified


def test_the_invented_weather_is_kept_like_any_other(server):
    from scheduler.faces.web.command import ask_services

    path = server.folder / "sites" / "invented.toml"
    write_site(replace(SITE, name="invented", weather="sample"), path)
    server.keeper.cells.ask = ask_services
    server.step()
    server.step(HOUR)
    assert server.data(path) is not None
    assert server.health["status"] == "well"


def test_a_fault_outside_of_any_site_ends_the_keeping_with_an_error(server, shed, monkeypatch):
    monkeypatch.setattr(Cells, "keep_only", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        server.keeper.run(Event())
