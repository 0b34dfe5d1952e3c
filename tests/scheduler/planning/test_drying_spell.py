from __future__ import annotations

from dataclasses import replace
from math import inf, isinf
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from drying_builders import DAYS, NOW_S, WAIT, column, damp_winter, drying_site, forecast
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import DAY_S, HOUR_S, examples

from scheduler.planning.drying_hours import drying_hours
from scheduler.planning.drying_spell import LAYER, Spell, drying_spell, work_left
from scheduler.planning.next_spell import course
from scheduler.science import drying

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.household.site import Site

SITE = drying_site()


def spell_of(made: Forecast, site: Site = SITE) -> Spell:
    found = drying_spell(made, site, WAIT)
    assert found is not None
    return found


def ready(made: Forecast, site: Site = SITE) -> np.ndarray:
    """Ready times of every hour from the first of the forecast to a day past its end, in days from its start."""
    times = spell_of(made, site).usual.times
    return np.array([times.ready_at(NOW_S + h * HOUR_S) for h in range((DAYS + 1) * 24)]) / DAY_S - NOW_S / DAY_S


def model_ready_s(spell: Spell, start: float) -> float:
    """The science's own answer for one layer that lies out from the start on; inf if none."""
    weather, first = spell.hours.weather, int(np.searchsorted(spell.hours.start_s, start))
    rest = drying.Weather(
        weather.step_h[first:],
        weather.evaporation_mm[first:],
        weather.air_moisture[first:],
        weather.rain_mm[first:],
        weather.out[first:],
    )
    got = drying.answer(rest, LAYER)
    return spell.hours.start_s[first] + got.hours * HOUR_S if isinstance(got, drying.Dry) else inf


@pytest.mark.parametrize("start_h", [0, 1, 5, 6, 7, 20, 21, 22, 45, 100, 200, 260])
def test_each_start_is_ready_when_the_model_says_for_that_start_alone(start_h: int) -> None:
    spell = spell_of(forecast())
    start = NOW_S + start_h * HOUR_S
    assert spell.usual.times.ready_at(start) == model_ready_s(spell, start) < inf


@pytest.mark.parametrize("start_h", [0, 30, 100])
def test_the_course_by_day_ends_dry_on_the_day_that_the_ready_time_says(start_h: int) -> None:
    spell = spell_of(forecast())
    start = NOW_S + start_h * HOUR_S
    days = course(spell, start)
    first_dry = next(one.day for one in days if one.usual <= LAYER.ready)
    assert (
        first_dry.toordinal()
        == spell.hours.day[int(np.searchsorted(spell.hours.start_s, spell.usual.times.ready_at(start))) - 1]
    )
    assert days[-1].slow <= LAYER.ready < days[-2].slow


def test_mild_sun_takes_about_the_four_days_of_common_practice() -> None:
    assert 3.0 <= spell_of(forecast()).least_h(NOW_S) / 24.0 <= 5.0


def test_a_damp_winter_dries_nothing_however_long() -> None:
    spell = spell_of(damp_winter())
    assert isinf(spell.least_h(NOW_S))
    assert isinf(spell.usual.times.ready_at(NOW_S + 100 * DAY_S))
    assert spell.moisture_at_end(NOW_S) > LAYER.ready


def test_the_quick_is_never_after_the_usual_nor_the_usual_after_the_slow() -> None:
    spell = spell_of(forecast())
    for start in NOW_S + HOUR_S * np.arange(-240.0, DAYS * 24 + 48.0):
        quick, usual, slow = (pace.times.ready_at(start) for pace in (spell.quick, spell.usual, spell.slow))
        assert start <= quick <= usual <= slow


@examples(25)
@given(st.floats(5.0, 30.0), st.floats(20.0, 90.0), st.floats(0.0, 100.0), st.floats(0.3, 6.0))
def test_what_is_spread_later_is_never_dry_sooner(warm: float, dry: float, cloud: float, wind: float) -> None:
    made = forecast(warm_c=warm, cold_c=warm - 8.0, dry_pct=dry, damp_pct=min(dry + 30.0, 100.0))
    count = len(made.hourly)
    made = forecast(
        warm_c=warm, cold_c=warm - 8.0, dry_pct=dry, damp_pct=min(dry + 30.0, 100.0),
        cloud_pct=np.full(count, cloud), wind_ms=np.full(count, wind),
    )  # fmt: skip
    got = ready(made)
    assert (got[1:] >= got[:-1]).all()


@examples(25)
@given(st.floats(35.0, 80.0), st.floats(0.0, 15.0))
def test_drier_air_never_dries_later(dry: float, more: float) -> None:
    damp, drier = (ready(forecast(8, dry_pct=d, damp_pct=d + 10.0)) for d in (dry, dry - more))
    inside = damp <= 8.0  # what the forecast sees; beyond it a faster forecast has the same common practice
    assert (drier[inside] <= damp[inside]).all()


@examples(25)
@given(st.integers(0, DAYS * 24 - 1), st.integers(1, 30))
def test_hours_that_nobody_knows_never_dry_anything_sooner(first: int, count: int) -> None:
    made = forecast()
    wind = column(made, "wind_ms")
    wind[first : first + count] = np.nan
    known, gapped = ready(made), forecast(wind_ms=wind)
    end = (spell_of(gapped).known_until - NOW_S) / DAY_S
    inside = ready(gapped) <= end  # past the end common practice counts, whatever the hidden hours held
    assert (ready(gapped)[inside] >= known[inside] - 1e-9).all()


