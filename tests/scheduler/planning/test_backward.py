"""Leeway of every step against brute force: every assignment of whole hours to every step, tried one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import (
    HOUR_S,
    NEW_YORK,
    at,
    examples,
    hour_link,
    hour_spans,
    hour_tree,
)
from planning_everything import Between, every_assignment, on_the_hour

from scheduler.household.process import ANCHOR
from scheduler.planning.backward import Infeasible, Tree
from scheduler.planning.spans import ALWAYS, Spans

if TYPE_CHECKING:
    from scheduler.planning.backward import Link


# Trees of any shape.


@dataclass(frozen=True)
class Puzzle:
    """A tree of steps, each with the hours at which it could be done, and its waits."""

    own: dict[str, list[tuple[int, int]]]
    links: tuple[Link, ...]
    waits: list[Between]

    @property
    def tree(self) -> Tree:
        return hour_tree(self.links, self.own)

    @property
    def hours(self) -> dict[str, list[int]]:
        return {name: sorted(on_the_hour(hour_spans(*pieces))) for name, pieces in self.own.items()}

    def truth(self) -> dict[str, set[int]] | None:
        return every_assignment(self.hours, self.waits)


GRID = {2: 24, 3: 20, 4: 16, 5: 12, 6: 9}
"""Hours that are tried, by the number of steps: at most half a million combinations."""


@st.composite
def puzzles(draw: st.DrawFn) -> Puzzle:
    """Two to six steps around a lighting, hours with holes, waits in whole hours, some steps already done."""
    count = draw(st.integers(2, 6))
    last = GRID[count] - 1
    names = [ANCHOR, *"abcde"[: count - 1]]
    own = {name: draw(pieces_up_to(last)) for name in names}
    links, waits = [], []
    for n, name in enumerate(names[1:]):
        neighbour = names[draw(st.integers(0, n))]
        before = draw(st.booleans())
        least = draw(st.integers(0, 4))
        longest = least + draw(st.integers(0, 5))
        hands_on = draw(st.integers(0, 1))
        if before and draw(st.integers(0, 5)) == 0:
            done = draw(st.integers(0, last))
            own[name], hands_on = [(done, done)], 0
        usual = draw(st.integers(least, longest))
        links.append(hour_link(name, neighbour, (least, longest), before=before, hands_on_h=hands_on, usual_h=usual))
        pair = (name, neighbour) if before else (neighbour, name)
        waits.append(Between(*pair, least, longest, hands_on))
    return Puzzle(own, tuple(draw(st.permutations(links))), waits)


def pieces_up_to(last: int) -> st.SearchStrategy[list[tuple[int, int]]]:
    piece = st.tuples(st.integers(0, last), st.integers(0, last)).map(lambda ends: (min(ends), max(ends)))
    return st.lists(piece, min_size=1, max_size=3)


@examples(250)
@given(puzzles())
def test_leeway_is_every_moment_that_belongs_to_some_complete_plan(puzzle: Puzzle) -> None:
    truth = puzzle.truth()
    domain = puzzle.tree.leeway(ALWAYS)
    if truth is None:
        assert isinstance(domain, Infeasible)
    else:
        assert isinstance(domain, dict)
        assert {name: on_the_hour(spans) for name, spans in domain.items()} == truth


@examples(120)
@given(puzzles(), pieces_up_to(20))
def test_leeway_for_some_lightings_counts_plans_with_those_lightings_only(
    puzzle: Puzzle, lightings: list[tuple[int, int]]
) -> None:
    own = {**puzzle.hours, ANCHOR: [h for h in puzzle.hours[ANCHOR] if h * HOUR_S in hour_spans(*lightings)]}
    truth = every_assignment(own, puzzle.waits)
    domain = puzzle.tree.leeway(hour_spans(*lightings))
    if truth is None:
        assert isinstance(domain, Infeasible)
    else:
        assert isinstance(domain, dict)
        assert {name: on_the_hour(spans) for name, spans in domain.items()} == truth


@examples(120)
@given(puzzles())
def test_inward_gives_the_lighting_what_the_whole_tree_allows_it(puzzle: Puzzle) -> None:
    truth = puzzle.truth()
    inward = puzzle.tree.inward()
    if truth is None:
        assert isinstance(inward, Infeasible)
    else:
        assert isinstance(inward, dict)
        assert on_the_hour(inward[ANCHOR]) == truth[ANCHOR]


@examples(150)
@given(puzzles(), st.integers(-2, 26), st.sets(st.sampled_from("abcde")))
def test_the_chosen_moments_make_a_plan(puzzle: Puzzle, wanted: int, evening_end: set[str]) -> None:
    domain = puzzle.tree.leeway(ALWAYS)
    assume(isinstance(domain, dict))
    assert isinstance(domain, dict)
    chosen = puzzle.tree.choose(domain, wanted * HOUR_S, frozenset(evening_end))
    hours = {name: t / HOUR_S for name, t in chosen.items()}
    assert set(hours) == set(puzzle.own)
    assert all(hours[name] in puzzle.hours[name] for name in hours)
    assert all(wait.holds(hours[wait.earlier], hours[wait.later]) for wait in puzzle.waits)


@examples(150)
@given(puzzles(), st.integers(-2, 26))
def test_the_lighting_is_nearest_the_wanted_one_and_each_step_nearest_its_usual_wait(
    puzzle: Puzzle, wanted: int
) -> None:
    truth = puzzle.truth()
    assume(truth is not None)
    assert truth is not None
    domain = puzzle.tree.leeway(ALWAYS)
    assert isinstance(domain, dict)
    chosen = {n: t / HOUR_S for n, t in puzzle.tree.choose(domain, wanted * HOUR_S, frozenset()).items()}
    assert chosen[ANCHOR] == min(truth[ANCHOR], key=lambda h: (abs(h - wanted), h))
    for link in puzzle.links:
        beside = int(chosen[link.neighbour])
        away = link.wait.usual_h + link.hands_on_s / HOUR_S
        usual = beside - away if link.before else beside + away
        left = every_assignment({**puzzle.hours, link.neighbour: [beside]}, puzzle.waits)
        assert left is not None
        assert chosen[link.name] == min(left[link.name], key=lambda h, u=usual: (abs(h - u), h))


@examples(150)
@given(puzzles(), st.data())
def test_a_step_done_in_its_leeway_keeps_the_plan_and_only_narrows_the_others(
    puzzle: Puzzle, data: st.DataObject
) -> None:
    before = puzzle.truth()
    assume(before is not None)
    assert before is not None
    name = data.draw(st.sampled_from(sorted(before)))
    hour = data.draw(st.sampled_from(sorted(before[name])))
    after = replace(puzzle, own={**puzzle.own, name: [(hour, hour)]}).tree.leeway(ALWAYS)
    assert isinstance(after, dict)
    assert all(on_the_hour(after[one]) <= before[one] for one in before)
    assert on_the_hour(after[name]) == {hour}


@examples(100)
@given(puzzles(), st.data())
def test_a_moment_outside_the_leeway_leaves_no_plan(puzzle: Puzzle, data: st.DataObject) -> None:
    truth = puzzle.truth() or {}
    name = data.draw(st.sampled_from(sorted(puzzle.own)))
    out = [h for h in puzzle.hours[name] if h not in truth.get(name, set())]
    assume(out)
    hour = data.draw(st.sampled_from(out))
    assert isinstance(replace(puzzle, own={**puzzle.own, name: [(hour, hour)]}).tree.leeway(ALWAYS), Infeasible)


def test_a_step_with_no_hours_of_its_own_leaves_no_plan() -> None:
    links = [hour_link("salt", ANCHOR, (2, 4), before=True)]
    refused = hour_tree(links, {"salt": [], ANCHOR: [(0, 9)]}).leeway(ALWAYS)
    assert isinstance(refused, Infeasible)
    assert refused.missing_h == inf


def test_what_is_refused_names_the_two_steps_and_the_hours_between_them() -> None:
    links = [hour_link("salt", ANCHOR, (2, 4), before=True)]
    late = hour_tree(links, {"salt": [(5, 6)], ANCHOR: [(0, 4)]}).leeway(ALWAYS)
    assert late == Infeasible(ANCHOR, "salt", 3.0, early=False)
    early = hour_tree(links, {"salt": [(5, 6)], ANCHOR: [(0, 4), (12, 13)]}).leeway(ALWAYS)
    assert early == Infeasible(ANCHOR, "salt", 2.0, early=True)


def test_lightings_that_the_household_cannot_make_are_refused_by_name() -> None:
    refused = hour_tree([], {ANCHOR: [(0, 4)]}).leeway(hour_spans((6, 7)))
    assert refused == Infeasible(ANCHOR, ANCHOR, 2.0, early=False)


def test_a_look_in_the_evening_takes_the_last_moment_of_its_first_piece() -> None:
    links = [hour_link("look", ANCHOR, (1, 14), before=False, usual_h=3)]
    tree = hour_tree(links, {"look": [(18, 22), (31, 40)], ANCHOR: [(18, 18)]})
    domain = tree.leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert tree.choose(domain, 18 * HOUR_S, frozenset({"look"}))["look"] == 22 * HOUR_S
    assert tree.choose(domain, 18 * HOUR_S, frozenset())["look"] == 21 * HOUR_S


# Clock waits over a change of the clock.

CHANGE_NIGHTS = [at("2013-11-03T00:00", NEW_YORK), at("2013-03-10T00:00", NEW_YORK)]
few = st.lists(st.tuples(st.integers(0, 30), st.integers(0, 8)), min_size=1, max_size=2)


@examples(250)
@given(st.sampled_from(CHANGE_NIGHTS), few, few, st.sampled_from([0, 0.5, 1]), st.sampled_from([0, 0.5, 1, 2]))
def test_clock_waits_over_a_change_still_make_a_plan_for_every_moment_of_the_leeway(
    night: float, spread: list[tuple[int, int]], light: list[tuple[int, int]], least: float, more: float
) -> None:
    link = hour_link("spread", ANCHOR, (least, least + more), before=True, clock=NEW_YORK)
    own = {
        name: Spans.of((night + a * 600, night + (a + b) * 600) for a, b in raw)
        for name, raw in (("spread", spread), (ANCHOR, light))
    }
    tree = Tree((link,), own)
    domain = tree.leeway(ALWAYS)
    assume(isinstance(domain, dict))
    assert isinstance(domain, dict)
    for wanted in (t for piece in domain[ANCHOR] for t in piece):
        chosen = tree.choose(domain, wanted, frozenset())
        assert chosen[ANCHOR] == wanted
        assert chosen["spread"] in own["spread"]
        assert chosen["spread"] <= wanted
        assert wanted in link.after(Spans(((chosen["spread"],) * 2,)))
        assert chosen["spread"] in link.ahead(Spans(((wanted, wanted),)))
