"""Tonight or wait: the threshold by nights left, base rate and what waiting costs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples
from scipy import integrate, stats

from scheduler.planning.stopping import beta_share, mean_above, threshold, value_of_waiting

NIGHTS_LEFT = (0, 1, 2, 3, 5, 7)

rates = st.floats(0.02, 0.98)
costs = st.floats(0.0, 0.3)
shapes = st.floats(0.05, 20.0)


@pytest.mark.parametrize("loss", [0.0, 0.25, 0.5, 1.0])
def test_without_another_night_it_is_the_loss_over_one_and_the_loss(loss):
    assert threshold(0, 0.7, wait_cost=0.02, loss=loss) == pytest.approx(loss / (1 + loss), abs=1e-15)


@pytest.mark.parametrize(
    ("rate", "cost", "expected"),
    [
        (0.3, 0.02, (0.33, 0.47, 0.56, 0.62, 0.71, 0.76)),
        (0.3, 0.10, (0.33, 0.41, 0.47, 0.50, 0.55, 0.57)),
        (0.5, 0.02, (0.33, 0.59, 0.72, 0.79, 0.86, 0.90)),
        (0.5, 0.10, (0.33, 0.54, 0.64, 0.69, 0.74, 0.75)),
        (0.7, 0.02, (0.33, 0.74, 0.86, 0.91, 0.95, 0.96)),
        (0.7, 0.10, (0.33, 0.68, 0.79, 0.83, 0.85, 0.85)),
    ],
)
def test_thresholds_are_those_of_an_independent_computation(rate, cost, expected):
    """Computed apart from this code, to two digits."""
    found = [threshold(n, rate, wait_cost=cost) for n in NIGHTS_LEFT]
    assert found == pytest.approx(expected, abs=0.01)


def test_less_than_no_night_left_is_refused():
    with pytest.raises(ValueError, match="-1 nights"):
        threshold(-1, 0.5, wait_cost=0.02)


@pytest.mark.parametrize("rate", [0.0, 1.0])
def test_a_base_rate_that_is_certain_still_has_an_answer(rate):
    assert 0.33 < threshold(3, rate, wait_cost=0.02) < 1.0


@examples(200)
@given(st.integers(0, 9), rates, costs)
def test_one_more_night_never_makes_tonight_less_choosy(n, rate, cost):
    assert threshold(n + 1, rate, wait_cost=cost) >= threshold(n, rate, wait_cost=cost) - 1e-12


@examples(200)
@given(st.integers(0, 9), rates, costs, st.floats(0.0, 0.2))
def test_a_dearer_wait_never_makes_tonight_more_choosy(n, rate, cost, more):
    assert threshold(n, rate, wait_cost=cost + more) <= threshold(n, rate, wait_cost=cost) + 1e-12


@examples(300)
@given(st.floats(0.001, 0.999), shapes, shapes)
def test_the_share_of_a_beta_is_the_reference_librarys(x, a, b):
    assert beta_share(x, a, b) == pytest.approx(stats.beta.cdf(x, a, b), abs=1e-11)


@examples(50)
@given(st.floats(0.05, 0.95), st.floats(0.5, 8.0), st.floats(0.5, 8.0))
def test_the_mean_above_is_the_integral_of_what_lies_above(least, a, b):
    wanted, _ = integrate.quad(lambda p: stats.beta.sf(p, a, b), least, 1.0)
    assert mean_above(least, a, b) == pytest.approx(wanted, abs=1e-7)


def test_the_mean_above_nothing_is_the_mean_and_above_one_is_none():
    assert mean_above(0.0, 0.3, 0.3) == pytest.approx(0.5)
    assert mean_above(1.0, 0.3, 0.3) == 0.0


def test_waiting_that_costs_more_than_it_can_bring_is_worth_nothing():
    assert value_of_waiting(5, 0.3, 0.3, wait_cost=0.9, loss=0.5) == 0.0
