"""Learning from the journal of a household whose truth is known, and what a record can and cannot tell."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from learning_builders import (
    DAY,
    HOUR,
    SALMON,
    SITE,
    batch,
    burnt,
    forecast,
    forecasts_and_porch,
    lit,
    porch,
    rises,
    salted,
    smoke,
    spread,
)

from scheduler.household.site import Chamber, Tray
from scheduler.journal.learn import learn
from scheduler.journal.state import Reading, SiteState, StepDone

UNLIT = SiteState()


def test_an_empty_journal_teaches_nothing():
    learned = learn(UNLIT, SITE, SALMON)
    figures = (learned.bias.overall, *learned.bias.by_band, learned.burn, learned.rise, learned.drying, learned.loss)
    assert all(one.value == one.rule.shipped and one.records == 0 for one in figures)
    assert (learned.bias_c, learned.scored_nights, learned.scores) == (0.0, 0, None)


# Forecasts.


def test_a_forecast_too_warm_has_a_bias_above_zero():
    assert learn(forecasts_and_porch([(14.0, 12.0)] * 30), SITE, SALMON).bias_c == pytest.approx(2.0 * 30 / 40)


def test_nine_nights_correct_nothing_and_ten_do():
    nine, ten = (learn(forecasts_and_porch([(14.0, 12.0)] * count), SITE, SALMON) for count in (9, 10))
    assert (nine.bias_c, ten.bias_c) == (0.0, 1.0)


def test_the_newest_forecast_before_the_lighting_counts_for_its_night():
    state = forecasts_and_porch([(14.0, 12.0)] * 12, lead_h=30.0)
    newer = tuple(forecast(night, 13.0, lead_h=6.0) for night in range(12))
    too_late = tuple(forecast(night, 19.0, lead_h=-1.0) for night in range(12))
    both = replace(state, forecasts=(*state.forecasts, *newer, *too_late))
    assert learn(both, SITE, SALMON).bias.overall.own == 1.0


def test_each_lead_has_a_bias_of_its_own():
    leads = {40.0: 1.0, 100.0: 2.0, 200.0: 3.0}
    state = forecasts_and_porch([(14.0, 14.0)] * 12)
    told = [forecast(night, 14.0 + off, lead_h=lead) for night in range(12) for lead, off in leads.items()]
    bands = learn(replace(state, forecasts=tuple(told)), SITE, SALMON).bias.by_band
    assert [(band.own, band.records) for band in bands] == [(1.0, 12), (2.0, 12), (3.0, 12)]


def test_another_services_forecasts_are_left_out_where_one_is_asked_for():
    state = forecasts_and_porch([(14.0, 12.0)] * 12)
    assert learn(state, SITE, SALMON, "invented weather").bias.overall.records == 12
    assert learn(state, SITE, SALMON, "another").bias.overall.records == 0


def gap(minutes: float) -> SiteState:
    """One night without readings for so long."""
    first = lit(0) + 4 * HOUR
    kept = [one for one in porch(0, 12.0, 0.25) if not first < one.at < first + timedelta(minutes=minutes)]
    return SiteState((), tuple(kept), (forecast(0, 14.0),))


@pytest.mark.parametrize(("minutes", "nights"), [(60, 1), (75, 1), (90, 0)])
def test_a_window_counts_only_if_no_gap_in_its_readings_is_over_an_hour_and_a_quarter(minutes, nights):
    assert learn(gap(minutes), SITE, SALMON).bias.overall.records == nights


@pytest.mark.parametrize("cut", [lambda one: one.at >= lit(0), lambda one: one.at <= lit(0) + 11 * HOUR])
def test_a_window_whose_start_or_end_was_not_read_does_not_count(cut):
    readings = tuple(one for one in porch(0, 12.0) if cut(one) and one.at not in (lit(0), lit(0) + 12 * HOUR))
    assert learn(SiteState((), readings, (forecast(0, 14.0),)), SITE, SALMON).bias.overall.records == 0


def test_what_was_read_outside_the_window_is_not_its_warmest():
    warm_before = Reading("porch", lit(0) - HOUR / 2, 30.0)
    state = SiteState((), tuple(sorted([*porch(0, 12.0), warm_before], key=lambda one: one.at)), (forecast(0, 12.0),))
    assert learn(state, SITE, SALMON).bias.overall.own == 0.0


def test_the_air_at_the_ends_of_the_window_lies_on_the_line_between_readings():
    readings = tuple(Reading("porch", lit(0) + (each - 0.5) * HOUR, 20.0 - each) for each in range(15))
    assert learn(SiteState((), readings, (forecast(0, 20.0),)), SITE, SALMON).bias.overall.own == pytest.approx(0.5)


def test_a_night_without_a_window_or_a_peak_teaches_no_bias():
    readings = tuple(porch(0, 12.0))
    for told in (forecast(0, None), forecast(0, 14.0, light=None), forecast(0, 14.0, lift=None)):
        assert learn(SiteState((), readings, (told,)), SITE, SALMON).bias.overall.records == 0


# The fire.


def test_sawdust_in_and_left_over_the_hours_between_is_the_rate_of_each_front():
    two = replace(SITE, tray=Tray(fronts=2))
    state = SiteState((smoke(0, 500.0, 140.0),))
    assert learn(state, SITE, SALMON).burn.own == 30.0
    assert learn(state, two, SALMON).burn.own == 15.0


def test_a_fire_relit_early_burnt_from_then_on():
    state = SiteState((smoke(0, 320.0, 200.0, relit=[lit(0) + 2 * HOUR]),))
    assert learn(state, SITE, SALMON).burn.own == 12.0


@pytest.mark.parametrize(
    ("fill_g", "left_g", "relit"),
    [(200.0, 0.0, ()), (200.0, 9.0, ()), (200.0, 200.0, ()), (200.0, 250.0, ()), (320.0, 200.0, (lit(0) + 4 * HOUR,))],
    ids=["burnt out", "crumbs left", "nothing burnt", "more left than filled in", "relit late"],
)
def test_a_smoke_that_cannot_tell_its_rate_is_set_aside_and_counted(fill_g, left_g, relit):
    found = learn(SiteState((smoke(0, fill_g, left_g, relit=relit),)), SITE, SALMON).burn
    assert (found.records, found.set_aside, found.value) == (0, 1, 14.0)


def test_a_smoke_without_its_weights_is_no_record():
    found = learn(SiteState((smoke(0, None, 100.0), smoke(1, 300.0, None))), SITE, SALMON).burn
    assert (found.records, found.set_aside) == (0, 0)


def test_two_batches_over_one_fire_are_one_smoke():
    state = SiteState((smoke(0, None, None), replace(smoke(0, *burnt(12.0)), identity="other")))
    assert learn(state, SITE, SALMON).burn.records == 1
    night = rises([5.0])
    assert learn(replace(night, batches=night.batches * 2), SITE, SALMON).rise.records == 1


# The chamber.


def test_the_rise_is_that_of_each_front():
    assert learn(rises([5.0] * 6), replace(SITE, tray=Tray(fronts=2)), SALMON).rise.own == pytest.approx(2.5)


def test_the_estimate_and_its_range_stay_until_five_smokes_were_measured():
    four, five = (learn(rises([6.0] * count), SITE, SALMON).rise for count in (4, 5))
    assert four.value == four.rule.shipped
    assert five.value == pytest.approx((five.rule.shipped + 6.0) / 2.0)


def test_readings_of_the_first_hour_and_those_without_a_companion_do_not_count():
    night = rises([5.0])
    for begin in (lit(0) + timedelta(minutes=1), lit(0) + 6.5 * HOUR - timedelta(minutes=7)):
        hot = [Reading("chamber", begin + timedelta(minutes=each), 60.0) for each in range(14)]
        readings = tuple(sorted([*night.readings, *hot], key=lambda one: one.at))
        assert learn(replace(night, readings=readings), SITE, SALMON).rise.own == pytest.approx(5.0)


def test_a_chamber_in_the_sun_is_read_only_in_the_dark():
    sunny = replace(SITE, sun_shelter=False)
    late = [
        Reading(where, lit(0) + 16 * HOUR + timedelta(minutes=each), c)
        for where, c in (("porch", 8.0), ("chamber", 40.0))
        for each in range(0, 120, 5)
    ]  # 10 to 12 h by the clock, in January
    night = rises([5.0])
    long_smoke = (smoke(0, None, None, hours=18.0),)
    state = replace(night, batches=long_smoke, readings=tuple(sorted([*night.readings, *late], key=lambda one: one.at)))
    assert learn(state, sunny, SALMON).rise.own == pytest.approx(5.0)
    assert learn(state, SITE, SALMON).rise.own > 6.0


def test_the_shipped_rise_is_that_of_the_chamber_at_hand():
    box = replace(SITE, chamber=Chamber("metal", 100.0))
    assert learn(UNLIT, box, SALMON).rise.value == pytest.approx(4.9, abs=0.3)


# Sawdust and cure.


def test_sawdust_stored_before_it_was_spread_or_left_lying_too_long_is_set_aside():
    found = learn(SiteState((spread(0, -5.0), spread(1, 241.0), spread(2, 120.0))), SITE, SALMON).drying
    assert (found.records, found.set_aside, found.own) == (1, 2, 120.0)


def test_weights_that_grew_or_halved_are_set_aside():
    found = learn(SiteState((salted(0, -1.0), salted(1, 50.0), salted(2, 15.0))), SITE, SALMON).loss
    assert (found.records, found.set_aside, found.own) == (1, 2, pytest.approx(15.0))


def test_a_batch_weighed_as_it_was_opened_needs_no_second_weight_at_the_salting():
    steps = (StepDone("salt", lit(0)), StepDone("rinse", lit(0) + 2 * DAY, 900.0))
    assert learn(SiteState((batch(0, steps, weight_g=1000.0),)), SITE, SALMON).loss.own == pytest.approx(10.0)


def test_another_food_teaches_nothing_of_this_cure():
    steps = (StepDone("salt", lit(0), 1000.0), StepDone("rinse", lit(0) + 2 * DAY, 900.0))
    assert learn(SiteState((batch(0, steps, food="cheese"),)), SITE, SALMON).loss.records == 0
