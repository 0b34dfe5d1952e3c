"""The US National Weather Service: from a place to its square, and from merged intervals to hours."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import faults
import pandas as pd
import pytest
import shapes
import shapes_us_nws as nws
from contract import ProviderContract, assert_keeps_contract
from loopback import json_page
from shapes_us_nws import layer, with_layer

from providers import us_nws
from providers.errors import BadPayload, Refused, Unreachable
from providers.us_nws import parse
from providers.us_nws_layers import FIELDS

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)
HERE = {"latitude_deg": 51.25129, "longitude_deg": -1.50999}
ELSEWHERE = "/gridpoints/ZZY/7,0"


def payload(**options: Any) -> dict[str, Any]:
    return nws.grid(NOW, **options)


def read(given: Any, fetched_at: datetime = NOW):
    return parse(given, fetched_at=fetched_at)


def column(name: str, *intervals: tuple[datetime, int, Any]) -> pd.Series:
    return read(with_layer(NOW, name, *intervals)).hourly[FIELDS[name].column]


def hour(day: int, clock: int) -> pd.Timestamp:
    return pd.Timestamp(2026, 10, day, clock, tz="UTC")


def forecast(server, client):
    return us_nws.forecast(client, **HERE, url=server.url)


def page(made):
    """A page of ours in the place of the usual one."""
    return lambda handler, _page: handler.answer(made)


class TestContract(ProviderContract):
    def good(self):
        return read(payload())


# From a place to its square, and to its grid.


def test_the_place_is_asked_for_its_square_and_the_square_for_its_grid(server, client):
    made = forecast(server, client)
    assert [seen.path for seen in server.requests] == [nws.POINT, nws.GRID]
    assert_keeps_contract(made)
    assert made.notes == ()


def test_geo_json_is_asked_for_and_nothing_that_they_do_not_know(server, client):
    forecast(server, client)
    for seen in server.requests:
        assert seen.headers["accept"] == "application/geo+json"
        assert seen.headers["user-agent"] == "smokenight/0 (cook@example.org)"
        assert seen.query == {}


def test_a_parameter_that_they_do_not_know_is_refused_in_their_words(server, client):
    with pytest.raises(Refused, match="400: Query parameter 'nocache' is not recognized"):
        client.get(server.url + nws.GRID, {"nocache": "1"}, source="us-nws")


def test_the_public_address_is_the_default(client):
    assert us_nws.URL == "https://api.weather.gov"
    with pytest.raises(Unreachable, match="looked up"):
        us_nws.forecast(client, **HERE)


def test_the_square_is_kept_for_a_week(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(days=6, hours=23))
    forecast(server, client)
    assert len(server.asked(nws.POINT)) == 1
    fake_time.pass_by(timedelta(hours=2))
    forecast(server, client)
    assert len(server.asked(nws.POINT)) == 2


def test_the_grid_is_kept_for_as_long_as_they_say(server, client, fake_time):
    made = forecast(server, client)
    assert made.fresh_until == NOW + timedelta(hours=1)
    fake_time.pass_by(timedelta(minutes=59))
    forecast(server, client)
    assert len(server.asked(nws.GRID)) == 1


def test_the_grid_is_kept_for_half_an_hour_where_they_do_not_say(server, client, fake_time):
    server.pages[nws.GRID] = json_page(payload())
    assert forecast(server, client).fresh_until == NOW + timedelta(minutes=30)


def test_an_unchanged_grid_is_not_sent_again(server, client, fake_time):
    server.pages[nws.GRID] = json_page(payload(), **{"Last-Modified": "Tue, 20 Oct 2026 10:00:00 GMT"})
    before = forecast(server, client)
    fake_time.pass_by(timedelta(minutes=31))
    after = forecast(server, client)
    assert server.asked(nws.GRID)[1].headers["if-modified-since"] == "Tue, 20 Oct 2026 10:00:00 GMT"
    assert after.fetched_at == before.fetched_at == NOW
    assert after.fresh_until == NOW + timedelta(minutes=61)


def test_a_relative_redirect_is_followed(server, client):
    server.script(nws.POINT, faults.redirect("/points/51.25,-1.5"))
    server.pages["/points/51.25,-1.5"] = json_page(nws.point())
    assert_keeps_contract(forecast(server, client))
    assert [seen.path for seen in server.requests] == [nws.POINT, "/points/51.25,-1.5", nws.GRID]


# When a square is gone.


def test_a_place_outside_is_refused_in_their_words(server, client):
    server.script(nws.POINT, page(nws.invalid_point()))
    with pytest.raises(Refused, match=r"^us-nws answered with status 404: Unable to provide data for this point$"):
        forecast(server, client)
    assert len(server.requests) == 1


def test_a_square_that_moved_is_asked_for_once_more(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(days=2))
    server.pages[nws.GRID] = nws.invalid_point()
    server.pages[nws.POINT] = json_page(nws.point("ZZY", 7, 0))
    server.pages[ELSEWHERE] = json_page(nws.grid(fake_time.now))
    made = forecast(server, client)
    assert [seen.path for seen in server.requests[2:]] == [nws.GRID, nws.POINT, ELSEWHERE]
    assert made.fetched_at == fake_time.now
    assert made.notes == ()


def test_a_square_that_moved_is_found_without_an_earlier_grid_at_hand(server, client, fake_time):
    us_nws.fetch_grid(client, **HERE, url=server.url)
    fake_time.pass_by(timedelta(days=2))
    server.pages[nws.GRID] = nws.invalid_point()
    server.pages[nws.POINT] = json_page(nws.point("ZZY", 7, 0))
    server.pages[ELSEWHERE] = json_page(nws.grid(fake_time.now))
    assert_keeps_contract(forecast(server, client))
    assert len(server.asked(nws.POINT)) == 2


def test_a_square_that_is_gone_and_did_not_move_is_refused(server, client):
    server.pages[nws.GRID] = nws.invalid_point()
    with pytest.raises(Refused, match="404"):
        forecast(server, client)
    assert len(server.asked(nws.GRID)) == 1


def test_a_square_that_is_gone_and_did_not_move_leaves_the_earlier_grid(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(days=2))
    server.pages[nws.GRID] = nws.invalid_point()
    made = forecast(server, client)
    assert made.fetched_at == NOW
    assert made.notes[0].endswith("; the forecast shown is of 2026-10-20 12:00 UTC")
    assert len(server.asked(nws.POINT)) == 2


@pytest.mark.parametrize("status", [400, 403])
def test_other_refusals_do_not_make_us_ask_again(server, client, fake_time, status):
    forecast(server, client)
    fake_time.pass_by(timedelta(days=2))
    server.script(nws.GRID, page(nws.problem(status, "X", "No", "no, and 404 is not meant")))
    made = forecast(server, client)
    assert len(server.asked(nws.POINT)) == 1
    assert f"status {status}" in made.notes[0]


# Their usual trouble.


def test_an_unexpected_problem_is_asked_again(server, client):
    server.script(nws.GRID, *[page(nws.unexpected())] * 2)
    assert forecast(server, client).notes == ()
    assert len(server.asked(nws.GRID)) == 3


def test_an_expired_grid_is_unreachable_in_their_words(server, client):
    server.script(nws.GRID, *[page(nws.expired())] * 3)
    with pytest.raises(Unreachable, match=r"503: The requested forecast grid is too old\."):
        forecast(server, client)


def test_an_expired_grid_leaves_the_earlier_one(server, client, fake_time):
    forecast(server, client)
    fake_time.pass_by(timedelta(hours=5))
    server.script(nws.GRID, *[page(nws.expired())] * 3)
    made = forecast(server, client)
    assert made.is_stale(fake_time.now)
    (note,) = made.notes
    assert "too old.; the forecast shown is of 2026-10-20 12:00 UTC" in note


@pytest.mark.parametrize(("age", "told"), [(timedelta(hours=18), False), (timedelta(hours=18, seconds=1), True)])
def test_a_forecast_that_nobody_renewed_for_18_hours_is_told_of(age, told):
    given = payload()
    given["properties"]["updateTime"] = f"{NOW - age:%Y-%m-%dT%H:%M:%S}+00:00"
    made = read(given)
    assert made.issued_at == NOW - age
    assert bool(made.notes) is told
    assert all("last renewed its forecast on 2026-10-19 17:59 UTC" in note for note in made.notes)


# What is read.


def test_facts_about_the_forecast():
    made = parse(payload(), fetched_at=NOW, fresh_until=NOW + timedelta(hours=1))
    assert (made.latitude_deg, made.longitude_deg) == (pytest.approx(51.25), pytest.approx(-1.505))
    assert made.elevation_m == 95.0976
    assert made.issued_at == NOW - timedelta(hours=2)
    assert made.fresh_until == NOW + timedelta(hours=1)
    assert made.source == "us-nws"
    assert "National Weather Service" in made.credit.text


def test_a_clock_behind_theirs_does_not_put_the_forecast_into_the_future():
    early = NOW - timedelta(hours=5)
    assert read(payload(), early).issued_at == early


def test_an_hour_in_our_units():
    row = read(payload()).hourly.loc[hour(21, 5)]
    assert row["air_c"] == shapes.air_c(datetime(2026, 10, 21, 5, tzinfo=UTC))
    assert (row["humidity_pct"], row["cloud_pct"], row["rain_mm"]) == (87.0, 40.0, 1.2)
    assert row["wind_ms"] == pytest.approx(5.0), "18 km/h"
    assert row["gust_ms"] == pytest.approx(10.0), "36 km/h"
    assert row["rain_chance"] == pytest.approx(0.8)
    assert math.isnan(row["sun_wm2"])


def test_sixty_fahrenheit_stays_where_it_is():
    air = column("temperature", (NOW, 1, 15.555555555555555))
    assert air.iloc[6] == pytest.approx((60 - 32) / 1.8, abs=1e-12)


def test_hours_merged_over_a_day_and_more_are_hours_again():
    air = column("temperature", (NOW, 30, 4.0), (NOW + timedelta(hours=30), 2, 6.0))
    assert list(air.dropna()) == [4.0] * 30 + [6.0] * 2
    assert air.loc[hour(21, 17)] == 4.0, "P1DT6H ends at 18:00, which it does not hold"
    assert air.loc[hour(21, 18)] == 6.0


def test_rain_over_an_interval_is_spread_not_repeated():
    rain = column("quantitativePrecipitation", (NOW, 6, 3.0), (NOW + timedelta(hours=6), 1, 0.4))
    assert list(rain.loc[hour(20, 12) : hour(20, 17)]) == [0.5] * 6
    assert rain.loc[hour(20, 18)] == 0.4
    assert rain.sum() == pytest.approx(3.4)


def test_the_chance_of_rain_is_that_of_its_interval_in_each_hour():
    assert list(column("probabilityOfPrecipitation", (NOW, 6, 30)).dropna()) == [0.3] * 6


def test_an_hour_in_no_interval_is_unknown():
    air = column("temperature", (NOW, 2, 4.0), (NOW + timedelta(hours=3), 1, 5.0))
    assert list(air.loc[hour(20, 12) : hour(20, 15)].isna()) == [False, False, True, False]


def test_null_is_unknown_and_zero_is_zero():
    air = column("temperature", (NOW, 1, None), (NOW + timedelta(hours=1), 1, 0))
    assert math.isnan(air.loc[hour(20, 12)])
    assert air.loc[hour(20, 13)] == 0.0


def test_saturated_air_a_little_over_100_percent_is_100():
    assert column("relativeHumidity", (NOW, 1, 100.4)).dropna().eq(100.0).all()


def test_an_empty_layer_is_a_column_of_unknowns():
    made = read(with_layer(NOW, "windGust"))
    assert made.hourly["gust_ms"].isna().all()
    assert made.notes == ()
    assert_keeps_contract(made)


@pytest.mark.parametrize("change", [lambda p: p.pop("skyCover"), lambda p: p.update(skyCover=None)])
def test_a_missing_layer_is_a_column_of_unknowns(change):
    given = payload()
    change(given["properties"])
    assert read(given).hourly["cloud_pct"].isna().all()


def test_an_empty_layer_needs_no_unit():
    given = payload()
    given["properties"]["windGust"] = {"values": []}
    assert read(given).notes == ()


def test_a_layer_without_its_unit_is_unknown_and_told_of():
    given = payload()
    del layer(given, "windGust")["uom"]
    made = read(given)
    assert made.hourly["gust_ms"].isna().all()
    assert made.notes == ("us-nws gives its windGust without a unit, so it is left out",)


@pytest.mark.parametrize("uom", ["wmoUnit:degC", "unit:degC", "nwsUnit:degC", "degC"])
def test_the_prefix_of_a_unit_does_not_matter(uom):
    given = payload()
    layer(given, "temperature")["uom"] = uom
    assert_keeps_contract(read(given))


def test_layers_that_end_at_different_hours_keep_all_of_theirs():
    given = payload()
    del layer(given, "windSpeed")["values"][-1]
    layer(given, "skyCover")["values"].append(nws.interval(NOW + timedelta(hours=42), 3, 100))
    hourly = read(given).hourly
    assert hourly.index[-1] == hour(22, 8)
    assert math.isnan(hourly["wind_ms"].iloc[-1])
    assert math.isnan(hourly["air_c"].iloc[-1])
    assert hourly["cloud_pct"].iloc[-1] == 100.0
    assert_keeps_contract(read(given))


def test_hours_at_the_end_without_anything_are_left_out():
    given = payload()
    layer(given, "skyCover")["values"].append(nws.interval(NOW + timedelta(hours=42), 3, None))
    assert read(given).hourly.index[-1] == hour(22, 5)


def test_six_hour_blocks_far_out_keep_the_contract():
    made = read(payload(hours=24, blocks=20))
    assert_keeps_contract(made)
    assert (made.hourly.index[-1] - made.hourly.index[0]) == pd.Timedelta(hours=24 + 120 - 1)


def test_the_hours_begin_36_hours_before_the_fetch():
    given = with_layer(NOW, "temperature", (NOW - timedelta(days=4), 24 * 6, 5.0))
    assert read(given).hourly.index[0] == hour(19, 0)
    assert read(given, NOW + timedelta(minutes=1)).hourly.index[0] == hour(19, 1)


def test_rain_that_began_earlier_is_spread_over_all_its_hours():
    rain = column("quantitativePrecipitation", (NOW - timedelta(hours=48), 24, 24.0))
    assert list(rain.dropna()) == [1.0] * 12


def test_a_grid_that_ended_days_ago_holds_no_hours():
    with pytest.raises(BadPayload, match="holds no hours from the last 36 h on"):
        read(payload(), NOW + timedelta(days=5))


def test_a_height_or_place_that_is_not_said_is_not_known():
    given = payload()
    del given["geometry"]
    given["properties"]["elevation"]["value"] = None
    made = read(given)
    assert (made.latitude_deg, made.longitude_deg, made.elevation_m) == (None, None, None)
    given["properties"]["elevation"] = {"unitCode": "wmoUnit:m", "value": 0}
    assert read(given).elevation_m == 0.0
    del given["properties"]["elevation"]
    assert read(given).elevation_m is None


def test_a_square_across_the_date_line_has_its_middle_there():
    given = payload()
    ring = [[179.98, 51.0], [179.98, 51.02], [-179.98, 51.02], [-179.98, 51.0], [179.98, 51.0]]
    given["geometry"]["coordinates"] = [ring]
    assert abs(read(given).longitude_deg) == pytest.approx(180.0)
