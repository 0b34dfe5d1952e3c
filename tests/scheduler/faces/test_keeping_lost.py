"""A household whose batch has no night left: what was planned is cancelled, and what can be done instead is told."""

from __future__ import annotations

from datetime import timedelta

import pytest
from feed_house import HOUR, House, warmer, weather

from scheduler.journal.record import Kind


@pytest.fixture
def lost() -> tuple[House, str]:
    """Fish in salt, and the weather is warm for ever."""
    house = House()
    identity = house.adopted()
    house.now = house.times(identity)["salt"]
    house.did(identity, "salt")
    house.keep()
    house.now += 6 * HOUR
    house.forecast = weather(house.now, warmer(25.0, house.now + 3 * HOUR))
    house.keep()
    return house, identity


def test_a_lost_plan_is_cancelled_with_the_reason_of_the_weather(lost):
    house, _ = lost
    event = house.event("light")
    assert event.status == "CANCELLED"
    assert event.description.startswith("Cancelled. As of Sun 18 Oct 18:10 no night is left that this batch can make")
    assert "Tue 20 Oct now reaches" in event.description


def test_fish_in_salt_without_a_night_has_an_entry_that_says_what_to_do_instead_and_by_when(lost):
    house, _ = lost
    event = house.event("ways out")
    assert event.summary == "No night left: freeze it now, smoke it later (autumn lot)"
    assert not event.transparent
    assert [alarm.before > timedelta(0) for alarm in event.alarms] == [True]
    assert "1. Freeze it now" in event.description
    before = house.bytes()
    house.now += HOUR
    house.keep()
    assert house.bytes() == before


def test_a_lost_plan_that_is_found_again_keeps_its_uids_and_counts_on(lost):
    house, _ = lost
    gone = house.event("light")
    house.now += 6 * HOUR
    house.forecast = weather(house.now)
    house.keep()
    back = house.event("light")
    assert (back.uid, back.sequence, back.status) == (gone.uid, gone.sequence + 1, "CONFIRMED")
    assert back.alarms


def test_what_could_have_been_done_instead_is_withdrawn_with_a_word_once_there_is_a_night_again(lost):
    house, _ = lost
    before = house.event("ways out")
    house.now += 6 * HOUR
    house.forecast = weather(house.now)
    house.keep()
    gone = house.event("ways out")
    assert (gone.uid, gone.sequence, gone.status, gone.alarms) == (before.uid, before.sequence + 1, "CANCELLED", ())
    assert gone.description == "Cancelled. There is a night again that this batch can make."
    house.forecast = weather(house.now, warmer(25.0, house.now + 3 * HOUR))
    house.keep()
    again = house.event("ways out")
    assert (again.sequence, again.status, again.summary) == (gone.sequence + 1, "CONFIRMED", before.summary)


def test_what_can_be_done_instead_stays_when_the_lost_plan_is_dropped(lost):
    house, identity = lost
    before = house.event("ways out")
    house.book.add(house.book.record(Kind.PLAN_DROPPED, identity, why=["No night is left.", "It is too warm."]))
    kept = house.keep()
    assert house.event("ways out") == before
    (told,) = kept.told
    assert [one.split(":")[0] for one in told.news] == [f"Way out {number}" for number in range(1, len(told.ways) + 1)]
    house.end(identity, how="frozen")
    assert house.event("ways out").description == "Cancelled. The batch has ended: frozen."


def test_a_tray_that_is_lit_all_the_same_withdraws_what_could_have_been_done_instead(lost):
    house, identity = lost
    house.now += HOUR
    for step in ("rinse", "rest", "light"):
        house.did(identity, step)
    house.keep()
    assert house.event("ways out").description == "Cancelled. The tray is lit."


def test_whether_plans_may_move_changes_nothing_where_there_is_none(lost):
    house, _ = lost
    before = house.bytes()
    for moving in (False, True, False):
        house.now += HOUR / 12
        house.keep(moving=moving)
        assert house.bytes() == before


def test_no_reminder_is_published_for_a_moment_that_is_past_nor_on_what_is_cancelled(lost):
    house, _ = lost
    for event in (one.event for one in house.entries):
        if event.status == "CANCELLED":
            assert event.alarms == ()
        assert all(event.start - alarm.before > event.stamp for alarm in event.alarms)


@pytest.mark.parametrize("step", ["salt", "light"])
def test_what_was_dropped_and_then_goes_well_withdraws_the_ways_out_with_its_own_reason(lost, step):
    house, identity = lost
    house.book.add(house.book.record(Kind.PLAN_DROPPED, identity, why=["No night is left.", "It is too warm."]))
    house.keep()
    house.now += HOUR
    if step == "light":
        for each in ("rinse", "rest", "light"):
            house.did(identity, each)
    else:
        house.forecast = weather(house.now)
    house.keep()
    why = "The tray is lit." if step == "light" else "There is a night again that this batch can make."
    assert house.event("ways out").description == f"Cancelled. {why}"


def test_a_tray_lit_without_a_plan_is_lifted_with_a_reminder(lost):
    house, identity = lost
    house.forecast = weather(house.now)
    house.book.add(house.book.record(Kind.PLAN_DROPPED, identity, why=["No night is left."]))
    for each in ("rinse", "rest", "light"):
        house.did(identity, each)
    house.keep()
    lift = house.event("lift")
    assert (lift.summary, lift.status) == ("Lift the food out, chill at once (autumn lot)", "CONFIRMED")
    assert lift.alarms
    assert not lift.fleeting


def test_the_headline_says_what_can_be_done_instead_and_by_when(lost):
    house, _ = lost
    (told,) = house.keep().told
    assert told.headline == "No night is left: freeze it now, smoke it later, by Tue 20 Oct 22:00."
