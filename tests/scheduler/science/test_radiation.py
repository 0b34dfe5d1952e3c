from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science import radiation as sun

JUNE = datetime(2025, 6, 21, tzinfo=UTC).timestamp()
latitudes, days = st.floats(-90.0, 90.0), st.integers(1, 366)


def hours_of(start_s: float, count: int) -> np.ndarray:
    return start_s + 3600.0 * np.arange(float(count))


def sky(count: int = 48, latitude: float = 50.0) -> sun.Sky:
    one = np.ones(1)
    return sun.sky_over(hours_of(JUNE, count), np.ones(count), latitude * one, 0.0 * one, 0.0 * one)


@pytest.mark.parametrize(
    ("moment", "day"), [("2024-12-31", 366), ("2025-01-01", 1), ("2025-12-31T23:59", 365), ("1969-12-31", 365)]
)
def test_day_of_year(moment: str, day: int) -> None:
    assert float(sun.day_of_year(datetime.fromisoformat(moment).replace(tzinfo=UTC).timestamp())) == day


@given(latitudes, days)
def test_no_place_gets_less_than_nothing_or_more_than_a_day(latitude: float, day: int) -> None:
    assert 0.0 <= float(sun.daylight_hours(latitude, day)) <= 24.0
    assert -1e-9 <= float(sun.extraterrestrial_daily(latitude, day)) < 50.0


def test_the_sun_stays_up_or_down_beyond_the_circles() -> None:
    assert float(sun.daylight_hours(75.0, 172)) == 24.0
    assert float(sun.daylight_hours(-75.0, 172)) == 0.0


@given(st.floats(-180.0, 180.0))
def test_the_sun_stands_highest_at_its_own_noon(longitude: float) -> None:
    moments = JUNE + 600.0 * np.arange(144.0)
    highest = moments[np.argmax(sun.sun_height_deg(moments, 45.0, longitude))]
    assert abs(float(sun.solar_angle(highest, longitude))) < 0.05


def test_height_of_the_sun_in_the_nrel_case() -> None:
    """Zenith 50.11° in the case of Reda and Andreas (2004), 17 October 2003 (from memory); to one degree and a bit."""
    moment = datetime(2003, 10, 17, 19, 30, 30, tzinfo=UTC).timestamp()
    assert float(sun.sun_height_deg(moment, 39.742476, -105.1786)) == pytest.approx(90 - 50.11, abs=1.2)


def test_watts_become_megajoules_an_hour() -> None:
    got, estimated = sun.sun_or_estimate([[500.0]], [[0.0]], [[2.5]])
    assert got.item() == pytest.approx(1.8)
    assert not estimated


def test_where_no_radiation_is_given_cloud_stands_in_and_it_is_said() -> None:
    given_w = np.array([np.nan, np.nan, 100.0])
    got, estimated = sun.sun_or_estimate(given_w, np.array([0.0, 100.0, 50.0]), np.full(3, 2.0))
    assert got == pytest.approx([2.0, 0.5, 0.36])
    assert estimated


def test_where_cloud_is_unknown_too_so_is_the_sun() -> None:
    got, estimated = sun.sun_or_estimate(np.array([np.nan]), np.array([np.nan]), np.array([2.0]))
    assert np.isnan(got).all()
    assert not estimated


def test_by_night_nothing_has_to_be_known() -> None:
    got, estimated = sun.sun_or_estimate(np.array([np.nan]), np.array([np.nan]), np.array([0.0]))
    assert got == [0.0]
    assert not estimated


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_more_cloud_never_brings_more_sun(thin: float, thick: float) -> None:
    thin, thick = sorted((thin, thick))
    assert 0.25 - 1e-12 <= float(sun.under_cloud(1.0, thick)) <= float(sun.under_cloud(1.0, thin)) <= 1.0


def test_the_night_takes_the_clearness_of_the_afternoon_before_it() -> None:
    above = sky()
    shine = above.clear_mj_m2_h * np.where(np.arange(48)[:, None] < 24, 0.4, 0.9)
    got = sun.carried_clearness(shine, above)[:, 0]
    dark = above.clear_mj_m2_h[:, 0] == 0.0
    early, between = dark & (np.arange(48) < 6), dark & (np.arange(48) > 20) & (np.arange(48) < 28)
    assert set(got[early]) == {sun.NIGHT_RATIO}
    assert got[between] == pytest.approx(0.4)
    assert got[~dark][-1] == pytest.approx(0.9)


def test_the_last_two_hours_of_sun_do_not_set_the_night() -> None:
    """At 50° north in June the sun sets a little after 20 h."""
    above = sky()
    shine = np.where(np.arange(48)[:, None] % 24 < 18, 0.8, 0.3) * above.clear_mj_m2_h
    dark = (above.clear_mj_m2_h[:, 0] == 0.0) & (np.arange(48) > 20) & (np.arange(48) < 28)
    assert sun.carried_clearness(shine, above)[dark, 0] == pytest.approx(0.8)


@given(st.floats(0.0, 5.0), st.one_of(st.just(0.0), st.floats(1e-6, 4.0)))
def test_clearness_lies_between_dense_cloud_and_a_clear_sky(shine: float, clear: float) -> None:
    got = float(sun.clearness(shine, clear))
    assert np.isnan(got) if clear == 0.0 else sun.LEAST_RATIO <= got <= 1.0


def test_in_polar_night_the_default_holds_throughout() -> None:
    above = sky(latitude=-80.0)
    assert (sun.carried_clearness(np.zeros((48, 1)), above) == sun.NIGHT_RATIO).all()
