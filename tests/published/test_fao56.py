"""Worked examples of FAO Irrigation and Drainage Paper 56 (Allen, Pereira, Raes and Smith, 1998).

Read: the figures of examples 2, 3, 5, 8 to 11, 13, 14, 17 and 18 in the tests of two evaporation libraries that quote
the paper by example and page, and all of example 19 in a program that lists what the page prints.  From memory: the
intermediate values of 17 and 18 that those do not name, and example 20 but for its vapour pressure.

A tolerance is half of the last digit printed, unless it says why it is more.
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from scheduler.science import evaporation as evap
from scheduler.science import radiation as sun


def near(value: object, printed: str, digits: float = 0.5) -> None:
    """Agree to so many units of the last digit printed."""
    decimals = len(printed.partition(".")[2])
    assert float(value) == pytest.approx(float(printed), abs=(digits + 1e-6) * 10.0**-decimals)  # type: ignore[arg-type]


def test_example_2_pressure_and_psychrometric_constant_at_1800_m() -> None:
    near(evap.pressure(1800), "81.8")
    near(evap.psychrometric(1800), "0.054")


def test_example_3_mean_saturation_pressure_is_the_mean_of_both_ends() -> None:
    near(evap.saturation(24.5), "3.075")
    near(evap.saturation(15), "1.705")
    near((evap.saturation(24.5) + evap.saturation(15)) / 2, "2.39")
    near(evap.saturation(19.75), "2.30")  # the trap that the paper warns of


def test_example_5_vapour_pressure_from_humidity() -> None:
    near(evap.saturation(18), "2.064")
    near(evap.saturation(25), "3.168")
    near((evap.saturation(18) * 0.82 + evap.saturation(25) * 0.54) / 2, "1.70")


def test_example_8_radiation_above_the_air_at_20_south_on_3_september() -> None:
    near(sun.sun_distance(246), "0.985")
    near(sun.declination(246), "0.120")
    near(sun.sunset_angle(-20, 246), "1.527")
    near(sun.extraterrestrial_daily(-20, 246), "32.2")


def test_example_9_daylight_at_20_south_on_3_september() -> None:
    near(sun.daylight_hours(-20, 246), "11.7")


def test_example_10_radiation_from_sunshine() -> None:
    near(sun.from_sunshine(25.1, 7.1, 10.9), "14.45")


def test_example_11_longwave_radiation() -> None:
    kelvin4 = ((25.1 + sun.KELVIN) ** 4 + (19.1 + sun.KELVIN) ** 4) / 2
    near(sun.net_longwave(kelvin4, 2.1, sun.clearness(14.5, 18.8)), "3.5")


def test_example_12_net_shortwave_radiation() -> None:
    near(sun.net_shortwave(14.45), "11.1")


def test_example_14_wind_from_10_m_to_2_m() -> None:
    near(evap.wind_at_2m(3.2, 10), "2.4")


def test_wind_at_2_m_is_three_quarters_of_that_at_10_m() -> None:
    near(evap.wind_at_2m(1.0), "0.748")  # Annex 2, table 2.9, from memory


class TestExample17:
    """Bangkok, 13°44' N, 2 m, April."""

    above = sun.extraterrestrial_daily(13 + 44 / 60, 105)
    day_h = sun.daylight_hours(13 + 44 / 60, 105)
    shine = sun.from_sunshine(above, 8.5, day_h)
    balance = evap.daily(
        air_max_c=34.8,
        air_min_c=25.6,
        vapour_kpa=2.85,
        wind_2m_ms=2.0,
        sun_mj_m2=shine,
        clear_mj_m2=sun.clear_sky(above, 2),
        elevation_m=2,
        ground_mj_m2=0.14,
    )

    def test_air(self) -> None:
        near(evap.pressure(2), "101.3")
        near(self.balance.slope, "0.246")
        near(self.balance.psychrometric, "0.0674", 1)  # 0.06735: the paper rounds the pressure first
        near(evap.saturation(34.8), "5.56")
        near(evap.saturation(25.6), "3.28")
        near(self.balance.saturation_kpa, "4.42")

    def test_radiation(self) -> None:
        near(self.above, "38.06")
        near(self.day_h, "12.31")
        near(self.shine, "22.65")
        near(sun.clear_sky(self.above, 2), "28.54", 1)
        near(self.balance.net_shortwave, "17.44")
        near(self.balance.net_longwave, "3.11")
        near(self.balance.net, "14.33")

    def test_evaporation(self) -> None:
        near(self.balance.by_radiation_mm, "3.97")
        near(self.balance.by_wind_mm, "1.75")
        near(self.balance.evaporation_mm, "5.72")


