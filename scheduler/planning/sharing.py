"""Several batches, one chamber: which batch takes which night, and which of them share a lighting.

One lighting a night.  Batches share it where their weights fit into the chamber together and one moment of lighting
suits them all; a batch that nobody weighed takes the whole chamber.  The tray occupies the chamber from lighting to
lift only, so a lighting may follow the last lift at once.

What is best, in this order: as many batches made as possible; then, from the batch whose limit is nearest to the one
that can wait longest, each its greatest worth as far as the batches before it leave it any; of equals, for the same
batches in the same order, the earlier night.  Exact, by dynamic programming over nights and sets of batches: what is
still to come depends only on which batches are made and when the chamber is free again.  Two ways to get there differ
in batches already made alone, so the better of them stays the better whatever follows.  Each further batch makes it
about three times as slow; six batches with sixteen nights each take about a second.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import reduce
from itertools import combinations
from math import inf
from typing import TYPE_CHECKING

from scheduler.planning.spans import ALWAYS, Spans

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date

TOLERANCE = 1e-6
"""Grams by which a sum of floats may miss what the chamber holds."""

_LAST_DAY = 10**7
"""After the number of any date."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A night that a batch could take."""

    night: date
    worth: float
    lightings: Spans
    """When it could be lit [seconds since 1970 UTC]."""
    lift: float
    """When its food is out at the latest, whichever of these lightings it is."""


@dataclass(frozen=True, slots=True)
class Contender:
    """A batch that wants the chamber."""

    name: str
    """Told apart from the others by it."""
    weight_g: float | None
    """None where nobody weighed."""
    limit: float
    """The last moment at which it can be lit; infinite where nothing spoils."""
    candidates: tuple[Candidate, ...]
    """At most one a night."""


class Left(StrEnum):
    """Why a batch has no night."""

    NO_NIGHT = "no night"
    """It has no candidate that can be lit within its limit."""
    TOO_HEAVY = "too heavy"
    """It does not fit into the chamber, even alone."""
    TAKEN = "taken"
    """Others have the chamber on its nights."""


@dataclass(frozen=True, slots=True)
class Lighting:
    """One night's lighting and the batches in it."""

    night: date
    batches: tuple[str, ...]
    """By limit, the nearest first."""
    lightings: Spans
    """Every moment that suits them all, with the chamber free."""
    lift: float
    """When the last of them is out."""


@dataclass(frozen=True, slots=True)
class Shared:
    """The nights, shared out."""

    lightings: tuple[Lighting, ...]
    """In order of time."""
    left: Mapping[str, Left]
    """Batches without a night, and why."""

    def night_of(self, name: str) -> date | None:
        """The night of a batch; None where it has none."""
        return next((one.night for one in self.lightings if name in one.batches), None)


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to share out the nights so far: made batches and when the chamber is free tell two apart."""

    made: frozenset[int] = frozenset()
    free: float = -inf
    worths: tuple[float, ...] = ()
    days: tuple[int, ...] = ()
    """Of each batch in order of limit, the night's worth and how early it is; lowest where it has none."""
    lightings: tuple[Lighting, ...] = ()

    @property
    def rank(self) -> tuple[int, tuple[float, ...], tuple[int, ...]]:
        """The greater, the better."""
        return len(self.made), self.worths, self.days


def fit(weights_g: Sequence[float | None], holds_g: float | None) -> bool:
    """Whether the chamber holds them together; one that nobody weighed, or in a chamber nobody measured, goes alone."""
    known = [weight for weight in weights_g if weight is not None]
    if holds_g is None or len(known) < len(weights_g):
        return len(weights_g) == 1
    return sum(known) <= holds_g + TOLERANCE


