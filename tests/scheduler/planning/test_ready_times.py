"""A wait that the weather sets, against brute force: every assignment of whole hours, tried one by one."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import HOUR_S, NEW_YORK, at, examples, hour_link, hour_spans, hour_tree

from scheduler.household.process import ANCHOR
from scheduler.planning.backward import Infeasible, Tree
from scheduler.planning.ready_times import ReadyTimes, WeatherLink, by_weather
from scheduler.planning.spans import ALWAYS, Spans

if TYPE_CHECKING:
    from scheduler.planning.backward import Link

LAST = 15
"""Hours that are tried."""


@dataclass(frozen=True)
class Dries:
    """Ready hours of the whole hours from 0 on; −1 is never.  Never falling but for that, which stays to the end."""

    ready: tuple[int, ...]
    beyond: int
    """Hours it takes after those; −1 is never."""

    def __call__(self, hour: int) -> float:
        if hour >= len(self.ready):
            return inf if self.beyond < 0 else hour + self.beyond
        return inf if self.ready[max(hour, 0)] < 0 else self.ready[max(hour, 0)]

    @property
    def times(self) -> ReadyTimes:
        ready = tuple(self(hour) * HOUR_S for hour in range(len(self.ready)))
        starts = tuple(float(hour * HOUR_S) for hour in range(len(self.ready)))
        return ReadyTimes(starts, ready, inf if self.beyond < 0 else self.beyond * HOUR_S)


@st.composite
def dries(draw: st.DrawFn) -> Dries:
    """Steps of any size, then perhaps never."""
    count = draw(st.integers(1, 12))
    steps = draw(st.lists(st.integers(0, 4), min_size=count, max_size=count))
    ready, now = [], draw(st.integers(0, 3))
    for hour, step in enumerate(steps):
        now = max(now + step, hour)
        ready.append(now)
    never_from = draw(st.one_of(st.none(), st.integers(0, count - 1)))
    if never_from is not None:
        return Dries((*ready[:never_from], *[-1] * (count - never_from)), -1)
    least = ready[-1] - (count - 1)
    return Dries(tuple(ready), draw(st.one_of(st.just(-1), st.integers(least, least + 4))))


pieces = st.lists(
    st.tuples(st.integers(0, LAST), st.integers(0, LAST)).map(lambda ends: (min(ends), max(ends))),
    min_size=1,
    max_size=3,
)


@dataclass(frozen=True)
class Puzzle:
    """Soak, spread, store, light and a salting beside them; the wait after spreading is the weather's."""

    own: dict[str, list[tuple[int, int]]]
    dries: Dries
    soak: tuple[int, int]
    store: tuple[int, int]
    salt: tuple[int, int]
    longest: int
    hands_on: int

    @property
    def links(self) -> tuple[Link, ...]:
        drying = hour_link("spread", "store", (0, self.longest), before=True, hands_on_h=self.hands_on)
        return (
            by_weather(drying, self.dries.times, self.dries.times),
            hour_link("soak", "spread", self.soak, before=True),
            hour_link("store", ANCHOR, self.store, before=True),
            hour_link("salt", ANCHOR, self.salt, before=True),
        )

    @property
    def tree(self) -> Tree:
        return hour_tree(self.links, self.own)

    def dry_in_time(self, spread: int, store: int) -> bool:
        begun = spread + self.hands_on
        return self.dries(begun) <= store <= begun + self.longest

    def truth(self) -> dict[str, set[int]]:
        """Hours of each step that belong to some complete assignment, tried one by one."""
        hours = {name: sorted({h for a, b in own for h in range(a, b + 1)}) for name, own in self.own.items()}
        found: dict[str, set[int]] = {name: set() for name in hours}
        for light in hours[ANCHOR]:
            salts = [h for h in hours["salt"] if self.salt[0] <= light - h <= self.salt[1]]
            for store in (h for h in hours["store"] if self.store[0] <= light - h <= self.store[1]):
                for spread in (h for h in hours["spread"] if self.dry_in_time(h, store)):
                    soaks = [h for h in hours["soak"] if self.soak[0] <= spread - h <= self.soak[1]]
                    if salts and soaks:
                        found[ANCHOR].add(light)
                        found["store"].add(store)
                        found["spread"].add(spread)
                        found["soak"].update(soaks)
                        found["salt"].update(salts)
        return found


waits = st.tuples(st.integers(0, 4), st.integers(0, 5)).map(lambda ends: (ends[0], ends[0] + ends[1]))
puzzles = st.builds(
    Puzzle,
    own=st.fixed_dictionaries(dict.fromkeys(("soak", "spread", "store", "salt", ANCHOR), pieces)),
    dries=dries(),
    soak=waits,
    store=waits,
    salt=waits,
    longest=st.integers(0, 12),
    hands_on=st.integers(0, 2),
)


def whole_hours(spans: Spans) -> set[int]:
    """The whole hours in it."""
    return {h for h in range(-5, LAST + 30) if h * HOUR_S in spans}


@examples(400)
@given(puzzles)
def test_leeway_with_a_wait_set_by_weather_is_what_trying_everything_finds(puzzle: Puzzle) -> None:
    truth = puzzle.truth()
    domain = puzzle.tree.leeway(ALWAYS)
    if not truth[ANCHOR]:
        # All waits are whole hours and dryness comes on whole hours, so no plan between the hours was missed.
        assert isinstance(domain, Infeasible)
    else:
        assert isinstance(domain, dict)
        assert {name: whole_hours(spans) for name, spans in domain.items()} == truth


