"""The next spell in which a tray's worth of sawdust dries: when to soak, when to spread, and how its moisture falls."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from scheduler.household.process import ANCHOR
from scheduler.planning.backward import Infeasible, Tree
from scheduler.planning.clock import MINUTE_S, instant, seconds
from scheduler.planning.drying_plan import PlannedDrying, dried_in
from scheduler.planning.drying_spell import LAYER, Spell
from scheduler.planning.spans import ALWAYS, Spans
from scheduler.science.drying import QUICK_SHARE, SLOW_SHARE, dried

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from scheduler.planning.chain import Chain

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DayEnd:
    """Moisture at the end of one day; what is ready is brought in and stays as it is."""

    day: date
    quick: float
    usual: float
    slow: float


@dataclass(frozen=True, slots=True)
class NextSpell:
    """Sawdust begun from now: the first that dries, or what becomes of the first that can be spread."""

    dries: bool
    """Whether it usually is dry before the known weather ends, with somebody at home for each step."""
    at: tuple[tuple[str, datetime], ...]
    """The steps of the sawdust up to the spreading, in order of time: their names, and when to start."""
    drying: PlannedDrying
    out_h: int
    """Hours it lies in the open until it is dry, or until the known weather ends."""
    moisture: float
    """When the known weather ends; at most ready where it dries."""
    days: tuple[DayEnd, ...]
    """From the day it is spread to the day on which even the slow one is dry, or the known weather ends."""


def next_spell(chain: Chain) -> NextSpell | Infeasible | None:
    """The first batch that dries, else the first that can be spread; what is in the way; None: nothing is known."""
    step, spell = chain.drying_step, chain.drying
    if step is None or spell is None:
        return None
    chosen = _first(chain)
    if isinstance(chosen, Infeasible) or _dry_at(spell, chosen[step.name], step.hands_on_min) > spell.known_until:
        chosen = _first(replace(chain, forecast=None))
    if isinstance(chosen, Infeasible):
        return chosen
    drying = dried_in(spell, step.name, chosen[step.name] + step.hands_on_min * MINUTE_S)
    spread = seconds(drying.spread)
    names = {one.name for one in chain.behind(step)} | {step.name}
    dries = drying.dry is not None and seconds(drying.dry) <= spell.known_until
    return NextSpell(
        dries=dries,
        at=tuple((name, instant(at)) for name, at in sorted(chosen.items(), key=lambda one: one[1]) if name in names),
        drying=drying,
        out_h=_out_h(spell, spread, seconds(drying.dry) if dries and drying.dry else spell.known_until),
        moisture=spell.moisture_at_end(spread),
        days=course(spell, spread),
    )


def _dry_at(spell: Spell, at: float, hands_on_min: float) -> float:
    return spell.usual.times.ready_at(at + hands_on_min * MINUTE_S)


def _first(chain: Chain) -> dict[str, float] | Infeasible:
    """Start of each step of the sawdust when all is done as early as can be."""
    whole = chain.tree(chain.site.duration_h)
    names = {s.name for s in chain.process.steps if s.branch == "sawdust"}
    own = {name: spans for name, spans in whole.own.items() if name in names}
    tree = Tree(
        tuple(link for link in whole.links if link.name in names), {**own, ANCHOR: Spans(((chain.now, chain.until),))}
    )
    domain = tree.leeway(ALWAYS)
    return domain if isinstance(domain, Infeasible) else tree.choose(domain, domain[ANCHOR].first, frozenset())


def _out_h(spell: Spell, start: float, end: float) -> int:
    hours = spell.hours
    return int((hours.weather.out & (hours.start_s >= start) & (hours.start_s < end)).sum())


def course(spell: Spell, start: float) -> tuple[DayEnd, ...]:
    """Moisture by day of what is spread then (seconds since 1970 UTC)."""
    hours, shares = spell.hours, np.array([QUICK_SHARE, LAYER.share, SLOW_SHARE])
    moisture = np.full(len(shares), LAYER.start)
    ends: dict[int, Floats] = {}
    for step in np.flatnonzero((hours.start_s >= start) & (hours.start_s < spell.known_until)):
        wet = moisture > LAYER.ready
        if not wet.any():
            break
        if hours.weather.out[step]:
            water = hours.weather.evaporation_mm[step] * shares / LAYER.share
            moisture = np.where(wet, dried(moisture, hours.weather.air_moisture[step], water, 1.0, LAYER), moisture)
        ends[int(hours.day[step])] = moisture
    return tuple(DayEnd(date.fromordinal(day), *map(float, values)) for day, values in ends.items())


def spread_area_m2(fill_g: float) -> float:
    """The area that so much dry sawdust is spread on."""
    return fill_g / 1000.0 / LAYER.dry_kg_m2
