"""The leeway of steps as the minimal network of a simple temporal problem.

Rina Dechter, Itay Meiri and Judea Pearl, "Temporal constraint networks", Artificial Intelligence 49 (1991) 61-95: the
story of John and Fred on their way to work.  Limits that are tied to the origin are absolute spans here, and what
is left of the story is a chain, so all of it can be told.  Minutes of the story stand as hours of a wait.
"""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import examples, hour_link, hour_tree, in_hours

from scheduler.household.process import ANCHOR
from scheduler.planning.backward import Infeasible, Link, Tree
from scheduler.planning.spans import ALWAYS, Spans

Edge = tuple[str, str, float, float]
"""Earlier, later, and the least and longest time from the one to the other."""
Windows = dict[str, tuple[float, float]]


def rooted(edges: list[Edge], own: Windows, root: str) -> Tree:
    """The tree of these edges hung from one of its points, which takes the lighting's place."""

    def name(point: str) -> str:
        return ANCHOR if point == root else point

    links: list[Link] = []
    reached, left = [root], list(edges)
    while left:
        edge = next(e for e in left if e[0] in reached or e[1] in reached)
        left.remove(edge)
        before = edge[1] in reached
        point, neighbour = edge[:2] if before else edge[1::-1]
        links.append(hour_link(name(point), name(neighbour), edge[2:], before=before))
        reached.append(point)
    return hour_tree(links, {name(point): [window] for point, window in own.items()})


def leeways(edges: list[Edge], own: Windows, root: str) -> Windows | None:
    """Earliest and latest moment of every point; None where the network is inconsistent."""
    domain = rooted(edges, own, root).leeway(ALWAYS)
    if isinstance(domain, Infeasible):
        return None
    found = {}
    for point, spans in domain.items():
        (only,) = in_hours(spans)
        found[root if point == ANCHOR else point] = only
    return found


JOHN_CAR: Edge = ("john leaves", "john arrives", 30, 40)
JOHN_BUS: Edge = ("john leaves", "john arrives", 60, inf)
FRED_CAR: Edge = ("fred leaves", "fred arrives", 20, 30)
FRED_CARPOOL: Edge = ("fred leaves", "fred arrives", 40, 50)
JOHN_AFTER_FRED: Edge = ("fred leaves", "john arrives", 10, 20)
POINTS = ("john leaves", "john arrives", "fred leaves", "fred arrives")
SINCE_SEVEN: Windows = {
    "john leaves": (10, 20),
    "john arrives": (-inf, inf),
    "fred leaves": (-inf, inf),
    "fred arrives": (60, 70),
}
roots = pytest.mark.parametrize("root", POINTS)


@roots
def test_john_by_car_and_fred_by_carpool_have_the_minimal_windows(root: str) -> None:
    # John arrived 7:40 to 7:50 and Fred left 7:20 to 7:30: the paper's own answers to its questions.
    assert leeways([JOHN_CAR, FRED_CARPOOL, JOHN_AFTER_FRED], SINCE_SEVEN, root) == {
        "john leaves": (10, 20),
        "john arrives": (40, 50),
        "fred leaves": (20, 30),
        "fred arrives": (60, 70),
    }


# Minimal network of that story, other minus one: the paper's table as remembered, and computed again for this test.
MINIMAL = {
    ("john leaves", "john arrives"): (30, 40),
    ("john leaves", "fred leaves"): (10, 20),
    ("john leaves", "fred arrives"): (50, 60),
    ("john arrives", "fred leaves"): (-20, -10),
    ("john arrives", "fred arrives"): (20, 30),
    ("fred leaves", "fred arrives"): (40, 50),
}


@roots
@pytest.mark.parametrize(("one", "other"), MINIMAL)
def test_fixing_one_moment_leaves_the_other_what_the_minimal_network_allows(one: str, other: str, root: str) -> None:
    edges = [JOHN_CAR, FRED_CARPOOL, JOHN_AFTER_FRED]
    left = []
    for minute in range(-10, 90):
        own = dict(SINCE_SEVEN)
        own[one] = (max(minute, own[one][0]), min(minute, own[one][1]))
        found = leeways(edges, own, root)
        if found is not None:
            left.extend([found[other][0] - minute, found[other][1] - minute])
    assert (min(left), max(left)) == MINIMAL[one, other]


@roots
def test_john_by_bus_and_fred_by_carpool_is_inconsistent(root: str) -> None:
    assert leeways([JOHN_BUS, FRED_CARPOOL, JOHN_AFTER_FRED], SINCE_SEVEN, root) is None


@roots
def test_both_by_car_leaves_wider_windows(root: str) -> None:
    found = leeways([JOHN_CAR, FRED_CAR, JOHN_AFTER_FRED], SINCE_SEVEN, root)
    assert found is not None
    assert found["john arrives"] == (40, 60)
    assert found["fred leaves"] == (30, 50)


@roots
def test_john_by_bus_and_fred_by_car_leaves_one_schedule(root: str) -> None:
    assert leeways([JOHN_BUS, FRED_CAR, JOHN_AFTER_FRED], SINCE_SEVEN, root) == {
        "john leaves": (10, 10),
        "john arrives": (70, 70),
        "fred leaves": (50, 50),
        "fred arrives": (70, 70),
    }


