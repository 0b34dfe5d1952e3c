"""Every fault on the way to Open-Meteo, and its outcome: first with nothing at hand, then with an earlier answer."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta

import faults
import pytest
from contract import assert_keeps_contract
from fault_outcomes import FAILING, OUTCOMES, PATH, Outcome
from loopback import closed_port_url

from providers import open_meteo
from providers.errors import BadPayload, Unreachable

MOST_S = 6.0
"""No fault may hold a test for longer: three short silences or a second of drips, and a slow machine."""
LITTLE = 32 * faults.MB
"""Of 200 MB; what a service can push into the buffers of two sockets before it notices that nobody reads."""


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
