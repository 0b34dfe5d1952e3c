from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from spread_weather import DAMP_WINTER, MILD, Season, air, hours_of_day

from scheduler.science import drying, radiation
from scheduler.science.drying import Dry, Layer, NotInThisWeather, answer
from scheduler.science.open_air import Places, Readings, layer_weather, step_means

HERE = Places(47.0, 0.0, 300.0)


def readings(season: Season, days: int, month: int, cloud_pct: float, wind_ms: float = 2.5) -> Readings:
    """An invented stretch of weather at longitude 0, so that UTC is the sun's time; radiation not given."""
    temp, humidity = air(season, days)
    start = datetime(2026, month, 2, tzinfo=UTC).timestamp() + 3600.0 * np.arange(24.0 * days)
    same = np.ones(len(temp))
    return Readings(start, same, temp, humidity, wind_ms * same, cloud_pct * same, np.nan * same, 0.0 * same)


def out(days: int) -> np.ndarray:
    return drying.out_by_day(hours_of_day(days))


def test_mild_sunny_weather_dries_a_layer_in_about_four_days() -> None:
    weather, _ = layer_weather(readings(MILD, 10, 4, cloud_pct=40.0), HERE, out(10), sheltered=True)
    got = answer(weather, Layer())
    assert isinstance(got, Dry)
    assert 2.5 < got.hours / 24.0 < 4.6
    assert 2.4 < float(weather.evaporation_mm[weather.out].sum()) / 10 < 4.0  # mm a day that reach it


def test_a_damp_winter_does_not() -> None:
    weather, _ = layer_weather(readings(DAMP_WINTER, 16, 12, cloud_pct=95.0), HERE, out(16), sheltered=True)
    assert isinstance(answer(weather, Layer()), NotInThisWeather)


def test_drier_air_dries_faster() -> None:
    damp = replace(MILD, dry_pct=65.0, damp_pct=96.0)
    hours = []
    for season in (MILD, damp):
        weather, _ = layer_weather(readings(season, 16, 4, cloud_pct=40.0), HERE, out(16), sheltered=True)
        got = answer(weather, Layer())
        assert isinstance(got, Dry)
        hours.append(got.hours)
    assert hours[0] < hours[1]


def test_radiation_that_is_given_is_used_and_nothing_said() -> None:
    estimated = readings(MILD, 3, 4, cloud_pct=40.0)
    sky = radiation.sky_over(estimated.start_s, estimated.step_h, np.array([47.0]), np.array([0.0]), np.array([300.0]))
    watts = radiation.under_cloud(sky.clear_mj_m2_h[:, 0], 40.0) / radiation.W_M2_TO_MJ_M2_H
    measured = replace(estimated, sun_wm2=watts, cloud_pct=np.full(72, np.nan))
    by_cloud, said = layer_weather(estimated, HERE, out(3), sheltered=True)
    by_watts, silent = layer_weather(measured, HERE, out(3), sheltered=True)
    assert said
    assert not silent
    assert by_watts.evaporation_mm == pytest.approx(by_cloud.evaporation_mm)


def test_without_cloud_and_radiation_the_answer_is_not_known() -> None:
    blind = replace(readings(MILD, 3, 4, 40.0), cloud_pct=np.full(72, np.nan))
    weather, said = layer_weather(blind, HERE, out(3), sheltered=True)
    assert isinstance(answer(weather, Layer()), drying.NotKnown)
    assert not said


def test_rain_reaches_it_unless_it_is_sheltered() -> None:
    wet = replace(readings(MILD, 3, 4, 40.0), rain_mm=np.full(72, 1.0))
    open_sky, _ = layer_weather(wet, HERE, out(3), sheltered=False)
    under_roof, _ = layer_weather(wet, HERE, out(3), sheltered=True)
    assert (open_sky.rain_mm == 1.0).all()
    assert (under_roof.rain_mm == 0.0).all()


def test_three_hour_steps_give_nearly_what_hours_give() -> None:
    fine = readings(MILD, 6, 4, 40.0)
    coarse = Readings(
        fine.start_s[::3],
        np.full(48, 3.0),
        *(getattr(fine, name).reshape(-1, 3).mean(axis=1) for name in ("air_c", "humidity_pct", "wind_ms")),
        fine.cloud_pct[::3],
        fine.sun_wm2[::3],
        fine.rain_mm[::3],
    )
    everywhere = np.ones(144, dtype=bool)
    hourly, _ = layer_weather(fine, HERE, everywhere, sheltered=True)
    three, _ = layer_weather(coarse, HERE, everywhere[::3], sheltered=True)
    assert float(three.evaporation_mm.sum()) == pytest.approx(float(hourly.evaporation_mm.sum()), rel=0.03)


def test_many_sites_at_once() -> None:
    one = readings(MILD, 4, 4, 40.0)
    wide = replace(
        one,
        **{
            name: np.repeat(getattr(one, name)[:, None], 3, axis=1)
            for name in ("air_c", "humidity_pct", "wind_ms", "cloud_pct", "sun_wm2", "rain_mm")
        },
    )
    places = Places(np.array([47.0, -35.0, 60.0]), np.array([0.0, 20.0, 25.0]), np.array([300.0, 0.0, 50.0]))
    together, _ = layer_weather(wide, places, out(4), sheltered=True)
    alone, _ = layer_weather(one, HERE, out(4), sheltered=True)
    assert together.evaporation_mm.shape == (96, 3)
    assert together.evaporation_mm[:, 0] == pytest.approx(alone.evaporation_mm)


def test_means_of_readings_at_both_ends() -> None:
    assert step_means(np.array([0.0, 2.0, 6.0])) == pytest.approx([1.0, 4.0])
