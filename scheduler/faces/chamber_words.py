"""The chamber of a night and the food in it, in words: how warm, and for how long."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.wording import listed, plural, weekday_clock
from scheduler.household.units import show_difference, show_duration, show_temperature
from scheduler.science.chamber import LIMIT_C
from scheduler.science.exposure import BESIDE, CAVEAT, EDGES_C

if TYPE_CHECKING:
    from scheduler.faces.terminal import Page
    from scheduler.household.site import Site
    from scheduler.household.units import Units
    from scheduler.planning.answers import Night, Plan
    from scheduler.science.exposure import Exposure
    from scheduler.service import Question

FOOD_HOURS = "How long the food is how warm: information, not a clearance"
PUBLISHED = f"{BESIDE.text} ({BESIDE.source})"

SHORTEST_SHOWN_H = 1.0 / 120.0
"""Half a minute: less is not a stretch that anybody would count."""


def chamber_words(night: Night, site: Site) -> str:
    """Its range with a typical rise, and its warmest with the high end of it; empty where it is not known."""
    chamber, units = night.chamber, site.units
    if chamber is None:
        return ""
    low, high = (show_temperature(c, units) for c in (chamber.low_c, chamber.peak_c))
    rise = show_difference(chamber.fire_k, units)
    sun = f", {show_difference(chamber.sun_k, units)} more from the sun" if chamber.sun_k > 0.0 else ""
    if site.chamber.rise_k is not None:
        return f"{low} to {high} ({weekday_clock(chamber.peak_at, site.zone)}), with your measured rise of {rise}{sun}"
    most = show_temperature(chamber.high_c, units)
    return (
        f"about {low} to {high} ({weekday_clock(chamber.peak_at, site.zone)}), {rise} above the air with"
        f" {plural(site.tray.fronts, 'front')} (our estimate){sun}; up to {most} if it burns hot"
    )


def margin_words(night: Night, site: Site) -> str:
    """How far the air stays under the ceiling, or under what the chamber leaves of it."""
    if night.margin_c is None:
        return ""
    margin, ceiling = show_difference(night.margin_c, site.units), show_temperature(night.ceiling_c, site.units)
    if night.ceiling_c < site.limits.ceiling_c:
        return f"{margin} under {ceiling}, which the chamber's limit of {show_temperature(LIMIT_C, site.units)} leaves"
    return f"{margin} under your ceiling of {ceiling}"


def chance_of_what(night: Night, site: Site) -> str:
    """What the chance is the chance of."""
    if night.ceiling_c < site.limits.ceiling_c:
        return "that the chamber stays under its limit"
    return "that the air stays under your ceiling"


def band_words(hours: Exposure, units: Units) -> str:
    """Such as "10 h up to 5.0 °C and 2 h from 5.0 °C to 10.0 °C"; bands that hold nothing are left out."""
    cold, cool, mild = (show_temperature(edge, units) for edge in EDGES_C)
    bands = (
        (hours.cold_h, f"up to {cold}"),
        (hours.cool_h, f"from {cold} to {cool}"),
        (hours.mild_h, f"from {cool} to {mild}"),
        (hours.warm_h, f"above {mild}"),
        (hours.unknown_h, "not known"),
    )
    return listed(f"{show_duration(h)} {band}" for h, band in bands if h >= SHORTEST_SHOWN_H)


def food_words(plan: Plan, question: Question) -> dict[str, str]:
    """Hours in each band by the name of the stretch, for food that is cured; empty where nothing is known of them."""
    found, units, fridge_c = plan.food_hours, question.site.units, question.site.fridge_c
    if found is None or question.process.cure is None:
        return {}
    fridge = "which nobody measured" if fridge_c is None else show_temperature(fridge_c, units)
    stretches = {
        "thaw": (found.thaw, f"in the fridge, {fridge}"),
        "rest": (found.rest, f"in the fridge, {fridge}"),
        "smoke": (found.smoke, "taken as warm as the chamber"),
        "chill": (found.chill, "in the fridge"),
    }
    return {name: f"{band_words(hours, units)}, {where}" for name, (hours, where) in stretches.items() if hours}


def say_food_hours(page: Page, plan: Plan, question: Question) -> None:
    """Hours in each band beside what is published: information, and no more."""
    found = food_words(plan, question)
    if not found:
        return
    page.heading(FOOD_HOURS)
    for name, text in found.items():
        page.fact(name, text)
    page.fact("beside", PUBLISHED)
    page.fact("", CAVEAT)
