"""A household's calendar over time: it stays as it is while nothing is news, and says so where something is."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from math import pi, sin

import pytest
from feed_house import DAY, HOUR, NOON, ZONE, House, air_c, warmer, weather

from scheduler.faces.calendar_event import uid_of
from scheduler.faces.feed import CANCELLED
from scheduler.journal.record import Kind

MINUTE = timedelta(minutes=1)


@pytest.fixture
def house() -> House:
    return House()


@pytest.fixture
def adopted(house) -> tuple[House, str]:
    """A household whose plan was taken on and published; its fish thaws."""
    return house, house.adopted()


def restless(seed, number, amount_c=0.3):
    """The weather as the forecast of that number has it: a little off, here and there."""
    rng = random.Random(seed * 1000 + number)
    level, swing, phase = rng.uniform(-amount_c, amount_c), rng.uniform(-amount_c, amount_c), rng.uniform(0, 2 * pi)
    return lambda moment: air_c(moment) + level + swing * sin(moment.timestamp() / 86400 * 2 * pi / 3 + phase)


# What stays


def a_week(house, identity, seed, *, followed):
    """Hourly refreshes with a forecast every six hours; gives how often each entry was revised, and the states."""
    revised, last, states = Counter(), {}, 0
    for hour in range(24 * 7):
        house.now = NOON + 7 * MINUTE + hour * HOUR
        if hour % 6 == 0:
            house.forecast = weather(house.now, restless(seed, hour // 6))
        done = {one.step for one in house.book.state.batches[0].done}
        for step, at in house.times(identity).items() if followed else ():
            if at <= house.now and step not in done:
                house.did(identity, step, at)
        before = house.entries
        house.keep()
        states += house.entries != before
        now = {one.event.uid: one.event for one in house.entries}
        for uid, event in now.items():
            if uid in last and event != last[uid]:
                revised[event.categories[-1]] += 1
                assert event.sequence == last[uid].sequence + 1
                assert event.stamp > last[uid].stamp
                assert event.created == last[uid].created
        last = now
    return revised, states


def test_a_week_of_hourly_looks_at_restless_weather_revises_little(house):
    identity = house.open()
    house.adopt(identity)
    revised, states = a_week(house, identity, 1, followed=True)
    steps = Counter({step: count for step, count in revised.items() if step != "night"})
    assert revised["night"] <= 12  # about 15 nights in 28 forecasts
    assert sum(steps.values()) <= 18  # once for being done, once where the step before it was
    assert max(steps.values()) <= 3
    assert states <= 30


def test_the_same_state_an_hour_later_is_the_same_to_the_byte(adopted):
    house, _ = adopted
    before = house.bytes()
    for hour in (1, 2, 3):
        house.now = NOON + hour * HOUR
        house.keep()
        assert house.bytes() == before


def test_a_plan_that_nobody_adopted_does_not_run_with_the_clock(house):
    house.open()
    house.now = NOON + 20 * HOUR
    house.keep()
    before = house.steps()
    for hour in range(1, 6):
        house.now += HOUR
        house.keep()
        assert house.steps() == before, hour


def test_a_plan_that_nobody_adopted_is_told_anew_as_a_whole(house):
    house.open()
    house.keep()
    before = house.steps()
    house.now += 12 * HOUR
    house.forecast = weather(house.now, warmer(9.0, NOON, NOON + 4 * DAY))
    house.keep()
    after = house.steps()
    assert all(after[step].start != before[step].start for step in ("salt", "rinse", "light", "smoke", "lift"))
    assert len({after[step].stamp for step in ("salt", "rinse", "light", "smoke", "lift")}) == 1


def test_what_nobody_adopted_is_tentative_free_and_silent(house):
    house.open()
    house.keep()
    for event in (one.event for one in house.entries):
        assert (event.status, event.transparent, event.alarms) == ("TENTATIVE", True, ())
    assert "night" in {one.event.categories[-1] for one in house.entries}
    assert house.event("light").description.startswith("Nobody has taken this night on yet")
    assert house.event("light").summary == "Maybe: Light the tray, let it die down (autumn lot)"
    assert house.event("smoke").summary == "Maybe: Cold smoke (autumn lot)"


def test_good_nights_and_plans_of_nobody_leave_without_a_trace(house):
    house.open()
    house.keep()
    house.now += HOUR
    house.forecast = weather(house.now, warmer(25.0, house.now - HOUR))
    house.keep()
    (only,) = house.entries
    assert only.event.summary == "No good night for a cold smoke yet"


def test_a_calendar_is_never_empty(house):
    house.forecast = weather(NOON, warmer(30.0, NOON))
    house.keep()
    assert house.bytes().count(b"BEGIN:VEVENT") == 1


# What moves


@pytest.fixture
def moved(adopted):
    """The adopted night has become too warm, so the plan has moved to the next one."""
    house, identity = adopted
    before, light = house.steps(), house.times(identity)["light"]
    house.now = NOON + 12 * HOUR
    house.forecast = weather(house.now, warmer(12.0, light - 2 * HOUR, light + 24 * HOUR))
    house.keep()
    return house, identity, before


def test_a_plan_that_moves_moves_the_whole_chain_in_one_publish_and_keeps_its_uids(moved):
    house, identity, before = moved
    after, times = house.steps(), house.times(identity)
    assert {step: event.uid for step, event in after.items()} == {step: event.uid for step, event in before.items()}
    for step, event in after.items():
        if step not in ("smoke", "thaw"):
            assert event.start == times[step]
            assert event.start > before[step].start
            assert (event.sequence, event.stamp) == (before[step].sequence + 1, house.now)
    assert (after["smoke"].start, after["smoke"].end) == (times["light"], times["lift"])


def test_what_moved_says_from_when_to_when_and_why_in_the_words_of_the_weather(moved):
    house, _, before = moved
    event = house.event("light")
    was, now = (f"{one.start.astimezone(ZONE):%a %-d %b %H:%M}" for one in (before["light"], event))
    first, why, *_ = event.description.splitlines()
    assert first == f"Moved from {was} to {now}."
    assert why.startswith("Why, as it was on Sun 18 Oct 00:00: Tue 20 Oct now reaches ")
    assert "ago it was " in why
    assert "is good with" in why


def test_what_moved_goes_on_saying_so_until_it_moves_again_and_counts_up_once(moved):
    house, _, _ = moved
    before = house.bytes()
    house.now += 5 * HOUR
    house.keep()
    assert house.bytes() == before


def test_a_lift_that_has_to_be_earlier_moves_the_lift_and_the_smoke(adopted):
    house, identity = adopted
    times = house.times(identity)
    for step in ("salt", "rinse", "light", "load"):
        house.now = times[step]
        house.did(identity, step)
    house.keep()
    before, lift = house.event("smoke"), times["lift"]
    house.now += HOUR
    house.forecast = weather(house.now, warmer(14.0, lift - 2 * HOUR))
    house.keep()
    after = house.event("smoke")
    assert (after.uid, after.start) == (before.uid, before.start)
    assert after.end == house.event("lift").start < lift
    for event in (after, house.event("lift")):
        assert event.description.startswith("Moved from Wed 21 Oct 08:22 to Wed 21 Oct 06:45.\nWhy, as it was on")


@pytest.mark.parametrize("by_c", [-3.0, 9.0, 25.0])
def test_weather_older_than_what_the_plan_rests_on_moves_nothing(adopted, by_c):
    """Somebody asked elsewhere, or by another source, and was given newer weather."""
    house, identity = adopted
    planned, before = house.times(identity), house.bytes()
    house.now += HOUR
    house.forecast = replace(weather(NOON - HOUR, warmer(by_c, NOON)), fetched_at=house.now)
    kept = house.keep()
    assert kept.is_behind
    assert house.times(identity) == planned
    assert not kept.told[0].ways
    steps = house.steps()
    assert {name: steps[name].start for name in planned if name in steps and name != "thaw"} == {
        name: at for name, at in planned.items() if name in steps and name != "thaw"
    }
    house.forecast = weather(NOON)
    assert not house.keep().is_behind
    assert [line for line in house.bytes().splitlines() if b"STATUS:CANCELLED" in line] == []
    assert before.count(b"BEGIN:VEVENT") == house.bytes().count(b"BEGIN:VEVENT")


# What is done


def test_a_step_that_is_done_stays_as_it_happened(adopted):
    house, identity = adopted
    salt = house.times(identity)["salt"]
    house.now = salt + 3 * HOUR
    house.did(identity, "salt", salt + 17 * MINUTE)
    house.keep()
    before = house.event("salt")
    assert (before.start, before.status, before.alarms) == (salt + 17 * MINUTE, "CONFIRMED", ())
    assert before.description == f"Done {(salt + 17 * MINUTE).astimezone(ZONE):%a %-d %b %H:%M}."
    house.now += 10 * HOUR
    house.forecast = weather(house.now, warmer(25.0, house.now + 3 * HOUR))
    house.keep()
    assert house.event("salt") == before
    house.now += 20 * DAY
    house.forecast = weather(house.now)
    house.keep()
    assert house.event("salt") == before


def test_a_step_that_is_due_and_not_recorded_stays_where_it_was(adopted):
    house, _ = adopted
    before = house.event("salt")
    for hours in (0.5, 1, 2, 4):
        house.now = before.start + hours * HOUR
        house.keep()
        assert (house.event("salt").start, house.event("salt").end) == (before.start, before.end)


def test_while_a_step_is_asked_about_what_waits_for_it_stays_as_the_journal_has_it(adopted):
    house, identity = adopted
    house.did(identity, "thaw", house.times(identity)["thaw"])
    planned = house.times(identity)
    for hours in (1, 2, 4):
        house.now = planned["salt"] + hours * HOUR
        house.keep()
        assert house.times(identity) == planned, "nothing was moved"
        starts = {name: event.start for name, event in house.steps().items() if name in planned and name != "thaw"}
        assert starts.items() <= planned.items()


def test_undoing_a_step_puts_it_back_under_the_same_uid(adopted):
    house, identity = adopted
    before = house.event("salt")
    house.now = before.start + 10 * MINUTE
    house.did(identity, "salt", before.start)
    done = house.book.records[-1]
    house.keep()
    assert house.event("salt").summary.startswith("Done: ")
    house.book.add(house.book.record(Kind.UNDONE, identity, undoes=done.identity))
    house.keep()
    after = house.event("salt")
    assert (after.uid, after.summary, after.start) == (before.uid, before.summary, before.start)
    assert after.sequence == 2


def test_a_batch_that_ends_cancels_what_was_ahead_and_leaves_what_was(adopted):
    house, identity = adopted
    house.now = house.times(identity)["salt"]
    house.did(identity, "salt")
    house.keep()
    done = house.event("thaw"), house.event("salt")
    house.now += HOUR
    house.end(identity)
    assert {one.event for one in house.entries} >= set(done)
    for step in ("rinse", "light", "lift", "smoke"):
        event = next(one.event for one in house.entries if one.event.uid == _uid(identity, step))
        assert (event.status, event.transparent, event.alarms) == ("CANCELLED", True, ())
        assert event.summary.startswith(CANCELLED)
        assert event.description == "Cancelled. The batch has ended: given up."


def test_what_was_done_without_an_adopted_plan_stays_when_the_batch_ends(house):
    identity = house.open()
    house.did(identity, "thaw")
    house.keep()
    (done,) = [one.event for one in house.entries if one.event.uid == uid_of(identity, "thaw")]
    assert (done.status, done.fleeting) == ("CONFIRMED", False)
    assert done.summary.startswith("Done: Start thawing")
    house.now += HOUR
    house.end(identity)
    assert done in [one.event for one in house.entries]
    assert not [one for one in house.entries if one.event.uid == uid_of(identity, "salt")]


def _uid(identity, step):
    return uid_of(identity, "light", "lift") if step == "smoke" else uid_of(identity, step)


def test_what_is_cancelled_leaves_after_two_weeks(adopted):
    house, identity = adopted
    house.now += HOUR
    house.end(identity)
    gone = {one.event.uid for one in house.entries if one.event.status == "CANCELLED"}
    assert len(gone) >= 12
    house.now += 15 * DAY
    house.forecast = weather(house.now)
    house.keep()
    assert not gone & {one.event.uid for one in house.entries}


# Who looks


@pytest.mark.parametrize("scene", ["adopted", "moved"])
def test_whether_plans_may_move_changes_nothing_once_they_have(scene, request):
    house = request.getfixturevalue(scene)[0]
    before = house.bytes()
    for moving in (False, True, False):
        house.now += 5 * MINUTE
        house.keep(moving=moving)
        assert house.bytes() == before


def test_a_plan_that_may_not_move_yet_says_that_it_no_longer_holds(adopted):
    house, identity = adopted
    before, light = house.steps(), house.times(identity)["light"]
    house.now = NOON + 12 * HOUR
    house.forecast = weather(house.now, warmer(12.0, light - 2 * HOUR, light + 24 * HOUR))
    house.keep(moving=False)
    event = house.event("light")
    assert (event.start, event.status) == (before["light"].start, "TENTATIVE")
    assert event.description.startswith("By the newest forecast this plan no longer holds")
    assert "borderline" not in event.description


# Reminders


def test_reminders_keep_their_uids_when_the_plan_moves(moved):
    house, _, before = moved
    for step in ("light", "lift", "rinse"):
        assert [alarm.uid for alarm in house.event(step).alarms] == [alarm.uid for alarm in before[step].alarms]
