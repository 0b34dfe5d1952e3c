"""The chance from members, from a single forecast and from percentiles, against an independent library of scores.

The continuous ranked probability score (CRPS) is the Brier score of F(ceiling) = P(air ≤ ceiling), summed over every
ceiling.  So the scores of our chances over a fine ladder of ceilings must add up to what the library (scoringrules,
in closed form) says of the distribution that they are meant to be.  For a normal one, as in Gneiting, Raftery,
Westveld & Goldman, Monthly Weather Review 133 (2005): s·[z(2Φ(z)−1) + 2φ(z) − 1/√π].
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
import scoringrules

from scheduler.planning.chance import LEAST_SD_C, all_under, chance_under, dressed_chance, percentile_z

STEP_C = 0.005
LADDER_C = np.arange(-40.0, 40.0, STEP_C) + STEP_C / 2.0
"""Ceilings between which no reading of these tests lies."""
SUMMED = 2e-6
"""A sum of steps against an integral: STEP_C² / 24 times a slope under 1, and room."""


def score(chances: np.ndarray, warmest_c: float) -> float:
    """CRPS of a distribution whose chance at every ceiling of the ladder is given."""
    held = (warmest_c <= LADDER_C).astype(float)
    return float(scoringrules.brier_score(held, chances, backend="numpy").sum() * STEP_C)


def by_members(members_c: list[float] | np.ndarray, sd_c: float) -> np.ndarray:
    """The dressed chance at every ceiling: members and ceiling moved together make no difference."""
    moved = np.asarray(members_c, dtype=float) - LADDER_C[:, None]
    return dressed_chance(moved, 0.0, np.full(len(LADDER_C), sd_c))


def by_one_forecast(air_c: float, sd_c: float) -> np.ndarray:
    return chance_under((air_c - LADDER_C)[:, None], 0.0, np.full(len(LADDER_C), sd_c))


# What the library says of values that are published or can be worked out by hand.


def test_the_library_scores_as_the_closed_form_says() -> None:
    assert scoringrules.crps_normal(0.0, 0.0, 1.0) == pytest.approx((sqrt(2.0) - 1.0) / sqrt(pi), abs=1e-12)
    assert scoringrules.crps_normal(1.0, 0.0, 1.0) == pytest.approx(0.6024413576, abs=1e-10)
    assert scoringrules.crps_ensemble(2.5, [1.0, 2.0, 3.0], estimator="nrg") == pytest.approx(0.3888889, abs=1e-7)
    assert scoringrules.crps_ensemble(2.5, [1.0, 2.0, 3.0], estimator="fair") == pytest.approx(0.1666667, abs=1e-7)
    brier = scoringrules.brier_score(np.array([1.0, 0.0, 0.0]), np.array([0.7, 0.2, 0.9]), backend="numpy")
    assert brier.mean() == pytest.approx(0.3133333, abs=1e-7)


def test_the_raw_count_of_members_summed_over_ceilings_scores_as_the_ensemble_does() -> None:
    raw = (np.array([1.0, 2.0, 3.0]) <= LADDER_C[:, None]).mean(axis=1)
    assert score(raw, 2.5) == pytest.approx(0.3888889, abs=1e-6)


# Our chances.


@pytest.mark.parametrize(("warmest_c", "expected"), [(0.0, 0.2336949773), (1.0, 0.6024413576), (-1.0, 0.6024413576)])
def test_one_forecast_and_its_error_score_as_a_normal_distribution(warmest_c: float, expected: float) -> None:
    assert score(by_one_forecast(0.0, 1.0), warmest_c) == pytest.approx(expected, abs=SUMMED)


@pytest.mark.parametrize(("warmest_c", "expected"), [(0.0, 0.2336949773), (1.0, 0.6024413576), (-1.0, 0.6024413576)])
def test_members_that_agree_score_as_one_forecast_with_the_usual_error(warmest_c: float, expected: float) -> None:
    assert score(by_members([0.0] * 12, 1.0), warmest_c) == pytest.approx(expected, abs=SUMMED)


@pytest.mark.parametrize("sd_c", [0.2, 1.4, 3.0, 8.0])
@pytest.mark.parametrize("warmest_c", [-6.0, 0.0, 2.5, 9.0])
def test_dressed_members_score_as_a_mixture_of_normal_distributions(sd_c: float, warmest_c: float) -> None:
    members = np.random.default_rng(5).normal(1.0, 2.0, 51)
    dressing = max(sd_c**2 - members.var(), LEAST_SD_C**2) ** 0.5
    expected = scoringrules.crps_mixnorm(warmest_c, members, np.full(51, dressing), backend="numpy")
    assert score(by_members(members, sd_c), warmest_c) == pytest.approx(float(expected), abs=SUMMED)


@pytest.mark.parametrize("sd_c", [0.5, 1.0, 1.5, 2.0, 3.0, 5.0])
@pytest.mark.parametrize("count", [2, 10, 51])
def test_all_dressed_members_together_have_the_verified_variance_or_their_own(sd_c: float, count: int) -> None:
    members = np.random.default_rng(count).normal(-2.0, 1.5, count)
    density = np.diff(by_members(members, sd_c), prepend=0.0)
    middle = LADDER_C - STEP_C / 2.0
    mean = (density * middle).sum()
    variance = (density * (middle - mean) ** 2).sum()
    assert density.sum() == pytest.approx(1.0, abs=1e-9)
    assert mean == pytest.approx(members.mean(), abs=1e-6)
    assert variance == pytest.approx(max(sd_c**2, members.var() + LEAST_SD_C**2), abs=1e-5)


def two_piece(ceiling_c: float) -> float:
    """P(air ≤ ceiling) of one hour with percentiles 11, 13 and 16 °C."""
    z = percentile_z(ceiling_c, np.array([11.0]), np.array([13.0]), np.array([16.0]))
    return float(all_under(z))


@pytest.mark.parametrize(
    ("ceiling_c", "expected"),
    [(11.0, 0.1), (13.0, 0.5), (15.6, 0.8666), (16.0, 0.9)],
    ids=["p10", "p50", "15.6", "p90"],
)
def test_percentiles_are_met_and_between_them_stands_a_normal_curve(ceiling_c: float, expected: float) -> None:
    assert two_piece(ceiling_c) == pytest.approx(expected, abs=5e-5)


# Members that are too sure of themselves, as verified ensembles are.


def test_dressed_members_score_better_than_their_count_where_they_are_too_sure() -> None:
    rng = np.random.default_rng(2026)
    nights, sd_c = 5_000, 1.8
    middle = rng.uniform(11.0, 20.0, nights)
    members = middle[:, None] + rng.normal(0.0, 0.5 * sd_c, (nights, 51))
    held = (middle + rng.normal(0.0, sd_c, nights) <= 15.5).astype(float)
    raw = (members <= 15.5).mean(axis=1)
    dressed = dressed_chance(members, 15.5, np.full(nights, sd_c))
    by_raw, by_dressed = (scoringrules.brier_score(held, p, backend="numpy") for p in (raw, dressed))
    gain = by_raw - by_dressed
    assert gain.mean() > 4.0 * gain.std() / sqrt(nights) > 0.0
