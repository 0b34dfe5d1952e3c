"""The coming nights and what each is worth: for people, as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.chamber_words import band_words, chamber_words
from scheduler.faces.chart import LINE, MARKS, WINDOW, ChartNight, chart
from scheduler.faces.forecast_lines import say_forecast, say_invented
from scheduler.faces.next_report import sun_words
from scheduler.faces.process_words import smoke_words
from scheduler.faces.terminal import GLUE, Page, visible_width
from scheduler.faces.wording import (
    UNKNOWN,
    WEEKDAYS,
    clock,
    clock_span,
    day_words,
    degrees,
    listed,
    long_span,
    one_line,
    percent,
    plural,
    span_list,
    weekday_clock,
    when,
)
from scheduler.household.units import show_difference, show_rain, show_rain_rate, show_speed, show_temperature
from scheduler.planning.answers import Verdict
from scheduler.planning.clock import night_bounds
from scheduler.planning.warming import ceiling_with_fire_c
from scheduler.science.chamber import LIMIT_C

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from scheduler.planning.answers import Night
    from scheduler.service import Question

COLUMNS = ("night", "verdict", "light", "lift", "peak", "low", "margin", "chance")
RIGHT = (4, 5, 6, 7)
"""Columns of numbers."""


def nights_report(question: Question, nights: Sequence[Night], *, why: bool, width: int, colour: bool) -> str:
    """Lines of at most `width` columns; `why` adds what each verdict rests on."""
    page = Page.of(width, colour=colour)
    page.say(count_words(nights), style="strong")
    say_invented(page, question)
    _say_limits(page, question)
    if nights:
        _say_chart(page, nights, question)
        _say_nights(page, nights, question, why=why)
        page.gap()
        page.say("This is the weather alone: `smokenight next` says which of these nights you can be ready for.")
    say_forecast(page, question)
    return page.text()


def count_words(nights: Sequence[Night]) -> str:
    """How many are good, and which comes first."""
    good = [night for night in nights if night.verdict is Verdict.GOOD]
    others = [
        f"{sum(night.verdict is verdict for night in nights)} {verdict}"
        for verdict in (Verdict.BORDERLINE, Verdict.UNKNOWN)
        if any(night.verdict is verdict for night in nights)
    ]
    rest = f"; {listed(others)}" if others else ""
    if not nights:
        return "This forecast holds no coming night."
    if not good:
        return f"None of the {plural(len(nights), 'coming night')} is good{rest}."
    verb = "is" if len(good) == 1 else "are"
    return f"{len(good)} of {plural(len(nights), 'coming night')} {verb} good, first {day_words(good[0].date)}{rest}."


def _say_limits(page: Page, question: Question) -> None:
    """What the nights are measured against."""
    site, limits = question.site, question.site.limits
    found = [
        f"air from {show_temperature(limits.floor_c, site.units)} to {show_temperature(limits.ceiling_c, site.units)}"
    ]
    if limits.gust_ms is not None:
        found.append(f"gusts to {show_speed(limits.gust_ms, site.units)}")
    if limits.rain_mm_per_h is not None and not site.rain_shelter:
        found.append(f"rain to {show_rain_rate(limits.rain_mm_per_h, site.units)}")
    if not site.sun_shelter or ceiling_with_fire_c(site) < limits.ceiling_c:
        found.append(f"chamber to {show_temperature(LIMIT_C, site.units)}")
    hours = str(site.lighting_hours).replace("-", "–")
    page.gap()
    page.fact("site", one_line(site.name))
    page.fact("asked", when(question.now, site.zone))
    page.fact("smoke", f"{long_span(site.duration_h)}, lit {hours}; {', '.join(found)}")
    if own_smoke := smoke_words(question):
        page.fact("", own_smoke)


def _say_chart(page: Page, nights: Sequence[Night], question: Question) -> None:
    """The air of all nights against the ceiling."""
    units = question.site.units
    drawn = chart([_chart_night(night, question) for night in nights], ceiling_with_fire_c(question.site),
                  lambda c: degrees(c, units), page.width, page.ink)  # fmt: skip
    if not drawn:
        return
    page.heading(f"Air outside and your ceiling, {show_temperature(0, units).split(' ')[1]}")
    page.lines += drawn
    marks = ", ".join(f"{MARKS[verdict]}{GLUE}{verdict}" for verdict in Verdict)
    page.say(f"{LINE * 2} your ceiling, {WINDOW * 2} best lighting to lift; {marks}", style="quiet")


def _chart_night(night: Night, question: Question) -> ChartNight:
    from scheduler.faces.air import air_at

    start, end = night_bounds(night.date, question.site.zone)

    def share(moment: datetime) -> float:
        return (moment.timestamp() - start) / (end - start)

    window = None
    if night.verdict.is_offered and night.light_best is not None and night.lift is not None:
        window = (share(night.light_best), share(night.lift))
    return ChartNight(
        labels=(WEEKDAYS[night.date.weekday()], str(night.date.day)),
        verdict=night.verdict,
        air=lambda shares: [float(c) for c in air_at(question, [start + (end - start) * s for s in shares])],
        window=window,
    )


def _say_nights(page: Page, nights: Sequence[Night], question: Question, *, why: bool) -> None:
    """A table where it fits, else one block a night."""
    rows = [night_cells(night, question) for night in nights]
    widths = [max(map(visible_width, column)) for column in zip(COLUMNS, *rows, strict=True)]
    page.heading(f"Nights, air in {show_temperature(0, question.site.units).split(' ')[1]}")
    if sum(widths) + 2 * (len(widths) - 1) > page.width:
        for night, cells in zip(nights, rows, strict=True):
            _say_block(page, night, cells, question, why=why)
        return
    page.row([page.ink("quiet", name) for name in COLUMNS], widths, RIGHT)
    for night, cells in zip(nights, rows, strict=True):
        page.row([page.ink("strong", cells[0]), page.ink(night.verdict, cells[1]), *cells[2:]], widths, RIGHT)
        _say_details(page, night, question, indent=" " * (widths[0] + 2), why=why)


def night_cells(night: Night, question: Question) -> list[str]:
    """One night in the table's columns; times only where the night is offered."""
    units, zone = question.site.units, question.site.zone
    light = lift = UNKNOWN
    if night.verdict.is_offered and night.lift is not None:
        if night.light_earliest is not None and night.light_latest is not None:
            light = clock_span((night.light_earliest, night.light_latest), zone)
        lift = weekday_clock(night.lift, zone)
    margin = UNKNOWN if night.margin_c is None else show_difference(night.margin_c, units).split(" ")[0]
    chance = UNKNOWN if night.chance is None else percent(night.chance)
    air = (degrees(night.peak_c, units), degrees(night.low_c, units))
    return [day_words(night.date), str(night.verdict), light, lift, *air, margin, chance]


