"""Open-Meteo: what is asked, and what becomes of every shape of answer."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta
from typing import Any

import faults
import numpy as np
import pandas as pd
import pytest
import shapes
from asking import HERE, forecast
from contract import ProviderContract, assert_keeps_contract
from fake_time import NOON as NOW
from hypothesis import given
from hypothesis import strategies as st
from loopback import Page

from providers import open_meteo
from providers.errors import BadPayload, Unreachable
from providers.open_meteo import FIELDS, parse


def payload(**options: Any) -> dict[str, Any]:
    asked = {"past_days": 1, "forecast_days": 2, "wind_speed_unit": "ms", "timeformat": "unixtime"}
    return shapes.open_meteo_forecast(NOW, **(asked | options))


def hour(day: int, clock: int) -> pd.Timestamp:
    return pd.Timestamp(2026, 10, day, clock, tz="UTC")


class TestContract(ProviderContract):
    def good(self):
        return parse(payload(), fetched_at=NOW)


# What is asked.


def test_the_question_is_in_universal_time_metres_a_second_and_16_days(server, client):
    open_meteo.fetch(client, **HERE, url=server.url + "/v1/forecast")
    (seen,) = server.requests
    assert seen.query == {
        "latitude": "51.251",
        "longitude": "-1.509",
        "elevation": "95",
        "hourly": ",".join(FIELDS),
        "wind_speed_unit": "ms",
        "timezone": "GMT",
        "timeformat": "unixtime",
        "past_days": "1",
        "forecast_days": "16",
    }


def test_without_an_elevation_theirs_holds(server, client):
    open_meteo.fetch(client, latitude_deg=0.0, longitude_deg=0.0, url=server.url + "/v1/forecast")
    assert "elevation" not in server.requests[0].query


def test_the_public_addresses_are_the_defaults(client):
    with pytest.raises(Unreachable, match="looked up"):
        open_meteo.forecast(client, **HERE)


def test_within_the_hour_nothing_is_asked_again(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(minutes=59))
    again = forecast(server, client)
    assert len(server.requests) == 2
    assert again.fetched_at == NOW
    fake_time.pass_by(timedelta(minutes=1))
    forecast(server, client)
    assert len(server.asked("/v1/forecast")) == 2


# What is read.


def test_facts_about_the_forecast():
    made = parse(payload(), fetched_at=NOW)
    assert (made.latitude_deg, made.longitude_deg, made.elevation_m) == (51.25, -1.5, 95.0)
    assert made.issued_at == made.fetched_at == NOW
    assert made.fresh_until == NOW + timedelta(hours=1)
    assert made.source == "open-meteo"
    assert made.credit.text == "Weather data by Open-Meteo.com"
    assert made.credit.link == "https://open-meteo.com/"


def test_readings_stay_at_their_stamp():
    hourly = parse(payload(), fetched_at=NOW).hourly
    row = hourly.loc[hour(20, 15)]
    assert row["air_c"] == shapes.air_c(datetime(2026, 10, 20, 15, tzinfo=UTC))
    assert row["dewpoint_c"] == row["air_c"] - 2.0
    assert (row["humidity_pct"], row["wind_ms"], row["cloud_pct"]) == (87.0, 3.0, 40.0)


def test_what_they_stamp_at_the_end_of_an_hour_is_moved_to_its_start():
    hourly = parse(payload(), fetched_at=NOW).hourly
    assert hourly.loc[hour(20, 5), "rain_mm"] == 1.2
    assert hourly.loc[hour(20, 6), "rain_mm"] == 0.0
    assert hourly.loc[hour(20, 5), "rain_chance"] == pytest.approx(0.8)
    assert hourly.loc[hour(20, 9), "gust_ms"] == 8.0, "stamped 10:00, 7 + 10/10"
    assert hourly.loc[hour(20, 7), "sun_wm2"] > 0, "the sun rises at 07:00"
    assert hourly.loc[hour(20, 6), "sun_wm2"] == 0.0
    assert hourly.loc[hour(20, 16), "sun_wm2"] > 0, "and sets at 17:00"
    assert hourly.loc[hour(20, 17), "sun_wm2"] == 0.0


def test_the_last_hour_has_readings_and_no_period():
    last = parse(payload(), fetched_at=NOW).hourly.iloc[-1]
    assert math.isfinite(last["air_c"])
    assert math.isnan(last["rain_mm"])
    assert math.isnan(last["sun_wm2"])


def test_hours_at_the_end_of_which_nothing_is_known_are_left_out():
    given = payload()
    hourly = parse(given, fetched_at=NOW).hourly
    assert len(hourly) == len(given["hourly"]["time"]) - shapes.NULL_TAIL
    assert hourly.index[0] == hour(19, 0)


def test_null_is_unknown_and_zero_is_zero():
    given = payload()
    given["hourly"]["temperature_2m"][3:5] = [None, 0]
    given["hourly"]["precipitation"][4] = None
    hourly = parse(given, fetched_at=NOW).hourly
    assert math.isnan(hourly["air_c"].iloc[3])
    assert hourly["air_c"].iloc[4] == 0.0
    assert math.isnan(hourly["rain_mm"].iloc[3])


def test_a_variable_of_nulls_alone_is_a_column_of_unknowns():
    given = payload()
    given["hourly"]["precipitation_probability"] = [None] * len(given["hourly"]["time"])
    made = parse(given, fetched_at=NOW)
    assert made.hourly["rain_chance"].isna().all()
    assert_keeps_contract(made)


def test_a_variable_that_goes_on_longer_than_the_air_keeps_its_hours():
    given = payload()
    given["hourly"]["cloud_cover"][-1] = 100
    hourly = parse(given, fetched_at=NOW).hourly
    assert len(hourly) == len(given["hourly"]["time"])
    assert math.isnan(hourly["air_c"].iloc[-1])


def test_a_missing_position_is_not_known():
    given = payload()
    del given["elevation"]
    given["latitude"] = None
    made = parse(given, fetched_at=NOW)
    assert made.elevation_m is None
    assert made.latitude_deg is None


def test_saturated_air_a_little_over_100_percent_is_100():
    given = payload()
    given["hourly"]["relative_humidity_2m"][0] = 100.4
    assert parse(given, fetched_at=NOW).hourly["humidity_pct"].iloc[0] == 100.0


@pytest.mark.parametrize("day", [datetime(2026, 3, 29, 12, tzinfo=UTC), datetime(2026, 10, 25, 12, tzinfo=UTC)])
def test_a_change_of_the_clocks_leaves_every_hour_in_place(day):
    given = shapes.open_meteo_forecast(day, past_days=1, wind_speed_unit="ms", timeformat="unixtime")
    hourly = parse(given, fetched_at=day).hourly
    assert (np.diff(hourly.index.asi8) == np.diff(hourly.index.asi8)[0]).all()
    assert hourly.index[24] == pd.Timestamp(day.replace(hour=0))


# What is refused, and how the message names it.


def set_at(name: str, row: int, value: Any):
    def change(given):
        given["hourly"][name][row] = value

    return change


def put(part: str, name: str, value: Any):
    def change(given):
        given[part][name] = value

    return change


def drop(part: str, name: str):
    return lambda given: given[part].pop(name)


def times(change):
    def spoil(given):
        given["hourly"]["time"] = change(given["hourly"]["time"])

    return spoil


TEN_YEARS_S = 3653 * 86400
BAD = {
    "no hourly": (lambda given: given.pop("hourly"), "no 'hourly'"),
    "no units": (lambda given: given.pop("hourly_units"), "no 'hourly_units'"),
    "units are a list": (lambda given: given.update(hourly_units=[]), "'hourly_units' is a list"),
    "one unit missing": (drop("hourly_units", "cloud_cover"), "cloud_cover comes in no unit, not in '%'"),
    "wind in km/h": (put("hourly_units", "wind_speed_10m", "km/h"), "wind_speed_10m comes in 'km/h', not in 'm/s'"),
    "air in Fahrenheit": (put("hourly_units", "temperature_2m", "°F"), "temperature_2m comes in '°F'"),
    "unit is no text": (put("hourly_units", "precipitation", {"mm": 1}), "precipitation comes in"),
    "times as text": (put("hourly_units", "time", "iso8601"), "time comes in 'iso8601', not in 'unixtime'"),
    "variable missing": (drop("hourly", "wind_gusts_10m"), "no 'wind_gusts_10m'"),
    "variable null": (put("hourly", "wind_gusts_10m", None), "'wind_gusts_10m' is null, not a list"),
    "variable short": (lambda given: given["hourly"]["cloud_cover"].pop(), "cloud_cover has 71 values for 72"),
    "no times": (put("hourly", "time", []), "no hours"),
    "text for a number": (set_at("temperature_2m", 7, "8.1"), r"temperature_2m\[7\] is a text"),
    "truth for a number": (set_at("precipitation", 2, True), r"precipitation\[2\] is true or false"),
    "list for a number": (set_at("cloud_cover", 2, [1]), r"cloud_cover\[2\] is a list"),
    "air too hot": (set_at("temperature_2m", 0, 61), r"temperature_2m\[0\] is 61, outside -90 to 60"),
    "air too cold": (set_at("temperature_2m", 0, -91.5), r"temperature_2m\[0\] is -91.5"),
    "missing as a number": (set_at("relative_humidity_2m", 1, -999), r"relative_humidity_2m\[1\] is -999"),
    "rain below zero": (set_at("precipitation", 1, -0.5), r"precipitation\[1\] is -0.5"),
    "chance over 100": (set_at("precipitation_probability", 1, 101), r"precipitation_probability\[1\] is 101"),
    "a number of any length": (set_at("temperature_2m", 1, 10**400), r"temperature_2m\[1\] is beyond"),
    "nan": (set_at("temperature_2m", 1, math.nan), r"temperature_2m\[1\] is nan"),
    "infinity": (set_at("wind_speed_10m", 1, math.inf), r"wind_speed_10m\[1\] is inf"),
    "air all null": (lambda given: put("hourly", "temperature_2m", [None] * 72)(given), "nothing but null"),
    "time repeated": (times(lambda t: [*t[:5], t[4], *t[6:]]), r"time\[5\] is not after"),
    "time going back": (times(lambda t: t[::-1]), r"time\[1\] is not after"),
    "hour left out": (times(lambda t: [*t[:5], *(s + 3600 for s in t[5:])]), r"time\[5\] is not one hour after"),
    "ten years off": (times(lambda t: [s + TEN_YEARS_S for s in t]), r"time\[0\] is more than 40 days"),
    "milliseconds": (times(lambda t: [s * 1000 for s in t]), r"time\[0\] is more than 40 days"),
    "time of any length": (times(lambda t: [10**400, *t[1:]]), r"time\[0\] is more than 40 days"),
    "time is a text": (times(lambda t: ["2026-10-19T00:00", *t[1:]]), r"time\[0\] is a text"),
    "time is truth": (times(lambda t: [True, *t[1:]]), r"time\[0\] is true or false"),
    "time is null": (times(lambda t: [None, *t[1:]]), r"time\[0\] is null"),
    "latitude a text": (lambda given: given.update(latitude="51"), "latitude is a text"),
    "longitude off the globe": (lambda given: given.update(longitude=181), "longitude is 181"),
}


@pytest.mark.parametrize(("change", "sentence"), BAD.values(), ids=BAD.keys())
def test_an_answer_out_of_shape_is_refused_with_the_name_of_what_is_wrong(change, sentence):
    given = payload()
    change(given)
    with pytest.raises(BadPayload, match=sentence) as caught:
        parse(given, fetched_at=NOW)
    assert str(caught.value).startswith("open-meteo")


@pytest.mark.parametrize("top", [[], [payload()], None, "text", 3])
def test_anything_but_one_object_is_refused(top):
    with pytest.raises(BadPayload, match="where one place was asked for"):
        parse(top, fetched_at=NOW)


@given(st.integers(0, 71), st.integers(0, len(FIELDS) - 1), st.floats(allow_nan=False))
def test_a_value_is_kept_or_refused_never_changed_unseen(row, which, value):
    name, field = list(FIELDS.items())[which]
    given = payload()
    given["hourly"][name][row] = value
    try:
        made = parse(given, fetched_at=NOW)
    except BadPayload as error:
        assert f"{name}[{row}]" in str(error)  # noqa: PT017 - the other way out is as good
        return
    assert_keeps_contract(made)
    at = row - 1 if field.column in ("rain_mm", "rain_chance", "gust_ms", "sun_wm2") else row
    if at >= 0:
        kept = made.hourly[field.column].iloc[at]
        low, high = field.bounds.clip or (-math.inf, math.inf)
        assert kept == pytest.approx(min(max(value / field.per_ours, low), high))


# With an earlier answer at hand.


def test_an_old_forecast_says_of_when_it_is_and_why(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=5))
    server.script("/v1/forecast", *[faults.hang_up] * 3)
    made = forecast(server, client)
    assert made.fetched_at == NOW
    assert made.is_stale(fake_time.now)
    (note,) = made.notes
    assert note.startswith("open-meteo could not be reached")
    assert note.endswith("; the forecast shown is of 2026-10-20 12:00 UTC")


def test_a_forecast_that_the_service_confirms_is_fresh_again(server, client, fake_time):
    """They send no validators today; should they begin to, a 304 must not leave the forecast looking old."""
    body = json.dumps(payload()).encode()
    server.pages["/v1/forecast"] = Page(body, {"ETag": '"run 06"'})
    forecast(server, client, ensemble=False)
    fake_time.pass_by(timedelta(hours=2))
    made = forecast(server, client, ensemble=False)
    assert server.requests[1].headers["if-none-match"] == '"run 06"'
    assert made.fetched_at == NOW
    assert not made.is_stale(fake_time.now)
    assert made.notes == ()
