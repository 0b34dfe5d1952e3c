"""What the weather at a planned time asks of a step, and how long the food of a plan is how warm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isnan
from typing import TYPE_CHECKING

import numpy as np

from scheduler.household.process import ANCHOR, LIFT, SALT
from scheduler.household.units import show_duration, show_temperature
from scheduler.planning.chain import BURN_OUT
from scheduler.planning.chamber_figures import in_chamber
from scheduler.planning.clock import HOUR_S, seconds
from scheduler.planning.reasons import clock
from scheduler.science.air import humidity_after_warming, standing
from scheduler.science.exposure import Exposure, exposure
from scheduler.science.hazards import OUT_OF_FRIDGE_LIMIT_H
from scheduler.science.smoulder import burn_time, tray_rate

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.site import Site
    from scheduler.planning.answers import Plan, PlannedStep
    from scheduler.planning.warming import Warming
    from scheduler.science.air import Standing

LOAD, THAW = "load", "thaw"
FROM_FRIDGE = "fridge"
"""Caution of a process whose food comes out of the fridge."""

FRIDGE_ASSUMED_C = 4.0
"""Where nobody measured: our assumption, near the 40 °F that a fridge should hold."""
PIECE_MM = 25.0
"""How thick a piece is taken to be: our assumption."""


@dataclass(frozen=True, slots=True)
class FoodHours:
    """Hours that the food of a plan spends in each band of temperature; information, never a clearance."""

    thaw: Exposure | None
    """In the fridge from the start of the thaw to the cure, taken as warm as the fridge all along."""
    rest: Exposure | None
    """In the fridge before the smoke; unknown where nobody measured it, None where that is over or not part of it."""
    smoke: Exposure
    """From lighting to lift, taken as warm as the chamber with a typical rise."""
    chill: Exposure | None
    """In the fridge from the lift to the slicing."""


def with_notes(plan: Plan, warming: Warming, site: Site) -> Plan:
    """The plan with what its own times ask for."""
    steps = tuple(_noted(planned, plan, warming, site) for planned in plan.steps)
    return replace(plan, steps=steps, food_hours=_food_hours(plan, warming, site))


def _noted(planned: PlannedStep, plan: Plan, warming: Warming, site: Site) -> PlannedStep:
    """The loading and the end of the fire, as far as there is something to say of them."""
    if planned.done or planned.at is None:
        return planned
    if planned.step.name == LOAD and FROM_FRIDGE in plan.cautions:
        return _loading(planned, seconds(planned.at), warming, site)
    return _burnt_out(planned, plan, site) if planned.step.name == BURN_OUT else planned


def _burnt_out(planned: PlannedStep, plan: Plan, site: Site) -> PlannedStep:
    """When the tray is out at the earliest and usually; the step itself stands at the latest."""
    light = next((each.at for each in plan.steps if each.step.name == ANCHOR), None)
    light = light if plan.batch.relit is None else plan.batch.relit
    if light is None or plan.sawdust_g is None:
        return planned
    burn = burn_time(plan.sawdust_g, site.tray.fronts, tray_rate(site.tray.g_per_h))
    by = "our estimate" if site.tray.g_per_h is None else "by your own smokes"
    earliest, usually = (clock(site, seconds(light) + hours * HOUR_S) for hours in (burn.shortest_h, burn.usual_h))
    return replace(planned, notes=(f"At the earliest it is out by {earliest}, usually by {usually} ({by}).",))


def _loading(planned: PlannedStep, at: float, warming: Warming, site: Site) -> PlannedStep:
    """Whether food from the fridge would sweat in the air of that moment."""
    when = np.array([at])
    air, dew = (float(curve.at(when)[0, 0]) for curve in (warming.weather.air, warming.weather.dewpoint))
    if isnan(air) or isnan(dew):
        return planned
    fridge_c = FRIDGE_ASSUMED_C if site.fridge_c is None else site.fridge_c
    found = standing(fridge_c, air, float(humidity_after_warming(dew, 100.0, air)), PIECE_MM)
    return replace(planned, notes=(_sweat_words(found, fridge_c, site),)) if found.sweats else planned


def _sweat_words(found: Standing, fridge_c: float, site: Site) -> str:
    """That it sweats, and how long it stands until it no longer does."""
    dew, fridge = (show_temperature(c, site.units) for c in (found.dewpoint_c, fridge_c))
    fridge += " (assumed, nobody measured)" if site.fridge_c is None else ""
    limit = show_duration(OUT_OF_FRIDGE_LIMIT_H)
    sweats = f"Food from a fridge at {fridge} sweats in this air, whose dew point is {dew}"
    if found.shortest_h >= OUT_OF_FRIDGE_LIMIT_H:
        return f"{sweats}; no standing within the {limit} out of the fridge in all would end that."
    shortest = show_duration(found.shortest_h)
    until = (
        f"{shortest} to {show_duration(found.longest_h)}"
        if found.longest_h <= OUT_OF_FRIDGE_LIMIT_H
        else f"{shortest} or more"
    )
    piece = f"a piece {PIECE_MM:.0f} mm thick is past that after {until}"
    return f"{sweats}: let it stand covered first; {piece}, within {limit} out of the fridge in all."


def _food_hours(plan: Plan, warming: Warming, site: Site) -> FoodHours | None:
    """By the plan's own lighting and lift; None where the food is lifted."""
    at = {planned.step.name: planned.at for planned in plan.steps}
    light, lift = at.get(ANCHOR), at.get(LIFT)
    if light is None or lift is None or any(one.done and one.step.name == LIFT for one in plan.steps):
        return None
    smoke = in_chamber(warming, seconds(light), seconds(lift)).exposure
    if FROM_FRIDGE not in plan.cautions:
        return FoodHours(None, None, smoke, None)
    by_name = {planned.step.name: planned for planned in plan.steps}
    leads = next(
        (p for p in plan.steps if p.step.neighbour == ANCHOR and p.step.before and p.step.branch == "food"), None
    )
    sliced = next((p for p in plan.steps if p.step.neighbour == LIFT and p.step.wait is not None), None)
    return FoodHours(
        thaw=_in_fridge(by_name.get(THAW), at.get(SALT), site),
        rest=_in_fridge(leads, light, site),
        smoke=smoke,
        chill=_in_fridge(by_name[LIFT], None if sliced is None else sliced.at, site),
    )


def _in_fridge(planned: PlannedStep | None, until: datetime | None, site: Site) -> Exposure | None:
    """From the end of a step's hands-on time until a moment; None where either is over, not known, or no part of it."""
    if planned is None or planned.at is None or until is None:
        return None
    hours = np.array([0.0, (seconds(until) - seconds(planned.at)) / HOUR_S - planned.step.hands_on_min / 60.0])
    fridge_c = np.nan if site.fridge_c is None else site.fridge_c
    return exposure(hours, np.array([fridge_c, fridge_c])) if hours[1] > 0.0 else None
