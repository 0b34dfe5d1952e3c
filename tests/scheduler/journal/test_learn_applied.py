"""What was learned, where planning finds it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_builders import SALMON, SITE

from scheduler.household.process_file import shipped_process
from scheduler.household.site import Chamber, Tray
from scheduler.journal.apply import applied
from scheduler.journal.learn import Learned, learn
from scheduler.journal.learn_value import learned_value
from scheduler.journal.state import SiteState
from scheduler.science.smoulder import PRACTICE, USUAL_G_PER_H, burn_time, fill_for, tray_rate

NOTHING = learn(SiteState(), SITE, SALMON)


def taught(**records: list[float]) -> Learned:
    """Nothing learned but these."""
    return replace(
        NOTHING, **{name: learned_value(getattr(NOTHING, name).rule, told) for name, told in records.items()}
    )


def test_nothing_learned_changes_nothing():
    assert applied(NOTHING, SITE, SALMON) == (SITE, SALMON)


def test_the_rise_of_all_fronts_stands_in_the_chamber():
    two = replace(SITE, tray=Tray(fronts=2))
    learned = taught(rise=[6.0] * 10)
    assert applied(learned, two, SALMON)[0].chamber.rise_k == 2.0 * learned.rise.value


def test_a_rise_that_the_household_set_stands():
    own = replace(SITE, chamber=Chamber(rise_k=2.0))
    assert applied(taught(rise=[6.0] * 10), own, SALMON) == (own, SALMON)


def test_a_rise_of_too_few_smokes_leaves_the_estimate_and_its_range():
    assert applied(taught(rise=[6.0] * 4), SITE, SALMON) == (SITE, SALMON)


def test_the_burn_rate_stands_at_the_tray():
    site, process = applied(taught(burn=[10.0] * 3), SITE, SALMON)
    assert (site.tray.g_per_h, process) == (12.0, SALMON)


def test_the_loss_stands_in_the_cure_and_salt_and_sugar_are_as_they_were():
    site, process = applied(taught(loss=[18.0] * 3), SITE, SALMON)
    assert site == SITE
    assert (process.cure.loss_pct, process.cure.salt_pct, process.cure.sugar_pct) == (15.0, 12.0, 12.0)


def test_the_drying_time_stands_for_days_that_no_forecast_knows_and_every_other_wait_is_as_it_was():
    _, process = applied(taught(drying=[144.0] * 4), SITE, SALMON)
    assert (process.step("spread").wait.least_h, process.step("spread").wait.usual_h) == (120.0, 120.0)
    assert process.step("spread").wait.longest_h == 240.0
    others = [(one, other) for one, other in zip(process.steps, SALMON.steps, strict=True) if one.name != "spread"]
    assert all(one == other for one, other in others)


@given(st.lists(st.floats(1.0, 1e4), min_size=1, max_size=40))
def test_waits_stay_in_order_whatever_was_recorded(hours):
    wait = applied(taught(drying=hours), SITE, SALMON)[1].step("spread").wait
    assert 0.0 < wait.least_h <= wait.usual_h <= wait.longest_h


def test_a_process_without_sawdust_or_cure_is_left_alone():
    cheese = shipped_process("cheese")
    learned = learn(SiteState(), SITE, cheese)
    assert applied(learned, SITE, cheese) == (SITE, cheese)


# The rate in use.


def test_without_an_own_rate_that_of_practice_holds():
    assert tray_rate(None) == PRACTICE == tray_rate(USUAL_G_PER_H)


@given(st.floats(7.0, 28.0))
def test_an_own_rate_calls_no_fire_out_sooner_and_a_faster_tray_is_filled_fuller(g_per_h):
    own = tray_rate(g_per_h)
    assert burn_time(450.0, 1, own).longest_h >= burn_time(450.0, 1).longest_h - 1e-9
    assert fill_for(12.0, 1, own) == pytest.approx(fill_for(12.0, 1) * g_per_h / USUAL_G_PER_H)
