"""Which coming nights have a window, how good it is, and why.

A night runs from clock noon to clock noon.  Its best lighting has the greatest margin under the ceiling; the span
shown around it is the unbroken stretch of lightings that meet every limit and the chance of the night's verdict.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cached_property
from math import inf
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.planning import reasons
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.chance_span import marks_of, span_of_chance
from scheduler.planning.clock import HOUR_S, MINUTE_S, instant, night_bounds, night_of
from scheduler.planning.coarse import Doubt, doubt_of, without_whole
from scheduler.planning.figures import Figures, figures_of
from scheduler.planning.limits import Met, Weather, where_met
from scheduler.planning.warming import ceiling_with_fire_c
from scheduler.planning.windows import Coolest, Smokes, Stretch, coolest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.spans import Spans
    from scheduler.planning.spread import Spread
    from scheduler.planning.warming import Warming

    Floats = NDArray[np.float64]

OLDEST = timedelta(hours=48)
"""A forecast older than this decides nothing."""


@dataclass(frozen=True)
class Search:
    """All that the search for nights is given."""

    site: Site
    warming: Warming
    """The weather, and the chamber in it."""
    spread: Spread
    """Of the air as it counts against the ceiling."""
    smokes: Smokes
    """Lightings that the household could make, weather aside."""
    now: float
    floor_slack_k: float = 0.0
    """How far under the floor the air may be told to fall: for a smoke that somebody has taken on."""
    by_chance: bool = False
    """Whether the chance alone judges the ceiling, or the forecast's line has to keep to it too."""

    @property
    def weather(self) -> Weather:
        """As it was forecast."""
        return self.warming.weather

    @property
    def counted(self) -> Weather:
        """With its air as it counts against the ceiling."""
        return self.warming.counted

    @cached_property
    def met(self) -> Met:
        """Where in time the limits are met that are asked for."""
        limits, rain_matters = self.site.limits, not self.site.rain_shelter
        ceiling_c = inf if self.by_chance else limits.ceiling_c
        limits = replace(limits, ceiling_c=ceiling_c, floor_c=limits.floor_c - self.floor_slack_k)
        return where_met(self.weather, limits, rain_matters=rain_matters, counted=self.counted)

    @property
    def too_old(self) -> bool:
        """Whether the forecast is too old to decide anything."""
        return self.now - self.weather.issued > OLDEST.total_seconds()


def find_nights(search: Search) -> tuple[Night, ...]:
    """Every night from now to the end of the forecast that still has a lighting ahead, in order."""
    found = []
    for night, start, end in _nights(search):
        possible = search.smokes.between(max(start, search.now), end - 1.0)
        if not possible.stretches and search.now >= start:
            continue
        found.append(_judge(search, search.met, night, possible))
    return tuple(found)


def _nights(search: Search) -> Iterator[tuple[date, float, float]]:
    """Nights from the one that holds now to the one that holds the last known hour."""
    zone = search.site.zone
    night = night_of(search.now, zone)
    while True:
        start, end = night_bounds(night, zone)
        if start >= search.weather.end:
            return
        yield night, start, end
        night += timedelta(days=1)


def _judge(search: Search, met: Met, night: date, possible: Smokes) -> Night:
    """One night's verdict, window and reasons."""
    if not possible.stretches:
        return _night(search, night, Verdict.NO, (reasons.NOBODY_HOME,), None)
    for allowed, held in _tiers(search, met, possible):
        best = coolest(search.counted.air, held)
        if best is not None:
            return _with_window(search, met, allowed, night, held, best)
    looked = coolest(search.counted.air, possible)
    figures = None if looked is None else figures_of(search.warming, looked.light, looked.lift)
    if search.too_old:
        why = reasons.too_old(search.now - search.weather.issued)
        return _night(search, night, Verdict.UNKNOWN, (why,), figures)
    if without_whole(possible.inside(met.perhaps), met.hot).stretches:
        return _night(search, night, Verdict.UNKNOWN, reasons.unknown(search.site, search.weather, possible), figures)
    return _night(search, night, Verdict.NO, reasons.misses(search.site, search.weather, figures), figures)


