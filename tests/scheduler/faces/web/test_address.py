"""The secret of a site's address: made once, replaced on request, kept from other eyes."""

from __future__ import annotations

import os
import stat

import pytest

from scheduler.errors import BadSetting
from scheduler.faces.web.address import address_path, new_secret, path_of, secret_made, secret_of


@pytest.fixture
def site_file(tmp_path):
    return tmp_path / "garden.toml"


def test_a_site_without_one_has_none_until_it_is_made(site_file):
    assert secret_of(site_file) is None
    made = secret_made(site_file)
    assert secret_made(site_file) == secret_of(site_file) == made


def test_it_holds_256_bits_and_no_two_are_alike(site_file):
    drawn = {new_secret(site_file) for _ in range(50)}
    assert len(drawn) == 50
    assert {len(one) for one in drawn} == {43}


def test_a_new_one_replaces_the_old(site_file):
    old = new_secret(site_file)
    assert new_secret(site_file) != old
    assert secret_of(site_file) != old


def test_only_its_owner_can_read_it_whatever_the_umask(site_file):
    before = os.umask(0)
    try:
        new_secret(site_file)
    finally:
        os.umask(before)
    assert stat.S_IMODE(address_path(site_file).stat().st_mode) == 0o600


@pytest.mark.parametrize("text", ["", "short", "x" * 44, "ä" * 43, "a/b" + "c" * 40])
def test_a_file_that_holds_something_else_is_refused_in_one_line(site_file, text):
    address_path(site_file).write_text(text, encoding="utf-8")
    with pytest.raises(BadSetting, match="address --new"):
        secret_of(site_file)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(BadSetting, match="cannot write"):
        new_secret(tmp_path / "nowhere" / "garden.toml")


def test_two_sites_in_one_folder_have_addresses_of_their_own(tmp_path):
    assert address_path(tmp_path / "a.toml") != address_path(tmp_path / "b.toml")


def test_a_page_lies_under_the_secret(site_file):
    assert path_of("abc", "smoke.ics") == "/s/abc/smoke.ics"