# Our own chain as a network, without household hours; windows computed with all-pairs shortest paths.
FISH: list[Edge] = [
    ("thaw", "cure", 18, 48),
    ("cure", "rinse", 44, 52),
    ("rinse", "rest end", 8, 24),
    ("rest end", "smoke", 0, 4),
    ("soak", "dry", 84, 108),
    ("dry", "smoke", 0, 720),
]


def fish_from_now(smoke: tuple[float, float]) -> Windows:
    """Nothing before hour 0, and the smoke started in a window."""
    own: Windows = {name: (0, inf) for edge in FISH for name in edge[:2]}
    return {**own, "smoke": smoke}


def test_the_chain_of_the_fish_has_its_minimal_windows_for_a_late_smoke() -> None:
    assert leeways(FISH, fish_from_now((151, 157)), "smoke") == {
        "thaw": (23, 87),
        "cure": (71, 105),
        "rinse": (123, 149),
        "rest end": (147, 157),
        "soak": (0, 73),
        "dry": (84, 157),
        "smoke": (151, 157),
    }


def test_the_chain_of_the_fish_has_its_minimal_windows_for_the_first_smoke() -> None:
    found = leeways(FISH, fish_from_now((84, 90)), "smoke")
    assert found is not None
    assert {name: found[name] for name in ("thaw", "cure", "rinse", "soak")} == {
        "thaw": (0, 20),
        "cure": (18, 38),
        "rinse": (62, 82),
        "soak": (0, 6),
    }


def test_a_smoke_before_the_sawdust_is_dry_is_inconsistent_and_says_by_how_much() -> None:
    refused = rooted(FISH, fish_from_now((60, 66)), "smoke").leeway(ALWAYS)
    assert isinstance(refused, Infeasible)
    assert refused.step == ANCHOR
    # The sawdust is dry at 84 h and the fish is ready at 70 h: either may be named.
    assert {"dry": 18.0, "rest end": 4.0}[refused.other] == refused.missing_h
    assert not refused.early


def test_fish_that_cannot_wait_is_refused_because_its_wait_ends_too_early() -> None:
    own: Windows = {"rinse": (0, 0), "rest end": (0, inf), "smoke": (34, 40)}
    refused = rooted([e for e in FISH if e[0] in ("rinse", "rest end")], own, "smoke").leeway(ALWAYS)
    assert refused == Infeasible(ANCHOR, "rest end", 6.0, early=True)


# Against all-pairs shortest paths, on trees of any shape.


def shortest_paths(points: list[str], edges: list[Edge], own: Windows) -> Windows | None:
    """Floyd and Warshall's closure of the distance graph with an origin at 0; None with a negative cycle."""
    names = ["origin", *points]
    d = {(a, b): 0.0 if a == b else inf for a in names for b in names}
    for a, b, low, high in [*edges, *(("origin", p, *window) for p, window in own.items())]:
        d[a, b], d[b, a] = min(d[a, b], high), min(d[b, a], -low)
    for via in names:
        for a in names:
            for b in names:
                d[a, b] = min(d[a, b], d[a, via] + d[via, b])
    if any(d[a, a] < 0 for a in names):
        return None
    return {p: (-d[p, "origin"], d["origin", p]) for p in points}


@st.composite
def networks(draw: st.DrawFn) -> tuple[list[Edge], Windows]:
    """Two to seven points in a tree, each with one window."""
    count = draw(st.integers(2, 7))
    edges: list[Edge] = []
    for n in range(1, count):
        pair = [str(n), str(draw(st.integers(0, n - 1)))]
        earlier, later = pair if draw(st.booleans()) else pair[::-1]
        low = draw(st.integers(0, 30))
        edges.append((earlier, later, low, low + draw(st.integers(0, 20))))
    own: Windows = {}
    for n in range(count):
        start = draw(st.integers(0, 60))
        own[str(n)] = (start, start + draw(st.integers(0, 60)))
    return edges, own


@examples(200)
@given(networks())
def test_leeway_is_the_minimal_network(network: tuple[list[Edge], Windows]) -> None:
    edges, own = network
    assert leeways(edges, own, "0") == shortest_paths(list(own), edges, own)


@examples(100)
@given(networks(), st.integers(0, 6))
def test_leeway_does_not_depend_on_which_step_the_tree_hangs_from(
    network: tuple[list[Edge], Windows], root: int
) -> None:
    edges, own = network
    assert leeways(edges, own, "0") == leeways(edges, own, str(root % len(own)))


@examples(100)
@given(networks(), st.integers(0, 120), st.integers(0, 60))
def test_leeway_for_some_lightings_is_the_network_with_that_window(
    network: tuple[list[Edge], Windows], start: int, length: int
) -> None:
    edges, own = network
    narrower = (max(own["0"][0], start), min(own["0"][1], start + length))
    assume(narrower[0] <= narrower[1])
    domain = rooted(edges, own, "0").leeway(Spans(((start * 3600.0, (start + length) * 3600.0),)))
    expected = shortest_paths(list(own), edges, {**own, "0": narrower})
    if expected is None:
        assert isinstance(domain, Infeasible)
    else:
        assert isinstance(domain, dict)
        assert {("0" if p == ANCHOR else p): tuple(in_hours(s)) for p, s in domain.items()} == {
            p: (window,) for p, window in expected.items()
        }
