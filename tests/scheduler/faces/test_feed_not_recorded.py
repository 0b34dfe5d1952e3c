"""A tray that was lit by somebody who forgot to say so: the calendar still says when to lift, and asks."""

from __future__ import annotations

import pytest
from called_off_house import CalledOff
from feed_house import HOUR


@pytest.fixture
def evening(tmp_path):
    """Everything was done in time, the lighting is near."""
    made = CalledOff.adopted(tmp_path)
    made.rinsed()
    return made


def test_an_hour_without_an_answer_changes_nothing(evening):
    before = evening.house.steps()
    light = before["light"].start
    for minutes in (10, 40, 70):
        evening.house.now = light + minutes * HOUR / 60
        evening.look()
        after = evening.house.steps()
        assert {name: after[name].start for name in ("light", "first_check", "lift", "burn_out")} == {
            name: before[name].start for name in ("light", "first_check", "lift", "burn_out")
        }
        assert after["lift"].alarms
        assert any("Was “Light the tray" in text for text in evening.kept.told[0].news)


@pytest.mark.parametrize("hours", [5, 9, 11])
def test_the_lift_still_reminds_when_the_evening_is_over_and_what_to_do_if_it_was_not_lit_stands_beside_it(
    evening, hours
):
    before = evening.house.steps()
    evening.house.now = before["light"].start + hours * HOUR
    evening.look()
    lift = evening.house.event("lift")
    assert (lift.start, lift.status) == (before["lift"].start, "TENTATIVE")
    assert lift.alarms
    assert "is kept only if the tray is lit: record it." in lift.description
    ways = evening.house.event("ways out")
    assert ways.summary.startswith("Not lit? ")
    assert ways.description.startswith("Nobody said that the tray is lit. If it is not, there is no night left")
    assert evening.kept.told[0].headline.endswith("If it is not, no night is left that it can make.")


def test_once_somebody_says_so_the_plan_stands_and_the_ways_out_are_withdrawn(evening):
    light = evening.house.steps()["light"].start
    evening.house.now = light + 9 * HOUR
    evening.look()
    evening.house.did(evening.batch, "light", light)
    evening.look()
    assert (evening.house.event("lift").status, evening.house.event("light").summary[:6]) == ("CONFIRMED", "Done: ")
    assert evening.house.event("ways out").description == "Cancelled. The tray is lit."


@pytest.mark.parametrize("warmer_k", [8.3, 8.7, 9.2, 12.0])
@pytest.mark.parametrize("hours", [1 / 3, 3, 9])
def test_a_warmer_forecast_takes_no_reminder_from_a_tray_that_may_be_lit(evening, warmer_k, hours):
    before = evening.house.event("lift")
    evening.house.now = evening.house.steps()["light"].start + hours * HOUR
    evening.look(warmer_k=warmer_k)
    lift = evening.house.event("lift")
    assert (lift.start, lift.status) == (before.start, "TENTATIVE")
    assert lift.alarms
    assert lift.summary == before.summary


@pytest.mark.parametrize("then_k", [8.7, 0.0])
def test_a_tray_that_was_not_to_be_lit_is_not_lifted_whatever_a_newer_forecast_says(evening, then_k):
    light = evening.house.steps()["light"].start
    evening.look(warmer_k=8.7)
    assert evening.house.event("light").summary.startswith("No go: ")
    evening.house.now = light + 9 * HOUR
    evening.look(warmer_k=then_k)
    assert evening.house.event("lift").status == "CANCELLED"
    assert evening.house.event("ways out").summary.startswith("No night left: ")


def test_no_entry_has_a_leeway_that_its_own_time_is_not_in(evening):
    evening.house.now = evening.house.steps()["light"].start + 54 * HOUR / 60
    evening.look()
    for name in ("light", "load", "first_check", "lift"):
        assert "Leeway: " not in evening.house.event(name).description, name
