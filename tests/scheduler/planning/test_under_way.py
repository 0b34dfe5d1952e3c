"""A burning smoke by the newest forecast: until when its limits hold, and what its night is worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import (
    CEILING_C,
    HOUR_S,
    MINUTE_S,
    NEVER_HOME,
    at,
    examples,
    hours_between,
    moment,
    planning_site,
    smoke_process,
    weather_of,
)

from scheduler.household.batch import Batch
from scheduler.household.site import Limits, Site
from scheduler.planning.answers import Verdict
from scheduler.planning.under_way import UnderWay, under_way
from scheduler.service import Question, chain_of, plan, search_of

if TYPE_CHECKING:
    from providers.forecast import Forecast

LIT = round(at("2024-01-15T18:00"))
SITE = planning_site(duration_h=10.0, longest_h=14.0, borderline_chance=0.01)
HOURS = np.arange(-2, 24)


def forecast(*air_c: float, first_h: int = -2, issued_s: float = LIT, **columns: object) -> Forecast:
    """Readings on the hour, counted from the lighting; the last goes on."""
    air = [*air_c, *[air_c[-1]] * (26 - len(air_c))]
    return weather_of(LIT + (np.arange(26) + first_h) * HOUR_S, air, issued_s=issued_s, **columns)


def follow(
    weather: Forecast, now_min: int, *, site: Site = SITE, done: tuple[tuple[str, datetime], ...] = ()
) -> UnderWay:
    batch = Batch(state="fresh", sawdust="dry", done=(("light", moment(LIT)), *done))
    question = Question(site, smoke_process(), batch, weather, moment(LIT + now_min * MINUTE_S))
    chain = chain_of(question)
    return under_way(chain, search_of(question, chain))


def hours(count: float) -> datetime:
    return moment(LIT) + timedelta(hours=count)


def test_a_smoke_that_keeps_every_limit_has_no_hour_to_be_lifted_by() -> None:
    found = follow(forecast(8.0), 60)
    assert (found.lift_by, found.lift_by_at_home, found.planned_lift) == (None, None, hours(10))
    assert found.night.verdict is Verdict.GOOD
    assert found.night.looked_at == (hours(1), hours(10))


def test_a_smoke_that_gets_too_warm_is_lifted_at_the_last_minute_that_still_holds() -> None:
    # 13 °C at 6 h, 17 °C at 7 h: 15 °C is reached half way.
    found = follow(forecast(*[13.0] * 9, 17.0), 60)
    assert found.lift_by == found.lift_by_at_home == hours(6.5)
    lift = next(one for one in found.plan.steps if one.step.name == "lift")
    assert lift.at == hours(6.5)
    assert lift.notes == ("This is 3 h 30 min less smoke than the 10 h planned.",)
    assert found.night.verdict is Verdict.NO
    assert found.night.reasons[0].startswith("its window reaches 17.0 °C (Tue 01:00), 2.0 °C over your ceiling")


def test_where_it_is_over_a_limit_already_the_lift_is_now() -> None:
    found = follow(forecast(17.0), 61)
    assert found.lift_by == hours(61 / 60)


def test_warmth_after_the_planned_lift_only_ends_its_leeway() -> None:
    found = follow(forecast(*[13.0] * 13, 17.0), 60)
    assert found.lift_by is None
    lift = next(one for one in found.plan.steps if one.step.name == "lift")
    ((first, last),) = lift.spans
    assert first == hours(10)
    assert abs(last - hours(10.5)) <= timedelta(seconds=2)  # the ceiling has a tolerance of 0.001 °C


def test_warmth_that_is_past_counts_no_more() -> None:
    found = follow(forecast(17.0, 17.0, 17.0, 8.0), 120)
    assert (found.lift_by, found.night.verdict) == (None, Verdict.GOOD)


@pytest.mark.parametrize(
    ("limits", "columns"),
    [
        ({"floor_c": 5.0}, {}),
        ({"gust_ms": 8.0}, {"gust_ms": [3.0] * 8 + [9.0] * 18}),
        ({"rain_mm_per_h": 1.0}, {"rain_mm": [0.0] * 8 + [2.0] * 18}),
    ],
)
def test_frost_gusts_and_rain_end_it_as_warmth_does(limits: dict[str, float], columns: dict[str, list[float]]) -> None:
    usual = {"ceiling_c": CEILING_C, "floor_c": -40.0, "rain_mm_per_h": None}
    site = replace(SITE, limits=Limits(**{**usual, **limits}), rain_shelter=False)  # type: ignore[arg-type]
    air = [6.0] * 9 + [4.0] if "floor_c" in limits else [8.0]
    found = follow(forecast(*air, **columns), 60, site=site)
    # At 6 h 30 min it is at the floor itself, less its tolerance.
    assert found.lift_by == (hours(6 + 29 / 60) if "floor_c" in limits else hours(6))
    sheltered = replace(site, rain_shelter=True)
    assert (follow(forecast(*air, **columns), 60, site=sheltered).lift_by is None) == ("rain_mm_per_h" in limits)


def test_hours_that_the_forecast_no_longer_has_make_nothing_unknown() -> None:
    found = follow(forecast(8.0, first_h=3), 4 * 60)
    assert (found.lift_by, found.night.verdict) == (None, Verdict.GOOD)
    lifted = follow(forecast(8.0, first_h=3), 11 * 60, done=(("lift", hours(10)),))
    assert lifted.night.looked_at == (hours(3), hours(10))
    assert lifted.lift_by is None


def test_hours_ahead_that_nobody_knows_make_it_unknown_and_ask_for_no_early_lift() -> None:
    found = follow(forecast(*[8.0] * 7, float("nan"), 8.0), 60)
    assert (found.lift_by, found.night.verdict) == (None, Verdict.UNKNOWN)
    assert found.night.reasons == ("the forecast does not say the air from Mon 22:00 to Tue 00:00",)


def test_of_an_unknown_hour_and_a_warm_one_after_it_the_unknown_ends_what_surely_holds() -> None:
    found = follow(forecast(*[8.0] * 7, float("nan"), 8.0, 17.0), 60)
    assert found.lift_by == hours(4)


def test_a_forecast_too_old_to_decide_asks_for_no_early_lift() -> None:
    found = follow(forecast(17.0, issued_s=LIT - 49 * HOUR_S), 60)
    assert (found.lift_by, found.night.verdict) == (None, Verdict.UNKNOWN)


def test_the_last_moment_at_home_before_it_warms_is_where_the_lift_is_planned() -> None:
    site = replace(SITE, household_hours=((hours_between("06:00", "23:00"),),) * 7)
    found = follow(forecast(*[13.0] * 9, 17.0), 60, site=site)
    assert (found.lift_by, found.lift_by_at_home) == (hours(6.5), hours(5))
    assert next(one.at for one in found.plan.steps if one.step.name == "lift") == hours(5)


def test_with_nobody_at_home_before_it_warms_the_lift_is_then_and_it_is_said() -> None:
    found = follow(forecast(*[13.0] * 9, 17.0), 60, site=replace(SITE, household_hours=NEVER_HOME))
    assert (found.lift_by, found.lift_by_at_home) == (hours(6.5), None)
    lift = next(one for one in found.plan.steps if one.step.name == "lift")
    assert lift.at == hours(6.5)
    assert lift.notes[-1] == "By the household's hours nobody is at home before that."


def test_a_wanted_lift_is_the_planned_one() -> None:
    batch = Batch(state="fresh", sawdust="dry", done=(("light", moment(LIT)),))
    question = Question(SITE, smoke_process(), batch, forecast(8.0), hours(1))
    chain = chain_of(question)
    found = under_way(chain, search_of(question, chain), prefer={"lift": LIT + 12 * HOUR_S})
    assert found.planned_lift == hours(12)


def test_a_batch_that_is_not_lit_is_not_under_way() -> None:
    question = Question(SITE, smoke_process(), Batch(state="fresh", sawdust="dry"), forecast(8.0), hours(1))
    chain = chain_of(question)
    with pytest.raises(ValueError, match="not lit"):
        under_way(chain, search_of(question, chain))
    assert plan(question).under_way is None


@examples(120)
@given(
    st.lists(st.sampled_from([10.0, 14.0, 14.9, 15.0, 15.2, 18.0]), min_size=26, max_size=26),
    st.integers(0, 9 * 60),
)
def test_until_it_has_to_be_lifted_every_minute_holds_and_the_next_does_not(air: list[float], now_min: int) -> None:
    found = follow(forecast(*air), now_min)
    minutes = np.arange(now_min, 601)
    level = np.interp(minutes, HOURS * 60, air)
    over = np.nonzero(level > CEILING_C + 0.001)[0]
    if not len(over):
        assert found.lift_by is None
        return
    last = max(int(minutes[over[0]]) - 1, now_min)
    assert found.lift_by == hours(last / 60)
