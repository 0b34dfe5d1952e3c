"""Made-up households with a known truth, from their journals: every figure comes to it, and none runs away."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from learning_builders import SALMON, SITE, burnt, forecasts_and_porch, rises, salted, smoke, spread

from scheduler.journal.learn import learn
from scheduler.journal.state import SiteState

HOUSEHOLDS = {
    "bias": (
        lambda records: forecasts_and_porch([(10.0 + record, 10.0) for record in records]),
        lambda learned: learned.bias.overall,
        (-3.0, 3.0),
        2.0,
    ),
    "burn": (
        lambda records: SiteState(tuple(smoke(n, *burnt(rate)) for n, rate in enumerate(records))),
        lambda learned: learned.burn,
        (7.5, 26.0),
        2.0,
    ),
    "rise": (rises, lambda learned: learned.rise, (2.4, 8.5), 0.8),
    "drying": (
        lambda records: SiteState(tuple(spread(n, hours) for n, hours in enumerate(records))),
        lambda learned: learned.drying,
        (50.0, 190.0),
        24.0,
    ),
    "loss": (
        lambda records: SiteState(tuple(salted(n, loss) for n, loss in enumerate(records))),
        lambda learned: learned.loss,
        (6.5, 23.0),
        2.0,
    ),
}
"""How a journal of such records is made, the figure it teaches, plausible truths, and how records scatter."""


@pytest.mark.parametrize("name", HOUSEHOLDS)
def test_every_figure_comes_to_the_truth_of_a_household_as_its_nights_add_up(name):
    journal, figure, (low, high), scatter = HOUSEHOLDS[name]
    rng = Random(name)
    truths = [rng.uniform(low, high) for _ in range(15)]

    def typical(count: int) -> float:
        told = [[rng.gauss(truth, scatter / 2.0) for _ in range(count)] for truth in truths]
        values = [figure(learn(journal(records), SITE, SALMON)).value for records in told]
        return sum(abs(value - truth) for value, truth in zip(values, truths, strict=True)) / len(truths)

    none, some, many, more = typical(0), typical(12), typical(30), typical(90)
    assert none > some > many > more
    assert more < 0.25 * none


@pytest.mark.parametrize("name", HOUSEHOLDS)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_no_figure_is_further_from_the_truth_than_the_shipped_one_by_more_than_its_records_were(name, data):
    journal, figure, (low, high), scatter = HOUSEHOLDS[name]
    truth = data.draw(st.floats(low, high))
    offs = data.draw(st.lists(st.floats(-1.0, 1.0), min_size=1, max_size=14))
    found = figure(learn(journal([truth + off * scatter for off in offs]), SITE, SALMON))
    rule, weight = found.rule, found.rule.weight(found.records)
    assert found.records == len(offs)
    assert abs(found.value - truth) <= (1 - weight) * abs(rule.shipped - truth) + weight * scatter + 1e-6


@pytest.mark.parametrize("name", HOUSEHOLDS)
def test_one_outlier_among_fifteen_records_moves_a_figure_by_less_than_a_tenth_of_its_range(name):
    journal, figure, (low, high), _ = HOUSEHOLDS[name]
    truth = low + 0.6 * (high - low)
    plain = figure(learn(journal([truth] * 15), SITE, SALMON))
    wild = figure(learn(journal([truth] * 14 + [1.25 * high]), SITE, SALMON))
    assert wild.records == 15
    assert 0.0 < abs(wild.value - plain.value) <= min(plain.rule.one_record(15), 0.1 * (high - low))
