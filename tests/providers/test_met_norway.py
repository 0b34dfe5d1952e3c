"""MET Norway: what is asked and by whom, the step from one hour to six, and every oddity of its answers."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import faults
import pandas as pd
import pytest
import shapes
import shapes_met_norway as met
from contract import ProviderContract, assert_keeps_contract
from loopback import json_page
from shapes_met_norway import details, series

from providers import met_norway
from providers.errors import BadPayload, BadQuestion, Refused, Unreachable
from providers.met_norway import parse

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)
HERE = {"latitude_deg": 51.25129, "longitude_deg": -1.50999, "elevation_m": 95.4}
SWITCH = pd.Timestamp(2026, 10, 22, 18, tz="UTC")
"""The stamp from which on the invented answer goes by six hours."""


def payload(**options: Any) -> dict[str, Any]:
    return met.complete(NOW, **options)


def read(given: Any):
    return parse(given, fetched_at=NOW)


def forecast(server, client, **options):
    return met_norway.forecast(client, **(HERE | {"url": server.url + met.PATH} | options))


class TestContract(ProviderContract):
    def good(self):
        return read(payload(hours=54, blocks=0))


# What is asked, and by whom.


def test_the_question_is_a_position_cut_to_three_decimals_and_whole_metres(server, client):
    forecast(server, client)
    (seen,) = server.requests
    assert seen.query == {"lat": "51.251", "lon": "-1.509", "altitude": "95"}
    assert seen.headers["user-agent"] == "smokenight/0 (cook@example.org)"


def test_without_a_height_theirs_holds(server, client):
    forecast(server, client, elevation_m=None)
    assert "altitude" not in server.requests[0].query


def test_sea_level_is_a_height(server, client):
    forecast(server, client, elevation_m=0.0)
    assert server.requests[0].query["altitude"] == "0"


def test_without_a_contact_nothing_is_asked(server, client):
    with pytest.raises(BadQuestion, match=r"MET Norway asks who is asking.*`smokenight setup --contact`"):
        forecast(server, replace(client, identity="smokenight/0"))
    assert server.requests == []


def test_the_public_address_is_the_default(client):
    assert met_norway.URL.startswith("https://api.met.no/weatherapi/locationforecast/2.0/complete")
    with pytest.raises(Unreachable, match="looked up"):
        met_norway.forecast(client, **HERE)


# How long it holds.


def test_it_is_fresh_until_their_expires_and_not_asked_before(server, client, fake_time):
    made = forecast(server, client)
    assert made.fresh_until == NOW + timedelta(minutes=31)
    fake_time.pass_by(timedelta(minutes=30, seconds=59))
    forecast(server, client)
    assert len(server.requests) == 1


def test_after_that_it_is_asked_whether_anything_changed(server, client, fake_time):
    before = forecast(server, client)
    fake_time.pass_by(timedelta(minutes=40))
    after = forecast(server, client)
    assert server.requests[1].headers["if-modified-since"] == "Tue, 20 Oct 2026 12:00:00 GMT"
    assert after.hourly.equals(before.hourly)
    assert after.fetched_at == NOW
    assert after.fresh_until == NOW + timedelta(minutes=71), "the Expires of the 304, which has no body"
    assert after.notes == ()


def test_a_new_forecast_takes_the_place_of_the_old_one(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=1))
    after = forecast(server, client)
    assert after.fetched_at == NOW + timedelta(hours=1)
    assert after.hourly.index[0] == pd.Timestamp(2026, 10, 20, 13, tz="UTC")


def test_it_is_as_old_as_their_model_not_as_their_answer(server, client):
    assert forecast(server, client).issued_at == NOW - timedelta(hours=2)


# Answers other than 200.


def test_a_service_that_ends_is_used_with_a_warning(server, client):
    server.script(met.PATH, lambda handler, page: handler.answer(replace(page, status=203)))
    made = forecast(server, client)
    assert_keeps_contract(made)
    (note,) = made.notes
    assert "about to end (status 203)" in note


@pytest.mark.parametrize(("status", "body", "sentence"), [
    (400, met.HTML, "400: Bad request Missing value for lat"),
    (403, b"403 Forbidden", "status 403: 403 Forbidden"),
    (404, b"Outside of coverage area", "404: Outside of coverage area"),
    (422, b"", "status 422"),
])  # fmt: skip
def test_a_refusal_is_asked_once_and_shown(server, client, status, body, sentence):
    server.script(met.PATH, faults.status(status, body))
    with pytest.raises(Refused, match=f"^met-norway answered with .*{sentence}"):
        forecast(server, client)
    assert len(server.requests) == 1


def test_a_position_that_lost_its_way_is_refused_in_html(server, client):
    with pytest.raises(Refused, match="400: Bad request"):
        client.get(server.url + met.PATH, {"lat": ""}, source="met-norway")
    with pytest.raises(Refused, match="403"):
        client.get(server.url + met.PATH, {"lat": "51.25129", "lon": "-1.5"}, source="met-norway")


def test_after_trouble_the_earlier_forecast_stands_in_and_says_why(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=3))
    server.script(met.PATH, *[faults.status(503, b"service unavailable")] * 3)
    made = forecast(server, client)
    assert made.is_stale(fake_time.now)
    (note,) = made.notes
    assert note == (
        "met-norway answered with status 503: service unavailable; the forecast shown is of 2026-10-20 12:00 UTC"
    )


def test_a_place_without_data_is_a_bad_answer_in_their_words(server, client):
    server.pages[met.PATH] = json_page(met.no_data())
    with pytest.raises(BadPayload, match=r"met-norway has no forecast for this place: no data at the given location$"):
        forecast(server, client)


def test_trouble_beside_a_forecast_is_a_note():
    given = payload()
    given["properties"]["meta"]["error"] = "some\nfields are late"
    assert read(given).notes == ("met-norway says of its forecast: some fields are late",)


# What is read.


def test_facts_about_the_forecast():
    made = parse(payload(), fetched_at=NOW, fresh_until=NOW + timedelta(minutes=31))
    assert (made.latitude_deg, made.longitude_deg, made.elevation_m) == (51.251, -1.509, 95.0)
    assert made.fetched_at == NOW
    assert made.fresh_until == NOW + timedelta(minutes=31)
    assert made.source == "met-norway"
    assert (made.credit.text, made.credit.link) == ("Data from MET Norway", "https://api.met.no/")


def test_a_clock_behind_theirs_does_not_put_the_forecast_into_the_future():
    assert parse(payload(), fetched_at=NOW - timedelta(hours=5)).issued_at == NOW - timedelta(hours=5)


def test_an_hour_has_its_readings_and_the_rain_of_the_hour_after_it():
    hourly = read(payload()).hourly
    row = hourly.loc[pd.Timestamp(2026, 10, 21, 5, tz="UTC")]
    assert row["air_c"] == shapes.air_c(datetime(2026, 10, 21, 5, tzinfo=UTC))
    assert row["dewpoint_c"] == pytest.approx(row["air_c"] - 2.0)
    assert (row["humidity_pct"], row["wind_ms"], row["cloud_pct"]) == (87.1, 3.0, 40.2)
    assert row["rain_mm"] == 1.2
    assert row["rain_chance"] == pytest.approx(0.8)
    assert math.isnan(row["sun_wm2"])
    assert hourly.loc[pd.Timestamp(2026, 10, 21, 6, tz="UTC"), "rain_mm"] == 0.0


def test_the_gust_of_an_hour_is_the_larger_of_its_ends():
    gusts = read(payload()).hourly["gust_ms"]
    assert gusts.loc[pd.Timestamp(2026, 10, 21, 9, tz="UTC")] == 8.0, "7.9 at 09:00, 8.0 at 10:00"
    assert gusts.loc[pd.Timestamp(2026, 10, 20, 23, tz="UTC")] == 9.3, "9.3 at 23:00, 7.0 at 00:00"


def test_an_hour_with_one_gust_unknown_has_none():
    given = payload()
    del details(given, 4)["wind_speed_of_gust"]
    gusts = read(given).hourly["gust_ms"]
    assert list(gusts.iloc[2:6].isna()) == [False, True, True, False]


def test_percentiles_are_columns():
    hourly = read(payload()).hourly
    assert (hourly["air_p90_c"] - hourly["air_p10_c"]).round(6).eq(2.0).all()
    assert "air_p50_c" not in hourly.columns


def test_without_percentiles_there_are_no_such_columns():
    made = read(payload(nordic=False))
    assert not {"air_p10_c", "air_p90_c"} & set(made.hourly.columns)
    assert made.hourly["gust_ms"].isna().all()
    assert made.hourly["rain_chance"].isna().all()
    assert_keeps_contract(made)


def test_saturated_air_a_little_over_100_percent_is_100():
    given = payload()
    details(given, 0)["relative_humidity"] = 100.4
    assert read(given).hourly["humidity_pct"].iloc[0] == 100.0


# From one hour to six.


def test_hours_become_blocks_of_six_and_keep_the_contract():
    made = read(payload())
    steps = made.hourly.index.to_series().diff()
    assert set(steps.loc[:SWITCH].dropna()) == {pd.Timedelta(hours=1)}
    assert set(steps.loc[SWITCH:].iloc[1:]) == {pd.Timedelta(hours=6)}
    assert_keeps_contract(made)


def test_extremes_of_the_air_stand_only_where_their_block_is_the_step():
    hourly = read(payload()).hourly
    before, after = hourly.loc[: SWITCH - pd.Timedelta(hours=1)], hourly.loc[SWITCH:].iloc[:-1]
    assert before["air_max_c"].isna().all()
    assert after["air_max_c"].notna().all()
    assert after["air_min_c"].notna().all()
    evening = [shapes.air_c(SWITCH.to_pydatetime() + n * met.HOUR) for n in range(1, 7)]
    assert (after["air_max_c"].iloc[0], after["air_min_c"].iloc[0]) == (max(evening), min(evening))


def test_the_last_hour_before_the_blocks_has_the_rain_of_its_hour_alone():
    given = payload()
    row = [entry["time"] for entry in series(given)].index("2026-10-22T17:00:00Z")
    series(given)[row]["data"]["next_6_hours"] = {"details": {"precipitation_amount": 9.0, "air_temperature_max": 20.0}}
    last = read(given).hourly.loc[SWITCH - pd.Timedelta(hours=1)]
    assert last["rain_mm"] == 0.0
    assert math.isnan(last["air_max_c"])


def test_the_rain_of_a_block_is_that_of_six_hours():
    rain = read(payload()).hourly["rain_mm"]
    night = rain.loc[SWITCH + pd.Timedelta(hours=6)]
    assert night == 1.2, "all that falls from 00:00 to 06:00"
    assert rain.loc[SWITCH] == 0.0


def test_an_hour_of_rain_is_not_taken_for_that_of_six():
    given = payload()
    row = [entry["time"] for entry in series(given)].index("2026-10-23T00:00:00Z")
    data = series(given)[row]["data"]
    data["next_1_hours"] = data.pop("next_6_hours")
    assert math.isnan(read(given).hourly.loc[SWITCH + pd.Timedelta(hours=6), "rain_mm"])


def test_gusts_end_with_the_hours():
    gusts = read(payload()).hourly["gust_ms"]
    assert gusts.loc[: SWITCH - pd.Timedelta(hours=1)].notna().all()
    assert gusts.loc[SWITCH:].isna().all()


def test_the_last_stamp_has_its_readings_and_no_period():
    last = read(payload()).hourly.iloc[-1]
    assert math.isfinite(last["air_c"])
    for name in ("rain_mm", "rain_chance", "gust_ms", "air_max_c"):
        assert math.isnan(last[name])


def test_air_that_does_not_change_has_its_high_at_its_low():
    given = payload()
    details(given, -2, "next_6_hours").update(air_temperature_max=8.0, air_temperature_min=8.0)
    last = read(given).hourly.iloc[-2]
    assert last["air_max_c"] == last["air_min_c"] == 8.0


@pytest.mark.parametrize("lost", [1, 2])
def test_an_hour_left_out_makes_a_longer_step_whose_rain_is_unknown(lost):
    given = payload()
    del series(given)[10 : 10 + lost]
    hourly = read(given).hourly
    assert math.isnan(hourly["rain_mm"].iloc[9])
    assert math.isnan(hourly["gust_ms"].iloc[9])
    assert hourly["rain_mm"].iloc[10] == 0.0


def test_a_step_of_more_than_six_hours_is_an_unknown_stretch():
    given = payload()
    del series(given)[-3]
    made = read(given)
    assert len(made.hourly) == len(series(payload())), "a stamp of which nothing is known stands there"
    assert made.hourly.iloc[-3].isna().all()
    assert made.hourly.iloc[-4].notna().any()
    assert_keeps_contract(made)


# What may be missing.


def test_null_is_unknown_and_zero_is_zero():
    given = payload()
    details(given, 3)["air_temperature"] = None
    details(given, 4).update(air_temperature=0, air_temperature_percentile_10=-1)
    air = read(given).hourly["air_c"]
    assert math.isnan(air.iloc[3])
    assert air.iloc[4] == 0.0


@pytest.mark.parametrize("drop", [
    lambda entry: entry["data"].pop("next_1_hours"),
    lambda entry: entry["data"]["next_1_hours"].pop("details"),
    lambda entry: entry["data"]["next_1_hours"]["details"].clear(),
])  # fmt: skip
def test_a_block_without_rain_is_unknown_rain(drop):
    given = payload()
    drop(series(given)[5])
    hourly = read(given).hourly
    assert math.isnan(hourly["rain_mm"].iloc[5])
    assert hourly["rain_mm"].iloc[6] == 0.0
    assert math.isfinite(hourly["air_c"].iloc[5])


def test_a_stamp_without_an_instant_is_unknown_air():
    given = payload()
    del series(given)[5]["data"]["instant"]
    assert math.isnan(read(given).hourly["air_c"].iloc[5])


def test_stamps_at_the_end_without_anything_are_left_out():
    given = payload()
    details(given, -1).clear()
    assert len(read(given).hourly) == len(series(given)) - 1


def test_a_position_that_is_not_said_is_not_known():
    given = payload()
    given["geometry"]["coordinates"].pop()
    assert read(given).elevation_m is None
    del given["geometry"]
    assert read(given).latitude_deg is None


def test_fields_that_we_do_not_know_are_left_alone():
    given = payload()
    details(given, 0)["a_new_one"] = "text"
    given["properties"]["meta"]["units"]["a_new_one"] = 5
    assert_keeps_contract(read(given))
