"""The pictures show the answer: its nights, its windows, its air and its limits, in the site's units."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from math import isnan
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from asked import CASES, FROZEN, NOW, PROCESS, SITE, answer, ask, made_forecast

from scheduler import service
from scheduler.faces.web.scene import night_picture, nights_picture
from scheduler.faces.wording import day_words
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.units import show_temperature
from scheduler.planning.clock import night_bounds

DAY = 86400.0


def planned(told):
    at = {one.step.name: one.at.timestamp() for one in told.choice.plan.steps if one.at is not None}
    return at[ANCHOR], at[LIFT]


def test_the_plan_is_shown_at_its_own_times():
    told = answer("ready after the best lighting")
    assert planned(told)[0] != told.choice.plan.night.light_best.timestamp()
    for made in (nights_picture(told), night_picture(told, "one")):
        (mark,) = [one for one in made.nights if one.chosen]
        assert mark.window == planned(told)
        assert mark.window_label == "–".join(f"{datetime.fromtimestamp(at, SITE.zone):%H:%M}" for at in planned(told))


@pytest.mark.parametrize("case", [case for case in CASES if case != "no air"])
def test_the_words_of_the_picture_name_every_night_its_verdict_and_its_warmest_air(case):
    told = answer(case)
    made, units = nights_picture(told), told.question.site.units
    for night in told.nights:
        assert f"{day_words(night.date)} {night.verdict}" in made.description
        assert night.peak_c is None or f"warmest {show_temperature(night.peak_c, units)}" in made.description


def test_the_words_of_the_one_night_are_the_plans():
    told = answer("good")
    made = night_picture(told, "one")
    assert made.title.endswith(day_words(told.choice.plan.night.date))
    assert made.description == (
        "good: lighting Fri 21:25, lift Sat 09:25, warmest 10.9 °C at Fri 21:25; your ceiling is 15.6 °C."
    )


def test_nothing_is_drawn_where_nobody_knows_the_air_or_there_is_no_plan():
    assert nights_picture(answer("no air")) is None
    assert night_picture(answer("too warm"), "one") is None


def test_a_gap_in_the_forecast_is_a_gap_in_the_picture():
    made = nights_picture(answer("gap"))
    assert any(isnan(value) for _, value in made.air)
    assert not any(isnan(value) for _, value in nights_picture(answer("good")).air)


def test_the_band_holds_the_line_and_widens_with_the_days():
    made = nights_picture(answer("good"))
    rows = list(zip(made.low, made.air, made.high, strict=True))
    assert all(low[1] < air[1] < high[1] for low, air, high in rows)
    widths = [high[1] - low[1] for low, _, high in rows]
    assert widths[-1] > widths[0]


def test_the_household_reads_its_own_units():
    metric, us = nights_picture(answer("good")), nights_picture(answer("long name, US units"))
    assert (metric.unit, us.unit) == ("°C", "°F")
    assert us.ceiling == pytest.approx(metric.ceiling * 1.8 + 32)
    assert [value for _, value in us.air] == pytest.approx([value * 1.8 + 32 for _, value in metric.air])
    assert [strip.title for strip in us.strips] == ["rain, in/h", "gusts, mph"]
    assert us.strips[1].bars[0][2] == pytest.approx(metric.strips[1].bars[0][2] / 0.44704, abs=0.001)


def test_what_forecasts_were_too_warm_by_is_taken_off_as_it_was_for_the_verdicts():
    plain = answer("good")
    cooler = service.plan(replace(plain.question, bias_c=1.5))
    shown, before = nights_picture(cooler), nights_picture(plain)
    assert [value for _, value in shown.air] == pytest.approx([value - 1.5 for _, value in before.air])


def test_weather_that_says_no_rain_and_no_gusts_has_no_rows_for_them():
    forecast = made_forecast()
    hourly = forecast.hourly.assign(rain_mm=np.nan, gust_ms=np.nan)
    assert nights_picture(ask(replace(forecast, hourly=hourly))).strips == ()


def test_limits_are_drawn_only_where_they_count():
    under_roof, open_air = (
        nights_picture(ask(site=replace(SITE, rain_shelter=roof))).strips[0].limit for roof in (True, False)
    )
    assert under_roof is None
    assert open_air == SITE.limits.rain_mm_per_h


def test_the_picture_ends_where_a_forecast_says_little_or_ends():
    long, short = nights_picture(answer("good")), nights_picture(ask(made_forecast(days=2)))
    assert long.end - long.start == 10 * DAY
    assert short.end - NOW.timestamp() == pytest.approx(2 * DAY - 7200)


@pytest.mark.parametrize(("change", "hours"), [(date(2026, 10, 31), 25), (date(2027, 3, 13), 23)])
def test_a_night_in_which_clocks_move_has_its_own_length_and_the_hours_of_the_clock(change, hours):
    zone = ZoneInfo("America/New_York")
    now = datetime(change.year, change.month, change.day - 4, 9, tzinfo=zone)
    forecast = made_forecast(mean_c=5.0)
    hourly = forecast.hourly.set_index(forecast.hourly.index + (now - forecast.issued_at))
    forecast = replace(forecast, hourly=hourly, issued_at=now, fetched_at=now)
    batch = replace(FROZEN, frozen_since=now - timedelta(days=30))
    told = service.plan_night(service.Question(SITE, PROCESS, batch, forecast, now), change)
    made = night_picture(told, "one")
    start, end = night_bounds(change, zone)
    assert (made.start, made.end, end - start) == (start, end, hours * 3600)
    assert [words for _, words in made.ticks] == ["12:00", "18:00", "00:00", "06:00", "12:00"]


def test_a_smoke_that_ends_past_noon_is_shown_to_its_end():
    site = replace(SITE, duration_h=18.0)
    made = night_picture(ask(site=site), "one")
    assert made.end > made.nights[0].window[1]
    assert made.end - made.start > DAY


def test_the_band_is_the_services_own_percentiles_where_it_gives_them():
    forecast = made_forecast()
    air = forecast.hourly["air_c"]
    hourly = forecast.hourly.assign(air_p10_c=air - 0.5, air_p50_c=air, air_p90_c=air + 3.0)
    made = nights_picture(ask(replace(forecast, hourly=hourly)))
    assert [value for _, value in made.low] == pytest.approx([value - 0.5 for _, value in made.air])
    assert [value for _, value in made.high] == pytest.approx([value + 3.0 for _, value in made.air])


def test_the_band_is_as_wide_as_the_members_of_an_ensemble():
    forecast = made_forecast()
    offsets = np.linspace(-8.0, 8.0, 21)
    members = pd.DataFrame({f"m{number}": forecast.hourly["air_c"] + by for number, by in enumerate(offsets)})
    wide, narrow = nights_picture(ask(replace(forecast, members=members))), nights_picture(answer("good"))
    assert all(one[1] < other[1] for one, other in zip(wide.low, narrow.low, strict=True))
    assert all(one[1] > other[1] for one, other in zip(wide.high, narrow.high, strict=True))
