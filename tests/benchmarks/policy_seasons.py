"""One batch after another through real seasons: what each player makes of them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from math import sqrt
from typing import TYPE_CHECKING

from planning_builders import NEW_YORK, moment
from policy_players import Player, Scene, plain

from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT, SALT
from scheduler.household.process_file import shipped_process
from scheduler.household.site import Limits, Site
from scheduler.planning.backward import Infeasible
from scheduler.planning.chain import Chain
from scheduler.planning.limits import read_weather
from scheduler.planning.nights import Search, find_nights
from scheduler.planning.plan import choose_night
from scheduler.planning.spans import ALWAYS
from scheduler.planning.spread import spread_of
from scheduler.planning.warming import warming_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from policy_weather import Runs

    from scheduler.planning.answers import Night, Plan

HOUR_S, DAY_S = 3600.0, 24 * 3600.0
DELAY_S = 4 * HOUR_S
"""From a run's issue until a household has it."""
PATIENCE_DAYS = 28.0
"""After that a household with all its fish still in the freezer gives up."""
FOLLOW_UP_S = 40 * DAY_S
WITHIN_C = 1e-3
"""As the tool reads a limit that came through °F."""
CEILING_C = Limits().ceiling_c
ORACLE = "an oracle that knows the weather"
SEASON = (1, 2, 3, 4, 5, 6, 9, 10, 11, 12)
SHOULDERS = (4, 5, 6, 9, 10)


@dataclass(frozen=True)
class Outcome:
    """What became of one batch."""

    opened_s: float
    lit_s: float | None = None
    lift_s: float | None = None
    warmest_c: float | None = None
    coldest_c: float | None = None
    lost: bool = False
    """A wait ran out on food that had begun."""
    moves: int = 0
    """Times that the night became another one."""
    moves_salted: int = 0
    """Those with the food in its cure or out of it."""
    shifts: int = 0
    """Times that the lighting moved by an hour or more within its night."""
    chance: float | None = None
    """What the tool said of the window at the last look before it was lit."""

    @property
    def waited_days(self) -> float:
        """From opening to lighting."""
        return float("nan") if self.lit_s is None else (self.lit_s - self.opened_s) / DAY_S


@dataclass(frozen=True)
class World:
    """A household, and the weather as it is forecast and as it comes."""

    runs: Runs
    site: Site
    batch: Batch
    found: dict[int, tuple[Search, tuple[Night, ...]]] = field(default_factory=dict, repr=False)
    """Nights by run: they do not hang from the batch."""

    @cached_property
    def process(self):
        return shipped_process(self.batch.food)

    def look_at(self, run: int) -> float:
        """When a household sees a run."""
        return self.runs.issued_s(run) + DELAY_S

    def scene(self, run: int, batch: Batch) -> Scene:
        """What is seen then."""
        now = self.look_at(run)
        if run not in self.found:
            forecast = self.runs.forecast(run)
            warming = warming_of(read_weather(forecast), self.site)
            search = Search(self.site, warming, spread_of(warming.counted), self.chain(batch, now).smokes(), now)
            self.found[run] = search, find_nights(search)
        return Scene(now, self.chain(batch, now), *self.found[run])

    def chain(self, batch: Batch, now: float) -> Chain:
        """The process for this batch."""
        return Chain(self.site, self.process, batch, now, now + FOLLOW_UP_S)


def with_done(batch: Batch, plan: Plan, since: float, now: float) -> tuple[Batch, tuple[float, float] | None]:
    """The batch after the steps that the plan has from `since` until `now`; and the smoke, once it is lit."""
    for planned in plan.steps:
        at = None if planned.at is None or planned.done else planned.at.timestamp()
        if at is None or not since <= at < now or planned.step.branch != "food":
            continue
        if planned.step.name == ANCHOR:
            lift = next(one.at for one in plan.steps if one.step.name == LIFT)
            return batch, (at, lift.timestamp())
        if planned.step.before:
            batch = replace(batch, done=(*batch.done, (planned.step.name, planned.at)))
    return batch, None


def follow(world: World, player: Player, first: int) -> Outcome:
    """One batch from its opening to its smoke, or until a wait runs out, or patience."""
    batch, plan, before = world.batch, None, None
    out = Outcome(world.look_at(first))
    for run in range(first, world.runs.count):
        now = world.look_at(run)
        if plan is not None:
            batch, smoke = with_done(batch, plan, world.look_at(run - 1), now)
            if smoke is not None:
                return lit(world, out, *smoke)
        scene = world.scene(run, batch)
        if batch.done and isinstance(scene.chain.tree(world.site.duration_h).leeway(ALWAYS), Infeasible):
            return replace(out, lost=True)
        if not batch.done and now > out.opened_s + PATIENCE_DAYS * DAY_S:
            return out
        plan = player.look(scene)
        if plan is not None:
            out = counted(out, before, plan, batch)
            out, before = replace(out, chance=chance_by_tool(scene, plan)), plan
    raise RuntimeError("the weather ends before the batch does: open it earlier")


def counted(out: Outcome, before: Plan | None, plan: Plan, batch: Batch) -> Outcome:
    """The moves so far, with this one if it is one."""
    if before is None:
        return out
    if plan.night.date == before.night.date:
        return replace(out, shifts=out.shifts + (abs(light_of(plan) - light_of(before)) >= HOUR_S))
    salted = any(name == SALT for name, _ in batch.done)
    return replace(out, moves=out.moves + 1, moves_salted=out.moves_salted + salted)


def light_of(plan: Plan) -> float:
    """When the tray is to be lit."""
    return next(one.at for one in plan.steps if one.step.name == ANCHOR).timestamp()