def test_a_known_gap_by_day_is_counted_and_told() -> None:
    wind = column(forecast(), "wind_ms")
    wind[22:24] = np.nan  # 10:00 and 11:00 of the next day, so the hours from 9 to 12 touch it
    hours = spell_of(forecast(wind_ms=wind)).hours
    assert hours.unknown.sum() == 3


@pytest.mark.parametrize("name", ["wind_ms", "humidity_pct", "cloud_pct", "air_c"])
def test_a_forecast_without_what_drying_needs_says_nothing_of_it(name: str) -> None:
    made = forecast()
    empty = np.full(len(made.hourly), np.nan)
    assert drying_spell(replace(made, hourly=made.hourly.assign(**{name: empty})), SITE, WAIT) is None


def test_humidity_comes_from_the_dew_point_where_it_is_not_given() -> None:
    made = forecast()
    air, given_pct = column(made, "air_c"), column(made, "humidity_pct")
    ratio = np.log(given_pct / 100.0) + 17.62 * air / (243.12 + air)  # the same Magnus form, turned round
    dew = 243.12 * ratio / (17.62 - ratio)
    by_dew = forecast(humidity_pct=np.full(len(air), np.nan), dewpoint_c=dew)
    # The air and dew point are linear between the hours, so the humidity is not quite.
    assert np.abs(ready(by_dew) - ready(made)).max() <= 1.0 / 24.0 + 1e-9


def test_radiation_is_estimated_only_where_none_is_given() -> None:
    made = forecast()
    assert spell_of(made).hours.estimated
    given_sun = forecast(sun_wm2=np.full(len(made.hourly), 300.0))
    assert not spell_of(given_sun).hours.estimated


def test_more_sun_dries_sooner() -> None:
    count = len(forecast().hourly)
    weak, strong = (ready(forecast(sun_wm2=np.full(count, sun)))[0] for sun in (80.0, 400.0))
    assert strong < weak


def test_three_hourly_weather_dries_about_as_hourly_does() -> None:
    assert ready(forecast(step_h=3))[0] == pytest.approx(ready(forecast())[0], abs=0.5)


def test_under_open_sky_it_is_covered_in_the_hours_of_rain_and_dries_later() -> None:
    open_site = drying_site(rain_shelter=False)
    rain = np.zeros(len(forecast().hourly))
    rain[21:30] = 0.4  # all of the first whole day
    assert ready(forecast(rain_mm=rain), open_site)[0] > ready(forecast(), open_site)[0]
    assert ready(forecast(rain_mm=rain))[0] == ready(forecast())[0]
    hours = drying_hours(forecast(rain_mm=rain), open_site)
    assert hours is not None
    assert hours.covered.sum() == 9


def test_under_open_sky_rain_that_nobody_knows_is_not_taken_for_dry() -> None:
    none = np.full(len(forecast().hourly), np.nan)
    assert drying_spell(forecast(rain_mm=none), drying_site(rain_shelter=False), WAIT) is None
    assert drying_spell(forecast(rain_mm=none), SITE, WAIT) is not None


# Past the end and before the beginning.


def test_past_a_short_forecast_common_practice_fills_in_the_rest() -> None:
    known = spell_of(forecast(2))
    times, end = known.usual.times, known.known_until
    assert times.ready_at(end + 5 * DAY_S) == end + 9 * DAY_S
    assert times.ready_at(end) == end + 4 * DAY_S
    assert end < times.ready_at(NOW_S) < end + 4 * DAY_S


def test_two_damp_days_prove_nothing_of_the_days_after_them() -> None:
    assert spell_of(damp_winter(2)).usual.times.beyond_s == 4 * DAY_S


def test_past_the_end_a_slow_forecast_keeps_its_own_pace() -> None:
    slow = spell_of(forecast(8, warm_c=14.0, cold_c=6.0, dry_pct=68.0, damp_pct=95.0))
    assert 4 * DAY_S < slow.usual.times.beyond_s < inf


def test_what_was_spread_before_the_forecast_is_further_but_never_told_dry_before_the_longest_wait() -> None:
    spell = spell_of(forecast())
    times = spell.usual.times
    by_days_ago = [times.ready_at(NOW_S - days * DAY_S) for days in range(11)]
    assert by_days_ago == sorted(by_days_ago, reverse=True)
    assert all(at > NOW_S for at in by_days_ago[:10])
    assert by_days_ago[10] == NOW_S
    assert by_days_ago[0] - by_days_ago[4] > 0.5 * DAY_S


def test_work_left_falls_from_one_to_nothing() -> None:
    left = work_left(np.linspace(LAYER.start, LAYER.ready, 50))
    assert left[0] == pytest.approx(1.0)
    assert left[-1] == pytest.approx(0.0)
    assert (np.diff(left) < 0.0).all()


def test_one_reading_is_no_drying_weather() -> None:
    made = forecast()
    assert drying_spell(replace(made, hourly=made.hourly.iloc[:1]), SITE, WAIT) is None


def test_the_layer_lies_out_by_the_clock_of_the_site_not_by_utc() -> None:
    hours = drying_hours(forecast(), SITE)
    assert hours is not None
    local: Any = (hours.start_s - NOW_S) / HOUR_S + 12.0
    assert set(np.mod(local[hours.weather.out], 24.0)) == set(np.arange(9.0, 18.0))
