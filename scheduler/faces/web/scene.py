"""What is on the picture of the coming nights, taken from an answer, in the site's units."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.faces.web.air_svg import AirPicture, NightMark, Strip
from scheduler.faces.wording import WEEKDAYS, clock, day_words, weekday_clock
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.units import fahrenheit_from_celsius, show_temperature
from scheduler.planning.answers import Verdict
from scheduler.planning.band import band_of
from scheduler.planning.clock import HOUR_S, night_bounds
from scheduler.planning.limits import read_weather
from scheduler.planning.warming import ceiling_with_fire_c
from scheduler.science.sun import sun_of_night

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from scheduler.faces.web.air_svg import Point
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.curve import Periods
    from scheduler.planning.limits import Weather
    from scheduler.service import Answer

    Floats = NDArray[np.float64]

LONGEST_H = 10 * 24.0
"""Further ahead a picture is no help: such forecasts are little better than the season's average."""

OFFERED = (Verdict.GOOD, Verdict.BORDERLINE)
MPH_PER_MS, MM_PER_IN = 1 / 0.44704, 25.4  # exact: NIST Special Publication 811, appendix B


def picture_of(answer: Answer, *, plan: Plan | None) -> AirPicture | None:
    """The coming nights with the plan's window; None where the air of none is known."""
    question = answer.question
    site, weather = question.site, read_weather(question.forecast)
    start = question.now.timestamp()
    end = min(weather.end, start + LONGEST_H * HOUR_S)
    if end - start < HOUR_S:
        return None
    when = np.unique(np.concatenate([[start, end], weather.air.times[(weather.air.times > start)
                                                                      & (weather.air.times < end)]]))  # fmt: skip
    low, high = band_of(weather, when)
    ceiling_c = ceiling_with_fire_c(site)
    nights = [_night(night, site, plan) for night in answer.nights if night_bounds(night.date, site.zone)[0] < end]
    return AirPicture(
        title="Air outside against your ceiling",
        description=_description(answer.nights, site),
        start=start,
        end=end,
        air=_points(when, weather.air.at(when)[:, 0], site),
        low=_points(when, low, site),
        high=_points(when, high, site),
        unit=show_temperature(0, site.units).split(" ")[1],
        ceiling=_shown(ceiling_c, site),
        ceiling_label=f"ceiling {show_temperature(ceiling_c, site.units)}",
        nights=tuple(nights),
        strips=_strips(weather, start, end, site),
    )


def _shown(c: float, site: Site) -> float:
    return fahrenheit_from_celsius(c) if site.units == "us" else c


def _points(when: Floats, values_c: Floats, site: Site) -> tuple[Point, ...]:
    return tuple((float(at), _shown(float(c), site)) for at, c in zip(when, values_c, strict=True))


def _night(night: Night, site: Site, plan: Plan | None) -> NightMark:
    """One night, with the plan's own times where it is the plan's."""
    start, end = night_bounds(night.date, site.zone)
    sun = sun_of_night(night.date, site.latitude_deg, site.longitude_deg, site.zone)
    chosen = plan is not None and plan.night.date == night.date
    window = None if not chosen or plan is None else _planned(plan)
    if window is None and night.verdict in OFFERED and night.light_best is not None and night.lift is not None:
        window = (night.light_best, night.lift)
    return NightMark(
        start=start,
        end=end,
        label=f"{WEEKDAYS[night.date.weekday()]} {night.date.day}",
        verdict=night.verdict,
        dark=None if sun.dusk is None or sun.dawn is None else (sun.dusk.timestamp(), sun.dawn.timestamp()),
        window=None if window is None else (window[0].timestamp(), window[1].timestamp()),
        window_label="" if window is None else f"{clock(window[0], site.zone)}–{clock(window[1], site.zone)}",
        chosen=chosen,
    )


def _planned(plan: Plan) -> tuple[datetime, datetime] | None:
    at = {planned.step.name: planned.at for planned in plan.steps}
    light, lift = at.get(ANCHOR), at.get(LIFT)
    return None if light is None or lift is None else (light, lift)


def _strips(weather: Weather, start: float, end: float, site: Site) -> tuple[Strip, ...]:
    """Rain and gusts, where the forecast knows any."""
    us, limits = site.units == "us", site.limits
    rain_unit, gust_unit = (1 / MM_PER_IN, MPH_PER_MS) if us else (1.0, 1.0)
    rain_limit = None if site.rain_shelter else limits.rain_mm_per_h
    made = (
        Strip(f"rain, {'in' if us else 'mm'}/h", _bars(weather.rain_rate, start, end, rain_unit), 0.1 if us else 2.0,
              None if rain_limit is None else rain_limit * rain_unit),
        Strip(f"gusts, {'mph' if us else 'm/s'}", _bars(weather.gust, start, end, gust_unit), 20.0 if us else 10.0,
              None if limits.gust_ms is None else limits.gust_ms * gust_unit),
    )  # fmt: skip
    return tuple(strip for strip in made if strip.bars)


def _bars(periods: Periods, start: float, end: float, per_si: float) -> tuple[tuple[float, float, float], ...]:
    """Periods in the picture whose amount is known."""
    ends = np.append(periods.times[1:], periods.times[-1] + HOUR_S)
    inside = (ends > start) & (periods.times < end) & ~np.isnan(periods.values)
    rows = zip(periods.times[inside], ends[inside], periods.values[inside], strict=True)
    return tuple((float(a), float(b), round(float(v) * per_si, 3)) for a, b, v in rows)


def _description(nights: Sequence[Night], site: Site) -> str:
    """The same in words, for who cannot see it."""
    found = []
    for night in nights:
        peak = ""
        if night.peak_c is not None and night.peak_at is not None:
            at = weekday_clock(night.peak_at, site.zone)
            peak = f", warmest {show_temperature(night.peak_c, site.units)} at {at}"
        found.append(f"{day_words(night.date)} {night.verdict}{peak}")
    return f"{'; '.join(found)}. The table of nights below says the same." if found else "No night is known."
