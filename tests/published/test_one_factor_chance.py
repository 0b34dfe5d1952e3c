"""The chance that no instant of a window is over the ceiling, against exact values and independent ways to get it.

Orthant probabilities: W. F. Sheppard, "On the application of the theory of error to cases of normal distribution and
normal correlation", Philosophical Transactions A 192 (1899), for two variables, and its corollary for three.  Bounds:
D. Slepian, "The one-sided barrier problem for Gaussian noise", Bell System Technical Journal 41 (1962).
"""

from __future__ import annotations

from math import asin, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import DAY_S, HOUR_S, examples
from scipy.stats import multivariate_normal, norm

from scheduler.planning.chance import COMMON_FACTOR, LEAST_CHANCE, MOST_CHANCE, capped, chance_under, error_sd_c
from scheduler.planning.curve import Curve
from scheduler.planning.spread import ErrorModel

V_SHAPE_C = [14.6, 13.8, 13.0, 12.3, 11.7, 11.2, 10.8, 10.5, 10.2, 10.0, 9.9, 10.1, 10.9]
FLAT_C = [13.6] * 13
TABLE_CEILING_C = 15.6
"""The table was computed for 15.6 °C, not for 60 °F."""
ROUNDING = 0.0005
"""Half of the last digit of the table."""
FEW_INSTANTS = 5e-6
MANY_INSTANTS = 1.5e-3
"""Observed errors of 81 nodes with factor 0.9: 3e-6 for three instants; 1.1e-3 for nineteen equal ones, the worst."""


def chance(air_c: list[float], ceiling_c: float, sd_c: float, factor: float = COMMON_FACTOR) -> float:
    return float(chance_under(np.array(air_c), ceiling_c, sd_c, factor))


def each_hour(air_c: list[float], ceiling_c: float, sd_c: float) -> np.ndarray:
    return norm.cdf((ceiling_c - np.array(air_c)) / sd_c)


def by_trapezoids(air_c: list[float], ceiling_c: float, sd_c: float, factor: float) -> float:
    """The one-factor integral as a plain sum over a fine grid, which for such an integrand is exact to 1e-12."""
    z = (ceiling_c - np.array(air_c)) / sd_c
    grid = np.linspace(-9.0, 9.0, 6001)
    each = norm.cdf((z[:, None] - sqrt(factor) * grid) / sqrt(1 - factor)).prod(axis=0)
    return float((norm.pdf(grid) * each).sum() * (grid[1] - grid[0]))


def equicorrelated(count: int, factor: float) -> np.ndarray:
    return np.full((count, count), factor) + (1 - factor) * np.eye(count)


def autoregressive(count: int, rho: float) -> np.ndarray:
    steps = np.arange(count)
    return rho ** np.abs(steps[:, None] - steps[None, :])


def by_distribution(air_c: list[float], ceiling_c: float, sd_c: float, correlation: np.ndarray) -> float:
    """The multivariate normal distribution function of scipy, by lattice points with a fixed seed."""
    z = (ceiling_c - np.array(air_c)) / sd_c
    law = multivariate_normal(cov=correlation, allow_singular=True, seed=20240101, maxpts=200_000, abseps=2e-5)
    return float(law.cdf(z))