def judge_lighting(search: Search, light: float) -> Night:
    """The night of this very lighting, judged at it: its lift, its chance and its figures.

    Where its window does not hold, the verdict and the reasons say so, and what is known of the air is told all the
    same.  light: seconds since 1970 UTC.
    """
    if light not in search.smokes.lightings:
        why = reasons.PAST if light < search.now else reasons.NOBODY_HOME
        return replace(judge_smoke(search, light, light, light + search.smokes.duration_s),
                       verdict=Verdict.NO, reasons=(why,))  # fmt: skip
    night = night_of(light, search.site.zone)
    start, end = night_bounds(night, search.site.zone)
    for allowed, held in _tiers(search, search.met, search.smokes.between(max(start, search.now), end - 1.0)):
        if light in held.lightings:
            at = Coolest(light, held.lift_of(light), np.nan)
            return _with_window(search, search.met, allowed, night, held, at, exact=True)
    return judge_smoke(search, light, light, search.smokes.lift_of(light))


def judge_smoke(search: Search, light: float, start: float, lift: float) -> Night:
    """The night of a smoke whose lighting and lift are given, judged from `start` on.

    What the forecast does not say of the time before now counts as held.
    """
    known = not np.isnan(search.weather.air.greatest(np.array([start]), np.array([lift]))).any()
    figures = figures_of(search.warming, start, lift) if known else None
    verdict, why = _of_one(search, start, lift, figures)
    facts = _night(search, night_of(light, search.site.zone), verdict, why, figures)
    lit, out = instant(light), instant(lift)
    return replace(facts, light_earliest=lit, light_best=lit, light_latest=lit, lift=out, lift_latest=out)


def _of_one(search: Search, start: float, lift: float, figures: Figures | None) -> tuple[Verdict, tuple[str, ...]]:
    """Verdict and reasons of one window."""
    met, site = search.met, search.site
    if search.too_old:
        return Verdict.UNKNOWN, (reasons.too_old(search.now - search.weather.issued),)
    one = Smokes(search.smokes.duration_s, (Stretch(start, start, lift),))
    past = met.perhaps.between(-inf, search.now)
    surely = one.inside(met.surely | past).stretches
    if figures is not None and (surely or without_whole(one.inside(met.roughly | past), met.hot).stretches):
        doubt = None if surely else doubt_of(met.hot, start, lift)
        chance = float(search.spread.chances(np.array([start]), np.array([lift]), site.limits.ceiling_c)[0])
        verdict, _ = _verdict(site, chance, doubt)
        return verdict, reasons.holds(site, figures, chance, verdict, doubt)
    if without_whole(one.inside(met.perhaps), met.hot).stretches:
        return Verdict.UNKNOWN, reasons.unknown(site, search.weather, one)
    return Verdict.NO, reasons.misses(site, search.weather, figures, only=True)


def _tiers(search: Search, met: Met, possible: Smokes) -> Iterator[tuple[Spans, Smokes]]:
    """Lightings whose windows hold, surely first, then those that only a period's maximum leaves in doubt."""
    if search.too_old:
        return
    yield met.surely, possible.inside(met.surely)
    yield met.roughly, without_whole(possible.inside(met.roughly), met.hot)