class TestExample18:
    """Uccle, 50°48' N, 100 m, 6 July."""

    above = sun.extraterrestrial_daily(50.8, 187)
    day_h = sun.daylight_hours(50.8, 187)
    shine = sun.from_sunshine(above, 9.25, day_h)
    vapour = (evap.saturation(12.3) * 0.84 + evap.saturation(21.5) * 0.63) / 2
    balance = evap.daily(
        air_max_c=21.5,
        air_min_c=12.3,
        vapour_kpa=vapour,
        wind_2m_ms=evap.wind_at_2m(10 / 3.6),
        sun_mj_m2=shine,
        clear_mj_m2=sun.clear_sky(above, 100),
        elevation_m=100,
    )

    def test_air(self) -> None:
        near(evap.wind_at_2m(10 / 3.6), "2.078")
        near(evap.pressure(100), "100.1")
        near(self.balance.psychrometric, "0.0666")
        near(self.balance.slope, "0.122")
        near(evap.saturation(21.5), "2.564")
        near(evap.saturation(12.3), "1.431")
        near(self.balance.saturation_kpa, "1.997")
        near(self.vapour, "1.409")

    def test_radiation(self) -> None:
        near(self.above, "41.09")
        near(self.day_h, "16.1")
        near(self.shine, "22.07")
        near(sun.clear_sky(self.above, 100), "30.90")
        near(self.balance.net_shortwave, "17.00")
        near(self.balance.net_longwave, "3.71")
        near(self.balance.net, "13.28")

    def test_evaporation(self) -> None:
        near(self.balance.by_radiation_mm, "2.81")
        near(self.balance.by_wind_mm, "1.07")
        near(self.balance.evaporation_mm, "3.88")


class TestExample19:
    """N'Diaye, 16°13' N, 16°15' W, 8 m, 1 October; its clock is one hour behind UTC."""

    latitude, longitude, height = 16 + 13 / 60, -16.25, 8.0

    def start_s(self, clock_h: int) -> float:
        return datetime(2025, 10, 1, clock_h + 1, tzinfo=UTC).timestamp()

    def test_the_day(self) -> None:
        assert float(sun.day_of_year(self.start_s(14))) == 274
        near(sun.sun_distance(274), "1.0001")
        near(sun.declination(274), "-0.0753")

    def test_the_angle_of_the_sun(self) -> None:
        near(sun.solar_angle(self.start_s(14) + 1800, self.longitude), "0.682")
        near(sun.solar_angle(self.start_s(14) + 1800, self.longitude) - np.pi / 24, "0.5512", 2)
        near(sun.solar_angle(self.start_s(2) + 1800, self.longitude), "-2.46")

    def test_afternoon(self) -> None:
        above = sun.extraterrestrial(self.start_s(14), 1.0, self.latitude, self.longitude)
        clear = sun.clear_sky(above, self.height)
        ratio = sun.clearness(2.450, clear)
        got = evap.hourly(
            air_c=38,
            humidity_pct=52,
            wind_2m_ms=3.3,
            sun_mj_m2_h=2.450,
            clearness=ratio,
            daylight=True,
            elevation_m=self.height,
        )
        near(above, "3.543")
        near(clear, "2.658")
        near(ratio, "0.922")
        near(got.slope, "0.358")
        near(got.psychrometric, "0.0673")
        near(got.saturation_kpa, "6.625")
        near(got.vapour_kpa, "3.445")
        near(got.saturation_kpa - got.vapour_kpa, "3.180")
        near(got.net_shortwave, "1.887", 1)
        near(got.net_longwave, "0.137")
        near(got.net, "1.749")
        near(got.ground, "0.175")
        near(got.by_radiation_mm, "0.46")
        near(got.by_wind_mm, "0.17")
        near(got.evaporation_mm, "0.63")

    def test_night(self) -> None:
        assert float(sun.extraterrestrial(self.start_s(2), 1.0, self.latitude, self.longitude)) == 0.0
        got = evap.hourly(
            air_c=28,
            humidity_pct=90,
            wind_2m_ms=1.9,
            sun_mj_m2_h=0.0,
            clearness=0.8,
            daylight=False,
            elevation_m=self.height,
        )
        near(got.slope, "0.220")
        near(got.saturation_kpa, "3.780")
        near(got.vapour_kpa, "3.402")
        near(got.net_longwave, "0.100")
        near(got.net, "-0.100")
        near(got.ground, "-0.050")
        near(got.by_radiation_mm, "-0.01")
        near(got.by_wind_mm, "0.01", 1)  # 0.018
        near(got.evaporation_mm, "0.00")


def test_example_20_with_warmest_and_coldest_air_alone() -> None:
    """Lyon, 45°43' N, 200 m, July; only the vapour pressure was read, the rest is from memory."""
    above = sun.extraterrestrial_daily(45 + 43 / 60, 196)
    shine = 0.16 * (26.6 - 14.8) ** 0.5 * above
    got = evap.daily(
        air_max_c=26.6,
        air_min_c=14.8,
        vapour_kpa=evap.saturation(14.8),
        wind_2m_ms=2.0,
        sun_mj_m2=shine,
        clear_mj_m2=sun.clear_sky(above, 200),
        elevation_m=200,
    )
    near(got.vapour_kpa, "1.68")
    near(above, "40.55")
    near(shine, "22.29")
    near(got.evaporation_mm, "4.56")


def test_the_parts_of_a_day_add_up_to_eq_21() -> None:
    """Equations 21 and 28 are the same integral, so the hours' sum is the day's to rounding."""
    midnight = datetime(2025, 6, 21, tzinfo=UTC).timestamp()
    for latitude in (-78.0, -33.9, 0.0, 51.5, 69.6, 78.2):
        for period in (1.0, 3.0, 6.0):
            starts = midnight + 3600.0 * np.arange(0.0, 24.0, period)
            total = np.sum(sun.extraterrestrial(starts, period, latitude, 13.0)) * period
            assert float(total) == pytest.approx(float(sun.extraterrestrial_daily(latitude, 172)), rel=1e-9)