@pytest.mark.parametrize("factor", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_two_instants_at_the_ceiling_have_sheppards_probability(factor: float) -> None:
    assert chance([0.0, 0.0], 0.0, 1.0, factor) == pytest.approx(1 / 4 + asin(factor) / (2 * pi), abs=FEW_INSTANTS)


def test_two_instants_at_the_ceiling_with_half_in_common_hold_one_time_in_three() -> None:
    assert chance([0.0, 0.0], 0.0, 1.0, 0.5) == pytest.approx(1 / 3, abs=1e-9)


@pytest.mark.parametrize("factor", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_three_instants_at_the_ceiling_have_sheppards_probability(factor: float) -> None:
    assert chance([0.0] * 3, 0.0, 1.0, factor) == pytest.approx(1 / 8 + 3 * asin(factor) / (4 * pi), abs=FEW_INSTANTS)


def test_three_autoregressive_instants_lie_between_the_common_factors_that_bound_them() -> None:
    # AR(1) with 0.8 at the ceiling: 1/8 + (2 asin 0.8 + asin 0.64) / 4π = 0.32785; its correlations are 0.8 and 0.64,
    # and by Slepian's inequality a smaller one never makes the whole more likely.
    exact = 1 / 8 + (2 * asin(0.8) + asin(0.64)) / (4 * pi)
    assert exact == pytest.approx(0.32785, abs=5e-6)
    assert by_distribution([0.0] * 3, 0.0, 1.0, autoregressive(3, 0.8)) == pytest.approx(exact, abs=1e-5)
    assert chance([0.0] * 3, 0.0, 1.0, 0.64) < exact < chance([0.0] * 3, 0.0, 1.0, 0.8)


# Computed for this project by Gauss-Hermite quadrature and, for the autoregressive column, with 200 000 random draws
# (standard error at most 0.0011): air, sd, smallest hourly chance, AR(1) 0.95, and factors 0.9, 0.8 and 0.6.
TABLE = [
    (V_SHAPE_C, 1.5, 0.748, 0.746, (0.741, 0.728, 0.700)),
    (V_SHAPE_C, 2.0, 0.691, 0.683, (0.676, 0.654, 0.608)),
    (V_SHAPE_C, 3.0, 0.631, 0.599, (0.597, 0.559, 0.480)),
    (FLAT_C, 1.5, 0.909, 0.762, (0.798, 0.737, 0.630)),
    (FLAT_C, 2.0, 0.841, 0.638, (0.687, 0.608, 0.476)),
    (FLAT_C, 3.0, 0.748, 0.498, (0.557, 0.467, 0.326)),
]
rows = pytest.mark.parametrize(("air_c", "sd_c", "least_hour", "autoregression", "factors"), TABLE)
Factors = tuple[float, float, float]


@rows
def test_the_table_of_one_factor_chances_is_met(
    air_c: list[float], sd_c: float, least_hour: float, autoregression: float, factors: Factors
) -> None:
    for factor, expected in zip((0.9, 0.8, 0.6), factors, strict=True):
        assert chance(air_c, TABLE_CEILING_C, sd_c, factor) == pytest.approx(expected, abs=ROUNDING)
    assert each_hour(air_c, TABLE_CEILING_C, sd_c).min() == pytest.approx(least_hour, abs=ROUNDING)


@rows
def test_the_default_factor_follows_an_hourly_autoregression_to_six_hundredths(
    air_c: list[float], sd_c: float, least_hour: float, autoregression: float, factors: Factors
) -> None:
    assert pytest.approx(0.9) == COMMON_FACTOR
    assert chance(air_c, TABLE_CEILING_C, sd_c) == pytest.approx(autoregression, abs=0.06)


@pytest.mark.parametrize("row", [0, 5])
def test_the_autoregressive_column_is_that_of_the_distribution_function(row: int) -> None:
    air_c, sd_c, _, autoregression, _ = TABLE[row]
    found = by_distribution(air_c, TABLE_CEILING_C, sd_c, autoregressive(13, 0.95))
    assert found == pytest.approx(autoregression, abs=ROUNDING + 3 * 0.0011)


@pytest.mark.parametrize("factor", [0.3, 0.6, 0.9])
@pytest.mark.parametrize("air_c", [V_SHAPE_C[:5], [13.6] * 8, [16.0, 12.0, 15.0]])
def test_it_is_the_equicorrelated_distribution_function(air_c: list[float], factor: float) -> None:
    expected = by_distribution(air_c, TABLE_CEILING_C, 2.0, equicorrelated(len(air_c), factor))
    assert chance(air_c, TABLE_CEILING_C, 2.0, factor) == pytest.approx(expected, abs=1e-4)


airs = st.lists(st.floats(-5, 25), min_size=1, max_size=19)
sds = st.floats(0.5, 8)


@examples(60)
@given(airs, sds)
def test_it_is_the_integral_over_the_common_factor(air_c: list[float], sd_c: float) -> None:
    expected = by_trapezoids(air_c, 15.0, sd_c, COMMON_FACTOR)
    assert chance(air_c, 15.0, sd_c) == pytest.approx(expected, abs=MANY_INSTANTS)
    assert chance(air_c, 15.0, sd_c, 0.6) == pytest.approx(by_trapezoids(air_c, 15.0, sd_c, 0.6), abs=1e-7)


@examples(100)
@given(airs, sds, st.sampled_from([0.1, 0.6, 0.9]))
def test_it_lies_inside_the_bounds_that_always_hold(air_c: list[float], sd_c: float, factor: float) -> None:
    alone = each_hour(air_c, 15.0, sd_c)
    found = chance(air_c, 15.0, sd_c, factor)
    assert max(0.0, 1 - (1 - alone).sum()) - MANY_INSTANTS <= found <= alone.min() + FEW_INSTANTS
    assert found >= alone.prod() - MANY_INSTANTS


@examples(60)
@given(airs, sds, st.floats(0, 5))
def test_a_higher_ceiling_is_never_less_likely_to_hold(air_c: list[float], sd_c: float, more: float) -> None:
    assert chance(air_c, 15.0 + more, sd_c) >= chance(air_c, 15.0, sd_c) - 1e-12


@examples(60)
@given(st.lists(st.floats(-5, 15), min_size=1, max_size=19), sds, st.floats(0, 5))
def test_a_greater_error_is_never_more_likely_to_hold_where_the_forecast_is_under(
    air_c: list[float], sd_c: float, more: float
) -> None:
    assert chance(air_c, 15.0, sd_c + more) <= chance(air_c, 15.0, sd_c) + 1e-12


@examples(60)
@given(airs, sds, st.floats(-5, 25))
def test_one_more_instant_never_makes_it_more_likely(air_c: list[float], sd_c: float, further: float) -> None:
    assert chance([*air_c, further], 15.0, sd_c) <= chance(air_c, 15.0, sd_c) + 1e-12


@examples(30)
@given(airs, sds, st.randoms(use_true_random=False))
def test_the_order_of_the_instants_does_not_matter(air_c: list[float], sd_c: float, random: object) -> None:
    assert chance(sorted(air_c), 15.0, sd_c) == pytest.approx(chance(air_c, 15.0, sd_c), abs=1e-12)


def test_an_instant_that_a_shorter_window_lacks_counts_as_none() -> None:
    both = chance_under(np.array([[14.0, 13.0, np.nan], [14.0, 13.0, 12.0]]), 15.0, np.array([2.0, 3.0]))
    assert both[0] == pytest.approx(chance([14.0, 13.0], 15.0, 2.0), abs=1e-12)
    assert both[1] == pytest.approx(chance([14.0, 13.0, 12.0], 15.0, 3.0), abs=1e-12)


def test_one_instant_at_the_ceiling_is_an_even_chance() -> None:
    assert chance([15.0], 15.0, 2.0) == pytest.approx(0.5, abs=1e-12)


def test_nothing_nearer_to_certainty_is_told_than_the_tails_allow() -> None:
    assert (LEAST_CHANCE, MOST_CHANCE) == (0.02, 0.98)
    assert capped(np.array([0.0, 0.01, 0.5, 0.99, 1.0])).tolist() == [0.02, 0.02, 0.5, 0.98, 0.98]


# Our straight line through measured errors of corrected forecasts, in °C by days ahead.
ERROR_SD_C = [(1, 1.6), (2, 1.8), (3, 2.0), (4, 2.2), (5, 2.4), (6, 2.6), (7, 2.8), (8, 3.0), (9, 3.2), (10, 3.4)]


@pytest.mark.parametrize(("days", "sd_c"), ERROR_SD_C)
def test_the_error_grows_with_the_days_ahead(days: int, sd_c: float) -> None:
    assert float(error_sd_c(days)) == pytest.approx(sd_c, abs=1e-12)


def test_a_lighting_before_the_forecast_was_made_has_no_lead() -> None:
    assert float(error_sd_c(-2.0)) == float(error_sd_c(0.0)) == pytest.approx(1.4)


# The spread of a single forecast.

START_S = 1_700_000_000 // HOUR_S * HOUR_S


def hourly_forecast(issued_s: float, air_c: list[float] = V_SHAPE_C) -> ErrorModel:
    times = START_S + np.arange(13.0) * HOUR_S
    return ErrorModel(Curve.of(times, np.array(air_c)[:, None]), issued_s)


def test_the_error_of_a_window_is_that_of_its_lighting() -> None:
    for days, expected in ((3, 0.676), (8, 0.597)):  # sd 2.0 and 3.0 °C
        spread = hourly_forecast(START_S - days * DAY_S)
        found = spread.chances(np.array([START_S * 1.0]), np.array([START_S + 12.0 * HOUR_S]), TABLE_CEILING_C)
        assert found[0] == pytest.approx(expected, abs=ROUNDING)


@pytest.mark.parametrize("values_c", [V_SHAPE_C, V_SHAPE_C[::-1], FLAT_C])
def test_a_window_is_looked_at_from_its_lighting_hour_by_hour_and_at_its_lift(values_c: list[float]) -> None:
    light, lift = START_S + 0.5 * HOUR_S, START_S + 9.75 * HOUR_S
    hours = np.append(np.arange(0.5, 9.75, 1.0), 9.75)
    air_c = np.interp(hours, np.arange(13.0), values_c).tolist()
    found = hourly_forecast(light - DAY_S, values_c).chances(np.array([light]), np.array([lift]), TABLE_CEILING_C)
    assert found[0] == pytest.approx(by_trapezoids(air_c, TABLE_CEILING_C, 1.6, COMMON_FACTOR), abs=1e-4)


def test_the_chance_of_a_window_that_the_forecast_does_not_cover_is_unknown() -> None:
    spread = hourly_forecast(START_S - DAY_S)
    found = spread.chances(np.array([START_S + HOUR_S * 1.0]), np.array([START_S + 13.0 * HOUR_S]), TABLE_CEILING_C)
    assert np.isnan(found[0])


def test_windows_of_different_lengths_do_not_disturb_each_other() -> None:
    spread = hourly_forecast(START_S - DAY_S)
    light = START_S + np.array([0.0, 1.0, 2.5]) * HOUR_S
    lift = START_S + np.array([8.0, 12.0, 11.0]) * HOUR_S
    together = spread.chances(light, lift, 13.9)
    alone = [spread.chances(light[n : n + 1], lift[n : n + 1], 13.9)[0] for n in range(3)]
    assert together == pytest.approx(alone, abs=1e-12)