def share_nights(batches: Sequence[Contender], holds_g: float | None) -> Shared:
    """The best way to share out the nights.

    holds_g: what the chamber holds; None: nobody said, so one batch a night.
    Raises ValueError for two batches of one name, or two candidates of one batch for the same night.
    """
    _check(batches)
    queue = sorted((_within_limit(one) for one in batches), key=lambda one: (one.limit, one.name))
    none = _Way(worths=(-inf,) * len(queue), days=(-_LAST_DAY,) * len(queue))
    ways = {(none.made, none.free): none}
    for night in sorted({each.night for one in queue for each in one.candidates}):
        groups = tuple(_groups(queue, night, holds_g))
        ways = _rested(ways.values(), _earliest_from(queue, night))
        for way in tuple(ways.values()):
            for group in groups:
                _keep_better(ways, _with(way, night, group))
    best = max(ways.values(), key=lambda way: way.rank)
    left = {one.name: _why(one, holds_g) for number, one in enumerate(queue) if number not in best.made}
    return Shared(best.lightings, left)


def _earliest_from(queue: Sequence[Contender], night: date) -> float:
    """The first moment of any lighting of this night or a later one."""
    return min(each.lightings.first for one in queue for each in one.candidates if each.night >= night)


def _rested(ways: Iterable[_Way], earliest: float) -> dict[tuple[frozenset[int], float], _Way]:
    """The ways without regard to a chamber that is free before anything can be lit in it: of equals, the better."""
    found: dict[tuple[frozenset[int], float], _Way] = {}
    for way in ways:
        _keep_better(found, replace(way, free=-inf) if way.free <= earliest else way)
    return found


def _check(batches: Sequence[Contender]) -> None:
    names = [one.name for one in batches]
    if len(set(names)) < len(names):
        raise ValueError(f"batches of the same name cannot be told apart: {', '.join(names)}")
    for one in batches:
        if len({each.night for each in one.candidates}) < len(one.candidates):
            raise ValueError(f"batch {one.name!r} has two candidates for the same night")


def _within_limit(one: Contender) -> Contender:
    """Its candidates with the lightings that its limit leaves; those without one are none."""
    cut = (replace(each, lightings=each.lightings.between(-inf, one.limit)) for each in one.candidates)
    return replace(one, candidates=tuple(each for each in cut if each.lightings))


@dataclass(frozen=True, slots=True)
class _Group:
    """Batches that could share a night's lighting."""

    numbers: tuple[int, ...]
    names: tuple[str, ...]
    worths: tuple[float, ...]
    lightings: Spans
    lift: float


def _groups(queue: Sequence[Contender], night: date, holds_g: float | None) -> Iterator[_Group]:
    """Sets of batches that fit into the chamber together and have a lighting in common."""
    able = {
        number: each for number, one in enumerate(queue) for each in one.candidates
        if each.night == night and fit([one.weight_g], holds_g)
    }  # fmt: skip
    for size in range(1, len(able) + 1):
        for numbers in combinations(able, size):
            taken = [able[number] for number in numbers]
            common = reduce(Spans.__and__, (each.lightings for each in taken), ALWAYS)
            if common and fit([queue[number].weight_g for number in numbers], holds_g):
                names = tuple(queue[number].name for number in numbers)
                worths = tuple(each.worth for each in taken)
                yield _Group(numbers, names, worths, common, max(each.lift for each in taken))


def _with(way: _Way, night: date, group: _Group) -> _Way | None:
    """The way with one more lighting; None where a batch is made already, or the chamber is still in use."""
    if not way.made.isdisjoint(group.numbers) or group.lightings.last < way.free:
        return None
    worths, days = list(way.worths), list(way.days)
    for number, worth in zip(group.numbers, group.worths, strict=True):
        worths[number], days[number] = worth, -night.toordinal()
    lit = Lighting(night, group.names, group.lightings.between(way.free, inf), group.lift)
    return _Way(way.made.union(group.numbers), group.lift, tuple(worths), tuple(days), (*way.lightings, lit))


def _keep_better(ways: dict[tuple[frozenset[int], float], _Way], way: _Way | None) -> None:
    """Of two ways that leave the same for later, the better one; the first of equals."""
    if way is None:
        return
    other = ways.get((way.made, way.free))
    if other is None or way.rank > other.rank:
        ways[way.made, way.free] = way


def _why(one: Contender, holds_g: float | None) -> Left:
    """Why a batch is left."""
    if not one.candidates:
        return Left.NO_NIGHT
    return Left.TAKEN if fit([one.weight_g], holds_g) else Left.TOO_HEAVY
