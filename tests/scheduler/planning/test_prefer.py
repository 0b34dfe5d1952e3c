"""Wanted times: kept wherever the leeway still holds them, else the nearest moment."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from asked import FROZEN, NOW, PROCESS, SITE, made_forecast
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import HOUR_S, examples, hour_link, hour_tree

from scheduler.household.process import ANCHOR
from scheduler.planning.answers import Plan
from scheduler.planning.backward import Infeasible, Tree
from scheduler.planning.nights import find_nights
from scheduler.planning.plan import plan_for
from scheduler.planning.spans import ALWAYS, Spans
from scheduler.service import Question, chain_of, search_of

if TYPE_CHECKING:
    from collections.abc import Mapping

NAMES = ("thaw", "salt", "rinse", "soak", ANCHOR, "look", "lift", "slice")

pieces = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 20)), min_size=1, max_size=3).map(
    lambda drawn: [(start, start + length) for start, length in drawn]
)
waits = st.tuples(st.integers(0, 6), st.integers(0, 12)).map(lambda pair: (pair[0], pair[0] + pair[1]))


@st.composite
def trees(draw: st.DrawFn) -> Tree:
    links = [
        hour_link(name, neighbour, draw(waits), before=before)
        for name, neighbour, before in (
            ("thaw", "salt", True), ("salt", "rinse", True), ("rinse", ANCHOR, True), ("soak", ANCHOR, True),
            ("look", ANCHOR, False), ("lift", ANCHOR, False), ("slice", "lift", False),
        )
    ]  # fmt: skip
    return hour_tree(links, {name: draw(pieces) for name in NAMES})


wanted_times = st.dictionaries(st.sampled_from([*NAMES, "unheard_of"]), st.integers(0, 80).map(lambda h: h * HOUR_S))


def point(at: float) -> Spans:
    return Spans(((at, at),))


@examples(300)
@given(trees(), wanted_times, st.integers(0, 80))
def test_a_wanted_time_is_kept_if_and_only_if_it_goes_with_those_wanted_before_it(
    tree: Tree, wanted: dict[str, int], light_h: int
) -> None:
    domain = tree.leeway(ALWAYS)
    if isinstance(domain, Infeasible):
        return
    chosen = tree.choose(domain, light_h * HOUR_S, frozenset(), wanted)
    kept: dict[str, Spans] = {}
    for name in sorted(wanted, key=lambda one: (one != ANCHOR, wanted[one])):
        if name not in tree.own:
            assert name not in chosen
            continue
        own = {**tree.own, **kept, name: tree.own[name] & point(wanted[name])}
        possible = bool(own[name]) and not isinstance(Tree(tree.links, own).leeway(ALWAYS), Infeasible)
        if possible:
            kept[name] = point(wanted[name])
            assert chosen[name] == wanted[name]
    assert all(chosen[name] != wanted[name] for name in wanted if name in chosen and name not in kept)


@examples(200)
@given(trees(), wanted_times, st.integers(0, 80))
def test_whatever_is_wanted_what_is_chosen_is_one_whole_answer(
    tree: Tree, wanted: dict[str, int], light_h: int
) -> None:
    domain = tree.leeway(ALWAYS)
    if isinstance(domain, Infeasible):
        return
    chosen = tree.choose(domain, light_h * HOUR_S, frozenset({"look"}), wanted)
    assert set(chosen) == set(tree.own)
    fixed = Tree(tree.links, {name: tree.own[name] & point(at) for name, at in chosen.items()})
    assert not isinstance(fixed.leeway(ALWAYS), Infeasible)


@examples(200)
@given(trees(), st.integers(0, 80), st.integers(0, 80))
def test_a_whole_answer_that_is_wanted_is_the_answer(tree: Tree, one_h: int, other_h: int) -> None:
    domain = tree.leeway(ALWAYS)
    if isinstance(domain, Infeasible):
        return
    chosen = tree.choose(domain, one_h * HOUR_S, frozenset())
    assert tree.choose(domain, other_h * HOUR_S, frozenset({"look", "salt"}), chosen) == chosen


def test_a_single_wanted_time_past_the_leeway_is_met_at_its_nearest_moment() -> None:
    tree = hour_tree([hour_link("salt", ANCHOR, (4, 8), before=True)], {"salt": [(0, 10)], ANCHOR: [(6, 20)]})
    domain = tree.leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert tree.choose(domain, 12 * HOUR_S, frozenset(), {ANCHOR: 30 * HOUR_S})[ANCHOR] == 18 * HOUR_S
    assert tree.choose(domain, 12 * HOUR_S, frozenset(), {"salt": -5 * HOUR_S})["salt"] == 4 * HOUR_S


def plans(prefer: Mapping[str, float] | None) -> Plan:
    question = Question(SITE, PROCESS, replace(FROZEN), made_forecast(mean_c=6.0), NOW)
    chain = chain_of(question)
    night = find_nights(search_of(question, chain))[6]
    found = plan_for(chain, night, prefer=prefer)
    assert isinstance(found, Plan)
    return found


def test_a_plan_keeps_the_wanted_times_and_says_the_same_leeway() -> None:
    plain = plans(None)
    at = {one.step.name: one.at for one in plain.steps}
    salt, light = at["salt"], at["light"]
    assert salt is not None
    assert light is not None
    wanted = {"salt": salt.timestamp() + 1800, "light": light.timestamp() - 3600}
    moved = plans(wanted)
    told = {one.step.name: one for one in moved.steps}
    assert {name: told[name].at.timestamp() for name in wanted} == wanted  # type: ignore[union-attr]
    # A last look at the very time of the first check is no step of its own.
    assert all(told[one.step.name].spans == one.spans for one in plain.steps)
    assert plans({}) == plain
