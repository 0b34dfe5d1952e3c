"""Every source of spread: which way its chance moves, where it falls back on the next, and whether it is calibrated."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import DAY_S, HOUR_S, at, examples, planning_site, weather_of

from scheduler.planning.chance import LEAST_CHANCE, MOST_CHANCE, error_sd_c
from scheduler.planning.curve import Curve, Periods
from scheduler.planning.limits import read_weather
from scheduler.planning.spread import FEWEST_MEMBERS, ErrorModel, Members, Percentiles, spread_of

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.planning.spread import Spread

NOON = round(at("2024-01-15T12:00"))
HOURS = NOON + HOUR_S * np.arange(49)
LIGHT, LIFT = NOON + 7.0 * HOUR_S, NOON + 19.0 * HOUR_S
CEILING_C = 15.5556
NAN = float("nan")
V_SHAPE_C = 9.9 + 0.15 * (np.arange(49) - 17) ** 2 / 10
SITE = replace(planning_site(), limits=replace(planning_site().limits, ceiling_c=CEILING_C))


def chance(spread: Spread, light: float = LIGHT, lift: float = LIFT, ceiling_c: float = CEILING_C) -> float:
    return float(spread.chances(np.array([light]), np.array([lift]), ceiling_c)[0])


def words(forecast: Forecast, light: float = LIGHT, lift: float = LIFT) -> str:
    return spread_of(read_weather(forecast)).words(light, lift, SITE)


def with_members(forecast: Forecast, air_c: np.ndarray, times: np.ndarray = HOURS) -> Forecast:
    """The forecast with members of shape (times, members)."""
    index = pd.to_datetime(times.astype("int64"), unit="s", utc=True)
    names = [f"air_c_{n:02d}" for n in range(air_c.shape[1])]
    return replace(forecast, members=pd.DataFrame(air_c, index=index, columns=names))


def members_around(air_c: np.ndarray, count: int = 51, sd_c: float = 1.0) -> np.ndarray:
    offsets = np.random.default_rng(3).normal(0.0, sd_c, count)
    return air_c[:, None] + offsets - offsets.mean()


PLAIN = weather_of(HOURS, V_SHAPE_C)


def by_members(air_c: np.ndarray) -> Members:
    curve = Curve.of(HOURS.astype(float), air_c)
    return Members(curve, NOON, ErrorModel(Curve.of(HOURS.astype(float), V_SHAPE_C[:, None]), NOON))


def by_percentiles(middle_c: np.ndarray, below_c: float = 1.5, above_c: float = 1.5) -> Percentiles:
    values = np.stack([middle_c - below_c, middle_c, middle_c + above_c], axis=1)
    own = Curve.of(HOURS.astype(float), values)
    return Percentiles(own, ErrorModel(Curve.of(HOURS.astype(float), middle_c[:, None]), NOON))


def by_error(air_c: np.ndarray) -> ErrorModel:
    return ErrorModel(Curve.of(HOURS.astype(float), air_c[:, None]), NOON)


KINDS = {
    "members": lambda air_c: by_members(members_around(air_c)),
    "percentiles": by_percentiles,
    "error model": by_error,
}
airs = st.lists(st.floats(5.0, 20.0), min_size=49, max_size=49).map(np.array)
kinds = st.sampled_from(sorted(KINDS))
ROUNDING = 1e-9


# Which way it moves.


@examples(60)
@given(kinds, airs, st.floats(5.0, 25.0), st.floats(0.0, 5.0))
def test_a_higher_ceiling_never_lowers_the_chance(kind: str, air_c: np.ndarray, ceiling_c: float, more: float) -> None:
    spread = KINDS[kind](air_c)
    assert chance(spread, ceiling_c=ceiling_c + more) >= chance(spread, ceiling_c=ceiling_c) - ROUNDING


@examples(60)
@given(kinds, airs, st.floats(0.0, 5.0))
def test_warmer_air_throughout_never_raises_the_chance(kind: str, air_c: np.ndarray, more: float) -> None:
    assert chance(KINDS[kind](air_c + more)) <= chance(KINDS[kind](air_c)) + ROUNDING


@examples(60)
@given(kinds, airs, st.floats(-3.0, 3.0))
def test_air_and_ceiling_moved_together_leave_the_chance_as_it_is(kind: str, air_c: np.ndarray, more: float) -> None:
    moved = chance(KINDS[kind](air_c + more), ceiling_c=CEILING_C + more)
    assert moved == pytest.approx(chance(KINDS[kind](air_c)), abs=1e-6)


@pytest.mark.parametrize(("level_c", "sign"), [(-1.0, -1), (1.0, 1)], ids=["under the ceiling", "over the ceiling"])
def test_more_spread_brings_the_chance_nearer_to_even(level_c: float, sign: int) -> None:
    flat = np.full(49, CEILING_C + level_c)
    by_sd = [chance(by_members(members_around(flat, sd_c=sd))) for sd in (2.5, 3.5, 5.0)]
    by_range = [chance(by_percentiles(flat, width, width)) for width in (1.0, 2.0, 4.0)]
    by_lead = [chance(ErrorModel(by_error(flat).air, NOON - days * DAY_S)) for days in (0.0, 3.0, 9.0)]
    for chances in (by_sd, by_range, by_lead):
        assert (sign * np.diff(chances) > 0).all(), chances


@pytest.mark.parametrize("kind", KINDS)
def test_no_chance_is_nearer_to_certainty_than_the_tails_allow(kind: str) -> None:
    assert chance(KINDS[kind](V_SHAPE_C), ceiling_c=60.0) == MOST_CHANCE
    assert chance(KINDS[kind](V_SHAPE_C), ceiling_c=-60.0) == LEAST_CHANCE


@pytest.mark.parametrize("kind", ["percentiles", "error model"])
def test_a_peak_between_two_hours_of_the_window_is_not_missed(kind: str) -> None:
    """Lit at half past, no hour after the lighting meets the one warm reading at midnight."""
    spike = np.where(HOURS == NOON + 12 * HOUR_S, CEILING_C, 5.0)
    assert chance(KINDS[kind](spike), LIGHT + HOUR_S / 2, LIFT + HOUR_S / 2) == pytest.approx(0.5, abs=1e-9)


def test_members_too_are_judged_by_their_peak_wherever_it_lies() -> None:
    spike = np.where(HOURS == NOON + 12 * HOUR_S, CEILING_C, 5.0)
    assert chance(by_members(members_around(spike, sd_c=0.0)), LIGHT + HOUR_S / 2, LIFT + HOUR_S / 2) == pytest.approx(
        0.5, abs=1e-9
    )


SIX_HOURLY = NOON + 6 * HOUR_S * np.arange(9.0)


@pytest.mark.parametrize("kind", ["percentiles", "error model"])
def test_the_maximum_of_a_period_in_the_window_counts_as_a_reading(kind: str) -> None:
    """Readings of 5 °C, and one period inside the window whose warmest air is at the ceiling."""
    cool = np.full(9, 5.0)
    most = Periods(SIX_HOURLY, np.where(np.arange(9) == 2, CEILING_C, 5.0))
    error = ErrorModel(Curve.of(SIX_HOURLY, cool[:, None]), NOON, most)
    spread: Spread = error
    if kind == "percentiles":
        spread = Percentiles(Curve.of(SIX_HOURLY, np.stack([cool - 1, cool, cool + 1], axis=1)), error, most)
    assert chance(spread, NOON + 7.0 * HOUR_S, NOON + 19.0 * HOUR_S) == pytest.approx(0.5, abs=1e-6)
    assert chance(spread, NOON + 13.0 * HOUR_S, NOON + 25.0 * HOUR_S) == MOST_CHANCE


# Where one falls back on the next.


def test_members_go_before_percentiles_and_these_before_the_error_model() -> None:
    percentiles = {"air_p10_c": V_SHAPE_C - 1.0, "air_p90_c": V_SHAPE_C + 1.0}
    some = weather_of(HOURS, V_SHAPE_C, **percentiles)
    every = with_members(some, members_around(V_SHAPE_C))
    assert words(every).startswith("from 51 ensemble members, of which 51 keep to your ceiling, widened to the usual")
    assert words(some) == "from the service's own percentiles"
    assert words(PLAIN) == "from one forecast and its usual error, 1.5 °C at 0.3 days ahead"


def test_the_raw_count_is_of_the_members_that_keep_to_the_ceiling() -> None:
    warmest = members_around(V_SHAPE_C)[7:20].max(axis=0)
    shifted = members_around(V_SHAPE_C) + (CEILING_C - np.sort(warmest)[30])
    assert "51 ensemble members, of which 31 keep" in words(with_members(PLAIN, shifted))


@pytest.mark.parametrize(("count", "kind"), [(FEWEST_MEMBERS, "members"), (FEWEST_MEMBERS - 1, "error")])
def test_few_members_say_nothing(count: int, kind: str) -> None:
    made = with_members(PLAIN, members_around(V_SHAPE_C + 9.0, count))
    assert (f"{count} ensemble members" in words(made)) is (kind == "members")
    own, plain = (chance(spread_of(read_weather(one))) for one in (made, PLAIN))
    assert (own == plain) is (kind == "error")


def test_members_on_three_hour_steps_are_read_between_them() -> None:
    line = 5.0 + 10.0 * (HOURS - NOON) / (HOURS[-1] - NOON)
    fine, coarse = (
        spread_of(read_weather(with_members(PLAIN, members_around(line)[::step], HOURS[::step]))) for step in (1, 3)
    )
    assert chance(coarse) == pytest.approx(chance(fine), abs=1e-12)
    assert chance(coarse, LIGHT + 1700, LIFT + 1700) == pytest.approx(
        chance(fine, LIGHT + 1700, LIFT + 1700), abs=1e-12
    )


def test_past_the_members_horizon_the_error_model_answers() -> None:
    short = with_members(PLAIN, members_around(V_SHAPE_C + 9.0)[:19], HOURS[:19])
    spread, plain = spread_of(read_weather(short)), spread_of(read_weather(PLAIN))
    inside, beyond = (LIGHT - HOUR_S, LIFT - HOUR_S), (LIGHT, LIFT)
    assert chance(spread, *beyond) == chance(plain, *beyond)
    assert chance(spread, *inside) < chance(plain, *inside)
    assert "51 ensemble members" in words(short, *inside)
    assert "one forecast" in words(short, *beyond)
    both = spread.chances(np.array([inside[0], beyond[0]]), np.array([inside[1], beyond[1]]), CEILING_C)
    assert both.tolist() == [chance(spread, *inside), chance(spread, *beyond)]


def test_a_member_that_stops_is_left_out_and_the_others_count() -> None:
    air_c = members_around(V_SHAPE_C + 4.0)
    broken = air_c.copy()
    broken[10, 5] = NAN
    without = np.delete(air_c, 5, axis=1)
    assert chance(by_members(broken)) == pytest.approx(chance(by_members(without)), abs=1e-12)
    assert "from 50 ensemble members" in words(with_members(PLAIN, broken))


def test_where_neither_members_nor_the_forecast_are_known_there_is_no_chance() -> None:
    gap = np.where(np.arange(49) == 12, NAN, V_SHAPE_C)
    assert np.isnan(chance(by_error(gap)))
    nobody = Members(Curve.of(HOURS.astype(float), np.full((49, 20), NAN)), NOON, by_error(gap))
    assert np.isnan(chance(nobody))


@pytest.mark.parametrize("missing", ["air_p10_c", "air_p90_c"])
def test_a_window_with_an_hour_without_the_percentile_it_needs_takes_the_error_model(missing: str) -> None:
    """Under the middle the 10th percentile is needed, over it the 90th; here the ceiling is on that side."""
    level_c = CEILING_C + (1.0 if missing == "air_p10_c" else -1.0)
    flat = np.full(49, level_c)
    columns = {"air_p10_c": flat - 3.0, "air_p90_c": flat + 3.0}
    columns[missing] = np.where(np.arange(49) == 12, NAN, columns[missing])
    made, plain = weather_of(HOURS, flat, **columns), weather_of(HOURS, flat)
    own, other = spread_of(read_weather(made)), spread_of(read_weather(plain))
    assert chance(own) == chance(other)
    assert "one forecast" in words(made)
    early = (NOON + 1.0 * HOUR_S, NOON + 11.0 * HOUR_S)
    assert chance(own, *early) != chance(other, *early)
    assert words(made, *early) == "from the service's own percentiles"


def test_the_air_stands_for_a_middle_that_is_not_given_and_is_kept_between_the_percentiles() -> None:
    flat = np.full(49, 13.0)
    given_c = weather_of(HOURS, flat, air_p10_c=flat - 2, air_p50_c=flat, air_p90_c=flat + 3)
    left_out = weather_of(HOURS, flat, air_p10_c=flat - 2, air_p90_c=flat + 3)
    beyond = weather_of(HOURS, flat + 9, air_p10_c=flat - 2, air_p90_c=flat + 3)
    chances = [chance(spread_of(read_weather(one)), ceiling_c=15.0) for one in (given_c, left_out, beyond)]
    assert chances[0] == chances[1] > chances[2]


def test_no_window_has_no_chance_to_tell() -> None:
    for kind in KINDS.values():
        assert kind(V_SHAPE_C).chances(np.array([]), np.array([]), CEILING_C).shape == (0,)


# Calibration.

SITES, NIGHTS, MEMBERS = 1_300, 16, 51
DAYS = np.arange(NIGHTS)
GRID = NOON + HOUR_S * np.arange(NIGHTS * 24 + 1.0)
LIGHTS = NOON + DAYS * DAY_S + 7.0 * HOUR_S
LIFTS = LIGHTS + 12.0 * HOUR_S
SD_C = error_sd_c((LIGHTS - NOON) / DAY_S)


def nights_and_outcomes(member_share: float) -> tuple[np.ndarray, np.ndarray]:
    """Chances of 20,800 nights from members around a middle, and whether the air around the same middle held.

    The air errs by the usual error of its lead, as one offset a night; the members by this share of it.
    """
    rng = np.random.default_rng(2026)
    shape = 4.0 * np.cos((np.arange(NIGHTS * 24 + 1) - 3) / 12 * np.pi)
    night_of = np.minimum(np.arange(NIGHTS * 24 + 1) // 24, NIGHTS - 1)
    peak = max(shape[7], shape[19])
    chances, held = [], []
    for _ in range(SITES):
        middle = CEILING_C - peak + rng.uniform(-3.0, 3.0, NIGHTS) * SD_C
        members = middle[:, None] + member_share * SD_C[:, None] * rng.normal(size=(NIGHTS, MEMBERS))
        curve = Curve.of(GRID, shape[:, None] + members[night_of])
        chances.append(Members(curve, NOON, by_error(V_SHAPE_C)).chances(LIGHTS, LIFTS, CEILING_C))
        held.append(middle + SD_C * rng.normal(size=NIGHTS) + peak <= CEILING_C)
    return np.concatenate(chances), np.concatenate(held)


@pytest.mark.parametrize("member_share", [1.0, 0.5], ids=["calibrated members", "members too sure of themselves"])
def test_of_nights_with_a_chance_that_share_holds(member_share: float) -> None:
    chances, held = nights_and_outcomes(member_share)
    assert len(chances) >= 20_000
    inner = (chances > LEAST_CHANCE) & (chances < MOST_CHANCE)
    which = np.digitize(chances[inner], np.linspace(0.1, 0.9, 9))
    for part in range(10):
        told, came = chances[inner][which == part], held[inner][which == part]
        assert len(told) > 500
        assert abs(came.sum() - told.sum()) < 3.5 * np.sqrt((told * (1 - told)).sum()), (part, told.mean(), came.mean())
    assert held[chances == MOST_CHANCE].mean() > MOST_CHANCE
    assert held[chances == LEAST_CHANCE].mean() < LEAST_CHANCE
