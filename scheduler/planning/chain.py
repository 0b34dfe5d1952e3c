"""A process turned into a tree for one batch, at one site, at one moment."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, inf
from typing import TYPE_CHECKING

from scheduler.errors import BadBatch
from scheduler.household.process import ANCHOR, LIFT, Step, Wait
from scheduler.planning.backward import Link, Tree, link_of
from scheduler.planning.clock import HOUR_S, MINUTE_S, clock_spans, seconds
from scheduler.planning.spans import Spans
from scheduler.planning.windows import Smokes, smokes
from scheduler.science.smoulder import burn_time, fill_for

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site

BURN_OUT, EAT_BY = "burn_out", "eat_by"

UNSTARTED = ("fresh", "frozen")
"""States of a food that need no time to count from."""

FRIDGE_LIMIT_F = 40.0  # FDA consumer advice: refrigerator at or under 40 °F
FRIDGE_LIMIT_C = (FRIDGE_LIMIT_F - 32.0) / 1.8
KEEP_DAYS_UNMEASURED = 3.0  # our judgement: home fridges measured 7 to 8 °C on average (Pouillot 2007)
KEEP_DAYS_MEASURED = 5.0  # ready-to-eat line of the seafood industry's guidance on Listeria, 5 days

SAWDUST_STATES = ("dry", "soaking", "drying", "none")


@dataclass(frozen=True, slots=True)
class History:
    """Steps by name: those this batch never needs, those done at a time nobody said, those done and when."""

    not_needed: frozenset[str]
    over: frozenset[str]
    done_at: Mapping[str, float]


@dataclass(frozen=True)
class Chain:
    """What is asked: this batch, this process, this site, now, and how far ahead to look."""

    site: Site
    process: Process
    batch: Batch
    now: float
    until: float
    """No step is placed after this instant."""

    @cached_property
    def at_home(self) -> Spans:
        """The household's hours."""
        start = self.now - 7 * 24 * HOUR_S
        return clock_spans(self.site.household_hours, start, self.until, self.site.zone)

    @cached_property
    def food_done(self) -> tuple[Step, float] | None:
        """The step the food has had last, and the instant its wait counts from."""
        return self._done("food", self.batch.state, UNSTARTED)

    def sawdust_done(self, state: str) -> tuple[Step, float] | None:
        """The step the sawdust has had last."""
        return self._done("sawdust", state, ("dry", "none"))

    def _done(self, branch: str, state: str, unstarted: tuple[str, ...]) -> tuple[Step, float] | None:
        """Find the step whose wait, or whose end of it, the state names."""
        if state in unstarted:
            return None
        for step in self.process.steps:
            if step.branch == branch and state in (step.during, step.after) and step.wait is not None:
                at = self._since(branch, state)
                waited_h = step.wait.least_h * self._scale(step) if state == step.after else 0.0
                return step, at - waited_h * HOUR_S
        known = [s for step in self.process.steps if step.branch == branch for s in (step.during, step.after) if s]
        raise BadBatch(
            f"{state!r} is no state of the {branch} in the process {self.process.name!r};"
            f" choose one of: {', '.join((*unstarted, *known))}"
        )

    def _since(self, branch: str, state: str) -> float:
        """The instant since when, as it must be given for this state."""
        option, since = (
            ("--since", self.batch.since) if branch == "food" else ("--sawdust-since", self.batch.sawdust_since)
        )
        if since is None:
            raise BadBatch(f"{branch} that is {state} needs the time since when: add {option} TIME")
        at = seconds(since)
        if at > self.now:
            raise BadBatch(f"{option} {since.isoformat()} lies in the future; {branch} cannot be {state} since then")
        return at

    def _scale(self, step: Step) -> int:
        """How many times the step's wait is to be taken: once per started portion of the largest pack."""
        per_g = step.wait.per_started_g if step.wait is not None else None
        weight_g = self.batch.largest_pack_g if self.batch.largest_pack_g is not None else self.batch.weight_g
        if per_g is None or weight_g is None:
            return 1
        return max(1, ceil(weight_g / per_g - 1e-9))

    def sawdust_state(self, fill_g: float) -> str:
        """What was said of the sawdust, else whether the site's store reaches."""
        said = self.batch.sawdust
        if said is not None and said not in SAWDUST_STATES:
            raise BadBatch(f"sawdust {said!r} is not known; choose one of: {', '.join(SAWDUST_STATES)}")
        if said is not None:
            return said
        return "dry" if self.site.sawdust_store_g >= fill_g else "none"

    def fill_g(self, smoke_h: float) -> float:
        """Dry sawdust [g] for a smoke: what lasts it at the fastest rate, at most a full tray."""
        return min(self.site.tray.holds_g, fill_for(smoke_h, self.site.tray.fronts))

    def behind(self, step: Step) -> list[Step]:
        """Steps that lead to this one, however far back."""
        found = [s for s in self.process.steps if s.before and s.neighbour == step.name]
        return found + [earlier for one in found for earlier in self.behind(one)]

    def tree(self, smoke_h: float, *, lift_latest: float = inf) -> Tree:
        """The tree for a smoke of about so many hours that must be lifted by then."""
        history = self.history(smoke_h)
        links, own = [], {}
        for step in self.process.steps:
            if step.name in history.over or step.name in history.not_needed:
                continue
            own[step.name] = self._own(step, history.done_at.get(step.name))
            if step.neighbour is not None:
                links.append(self._link(step, smoke_h, done=step.name in history.done_at))
        own[LIFT] = own[LIFT].between(-inf, lift_latest)
        return Tree(tuple(links), own)

    def history(self, smoke_h: float) -> History:
        """What of the process is behind this batch."""
        not_needed = {s.name for s in self.process.steps if self.batch.state in s.skip_if}
        sawdust = self.sawdust_state(self.fill_g(smoke_h))
        if sawdust == "dry":
            not_needed |= {s.name for s in self.process.steps if s.branch == "sawdust"}
        last_done = [self.food_done, None if sawdust == "dry" else self.sawdust_done(sawdust)]
        done = [one for one in last_done if one is not None]
        return History(
            not_needed=frozenset(not_needed),
            over=frozenset(s.name for step, _ in done for s in self.behind(step)) - not_needed,
            done_at={step.name: at for step, at in done},
        )

    def _own(self, step: Step, done_at: float | None) -> Spans:
        """Moments at which the step could be done, its waits aside."""
        if done_at is not None:
            return Spans(((done_at, done_at),))
        ahead = Spans(((self.now, self.until),))
        if not step.household:
            return ahead
        own = self.at_home.shrink(step.hands_on_min * MINUTE_S) & ahead
        if step.name != ANCHOR:
            return own
        return own & clock_spans(((self.site.lighting_hours,),) * 7, self.now - 24 * HOUR_S, self.until, self.site.zone)

    def _link(self, step: Step, smoke_h: float, *, done: bool) -> Link:
        """The wait between a step and its neighbour; three of them are set by the site and the tray."""
        neighbour = self.process.step(step.neighbour or ANCHOR)
        if step.wait is not None:
            return link_of(step, neighbour, step.wait, self.site.zone, scale=self._scale(step), done=done)
        return replace(
            link_of(step, neighbour, self._set_elsewhere(step.name, smoke_h), self.site.zone), hands_on_s=0.0
        )

    def _set_elsewhere(self, name: str, smoke_h: float) -> Wait:
        """The waits that no process holds, counted from the start of the neighbour."""
        if name == LIFT:
            return Wait(self.site.duration_h, self.site.duration_h, self.site.longest_h)
        if name == EAT_BY:
            hours = keep_days(self.site) * 24
            return Wait(hours, hours, hours)
        if name == BURN_OUT:
            hours = burn_time(self.fill_g(smoke_h), self.site.tray.fronts).longest_h
            return Wait(hours, hours, hours)
        raise KeyError(name)

    def smokes(self) -> Smokes:
        """Every lighting the household could make, weather and food aside: with its checks, and its lift."""
        after = [s for s in self.process.steps if s.wait is not None and s.neighbour == ANCHOR and not s.before]
        lifting = self.at_home.shrink(self.process.step(LIFT).hands_on_min * MINUTE_S)
        own = {s.name: self._own(s, None) for s in (*after, self.process.step(ANCHOR))}
        links = tuple(self._link(s, self.site.duration_h, done=False) for s in after)
        allowed = Tree(links, own).inward()
        lightings = allowed[ANCHOR] if isinstance(allowed, dict) else Spans(())
        return smokes(
            lightings, lifting, duration_s=self.site.duration_h * HOUR_S, longest_s=self.site.longest_h * HOUR_S
        )


def keep_days(site: Site) -> float:
    """Days from lift within which the food is eaten or frozen: the household's own figure, else by its fridge."""
    if site.eat_within_days is not None:
        return site.eat_within_days
    if site.fridge_c is not None and site.fridge_c <= FRIDGE_LIMIT_C:
        return KEEP_DAYS_MEASURED
    return KEEP_DAYS_UNMEASURED
