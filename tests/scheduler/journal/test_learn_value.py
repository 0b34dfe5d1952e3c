"""One learned figure: how it is drawn to the household's own, and how far it can go."""

from __future__ import annotations

from statistics import fmean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import huber

from scheduler.household.site import Chamber, Site
from scheduler.journal.learn_fire import BURN, rise_rule
from scheduler.journal.learn_forecast import BIAS
from scheduler.journal.learn_value import LATEST, Rule, learned_value, middle

RULE = Rule(shipped=10.0, low=5.0, high=20.0, drawn_by=3.0, apart=2.0)
SHIPPED_RULES = [BIAS, BURN, rise_rule(Site("Invented shed", 51.0, -1.0, None, chamber=Chamber("metal", 100.0)))]
ANYTHING = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40)
TRUTHS = st.floats(5.0, 20.0)


# The middle.


@given(st.lists(st.floats(0.0, 2.0), min_size=1, max_size=40))
def test_the_middle_of_records_that_agree_is_their_mean(values):
    assert middle(values, 2.0) == pytest.approx(fmean(values), abs=1e-9)


@given(ANYTHING, st.floats(-5.0, 5.0))
def test_the_middle_is_where_hubers_loss_is_least(values, off):
    """The loss is an independent library's (scipy.special.huber)."""
    at = middle(values, 2.0)
    here, beside = (huber(2.0, np.array(values) - each).sum() for each in (at, at + off))
    assert here <= beside + 1e-9 * max(1.0, abs(beside))


@given(ANYTHING)
def test_the_middle_lies_among_the_records_whatever_their_order(values):
    at = middle(values, 2.0)
    assert min(values) - 1e-9 <= at <= max(values) + 1e-9
    assert middle(values[::-1], 2.0) == at


def test_between_two_records_far_apart_lies_their_mean():
    assert middle([0.0, 100.0], 2.0) == 50.0


def test_one_wild_record_counts_no_further_than_one_that_is_just_apart():
    assert middle([10.0] * 9 + [1e9], 2.0) == middle([10.0] * 9 + [12.3], 2.0) == pytest.approx(10.0 + 2.0 / 9.0)


# The value.


def test_without_records_the_value_is_the_shipped_one():
    figure = learned_value(RULE, [])
    assert (figure.value, figure.own, figure.records, figure.counts) == (10.0, None, 0, False)


def test_with_n0_records_the_value_lies_midway():
    assert learned_value(RULE, [14.0] * 3).value == 12.0


@pytest.mark.parametrize(("records", "value"), [(9, 0.0), (10, 1.0), (30, 1.5), (90, 1.8)])
def test_forecasts_are_corrected_from_ten_nights_on_by_n_over_n_plus_ten(records, value):
    assert learned_value(BIAS, [2.0] * records).value == pytest.approx(value)


def test_only_the_newest_thirty_records_make_the_own_figure():
    assert learned_value(RULE, [6.0] * 50 + [14.0] * LATEST).own == 14.0


def test_a_truth_beyond_the_bounds_is_gone_towards_only_as_far_as_the_bound():
    figure = learned_value(RULE, [60.0] * 3000)
    assert figure.own == 60.0
    assert figure.value == pytest.approx(20.0, abs=0.02)


@pytest.mark.parametrize("rule", [RULE, *SHIPPED_RULES])
@given(values=ANYTHING, share=st.floats(0.0, 1.0))
def test_whatever_is_recorded_the_value_is_worse_than_the_shipped_one_by_no_more_than_its_reach(rule, values, share):
    value = learned_value(rule, values).value
    truth = rule.low + share * (rule.high - rule.low)
    assert rule.low - 1e-12 <= value <= rule.high + 1e-12
    assert abs(value - truth) <= abs(rule.shipped - truth) + rule.reach + 1e-9


@given(TRUTHS, st.floats(0.0, 8.0), st.lists(st.floats(-1.0, 1.0), min_size=1, max_size=60))
def test_records_off_by_no_more_than_an_error_leave_no_more_than_their_share_of_it(truth, error, offs):
    """The shipped value's own error is left by (1 − weight), and no more than weight · error comes to it."""
    figure = learned_value(RULE, [truth + error * off for off in offs])
    weight = RULE.weight(len(offs))
    assert abs(figure.value - truth) <= (1.0 - weight) * abs(RULE.shipped - truth) + weight * error + 1e-9


@pytest.mark.parametrize("rule", [RULE, *SHIPPED_RULES])
@given(
    offs=st.lists(st.floats(0.0, 1.0), min_size=2, max_size=60),
    start=st.floats(-50.0, 50.0),
    wild=st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)),
)
def test_one_record_moves_the_value_by_no_more_than_stated(rule, offs, start, wild):
    others = [start + rule.apart * off for off in offs]
    one, other = (learned_value(rule, [*others, each]).value for each in wild)
    assert abs(one - other) <= rule.one_record(len(others) + 1) + 1e-9


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=30), st.integers(0, 29), st.floats(0.0, 1e3))
def test_a_record_that_is_higher_never_makes_the_value_lower(values, place, more):
    higher = list(values)
    higher[place % len(values)] += more
    assert learned_value(RULE, higher).value >= learned_value(RULE, values).value - 1e-9


# Many households.

NOISES = {
    "normal": lambda rng, shape: rng.normal(0.0, 1.0, shape),
    "uniform": lambda rng, shape: rng.uniform(-(3.0**0.5), 3.0**0.5, shape),
    "heavy tails": lambda rng, shape: rng.standard_t(4, shape) / 2.0**0.5,
}
HOUSEHOLDS = 400


def errors(rule: Rule, truth: float, records: int, noise: str, scatter: float) -> np.ndarray:
    rng = np.random.default_rng([records, int(10 * (truth + 100)), int(100 * scatter)])
    drawn = truth + scatter * NOISES[noise](rng, (HOUSEHOLDS, records))
    return np.array([learned_value(rule, row).value - truth for row in drawn.tolist()])


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 1.0])
@pytest.mark.parametrize("rule", SHIPPED_RULES, ids=["bias", "burn", "rise"])
def test_over_many_households_it_costs_no_more_than_stated_in_mean_square(rule, share, noise):
    truth = rule.low + share * (rule.high - rule.low)
    allowed = (truth - rule.shipped) ** 2 + rule.apart**2 * max(1.0 / (4.0 * rule.drawn_by), 1.0 / LATEST)
    for records in (3, 10, 40):
        squares = errors(rule, truth, records, noise, 0.9 * rule.apart) ** 2
        assert squares.mean() <= allowed + 3.0 * squares.std() / HOUSEHOLDS**0.5


@pytest.mark.parametrize("rule", SHIPPED_RULES, ids=["bias", "burn", "rise"])
@pytest.mark.parametrize("share", [0.1, 0.9])
def test_the_more_records_the_nearer_the_truth(rule, share):
    truth = rule.low + share * (rule.high - rule.low)
    typical = [np.abs(errors(rule, truth, n, "normal", 0.3 * rule.apart)).mean() for n in (1, 12, 40, 400)]
    assert typical == sorted(typical, reverse=True)
    assert typical[-1] < 0.15 * abs(truth - rule.shipped)


def test_with_ever_more_records_that_do_not_scatter_nothing_is_left_of_the_error():
    left = [abs(learned_value(RULE, [17.0] * n).value - 17.0) for n in (1, 10, 100, 10_000)]
    assert left == sorted(left, reverse=True)
    assert left[-1] < 0.003
