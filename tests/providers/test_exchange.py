"""One question and its reply: tries, pauses, the time limit, redirects."""

from __future__ import annotations

import random
import shutil
import ssl
import subprocess
from dataclasses import replace
from datetime import timedelta
from email.utils import format_datetime
from threading import Event

import faults
import pytest
from asking import PLAIN, ask
from loopback import closed_port_url

from providers.errors import BadPayload, Refused, Unreachable
from providers.exchange import SPREAD_S, in_time

# Trying again.


@pytest.mark.parametrize("code", [429, 500, 502, 503, 504, 599])
def test_trouble_that_may_pass_is_tried_again_and_then_works(client, plain, fake_time, code):
    plain.script(PLAIN, faults.status(code), faults.status(code))
    assert ask(client, plain).body == b'{"n": 1}'
    assert len(plain.requests) == 3
    assert len(fake_time.slept) == 2


def test_pauses_grow_and_are_spread_by_chance(client, plain, fake_time):
    plain.script(PLAIN, *[faults.status(500)] * 3)
    with pytest.raises(Unreachable):
        ask(client, plain)
    first, second = fake_time.slept
    least, most = SPREAD_S
    assert least <= first <= most
    assert 2 + least <= second <= 2 + most
    assert first != second - 2


def test_the_same_chance_gives_the_same_pauses(client, server, fake_time):
    for seed in (7, 7, 8):
        server.script(PLAIN, *[faults.status(500)] * 3)
        with pytest.raises(Unreachable):
            ask(replace(client, rng=random.Random(seed)), server)
    one, two, three = (fake_time.slept[n : n + 2] for n in (0, 2, 4))
    assert one == two != three


def test_tries_are_bounded(client, server):
    server.script(PLAIN, *[faults.status(503)] * 9)
    with pytest.raises(Unreachable, match="503"):
        ask(client, server)
    assert len(server.requests) == 1 + client.limits.retries


@pytest.mark.parametrize("code", [400, 401, 403, 404, 408, 410, 422, 451, 499])
def test_a_refusal_is_never_asked_again(client, server, fake_time, code):
    server.script(PLAIN, faults.reason(code, "because"))
    with pytest.raises(Refused, match=f"status {code}: because"):
        ask(client, server)
    assert len(server.requests) == 1
    assert fake_time.slept == []


@pytest.mark.parametrize("code", [201, 204, 206, 300, 305])
def test_a_status_that_answers_nothing_is_a_bad_answer(client, server, code):
    server.script(PLAIN, faults.status(code))
    with pytest.raises(BadPayload, match=str(code)):
        ask(client, server)


def test_the_pause_that_a_service_asks_for_is_kept(client, plain, fake_time):
    plain.script(PLAIN, faults.status(429, retry_after="7"))
    ask(client, plain)
    assert 7 <= fake_time.slept[0] < 9


def test_the_pause_may_be_given_as_a_date(client, plain, fake_time):
    client = replace(client, limits=replace(client.limits, total_s=60.0))
    until = format_datetime(fake_time.now + timedelta(seconds=20), usegmt=True)
    plain.script(PLAIN, faults.status(503, retry_after=until))
    ask(client, plain)
    assert 20 <= fake_time.slept[0] < 22


@pytest.mark.parametrize("pause", ["31", "86400", "9" * 400, "Tue, 20 Oct 2099 12:00:00 GMT"])
def test_a_pause_beyond_our_bound_ends_the_asking_at_once(client, plain, fake_time, pause):
    client = replace(client, limits=replace(client.limits, total_s=1e9))
    plain.script(PLAIN, faults.status(429, retry_after=pause))
    with pytest.raises(Unreachable, match="429"):
        ask(client, plain)
    assert len(plain.requests) == 1
    assert fake_time.slept == []


@pytest.mark.parametrize("pause", ["soon", "-5", "", "1.5"])
def test_a_pause_that_is_none_is_ours_to_choose(client, plain, fake_time, pause):
    plain.script(PLAIN, faults.status(429, retry_after=pause))
    ask(client, plain)
    assert SPREAD_S[0] <= fake_time.slept[0] <= SPREAD_S[1]


def test_no_pause_goes_beyond_the_total_time(client, plain, fake_time):
    plain.script(PLAIN, faults.status(429, retry_after="9"))
    with pytest.raises(Unreachable):
        ask(replace(client, limits=replace(client.limits, total_s=9.0)), plain)
    assert fake_time.slept == []


