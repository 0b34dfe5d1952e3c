"""Join a night with a batch: a time and a leeway for every step, and the choice of the next night."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, EAT_BY, FREEZE, LIFT, SALT
from scheduler.planning.answers import Night, Plan, PlannedStep, Verdict
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import DAY_S, HOUR_S, instant, seconds
from scheduler.planning.drying_plan import planned_drying
from scheduler.planning.freezing_words import freezing_sentence
from scheduler.planning.lit import after_lighting, filled_for_h
from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from scheduler.household.process import Step
    from scheduler.planning.backward import Tree
    from scheduler.planning.chain import Chain
    from scheduler.planning.history import History

WAIT_COST_PER_DAY = 0.02
"""Chance that a day of waiting is worth: our judgement, from a simulation of ten-night seasons."""

AS_LIKELY = 0.02
"""Two nights nearer than this in worth are equals, and the colder one is taken."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer to "which night": a plan, or what stands in the way of each night."""

    plan: Plan | None
    not_makeable: tuple[tuple[Night, Infeasible], ...]
    """Good and borderline nights that the batch or the sawdust cannot be ready for, in order."""
    ready: float | Infeasible
    """Earliest moment a tray could be lit with everything ready, weather aside; or what leaves no such moment."""


def choose_night(chain: Chain, nights: Sequence[Night]) -> Choice:
    """The earliest good night that can be made; else the borderline one worth most, called tentative."""
    makeable: list[tuple[Night, Plan]] = []
    refused: list[tuple[Night, Infeasible]] = []
    for night in nights:
        if not night.verdict.is_offered:
            continue
        plan = plan_for(chain, night)
        if isinstance(plan, Infeasible):
            refused.append((night, plan))
        elif night.verdict is Verdict.GOOD:
            return Choice(plan, tuple(refused), _ready(chain))
        else:
            makeable.append((night, plan))
    return Choice(_best_borderline(chain, makeable), tuple(refused), _ready(chain))


def _best_borderline(chain: Chain, makeable: Sequence[tuple[Night, Plan]]) -> Plan | None:
    """Highest chance minus the cost of waiting; of equals the one that keeps the food cold longer."""
    if not makeable:
        return None
    worth = [_worth(night, chain.now) for night, _ in makeable]
    equals = [pair for pair, value in zip(makeable, worth, strict=True) if value >= max(worth) - AS_LIKELY]
    return min(equals, key=lambda pair: _warmth(pair[0]))[1]


def _warmth(night: Night) -> tuple[float, float]:
    """Hours that the food spends above 50 °F (10 °C), then the warmest air; what is not known counts as warm."""
    above = night.chamber.exposure.above_cool_h if night.chamber is not None else inf
    return round(above, 2), night.peak_c if night.peak_c is not None else inf


def _worth(night: Night, now: float) -> float:
    """Chance less what the wait until the lighting costs."""
    if night.chance is None or night.light_best is None:
        raise ValueError("a night with a window has a chance and a lighting")
    return night.chance - WAIT_COST_PER_DAY * (seconds(night.light_best) - now) / DAY_S


def plan_for(chain: Chain, night: Night, *, prefer: Mapping[str, float] | None = None) -> Plan | Infeasible:
    """The plan for one night with a window, or what leaves no moment for it.

    prefer: times by step name, the lighting among them [seconds since 1970 UTC]; each is kept wherever it is still
    in the leeway, else the nearest moment to it is taken.  What is done stays at its recorded time.
    """
    if night.light_earliest is None or night.light_best is None or night.light_latest is None:
        raise ValueError("a night without a window has no plan")
    if night.lift is None or night.lift_latest is None:
        raise ValueError("a night with a window has a lift")
    lit = chain.progress.lit is not None
    smoke_h = filled_for_h(chain) if lit else (night.lift - night.light_best).total_seconds() / HOUR_S
    tree, notes = _tree(chain, smoke_h, seconds(night.lift_latest))
    domain = tree.leeway(Spans(((seconds(night.light_earliest), seconds(night.light_latest)),)))
    if isinstance(domain, Infeasible):
        return domain
    steps = _planned(chain, smoke_h, tree, domain, seconds(night.light_best), prefer)
    steps = tuple(replace(one, notes=notes.get(one.step.name, ())) for one in steps) if notes else steps
    salt_g, sugar_g = _cure_g(chain, steps)
    return Plan(
        batch=chain.batch,
        night=night,
        steps=steps,
        sawdust_g=chain.fill_g(smoke_h),
        salt_g=salt_g,
        sugar_g=sugar_g,
        cautions=cautions_of(chain),
        tentative=night.verdict is Verdict.BORDERLINE,
        drying=planned_drying(chain, steps),
    )


