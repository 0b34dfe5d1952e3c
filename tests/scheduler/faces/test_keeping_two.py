"""Two batches and one chamber: the calendar and the page offer no night to the one that another has already."""

from __future__ import annotations

from feed_house import HOUR, House

from scheduler.planning.answers import Verdict
from scheduler.planning.room import TAKEN


def test_a_batch_without_a_plan_is_not_offered_the_night_of_another():
    house = House()
    house.adopted()
    house.open("second lot")
    first, second = house.keep().told
    nights = {one.answer.choice.plan.night.date for one in (first, second)}
    assert len(nights) == 2
    (own,) = (one for one in second.answer.nights if one.date == first.answer.choice.plan.night.date)
    assert (own.verdict, own.reasons) == (Verdict.NO, (TAKEN,))


def test_a_batch_that_loses_its_only_night_to_another_is_told_so_with_its_ways_out():
    house = House()
    batches = [house.open(name) for name in ("first lot", "second lot")]
    for identity in batches:
        house.adopt(identity)
    times = house.times(batches[0])
    for identity in batches:
        for step in ("thaw", "salt", "rinse"):
            house.did(identity, step, times[step])
    house.now = times["light"] - 6 * HOUR
    first, second = house.keep().told
    assert first.headline.startswith("Light on ")
    assert not second.headline.startswith("Light on ")
    assert second.ways
    ways = [one.event for one in house.entries if one.event.categories[-1] == "ways out"]
    assert [event.summary.endswith("(second lot)") for event in ways] == [True]
