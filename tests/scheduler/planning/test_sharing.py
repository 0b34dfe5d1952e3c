"""Several batches, one chamber: by hand where the answer is plain, against every way there is where it is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples, hour_spans

from scheduler.planning.sharing import Candidate, Contender, Left, share_nights

FIRST = date(2026, 10, 17)
HOUR_S = 3600.0


def night(number: int) -> date:
    return FIRST + timedelta(days=number)


def candidate(
    number: int, worth: float = 0.9, hours: tuple[float, float] = (18, 22), lift_h: float = 31.0
) -> Candidate:
    """A night's lightings and lift, in hours from midnight of its day."""
    start = number * 24
    return Candidate(night(number), worth, hour_spans((start + hours[0], start + hours[1])), (start + lift_h) * HOUR_S)


def batch(name: str, *candidates: Candidate, limit_h: float = inf, weight_g: float | None = 1000.0) -> Contender:
    return Contender(name, weight_g, limit_h * HOUR_S, candidates)


def test_the_one_nearest_its_limit_goes_first():
    late = batch("late", candidate(0, 0.99), candidate(1, 0.6), limit_h=60)
    soon = batch("soon", candidate(0, 0.9), candidate(1, 0.8), limit_h=50)
    shared = share_nights([late, soon], None)
    assert (shared.night_of("soon"), shared.night_of("late")) == (night(0), night(1))


def test_nothing_that_can_be_made_is_lost_to_a_better_night():
    soon = batch("soon", candidate(0, 0.99), candidate(1, 0.56), limit_h=50)
    only = batch("only", candidate(0, 0.6), limit_h=100)
    shared = share_nights([soon, only], None)
    assert (shared.night_of("soon"), shared.night_of("only")) == (night(1), night(0))
    assert not shared.left


def test_two_share_a_lighting_where_both_fit_and_a_moment_suits_both():
    one = batch("one", candidate(0, hours=(18, 21)))
    other = batch("other", candidate(0, hours=(20, 22)))
    (lit,) = share_nights([one, other], 2000.0).lightings
    assert lit.batches == ("one", "other")
    assert list(lit.lightings) == list(hour_spans((20, 21)))


def test_the_nearest_limit_is_named_first_in_a_shared_lighting():
    shared = share_nights([batch("a", candidate(0), limit_h=90), batch("b", candidate(0), limit_h=80)], 2000.0)
    assert shared.lightings[0].batches == ("b", "a")


@pytest.mark.parametrize(("holds_g", "together"), [(2000.0, True), (1999.0, False), (None, False)])
def test_the_chamber_holds_so_much(holds_g, together):
    shared = share_nights([batch("one", candidate(0)), batch("other", candidate(0))], holds_g)
    assert (len(shared.lightings[0].batches) == 2) is together
    assert bool(shared.left) is not together


def test_fifths_of_a_chamber_fill_it_whole():
    fifths = [batch(f"{number}", candidate(0), weight_g=0.1 + 0.2) for number in range(3)]
    assert not share_nights(fifths, 0.9).left


def test_a_batch_that_nobody_weighed_takes_the_whole_chamber():
    unknown = batch("unknown", candidate(0), weight_g=None, limit_h=40)
    shared = share_nights([unknown, batch("known", candidate(0), weight_g=1.0)], 10_000.0)
    assert shared.lightings[0].batches == ("unknown",)
    assert shared.left == {"known": Left.TAKEN}


def test_no_moment_in_common_is_no_shared_lighting():
    one = batch("one", candidate(0, hours=(18, 19)))
    other = batch("other", candidate(0, hours=(19.5, 20)))
    assert share_nights([one, other], 2000.0).left == {"other": Left.TAKEN}


def test_a_single_common_moment_is_one():
    one = batch("one", candidate(0, hours=(18, 19)))
    assert not share_nights([one, batch("other", candidate(0, hours=(19, 20)))], 2000.0).left


def test_no_lighting_comes_after_the_limit():
    shared = share_nights([batch("one", candidate(0), candidate(1), limit_h=20)], None)
    assert list(shared.lightings[0].lightings) == list(hour_spans((18, 20)))
    assert share_nights([batch("one", candidate(1), limit_h=20)], None).left == {"one": Left.NO_NIGHT}


def test_a_batch_over_what_the_chamber_holds_is_told_so():
    assert share_nights([batch("one", candidate(0), weight_g=3000.0)], 2000.0).left == {"one": Left.TOO_HEAVY}


def test_the_chamber_is_busy_until_the_last_lift_and_no_longer():
    soon = batch("soon", candidate(0, lift_h=44.0), limit_h=30)
    after = batch("after", candidate(1, hours=(18, 22)))
    (_, lit) = share_nights([soon, after], None).lightings
    assert list(lit.lightings) == list(hour_spans((44, 46)))
    at_once = share_nights([replace(soon, candidates=(candidate(0, lift_h=46.0),)), after], None)
    assert list(at_once.lightings[1].lightings) == list(hour_spans((46, 46)))
    too_long = replace(soon, candidates=(candidate(0, lift_h=46.5),))
    assert share_nights([too_long, after], None).left == {"after": Left.TAKEN}


def test_those_who_share_keep_the_chamber_until_the_last_of_them_is_out():
    early, late = batch("early", candidate(0), limit_h=30), batch("late", candidate(0, lift_h=44.0), limit_h=31)
    after = batch("after", candidate(1, hours=(16, 22)))
    (shared, lit) = share_nights([early, late, after], 2000.0).lightings
    assert (shared.batches, shared.lift) == (("early", "late"), 44.0 * HOUR_S)
    assert list(lit.lightings) == list(hour_spans((44, 46)))


