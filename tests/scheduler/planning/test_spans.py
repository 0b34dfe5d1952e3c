"""Sets of time: facts, and the algebra against plain sets of whole minutes."""

from __future__ import annotations

from dataclasses import FrozenInstanceError
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.spans import ALWAYS, EMPTY, Spans

LAST = 40
"""Minutes 0 … LAST are looked at."""
HALVES = [n / 2 for n in range(2 * LAST + 1)]
"""Instants looked at: every whole minute and one between each two, so that a gap between neighbours shows."""

raw_pieces = st.lists(st.tuples(st.integers(0, LAST), st.integers(0, LAST)), max_size=6)
minutes = st.integers(0, LAST)


def points(pieces: list[tuple[float, float]]) -> set[float]:
    """The half minutes in any of these closed intervals: the slow truth."""
    return {t for t in HALVES if any(a <= t <= b for a, b in pieces)}


def held(spans: Spans) -> set[float]:
    """The half minutes that lie in the pieces of a set, read off its pieces."""
    return points(list(spans.pieces))


def assert_in_order(spans: Spans) -> None:
    """Sorted, none reversed, none touching the next."""
    edges = [edge for piece in spans for edge in piece]
    assert edges == sorted(edges)
    assert all(one[1] < other[0] for one, other in zip(spans.pieces, spans.pieces[1:], strict=False))


@given(raw_pieces)
def test_building_keeps_every_instant_and_puts_the_pieces_in_order(raw: list[tuple[int, int]]) -> None:
    built = Spans.of(raw)
    assert_in_order(built)
    assert held(built) == points([(a, b) for a, b in raw if a <= b])


@given(raw_pieces, raw_pieces)
def test_and_holds_what_both_hold(one: list[tuple[int, int]], other: list[tuple[int, int]]) -> None:
    both = Spans.of(one) & Spans.of(other)
    assert_in_order(both)
    assert held(both) == held(Spans.of(one)) & held(Spans.of(other))


@given(raw_pieces, raw_pieces)
def test_or_holds_what_either_holds(one: list[tuple[int, int]], other: list[tuple[int, int]]) -> None:
    either = Spans.of(one) | Spans.of(other)
    assert_in_order(either)
    assert held(either) == held(Spans.of(one)) | held(Spans.of(other))


@given(raw_pieces)
def test_outside_holds_the_rest_and_the_ends(raw: list[tuple[int, int]]) -> None:
    inside = Spans.of(raw)
    outside = inside.outside()
    assert_in_order(outside)
    strictly_inside = {t for t in HALVES if any(a < t < b for a, b in inside)}
    assert held(outside) == set(HALVES) - strictly_inside
    assert held(inside) | held(outside) == set(HALVES)
    assert -1.0 in outside
    assert LAST + 1.0 in outside


@given(raw_pieces)
def test_outside_twice_is_the_set_without_its_lone_points(raw: list[tuple[int, int]]) -> None:
    inside = Spans.of(raw)
    assert inside.outside().outside() == Spans.of((a, b) for a, b in inside if a < b)


@given(raw_pieces, st.integers(0, 12))
def test_shrink_holds_the_starts_of_what_fits_in_one_piece(raw: list[tuple[int, int]], length: int) -> None:
    inside = Spans.of(raw)
    fits = {t for t in HALVES if any(a <= t and t + length <= b for a, b in inside)}
    assert held(inside.shrink(length)) == fits


@given(raw_pieces, st.integers(0, 8), st.integers(0, 8))
def test_map_ends_with_two_waits_holds_every_instant_that_many_minutes_later(
    raw: list[tuple[int, int]], least: int, more: int
) -> None:
    moved = Spans.of(raw).map_ends(lambda a: a + least, lambda b: b + least + more)
    assert_in_order(moved)
    truth = {t for t in HALVES if any(t - wait in held(Spans.of(raw)) for wait in _half_minutes(least, least + more))}
    assert held(moved) & set(HALVES) == truth


def _half_minutes(start: int, end: int) -> list[float]:
    return [n / 2 for n in range(2 * start, 2 * end + 1)]


@given(raw_pieces, minutes, minutes)
def test_between_holds_what_lies_there(raw: list[tuple[int, int]], start: int, end: int) -> None:
    inside = Spans.of(raw)
    cut = inside.between(start, end)
    assert_in_order(cut)
    assert held(cut) == {t for t in held(inside) if start <= t <= end}


@given(raw_pieces, st.sampled_from([-1.0, *HALVES, LAST + 1.0]))
def test_piece_at_is_the_one_piece_around_an_instant(raw: list[tuple[int, int]], instant: float) -> None:
    inside = Spans.of(raw)
    around = [(a, b) for a, b in inside if a <= instant <= b]
    assert inside.piece_at(instant) == (around[0] if around else None)
    assert (instant in inside) == bool(around)


@given(raw_pieces.filter(lambda raw: any(a <= b for a, b in raw)), st.integers(-5, LAST + 5))
def test_nearest_is_the_closest_instant_and_the_earlier_of_two(raw: list[tuple[int, int]], instant: int) -> None:
    inside = Spans.of(raw)
    found = inside.nearest(instant)
    assert found == min(held(inside), key=lambda t: (abs(t - instant), t))
    assert found in inside


@given(raw_pieces.filter(lambda raw: any(a <= b for a, b in raw)))
def test_first_and_last_are_the_ends(raw: list[tuple[int, int]]) -> None:
    inside = Spans.of(raw)
    assert inside.first == min(held(inside))
    assert inside.last == max(held(inside))


def test_pieces_that_touch_become_one() -> None:
    assert Spans.of([(3, 5), (0, 3)]).pieces == ((0, 5),)


def test_a_piece_inside_another_does_not_shorten_it() -> None:
    assert Spans.of([(0, 9), (2, 3)]).pieces == ((0, 9),)


def test_a_lone_point_is_kept() -> None:
    lone = Spans.of([(4, 4)])
    assert 4 in lone
    assert lone
    assert lone & Spans.of([(0, 4)]) == lone


def test_a_lone_point_leaves_no_gap_outside() -> None:
    assert Spans.of([(4, 4)]).outside() == ALWAYS


def test_a_piece_that_ends_before_it_starts_holds_nothing() -> None:
    assert Spans.of([(5, 4)]) == EMPTY
    assert not Spans.of([(5, 4)])


def test_all_of_time_and_none_are_each_others_outside() -> None:
    assert ALWAYS.outside() == EMPTY
    assert EMPTY.outside() == ALWAYS


def test_all_of_time_changes_nothing_in_an_and() -> None:
    some = Spans.of([(1, 2), (4, inf)])
    assert some & ALWAYS == some
    assert some | EMPTY == some


def test_the_middle_of_a_gap_is_nearer_to_its_earlier_side() -> None:
    assert Spans.of([(0, 2), (6, 8)]).nearest(4) == 2


def test_shrinking_by_a_whole_piece_leaves_its_start() -> None:
    assert Spans.of([(2, 5), (8, 9)]).shrink(3).pieces == ((2, 2),)


def test_an_empty_set_has_no_instant_to_name() -> None:
    for name in ("first", "last"):
        with pytest.raises(ValueError, match="empty set of time"):
            getattr(EMPTY, name)
    with pytest.raises(ValueError, match="empty set of time"):
        EMPTY.nearest(3)


def test_a_set_of_time_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        EMPTY.pieces = ((0, 1),)  # type: ignore[misc]