def chance_by_tool(scene: Scene, plan: Plan) -> float | None:
    """What the tool makes of the plan's night, whoever chose it."""
    return next((night.chance for night in scene.nights if night.date == plan.night.date), None)


def lit(world: World, out: Outcome, light_s: float, lift_s: float) -> Outcome:
    """The smoke as it really went."""
    truth = world.runs.truth
    return replace(
        out, lit_s=light_s, lift_s=lift_s,
        warmest_c=truth.warmest_c(light_s, lift_s), coldest_c=truth.coldest_c(light_s, lift_s),
    )  # fmt: skip


def oracle(world: World, first: int) -> Outcome:
    """One batch of somebody who knows the weather: the first night that truly holds and can be made."""
    now, reach_h = world.look_at(first), int(PATIENCE_DAYS + 4) * 24
    warming = warming_of(read_weather(world.runs.truth.known_from(now, reach_h)), world.site)
    chain = world.chain(world.batch, now)
    nights = plain(Search(world.site, warming, spread_of(warming.counted), chain.smokes(), now))
    plan = choose_night(chain, nights).plan
    if plan is None or light_of(plan) > now + PATIENCE_DAYS * DAY_S:
        return Outcome(now)
    lift = next(one.at for one in plan.steps if one.step.name == LIFT)
    return lit(world, Outcome(now), light_of(plan), lift.timestamp())


@dataclass(frozen=True)
class Share:
    """So many of so many."""

    count: int
    of: int

    @property
    def value(self) -> float:
        return self.count / self.of if self.of else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's, 95 %."""
        if not self.of:
            return 0.0, 1.0
        z, n, p = 1.959964, self.of, self.value
        middle, half = p + z * z / (2 * n), z * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        low, high = ((middle + side) / (1 + z * z / n) for side in (-half, half))
        return max(low, 0.0), min(high, 1.0)

    def __str__(self) -> str:
        low, high = self.interval
        return f"{100 * self.value:.0f} % ({100 * low:.0f} to {100 * high:.0f})"


@dataclass(frozen=True)
class Tally:
    """What a player made of many batches."""

    name: str
    ceiling_c: float
    floor_c: float
    outcomes: tuple[Outcome, ...]

    @property
    def lit(self) -> tuple[Outcome, ...]:
        return tuple(one for one in self.outcomes if one.lit_s is not None)

    @property
    def under(self) -> Share:
        """Of the smokes lit, those that stayed at or under the ceiling."""
        held = [one for one in self.lit if one.warmest_c <= self.ceiling_c + WITHIN_C]
        return Share(len(held), len(self.lit))

    @property
    def over_floor(self) -> Share:
        """Of the smokes lit, those that stayed over the floor."""
        return Share(sum(one.coldest_c > self.floor_c for one in self.lit), len(self.lit))

    @property
    def lost(self) -> Share:
        """Of the batches, those that a wait ran out on."""
        return Share(sum(one.lost for one in self.outcomes), len(self.outcomes))

    @property
    def waited_days(self) -> float:
        """Mean from opening to lighting."""
        return sum(one.waited_days for one in self.lit) / max(len(self.lit), 1)

    @property
    def moves(self) -> int:
        """Of all batches together."""
        return sum(one.moves for one in self.outcomes)

    @property
    def moves_salted(self) -> int:
        """Those with the food in its cure or out of it."""
        return sum(one.moves_salted for one in self.outcomes)

    def row(self) -> str:
        """A line of a table."""
        count = max(len(self.outcomes), 1)
        return (
            f"| {self.name} | {len(self.lit)}/{count} | {self.under} | {self.lost}"
            f" | {self.waited_days:.1f} | {self.moves / count:.2f} | {self.moves_salted / count:.2f} |"
        )


def household(
    ceiling_c: float = CEILING_C, floor_c: float = Limits().floor_c, duration_h: float = 12.0, **changes: float
) -> Site:
    """An invented yard with what the tool takes for granted."""
    limits = Limits(ceiling_c=ceiling_c, floor_c=floor_c)
    return Site("Invented yard", 40.7, -74.0, NEW_YORK, limits=limits, duration_h=duration_h, **changes)


def frozen_fish(start_s: float, weight_g: float = 1300.0) -> Batch:
    """Fish that has been frozen for long enough, and sawdust that is dry; a larger pack thaws for longer."""
    frozen = moment(start_s - 60 * DAY_S)
    return Batch(
        weight_g=weight_g, frozen_since=frozen, freezer_c=-25.0, freezer_measured=True, farmed=True, sawdust="dry"
    )


def openings(runs: Runs, every_days: float, months: Sequence[int], offset: float = 0.5) -> list[int]:
    """Runs in these months, so many days apart, of which the batch surely ends before the weather does.

    offset: of the first, as a share of the days between two.
    """
    step = round(every_days * 24 / runs.errors.every_h)
    last = runs.count - int((PATIENCE_DAYS + 6) * 24 / runs.errors.every_h)
    return [run for run in range(int(step * offset), last, step) if moment(runs.issued_s(run)).month in months]


def play(world: World, players: Callable[[], Iterable[Player]], firsts: Sequence[int]) -> dict[str, Tally]:
    """Every player with every batch, and the oracle; `players` makes fresh ones."""
    found: dict[str, list[Outcome]] = {}
    for first in firsts:
        for player in players():
            found.setdefault(player.name, []).append(follow(world, player, first))
        found.setdefault(ORACLE, []).append(oracle(world, first))
    limits = world.site.limits
    return {name: Tally(name, limits.ceiling_c, limits.floor_c, tuple(every)) for name, every in found.items()}