def test_of_equal_ways_the_one_nearest_its_limit_has_the_earlier_night():
    soon = batch("soon", candidate(1, hours=(16, 18)), candidate(2), limit_h=90)
    other = batch("other", candidate(0, lift_h=44.0), candidate(2))
    shared = share_nights([soon, other], None)
    assert (shared.night_of("soon"), shared.night_of("other")) == (night(1), night(2))


def test_of_equal_nights_the_earlier_is_taken():
    assert share_nights([batch("one", candidate(1), candidate(0))], None).night_of("one") == night(0)


def test_no_batches_share_nothing():
    shared = share_nights([], 1000.0)
    assert (shared.lightings, shared.left) == ((), {})


def test_what_cannot_be_told_apart_is_refused():
    with pytest.raises(ValueError, match="same name"):
        share_nights([batch("one", candidate(0)), batch("one", candidate(1))], None)
    with pytest.raises(ValueError, match="two candidates"):
        share_nights([batch("one", candidate(0), candidate(0))], None)


# Against every way there is.


def every_way(batches: list[Contender], holds_g: float | None) -> tuple:
    """The best rank of all ways to give each batch one of its nights or none; hours are whole, so moments are too."""
    queue = sorted(batches, key=lambda one: (one.limit, one.name))
    best = (-1, (), ())

    def go(number: int, given: list[Candidate | None]) -> None:
        nonlocal best
        if number < len(queue):
            for each in (*queue[number].candidates, None):
                go(number + 1, [*given, each])
            return
        rank = (
            sum(each is not None for each in given),
            tuple(-inf if each is None else each.worth for each in given),
            tuple(-inf if each is None else -each.night.toordinal() for each in given),
        )
        if rank > best and can_be(queue, given, holds_g):
            best = rank

    go(0, [])
    return best


def can_be(queue: list[Contender], given: list[Candidate | None], holds_g: float | None) -> bool:
    free = -inf
    for when in sorted({each.night for each in given if each is not None}):
        group = [(one, each) for one, each in zip(queue, given, strict=True) if each and each.night == when]
        weights = [one.weight_g for one, _ in group]
        if len(group) > 1 and (holds_g is None or None in weights or sum(weights) > holds_g):
            return False
        if holds_g is not None and weights[0] is not None and weights[0] > holds_g:
            return False
        moments = [hour * HOUR_S for hour in range(24 * 9)]
        if not any(m >= free and all(m in each.lightings and m <= one.limit for one, each in group) for m in moments):
            return False
        free = max(each.lift for _, each in group)
    return True


def rank_of(batches: list[Contender], holds_g: float | None) -> tuple:
    shared = share_nights(batches, holds_g)
    queue = sorted(batches, key=lambda one: (one.limit, one.name))
    given = [next((each for each in one.candidates if each.night == shared.night_of(one.name)), None) for one in queue]
    assert can_be(queue, given, holds_g)
    assert {one.name for one, each in zip(queue, given, strict=True) if each is None} == set(shared.left)
    return (
        len(batches) - len(shared.left),
        tuple(-inf if each is None else each.worth for each in given),
        tuple(-inf if each is None else -each.night.toordinal() for each in given),
    )


@st.composite
def a_candidate(draw, number):
    start = draw(st.integers(16, 22))
    return candidate(
        number,
        draw(st.sampled_from([0.55, 0.7, 0.8, 0.95])),
        (start, draw(st.integers(start, 24))),
        draw(st.sampled_from([30, 36, 41, 44])),
    )


@st.composite
def some_batches(draw, most_batches=6, most_nights=6):
    found = []
    for number in range(draw(st.integers(1, most_batches))):
        nights = draw(st.sets(st.integers(0, most_nights - 1), max_size=4))
        found.append(
            batch(
                f"batch {number}",
                *[draw(a_candidate(each)) for each in sorted(nights)],
                limit_h=draw(st.integers(16, most_nights * 24)),
                weight_g=draw(st.sampled_from([None, 300.0, 500.0, 700.0, 1200.0])),
            )
        )
    return found


HOLDS = st.sampled_from([None, 500.0, 1000.0, 1500.0])


@examples(120)
@given(some_batches(), HOLDS)
def test_no_way_to_share_the_nights_is_better(batches, holds_g):
    assert rank_of(batches, holds_g) == every_way(batches, holds_g)


@pytest.mark.parametrize("holds_g", [None, 1000.0])
def test_six_batches_that_all_want_six_nights(holds_g):
    batches = [
        batch(
            f"{number}",
            *[candidate(each, worth=0.5 + (7 * number + 5 * each) % 11 / 24, lift_h=41) for each in range(6)],
            limit_h=(100, 60, 140, 90, 120, 50)[number],
            weight_g=(300.0, 800.0, 500.0, 700.0, None, 400.0)[number],
        )
        for number in range(6)
    ]
    assert rank_of(batches, holds_g) == every_way(batches, holds_g)


@examples(60)
@given(some_batches(4, 4), HOLDS)
def test_the_order_in_which_batches_are_named_changes_nothing(batches, holds_g):
    assert len({share_nights(order, holds_g).lightings for order in permutations(batches)}) == 1


@examples(100)
@given(some_batches(), HOLDS)
def test_a_larger_chamber_loses_no_batch(batches, holds_g):
    if holds_g is not None:
        assert len(share_nights(batches, 2 * holds_g).left) <= len(share_nights(batches, holds_g).left)
