"""Every fault on the way to Open-Meteo, and its outcome: first with nothing at hand, then with an earlier answer."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import faults
import pytest
from contract import assert_keeps_contract
from loopback import closed_port_url

from providers import open_meteo
from providers.errors import BadPayload, Refused, Unreachable, WeatherError

if TYPE_CHECKING:
    from loopback import Fault

PATH = "/v1/forecast"
MOST_S = 6.0
"""No fault may hold a test for longer: three short silences or a second of drips, and a slow machine."""
LITTLE = 32 * faults.MB
"""Of 200 MB; what a service can push into the buffers of two sockets before it notices that nobody reads."""


@dataclass(frozen=True)
class Outcome:
    """What becomes of it."""

    error: type[WeatherError] | None
    """None: the forecast comes all the same."""
    says: str = ""
    """Words of the message."""
    asks: int = 1
    """Requests that were made."""
    total_s: float = 30.0
    read_s: float = 5.0
    """The time limits; short where only they end the matter."""


TEN_YEARS_S = 3653 * 86400
TRIES = 3
OUTCOMES: dict[str, tuple[list[Fault], Outcome]] = {
    # trouble that passes
    "500 once": ([faults.status(500)], Outcome(None, asks=2)),
    "503 twice": ([faults.status(503)] * 2, Outcome(None, asks=3)),
    "429 once, no Retry-After": ([faults.reason(429, "Too many concurrent requests")], Outcome(None, asks=2)),
    "429 with Retry-After": ([faults.status(429, retry_after="2")], Outcome(None, asks=2)),
    "reset once": ([faults.hang_up], Outcome(None, asks=2)),
    "cut short once": ([faults.cut_body], Outcome(None, asks=2)),
    "silent once": ([faults.silent], Outcome(None, asks=2, read_s=0.5)),
    "301 to a relative address": ([faults.redirect_here], Outcome(None, asks=2)),
    # trouble that does not
    "500 always": ([faults.status(500)] * TRIES, Outcome(Unreachable, "status 500", TRIES)),
    "503 always": ([faults.reason(503, "overloaded")] * TRIES, Outcome(Unreachable, "503: overloaded", TRIES)),
    "429 always": ([faults.reason(429, "try tomorrow")] * TRIES, Outcome(Unreachable, "try tomorrow", TRIES)),
    "429 for an hour": ([faults.status(429, retry_after="3600")], Outcome(Unreachable, "429")),
    "reset always": ([faults.hang_up] * TRIES, Outcome(Unreachable, "could not be reached", TRIES)),
    "silent always": ([faults.silent] * TRIES, Outcome(Unreachable, "silent for 0.2 s", TRIES, read_s=0.2)),
    "stalled body": ([faults.stalled_body] * TRIES, Outcome(Unreachable, "silent for 0.2 s", TRIES, read_s=0.2)),
    "headers a byte at a time": ([faults.slow_headers], Outcome(Unreachable, "did not finish .* 1 s", total_s=1.0)),
    "body a byte at a time": ([faults.slow_body], Outcome(Unreachable, "did not finish .* 1 s", total_s=1.0)),
    "cut short always": ([faults.cut_body] * TRIES, Outcome(BadPayload, "cut short", TRIES)),
    "not HTTP": ([faults.not_http] * TRIES, Outcome(Unreachable, "could not be reached", TRIES)),
    # refusals, asked once
    "400 with a reason": ([faults.reason(400, "Latitude must be in range")], Outcome(Refused, "400: Latitude must be")),
    "403": ([faults.status(403)], Outcome(Refused, "status 403")),
    "403 cut short": ([faults.refusal_cut_short], Outcome(Refused, "status 403$")),
    "404 as a web page": ([faults.status(404, faults.HTML)], Outcome(Refused, "404: Sign in to the guest network")),
    "reason with control marks": ([faults.reason(400, "a\x1b[2Jb\r\nc")], Outcome(Refused, r"400: a \[2Jb c")),
    "reason without end": ([faults.reason(400, "x" * 9000)], Outcome(Refused, "400: x{199}…")),
    # redirects that are not followed
    "redirect loop": ([faults.redirect(PATH)] * 9, Outcome(Unreachable, "more than 3 times", 4)),
    "redirect to another host": ([faults.redirect("http://127.0.0.2:9/")], Outcome(Unreachable, "another host")),
    "redirect to nowhere": ([faults.redirect("")], Outcome(Unreachable, "without saying where")),
    # answers that are none
    "304 that nobody asked for": ([faults.not_modified], Outcome(BadPayload, "304")),
    "204": ([faults.status(204)], Outcome(BadPayload, "204")),
    "a web page": ([faults.says(faults.HTML)], Outcome(BadPayload, "web page")),
    "nothing": ([faults.says(b"")], Outcome(BadPayload, "nothing")),
    "bare nan": ([faults.says(faults.NOT_COVERED)], Outcome(BadPayload, "does not cover this place")),
    "a list for an object": ([faults.spoilt(lambda p: [p])], Outcome(BadPayload, "a list where an object")),
    "cut gzip": ([faults.cut_gzip], Outcome(BadPayload, "cut short")),
    "broken gzip": ([faults.broken_gzip], Outcome(BadPayload, "cannot be unpacked")),
    "nested gzip": ([faults.nested_gzip], Outcome(BadPayload, "packed")),
    "200 MB": ([faults.endless], Outcome(BadPayload, "more than 8 MB")),
    "200 MB in 200 kB": ([faults.gzip_bomb], Outcome(BadPayload, "more than 8 MB")),
    "nesting without end": ([faults.says(b'{"a":' * 200_000)], Outcome(BadPayload, "not JSON")),
    "text for numbers": (
        [faults.with_hours("temperature_2m", lambda v: [str(x) for x in v])],
        Outcome(BadPayload, r"temperature_2m\[0\] is a text"),
    ),
    "times repeated": ([faults.with_hours("time", lambda v: [v[0], *v[:-1]])], Outcome(BadPayload, r"time\[1\]")),
    "times unsorted": ([faults.with_hours("time", lambda v: v[::-1])], Outcome(BadPayload, r"time\[1\]")),
    "times ten years off": (
        [faults.with_hours("time", lambda v: [s + TEN_YEARS_S for s in v])],
        Outcome(BadPayload, "40 days"),
    ),
}  # fmt: skip


FINE = Outcome(None)


def ask(server, client, outcome=FINE):
    limits = replace(client.limits, total_s=outcome.total_s, read_s=outcome.read_s)
    client = replace(client, limits=limits)
    return open_meteo.forecast(client, latitude_deg=51.25, longitude_deg=-1.5, url=server.url + PATH, ensemble=False)


@pytest.mark.parametrize(("script", "outcome"), OUTCOMES.values(), ids=OUTCOMES.keys())
def test_a_fault_has_its_stated_outcome(server, client, script, outcome):
    server.script(PATH, *script)
    began = time.monotonic()
    if outcome.error is None:
        assert_keeps_contract(ask(server, client, outcome))
    else:
        with pytest.raises(outcome.error, match=outcome.says) as caught:
            ask(server, client, outcome)
        assert str(caught.value).isprintable()
        assert len(str(caught.value)) < 300
    assert time.monotonic() - began < MOST_S
    assert len(server.requests) == outcome.asks
    assert server.sent_bytes < LITTLE


FAILING = {name: (script, outcome) for name, (script, outcome) in OUTCOMES.items() if outcome.error is not None}


@pytest.mark.parametrize(("script", "outcome"), FAILING.values(), ids=FAILING.keys())
def test_after_any_fault_the_earlier_forecast_stands_in_and_says_why(server, client, fake_time, script, outcome):
    before = ask(server, client)
    fake_time.pass_by(timedelta(hours=3))
    server.script(PATH, *script)
    after = ask(server, client, outcome)
    assert after.hourly.equals(before.hourly)
    assert after.fetched_at == before.fetched_at
    assert after.is_stale(fake_time.now)
    (note,) = after.notes
    assert "the forecast shown is of 2026-10-20 12:00 UTC" in note


def test_nobody_at_home_is_unreachable(client):
    with pytest.raises(Unreachable, match="connection refused"):
        open_meteo.forecast(client, latitude_deg=51.25, longitude_deg=-1.5, url=closed_port_url() + PATH)


def test_after_the_fault_all_is_well_again(server, client, fake_time):
    server.script(PATH, faults.says(faults.HTML))
    with pytest.raises(BadPayload):
        ask(server, client)
    assert ask(server, client).notes == ()
