"""What a night is worth: each limit at its edge, what is not known, what is too old, and the chance."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import (
    CEILING_C,
    DAY_S,
    HOUR_S,
    MINUTE_S,
    NEVER_HOME,
    at,
    examples,
    hours_between,
    nights_of,
    planning_site,
    weather_of,
)

from scheduler.household.site import Limits, Site
from scheduler.household.units import celsius_from_fahrenheit
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.coarse import Doubt
from scheduler.planning.limits import read_weather
from scheduler.planning.spread import ErrorModel

NOON = round(at("2024-01-15T12:00"))
HOURS = NOON + np.arange(25) * HOUR_S
EVENING = hours_between("18:00", "20:00")
"""With a smoke of 8 h, every window of these tests lies between 18:00 and 4:00, and holds 20:00 to 2:00."""


def evening_site(**changes: Any) -> Site:
    return planning_site(lighting_hours=EVENING, duration_h=8.0, longest_h=8.0, **changes)


def the_night(site: Site, air_c: Any, times: Any = HOURS, *, now_s: float = NOON, **columns: Any) -> Night:
    """The first night of a forecast, issued at its first stamp."""
    return nights_of(site, weather_of(times, air_c, **columns), now_s)[0]


def even(air_c: float) -> np.ndarray:
    return np.full(len(HOURS), air_c)


def at_hour(hour: int, value: float, usual: float) -> np.ndarray:
    """The usual value but for one hour, counted from noon."""
    values = even(usual)
    values[hour] = value
    return values


# The limits.


@pytest.mark.parametrize(
    ("air_c", "verdict"), [(15.0, Verdict.GOOD), (15.0009, Verdict.GOOD), (15.002, Verdict.NO), (0.0, Verdict.GOOD)]
)
def test_air_at_the_ceiling_is_allowed_and_air_over_it_is_not(air_c: float, verdict: Verdict) -> None:
    assert the_night(evening_site(), even(air_c)).verdict is verdict


@pytest.mark.parametrize("ceiling_c", [celsius_from_fahrenheit(60.0), 15.5556, 15.556])
@pytest.mark.parametrize("air_c", [celsius_from_fahrenheit(60.0), 15.5556, 15.556])
def test_sixty_fahrenheit_is_met_however_it_was_rounded(ceiling_c: float, air_c: float) -> None:
    site = evening_site(limits=Limits(ceiling_c=ceiling_c, floor_c=-40.0))
    assert the_night(site, even(air_c)).verdict is Verdict.GOOD


def test_a_tenth_of_a_degree_fahrenheit_over_the_ceiling_is_over_it() -> None:
    site = evening_site(limits=Limits(ceiling_c=celsius_from_fahrenheit(60.0)))
    assert the_night(site, even(celsius_from_fahrenheit(60.1))).verdict is Verdict.NO


@pytest.mark.parametrize(
    ("air_c", "verdict"), [(-2.0, Verdict.NO), (-2.5, Verdict.NO), (-1.99, Verdict.GOOD), (0.0, Verdict.GOOD)]
)
def test_air_at_the_floor_is_not_allowed(air_c: float, verdict: Verdict) -> None:
    site = evening_site(limits=Limits(ceiling_c=CEILING_C, floor_c=-2.0))
    assert the_night(site, even(air_c)).verdict is verdict


def test_one_hour_over_the_ceiling_inside_every_window_is_enough_for_no() -> None:
    assert the_night(evening_site(), at_hour(10, 16.0, 9.0)).verdict is Verdict.NO


@pytest.mark.parametrize("hour", [6, 7])
def test_an_hour_over_the_ceiling_is_lit_after(hour: int) -> None:
    # From 16 °C at the hour to 9 °C an hour later, 15.001 °C is passed after 8 min 34 s.
    night = the_night(evening_site(), at_hour(hour, 16.0, 9.0))
    assert night.verdict is Verdict.GOOD
    assert night.light_earliest is not None
    assert night.light_earliest.timestamp() == NOON + hour * HOUR_S + 9 * MINUTE_S


@pytest.mark.parametrize(("rain_mm", "verdict"), [(0.0, Verdict.GOOD), (0.5, Verdict.GOOD), (0.6, Verdict.NO)])
def test_rain_at_its_limit_is_allowed(rain_mm: float, verdict: Verdict) -> None:
    site = evening_site(rain_shelter=False, limits=Limits(CEILING_C, -40.0, rain_mm_per_h=0.5))
    assert the_night(site, even(9.0), rain_mm=at_hour(10, rain_mm, 0.0)).verdict is verdict


@pytest.mark.parametrize(("rain_mm", "verdict"), [(2.1, Verdict.GOOD), (2.2, Verdict.NO)])
def test_rain_of_three_hours_counts_by_the_hour(rain_mm: float, verdict: Verdict) -> None:
    # 2.1 / 3 is a hair over 0.7 in floating point.
    times = NOON + np.arange(0, 28, 3) * HOUR_S
    site = evening_site(rain_shelter=False, limits=Limits(CEILING_C, -40.0, rain_mm_per_h=0.7))
    night = the_night(site, np.full(10, 9.0), times, rain_mm=np.full(10, rain_mm))
    assert night.verdict is verdict


def test_rain_before_the_lighting_and_after_the_lift_does_not_matter() -> None:
    rain_mm = np.where((np.arange(25) < 6) | (np.arange(25) >= 14), 9.0, 0.0)
    site = evening_site(rain_shelter=False, limits=Limits(CEILING_C, -40.0, rain_mm_per_h=0.0))
    night = the_night(site, even(9.0), rain_mm=rain_mm)
    assert night.verdict is Verdict.GOOD
    assert night.light_best is not None
    assert night.light_earliest == night.light_latest == night.light_best
    assert night.light_best.timestamp() == NOON + 6 * HOUR_S


def test_rain_does_not_matter_under_a_shelter_or_without_a_limit() -> None:
    for site in (
        evening_site(rain_shelter=True, limits=Limits(CEILING_C, -40.0, rain_mm_per_h=0.5)),
        evening_site(rain_shelter=False),
    ):
        assert the_night(site, even(9.0), rain_mm=even(9.0)).verdict is Verdict.GOOD
        assert the_night(site, even(9.0)).verdict is Verdict.GOOD


@pytest.mark.parametrize(("gust_ms", "verdict"), [(0.0, Verdict.GOOD), (12.0, Verdict.GOOD), (12.1, Verdict.NO)])
def test_a_gust_at_its_limit_is_allowed(gust_ms: float, verdict: Verdict) -> None:
    site = evening_site(limits=Limits(CEILING_C, -40.0, gust_ms=12.0))
    assert the_night(site, even(9.0), gust_ms=at_hour(10, gust_ms, 3.0)).verdict is verdict


def test_a_gust_of_the_hour_before_the_lighting_or_after_the_lift_is_not_told() -> None:
    # Lit at 18:00, lifted at 2:00.
    hours = np.arange(25)
    gust_ms = np.where(hours == 5, 21.0, np.where(hours == 14, 22.0, np.where(hours == 13, 4.0, 3.0)))
    assert the_night(evening_site(), even(9.0), gust_ms=gust_ms).gust_ms == 4.0


def test_rain_of_a_part_hour_counts_by_its_part() -> None:
    # Lit at 18:40 and lifted at 2:40: a third of 3 mm, seven hours of 1 mm, and two thirds of 6 mm.
    site = replace(evening_site(), lighting_hours=hours_between("18:40", "19:00"))
    rain_mm = np.where(np.arange(25) == 6, 3.0, np.where(np.arange(25) == 14, 6.0, 1.0))
    night = the_night(site, even(9.0), rain_mm=rain_mm)
    assert night.rain_mm == pytest.approx(1.0 + 7.0 + 4.0, abs=1e-9)
    assert night.gust_ms is None


# What is not known.

NAN = float("nan")


def test_a_window_with_an_unknown_hour_is_unknown_and_says_which() -> None:
    night = the_night(evening_site(), at_hour(10, NAN, 9.0))
    assert night.verdict is Verdict.UNKNOWN
    assert night.reasons == ("the forecast does not say the air from Mon 21:00 to Mon 23:00",)
    assert (night.peak_c, night.chance, night.light_best) == (None, None, None)


def test_an_unknown_hour_that_no_window_needs_changes_nothing() -> None:
    whole, partly = (the_night(evening_site(), air_c) for air_c in (even(9.0), at_hour(4, NAN, 9.0)))
    assert whole == partly
    assert partly.verdict is Verdict.GOOD


def test_the_afternoon_that_is_past_does_not_count() -> None:
    air_c = even(9.0)
    air_c[:7] = NAN
    site = evening_site()
    assert the_night(site, air_c, now_s=NOON + 7 * HOUR_S).verdict is Verdict.GOOD
    hot = np.where(np.arange(25) < 6, 25.0, 9.0)
    assert the_night(site, hot, now_s=NOON + 7 * HOUR_S).verdict is Verdict.GOOD


def test_an_unknown_hour_cannot_save_a_night_that_is_too_warm_in_every_window() -> None:
    air_c = at_hour(9, 20.0, 9.0)
    air_c[12] = NAN
    assert the_night(evening_site(), air_c).verdict is Verdict.NO


def test_a_whole_window_beside_an_unknown_one_makes_the_night_good() -> None:
    air_c = even(9.0)
    air_c[15:] = NAN  # known to 2:00: only a lighting at 18:00 has a known window
    night = the_night(evening_site(), np.where(np.arange(25) == 14, 9.0, air_c))
    assert night.verdict is Verdict.GOOD
    assert night.light_latest == night.light_earliest


def test_steps_of_six_hours_are_read_between_and_without_maxima_leave_the_window_in_doubt() -> None:
    times = NOON + np.arange(0, 31, 6) * HOUR_S
    night = the_night(evening_site(), [14.0, 9.0, 9.0, 9.0, 9.0, 9.0], times)
    assert night.verdict is Verdict.BORDERLINE
    assert Doubt.NO_MAXIMUM in night.reasons
    assert night.peak_c == 9.0


@pytest.mark.parametrize(
    ("maxima_c", "verdict"),
    [
        ([15.0, 9.5, 9.5, 9.5, 9.5, NAN], Verdict.GOOD),
        ([15.0, 16.0, 9.5, 9.5, 9.5, NAN], Verdict.NO),
        ([16.0, 9.5, 16.0, 9.5, 9.5, NAN], Verdict.BORDERLINE),
    ],
    ids=["all cool", "a warm period inside every window", "warm periods that reach out of the window"],
)
def test_the_maximum_of_a_period_decides_where_the_window_holds_it_and_is_a_doubt_where_it_does_not(
    maxima_c: list[float], verdict: Verdict
) -> None:
    times = NOON + np.arange(2, 33, 6) * HOUR_S
    night = the_night(evening_site(), [14.0, 9.0, 9.0, 9.0, 9.0, 9.0], times, air_max_c=np.array(maxima_c))
    assert night.verdict is verdict
    assert (Doubt.OVERLAP in night.reasons) is (verdict is Verdict.BORDERLINE)


@pytest.mark.parametrize("hours", [6.02, 7, 9, 12])
def test_a_step_longer_than_six_hours_is_a_gap_and_no_figure_is_read_across_it(hours: float) -> None:
    times = NOON + np.array([0.0, 1, 2, 3, 4, 5, 6, 7, 8, *(8 + hours + np.arange(20))]) * HOUR_S
    night = the_night(evening_site(), np.full(len(times), 9.0), times)
    assert night.verdict is Verdict.UNKNOWN
    assert (night.peak_c, night.chance, night.margin_c, night.low_c, night.looked_at) == (None,) * 5


def test_a_step_that_is_too_long_leaves_the_dew_point_unknown_too() -> None:
    times = NOON + np.arange(0, 25) * HOUR_S
    dewpoint_c = np.where((np.arange(25) > 8) & (np.arange(25) < 16), NAN, 3.0)
    night = the_night(evening_site(), even(9.0), times, dewpoint_c=dewpoint_c)
    assert night.verdict is Verdict.GOOD
    assert night.dewpoint_max_c is None


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"rain_shelter": False, "limits": Limits(CEILING_C, -40.0, rain_mm_per_h=0.5)}, "rain"),
        ({"limits": Limits(CEILING_C, -40.0, gust_ms=12.0)}, "gusts"),
    ],
)
def test_a_missing_column_that_a_limit_needs_makes_the_night_unknown(changes: dict[str, Any], word: str) -> None:
    night = the_night(evening_site(**changes), even(9.0))
    assert night.verdict is Verdict.UNKNOWN
    assert word in night.reasons[0]


def test_a_missing_column_does_not_make_a_night_unknown_that_is_too_warm_anyway() -> None:
    site = evening_site(limits=Limits(CEILING_C, -40.0, gust_ms=12.0))
    assert the_night(site, even(20.0)).verdict is Verdict.NO


def test_weather_without_any_air_leaves_its_nights_unknown() -> None:
    nights = nights_of(evening_site(), weather_of(HOURS, even(NAN)), NOON)
    assert [night.verdict for night in nights] == [Verdict.UNKNOWN]
    assert "air" in nights[0].reasons[0]


def test_a_forecast_of_a_single_hour_decides_nothing() -> None:
    nights = nights_of(evening_site(), weather_of(HOURS[6:7], [9.0]), NOON)
    assert [night.verdict for night in nights] == [Verdict.UNKNOWN]


@pytest.mark.parametrize(
    ("age_h", "verdict"), [(48.0, Verdict.GOOD), (48.02, Verdict.UNKNOWN), (72.0, Verdict.UNKNOWN)]
)
def test_a_forecast_older_than_two_days_decides_nothing(age_h: float, verdict: Verdict) -> None:
    night = the_night(evening_site(), even(9.0), issued_s=NOON - age_h * HOUR_S)
    assert night.verdict is verdict
    if verdict is Verdict.UNKNOWN:
        assert "old" in night.reasons[0]
        assert night.light_best is None


def test_a_forecast_that_is_too_old_is_not_even_good_for_a_no() -> None:
    assert the_night(evening_site(), even(25.0), issued_s=NOON - 3 * DAY_S).verdict is Verdict.UNKNOWN


def test_the_night_in_which_the_forecast_ends_is_unknown_and_says_so() -> None:
    nights = nights_of(evening_site(), weather_of(NOON + np.arange(33) * HOUR_S, np.full(33, 9.0)), NOON)
    assert [night.verdict for night in nights] == [Verdict.GOOD, Verdict.UNKNOWN]
    assert nights[1].reasons == ("the forecast ends Tue 20:00, before every window of this night is over",)


# Which nights are told of.


def test_a_night_with_nobody_at_home_is_a_no_with_its_reason() -> None:
    night = the_night(planning_site(household_hours=NEVER_HOME, lighting_hours=EVENING), even(9.0), now_s=NOON - HOUR_S)
    assert night.date == date(2024, 1, 15)
    assert night.verdict is Verdict.NO
    assert "nobody is at home" in night.reasons[0]


def test_a_night_whose_lightings_are_past_is_not_told_of() -> None:
    weather = weather_of(NOON + np.arange(49) * HOUR_S, np.full(49, 9.0))
    nights = nights_of(evening_site(), weather, NOON + 8 * HOUR_S + MINUTE_S)
    assert [night.date for night in nights] == [date(2024, 1, 16)]


def test_no_lighting_lies_before_now() -> None:
    night = the_night(evening_site(), even(9.0), now_s=NOON + 7 * HOUR_S + 20)
    assert night.light_earliest is not None
    assert night.light_earliest.timestamp() == NOON + 7 * HOUR_S + MINUTE_S


# The chance.


def chance_of(forecast: Any, light: float, lift: float) -> float:
    weather = read_weather(forecast)
    spread = ErrorModel(weather.air, weather.issued)
    return float(spread.chances(np.array([light]), np.array([lift]), CEILING_C)[0])


evening_air = st.lists(st.integers(4, 16).map(float), min_size=25, max_size=25)


@examples(80)
@given(evening_air, st.sampled_from([(0.8, 0.55), (0.95, 0.9), (0.6, 0.3)]))
def test_a_night_is_worth_the_chance_of_its_coolest_window(air_c: list[float], wanted: tuple[float, float]) -> None:
    site = evening_site(good_chance=wanted[0], borderline_chance=wanted[1])
    night = the_night(site, air_c)
    if night.light_best is None:
        assert night.verdict is Verdict.NO
        return
    assert night.lift is not None
    assert night.lift - night.light_best == timedelta(hours=8)
    forecast = weather_of(HOURS, air_c)
    assert night.chance == pytest.approx(chance_of(forecast, night.light_best.timestamp(), night.lift.timestamp()))
    assert night.chance is not None
    expected = {
        Verdict.GOOD: night.chance >= wanted[0],
        Verdict.BORDERLINE: wanted[1] <= night.chance < wanted[0] + 0.01,
        Verdict.NO: night.chance < wanted[1] + 0.01,
    }
    assert expected[night.verdict], (night.verdict, night.chance)


@examples(80)
@given(evening_air)
def test_every_lighting_of_the_span_keeps_the_chance_of_the_verdict(air_c: list[float]) -> None:
    site = evening_site(good_chance=0.8, borderline_chance=0.55)
    night = the_night(site, air_c)
    if night.verdict not in (Verdict.GOOD, Verdict.BORDERLINE):
        return
    assert night.light_earliest is not None
    assert night.light_latest is not None
    needed = 0.8 if night.verdict is Verdict.GOOD else 0.55
    early, late = (round(t.timestamp()) for t in (night.light_earliest, night.light_latest))
    forecast = weather_of(HOURS, air_c)

    def enough(light: float) -> bool:
        window = np.interp([light, light + 8 * HOUR_S], HOURS, air_c)
        inner = [value for t, value in zip(HOURS, air_c, strict=True) if light < t < light + 8 * HOUR_S]
        holds = max(*window, *inner) <= CEILING_C + 0.001
        return bool(holds and chance_of(forecast, light, light + 8 * HOUR_S) >= needed - 1e-3)

    assert all(enough(light) for light in range(early, late + 1, 5 * MINUTE_S))
    # And it goes on as far as it can: a minute further the lighting hours or the limits or the chance end.
    for beyond in (early - MINUTE_S, late + MINUTE_S):
        inside = NOON + 6 * HOUR_S <= beyond <= NOON + 8 * HOUR_S
        assert not inside or not enough(beyond) or chance_of(forecast, beyond, beyond + 8 * HOUR_S) < needed + 1e-3
