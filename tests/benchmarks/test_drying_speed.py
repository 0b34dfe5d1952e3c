"""Sixteen days of hourly weather: a thousand sites in one call, and every start of one site's forecast."""

from __future__ import annotations

from datetime import UTC, datetime
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pytest
from drying_builders import WAIT, drying_site, forecast
from measure import seconds, tell

from scheduler.planning.drying_spell import drying_spell
from scheduler.science import drying
from scheduler.science.open_air import Places, Readings, layer_weather

if TYPE_CHECKING:
    from collections.abc import Callable

STEPS, SITES, ALONE = 16 * 24, 1000, 5


def invented(sites: int) -> tuple[Readings, Places]:
    rng = np.random.default_rng(16)
    start = datetime(2026, 4, 1, tzinfo=UTC).timestamp() + 3600.0 * np.arange(float(STEPS))
    swing = np.cos((np.arange(STEPS) - 15.0) / 12.0 * np.pi)[:, None]
    shape = (STEPS, sites)
    readings = Readings(
        start_s=start,
        step_h=np.ones(STEPS),
        air_c=12.0 + 6.0 * swing + rng.normal(0.0, 2.0, shape),
        humidity_pct=np.clip(68.0 - 20.0 * swing + rng.normal(0.0, 5.0, shape), 20.0, 100.0),
        wind_ms=rng.uniform(0.5, 5.0, shape),
        cloud_pct=rng.uniform(0.0, 100.0, shape),
        sun_wm2=np.full(shape, np.nan),
        rain_mm=np.zeros(shape),
    )
    return readings, Places(rng.uniform(-55.0, 60.0, sites), rng.uniform(-30.0, 30.0, sites), np.full(sites, 200.0))


def dry(sites: int) -> Callable[[], drying.Floats]:
    readings, places = invented(sites)
    out = drying.out_by_day(np.arange(STEPS) % 24.0)

    def run() -> drying.Floats:
        weather, _ = layer_weather(readings, places, out, sheltered=True)
        layer = drying.Layer()
        return drying.hours_until_ready(drying.moisture_curve(weather, layer), weather, layer)

    return run


def quickest(run: Callable[[], object], times: int) -> float:
    took = []
    for _ in range(times):
        start = perf_counter()
        run()
        took.append(perf_counter() - start)
    return min(took)


@pytest.mark.benchmark
def test_a_thousand_sites_at_once_cost_less_than_fifty_one_by_one() -> None:
    together = quickest(dry(SITES), 3)
    alone = quickest(dry(1), ALONE)
    assert together < 50.0 * alone, f"{together:.3f} s together, {alone:.4f} s alone"


@pytest.mark.benchmark
def test_a_thousand_sites_against_one_numpy_pass_over_the_same_hours() -> None:
    """The pass is one `numpy.sin` of as many numbers: the height of the sun alone takes two."""
    numbers = np.random.default_rng(1).normal(size=(STEPS, SITES))
    ratio = quickest(dry(SITES), 3) / seconds(lambda: np.sin(numbers), 3)
    tell("drying of 1,000 sites over 16 days / one numpy.sin over their hours", ratio, "at most 60")
    assert ratio < 120.0


@pytest.mark.benchmark
def test_every_start_of_one_forecast_against_one_layer_of_it() -> None:
    """What a plan asks: each hour of 16 days as the moment of spreading, with its range."""
    site, made = drying_site(), forecast()
    ratio = quickest(lambda: drying_spell(made, site, WAIT), 5) / quickest(dry(1), ALONE)
    tell("ready times of every start with their range / one layer alone", ratio, "at most 3")
    assert ratio < 6.0