@examples(300)
@given(dries(), st.integers(0, 12), st.integers(0, 2), pieces)
def test_both_directions_of_one_link_are_what_trying_every_hour_finds(
    one: Dries, longest: int, hands_on: int, given_h: list[tuple[int, int]]
) -> None:
    drying = hour_link("spread", ANCHOR, (0, longest), before=True, hands_on_h=hands_on)
    link = by_weather(drying, one.times, one.times)
    inside = {h for a, b in given_h for h in range(a, b + 1)}

    def in_time(spread: int, store: int) -> bool:
        return one(spread + hands_on) <= store <= spread + hands_on + longest

    ahead = {s for s in range(-15, LAST + 1) if any(in_time(s, store) for store in inside)}
    assert {h for h in range(-15, LAST + 1) if h * HOUR_S in link.ahead(hour_spans(*given_h))} == ahead
    after = {store for store in range(LAST + 40) if any(in_time(s, store) for s in inside)}
    assert {h for h in range(LAST + 40) if h * HOUR_S in link.after(hour_spans(*given_h))} == after


@examples(200)
@given(puzzles, st.integers(0, LAST))
def test_the_chosen_moments_are_dry_in_time(puzzle: Puzzle, wanted: int) -> None:
    domain = puzzle.tree.leeway(ALWAYS)
    if isinstance(domain, Infeasible):  # not `assume`: most are, which would be a failed health check now and then
        return
    chosen = puzzle.tree.choose(domain, wanted * HOUR_S, frozenset())
    spread, store = chosen["spread"] + puzzle.hands_on * HOUR_S, chosen["store"]
    assert puzzle.dries.times.ready_at(spread) <= store <= spread + puzzle.longest * HOUR_S
    assert all(chosen[name] in hour_spans(*own) for name, own in puzzle.own.items())


@examples(200)
@given(dries(), st.floats(-5.0, 30.0))
def test_the_latest_start_is_ready_by_then_and_no_later_one_is(one: Dries, by_h: float) -> None:
    times, by = one.times, by_h * HOUR_S
    latest = times.latest_start(by)
    if latest > -inf:
        assert times.ready_at(latest) <= by + 1e-6
    later = max(latest, times.starts[0] - HOUR_S) + 1.0
    assert times.ready_at(later) > by


@examples(200)
@given(dries(), st.floats(-3.0, 25.0), st.floats(0.0, 10.0))
def test_what_is_begun_later_is_never_ready_sooner(one: Dries, start_h: float, more_h: float) -> None:
    times = one.times
    assert times.ready_at(start_h * HOUR_S) <= times.ready_at((start_h + more_h) * HOUR_S)


def test_between_two_starts_the_later_counts() -> None:
    times = ReadyTimes((0.0, 10.0), (20.0, 30.0), inf)
    assert [times.ready_at(start) for start in (-1.0, 0.0, 0.5, 10.0, 10.5)] == [20.0, 20.0, 30.0, 30.0, inf]


def test_the_usual_time_is_early_enough_for_the_slow_end_of_the_range() -> None:
    drying = hour_link("spread", ANCHOR, (0, 48), before=True, usual_h=24)
    quick = ReadyTimes((0.0, 10 * HOUR_S), (20 * HOUR_S, 30 * HOUR_S), inf)
    slow = ReadyTimes((0.0, 10 * HOUR_S), (28 * HOUR_S, 40 * HOUR_S), inf)
    tree = Tree((by_weather(drying, quick, slow),), {"spread": hour_spans((-5, 10)), ANCHOR: hour_spans((30, 30))})
    domain = tree.leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert domain["spread"].last == 10 * HOUR_S
    assert tree.choose(domain, 30 * HOUR_S, frozenset())["spread"] == 0.0


def test_weather_in_which_nothing_dries_leaves_no_moment_and_names_the_spreading() -> None:
    drying = hour_link("spread", ANCHOR, (0, 48), before=True)
    never = ReadyTimes((0.0,), (inf,), inf)
    found = Tree((by_weather(drying, never, never),), {"spread": ALWAYS, ANCHOR: ALWAYS}).leeway(ALWAYS)
    assert found == Infeasible(ANCHOR, "spread", inf, early=False)


@pytest.mark.parametrize("change", ["2013-11-03T00:00", "2013-03-10T00:00"])
def test_a_longest_wait_on_the_clock_holds_over_a_change_of_the_clock(change: str) -> None:
    night = at(change, NEW_YORK)
    starts = tuple(night + hour * HOUR_S for hour in range(-24, 12))
    times = ReadyTimes(starts, tuple(start + 20 * HOUR_S for start in starts), 20.0 * HOUR_S)
    link = by_weather(hour_link("spread", ANCHOR, (0, 24), before=True, clock=NEW_YORK), times, times)
    assert isinstance(link, WeatherLink)
    for start in starts:
        allowed = link.after(Spans(((start, start),)))
        assert allowed.first == times.ready[bisect_left(starts, start)]
        assert (allowed.last - start) / HOUR_S in (23.0, 24.0, 25.0)
        assert start in link.ahead(Spans(((allowed.last, allowed.last),)))
