"""The members of Open-Meteo's ensemble, and how they join the forecast."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import faults
import pandas as pd
import pytest
import shapes
from asking import HERE, forecast
from contract import assert_keeps_contract, assert_members
from fake_time import NOON as NOW

from providers import open_meteo
from providers.errors import BadPayload
from providers.open_meteo import ENSEMBLE_HOLDS, HOLDS, parse_ensemble


def ensemble(**options: Any) -> dict[str, Any]:
    return shapes.open_meteo_ensemble(NOW, **({"past_days": 1, "timeformat": "unixtime"} | options))


def hour(day: int, clock: int) -> pd.Timestamp:
    return pd.Timestamp(2026, 10, day, clock, tz="UTC")


def test_the_ensemble_is_asked_for_the_air_of_one_model_alone(server, client):
    open_meteo.fetch_ensemble(client, **HERE, url=server.url + "/v1/ensemble")
    query = server.requests[0].query
    assert query["hourly"] == "temperature_2m"
    assert query["models"] == "ecmwf_ifs025_ensemble"


def test_the_members_are_the_control_run_and_all_others():
    members = parse_ensemble(ensemble(), fetched_at=NOW)
    assert list(members.columns) == [f"air_c_{n:02d}" for n in range(51)]
    assert_members(members)
    assert members.loc[hour(21, 15), "air_c_07"] == shapes.air_c(datetime(2026, 10, 21, 15, tzinfo=UTC), 7)


def test_a_control_run_that_ends_early_takes_nobody_with_it():
    members = parse_ensemble(ensemble(), fetched_at=NOW)
    assert math.isnan(members["air_c_00"].iloc[-1])
    assert members.iloc[-1].notna().sum() == 50


def test_an_hour_with_too_few_members_is_unknown_throughout():
    given = ensemble(members=20)
    for n in range(12):
        given["hourly"][f"temperature_2m_member{n + 1:02d}"][30] = None
    members = parse_ensemble(given, fetched_at=NOW)
    assert members.iloc[30].isna().all(), "8 and the control are 9"
    given["hourly"]["temperature_2m_member01"][30] = 5.0
    assert parse_ensemble(given, fetched_at=NOW).iloc[30].notna().sum() == 10


def test_fewer_than_ten_members_are_no_ensemble():
    assert parse_ensemble(ensemble(members=9), fetched_at=NOW).shape[1] == 10
    with pytest.raises(BadPayload, match="at least 10 members"):
        parse_ensemble(ensemble(members=8), fetched_at=NOW)


def test_other_variables_are_no_members():
    given = ensemble()
    spread = [1.0] * len(given["hourly"]["time"])
    for name in ("temperature_2m_spread", "temperature_850hPa", "temperature_2m_member", "xtemperature_2m_member01"):
        given["hourly"][name] = spread
    assert parse_ensemble(given, fetched_at=NOW).shape[1] == 51


def test_a_member_given_twice_is_refused():
    given = ensemble()
    given["hourly"]["temperature_2m_member1"] = given["hourly"]["temperature_2m_member01"]
    given["hourly_units"]["temperature_2m_member1"] = "°C"
    with pytest.raises(BadPayload, match="twice"):
        parse_ensemble(given, fetched_at=NOW)


def test_a_member_in_another_unit_is_refused():
    given = ensemble()
    given["hourly_units"]["temperature_2m_member31"] = "°F"
    with pytest.raises(BadPayload, match="member31 comes in '°F'"):
        parse_ensemble(given, fetched_at=NOW)


def test_forecast_and_members_come_together(server, client):
    made = forecast(server, client)
    assert_keeps_contract(made)
    assert made.members.shape[1] == 51
    assert len(made.hourly) == 17 * 24 - shapes.NULL_TAIL
    assert made.notes == ()


def test_members_may_be_left_out(server, client):
    assert forecast(server, client, ensemble=False).members is None
    assert server.asked("/v1/ensemble") == []


ENSEMBLE_FAULTS = {
    "refused": (faults.reason(400, "no such model"), "no such model"),
    "a web page": (faults.says(faults.HTML), "web page"),
    "not covered": (faults.says(faults.NOT_COVERED), "does not cover this place"),
    "one member wrong": (faults.with_hours("temperature_2m_member03", lambda _: ["x"] * 408), "member03"),
}


@pytest.mark.parametrize(("fault", "sentence"), ENSEMBLE_FAULTS.values(), ids=ENSEMBLE_FAULTS.keys())
def test_an_ensemble_that_fails_is_a_note_and_never_loses_the_forecast(server, client, fault, sentence):
    server.script("/v1/ensemble", fault)
    made = forecast(server, client)
    assert made.members is None
    (note,) = made.notes
    assert note.startswith("no ensemble with this forecast: open-meteo ensemble")
    assert sentence in note


def test_members_are_asked_for_every_three_hours_beside_a_forecast_that_is_asked_for_every_hour(
    server, client, fake_time
):
    for _ in range(7):
        forecast(server, client)
        fake_time.pass_by(timedelta(hours=1))
    assert len(server.asked("/v1/forecast")) == 7
    assert len(server.asked("/v1/ensemble")) == 3


def test_a_day_of_one_cell_counts_as_less_than_a_hundredth_of_the_free_requests(server, client):
    """Open-Meteo's weights (its terms and pricing pages): variables x members / 10, x days / 14 beyond
    two weeks, at least 1; under 10,000 a day are free."""
    forecast(server, client)
    weights = []
    for path, members in (("/v1/forecast", 1), ("/v1/ensemble", 51)):
        query = server.asked(path)[0].query
        tenths = len(query["hourly"].split(",")) * members / 10
        days = int(query["past_days"]) + int(query["forecast_days"])
        weights.append(max(1.0, tenths, tenths * days / 14))
    day = timedelta(days=1)
    assert day / HOLDS * weights[0] + day / ENSEMBLE_HOLDS * weights[1] < 10_000 / 100


def test_members_a_few_hours_older_are_used_and_said_to_be(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=5))
    server.script("/v1/ensemble", *[faults.status(500)] * 3)
    made = forecast(server, client)
    assert made.members is not None
    assert made.notes[0].endswith("; the ensemble shown is of 2026-10-20 12:00 UTC")


def test_members_over_a_day_older_are_not_laid_over_a_new_forecast(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=25))
    server.script("/v1/ensemble", *[faults.status(500)] * 3)
    made = forecast(server, client)
    assert made.members is None
    assert "too old" in made.notes[0]


def test_an_ensemble_in_trouble_is_tried_once_less_than_the_forecast(server, client):
    server.script("/v1/ensemble", *[faults.status(503)] * 9)
    assert forecast(server, client).members is None
    assert len(server.asked("/v1/ensemble")) == client.limits.retries
