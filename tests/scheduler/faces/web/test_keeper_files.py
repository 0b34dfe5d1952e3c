"""What a keeper does when site files and addresses change, are copied, go, or cannot be read."""

from __future__ import annotations

from dataclasses import replace

import pytest
from feed_house import HOUR, SITE, House
from keeper_server import Server

from providers.errors import Unreachable
from scheduler.faces.web import keeper as keeping
from scheduler.faces.web.address import address_path, new_secret
from scheduler.faces.web.keeper import LOOK_EVERY
from scheduler.faces.web.publishing import FEED, PAGE
from scheduler.faces.web.sites import Sites
from scheduler.household.site_file import write_site
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


def test_trouble_of_a_site_that_is_gone_is_forgotten(server, shed, monkeypatch):
    other = server.add("other shed")
    usual = keeping.keep
    monkeypatch.setattr(keeping, "keep", lambda *_, **__: 1 / 0)
    server.step(LOOK_EVERY)
    monkeypatch.setattr(keeping, "keep", usual)
    other.unlink()
    server.step(HOUR)
    assert server.health["status"] == "well"


def test_a_replaced_address_opens_the_pages_and_the_old_one_nothing(server, shed):
    old = server.secret(shed)
    new = new_secret(shed)
    server.step(LOOK_EVERY)
    assert server.shelf.find(old, FEED) is None
    assert server.shelf.find(new, FEED) is not None


def test_a_replaced_address_opens_the_feed_even_while_there_is_no_weather(server, shed):
    before = server.data(shed)
    server.error = Unreachable("the service is silent")
    server.step(2 * HOUR)
    new = new_secret(shed)
    server.restarted()
    server.step(LOOK_EVERY)
    assert server.shelf.find(new, FEED).data == before


def test_a_site_file_changed_to_garbage_keeps_its_pages_and_one_mended_is_kept_anew(server, shed):
    good = shed.read_bytes()
    shed.write_bytes(b"name = [")
    server.step(HOUR)
    assert server.health["sites_in_trouble"] == 1
    assert server.data(shed) is not None
    shed.write_bytes(good)
    server.step(LOOK_EVERY)
    assert server.health["status"] == "well"


def test_the_last_site_of_a_folder_is_closed_when_its_file_goes_and_that_is_told_once(server, shed, caplog):
    secret = server.secret(shed)
    shed.unlink()
    for _ in range(3):
        server.step(LOOK_EVERY)
    assert server.shelf.find(secret, FEED) is None
    assert not server.shelf.awaits(secret, FEED)
    assert (server.health["sites"], server.health["sites_in_trouble"]) == (0, 1)
    assert caplog.text.count("holds no site file") == 1


def test_a_copied_address_shows_the_first_site_alone_and_is_told_once_and_counted(server, shed, caplog):
    page = server.data(shed, PAGE)
    other = server.folder / "sites" / "a copy.toml"
    write_site(replace(SITE, name="another shed"), other)
    address_path(other).write_bytes(address_path(shed).read_bytes())
    for _ in range(3):
        server.step(LOOK_EVERY)
    assert server.data(shed, PAGE) == page
    assert (server.health["sites"], server.health["sites_in_trouble"]) == (1, 1)
    assert caplog.text.count("a copy.toml: its address is that of") == 1


def test_an_address_that_passes_to_another_site_shows_nothing_of_the_first_even_without_weather(server, shed):
    secret = server.secret(shed)
    with Journal.open(server.journal) as journal:
        house = House(SITE, journal, server.now)
        house.adopt(house.open("a lot of the first"))
    server.step(LOOK_EVERY)
    assert b"a lot of the first" in server.data(shed, PAGE)
    other = server.folder / "sites" / "other.toml"
    write_site(replace(SITE, name="another shed", latitude_deg=31.0), other)
    address_path(shed).rename(address_path(other))
    shed.unlink()
    server.error = Unreachable("the service is silent")
    server.step(LOOK_EVERY)
    assert server.secret(other) == secret
    assert b"a lot of the first" not in server.data(other, PAGE)
    assert server.data(other) is None
    assert server.shelf.awaits(secret, FEED)


def test_files_that_cannot_be_looked_at_are_told_once_and_what_was_served_stays(server, shed, monkeypatch, caplog):
    with monkeypatch.context() as patch:
        patch.setattr(Sites, "look", lambda _: (_ for _ in ()).throw(PermissionError(13, "Permission denied")))
        for _ in range(3):
            server.step(LOOK_EVERY)
    assert caplog.text.count("Permission denied") == 1
    assert server.data(shed) is not None
