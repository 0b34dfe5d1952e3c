from __future__ import annotations

from math import inf, isnan, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science.air import (
    dew_point,
    hours_to_stand,
    humidity_after_warming,
    standing,
    sweats,
    vapour_pressure,
    warm_up_tau_h,
)

temps = st.floats(-30.0, 45.0)
humidities = st.floats(1.0, 100.0)


@given(temps, humidities)
def test_dew_point_is_where_the_air_holds_just_its_vapour(temp: float, humidity: float) -> None:
    at_dew = float(vapour_pressure(dew_point(temp, humidity)))
    assert at_dew == pytest.approx(float(vapour_pressure(temp)) * humidity / 100.0, rel=1e-9)


@given(temps, humidities)
def test_dew_point_never_lies_above_the_air(temp: float, humidity: float) -> None:
    assert float(dew_point(temp, humidity)) <= temp + 1e-9


@given(temps, humidities, st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_warmer_means_drier(temp: float, humidity: float, little: float, more: float) -> None:
    little, more = sorted((little, more))
    barely = float(humidity_after_warming(temp, humidity, temp + little))
    well = float(humidity_after_warming(temp, humidity, temp + more))
    assert well <= barely <= humidity + 1e-9


def test_cooled_past_its_dew_point_air_is_saturated() -> None:
    assert float(humidity_after_warming(15.0, 90.0, 5.0)) == 100.0


def test_bone_dry_air_has_a_dew_point_all_the_same() -> None:
    assert np.isfinite(dew_point(10.0, 0.0))
    assert float(dew_point(10.0, 0.0)) == float(dew_point(10.0, 0.1))


def test_what_is_not_known_stays_so() -> None:
    assert isnan(dew_point(nan, 50.0))
    assert isnan(dew_point(10.0, nan))
    assert not sweats(nan, 10.0)


def test_zero_degrees_is_weather() -> None:
    assert list(sweats([0.0, 0.0], [0.1, -0.1])) == [True, False]


def test_arrays_of_hours_and_sites_broadcast() -> None:
    assert dew_point(np.zeros((24, 1)), np.full((1, 5), 50.0)).shape == (24, 5)


@pytest.mark.parametrize(
    ("thickness_mm", "draught_h", "still_h"), [(10, 0.34, 0.64), (20, 0.69, 1.29), (30, 1.03, 1.93)]
)
def test_a_thicker_piece_takes_longer_to_warm(thickness_mm: float, draught_h: float, still_h: float) -> None:
    assert warm_up_tau_h(thickness_mm, 15.0) == pytest.approx(draught_h, abs=0.01)
    assert warm_up_tau_h(thickness_mm, 8.0) == pytest.approx(still_h, abs=0.01)


def test_dry_evening_needs_no_wait() -> None:
    got = standing(3.0, 10.0, 50.0, 25.0)
    assert not got.sweats
    assert got.shortest_h == got.longest_h == 0.0


def test_mild_evening_needs_an_hour_or_two() -> None:
    got = standing(3.0, 15.0, 80.0, 25.0)
    assert got.sweats
    assert 0.5 < got.shortest_h < got.longest_h < 2.5


def test_in_fog_it_never_stops() -> None:
    assert standing(3.0, 10.0, 100.0, 25.0).longest_h == inf


@given(st.floats(0.0, 5.0), st.floats(6.0, 20.0), st.floats(30.0, 99.0))
def test_after_the_wait_the_surface_is_at_the_dew_point(fish: float, air: float, humidity: float) -> None:
    dew = float(dew_point(air, humidity))
    hours = hours_to_stand(fish, air, dew, 1.0)
    surface = air - (air - fish) * np.exp(-hours)
    assert surface == pytest.approx(max(dew, fish), abs=1e-9)
