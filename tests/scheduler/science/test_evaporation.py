from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science import evaporation as evap
from scheduler.science import radiation

temps, humidities, winds = st.floats(-5.0, 40.0), st.floats(10.0, 99.0), st.floats(0.0, 15.0)


def by_day(air: float, humidity: float, wind: float, sun: float = 1.5) -> float:
    balance = evap.hourly(
        air_c=air,
        humidity_pct=humidity,
        wind_2m_ms=wind,
        sun_mj_m2_h=sun,
        clearness=0.7,
        daylight=True,
        elevation_m=100.0,
    )
    return float(balance.evaporation_mm)


@given(temps, humidities, winds, st.floats(0.5, 3.5), st.floats(0.1, 0.5))
def test_more_sun_takes_more_water(air: float, humidity: float, wind: float, sun: float, more: float) -> None:
    assert by_day(air, humidity, wind, sun + more) > by_day(air, humidity, wind, sun)


@given(temps, st.floats(10.0, 90.0), st.floats(1.0, 15.0), st.floats(1.0, 9.0))
def test_drier_air_takes_more_water_in_wind(air: float, humidity: float, wind: float, more: float) -> None:
    """Where the wind is strong enough; in a calm, drier air loses more heat to a clear sky than it takes in vapour."""
    wet = evap.hourly(
        air_c=air,
        humidity_pct=np.array([humidity, humidity + more]),
        wind_2m_ms=wind,
        sun_mj_m2_h=1.5,
        clearness=0.7,
        daylight=True,
        elevation_m=0.0,
    )
    assert wet.by_wind_mm[0] > wet.by_wind_mm[1]


@given(temps, humidities)
def test_still_air_takes_water_by_sun_alone(air: float, humidity: float) -> None:
    got = evap.hourly(
        air_c=air,
        humidity_pct=humidity,
        wind_2m_ms=0.0,
        sun_mj_m2_h=1.5,
        clearness=0.7,
        daylight=True,
        elevation_m=0.0,
    )
    assert float(got.by_wind_mm) == 0.0


def test_a_watt_taken_for_a_megajoule_would_give_an_absurd_rate() -> None:
    """600 W/m² are 2.16 MJ/m² an hour, half a millimetre; passed as they come they would be 96 mm."""
    assert 0.3 < by_day(20.0, 50.0, 2.0, 600.0 * 0.0036) < 0.7
    assert by_day(20.0, 50.0, 2.0, 600.0) > 50.0


def test_saturated_calm_night_takes_nothing() -> None:
    balance = evap.hourly(
        air_c=8.0,
        humidity_pct=100.0,
        wind_2m_ms=1.0,
        sun_mj_m2_h=0.0,
        clearness=0.8,
        daylight=False,
        elevation_m=0.0,
    )
    assert float(balance.evaporation_mm) == pytest.approx(0.0, abs=0.02)


def over_one_hour(sun_mj: float, clear_mj: float, humidity_pct: float, wind_ms: float) -> float:
    """Evaporation of one hour of a series, at 10 °C and sea level."""
    sky = radiation.Sky(np.array([[clear_mj / 0.75]]), np.array([[clear_mj]]), np.array([[clear_mj > 0.0]]))
    got = evap.over_hours(
        sky=sky,
        air_c=np.array([[10.0]]),
        humidity_pct=np.array([[humidity_pct]]),
        wind_ms=np.array([[wind_ms]]),
        sun_mj_m2_h=np.array([[sun_mj]]),
        elevation_m=0.0,
    )
    return float(got.item())


def test_a_series_takes_the_wind_as_it_is_at_10_m() -> None:
    by_hand = evap.hourly(
        air_c=10.0,
        humidity_pct=60.0,
        wind_2m_ms=4.0 * 0.748,
        sun_mj_m2_h=1.2,
        clearness=0.6,
        daylight=True,
        elevation_m=0.0,
    )
    assert over_one_hour(1.2, 2.0, 60.0, 4.0) == pytest.approx(float(by_hand.evaporation_mm), rel=1e-3)


def test_a_night_of_dew_wets_no_sawdust() -> None:
    """The equation goes a little under zero; the layer's own uptake is the sorption's business."""
    by_hand = evap.hourly(
        air_c=10.0,
        humidity_pct=100.0,
        wind_2m_ms=0.0,
        sun_mj_m2_h=0.0,
        clearness=0.5,
        daylight=False,
        elevation_m=0.0,
    )
    assert float(by_hand.evaporation_mm) < 0.0
    assert over_one_hour(0.0, 0.0, 100.0, 0.0) == 0.0
