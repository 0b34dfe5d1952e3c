"""Why a night is what it is, in sentences.

They are part of the answer, so they are made here once, in the site's units and zone, and every face shows them.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from scheduler.household.units import show_difference, show_duration, show_rain_rate, show_speed, show_temperature
from scheduler.planning.answers import Verdict
from scheduler.planning.chamber_reasons import (
    chamber_decides,
    chamber_holds,
    chamber_misses,
    chamber_notes,
    cooler,
)
from scheduler.planning.clock import HOUR_S
from scheduler.planning.limits import TOLERANCE_C

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.household.site import Site
    from scheduler.planning.coarse import Doubt
    from scheduler.planning.curve import Periods
    from scheduler.planning.figures import Figures
    from scheduler.planning.limits import Weather
    from scheduler.planning.spans import Spans
    from scheduler.planning.windows import Smokes

NOBODY_HOME = "nobody is at home to light, check and lift a smoke in this night"
PAST = "the time to light it is past"
COOLEST, IN_COOLEST = "even the coolest window", "even in the coolest window"
ONLY, IN_ONLY = "its window", "in its window"
FREEZING_C = 0.0


def clock(site: Site, at: float) -> str:
    """Weekday and clock time in the site's zone."""
    return datetime.fromtimestamp(round(at), site.zone).strftime("%a %H:%M")


def too_old(age_s: float) -> str:
    """For a forecast past its use."""
    return f"the forecast is {show_duration(round(age_s / HOUR_S))} old; none older than 48 h decides a night"


def holds(site: Site, figures: Figures, chance: float, verdict: Verdict, doubt: Doubt | None) -> tuple[str, ...]:
    """For a night with a window: how the air keeps to the ceiling, and how likely that is."""
    decides, side = chamber_decides(site, figures), "over" if figures.margin_c < -TOLERANCE_C else "under"
    first = (
        f"the air peaks at {show_temperature(figures.peak_c, site.units)} ({clock(site, figures.peak_at)}),"
        f" {show_difference(abs(figures.margin_c), site.units)} {side} your ceiling"
    )
    likely = f"chance that the air stays under your ceiling: {percent(chance)}"
    if decides:
        first = chamber_holds(site, figures)
        likely = f"chance that the chamber stays under its limit: {percent(chance)}"
    if verdict is Verdict.NO:
        first, likely = f"{likely}; at least {percent(site.borderline_chance)} is wanted", first
    elif verdict is Verdict.BORDERLINE and chance < site.good_chance:
        likely = f"{likely}; {percent(site.good_chance)} would make it good"
    helps = [cooler(site, figures)] if decides and verdict is not Verdict.GOOD else []
    return (first, likely, *([doubt] if doubt else []), *helps, *_under_floor(site, figures), *_notes(site, figures))


def misses(site: Site, weather: Weather, figures: Figures | None, *, only: bool = False) -> tuple[str, ...]:
    """For a night in which no lighting meets every limit: what the one that misses by least fails on.

    only: the figures are of the one lighting that is asked about.
    """
    if figures is None and only:
        return ("its window is not wholly known, and what is known of it already misses a limit",)
    if figures is None:
        return ("no window of this night is wholly known, and what is known of each already misses a limit",)
    window, in_window = (ONLY, IN_ONLY) if only else (COOLEST, IN_COOLEST)
    chamber = tuple(chamber_misses(site, figures, in_window))
    found = [
        *_air_misses(site, figures, window),
        *chamber,
        *_period_misses(site, weather, figures),
        *([cooler(site, figures)] if chamber else []),
    ]
    return (*found, *_notes(site, figures)) or ("no lighting meets every limit at once",)


def _air_misses(site: Site, figures: Figures, window: str) -> Iterator[str]:
    """Ceiling and floor."""
    limits = site.limits
    if figures.peak_c > limits.ceiling_c + TOLERANCE_C:
        over = show_difference(figures.peak_c - limits.ceiling_c, site.units)
        yield (
            f"{window} reaches {show_temperature(figures.peak_c, site.units)}"
            f" ({clock(site, figures.peak_at)}), {over} over your ceiling"
        )
    yield from _under_floor(site, figures)


def _under_floor(site: Site, figures: Figures) -> Iterator[str]:
    """How cold it gets where that is under the floor."""
    floor_c = site.limits.floor_c
    if figures.low_c < floor_c + TOLERANCE_C:
        yield (
            f"the air falls to {show_temperature(figures.low_c, site.units)} ({clock(site, figures.low_at)}),"
            f" your floor is {show_temperature(floor_c, site.units)}"
        )


def _period_misses(site: Site, weather: Weather, figures: Figures) -> Iterator[str]:
    """Rain and gusts, where the site looks at them."""
    limits = site.limits
    if not site.rain_shelter and limits.rain_mm_per_h is not None:
        hardest = _hardest(weather.rain_rate, figures)
        if hardest is not None and hardest[0] > limits.rain_mm_per_h:
            rate, limit = (show_rain_rate(v, site.units) for v in (hardest[0], limits.rain_mm_per_h))
            yield f"rain of {rate} ({clock(site, hardest[1])}), your limit is {limit}"
    if limits.gust_ms is not None:
        hardest = _hardest(weather.gust, figures)
        if hardest is not None and hardest[0] > limits.gust_ms:
            gust, limit = (show_speed(v, site.units) for v in (hardest[0], limits.gust_ms))
            yield f"gusts of {gust} ({clock(site, hardest[1])}), your limit is {limit}"


def _hardest(periods: Periods, figures: Figures) -> tuple[float, float] | None:
    """The greatest known value in the window and the start of its period."""
    low, high = periods.times[:-1], periods.times[1:]
    touched = (high > figures.light) & (low < figures.lift) & ~np.isnan(periods.values[:-1])
    if not touched.any():
        return None
    at = int(np.argmax(np.where(touched, periods.values[:-1], -np.inf)))
    return float(periods.values[at]), float(max(low[at], figures.light))


def _notes(site: Site, figures: Figures) -> tuple[str, ...]:
    """What a person should know though it decides nothing."""
    frost = site.limits.floor_c + TOLERANCE_C <= figures.low_c < FREEZING_C
    falls = f"the air falls to {show_temperature(figures.low_c, site.units)}: below freezing, above your floor"
    return (*([falls] if frost else []), *chamber_notes(site, figures))


def unknown(site: Site, weather: Weather, possible: Smokes) -> tuple[str, ...]:
    """For a night that may have a window: what nobody knows."""
    start, end = possible.lightings.first, max(s.lift_of(s.end, possible.duration_s) for s in possible.stretches)
    found = [*_open_hours("air", weather.air.known().outside().between(start, end), site, weather)]
    looked_at = []
    if not site.rain_shelter and site.limits.rain_mm_per_h is not None:
        looked_at.append(("rain", weather.rain_rate))
    if site.limits.gust_ms is not None:
        looked_at.append(("gusts", weather.gust))
    for name, periods in looked_at:
        found.extend(_open_hours(name, periods.known().outside().between(start, end), site, weather))
    return tuple(found)


def _open_hours(what: str, spans: Spans, site: Site, weather: Weather) -> Iterator[str]:
    """A sentence for each stretch in which something is not known."""
    for start, end in spans:
        if end <= start:
            continue
        if start >= weather.end:
            yield f"the forecast ends {clock(site, weather.end)}, before every window of this night is over"
        else:
            yield f"the forecast does not say the {what} from {clock(site, start)} to {clock(site, end)}"


def percent(chance: float) -> str:
    """A chance as people say it."""
    return f"{100 * chance:.0f} %"
