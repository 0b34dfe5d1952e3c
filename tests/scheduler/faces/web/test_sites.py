"""Site files as a server looks at them again and again: changed, spoilt, gone, back, and with a name twice."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from scheduler.errors import BadSetting
from scheduler.faces.asking import SAMPLE_SITE
from scheduler.faces.web.address import address_path, new_secret
from scheduler.faces.web.sites import Sites
from scheduler.household.site_file import write_site


def named(folder, file, name):
    path = folder / file
    write_site(replace(SAMPLE_SITE, name=name), path)
    return path


@pytest.fixture
def shed(tmp_path):
    return named(tmp_path, "shed.toml", "shed")


@pytest.fixture
def sites(tmp_path, shed):
    found = Sites((tmp_path,))
    found.look()
    return found


def test_a_new_site_has_an_address_and_is_news_once(tmp_path, shed):
    sites = Sites((tmp_path,))
    assert sites.look() == ({shed}, set())
    assert address_path(shed).exists()
    assert sites.look() == (set(), set())


def test_a_file_changed_to_garbage_keeps_what_was_read_and_is_told_until_it_is_mended(sites, shed):
    before, good = sites.served[shed], shed.read_bytes()
    shed.write_bytes(b"name = [")
    assert sites.look() == (set(), set())
    assert sites.served[shed] is before
    assert list(sites.troubles) == [shed]
    shed.write_bytes(good)
    assert sites.look() == ({shed}, set())
    assert sites.troubles == {}


def test_an_older_file_put_in_its_place_is_read(sites, shed, tmp_path):
    other = named(tmp_path, "other", "attic")
    os.utime(other, (1_000_000, 1_000_000))
    os.replace(other, shed)
    assert sites.look()[0] == {shed}
    assert sites.served[shed].site.name == "attic"


def test_a_replaced_address_closes_the_old_one_and_is_news(sites, shed):
    old = sites.served[shed].secret
    new = new_secret(shed)
    assert sites.look() == ({shed}, {old})
    assert sites.served[shed].secret == new


def test_a_file_that_goes_closes_its_address_and_one_that_comes_back_as_it_was_is_served_again(sites, shed, tmp_path):
    named(tmp_path, "other.toml", "other")
    sites.look()
    secret, away = sites.served[shed].secret, tmp_path / "away"
    shed.rename(away)
    assert sites.look() == (set(), {secret})
    away.rename(shed)
    assert sites.look() == ({shed}, set())
    assert sites.served[shed].secret == secret


def test_what_was_wrong_with_a_file_that_is_gone_is_forgotten(sites, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("garbage")
    sites.look()
    assert list(sites.troubles) == [bad]
    bad.unlink()
    sites.look()
    assert sites.troubles == {}


def test_of_two_sites_of_one_name_the_one_that_was_served_stays(sites, shed, tmp_path):
    twin = named(tmp_path, "a-copy.toml", "shed")
    assert sites.look() == (set(), set())
    assert set(sites.served) == {shed}
    assert "the name 'shed' is taken by shed.toml" in sites.troubles[twin]


def test_of_two_new_sites_of_one_name_the_first_by_file_name_is_served(tmp_path):
    first, second = named(tmp_path, "a.toml", "shed"), named(tmp_path, "b.toml", "shed")
    sites = Sites((tmp_path,))
    sites.look()
    assert set(sites.served) == {first}
    assert set(sites.troubles) == {second}


def test_the_other_of_one_name_is_served_once_the_first_has_another(sites, shed, tmp_path):
    twin = named(tmp_path, "twin.toml", "shed")
    sites.look()
    named(tmp_path, "shed.toml", "old shed")
    assert sites.look()[0] == {shed, twin}
    assert sites.troubles == {}


def test_a_folder_that_appears_later_is_read_and_leaves_no_trouble(shed, tmp_path):
    later = tmp_path / "later"
    sites = Sites((shed, later))
    sites.look()
    assert list(sites.troubles) == [later]
    later.mkdir()
    more = named(later, "more.toml", "more")
    assert sites.look()[0] == {more}
    assert sites.troubles == {}


def test_no_address_is_made_beside_a_file_that_is_not_there(tmp_path):
    sites = Sites((tmp_path / "none.toml",))
    sites.look()
    assert list(tmp_path.iterdir()) == []


def test_the_last_file_of_a_folder_closes_its_address_as_any_other_does(sites, shed, tmp_path):
    secret, away = sites.served[shed].secret, tmp_path / "away"
    shed.rename(away)
    assert sites.look() == (set(), {secret})
    assert sites.served == {}
    assert sites.troubles == {tmp_path: f"the folder {str(tmp_path)!r} holds no site file (NAME.toml)"}
    away.rename(shed)
    assert sites.look() == ({shed}, set())
    assert sites.troubles == {}


def test_a_folder_that_cannot_be_read_is_refused_and_all_stays_as_it_was(sites, shed, monkeypatch):
    def refused(folder):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", refused)
    with pytest.raises(BadSetting, match="cannot be read: permission denied"):
        sites.look()
    assert set(sites.served) == {shed}


def test_what_editors_and_copies_leave_beside_a_site_file_is_none(sites, shed, tmp_path):
    for name in (".shed.toml", "._shed.toml", ".#shed.toml", ".toml", "shed.toml~"):
        (tmp_path / name).write_text("garbage")
    assert sites.look() == (set(), set())
    assert sites.troubles == {}


def test_a_file_whose_name_begins_with_a_dot_is_served_where_it_is_named(tmp_path):
    path = named(tmp_path, ".shed.toml", "shed")
    sites = Sites((path,))
    sites.look()
    assert set(sites.served) == {path}


def copied(path, onto):
    """The address of one site put in the place of the other's, later by its stamp."""
    facts = address_path(path).stat()
    address_path(onto).write_bytes(address_path(path).read_bytes())
    os.utime(address_path(onto), ns=(facts.st_atime_ns, facts.st_mtime_ns + 10**9))


