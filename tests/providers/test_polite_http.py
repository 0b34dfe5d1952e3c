"""The client against a service on this machine: who asks, how long an answer holds, what stands in for it."""

from __future__ import annotations

import doctest
import importlib
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from email.utils import format_datetime

import faults
import pytest
import requests
import responses
from asking import HOUR, PLAIN, ask
from hypothesis import given
from hypothesis import strategies as st
from loopback import Page, closed_port_url, json_page

from providers.errors import BadPayload
from providers.freshness import LONGEST, lifetime
from providers.polite_http import BadContact, Limits, cut_coordinate, identity

LAST_MODIFIED = "Tue, 20 Oct 2026 10:02:03 GMT"


# Who asks, and for what.


def test_identity_names_project_version_and_contact():
    assert identity("1.2", "cook@example.org") == "smokenight/1.2 (cook@example.org)"


@pytest.mark.parametrize("contact", [None, "", "  "])
def test_identity_without_contact_is_the_project_alone(contact):
    assert identity("1.2", contact) == "smokenight/1.2"


@pytest.mark.parametrize("contact", ["a\r\nX-Evil: 1", "köchin@example.org", "me (home)", "a\\b", "a\x00"])
def test_a_contact_that_no_header_can_hold_is_refused_in_words(contact):
    with pytest.raises(BadContact, match=r"cook@example\.org"):
        identity("1.2", contact)


def test_every_request_says_who_asks_and_what_for(client, server):
    client.get(server.url + "/v1/search", {"name": "smoke ham"}, source="the service")
    (seen,) = server.requests
    assert seen.headers["user-agent"] == "smokenight/0 (cook@example.org)"
    assert seen.headers["accept"] == "application/json"
    assert seen.headers["accept-encoding"] == "gzip"
    assert seen.query == {"name": "smoke ham"}


@responses.activate
def test_no_password_of_the_household_is_sent(client, tmp_path, monkeypatch):
    (tmp_path / "netrc").write_text("default login cook password secret\n")
    monkeypatch.setenv("NETRC", str(tmp_path / "netrc"))
    assert requests.utils.get_netrc_auth("https://weather.example/") == ("cook", "secret")
    responses.get("https://weather.example/", json={})
    client.get("https://weather.example/", {}, source="the service")
    assert "Authorization" not in responses.calls[0].request.headers


def test_this_machine_is_asked_past_any_proxy(client, plain, monkeypatch):
    monkeypatch.setenv("HTTP_PROXY", closed_port_url())
    monkeypatch.setenv("http_proxy", closed_port_url())
    assert ask(client, plain).body == b'{"n": 1}'


@pytest.mark.parametrize(
    ("deg", "cut"), [(51.25129, "51.251"), (-1.50999, "-1.509"), (0.29, "0.29"), (52.0, "52"), (50.0, "50"),
                     (-0.0004, "0"), (1e-7, "0"), (180.0, "180"), (-0.0, "0")],
)  # fmt: skip
def test_a_coordinate_is_cut_not_rounded_and_never_padded(deg, cut):
    assert cut_coordinate(deg) == cut


@given(st.floats(-180, 180), st.integers(0, 4))
def test_a_cut_coordinate_is_near_and_has_few_decimals(deg, decimals):
    text = cut_coordinate(deg, decimals)
    assert 0 <= abs(deg) - abs(float(text)) < 10**-decimals
    assert len(text.partition(".")[2]) <= decimals
    assert "e" not in text.lower()


@pytest.mark.parametrize(("deg", "decimals"), [(1.0, 5), (1.0, -1), (float("nan"), 3), (float("inf"), 3)])
def test_what_is_no_coordinate_is_not_cut(deg, decimals):
    with pytest.raises(ValueError, match=r"decimals|degrees"):
        cut_coordinate(deg, decimals)


# How long an answer holds.


def test_an_answer_says_when_it_was_made_and_until_when_it_holds(client, plain, fake_time):
    answer = ask(client, plain)
    assert answer.body == b'{"n": 1}'
    assert answer.fetched_at == fake_time.now
    assert answer.issued == datetime(2026, 10, 20, 10, 2, 3, tzinfo=UTC)
    assert answer.fresh_until == fake_time.now + HOUR / 2
    assert not answer.from_cache
    assert answer.stale_because is None


def test_an_answer_is_stamped_in_utc_whatever_zone_the_clock_is_in(client, plain, fake_time):
    there = timezone(timedelta(hours=-5))
    answer = ask(replace(client, clock=lambda: fake_time.now.astimezone(there)), plain)
    assert answer.fetched_at.tzinfo is UTC
    assert answer.fetched_at == fake_time.now


