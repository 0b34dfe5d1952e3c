"""Leeway of every step: set algebra over the tree of steps that hangs from the lighting.

One pass inward carries what each step allows to the step beside it and on to the lighting; one pass outward carries
back what the lighting leaves.  On a tree what survives both is exact: for every moment left to a step there are
moments for all the others.  Times are seconds since 1970 UTC.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import inf
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR
from scheduler.planning.clock import HOUR_S, MINUTE_S, clock_later
from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from scheduler.household.process import Step, Wait


@dataclass(frozen=True, slots=True)
class Link:
    """The wait between a step and its neighbour, as the pass reads it: seconds from start to start."""

    name: str
    neighbour: str
    before: bool
    """Whether the step comes before its neighbour."""
    hands_on_s: float
    """Hands-on time of the earlier of the two, which the wait starts after."""
    wait: Wait
    zone: ZoneInfo

    def after(self, spans: Spans) -> Spans:
        """Where the later step can start when the earlier starts in `spans`."""
        least, longest = self.wait.least_h, self.wait.longest_h
        return spans.map_ends(partial(self._move, least, 1, False), partial(self._move, longest, 1, True))

    def ahead(self, spans: Spans) -> Spans:
        """Where the earlier step can start when the later starts in `spans`."""
        least, longest = self.wait.least_h, self.wait.longest_h
        return spans.map_ends(partial(self._move, longest, -1, False), partial(self._move, least, -1, True))

    def usual(self, neighbour_at: float) -> float:
        """Start of the step with the usual wait, given the start of its neighbour."""
        return self._move(self.wait.usual_h, -1 if self.before else 1, False, neighbour_at)

    def _move(self, hours: float, sign: int, latest: bool, at: float) -> float:
        """The other end of a wait of so many hours; on the clock `latest` picks among several instants that fit."""
        if at in (-inf, inf):
            return at
        if self.wait.kind == "elapsed":
            return at + sign * (hours * HOUR_S + self.hands_on_s)
        # On a clock that is set back an hour's wait can be over before it began; nothing is due that early.
        if sign > 0:
            start = at + self.hands_on_s
            return max(start, clock_later(start, hours, self.zone, latest=latest))
        return min(at, clock_later(at, -hours, self.zone, latest=latest)) - self.hands_on_s

    def towards_neighbour(self, spans: Spans) -> Spans:
        """What this step's moments allow its neighbour."""
        return self.after(spans) if self.before else self.ahead(spans)

    def from_neighbour(self, spans: Spans) -> Spans:
        """What the neighbour's moments allow this step."""
        return self.ahead(spans) if self.before else self.after(spans)


@dataclass(frozen=True, slots=True)
class Infeasible:
    """No moment is left: at which step, coming from which wait, and by how much."""

    step: str
    """The step that has no moment left."""
    other: str
    """The step whose wait leaves it none; the same step where its own hours do not fit."""
    missing_h: float
    """Hours between what the wait allows and the nearest moment the step could be done."""
    early: bool
    """True where the wait ends too soon (something spoils), False where it takes too long."""


