"""The ways out of a wait that runs out, each in a weather that leaves just that one, and what no way may do."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from asked import FROZEN, NOW, SITE, made_forecast, with_gap
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples
from ways_out_scenes import asked, in_salt, on, rinsed, search_at, way, ways, ways_of, weather

from scheduler import service
from scheduler.household.process_file import shipped_process
from scheduler.household.site import Chamber, ClockRange, Tray
from scheduler.planning.answers import Verdict
from scheduler.planning.food_wait import food_wait
from scheduler.planning.nights import judge_lighting
from scheduler.planning.plan import plan_for
from scheduler.planning.way_values import LAST_RESORTS, Way
from scheduler.planning.ways_out import ranked
from scheduler.science.parasites import EXTENSION_14_DAYS
from scheduler.science.smoulder import burn_time

WARM = weather()
ONE_SHORT_NIGHT = weather(("17 21:00", "18 07:00"))
TWO_EVENINGS = weather(("17 15:00", "17 23:00"), ("18 15:00", "18 23:00"))
UNTIL = on("18 11:00")
SMALL_TWO_FRONTS = replace(SITE, tray=Tray(fronts=2), duration_h=14.0, chamber=Chamber(volume_l=60.0))


def kinds(found):
    return [each.kind for each in found]


# When there is anything to find a way out of.


def test_a_good_night_that_is_left_needs_no_way_out():
    assert ways(rinsed(), weather(("17 15:00", "18 15:00"))) == ()


@pytest.mark.parametrize("batch", [FROZEN, replace(FROZEN, state="fresh", frozen_since=None, freezer_c=None)])
def test_fish_that_has_not_left_the_freezer_needs_none(batch):
    assert ways(batch, WARM) == ()


def test_fish_that_is_back_in_the_freezer_needs_none():
    recorded = replace(FROZEN, done=(("freeze", NOW - timedelta(days=2)),))
    assert ways(recorded, WARM) == ()


@pytest.mark.parametrize("later", [(), (("lift", NOW - timedelta(hours=1)),)])
def test_fish_that_is_lit_or_lifted_needs_none(later):
    done = (("rinse", NOW - timedelta(hours=24)), ("light", NOW - timedelta(hours=14)), *later)
    assert ways(rinsed(24.0, done=done), WARM) == ()


def test_food_in_a_wait_after_its_smoke_has_none_to_wait_for():
    salt = shipped_process("salt")
    airing = replace(salt, steps=tuple(replace(s, during="airing") if s.name == "jar" else s for s in salt.steps))
    question = replace(asked(rinsed(state="airing"), WARM), process=airing)
    assert food_wait(service.chain_of(question)) is None


def test_a_step_that_was_recorded_counts_like_one_that_was_said():
    recorded = rinsed(state="salted", since=NOW - timedelta(hours=51), done=(("rinse", NOW - timedelta(hours=3)),))
    assert way(Way.COOK, ways(recorded, WARM)).until == way(Way.COOK, ways(rinsed(), WARM)).until


# The end of the wait.


def test_rinsed_fish_is_lit_frozen_or_cooked_within_its_longest_rest():
    for each in ways(rinsed(), WARM):
        assert (each.until, each.hours_left, each.by) == (UNTIL, 21.0, UNTIL)
        assert each.next_step is None


def test_salted_fish_is_rinsed_first_and_rests_from_then_on():
    cook = ways(in_salt(50.0), WARM)[-1]
    assert cook.next_step.name == "rinse"
    assert cook.next_by == on("17 22:00")  # half an hour's work before the end of the evening; its wait ends at 00:00
    assert cook.until == on("18 22:30")


def test_the_end_of_a_wait_at_night_is_told_by_the_evening_before():
    cook = ways(rinsed(10.0), WARM)[-1]
    assert (cook.until, cook.by) == (on("18 04:00"), on("17 22:30"))


def test_where_nobody_is_at_home_any_more_it_is_done_now():
    away = ((NOW, NOW + timedelta(days=2)),)
    cook = ways(rinsed(), WARM, busy=away)[-1]
    assert (cook.until, cook.by) == (UNTIL, NOW)


def test_whoever_asks_outside_of_the_households_hours_is_there():
    evenings = replace(SITE, household_hours=((ClockRange(16 * 60, 22 * 60),),) * 7)
    cook = ways(rinsed(23.0), WARM, evenings)[-1]
    assert (cook.until, cook.by) == (on("17 15:00"), NOW)


def test_salt_that_nobody_can_rinse_in_time_ends_the_wait():
    away = ((NOW, NOW + timedelta(days=2)),)
    cook = ways(in_salt(50.0), WARM, busy=away)[-1]
    assert cook.until == on("18 00:00")


@pytest.mark.parametrize("batch", [rinsed(24.1), in_salt(60.1)])
def test_once_the_wait_is_over_only_cooking_is_left_and_the_wait_has_not_moved(batch):
    (cook,) = ways(batch, made_forecast())
    assert (cook.kind, cook.by, cook.hours_left) == (Way.COOK, None, 0.0)
    assert cook.until < NOW


# Each way in its weather.


def test_in_warm_air_it_is_frozen_or_cooked():
    assert kinds(ways(rinsed(), WARM)) == [Way.FREEZE, Way.COOK]


def test_a_shorter_smoke_is_the_longest_that_has_a_good_night():
    found = ways(rinsed(), ONE_SHORT_NIGHT)
    shorter = way(Way.SHORTER, found)
    assert kinds(found) == [Way.SHORTER, Way.FREEZE, Way.COOK]
    assert (shorter.duration_h, shorter.good) == (10.0, True)
    smoke = shorter.smokes[0]
    assert on("17 20:45") <= smoke.light <= smoke.light_until <= on("17 21:30")
    assert smoke.lift == smoke.light + timedelta(hours=10)
    assert shorter.by == smoke.light_until


def test_an_hour_less_is_enough_where_it_makes_a_borderline_night_good():
    found = ways(rinsed(), weather(("17 20:00", "18 07:00")))
    assert kinds(found) == [Way.SHORTER, Way.HOLD, Way.FREEZE, Way.COOK]
    assert [each.duration_h for each in found[:2]] == [11.0, 12.0]


def test_no_smoke_is_shorter_than_eight_hours():
    early = replace(SITE, household_hours=((ClockRange(4 * 60, 22 * 60 + 30),),) * 7)
    late = replace(early, lighting_hours=ClockRange(21 * 60, 22 * 60))
    assert way(Way.SHORTER, ways(rinsed(), weather(("17 21:00", "18 06:00")), late)).duration_h == 9.0
    assert way(Way.SHORTER, ways(rinsed(), weather(("17 21:00", "18 05:00")), late)).duration_h == 8.0
    assert way(Way.SHORTER, ways(rinsed(), weather(("17 21:00", "18 04:00")), late)) is None


def test_one_front_where_the_chamber_is_what_binds():
    found = ways(rinsed(), made_forecast(), SMALL_TWO_FRONTS)
    one = way(Way.ONE_FRONT, found)
    assert found[0] is one
    assert (one.fronts, one.duration_h, one.good) == (1, 14.0, True)
    assert way(Way.SHORTER, found).fronts == 2


def test_one_front_is_told_beside_a_likelier_smoke_that_is_shorter():
    cold_then_mild = weather(("17 20:00", "18 08:00"), warm_c=13.5)
    found = ways(rinsed(), cold_then_mild, SMALL_TWO_FRONTS)
    assert kinds(found) == [Way.SHORTER, Way.ONE_FRONT, Way.FREEZE, Way.COOK]
    shorter, one = found[:2]
    assert shorter.good
    assert one.good
    assert shorter.chance > one.chance
    assert shorter.duration_h < one.duration_h == 14.0


@pytest.mark.parametrize(
    "site",
    [
        replace(SMALL_TWO_FRONTS, tray=Tray(fronts=1)),
        replace(SMALL_TWO_FRONTS, chamber=Chamber(volume_l=60.0, rise_k=15.0)),  # measured, whatever the fronts
        replace(SMALL_TWO_FRONTS, chamber=Chamber(volume_l=5000.0)),  # roomy: the air itself is what binds
    ],
)
def test_one_front_is_not_told_where_it_gains_nothing(site):
    for mean_c in (13.0, 16.7, 18.5):
        assert way(Way.ONE_FRONT, ways(rinsed(), made_forecast(mean_c=mean_c), site)) is None


def test_two_short_nights_where_no_night_is_long_enough():
    found = ways(rinsed(), TWO_EVENINGS)
    both = found[0]
    assert kinds(found) == [Way.TWO_NIGHTS, Way.FREEZE, Way.COOK]
    assert (both.duration_h, both.good, both.rest_h) == (6.0, True, 24.0)
    first, second = both.smokes
    assert on("17 16:00") <= first.light <= UNTIL
    assert on("18 16:00") <= second.light <= first.lift + timedelta(hours=24)
    assert both.chance == pytest.approx(first.night.chance * second.night.chance)


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "salted", "since": NOW - timedelta(hours=51), "done": (("rinse", NOW - timedelta(hours=3)),)},
        {"sawdust": "drying", "sawdust_since": NOW - timedelta(days=6)},
    ],
)
def test_the_second_night_counts_neither_the_old_rinse_nor_the_drying_again(changes):
    assert ways(rinsed(**changes), TWO_EVENINGS)[0].kind is Way.TWO_NIGHTS


def test_between_two_nights_the_fish_rests_no_longer_than_before_the_first():
    a_day_apart = weather(("17 15:00", "17 23:00"), ("19 15:00", "19 23:00"))
    assert kinds(ways(rinsed(), a_day_apart)) == [Way.FREEZE, Way.COOK]


def test_no_first_night_comes_after_the_longest_wait():
    too_late = weather(("18 15:00", "18 23:00"), ("19 15:00", "19 23:00"))
    assert kinds(ways(rinsed(), too_late)) == [Way.FREEZE, Way.COOK]


@pytest.mark.parametrize(("duration_h", "half_h"), [(6.0, 4.0), (7.5, 4.0), (9.0, None), (12.0, None)])
def test_a_short_night_is_half_of_the_smoke_and_four_hours_at_least(duration_h, half_h):
    four_hours = weather(("17 16:00", "17 20:00"), ("18 16:00", "18 20:00"))
    both = way(Way.TWO_NIGHTS, ways(rinsed(), four_hours, replace(SITE, duration_h=duration_h)))
    assert (None if both is None else both.duration_h) == half_h


def test_a_smoke_of_four_hours_is_not_split():
    cool_for_less = weather(("17 16:00", "17 19:00"), ("18 16:00", "18 19:00"))
    for duration_h in (3.0, 4.0):
        found = ways(rinsed(), cool_for_less, replace(SITE, duration_h=duration_h))
        assert way(Way.TWO_NIGHTS, found) is None


def test_the_second_tray_is_lit_once_the_first_has_surely_burnt_out():
    always = replace(
        SITE, household_hours=((ClockRange(0, 24 * 60),),) * 7, lighting_hours=ClockRange(0, 24 * 60), duration_h=18.0
    )
    cold = weather(("17 14:00", "17 23:30"), ("18 12:00", "18 22:30"))
    both = way(Way.TWO_NIGHTS, ways(rinsed(), cold, always))
    first, second = both.smokes
    burnt = burn_time(both.plan.sawdust_g, 1).longest_h
    assert burnt > 9.0
    assert second.light >= first.light + timedelta(hours=burnt) - timedelta(seconds=1)


def test_it_is_held_for_a_borderline_night():
    found = ways(rinsed(), made_forecast(mean_c=16.7))
    held = found[0]
    assert kinds(found) == [Way.HOLD, Way.FREEZE, Way.COOK]  # two short nights there are, but no likelier
    assert not held.good
    assert [night.verdict for night in held.nights] == [Verdict.BORDERLINE]
    assert held.chance == held.nights[0].chance
    assert held.by == UNTIL


def test_it_is_held_for_a_night_that_nobody_knows_yet():
    found = ways(rinsed(), with_gap(WARM, 4, 30))
    assert kinds(found) == [Way.HOLD, Way.FREEZE, Way.COOK]
    assert [night.verdict for night in found[0].nights] == [Verdict.UNKNOWN]
    assert found[0].chance is None


def test_it_is_not_held_for_a_night_beyond_its_wait():
    unknown_tomorrow = with_gap(WARM, 28, 60)
    assert kinds(ways(rinsed(), unknown_tomorrow)) == [Way.FREEZE, Way.COOK]


def test_freezing_names_the_first_good_night_that_a_thaw_leaves_time_for():
    record = {"frozen_since": NOW - timedelta(days=60), "freezer_c": -20.0, "freezer_measured": True}
    cold_later = weather(("18 15:00", "19 15:00"), ("20 15:00", "21 15:00"))
    frozen = way(Way.FREEZE, ways(rinsed(**record), cold_later))
    assert frozen.rule is None
    assert [night.date.day for night in frozen.nights] == [20]


def test_freezing_without_a_record_can_still_meet_a_rule_and_smokes_only_after_it():
    cold_later = weather(("20 15:00", "21 15:00"), ("30 15:00", "31 15:00"), days=16)
    frozen = way(Way.FREEZE, ways(rinsed(), cold_later))
    assert (frozen.rule, frozen.nights) == (EXTENSION_14_DAYS, ())


def test_salt_is_neither_frozen_nor_cooked():
    question = service.Question(
        SITE,
        shipped_process("salt"),
        rinsed(state="laid_out", food="salt"),
        ONE_SHORT_NIGHT,
        NOW,
    )
    assert kinds(ways_of(question)) == [Way.SHORTER]


# The order.


def test_good_ways_come_before_likely_ones_and_the_last_resorts_last():
    found = ways(in_salt(48.0), made_forecast(), SMALL_TWO_FRONTS)
    assert kinds(found)[-2:] == [Way.FREEZE, Way.COOK]
    goods = [each.good for each in found]
    assert goods == sorted(goods, reverse=True)


def shown(kind, chance, *, good, days=0.5):
    """A way of this kind, by hand."""
    held = ways(rinsed(), made_forecast(mean_c=16.7))[0]
    smoke = replace(held.smokes[0], light=NOW + timedelta(days=days))
    return replace(held, kind=kind, chance=chance, good=good, smokes=(smoke,))


def test_of_equals_the_order_is_that_of_the_kinds():
    found = [shown(kind, 0.9, good=True) for kind in reversed(Way)]
    assert kinds(ranked(found, NOW.timestamp())) == list(Way)


def test_the_likelier_way_comes_first_unless_it_is_a_hair():
    likely, hair = shown(Way.TWO_NIGHTS, 0.95, good=True), shown(Way.TWO_NIGHTS, 0.905, good=True)
    shorter = shown(Way.SHORTER, 0.9, good=True)
    assert kinds(ranked([shorter, likely], NOW.timestamp())) == [Way.TWO_NIGHTS, Way.SHORTER]
    assert kinds(ranked([hair, shorter], NOW.timestamp())) == [Way.SHORTER, Way.TWO_NIGHTS]


def test_a_good_way_comes_before_a_borderline_one_that_is_likelier():
    doubtful = shown(Way.SHORTER, 0.99, good=False)
    assert kinds(ranked([doubtful, shown(Way.TWO_NIGHTS, 0.8, good=True)], NOW.timestamp()))[0] is Way.TWO_NIGHTS


def test_less_waiting_breaks_even_chances():
    late, soon = shown(Way.SHORTER, 0.9, good=True, days=3.5), shown(Way.TWO_NIGHTS, 0.9, good=True)
    assert kinds(ranked([late, soon], NOW.timestamp())) == [Way.TWO_NIGHTS, Way.SHORTER]


# What holds whatever the weather.


@st.composite
def scenes(draw):
    site = replace(
        SITE,
        duration_h=draw(st.sampled_from([8.0, 11.5, 12.0, 14.0, 18.0])),
        tray=Tray(fronts=draw(st.sampled_from([1, 2]))),
        chamber=Chamber(volume_l=draw(st.sampled_from([60.0, 200.0]))),
    )
    hours = draw(st.floats(0.0, 62.0).map(lambda h: round(h * 60) / 60))
    batch = in_salt(hours) if draw(st.booleans()) else rinsed(min(hours, 25.0))
    return asked(batch, made_forecast(8, mean_c=draw(st.floats(10.0, 22.0))), site)


@examples(60)
@given(scenes())
def test_no_way_out_moves_the_longest_wait_and_every_good_smoke_holds_when_judged_again(question):
    found = ways_of(question)
    longest_h = {"rinsed": 24.0, "salted": 60.0 + 0.5 + 24.0}[question.batch.state]
    for each in found:
        assert each.until <= question.batch.since + timedelta(hours=longest_h)
        assert each.by is None or NOW <= each.by <= each.until
        for number, smoke in enumerate(each.smokes):
            limit = each.until if number == 0 else each.smokes[0].lift + timedelta(hours=24.0)
            assert NOW <= smoke.light <= limit
            assert smoke.lift - smoke.light >= timedelta(hours=each.duration_h)
            if each.good:
                again = judge_lighting(search_at(question, each), smoke.light.timestamp())
                assert again.verdict is Verdict.GOOD
                assert again.lift == smoke.lift
                assert again.peak_c <= question.site.limits.ceiling_c
        if each.kind is Way.TWO_NIGHTS:
            assert each.smokes[0].lift < each.smokes[1].light
    if found:
        assert found[-1].kind is Way.COOK
        assert [each.kind in LAST_RESORTS for each in found] == sorted(each.kind in LAST_RESORTS for each in found)
        assert len(set(kinds(found))) == len(found)


@examples(30)
@given(scenes())
def test_the_plan_of_a_way_is_the_plan_of_its_night(question):
    chain = service.chain_of(question)
    for each in ways_of(question):
        if each.plan is not None:
            there = replace(chain, site=search_at(question, each).site)
            assert plan_for(there, each.plan.night) == each.plan
