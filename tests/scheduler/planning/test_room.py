"""Room in the chamber beside batches that have their night."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.answers import Night, Verdict
from scheduler.planning.room import TAKEN, Guest, full_nights, kept_nights, without_taken
from scheduler.planning.sharing import Lighting, Shared, fit
from scheduler.planning.spans import ALWAYS

FRIDAY, SATURDAY, SUNDAY = (date(2026, 10, day) for day in (23, 24, 25))
WEIGHTS = st.none() | st.integers(1, 3000)
GUESTS = st.lists(st.builds(Guest, st.text("abc", min_size=1), st.sampled_from([FRIDAY, SATURDAY, SUNDAY]), WEIGHTS))


def test_what_nobody_weighed_and_a_chamber_that_nobody_measured_are_not_shared():
    assert fit([900, 1100], 2000)
    assert not fit([900, 1101], 2000)
    assert not fit([900, None], 2000)
    assert not fit([900, 100], None)
    assert fit([900], None)
    assert fit([None], 2000)


def test_food_that_weighs_nothing_is_weighed():
    assert fit([0.0, 2000.0], 2000)


@given(WEIGHTS, GUESTS, st.none() | st.integers(1, 5000))
def test_a_night_is_full_exactly_where_somebody_has_it_and_all_of_them_together_do_not_fit(weight_g, guests, holds_g):
    full = full_nights(weight_g, guests, holds_g)
    for night in (FRIDAY, SATURDAY, SUNDAY):
        there = [one.weight_g for one in guests if one.night == night]
        room = holds_g is not None and None not in (weight_g, *there) and weight_g + sum(there) <= holds_g
        assert (night in full) is (bool(there) and not room)


@pytest.mark.parametrize(
    ("name", "waiting", "kept"),
    [
        ("c", {"a", "b"}, {FRIDAY}),
        ("c", {"b"}, {FRIDAY}),
        ("c", set(), set()),
        ("a", {"b", "c"}, {SATURDAY}),
    ],
)
def test_a_night_is_kept_until_all_that_it_was_shared_out_to_had_their_turn(name, waiting, kept):
    lightings = (Lighting(FRIDAY, ("a", "b"), ALWAYS, 0.0), Lighting(SATURDAY, ("c",), ALWAYS, 0.0))
    assert kept_nights(Shared(lightings, {}), name, waiting) == kept


def test_a_night_that_is_no_good_anyway_keeps_its_own_reason():
    good, hot = (
        Night(FRIDAY, Verdict.GOOD, ("cool",), 12.0, 15.6),
        Night(SATURDAY, Verdict.NO, ("too warm",), 12.0, 15.6),
    )
    taken, kept = without_taken((good, hot), {FRIDAY, SATURDAY})
    assert (taken.verdict, taken.reasons) == (Verdict.NO, (TAKEN,))
    assert kept is hot