def test_a_lookup_that_fails_is_told_in_words_and_at_once(client, fake_time):
    with pytest.raises(Unreachable, match="its name could not be looked up"):
        client.get("https://weather.example/", {}, source="the service")
    assert fake_time.slept == []


def test_nobody_listening_is_told_in_words_at_once_and_without_the_address(client, fake_time):
    with pytest.raises(Unreachable, match=r"^the service could not be reached: connection refused$"):
        client.get(closed_port_url() + "/v1/forecast", {"latitude": "51.25"}, source="the service")
    assert fake_time.slept == []


# Encryption.


def self_signed(folder):
    """TLS with a certificate for this machine that nobody vouches for."""
    key, certificate = folder / "key.pem", folder / "certificate.pem"
    order = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost"]
    order += ["-addext", "subjectAltName=IP:127.0.0.1", "-keyout", str(key), "-out", str(certificate)]
    subprocess.run(order, check=True, capture_output=True)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    return context


@pytest.mark.skipif(shutil.which("openssl") is None, reason="makes its certificate with openssl")
def test_a_certificate_that_nobody_vouches_for_is_never_accepted(client, plain, tmp_path, fake_time):
    plain.speak_tls(self_signed(tmp_path))
    with pytest.raises(Unreachable, match="cannot be trusted: self-signed certificate"):
        client.get(plain.url.replace("http:", "https:") + PLAIN, {}, source="the service")
    assert plain.requests == []
    assert fake_time.slept == [], "asking again would not help"


def test_a_service_that_does_not_encrypt_is_not_asked_in_the_clear(client, plain, fake_time):
    with pytest.raises(Unreachable, match="no secure connection"):
        client.get(plain.url.replace("http:", "https:") + PLAIN, {}, source="the service")
    assert plain.requests == []
    assert fake_time.slept == []


# The time limit that holds whatever the service does.


def test_a_job_in_time_gives_what_it_returns_or_raises():
    assert in_time(5.0, lambda _: 3) == 3
    with pytest.raises(KeyError):
        in_time(5.0, lambda _: {}["x"])


def test_a_job_out_of_time_is_left_and_told():
    told = Event()

    def wait(gave_up):
        assert gave_up.wait(5)
        told.set()

    with pytest.raises(TimeoutError):
        in_time(0.05, wait)
    assert told.wait(5)


def test_a_service_that_was_given_up_is_not_left_waiting_beside_the_next_question(client, plain):
    closed = Event()

    def drips(handler, _page):
        handler.start(200, {"Content-Length": "100000"})
        try:
            for _ in range(200):
                handler.wfile.write(b" ")
                handler.wait(0.05)
        except OSError:
            closed.set()

    plain.script(PLAIN, drips)
    with pytest.raises(Unreachable, match="did not finish"):
        ask(replace(client, limits=replace(client.limits, total_s=0.4)), plain)
    assert closed.wait(3)


# Redirects.


def test_a_relative_redirect_is_followed(client, plain):
    plain.script("/old", faults.redirect(PLAIN))
    assert ask(client, plain, "/old").body == b'{"n": 1}'


@pytest.mark.parametrize("code", [301, 302, 303, 307, 308])
def test_the_identity_goes_along_a_redirect(client, plain, code):
    plain.script("/old", faults.redirect(PLAIN, code))
    ask(client, plain, "/old")
    assert plain.requests[1].headers["user-agent"] == client.identity


def test_three_redirects_are_followed_and_not_four(client, plain):
    steps = ["/1", "/2", "/3", "/4"]
    for here, there in zip(steps, [*steps[1:], PLAIN], strict=True):
        plain.script(here, faults.redirect(there), faults.redirect(there))
    assert ask(client, plain, "/2").body == b'{"n": 1}'
    with pytest.raises(Unreachable, match="more than 3 times"):
        ask(client, plain, "/1")


def test_another_host_on_this_machine_is_another_host(client, plain):
    plain.script("/old", faults.redirect(plain.url.replace("127.0.0.1", "127.0.0.2") + PLAIN))
    with pytest.raises(Unreachable, match="another host"):
        ask(client, plain, "/old")
    assert len(plain.requests) == 1