@pytest.mark.parametrize("name", ["a.toml", "z.toml"])
def test_a_site_whose_address_was_copied_from_another_is_not_served_there(sites, shed, tmp_path, name):
    secret = sites.served[shed].secret
    copy = named(tmp_path, name, "copy")
    copied(shed, copy)
    for looking, changed in ((sites, set()), (Sites((tmp_path,)), {shed})):
        assert looking.look() == (changed, set())
        assert looking.served[shed].secret == secret
        assert set(looking.served) == {shed}
        assert f"{name}: its address is that of shed.toml" in looking.troubles[copy]


def test_a_served_site_that_is_given_another_s_address_is_closed_and_opens_anew_with_its_own(sites, shed, tmp_path):
    other = named(tmp_path, "a.toml", "other")
    sites.look()
    before = sites.served[other].secret
    copied(shed, other)
    assert sites.look() == (set(), {before})
    assert set(sites.troubles) == {other}
    new_secret(other)
    assert sites.look() == ({other}, set())
    assert sites.troubles == {}


def test_a_site_refused_for_its_name_keeps_no_other_from_the_address(sites, shed, tmp_path):
    twin, third = named(tmp_path, "a.toml", "shed"), named(tmp_path, "b.toml", "third")
    new_secret(twin)
    copied(twin, third)
    assert sites.look()[0] == {third}
    assert set(sites.troubles) == {twin}


def test_an_address_that_passes_to_another_site_is_cleared_and_one_that_moves_with_its_site_is_not(
    sites, shed, tmp_path
):
    secret, moved = sites.served[shed].secret, tmp_path / "moved.toml"
    shed.rename(moved)
    address_path(shed).rename(address_path(moved))
    assert sites.look() == ({moved}, set())
    other = named(tmp_path, "other.toml", "other")
    moved.unlink()
    address_path(moved).rename(address_path(other))
    assert sites.look() == ({other}, {secret})
    assert sites.served[other].secret == secret


def test_a_file_named_twice_is_one_site(tmp_path, shed):
    sites = Sites((shed, tmp_path, shed))
    sites.look()
    assert set(sites.served) == {shed}
    assert sites.troubles == {}


def test_tables_of_one_name_in_two_folders_are_two_sources_and_a_service_is_one(tmp_path):
    def cells(weather):
        found = []
        for folder in ("a", "b"):
            (tmp_path / folder).mkdir(exist_ok=True)
            path = tmp_path / folder / "site.toml"
            write_site(replace(SAMPLE_SITE, name=folder, weather=weather), path)
            found.append(path)
        sites = Sites(tuple(found))
        sites.look()
        return {one.cell for one in sites.served.values()}

    assert len(cells("hours.csv")) == 2
    assert len(cells("met-norway")) == len(cells(None)) == len(cells("sample")) == 1
