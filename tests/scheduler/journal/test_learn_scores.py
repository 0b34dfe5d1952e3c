"""Chances against what came, from a journal's forecasts and porch readings."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_builders import SALMON, SITE, forecast, forecasts_and_porch

from scheduler.household.process import Smoke
from scheduler.journal.learn import learn
from scheduler.journal.scores import Outcome, brier, murphy, scores

NIGHTS = st.lists(st.builds(Outcome, st.floats(0.0, 1.0), st.booleans()), min_size=1, max_size=80)
ROUND = st.lists(st.builds(Outcome, st.sampled_from([0.1, 0.4, 0.6, 0.8, 0.95]), st.booleans()), min_size=1)


@given(st.one_of(NIGHTS, ROUND))
def test_the_score_is_reliability_less_resolution_and_uncertainty(nights):
    """Murphy's decomposition holds exactly where equal chances are taken together."""
    parts = murphy(nights)
    assert brier(nights) == pytest.approx(parts.reliability - parts.resolution + parts.uncertainty, abs=1e-12)


def test_under_thirty_nights_nothing_is_said():
    nights = [Outcome(0.7, held=True)] * 29
    assert scores(nights) is None
    assert scores([*nights, Outcome(0.7, held=False)]).nights == 30


def test_always_saying_the_share_that_held_has_no_skill():
    found = scores([Outcome(0.75, held=night % 4 > 0) for night in range(40)])
    assert (found.held, found.brier, found.skill) == (0.75, 0.1875, 0.0)
    assert (found.parts.reliability, found.parts.resolution) == (0.0, 0.0)


def test_knowing_every_night_has_a_skill_of_one():
    found = scores([Outcome(float(night % 2), held=night % 2 == 1) for night in range(40)])
    assert (found.brier, found.skill, found.parts.resolution) == (0.0, 1.0, 0.25)


def test_where_every_night_held_no_skill_can_be_told():
    assert scores([Outcome(0.9, held=True)] * 30).skill is None


def test_nights_are_told_in_three_bins_by_their_chance():
    told = [(0.1, False), (0.4999, True), (0.5, True), (0.8, False), (0.8001, True), (1.0, True)]
    found = scores([Outcome(chance, held=held) for chance, held in told] * 5)
    assert [one.nights for one in found.bins] == [10, 10, 10]
    assert [one.held for one in found.bins] == [0.5, 0.5, 1.0]
    assert [one.chance for one in found.bins] == pytest.approx([0.29995, 0.65, 0.90005])


def test_a_bin_without_a_night_says_nothing():
    assert scores([Outcome(0.9, held=True)] * 30).bins[0].held is None


@given(NIGHTS.filter(lambda nights: len(nights) >= 30))
def test_bins_hold_every_night_once_and_average_to_all_of_them(nights):
    found = scores(nights)
    assert sum(one.nights for one in found.bins) == found.nights == len(nights)
    held = sum(one.nights * one.held for one in found.bins if one.held is not None)
    assert held == pytest.approx(found.held * len(nights))


# From the journal.


def test_a_night_held_if_its_warmest_reading_was_at_or_under_the_ceiling():
    ceiling_c = SITE.limits.ceiling_c
    state = forecasts_and_porch([(10.0, ceiling_c)] * 20 + [(10.0, ceiling_c + 0.01)] * 20)
    found = learn(state, SITE, SALMON)
    assert (found.scored_nights, found.scores.held) == (40, 0.5)


def test_a_food_with_a_lower_ceiling_is_scored_against_that():
    cheese = replace(SALMON, smoke=Smoke(ceiling_c=8.0))
    state = forecasts_and_porch([(10.0, 12.0)] * 30)
    assert learn(state, SITE, SALMON).scores.held == 1.0
    assert learn(state, SITE, cheese).scores.held == 0.0


def test_the_newest_chance_before_the_lighting_is_the_one_that_is_scored():
    state = forecasts_and_porch([(10.0, 12.0)] * 30, chance=0.2)
    newer = tuple(forecast(night, 10.0, lead_h=3.0, chance=0.9) for night in range(30))
    found = learn(replace(state, forecasts=(*state.forecasts, *newer)), SITE, SALMON)
    assert found.scores.brier == pytest.approx(0.01)


def test_nights_without_a_chance_are_not_scored():
    state = forecasts_and_porch([(10.0, 12.0)] * 29)
    silent = forecast(29, 10.0, chance=None)
    found = learn(replace(state, forecasts=(*state.forecasts, silent)), SITE, SALMON)
    assert (found.scored_nights, found.scores) == (29, None)
