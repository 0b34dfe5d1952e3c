"""What a night's reasons say of the chamber and of the wind on the tray, in the site's units and zone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.household.site_values import SHORTEST_SMOKE_H
from scheduler.household.units import show_difference, show_speed, show_temperature
from scheduler.planning.limits import TOLERANCE_C
from scheduler.science.chamber import ADVICE, HUMID_PCT, LIMIT_C, NOTE_C, advice
from scheduler.science.smoulder import CALM_MS, STRONG_MS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from scheduler.household.site import Site
    from scheduler.planning.chamber_figures import InChamber
    from scheduler.planning.figures import Figures


def chamber_decides(site: Site, figures: Figures) -> bool:
    """Whether the chamber's limit leaves less than the site's ceiling, where the margin is least."""
    return figures.ceiling_c < site.limits.ceiling_c


def chamber_holds(site: Site, figures: Figures) -> str:
    """How the chamber keeps to its limit, where that decides."""
    side = "over" if figures.margin_c < -TOLERANCE_C else "under"
    margin = show_difference(abs(figures.margin_c), site.units)
    return f"{_would_reach(site, figures.chamber)}, {margin} {side} its limit of {_limit(site)}"


def chamber_misses(site: Site, figures: Figures, where: str) -> Iterator[str]:
    """By how much the chamber is over its limit, in which window."""
    over = figures.chamber.peak_c - LIMIT_C
    if over > TOLERANCE_C:
        yield (
            f"{where} {_would_reach(site, figures.chamber)},"
            f" {show_difference(over, site.units)} over its limit of {_limit(site)}"
        )


def cooler(site: Site, figures: Figures) -> str:
    """What would keep the chamber cooler."""
    found = advice(site.tray.fronts, in_sun=figures.chamber.sun_k > 0.0)
    helps = [ADVICE[one] for one in found if one != "shorter" or site.duration_h > SHORTEST_SMOKE_H]
    return f"what keeps the chamber cooler: {' '.join(helps)}"


def chamber_notes(site: Site, figures: Figures) -> Iterator[str]:
    """What a person should know of the chamber and the wind though it decides nothing."""
    chamber = figures.chamber
    if NOTE_C < chamber.peak_c <= LIMIT_C + TOLERANCE_C:
        note = show_temperature(NOTE_C, site.units)
        yield f"{_would_reach(site, chamber)}: cold smoking is under {note} as a research institute defines it (Nofima)"
    if chamber.high_c > LIMIT_C >= chamber.peak_c:
        yield (
            f"if the fire burns hot, the chamber may reach {show_temperature(chamber.high_c, site.units)}, over its"
            f" limit of {_limit(site)}: look at its thermometer"
        )
    if chamber.cloud_unknown:
        yield "the forecast does not say the cloud while the sun is on the chamber: taken as a clear sky"
    if chamber.humidity_pct is not None and chamber.humidity_pct > HUMID_PCT:
        yield (
            f"the air in the chamber would hold {chamber.humidity_pct:.0f} % humidity"
            f" ({_clock(site, chamber.humidity_at)}): above {HUMID_PCT:.0f} %, which cold smoking needs it"
            " to stay under (University of Alaska Fairbanks Extension, second hand)"
        )
    yield from _wind_notes(site, figures)


def _wind_notes(site: Site, figures: Figures) -> Iterator[str]:
    """Too little air and the fire dies, too much and it flames."""
    gust, wind = figures.lighting_gust_ms, figures.wind_ms
    if gust is not None and gust >= STRONG_MS:
        yield (
            f"gusts of {show_speed(gust, site.units)} at the lighting: too much air makes the tray flame,"
            " so shield the inlet"
        )
    elif wind is not None and wind < CALM_MS:
        yield "no wind at the lighting: with too little air the tray goes out, so open the inlet and look again"


def _would_reach(site: Site, chamber: InChamber) -> str:
    """The warmest of the chamber, when, and what makes it so."""
    rise = show_difference(chamber.fire_k, site.units)
    fronts = site.tray.fronts
    fire = f"{rise} from {'one front' if fronts == 1 else f'{fronts} fronts'}"
    if site.chamber.rise_k is not None:
        fire = f"{rise}, the rise that you measured"
    sun = f" and {show_difference(chamber.sun_k, site.units)} from the sun" if chamber.sun_k > 0.0 else ""
    at = _clock(site, chamber.peak_at)
    return f"the chamber would reach {show_temperature(chamber.peak_c, site.units)} at {at} ({fire}{sun})"


def _limit(site: Site) -> str:
    return show_temperature(LIMIT_C, site.units)


def _clock(site: Site, at: datetime) -> str:
    return at.astimezone(site.zone).strftime("%a %H:%M")