def test_nothing_is_asked_before_expires(client, plain, fake_time):
    first = ask(client, plain)
    fake_time.pass_by(HOUR / 2 - timedelta(seconds=1))
    again = ask(client, plain)
    assert len(plain.requests) == 1
    assert again == replace(first, from_cache=True)


def test_after_expires_the_stored_values_are_sent_back_exactly(client, plain, fake_time):
    ask(client, plain)
    fake_time.pass_by(HOUR / 2)
    ask(client, plain)
    asked = plain.requests[1].headers
    assert asked["if-modified-since"] == LAST_MODIFIED
    assert asked["if-none-match"] == '"a"'


def test_not_modified_keeps_the_body_and_takes_the_new_expires(client, plain, fake_time):
    first = ask(client, plain)
    fake_time.pass_by(HOUR)
    plain.pages[PLAIN].headers["Expires"] = format_datetime(fake_time.now + HOUR, usegmt=True)
    renewed = ask(client, plain)
    assert renewed.body == first.body
    assert renewed.fetched_at == first.fetched_at
    assert renewed.from_cache
    assert renewed.stale_because is None
    assert renewed.fresh_until == fake_time.now + HOUR
    fake_time.pass_by(HOUR - timedelta(seconds=1))
    ask(client, plain)
    assert len(plain.requests) == 2


def test_a_changed_answer_replaces_the_old_one(client, plain, fake_time):
    ask(client, plain)
    fake_time.pass_by(HOUR)
    plain.pages[PLAIN] = json_page({"n": 2})
    assert ask(client, plain).body == b'{"n": 2}'
    plain.script(PLAIN, *[faults.status(500)] * 3)
    assert ask(client, plain).body == b'{"n": 2}'


def test_not_modified_without_anything_stored_is_a_bad_answer(client, plain):
    plain.script(PLAIN, faults.not_modified)
    with pytest.raises(BadPayload, match="304"):
        ask(client, plain)


def test_a_service_without_cache_headers_is_asked_once_in_the_given_time(client, server, fake_time):
    server.pages[PLAIN] = json_page({})
    for _ in range(2):
        assert ask(client, server, min_ttl=HOUR).fresh_until == datetime(2026, 10, 20, 13, tzinfo=UTC)
        fake_time.pass_by(HOUR - timedelta(seconds=1))
    assert len(server.requests) == 1
    fake_time.pass_by(timedelta(seconds=2))
    ask(client, server, min_ttl=HOUR)
    assert len(server.requests) == 2


def test_an_answer_from_a_clock_that_ran_ahead_is_asked_for_again(client, plain, fake_time):
    ask(client, plain)
    fake_time.now -= timedelta(days=400)
    ask(client, plain)
    assert len(plain.requests) == 2


def test_another_address_is_another_answer(client, server):
    server.pages["/a"], server.pages["/b"] = json_page("a"), json_page("b")
    assert [ask(client, server, path).body for path in ("/a", "/b", "/a")] == [b'"a"', b'"b"', b'"a"']


DATE = "Tue, 20 Oct 2026 12:00:00 GMT"
AT = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("headers", "seconds"),
    [
        ({}, 0),
        ({"expires": "Tue, 20 Oct 2026 12:31:07 GMT"}, 1867),
        ({"expires": "Tue, 20 Oct 2026 12:31:07 GMT", "date": "Tue, 20 Oct 2026 12:01:07 GMT"}, 1800),
        ({"expires": "0"}, 0),
        ({"expires": "Tue, 20 Oct 2026 11:00:00 GMT", "date": DATE}, 0),
        ({"cache-control": "public, max-age=600"}, 600),
        ({"cache-control": "max-age=600, s-maxage=9"}, 600),
        ({"cache-control": "s-maxage=9"}, 0),
        ({"cache-control": "max-age=600", "age": "500"}, 100),
        ({"cache-control": "max-age=600", "age": "9999"}, 0),
        ({"cache-control": "MAX-AGE=600", "expires": "Tue, 20 Oct 2026 13:00:00 GMT", "date": DATE}, 600),
        ({"cache-control": "no-cache", "expires": "Tue, 20 Oct 2026 13:00:00 GMT", "date": DATE}, 0),
        ({"cache-control": "max-age=" + "9" * 5000}, LONGEST.total_seconds()),
        ({"expires": "Tue, 20 Oct 2099 13:00:00 GMT"}, LONGEST.total_seconds()),
        ({"expires": "Tue, 20 Oct 99999 13:00:00 GMT"}, 0),
    ],
)
def test_headers_say_how_long_an_answer_holds(headers, seconds):
    assert lifetime(headers, AT) == timedelta(seconds=seconds)