def _with_window(
    search: Search, met: Met, allowed: Spans, night: date, held: Smokes, best: Coolest, *, exact: bool = False
) -> Night:
    """A night with a window: its verdict by chance, and the span around the best lighting.

    exact: the lighting stays where it is, even between two minutes.
    """
    weather, ceiling_c = search.counted, search.site.limits.ceiling_c
    piece, window = held.lightings.piece_at(best.light), allowed.piece_at(best.light)
    if piece is None or window is None:
        raise ValueError("the best lighting must be one that holds")

    def chances(lights: Floats) -> Floats:
        return search.spread.chances(lights, held.lifts_of(lights), ceiling_c)

    doubt = None if allowed is met.surely else doubt_of(met.hot, best.light, best.lift)
    verdict, needed = _verdict(search.site, float(chances(np.array([best.light]))[0]), doubt)
    early, late = span_of_chance(chances, needed, best.light, piece, marks_of(weather.air.times, held, piece))
    early, light, late = _whole_minutes(early, best.light, late)
    if exact:
        early, light, late = min(early, best.light), best.light, max(late, best.light)
    figures = figures_of(search.warming, light, held.lift_of(light))
    chance = float(chances(np.array([light]))[0])
    span = Span(
        early, late,
        lift_latest=min(window[1], late + search.site.longest_h * HOUR_S),
        others=tuple(one for one in held.lightings if one != piece),
    )  # fmt: skip
    why = reasons.holds(search.site, figures, chance, verdict, doubt)
    return _night(search, night, verdict, why, figures, span)


@dataclass(frozen=True, slots=True)
class Span:
    """The lightings that a night offers."""

    early: float
    late: float
    lift_latest: float
    others: tuple[tuple[float, float], ...]


def _verdict(site: Site, chance: float, doubt: Doubt | None) -> tuple[Verdict, float]:
    """What the chance is worth, and the chance that its span has to keep; a window in doubt is never good."""
    if chance >= site.good_chance and doubt is None:
        return Verdict.GOOD, site.good_chance
    if chance >= site.borderline_chance:
        return Verdict.BORDERLINE, site.borderline_chance
    return Verdict.NO, 0.0


def _whole_minutes(early: float, light: float, late: float) -> tuple[float, float, float]:
    """The span cut inward to whole minutes of the clock, and the lighting moved to one of them.

    A span that holds no whole minute is kept as it is.
    """
    first, last = np.ceil(early / MINUTE_S) * MINUTE_S, np.floor(late / MINUTE_S) * MINUTE_S
    if first > last:
        return early, light, late
    best = min(max(np.ceil(light / MINUTE_S) * MINUTE_S, first), last)
    return float(first), float(best), float(last)


def _night(
    search: Search,
    night: date,
    verdict: Verdict,
    why: tuple[str, ...],
    figures: Figures | None,
    span: Span | None = None,
) -> Night:
    """Put the facts together; without a span the figures are of the lighting that misses by least."""
    facts = Night(date=night, verdict=verdict, reasons=why, duration_h=search.site.duration_h,
                  ceiling_c=ceiling_with_fire_c(search.site))  # fmt: skip
    if figures is not None:
        facts = replace(facts, **_figures(search, figures))
    if figures is not None and span is not None:
        facts = replace(
            facts, light_earliest=instant(span.early), light_best=instant(figures.light),
            light_latest=instant(span.late), lift=instant(figures.lift), lift_latest=instant(span.lift_latest),
            other_spans=tuple((instant(a), instant(b)) for a, b in span.others),
        )  # fmt: skip
    return facts


def _figures(search: Search, figures: Figures) -> dict[str, Any]:
    """The figures of a night by the names it has for them."""
    ceiling_c = search.site.limits.ceiling_c
    chance = search.spread.chances(np.array([figures.light]), np.array([figures.lift]), ceiling_c)[0]
    return {
        "looked_at": (instant(figures.light), instant(figures.lift)),
        "peak_c": figures.peak_c,
        "peak_at": instant(figures.peak_at),
        "low_c": figures.low_c,
        "low_at": instant(figures.low_at),
        "margin_c": figures.margin_c,
        "ceiling_c": figures.ceiling_c,
        "chamber": figures.chamber,
        "chance": None if np.isnan(chance) else float(chance),
        "chance_from": search.spread.words(figures.light, figures.lift, search.site),
        "rain_mm": figures.rain_mm,
        "gust_ms": figures.gust_ms,
        "dewpoint_max_c": figures.dewpoint_max_c,
    }