@dataclass(frozen=True)
class Tree:
    """The steps still in play, each with the moments it could be done on its own, and the waits between them."""

    links: tuple[Link, ...]
    own: Mapping[str, Spans]
    """By step name, the lighting among them."""

    def inward(self) -> dict[str, Spans] | Infeasible:
        """Moments of each step that the steps behind it allow; the lighting's are what the whole tree allows it."""
        domain = dict(self.own)
        for link in self._leaves_first():
            allowed = link.towards_neighbour(domain[link.name])
            cut = domain[link.neighbour] & allowed
            if not cut:
                return _nothing_left(link.neighbour, link.name, allowed, domain[link.neighbour])
            domain[link.neighbour] = cut
        return domain

    def leeway(self, lightings: Spans) -> dict[str, Spans] | Infeasible:
        """Every moment of every step with which a lighting among these can be kept."""
        lit = Tree(self.links, {**self.own, ANCHOR: self.own[ANCHOR] & lightings})
        if not lit.own[ANCHOR]:
            return _nothing_left(ANCHOR, ANCHOR, lightings, self.own[ANCHOR])
        domain = lit.inward()
        if isinstance(domain, Infeasible):
            return domain
        for link in reversed(self._leaves_first()):
            domain[link.name] &= link.from_neighbour(domain[link.neighbour])
        return domain

    def choose(
        self,
        domain: Mapping[str, Spans],
        light: float,
        evening_end: frozenset[str],
        prefer: Mapping[str, float] | None = None,
    ) -> dict[str, float]:
        """One moment for each step: the lighting nearest the wanted one, each other closest to its usual wait.

        Steps in `evening_end` take the last moment of the first unbroken piece instead.  Of the steps in `prefer`
        each keeps that time where it is in its leeway and goes with those before it, the lighting first and then in
        order of time; else it takes the moment nearest to it.  Where the lighting cannot keep its time, what follows
        it goes with it.
        """
        wanted = {} if prefer is None else prefer
        if ANCHOR in wanted and wanted[ANCHOR] not in domain[ANCHOR]:
            following = {link.name for link in self.links if not link.before}
            wanted = {name: at for name, at in wanted.items() if name not in following}
        domain = self._keeping(domain, wanted)
        at = {ANCHOR: domain[ANCHOR].nearest(wanted.get(ANCHOR, light))}
        for link in reversed(self._leaves_first()):
            neighbour = at[link.neighbour]
            left = domain[link.name] & link.from_neighbour(Spans(((neighbour, neighbour),)))
            if link.name in wanted:
                at[link.name] = left.nearest(wanted[link.name])
            elif link.name in evening_end:
                at[link.name] = left.pieces[0][1]
            else:
                at[link.name] = left.nearest(link.usual(neighbour))
        return at

    def _keeping(self, domain: Mapping[str, Spans], wanted: Mapping[str, float]) -> Mapping[str, Spans]:
        """What is left to each step once every wanted time that can be kept is kept."""
        for name in sorted(wanted, key=lambda one: (one != ANCHOR, wanted[one])):
            at = wanted[name]
            if name not in domain or at not in domain[name] or domain[name].pieces == ((at, at),):
                continue
            kept = Tree(self.links, {**domain, name: Spans(((at, at),))}).leeway(domain[ANCHOR])
            domain = domain if isinstance(kept, Infeasible) else kept
        return domain

    def _leaves_first(self) -> list[Link]:
        """Links in an order in which every step comes before its neighbour's own link."""
        by_neighbour: dict[str, list[Link]] = {}
        for link in self.links:
            by_neighbour.setdefault(link.neighbour, []).append(link)
        ordered: list[Link] = []
        reached = [ANCHOR]
        while reached:
            found = by_neighbour.get(reached.pop(), [])
            ordered.extend(found)
            reached.extend(link.name for link in found)
        return ordered[::-1]


def _nothing_left(step: str, other: str, allowed: Spans, own: Spans) -> Infeasible:
    """Say how far apart the two sets are."""
    gaps = [(_gap(a, b), b[0] > a[1]) for a in allowed for b in own]
    if not gaps:
        return Infeasible(step, other, inf, early=False)
    missing_s, early = min(gaps)
    return Infeasible(step, other, missing_s / HOUR_S, early=early)


def _gap(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Seconds between two intervals that do not meet."""
    return max(other[0] - one[1], one[0] - other[1])


def longest_h(wait: Wait, scale: int) -> float:
    """The longest wait for so many started portions.

    A larger pack takes longer to get there, and what is there keeps no longer: only the least wait grows.
    """
    return wait.least_h * scale + (wait.longest_h - wait.least_h)


def link_of(step: Step, neighbour: Step, wait: Wait, zone: ZoneInfo, *, scale: int = 1, done: bool = False) -> Link:
    """The link of a step; a done step's wait counts from when it was done, a scaled one per started portion."""
    earlier = step if step.before else neighbour
    hands_on_s = 0.0 if done else earlier.hands_on_min * MINUTE_S
    if scale != 1:
        wait = replace(
            wait, least_h=wait.least_h * scale, usual_h=wait.usual_h * scale, longest_h=longest_h(wait, scale)
        )
    return Link(step.name, neighbour.name, step.before, hands_on_s, wait, zone)
