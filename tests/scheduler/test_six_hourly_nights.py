"""MET Norway's hours and then its six-hour periods, from an answer in its shape to the nights that it makes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapes_met_norway
from planning_builders import ALWAYS_HOME, HOUR_S, ask, hours_between, planning_site

from providers import met_norway
from scheduler.household.site import Limits
from scheduler.household.units import celsius_from_fahrenheit
from scheduler.planning.answers import Verdict
from scheduler.planning.coarse import Doubt
from scheduler.planning.limits import read_weather
from scheduler.planning.spread import spread_of
from scheduler.service import look

if TYPE_CHECKING:
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night

NOW = datetime(2026, 10, 20, 12, tzinfo=UTC)
HOURLY, FAR = date(2026, 10, 21), date(2026, 10, 24)
"""A night of hours, and one of readings every six hours: its periods begin at 12, 18, 0 and 6 o'clock."""
SITE = planning_site(
    household_hours=ALWAYS_HOME,
    lighting_hours=hours_between("19:00", "22:00"),
    duration_h=12.0,
    longest_h=12.0,
    limits=Limits(ceiling_c=celsius_from_fahrenheit(60.0), floor_c=-5.0),
    good_chance=0.8,
    borderline_chance=0.55,
)
"""Lit from 19:00 to 22:00 for 12 h: every window holds 0 to 6 o'clock whole, and a part of the periods beside it."""
OVER_C, UNDER_C = 15.56, 15.55


def payload(*, nordic: bool, **maxima_c: float | None) -> dict[str, Any]:
    """The usual answer with other maxima for some periods of the far night: from_18=16.0; None leaves one out."""
    made = shapes_met_norway.complete(NOW, nordic=nordic)
    for name, most_c in maxima_c.items():
        start = datetime.combine(FAR, datetime.min.time(), UTC) + timedelta(hours=int(name.removeprefix("from_")))
        step = next(s for s in shapes_met_norway.series(made) if s["time"] == f"{start:%Y-%m-%dT%H:%M:%SZ}")
        details = step["data"]["next_6_hours"]["details"]
        if most_c is None:
            del details["air_temperature_max"]
        else:
            details["air_temperature_max"] = most_c
    return made


def nights(answer: dict[str, Any], site: Site = SITE) -> dict[date, Night]:
    forecast = met_norway.parse(answer, fetched_at=NOW)
    return {night.date: night for night in look(ask(site, forecast, NOW.timestamp()))}


nordic_or_not = pytest.mark.parametrize("nordic", [False, True], ids=["no percentiles", "percentiles"])


@nordic_or_not
def test_with_every_maximum_under_the_ceiling_a_night_of_six_hour_periods_may_be_good(nordic: bool) -> None:
    found = nights(payload(nordic=nordic))
    assert found[FAR].verdict is Verdict.GOOD
    assert not {*Doubt} & set(found[FAR].reasons)


@nordic_or_not
@pytest.mark.parametrize("period", ["from_18", "from_30"])
def test_a_maximum_over_the_ceiling_in_a_period_that_reaches_out_of_the_window_is_a_doubt(
    nordic: bool, period: str
) -> None:
    night = nights(payload(nordic=nordic, **{period: OVER_C}))[FAR]
    assert night.verdict is Verdict.BORDERLINE
    assert Doubt.OVERLAP in night.reasons


@nordic_or_not
@pytest.mark.parametrize("chance_wanted", [0.0, 0.8])
def test_such_a_night_is_never_good_whatever_chance_is_wanted(nordic: bool, chance_wanted: float) -> None:
    site = replace(SITE, good_chance=chance_wanted, borderline_chance=0.0)
    assert nights(payload(nordic=nordic, from_18=30.0), site)[FAR].verdict is Verdict.BORDERLINE


@nordic_or_not
@pytest.mark.parametrize(("most_c", "verdict"), [(OVER_C, Verdict.NO), (UNDER_C, Verdict.NO), (12.0, Verdict.GOOD)])
def test_the_maximum_of_a_period_inside_every_window_counts_as_if_it_were_read(
    nordic: bool, most_c: float, verdict: Verdict
) -> None:
    """Over the ceiling no window holds; just under it one does, with an even chance."""
    night = nights(payload(nordic=nordic, from_24=most_c))[FAR]
    assert night.verdict is verdict
    assert night.peak_c == most_c
    assert (night.light_best is None) is (most_c == OVER_C)
    if most_c == UNDER_C:
        assert night.chance == pytest.approx(0.5, abs=0.01)


@nordic_or_not
@pytest.mark.parametrize("period", ["from_18", "from_24", "from_30"])
def test_six_hours_without_a_maximum_are_a_doubt(nordic: bool, period: str) -> None:
    night = nights(payload(nordic=nordic, **{period: None}))[FAR]
    assert night.verdict is Verdict.BORDERLINE
    assert Doubt.NO_MAXIMUM in night.reasons


@nordic_or_not
def test_a_period_that_ends_before_every_lighting_is_no_doubt(nordic: bool) -> None:
    assert nights(payload(nordic=nordic, from_12=OVER_C))[FAR].verdict is Verdict.GOOD


@nordic_or_not
def test_a_lighting_at_the_end_of_a_hot_period_is_not_in_it(nordic: bool) -> None:
    """Lit from 18:00, with the period before at 30 °C: its end is the first moment that is sure."""
    site = replace(SITE, lighting_hours=hours_between("17:00", "22:00"))
    night = nights(payload(nordic=nordic, from_12=30.0), site)[FAR]
    assert night.verdict is Verdict.GOOD
    assert night.light_earliest is not None
    assert night.light_earliest.hour == 18


@nordic_or_not
def test_the_maxima_of_a_far_night_do_not_touch_a_near_one(nordic: bool) -> None:
    plain, changed = nights(payload(nordic=nordic)), nights(payload(nordic=nordic, from_18=OVER_C, from_24=None))
    assert plain[HOURLY] == changed[HOURLY]
    assert plain[HOURLY].verdict is Verdict.GOOD


def test_a_maximum_near_the_ceiling_lowers_the_chance_of_percentiles_that_do_not_know_of_it() -> None:
    light = datetime.combine(FAR, datetime.min.time(), UTC).timestamp() + 20 * HOUR_S
    chances = []
    for most_c in (9.0, 13.0, 15.0):
        spread = spread_of(read_weather(met_norway.parse(payload(nordic=True, from_24=most_c), fetched_at=NOW)))
        assert spread.words(light, light + 12 * HOUR_S, SITE) == "from the service's own percentiles"
        window = np.array([light]), np.array([light + 12 * HOUR_S])
        chances.append(float(spread.chances(*window, SITE.limits.ceiling_c)[0]))
    assert chances[0] >= chances[1] > chances[2]
