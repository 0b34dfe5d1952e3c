from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from scheduler.science.exposure import EDGES_C, Exposure, exposure

curves = arrays(np.float64, st.integers(2, 30), elements=st.floats(-5.0, 35.0))


def hours_of(curve: np.ndarray) -> np.ndarray:
    return np.arange(float(len(curve)))


def total(got: Exposure) -> float:
    return got.cold_h + got.cool_h + got.mild_h + got.warm_h + got.unknown_h


@given(curves)
def test_the_bands_share_all_the_time(curve: np.ndarray) -> None:
    got = exposure(hours_of(curve), curve)
    assert total(got) == pytest.approx(len(curve) - 1)
    assert min(got.cold_h, got.cool_h, got.mild_h, got.warm_h) >= 0.0


@given(curves, st.floats(0.0, 5.0))
def test_warmer_food_never_spends_less_time_warm(curve: np.ndarray, more: float) -> None:
    cool, warm = exposure(hours_of(curve), curve), exposure(hours_of(curve), curve + more)
    assert warm.warm_h >= cool.warm_h - 1e-9
    assert warm.above_cool_h >= cool.above_cool_h - 1e-9
    assert warm.cold_h <= cool.cold_h + 1e-9


@given(curves, st.integers(1, 28))
def test_two_stretches_add_up_to_the_whole(curve: np.ndarray, cut: int) -> None:
    cut = min(cut, len(curve) - 1)
    hours = hours_of(curve)
    parts = exposure(hours[: cut + 1], curve[: cut + 1]) + exposure(hours[cut:], curve[cut:])
    whole = exposure(hours, curve)
    for name in Exposure.__slots__:
        assert getattr(parts, name) == pytest.approx(getattr(whole, name), abs=1e-9)


def test_a_band_holds_its_upper_edge() -> None:
    got = exposure(np.array([0.0, 2.0, 5.0]), np.full(3, EDGES_C[0]))
    assert got == Exposure(5.0, 0.0, 0.0, 0.0, 0.0)


def test_what_is_not_known_is_counted_apart() -> None:
    got = exposure(np.array([0.0, 1.0, 2.0, 3.0]), np.array([3.0, np.nan, 12.0, 12.0]))
    assert got == Exposure(0.0, 0.0, 1.0, 0.0, 2.0)


def test_a_night_in_the_chamber() -> None:
    """From 3 °C to 14 °C in two hours, then eight hours there: most of it mild, none of it warm."""
    got = exposure(np.array([0.0, 2.0, 10.0]), np.array([3.0, 14.0, 14.0]))
    assert got.warm_h == 0.0
    assert got.mild_h == pytest.approx(8.0 + 2.0 * 4.0 / 11.0)
