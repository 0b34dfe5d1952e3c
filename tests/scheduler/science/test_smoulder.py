from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science.smoulder import (
    PRACTICE,
    PRACTICE_FILL_G,
    Rate,
    burn_power_w,
    burn_time,
    fill_for,
    lasts,
    own_rate,
)

fills, fronts, hours = st.floats(10.0, 2000.0), st.integers(1, 4), st.floats(1.0, 60.0)


def test_the_trades_fill_burns_as_long_as_the_trade_says() -> None:
    """450 g: one front up to 48 h, two from 12 h."""
    assert burn_time(PRACTICE_FILL_G, 1).longest_h == pytest.approx(48.0)
    assert burn_time(PRACTICE_FILL_G, 2).shortest_h == pytest.approx(12.0)
    assert burn_time(PRACTICE_FILL_G, 1).usual_h == pytest.approx(32.0, abs=0.2)
    assert burn_time(PRACTICE_FILL_G, 2).usual_h == pytest.approx(16.0, abs=0.1)


@given(fills, fronts)
def test_the_usual_time_lies_in_the_range(fill: float, lit: int) -> None:
    got = burn_time(fill, lit)
    assert got.shortest_h < got.usual_h < got.longest_h


@given(fills, fronts)
def test_more_fronts_burn_out_sooner(fill: float, lit: int) -> None:
    assert burn_time(fill, lit + 1).usual_h < burn_time(fill, lit).usual_h


@given(hours, fronts)
def test_the_fill_for_some_hours_lasts_them_at_any_rate(planned: float, lit: int) -> None:
    fill = fill_for(planned, lit)
    assert burn_time(fill, lit).shortest_h == pytest.approx(planned)
    assert lasts(fill * 1.001, lit, planned) == "yes"


def test_a_fill_lasts_perhaps_between_its_shortest_and_longest() -> None:
    assert lasts(450.0, 1, 24.0) == "yes"
    assert lasts(450.0, 1, 24.1) == "perhaps"
    assert lasts(450.0, 1, 48.0) == "perhaps"
    assert lasts(450.0, 1, 48.1) == "no"


def test_a_burn_that_was_timed_replaces_the_range() -> None:
    rate = own_rate(420.0, 15.0, 2)
    assert rate == Rate(14.0, 14.0, 14.0)
    got = burn_time(280.0, 2, rate)
    assert got.shortest_h == got.usual_h == got.longest_h == pytest.approx(10.0)
    assert fill_for(10.0, 2, rate) == pytest.approx(280.0)


@pytest.mark.parametrize(("g_per_h", "watts"), [(10, 22), (14, 31), (28, 62), (40, 89)])
def test_power_at_8_megajoules_a_kilogram(g_per_h: float, watts: float) -> None:
    assert burn_power_w(1, g_per_h, 8.0) == pytest.approx(watts, abs=0.5)


@pytest.mark.parametrize(("fill", "lit"), [(0.0, 1), (-5.0, 1), (100.0, 0)])
def test_nothing_burns_nothing(fill: float, lit: int) -> None:
    with pytest.raises(ValueError, match="burn nothing"):
        burn_time(fill, lit)


def test_a_burn_of_no_time_and_rates_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="no rate"):
        own_rate(100.0, 0.0, 1)
    with pytest.raises(ValueError, match="not slow, usual and fast"):
        Rate(3.0, 2.0, 1.0)


def test_range_per_front() -> None:
    assert PRACTICE.slow == pytest.approx(9.4, abs=0.05)
    assert PRACTICE.fast == pytest.approx(18.8, abs=0.06)
