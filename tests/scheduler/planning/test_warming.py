"""Nights by the chamber: what fire and sun leave of the ceiling."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import HOUR_S, at, examples, hours_between, nights_of, planning_site, weather_of

from scheduler.household.site import Chamber, Limits, Site, Tray
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.limits import TOLERANCE_C, read_weather, where_met
from scheduler.planning.warming import Warming, ceiling_with_fire_c, warming_of
from scheduler.science.chamber import LIMIT_C, fire_rise

NOON = round(at("2024-06-15T12:00"))
HOURS = NOON + np.arange(33) * HOUR_S
EVENING = hours_between("18:00", "20:00")
WARM = Limits(ceiling_c=27.0, floor_c=-40.0)
"""Over the usual ceiling: as a household might set it that minds only its chamber."""


def box_of_l(rise_k: float) -> float:
    """Volume [l] of a wooden box that one front warms by so much, by halving."""
    small, large = 1.0, 10_000.0
    for _ in range(200):
        middle = (small + large) / 2.0
        small, large = (middle, large) if fire_rise(1, middle / 1000.0, "wood").typical > rise_k else (small, middle)
    return small


BOX_L = box_of_l(4.0)
"""Warmed by 4 °C with one front and by 8 °C with two."""


def site_of(fronts: int = 1, rise_k: float | None = None, **changes: Any) -> Site:
    usual: dict[str, Any] = {"lighting_hours": EVENING, "duration_h": 8.0, "longest_h": 8.0, "limits": WARM}
    chamber = Chamber(rise_k=rise_k, volume_l=BOX_L)
    return planning_site(tray=Tray(fronts=fronts), chamber=chamber, latitude_deg=45.0, **(usual | changes))


def morning_site(fronts: int = 1, **changes: Any) -> Site:
    """A smoke that goes on until the sun is up: lit at 22:00, lifted at 10:00."""
    long = {"lighting_hours": hours_between("22:00", "22:30"), "duration_h": 12.0, "longest_h": 12.0}
    return site_of(fronts, **(long | changes))


def the_night(site: Site, air_c: Any, **columns: Any) -> Night:
    return nights_of(site, weather_of(HOURS, air_c, **columns), NOON)[0]


def even(value: float) -> np.ndarray:
    return np.full(len(HOURS), value)


def warming(site: Site, air_c: Any, **columns: Any) -> Warming:
    return warming_of(read_weather(weather_of(HOURS, air_c, **columns)), site)


def holding(site: Site, air_c: Any, **columns: Any) -> Any:
    warm = warming(site, air_c, **columns)
    return where_met(warm.weather, site.limits, rain_matters=False, counted=warm.counted).surely


# Facts.


def test_a_warm_night_fails_on_the_chamber_with_two_fronts_and_holds_with_one() -> None:
    # 25 °C and 8 °C of fire are 33 °C, over 32.2; with 4 °C of it they are 29.
    two, one = the_night(site_of(2), even(25.0)), the_night(site_of(1), even(25.0))
    assert (two.verdict, one.verdict) == (Verdict.NO, Verdict.GOOD)
    assert two.reasons[0] == (
        "even in the coolest window the chamber would reach 33.0 °C at Sat 18:00 (8.0 °C from 2 fronts),"
        " 0.8 °C over its limit of 32.2 °C"
    )
    assert two.reasons[1] == (
        "what keeps the chamber cooler: Light it at one end only: one front gives about half the heat."
        " Put a tray of ice in the chamber, under the food and away from the sawdust."
    )
    assert two.ceiling_c == pytest.approx(LIMIT_C - 8.0)
    assert two.margin_c == pytest.approx(LIMIT_C - 33.0)
    assert one.ceiling_c == 27.0
    assert one.margin_c == pytest.approx(2.0)


def test_a_night_that_the_chamber_decides_says_so_and_how_likely_it_holds() -> None:
    night = the_night(site_of(2), even(23.0))
    assert night.reasons[0] == (
        "the chamber would reach 31.0 °C at Sat 18:00 (8.0 °C from 2 fronts), 1.2 °C under its limit of 32.2 °C"
    )
    assert night.reasons[1].startswith("chance that the chamber stays under its limit: ")
    cooler_ceiling = site_of(2, rise_k=0.0, limits=replace(WARM, ceiling_c=LIMIT_C - 8.0))
    assert night.chance == pytest.approx(the_night(cooler_ceiling, even(23.0)).chance)


@pytest.mark.parametrize(("over_k", "verdict"), [(0.0, Verdict.GOOD), (0.0009, Verdict.GOOD), (0.002, Verdict.NO)])
def test_a_chamber_at_its_limit_is_allowed_and_over_it_is_not(over_k: float, verdict: Verdict) -> None:
    assert the_night(site_of(2), even(LIMIT_C - 8.0 + over_k)).verdict is verdict


def test_one_hour_in_which_the_chamber_is_too_warm_is_enough_for_no() -> None:
    air_c = even(15.0)
    air_c[10] = 25.0
    assert the_night(site_of(2), air_c).verdict is Verdict.NO


def test_a_measured_rise_replaces_the_usual_one() -> None:
    night = the_night(site_of(2, rise_k=3.0), even(25.0))
    assert night.verdict is Verdict.GOOD
    assert the_night(site_of(1, rise_k=9.0), even(25.0)).reasons[0] == (
        "even in the coolest window the chamber would reach 34.0 °C at Sat 18:00 (9.0 °C, the rise that you"
        " measured), 1.8 °C over its limit of 32.2 °C"
    )


def test_at_the_usual_ceiling_neither_one_front_nor_two_ever_bind_in_the_shade() -> None:
    for fronts in (1, 2):
        warm = warming(site_of(fronts, limits=Limits()), even(15.0))
        assert warm.counted is warm.weather


def test_the_high_end_of_the_rise_only_makes_a_note() -> None:
    night = the_night(replace(site_of(2, limits=Limits()), chamber=Chamber()), even(15.0))
    assert night.verdict is Verdict.GOOD
    assert night.reasons[-1] == (
        "if the fire burns hot, the chamber may reach 32.8 °C, over its limit of 32.2 °C: look at its thermometer"
    )
    assert "burns hot" not in " ".join(the_night(site_of(1, limits=Limits()), even(15.0)).reasons)


def test_a_chamber_over_thirty_degrees_is_noted() -> None:
    assert any("Nofima" in reason for reason in the_night(site_of(1), even(26.5)).reasons)
    assert not any("Nofima" in reason for reason in the_night(site_of(1), even(25.5)).reasons)


def test_the_morning_sun_is_a_no_where_the_shade_is_good() -> None:
    air_c = even(20.0)
    assert the_night(morning_site(1), air_c).verdict is Verdict.GOOD
    night = the_night(morning_site(1, sun_shelter=False), air_c, cloud_pct=even(0.0))
    assert night.verdict is Verdict.NO
    assert "from the sun" in night.reasons[0]
    assert "Keep the sun off the chamber" in night.reasons[1]
    assert night.margin_c is not None
    assert night.margin_c < 0.0


def test_a_smoke_that_ends_before_sunrise_is_the_same_in_the_sun_as_in_the_shade() -> None:
    # At 45° N the sun is down from about 19:40 to 4:10 UTC there in June.
    dark = {"lighting_hours": hours_between("20:30", "21:00"), "duration_h": 7.0, "longest_h": 7.0}
    shade = the_night(site_of(2, **dark), even(20.0))
    assert the_night(site_of(2, sun_shelter=False, **dark), even(20.0)) == shade


def test_the_best_lighting_has_the_greatest_margin_with_the_sun_on_the_chamber() -> None:
    # The air cools all night, so it asks for the last lighting; the sun after the lift of the first asks for that.
    hours = {"lighting_hours": hours_between("19:00", "22:00"), "duration_h": 9.0, "longest_h": 9.0}
    air_c = 20.0 - 0.05 * np.arange(33)
    shade, sun = (the_night(site_of(1, sun_shelter=dark, **hours), air_c) for dark in (True, False))
    assert shade.light_best is not None
    assert sun.light_best is not None
    assert shade.light_best.timestamp() == NOON + 10 * HOUR_S
    assert sun.light_best.timestamp() < NOON + 8.5 * HOUR_S


def test_the_warmest_air_of_a_whole_period_warms_the_chamber_too() -> None:
    times = NOON + np.arange(6) * 6 * HOUR_S
    site = {"lighting_hours": hours_between("18:00", "18:10"), "duration_h": 12.0, "longest_h": 12.0}
    coarse = weather_of(times, np.full(6, 15.0), air_max_c=np.full(6, 25.0))
    two, one = (nights_of(site_of(fronts, **site), coarse, NOON)[0] for fronts in (2, 1))
    assert one.verdict is not Verdict.NO
    assert "the chamber would reach 33.0 °C" in two.reasons[0]
    assert two.verdict is Verdict.NO


@pytest.mark.parametrize("kind", ["one forecast", "percentiles", "members"])
def test_a_chance_by_the_chamber_is_that_of_a_ceiling_lower_by_the_rise(kind: str) -> None:
    spread = {"air_p10_c": even(20.0), "air_p90_c": even(25.0)} if kind == "percentiles" else {}
    forecast = weather_of(HOURS, even(23.0), **spread)
    if kind == "members":
        index = forecast.hourly.index
        members = pd.DataFrame({f"air_c_{n}": np.full(len(index), 20.0 + n / 4) for n in range(20)}, index=index)
        forecast = replace(forecast, members=members)
    lower = site_of(2, rise_k=0.0, limits=replace(WARM, ceiling_c=LIMIT_C - 8.0))
    by_chamber, by_ceiling = (nights_of(site, forecast, NOON)[0] for site in (site_of(2), lower))
    assert by_chamber.chance == pytest.approx(by_ceiling.chance, abs=1e-9)
    assert by_chamber.chance != pytest.approx(nights_of(site_of(1), forecast, NOON)[0].chance, abs=0.01)


def test_an_unknown_cloud_counts_as_a_clear_sky_and_is_said() -> None:
    site = morning_site(1, sun_shelter=False)
    unknown, clear = the_night(site, even(15.0)), the_night(site, even(15.0), cloud_pct=even(0.0))
    assert unknown.margin_c == clear.margin_c
    assert any("taken as a clear sky" in reason for reason in unknown.reasons)
    assert not any("taken as a clear sky" in reason for reason in clear.reasons)
    assert not any("taken as a clear sky" in reason for reason in the_night(morning_site(1), even(15.0)).reasons)


def test_damp_air_is_noted_by_the_humidity_that_is_left_after_warming() -> None:
    # Saturated air at 10 °C warmed by 4 °C keeps 77 %; at a dew point of 9 °C, 72 %.
    damp, drier = (the_night(site_of(1), even(10.0), dewpoint_c=even(dew)) for dew in (10.0, 9.0))
    assert any("77 % humidity" in reason for reason in damp.reasons)
    assert not any("humidity" in reason for reason in drier.reasons)
    assert damp.verdict is drier.verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("gust_ms", "wind_ms", "word"),
    [(10.8, 4.0, "gusts of 10.8"), (10.7, 4.0, None), (3.0, 0.0, "no wind"), (3.0, 0.3, None)],
)
def test_wind_at_lighting_is_noted_where_it_is_strong_or_nil(gust_ms: float, wind_ms: float, word: str | None) -> None:
    night = the_night(site_of(1), even(10.0), gust_ms=even(gust_ms), wind_ms=even(wind_ms))
    assert night.verdict is Verdict.GOOD
    notes = [reason for reason in night.reasons if "at the lighting" in reason]
    assert [word in note for note in notes if word] == ([True] if word else [])
    assert bool(notes) is bool(word)


def test_a_strong_wind_later_in_the_night_is_not_noted_at_the_lighting() -> None:
    gust_ms = even(3.0)
    gust_ms[12] = 15.0
    assert not any("lighting" in reason for reason in the_night(site_of(1), even(10.0), gust_ms=gust_ms).reasons)


# What holds for every weather.

airs = st.lists(st.integers(0, 30).map(float), min_size=33, max_size=33).map(np.array)
clouds = st.sampled_from([0.0, 50.0, 100.0, float("nan")]).map(even)
rises = st.floats(0.0, 20.0)


@examples(60)
@given(airs, clouds, rises, rises, st.booleans())
def test_a_warmer_rise_never_gains_a_moment(air_c: Any, cloud: Any, one_k: float, other_k: float, shade: bool) -> None:
    cool, warm = (
        holding(site_of(rise_k=k, sun_shelter=shade), air_c, cloud_pct=cloud) for k in sorted([one_k, other_k])
    )
    assert inside(warm, cool)


@examples(60)
@given(airs, clouds, st.booleans())
def test_more_fronts_are_never_cooler(air_c: Any, cloud: Any, shade: bool) -> None:
    one, two = (warming(site_of(fronts, sun_shelter=shade), air_c, cloud_pct=cloud) for fronts in (1, 2))
    assert (two.chamber.values > one.chamber.values).all()
    assert (two.excess_k(HOURS) >= one.excess_k(HOURS)).all()


@examples(60)
@given(airs, clouds, st.sampled_from([1, 2]))
def test_the_sun_never_cools_and_never_gains_a_moment(air_c: Any, cloud: Any, fronts: int) -> None:
    shade, sun = (warming(site_of(fronts, sun_shelter=dark), air_c, cloud_pct=cloud) for dark in (True, False))
    assert (sun.chamber.at(HOURS) >= shade.chamber.at(HOURS)).all()
    held = [holding(site_of(fronts, sun_shelter=dark), air_c, cloud_pct=cloud) for dark in (True, False)]
    assert inside(held[1], held[0])


@examples(60)
@given(airs, rises)
def test_the_moments_that_hold_are_those_under_both_limits(air_c: Any, rise_k: float) -> None:
    site = site_of(rise_k=rise_k)
    warm = warming(site, air_c)
    both = warm.weather.air.under(WARM.ceiling_c + TOLERANCE_C) & warm.chamber.under(LIMIT_C + TOLERANCE_C)
    assert [pytest.approx(piece, abs=0.01) for piece in both] == list(holding(site, air_c))


@examples(60)
@given(airs, clouds)
def test_in_the_sun_no_moment_holds_in_which_the_chamber_is_over_its_limit(air_c: Any, cloud: Any) -> None:
    site = site_of(2, sun_shelter=False)
    warm = warming(site, air_c, cloud_pct=cloud)
    grid = np.arange(HOURS[0], HOURS[-1], 300.0)
    held = holding(site, air_c, cloud_pct=cloud)
    over = warm.chamber.at(grid)[:, 0] > LIMIT_C + 0.01
    assert not any(held.piece_at(float(moment)) for moment in grid[over])


@examples(40)
@given(airs, st.sampled_from([1, 2]))
def test_a_chamber_that_never_binds_changes_no_verdict_and_no_figure(air_c: Any, fronts: int) -> None:
    usual = Limits(floor_c=-40.0)
    assert ceiling_with_fire_c(site_of(fronts, limits=usual)) == usual.ceiling_c
    with_fire, without = (the_night(site_of(fronts, rise_k=k, limits=usual), air_c) for k in (None, 0.0))
    assert replace(with_fire, chamber=None, reasons=()) == replace(without, chamber=None, reasons=())


def inside(inner: Any, outer: Any) -> bool:
    """Whether every stretch of the one lies in a stretch of the other, to a second."""
    return all(any(c - 1.0 <= a and b <= d + 1.0 for c, d in outer) for a, b in inner)
