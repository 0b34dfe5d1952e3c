"""What is on the pictures of the coming nights, taken from an answer, in the site's units."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from scheduler.faces.web.air_svg import AirPicture, NightMark, Strip
from scheduler.faces.wording import WEEKDAYS, clock, day_words, degrees, weekday_clock
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.quantity import INCH_MM, MILE_M
from scheduler.household.units import fahrenheit_from_celsius, show_temperature
from scheduler.planning.band import band_of
from scheduler.planning.clock import HOUR_S, night_bounds, on_clock
from scheduler.planning.curve import usable_steps
from scheduler.planning.limits import read_weather, without_bias
from scheduler.planning.warming import ceiling_with_fire_c
from scheduler.science.sun import sun_of_night

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

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

PX_PER_H, MOST_PX_PER_H, FILL_PX = 4.0, 8.0, 900.0
"""A night of many nights, and of few, which share a screen's width."""

CLOSE_PX = 314.0
"""How wide the one night is: with its margins it fits a phone."""

AFTER_LIFT_H = 2.0
TICK_H, LAST_TICK_H = 6, 66
"""Clock hours named under one night, counted from the midnight before it: a smoke ends long before the last."""


def nights_picture(answer: Answer) -> AirPicture | None:
    """The coming nights with the plan's window; None where the air of none is known."""
    question = answer.question
    weather, start = _weather(answer), question.now.timestamp()
    end = min(weather.end, start + LONGEST_H * HOUR_S)
    if end - start < HOUR_S:
        return None
    picture = _picture(answer, weather, (start, end), "nights", _px_per_h(end - start))
    if _is_blank(picture):
        return None
    words = _all_words(answer.nights, question.site)
    return replace(picture, title="Air outside against your ceiling, night by night", description=words)


def night_picture(answer: Answer, name: str) -> AirPicture | None:
    """The plan's own night from noon to noon, or to past the lift; None without a plan or its air."""
    plan, site = answer.choice.plan, answer.question.site
    window = None if plan is None else _planned(plan)
    if plan is None or window is None:
        return None
    start, end = night_bounds(plan.night.date, site.zone)
    span = (start, max(end, window[1].timestamp() + AFTER_LIFT_H * HOUR_S))
    picture = _picture(answer, _weather(answer), span, name, CLOSE_PX * HOUR_S / (span[1] - span[0]))
    if _is_blank(picture):
        return None
    return replace(
        picture,
        title=f"Air outside against your ceiling, {day_words(plan.night.date)}",
        description=_one_words(plan.night, window, site),
        nights=tuple(night for night in picture.nights if night.chosen),
        ticks=_ticks(span, site),
        peak=_peak(plan.night, site),
    )


def _px_per_h(span_s: float) -> float:
    return max(PX_PER_H, min(FILL_PX / (span_s / HOUR_S), MOST_PX_PER_H))


def _is_blank(picture: AirPicture) -> bool:
    return all(np.isnan(value) for _, value in picture.air)


def _weather(answer: Answer) -> Weather:
    """As the nights were judged."""
    return without_bias(read_weather(answer.question.forecast), answer.question.bias_c)


def _picture(answer: Answer, weather: Weather, span: tuple[float, float], name: str, px_per_h: float) -> AirPicture:
    """Everything that both pictures show."""
    site, (start, end) = answer.question.site, span
    times = weather.air.times
    when = np.unique(np.concatenate([[start, end], times[(times > start) & (times < end)]]))
    low, high = band_of(weather, when)
    ceiling_c = ceiling_with_fire_c(site)
    nights = [_night(night, site, answer.choice.plan) for night in _all_nights(answer)]
    return AirPicture(
        name=name,
        title="",
        description="",
        start=start,
        end=end,
        px_per_h=px_per_h,
        air=_points(when, weather.air.at(when)[:, 0], site),
        low=_points(when, low, site),
        high=_points(when, high, site),
        unit=show_temperature(0, site.units).split(" ")[1],
        ceiling=_shown(ceiling_c, site),
        ceiling_label=f"ceiling {show_temperature(ceiling_c, site.units)}",
        nights=tuple(night for night in nights if night.start < end and night.end > start),
        strips=_strips(weather, start, end, site),
    )


def _all_nights(answer: Answer) -> Sequence[Night]:
    """The coming nights; the plan's own in place of what a smoke lit now would find in it."""
    plan = answer.choice.plan
    if plan is None:
        return answer.nights
    return sorted((plan.night, *(one for one in answer.nights if one.date != plan.night.date)), key=_by_date)


def _by_date(night: Night) -> date:
    return night.date


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
    if window is None and night.verdict.is_offered and night.light_best is not None and night.lift is not None:
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


def _peak(night: Night, site: Site) -> tuple[float, float, str] | None:
    if night.peak_c is None or night.peak_at is None:
        return None
    return night.peak_at.timestamp(), _shown(night.peak_c, site), degrees(night.peak_c, site.units)


def _ticks(span: tuple[float, float], site: Site) -> tuple[tuple[float, str], ...]:
    """Every six hours by the clock of the place."""
    first = datetime.fromtimestamp(span[0], site.zone).date()
    moments = [on_clock(first, hour * 60, site.zone) for hour in range(0, LAST_TICK_H + 1, TICK_H)]
    return tuple((at, f"{datetime.fromtimestamp(at, site.zone):%H:%M}") for at in moments if span[0] <= at <= span[1])


def _strips(weather: Weather, start: float, end: float, site: Site) -> tuple[Strip, ...]:
    """Rain and gusts, where the forecast knows any."""
    us, limits = site.units == "us", site.limits
    rain_unit, gust_unit = (1 / INCH_MM, HOUR_S / MILE_M) if us else (1.0, 1.0)
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
    begins, ends, values = periods.times[:-1], periods.times[1:], periods.values[:-1]
    inside = (ends > start) & (begins < end) & ~np.isnan(values) & usable_steps(periods.times)
    rows = zip(begins[inside], ends[inside], values[inside], strict=True)
    return tuple((float(a), float(b), round(float(v) * per_si, 3)) for a, b, v in rows)


def _all_words(nights: Sequence[Night], site: Site) -> str:
    """The same in words, for who cannot see it."""
    found = [f"{day_words(night.date)} {night.verdict}{_peak_words(night, site)}" for night in nights]
    return f"{'; '.join(found)}. The table of nights says the same." if found else "No night is known."


def _one_words(night: Night, window: tuple[datetime, datetime], site: Site) -> str:
    light, lift = (weekday_clock(at, site.zone) for at in window)
    ceiling = show_temperature(ceiling_with_fire_c(site), site.units)
    verdict = f"{night.verdict}: lighting {light}, lift {lift}"
    return f"{verdict}{_peak_words(night, site)}; your ceiling is {ceiling}."


def _peak_words(night: Night, site: Site) -> str:
    if night.peak_c is None or night.peak_at is None:
        return ""
    return f", warmest {show_temperature(night.peak_c, site.units)} at {weekday_clock(night.peak_at, site.zone)}"
