"""What one replan looks at: the batch, the newest weather, and the plan that was taken on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, FREEZE, LIFT
from scheduler.planning.answers import PlannedStep
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import HOUR_S, MINUTE_S, instant, night_bounds, seconds
from scheduler.planning.replanned import Moved, Overdue, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from scheduler.household.policy import Policy
    from scheduler.household.process import Step
    from scheduler.household.site import Site
    from scheduler.planning.adopted import Adopted, Past
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.chain import Chain
    from scheduler.planning.nights import Search


@dataclass(frozen=True)
class Case:
    """All that one replan is given."""

    chain: Chain
    search: Search
    nights: Sequence[Night]
    past: Past
    policy: Policy
    taken: frozenset[date]
    """Nights on which the chamber is another batch's."""

    @property
    def adopted(self) -> Adopted:
        """The plan that was taken on."""
        return self.past.adopted

    @property
    def site(self) -> Site:
        """As the search knows it."""
        return self.search.site

    @cached_property
    def kept(self) -> Search:
        """The search by what an adopted lighting has to keep: its ceiling by the chance alone, its floor with slack."""
        return replace(self.search, floor_slack_k=self.policy.floor_slack_k, by_chance=True)

    @property
    def light(self) -> float:
        """The adopted lighting."""
        return seconds(self.adopted.light)

    @property
    def issued_at(self) -> datetime:
        """Of the newest forecast."""
        return instant(self.search.weather.issued)

    @cached_property
    def recorded(self) -> Mapping[str, datetime]:
        """Steps that somebody recorded, and when each was done."""
        return dict(self.chain.batch.done)

    @cached_property
    def done(self) -> frozenset[str]:
        """Steps that are behind this batch, or that it never needs."""
        return self._behind | self.chain.history(self.site.duration_h).not_needed

    @cached_property
    def _behind(self) -> frozenset[str]:
        """Steps that this batch has had."""
        history = self.chain.history(self.site.duration_h)
        return (history.over | frozenset(history.done_at) | frozenset(self.recorded)) - history.not_needed

    @cached_property
    def begun(self) -> bool:
        """Whether the food has left its store: it is thawing, in its cure, or out of it."""
        return any(step.name in self._behind for step in self._food if step.name != FREEZE)

    @property
    def _food(self) -> list[Step]:
        """The food's steps before the lighting."""
        return [step for step in self.chain.process.steps if step.before and step.branch == "food"]

    @cached_property
    def state(self) -> State:
        """How firmly the plan stands."""
        if LIFT in self.recorded:
            return State.LIFTED
        if ANCHOR in self.recorded:
            return State.SMOKING
        rinsed = any(step.name in self._behind for step in self._food if step.neighbour == ANCHOR)
        if rinsed or self.light - self.chain.now < self.policy.lock_h * HOUR_S:
            return State.LOCKED
        return State.COMMITTED if self.begun or self.adopted.committed else State.TENTATIVE

    @cached_property
    def wanted(self) -> Mapping[str, float]:
        """The adopted time of every step that is still ahead; a tray lit far from its time takes the rest along."""
        lit = self.recorded.get(ANCHOR)
        slack_s = self.policy.ignore_committed_min * MINUTE_S
        gone = set(self.done)
        if lit is not None and abs((lit - self.adopted.light).total_seconds()) > slack_s:
            gone |= {step.name for step in self.chain.process.steps if not step.before}
        return {name: seconds(at) for name, at in self.adopted.steps.items() if name not in gone}

    @cached_property
    def own(self) -> Night | None:
        """The adopted night as the newest forecast judges it; None where it is past, or beyond the forecast."""
        return next((night for night in self.nights if night.date == self.adopted.night), None)

    @cached_property
    def reach(self) -> tuple[date, ...]:
        """Nights after the adopted one that the batch could be lit in, weather aside."""
        _, leeway = self.chain.weather_aside
        if isinstance(leeway, Infeasible):
            return ()
        ahead = [
            night.date for night in self.nights if night.date > self.adopted.night and night.date not in self.taken
        ]
        return tuple(day for day in ahead if leeway[ANCHOR].between(*night_bounds(day, self.site.zone)))

    @cached_property
    def overdue(self) -> tuple[Overdue, ...]:
        """Steps due before now that nobody recorded, and that something else waits for.

        A tray that somebody was told not to light is not asked about, nor is what follows it.
        """
        waited_for = {step.neighbour for step in self.chain.process.steps if not step.before} | {LIFT}
        found = []
        for step in self.chain.process.steps:
            due = self.adopted.steps.get(step.name)
            if due is None or not step.household or step.name in self.done or seconds(due) >= self.chain.now:
                continue
            if self.past.no_go and (step.name == ANCHOR or not step.before):
                continue
            if step.before or step.name in waited_for:
                found.append((step, due))
        return tuple(Overdue(_bare(step), due) for step, due in sorted(found, key=lambda pair: pair[1]))

    def overdue_in(self, plan: Plan) -> tuple[Overdue, ...]:
        """The same, with the times and leeway that a plan leaves them."""
        planned = {one.step.name: one for one in plan.steps}
        return tuple(Overdue(planned.get(o.planned.step.name, o.planned), o.was_due) for o in self.overdue)

    def moved_in(self, plan: Plan) -> tuple[Moved, ...]:
        """Steps ahead whose time in a plan is another by a minute or more, in order of the adopted times."""
        planned = {one.step.name: one for one in plan.steps}
        found = []
        for name, was in sorted(self.adopted.steps.items(), key=lambda pair: pair[1]):
            one = planned.get(name)
            if name in self.done or (one is not None and (one.done or one.at is None)):
                continue
            now = None if one is None else one.at
            if now is None and seconds(was) < self.chain.now:  # a check that nobody recorded, and nothing hangs from
                continue
            if now is None or abs((now - was).total_seconds()) >= MINUTE_S:
                found.append(Moved(name, self._title(name), was, now))
        return tuple(found)

    def is_pushed(self, plan: Plan) -> bool:
        """Whether a plan has another time for the lighting, or for a step of somebody's, that no overdue one holds up.

        What is overdue is asked about instead: it and what follows it get later with every minute without an answer.
        """
        by_itself = {step.name for step in self.chain.process.steps if not step.household}
        moved = [one for one in self.moved_in(plan) if one.step not in self._late | by_itself]
        return any(one.step not in self._behind_late or one.now is None or one.now < one.was for one in moved)

    @cached_property
    def _late(self) -> frozenset[str]:
        """What is overdue."""
        return frozenset(one.planned.step.name for one in self.overdue)

    @cached_property
    def _behind_late(self) -> frozenset[str]:
        """Steps that wait for one that is overdue; not the lighting, which is news where something else holds it up."""
        steps, progress = self.chain.process.steps, self.chain.progress
        led_to = {one.name for step in steps if step.before and step.name in self._late for one in progress.way(step)}
        hung = {
            step.name for step in steps if not step.before and any(s.name in self._late for s in progress.way(step))
        }
        return frozenset(led_to | hung) - {ANCHOR}

    def _title(self, name: str) -> str:
        """What a person reads; the name itself where the process no longer has the step."""
        return next((step.title for step in self.chain.process.steps if step.name == name), name)


def _bare(step: Step) -> PlannedStep:
    """A step without a time of its own."""
    return PlannedStep(step, None, ())
