"""The forecasts that the simulation makes are as wrong as the measured ones, and know nothing that they cannot know.

Measured, for this project, from open data sets of forecasts and observations: standard deviations by lead (Toulouse
+30 h, List +24 h, Magdeburg +24 and +48 h, Innsbruck day 8 and 9); correlation of the errors of one night, 0.85 over
six hours and 0.75 to 0.78 from the evening into the night (Innsbruck); of one day's error with the next, 0.24 to 0.28
(Magdeburg); excess kurtosis 0.8 to 2.5.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from planning_builders import moment
from policy_weather import AHEAD_H, MEASURED_SD_C, Errors, Runs, Truth, invented, new_york

SEEDS = range(6)
EVERY_H = 6


@cache
def year() -> Truth:
    return new_york("LGA")


@cache
def errors_of(errors: Errors) -> np.ndarray:
    """What runs of several seeds said less what came, shape (seeds, runs, hours ahead)."""
    found = []
    for seed in SEEDS:
        runs = Runs(year(), errors, seed)
        found.append(runs.said_c - came(runs))
    return np.stack(found)


def came(runs: Runs) -> np.ndarray:
    hours = np.arange(runs.count)[:, None] * runs.errors.every_h + np.arange(AHEAD_H + 1)
    return runs.truth.air_c[hours]


def alike(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.corrcoef(one.ravel(), other.ravel())[0, 1])


@pytest.mark.parametrize(
    ("lead_h", "measured_c"),
    [(30, (1.1, 1.5)), (24, (1.1, 1.45)), (48, (1.6, 1.65)), (192, (2.9, 3.1)), (210, (3.1, 3.3))],
)
@pytest.mark.parametrize("changed", [{}, {"tails": None}, {"shrunk": False}, {"jumpy": 0.3}])
def test_the_error_at_each_lead_is_as_wide_as_measured(lead_h: int, measured_c: tuple[float, float], changed) -> None:
    sd_c = errors_of(replace(Errors(), **changed))[:, :, lead_h].std()
    assert measured_c[0] * 0.93 <= sd_c <= measured_c[1] * 1.07


def test_the_width_is_not_the_straight_line_that_the_tool_reckons_with() -> None:
    from scheduler.planning.chance import error_sd_c

    assert float(Errors().sd_at(24.0)) < float(error_sd_c(1.0)) - 0.25
    assert float(Errors().sd_at(192.0)) == pytest.approx(float(error_sd_c(8.0)), abs=0.05)
    assert MEASURED_SD_C[0] < MEASURED_SD_C[-1]


def test_the_errors_of_one_night_go_together_as_measured() -> None:
    errors = errors_of(Errors())
    for lead_h in (12, 48, 192):
        assert 0.94 <= alike(errors[:, :, lead_h], errors[:, :, lead_h + 1]) <= 0.98
        assert 0.70 <= alike(errors[:, :, lead_h], errors[:, :, lead_h + 6]) <= 0.88


def test_one_days_error_is_a_little_like_the_next_days() -> None:
    errors = errors_of(Errors())
    runs_a_day = 24 // EVERY_H
    for lead_h in (24, 48):
        assert 0.15 <= alike(errors[:, :-runs_a_day, lead_h], errors[:, runs_a_day:, lead_h]) <= 0.38


def test_a_run_is_much_like_the_one_before_and_a_jumpy_one_less() -> None:
    steady, jumpy = errors_of(Errors()), errors_of(Errors(jumpy=0.3))
    for lead_h in (48, 192):
        assert alike(steady[:, :-1, lead_h], steady[:, 1:, lead_h - EVERY_H]) > 0.93
        assert 0.6 < alike(jumpy[:, :-1, lead_h], jumpy[:, 1:, lead_h - EVERY_H]) < 0.8


def test_nothing_that_a_run_says_tells_which_way_a_later_run_will_move() -> None:
    # Efficient: the news of the next run is not to be foretold from this one, nor from its own last news.
    said = np.stack([Runs(year(), Errors(), seed).said_c - usual() for seed in SEEDS])
    for lead_h in (48, 120, 192):
        news = said[:, 1:, lead_h - EVERY_H] - said[:, :-1, lead_h]
        assert abs(alike(news, said[:, :-1, lead_h])) < 0.06
        last = said[:, 1:-1, lead_h] - said[:, :-2, lead_h + EVERY_H]
        assert abs(alike(said[:, 2:, lead_h - EVERY_H] - said[:, 1:-1, lead_h], last)) < 0.06


def usual() -> np.ndarray:
    runs = Runs(year(), Errors(), 0)
    hours = np.arange(runs.count)[:, None] * EVERY_H + np.arange(AHEAD_H + 1)
    return year().climate_c[hours]


def test_the_tails_are_fatter_than_normal_ones() -> None:
    assert 0.5 < kurtosis(errors_of(Errors())[:, :, 24]) < 4.0
    assert abs(kurtosis(errors_of(Errors(tails=None))[:, :, 24])) < 0.25


def kurtosis(values: np.ndarray) -> float:
    z = (values - values.mean()) / values.std()
    return float((z**4).mean() - 3.0)


def test_a_bias_is_on_every_hour_of_every_run() -> None:
    assert errors_of(Errors(bias_c=-1.0)).mean() == pytest.approx(-1.0, abs=0.15)
    assert errors_of(Errors()).mean() == pytest.approx(0.0, abs=0.15)


def test_the_same_seed_gives_the_same_forecasts_and_another_one_others() -> None:
    one, again, other = (Runs(year(), Errors(), seed).said_c for seed in (1, 1, 2))
    assert (one == again).all()
    assert (one != other).mean() > 0.9


def test_a_forecast_is_issued_with_its_first_hour_and_reaches_ten_days() -> None:
    runs = Runs(year(), Errors(), 1)
    forecast = runs.forecast(7)
    assert forecast.issued_at == moment(runs.issued_s(7)) == forecast.hourly.index[0]
    assert len(forecast.hourly) == AHEAD_H + 1
    assert runs.forecast(runs.count - 1).hourly["air_c"].notna().all()


def test_the_truth_has_every_hour_and_the_seasons_of_new_york() -> None:
    truth = year()
    assert not np.isnan(truth.air_c).any()
    assert 8700 < len(truth.air_c) < 8760
    assert truth.climate_c[:1000].mean() < 5.0 < 22.0 < truth.climate_c[4500:5000].mean()
    assert 3.0 < truth.unusual_c.std() < 5.0
    assert truth.warmest_c(truth.times_s[5], truth.times_s[9]) == truth.air_c[5:10].max()
    assert truth.coldest_c(truth.times_s[5] + 1800, truth.times_s[6]) <= truth.air_c[5:7].mean()


def test_the_invented_weather_goes_round_without_a_gap() -> None:
    truth = invented(60)
    assert not np.isnan(truth.air_c).any()
    assert len(truth.air_c) >= 59 * 24
    assert 4.0 < truth.unusual_c.std() < 6.0
