"""How fast the household's own tray burns, and how much warmer its chamber is than the porch, for each front."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import lru_cache
from statistics import median
from typing import TYPE_CHECKING

from scheduler.journal.learn_smokes import Thermometer
from scheduler.journal.learn_value import DOUBLE, HALF, Figure, Rule, learned_value
from scheduler.science.chamber import fire_rise
from scheduler.science.smoulder import USUAL_G_PER_H, own_rate
from scheduler.science.sun import sun_of_night

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.household.site import Site
    from scheduler.journal.learn_smokes import Smoke
    from scheduler.journal.state import SiteState

HOUR = timedelta(hours=1)

BURN = Rule(shipped=USUAL_G_PER_H, low=HALF * USUAL_G_PER_H, high=DOUBLE * USUAL_G_PER_H, drawn_by=3.0, apart=4.0)
"""Dry sawdust that one front burns [g/h]."""

BURNT_OUT_SHARE = 0.05
"""Of the fill: with less left at the lift the fire may have been out for hours, and nobody knows its rate."""
UNSEEN_SHARE = 0.25
"""Of the smoke: a fire relit later than this may have been out for too long to tell its rate."""

TOGETHER = timedelta(minutes=15)
"""Readings in the chamber and at the porch that count as made at one moment."""
SETTLES = HOUR
"""A small chamber follows its fire within the hour."""

RISE_DRAWN_BY, RISE_APART_SHARE, RISE_FEWEST = 5.0, 0.5, 5
"""Of the chamber's rise: n0, how far nights lie apart as a share of the rise, and the fewest nights that replace it."""


def burn_rate(found: Sequence[Smoke], fronts: int) -> Figure:
    """Grams that one front burns in an hour, by sawdust in and left, over smokes with this many fronts."""
    told = [(smoke, smoke.sawdust_g, smoke.left_g) for smoke in found]
    both = [(smoke, fill, left) for smoke, fill, left in told if fill is not None and left is not None]
    rates = [_rate(smoke, fill, left, fronts) for smoke, fill, left in both]
    known = [rate for rate in rates if rate is not None]
    return learned_value(BURN, known, len(rates) - len(known))


def _rate(smoke: Smoke, fill_g: float, left_g: float, fronts: int) -> float | None:
    """Grams an hour; None where the records do not say for how long it burnt."""
    whole = smoke.lift - smoke.light
    burning = smoke.lift - (smoke.light if smoke.relit is None else smoke.relit)
    if not BURNT_OUT_SHARE * fill_g <= left_g < fill_g or whole - burning > UNSEEN_SHARE * whole:
        return None
    return own_rate(fill_g - left_g, burning / HOUR, fronts).usual


def rise_rule(site: Site) -> Rule:
    """The shipped rise is worked out for the chamber's walls and size, so its rule is as well."""
    box = site.chamber
    shipped = fire_rise(1, box.volume_l / 1000.0, box.material).typical
    return Rule(shipped, HALF * shipped, DOUBLE * shipped, RISE_DRAWN_BY, RISE_APART_SHARE * shipped, RISE_FEWEST)


def chamber_rise(state: SiteState, found: Iterable[Smoke], site: Site) -> Figure:
    """Kelvin that one front adds: chamber less porch at the same moments, the median of each smoke's."""
    chamber, porch = (Thermometer.of(state.readings, where) for where in ("chamber", "porch"))
    nights = [_rises(smoke, chamber, porch, site) for smoke in found]
    return learned_value(rise_rule(site), [median(rises) / site.tray.fronts for rises in nights if rises])


def _rises(smoke: Smoke, chamber: Thermometer, porch: Thermometer, site: Site) -> list[float]:
    """Every reading of one smoke that has a companion, the sun not on the chamber, the fire burning for an hour."""
    since = smoke.light if smoke.relit is None else smoke.relit
    pairs = [
        (c, porch.nearest(at, TOGETHER))
        for at, c in chamber.between(since + SETTLES, smoke.lift)
        if site.sun_shelter or _is_dark(at, site)
    ]
    return [inside - outside for inside, outside in pairs if outside is not None]


def _is_dark(moment: datetime, site: Site) -> bool:
    """Whether the sun is well down; where dusk or dawn is not to be had, nobody knows, and it counts as up."""
    local = moment.astimezone(site.zone)
    night = (local if local.hour >= 12 else local - timedelta(days=1)).date()
    sun = _sun(night, site.latitude_deg, site.longitude_deg, site.zone)
    return sun.dusk is not None and sun.dawn is not None and sun.dusk <= moment <= sun.dawn


_sun = lru_cache(maxsize=512)(sun_of_night)  # a probe reads every minute of a night
