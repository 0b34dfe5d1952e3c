"""A process turned into a tree for one batch, at one site, at one moment."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, inf
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, EAT_BY, FREEZE, LIFT, Step, Wait
from scheduler.planning.backward import Infeasible, Link, Tree, link_of, longest_h
from scheduler.planning.clock import HOUR_S, MINUTE_S, clock_spans, seconds
from scheduler.planning.drying_spell import Spell, drying_spell
from scheduler.planning.freezing import FRESH_KEEPS_H, Freezing, freezing_of
from scheduler.planning.history import History, history_of
from scheduler.planning.lit import after_lighting
from scheduler.planning.progress import DRY, Progress, followed, progress_of
from scheduler.planning.ready_times import by_weather
from scheduler.planning.said import said_of_sawdust, since_of_state, step_of_state
from scheduler.planning.spans import ALWAYS, EMPTY, Spans
from scheduler.planning.windows import Smokes, smokes
from scheduler.science.smoulder import Burn, burn_time, fill_for, tray_rate

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site

BURN_OUT = "burn_out"

FRIDGE_LIMIT_F = 40.0  # FDA consumer advice: refrigerator at or under 40 °F
FRIDGE_LIMIT_C = (FRIDGE_LIMIT_F - 32.0) / 1.8
KEEP_DAYS_UNMEASURED = 3.0  # our judgement: home fridges measured 7 to 8 °C on average (Pouillot 2007)
KEEP_DAYS_MEASURED = 5.0  # ready-to-eat line of the seafood industry's guidance on Listeria, 5 days

LONGEST_FROZEN_H = 2 * 366 * 24.0
"""Longer than any plan: the wait in the freezer has no end that this tool knows."""


@dataclass(frozen=True)
class Chain:
    """What is asked: this batch, this process, this site, now, and how far ahead to look."""

    site: Site
    process: Process
    batch: Batch
    now: float
    until: float
    """No step is placed after this instant."""
    forecast: Forecast | None = None
    """The weather that sawdust dries in; None takes the waits as the process has them."""
    busy: Spans = EMPTY
    """When nobody is at home, whatever the household's hours say."""

    @cached_property
    def at_home(self) -> Spans:
        """The household's hours, less when nobody is there."""
        start = self.now - 7 * 24 * HOUR_S
        hours = clock_spans(self.site.household_hours, start, self.until, self.site.zone)
        if not self.busy:
            return hours
        left = hours & self.busy.outside()
        return Spans(tuple((a, b) for a, b in left if a < b))  # where two stretches touch, nobody is at home

    @cached_property
    def weather_aside(self) -> tuple[Tree, dict[str, Spans] | Infeasible]:
        """The tree of a smoke of the planned duration, and the leeway of its steps whatever the weather."""
        tree = self.tree(self.site.duration_h)
        return tree, tree.leeway(ALWAYS)

    @cached_property
    def progress(self) -> Progress:
        """The steps that somebody recorded."""
        return progress_of(self.process, self.batch, self.now)

    @cached_property
    def food_done(self) -> tuple[Step, float] | None:
        """The step the food has had last, and the instant its wait counts from; None once it is lit."""
        recorded = [step for step in self.progress.last if step.branch == "food"]
        if recorded:
            return recorded[-1], self.progress.at[recorded[-1].name]
        return None if self.progress.lit is not None else self._done("food", self.batch.state, self.process.unstarted)

    @cached_property
    def freezing(self) -> Freezing | None:
        """The food's freezing record; None where the process asks for none."""
        batch = followed(self.batch, self.process)
        left = self._left_freezer()
        found = freezing_of(self.site, self.process, batch, self.now, left)
        told = {seconds(at) for at in (batch.since, *(at for _, at in batch.done)) if at is not None}
        return None if found is None else replace(found, until_told=left in told)

    def _left_freezer(self) -> float | None:
        """The earliest instant at which food on its way can have left the freezer: through the longest waits."""
        at = self.progress.at
        recorded = [step for step in self._from_freezer() if step.name in at]
        if recorded:
            earlier = [one for one in self.behind(recorded[0]) if one.branch == "food" and one.name != FREEZE]
            return at[recorded[0].name] - sum(map(self._longest_s, earlier))
        if self.food_done is None or self.food_done[0].name == FREEZE or self.batch.since is None:
            return None
        step, _ = self.food_done
        earlier = [one for one in self.behind(step) if one.name != FREEZE]
        own_s = self._longest_s(step) if self.batch.state == step.after else 0.0
        if earlier and self.batch.state == step.during:
            own_s = step.hands_on_min * MINUTE_S
        return seconds(self.batch.since) - own_s - sum(map(self._longest_s, earlier))

    def _from_freezer(self) -> list[Step]:
        """The steps of the food from the freezer to the lighting, the one furthest from it first."""
        food = [s for s in self.process.steps if s.before and s.branch == "food" and s.name != FREEZE]
        return sorted([*food, self.process.step(ANCHOR)], key=lambda step: -len(self.progress.way(step)))

    def _longest_s(self, step: Step) -> float:
        """Hands-on time and longest wait of a step; one whose wait is set elsewhere has the former alone."""
        waits_h = 0.0 if step.wait is None else longest_h(step.wait, self._scale(step))
        return waits_h * HOUR_S + step.hands_on_min * MINUTE_S

    @property
    def freezing_h(self) -> float | None:
        """Hours from the start of the freezing to the thaw; None where the plan holds no freezing."""
        return None if self.freezing is None else self.freezing.needed_h

    @property
    def freezing_done(self) -> tuple[Step, float] | None:
        """The freezing step of food whose freezing is under way, and since when."""
        if self.freezing is None or self.freezing.since is None:
            return None
        return next(((s, self.freezing.since) for s in self.process.steps if s.name == FREEZE), None)

    def sawdust_done(self, state: str) -> tuple[Step, float] | None:
        """The step the sawdust has had last, by what was said of it."""
        return self._done("sawdust", state, ("dry", "none"))

    def _done(self, branch: str, state: str, unstarted: tuple[str, ...]) -> tuple[Step, float] | None:
        """Find the step whose wait, or whose end of it, the state names."""
        step = step_of_state(self.process, branch, state, unstarted)
        if step is None or step.wait is None:
            return None
        waited_h = step.wait.least_h * self._scale(step) if state == step.after else 0.0
        return step, since_of_state(self.batch, branch, state, self.now) - waited_h * HOUR_S

    def _scale(self, step: Step) -> int:
        """How many times the step's wait is to be taken: once per started portion of the largest pack."""
        per_g = step.wait.per_started_g if step.wait is not None else None
        weight_g = self.batch.largest_pack_g if self.batch.largest_pack_g is not None else self.batch.weight_g
        if per_g is None or weight_g is None:
            return 1
        return max(1, ceil(weight_g / per_g - 1e-9))

    def sawdust_state(self, fill_g: float) -> str:
        """What was recorded or said of the sawdust, else whether the site's store reaches."""
        recorded = [step for step in self.progress.last if step.branch == "sawdust"]
        if recorded:
            return recorded[-1].during or recorded[-1].name
        said = said_of_sawdust(self.batch)
        if said is not None:
            return said
        return DRY if self.site.sawdust_store_g >= fill_g else "none"

    def fill_g(self, smoke_h: float) -> float:
        """Dry sawdust [g] for a smoke: what lasts it at the fastest rate, at most a full tray."""
        tray = self.site.tray
        return min(tray.holds_g, fill_for(smoke_h, tray.fronts, tray_rate(tray.g_per_h)))

    def burn(self, smoke_h: float) -> Burn:
        """How long the tray burns when filled for a smoke, by the household's own rate where one was learned."""
        tray = self.site.tray
        return burn_time(self.fill_g(smoke_h), tray.fronts, tray_rate(tray.g_per_h))

    def behind(self, step: Step) -> list[Step]:
        """Steps that lead to this one, however far back."""
        found = [s for s in self.process.steps if s.before and s.neighbour == step.name]
        return found + [earlier for one in found for earlier in self.behind(one)]

    def tree(self, smoke_h: float, *, lift_latest: float = inf) -> Tree:
        """The tree for a smoke of about so many hours that must be lifted by then."""
        if self.progress.lit is not None:
            return after_lighting(self, lift_latest=lift_latest).tree
        history = self.history(smoke_h)
        links, own = [], {}
        for step in self.process.steps:
            if step.name in history.over or step.name in history.not_needed:
                continue
            own[step.name] = self.own(step, history.done_at.get(step.name))
            if step.neighbour is not None:
                links.append(self.link(step, smoke_h, done=step.name in history.done_at))
        own[LIFT] = own[LIFT].between(-inf, lift_latest)
        return Tree(tuple(links), own)

    def history(self, smoke_h: float) -> History:
        """What of the process is behind this batch."""
        return history_of(self, smoke_h)

    def own(self, step: Step, done_at: float | None) -> Spans:
        """Moments at which the step could be done, its waits aside."""
        if done_at is not None:
            return Spans(((done_at, done_at),))
        ahead = Spans(((self.now, self.until),))
        if not step.household:
            return ahead
        own = self.at_home.shrink(step.hands_on_min * MINUTE_S) & ahead
        if step.name == FREEZE:
            return own.between(-inf, self.now + FRESH_KEEPS_H * HOUR_S)
        if step.name != ANCHOR:
            return own
        return own & clock_spans(((self.site.lighting_hours,),) * 7, self.now - 24 * HOUR_S, self.until, self.site.zone)

    def link(self, step: Step, smoke_h: float, *, done: bool) -> Link:
        """The wait between a step and its neighbour; some are set by the site, the tray and the freezer."""
        neighbour = self.process.step(step.neighbour or ANCHOR)
        if step.wait is not None:
            link = link_of(step, neighbour, step.wait, self.site.zone, scale=self._scale(step), done=done)
            spell = None if step.wait.weather is None else self.drying
            return link if spell is None else by_weather(link, spell.usual.times, spell.slow.times)
        link = link_of(step, neighbour, self._set_elsewhere(step.name, smoke_h), self.site.zone, done=done)
        return link if step.before else replace(link, hands_on_s=0.0)

    @cached_property
    def drying_step(self) -> Step | None:
        """The step whose wait the drying weather sets; None where the process has none."""
        return next((s for s in self.process.steps if s.wait is not None and s.wait.weather == "drying"), None)

    @cached_property
    def drying(self) -> Spell | None:
        """When sawdust is dry by the forecast; None where nothing is known of it, and the process's days hold."""
        wait = None if self.drying_step is None else self.drying_step.wait
        return None if self.forecast is None or wait is None else drying_spell(self.forecast, self.site, wait)

    @property
    def spell(self) -> Spell | None:
        """The drying weather where this batch's sawdust has to dry in it."""
        history, step = self.history(self.site.duration_h), self.drying_step
        behind = step is not None and step.name in history.over | history.not_needed
        return None if behind else self.drying

    def _set_elsewhere(self, name: str, smoke_h: float) -> Wait:
        """The waits that no process holds; after the lighting they count from the start of the neighbour."""
        if name == FREEZE and self.freezing_h is not None:  # at once, and then as long as it suits
            return Wait(self.freezing_h, LONGEST_FROZEN_H, LONGEST_FROZEN_H)
        if name == LIFT:
            return Wait(self.site.duration_h, self.site.duration_h, self.site.longest_h)
        if name == EAT_BY:
            hours = keep_days(self.site) * 24
            return Wait(hours, hours, hours)
        if name == BURN_OUT:
            hours = self.burn(smoke_h).longest_h
            return Wait(hours, hours, hours)
        raise KeyError(name)

    def smokes(self) -> Smokes:
        """Every lighting the household could make, weather and food aside: with its checks, and its lift."""
        after = [s for s in self.process.steps if s.wait is not None and s.neighbour == ANCHOR and not s.before]
        lifting = self.at_home.shrink(self.process.step(LIFT).hands_on_min * MINUTE_S)
        own = {s.name: self.own(s, None) for s in (*after, self.process.step(ANCHOR))}
        links = tuple(self.link(s, self.site.duration_h, done=False) for s in after)
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
