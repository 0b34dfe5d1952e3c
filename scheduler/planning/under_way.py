"""A smoke under way: what is left to do, how the rest of its night looks, and whether it has to end early."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, LIFT
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import HOUR_S, MINUTE_S, instant
from scheduler.planning.coarse import without_whole
from scheduler.planning.lit import after_lighting
from scheduler.planning.nights import judge_smoke
from scheduler.planning.plan import plan_for
from scheduler.planning.windows import Smokes, Stretch

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from scheduler.household.process import Step
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.chain import Chain
    from scheduler.planning.nights import Search


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A batch whose tray is lit, by the newest forecast."""

    plan: Plan
    """Every step of it, those left to do with their leeway; where the smoke has to end early, with the early lift."""
    planned_lift: datetime
    """When it would be lifted, whatever the weather; when it was, once it is."""
    lift_by: datetime | None = None
    """The latest instant such that every limit surely holds from now until then; None where the planned lift is
    inside, where nothing known speaks against it, and once the food is lifted."""
    lift_by_at_home: datetime | None = None
    """The latest household moment from now to then; None where there is none."""
    missed: tuple[Step, ...] = ()
    """Steps after the lighting that nobody recorded and whose last moment is past; the plan has none of them."""

    @property
    def night(self) -> Night:
        """The night it was lit in, judged for what is left of the smoke, up to the planned lift.

        Once the food is lifted, for the whole smoke as far back as the forecast goes.
        """
        return self.plan.night


def under_way(chain: Chain, search: Search, *, prefer: Mapping[str, float] | None = None) -> UnderWay:
    """Follow a batch whose tray is lit; ValueError where it is not.

    prefer: times by step name, as for `plan_for`.
    """
    progress = chain.progress
    if progress.lit is None:
        raise ValueError("a smoke that is not lit is not under way")
    lit, lift = progress.lit, _planned_lift(chain, prefer)
    night = judge_smoke(search, lit, _judged_from(search, lit, lift), lift)
    holds = None if progress.lifted is not None else _holds_until(search, lift)
    by = at_home = None
    if progress.lifted is None:
        night = replace(night, lift_latest=instant(max(lift, _weather_ends(search, lift))))
    if holds is not None:
        by, at_home = instant(holds), _at_home(chain, holds)
    plan = plan_for(chain, night if by is None else replace(night, lift_latest=by), prefer=prefer)
    if isinstance(plan, Infeasible):
        raise ValueError("what follows a lighting always has a moment")
    missed = [
        step for step in after_lighting(chain).missed if progress.lifted is None or step.neighbour != ANCHOR
    ]  # who lifted the food need not look at its smoke
    return UnderWay(replace(plan, night=night, tentative=False), instant(lift), by, at_home, tuple(missed))


def _planned_lift(chain: Chain, prefer: Mapping[str, float] | None) -> float:
    """The lift as planned, weather aside."""
    tree, domain = chain.weather_aside
    if isinstance(domain, Infeasible):
        raise ValueError("what follows a lighting always has a moment")
    return tree.choose(domain, chain.progress.at[ANCHOR], frozenset(), prefer)[LIFT]


def _judged_from(search: Search, lit: float, lift: float) -> float:
    """Now, or the lift where that is over; once lifted, the first instant from which the forecast says the air."""
    if lift >= search.now:
        return max(lit, search.now)
    piece = search.weather.air.known().piece_at(lift)
    return lift if piece is None else max(lit, piece[0])


def _holds_until(search: Search, lift: float) -> float | None:
    """Until when every limit surely holds, from now on; None where nothing known speaks against the lift."""
    met, now = search.met, search.now
    if search.too_old or lift <= now:
        return None
    rest = Smokes(lift - now, (Stretch(now, now, lift),))
    if without_whole(rest.inside(met.perhaps), met.hot).stretches:
        return None
    piece = met.surely.piece_at(now) or met.perhaps.piece_at(now)
    until = now if piece is None else min(piece[1], lift)
    return max(now, until // MINUTE_S * MINUTE_S)


def _weather_ends(search: Search, lift: float) -> float:
    """Until when every limit surely holds after the lift; no end by a forecast that decides nothing."""
    if search.too_old:
        return search.weather.end + search.site.longest_h * HOUR_S
    piece = search.met.surely.piece_at(lift)
    return lift if piece is None else piece[1]


def _at_home(chain: Chain, by: float) -> datetime | None:
    """The latest moment from now to then at which somebody can lift."""
    hands_on_s = chain.process.step(LIFT).hands_on_min * MINUTE_S
    left = chain.at_home.shrink(hands_on_s).between(chain.now, by)
    return instant(left.last) if left else None