def _say_block(page: Page, night: Night, cells: Sequence[str], question: Question, *, why: bool) -> None:
    """The same for a narrow page."""
    _, verdict, light, lift, peak, low, margin, chance = cells
    likely = "" if night.chance is None else f", chance {chance}"
    page.say(f"{page.ink('strong', day_words(night.date))}  {page.ink(night.verdict, verdict)}{likely}")
    if night.verdict.is_offered:
        page.say(f"light {light}, lift {lift}", first="  ")
    if night.peak_c is not None:
        page.say(f"air {low} to {peak}, margin {margin}", first="  ")
    _say_details(page, night, question, indent="  ", why=why)


def _say_details(page: Page, night: Night, question: Question, *, indent: str, why: bool) -> None:
    """The deciding reason; with `why` all of them, and what they rest on."""
    reasons = night.reasons if why else night.reasons[:1]
    for reason in reasons:
        page.say(reason, first=indent, style="quiet")
    if not why:
        return
    found = [*_weather_words(night, question), *_chamber_lines(night, question), *_other_words(night, question)]
    for text in (*found, sun_words(night.date, question)):
        page.say(text, first=indent)
    hours = hour_words(night, question)
    if hours:
        page.say(f"air and margin by the hour: {hours}", first=indent)
    page.gap()


def _weather_words(night: Night, question: Question) -> list[str]:
    """The rest of the figures, and where the chance comes from."""
    units = question.site.units
    found = []
    if night.rain_mm is not None:
        found.append(f"rain {show_rain(night.rain_mm, units)}")
    if night.gust_ms is not None:
        found.append(f"gusts to {show_speed(night.gust_ms, units)}")
    if night.dewpoint_max_c is not None:
        found.append(f"dew point up to {show_temperature(night.dewpoint_max_c, units)}")
    source = [f"chance {night.chance_from}"] if night.chance_from else []
    return [*source, *([", ".join(found)] if found else [])]


def _chamber_lines(night: Night, question: Question) -> list[str]:
    """The chamber in the window, and how long the food in it is how warm: information, not a clearance."""
    if night.chamber is None:
        return []
    bands = band_words(night.chamber.exposure, question.site.units)
    return [
        f"chamber {chamber_words(night, question.site)}",
        f"food as warm as the chamber, for information and not as a clearance: {bands}",
    ]


def _other_words(night: Night, question: Question) -> list[str]:
    """The best lighting, and further stretches in which a lighting meets every limit."""
    zone = question.site.zone
    if night.light_best is None:
        return []
    best = f"best lit at {clock(night.light_best, zone)}"
    others = span_list(night.other_spans, zone, night.light_best, most=6) if night.other_spans else ""
    return [f"{best}; other lightings within the limits: {others}" if others else best]


def hour_words(night: Night, question: Question) -> str:
    """Air and margin from lighting to lift, such as "21:25 10.9 (4.7), 22:00 10.4 (5.2)"."""
    from scheduler.faces.air import air_at, hours_of, margins_at

    if night.looked_at is None:
        return ""
    site = question.site
    hours = hours_of(night.looked_at, site.zone)
    moments = [at.timestamp() for at in hours]
    air, margins = air_at(question, moments), margins_at(question, moments)
    return ", ".join(
        f"{clock(at, site.zone)}{GLUE}{degrees(float(c), site.units)}"
        f"{GLUE}({show_difference(float(margin), site.units).split(' ')[0]})"
        for at, c, margin in zip(hours, air, margins, strict=True)
    )