# The last good answer.


def test_an_earlier_answer_stands_in_and_says_why(client, plain, fake_time):
    first = ask(client, plain)
    fake_time.pass_by(HOUR)
    plain.script(PLAIN, *[faults.reason(503, "The service is overloaded")] * 3)
    sentence = "the service answered with status 503: The service is overloaded"
    assert ask(client, plain) == replace(first, from_cache=True, stale_because=sentence)


def test_a_useless_answer_never_replaces_a_good_one(client, plain, fake_time):
    ask(client, plain)
    for useless in (faults.says(faults.HTML), faults.says(b'{"n": 1'), faults.cut_gzip):
        fake_time.pass_by(HOUR)
        plain.script(PLAIN, useless)
        answer = ask(client, plain)
        assert answer.body == b'{"n": 1}'
        assert answer.stale_because


def test_the_caller_decides_what_is_useless(client, plain, fake_time):
    def check(answer):
        if b"2" in answer.body:
            raise BadPayload("there is a two in it")

    ask(client, plain, check=check)
    fake_time.pass_by(HOUR)
    plain.pages[PLAIN] = json_page({"n": 2})
    assert ask(client, plain, check=check).stale_because == "there is a two in it"


def test_a_stored_answer_that_this_version_cannot_read_is_asked_for_again(client, plain):
    def check(answer):
        if len(plain.requests) == 1:
            raise BadPayload("not any more")

    ask(client, plain, check=lambda _: None)
    assert not ask(client, plain, check=check).from_cache
    assert "if-modified-since" not in plain.requests[1].headers


def test_a_product_about_to_end_comes_with_a_note(client, server, fake_time):
    server.pages[PLAIN] = json_page({}, status=203)
    assert "203" in ask(client, server, min_ttl=HOUR).notes[0]
    assert "203" in ask(client, server, min_ttl=HOUR).notes[0], "still told when it comes from disk"


def test_a_disk_that_takes_nothing_costs_a_note_and_not_the_answer(client, plain, tmp_path):
    (tmp_path / "file").write_text("in the way")
    answer = ask(replace(client, cache_folder=tmp_path / "file"), plain)
    assert answer.body == b'{"n": 1}'
    assert "could not be kept" in answer.notes[0]


def test_the_cache_folder_is_for_its_owner_alone(client, plain):
    ask(client, plain)
    (kept,) = client.cache_folder.iterdir()
    assert client.cache_folder.stat().st_mode & 0o077 == 0
    assert kept.stat().st_mode & 0o077 == 0


def test_nothing_kept_names_who_asked(client, plain):
    ask(client, plain)
    (kept,) = client.cache_folder.iterdir()
    assert b"cook@example.org" not in kept.read_bytes()


@pytest.mark.parametrize("module", ["polite_http", "service_words"])
def test_examples_in_docstrings_hold(module):
    outcome = doctest.testmod(importlib.import_module(f"providers.{module}"))
    assert outcome.attempted > 0
    assert outcome.failed == 0


def test_an_answer_at_hand_needs_neither_requests_nor_pandas():
    code = (
        "import sys, providers.polite_http, providers.open_meteo, providers.places\n"
        "print({'requests', 'urllib3', 'pandas', 'sqlite3', 'typer'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "set()\n"


def test_pages_of_the_loopback_service_are_what_they_say(server):
    server.pages[PLAIN] = Page(b"x", {"ETag": '"1"'})
    assert requests.get(server.url + PLAIN, timeout=5).content == b"x"
    assert requests.get(server.url + PLAIN, headers={"If-None-Match": '"1"'}, timeout=5).status_code == 304
    assert requests.get(server.url + "/nowhere", timeout=5).status_code == 404


def test_a_client_in_a_hurry_is_never_more_patient_than_it_was(client):
    impatient = replace(client, limits=Limits(connect_s=1.0, read_s=2.0, total_s=3.0, retries=0))
    assert impatient.hurried().limits == impatient.limits
    usual = replace(client, limits=Limits())
    hurried = usual.hurried().limits
    assert (hurried.read_s, hurried.total_s, hurried.retries) == (10.0, 20.0, 1)
    assert replace(usual, limits=hurried) == usual.hurried()