def _tree(chain: Chain, smoke_h: float, lift_latest: float) -> tuple[Tree, Mapping[str, tuple[str, ...]]]:
    """The tree, and what is to be said of its steps."""
    if chain.progress.lit is None:
        return chain.tree(smoke_h, lift_latest=lift_latest), {}
    found = after_lighting(chain, lift_latest=lift_latest)
    return found.tree, found.notes


def freezing_words(chain: Chain) -> str | None:
    """What is to be said of the freezing record; None where the process asks for none."""
    return None if chain.freezing is None else freezing_sentence(chain.freezing, chain.batch, chain.site)


def cautions_of(chain: Chain) -> tuple[str, ...]:
    """The keys of the process's cautions, and the sentence on this batch's freezing record."""
    words = freezing_words(chain)
    return chain.process.cautions if words is None else (*chain.process.cautions, words)


def _with_record(chain: Chain, step: Step) -> Step:
    """The freezing step, and the one it leads to, with the sentence on the record where no rule is met."""
    leads_to = [s.neighbour for s in chain.process.steps if s.name == FREEZE]
    words = freezing_words(chain)
    if words is None or chain.freezing is None or chain.freezing.settled or step.name not in (FREEZE, *leads_to):
        return step
    return replace(step, cautions=(*step.cautions, words))


def _cure_g(chain: Chain, steps: Sequence[PlannedStep]) -> tuple[float | None, float | None]:
    """Salt and sugar to weigh out [g]; None where the weight is unknown, or there is no salting ahead."""
    weight_g, cure = chain.batch.weight_g, chain.process.cure
    salting_ahead = any(one.step.name == SALT and not one.done for one in steps)
    if weight_g is None or cure is None or not salting_ahead:
        return None, None
    return weight_g * cure.salt_pct / 100.0, weight_g * cure.sugar_pct / 100.0


def _planned(
    chain: Chain,
    smoke_h: float,
    tree: Tree,
    domain: Mapping[str, Spans],
    light: float,
    prefer: Mapping[str, float] | None = None,
) -> tuple[PlannedStep, ...]:
    """Every step of the process that this batch has or had, in order of time, those done at an unknown time first."""
    evening_end = frozenset(s.name for s in chain.process.steps if s.prefer == "evening_end")
    at = tree.choose(domain, light, evening_end, prefer)
    history = chain.history(smoke_h)
    found = [
        _over(step, history.recorded.get(step.name))
        if step.name in history.over or step.name in history.reckoned
        else _step(_with_record(chain, step), at[step.name], domain[step.name], done=_is_done(chain, history, step, at))
        for step in chain.process.steps
        if step.name in history.over or step.name in at
    ]
    in_order = sorted(found, key=lambda one: -inf if one.at is None else one.at.timestamp())
    return tuple(one for one in in_order if not _looked_already(one, in_order))


def _over(step: Step, at: float | None) -> PlannedStep:
    """A step that is behind the batch, at its recorded time where it has one."""
    return PlannedStep(step, None if at is None else instant(at), (), done=True)


def _is_done(chain: Chain, history: History, step: Step, at: Mapping[str, float]) -> bool:
    """Whether somebody did it, or it has come about by itself; what is to be eaten has not."""
    lit = chain.progress.lit is not None
    by_itself = lit and not step.household and step.name != EAT_BY and at[step.name] <= chain.now
    return by_itself or step.name in history.done_at


def _looked_already(one: PlannedStep, others: Sequence[PlannedStep]) -> bool:
    """Whether a look at the end of the evening falls on the moment of another, which serves both, or after the lift."""
    if one.step.prefer != "evening_end" or one.at is None:
        return False
    beside = ((o.step.name, o.at) for o in others if o is not one and o.at is not None)
    return any(at == one.at or (name == LIFT and at < one.at) for name, at in beside)


def _step(step: Step, at: float, spans: Spans, *, done: bool) -> PlannedStep:
    """One step with its moments; one that was done has none left."""
    left = () if done else tuple((instant(a), instant(b)) for a, b in spans)
    return PlannedStep(step, instant(at), left, done=done)


def _ready(chain: Chain) -> float | Infeasible:
    """The earliest moment a tray could be lit with everything ready, weather aside."""
    _, domain = chain.weather_aside
    return domain if isinstance(domain, Infeasible) else domain[ANCHOR].first


def earliest_steps(chain: Chain) -> tuple[PlannedStep, ...]:
    """What to do, and when, to be ready at the earliest moment; empty where nothing can be made."""
    tree, domain = chain.weather_aside
    if isinstance(domain, Infeasible):
        return ()
    steps = _planned(chain, chain.site.duration_h, tree, domain, domain[ANCHOR].first)
    return tuple(step for step in steps if step.step.before)
