"""Every weather service: whether it can be reached, how new its forecast is, how far and how finely it reaches."""

from __future__ import annotations

from datetime import UTC, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.faces.terminal import Page
from scheduler.faces.wording import long_span, one_line, plural, sentence, when

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from providers.forecast import Forecast
    from providers.source import Asked
    from scheduler.household.site import Site

HOUR = timedelta(hours=1)


def weather_report(asked: Sequence[Asked], site: Site, now: datetime, *, width: int, colour: bool) -> str:
    """The services in the order in which they are tried, those that were not asked last."""
    page = Page.of(width, colour=colour)
    page.say(_headline([one for one in asked if one.forecast is not None], len(asked), now), style="strong")
    page.say(f"For {one_line(site.name)}.")
    for place, one in enumerate(asked, 1):
        page.heading(f"{place}  {one.name}")
        if one.forecast is None:
            page.say(f"  {one_line(str(one.error))}", rest="  ", style="no")
        else:
            for name, fact in facts(one.forecast, site, now):
                page.say(f"  {name:<8}{fact}", rest=" " * 10)
    return page.text()


def _headline(answered: Sequence[Asked], count: int, now: datetime) -> str:
    """Whose forecast is taken."""
    fresh = [one.name for one in answered if one.forecast is not None and not one.forecast.is_stale(now)]
    if fresh:
        return f"{fresh[0]} answers first; {len(fresh)} of {plural(count, 'service')} gave a fresh forecast."
    if answered:
        return f"None of {plural(count, 'service')} gave a fresh forecast; the newest at hand answers."
    return f"None of {plural(count, 'service')} gave a forecast."


def facts(forecast: Forecast, site: Site, now: datetime) -> list[tuple[str, str]]:
    """Name and value of what is told of one forecast."""
    age = long_span(max(forecast.age(now), timedelta(0)) / HOUR)
    link = one_line(forecast.credit.link)
    fresh = "not said" if forecast.fresh_until is None else f"until {when(forecast.fresh_until, site.zone)}"
    return [
        ("made", f"{when(forecast.issued_at, site.zone)}, {age} ago"),
        ("fresh", f"{fresh}{', out of date' if forecast.is_stale(now) else ''}"),
        ("steps", _steps(forecast)),
        ("reaches", _reach(forecast, site, now)),
        ("spread", _spread(forecast)),
        ("height", _height(forecast, site)),
        *(("note", sentence(one_line(note))) for note in forecast.notes),
        ("credit", " ".join([one_line(forecast.credit.text), *([f"({link})"] if link else [])])),
    ]


def _steps(forecast: Forecast) -> str:
    """Lengths of the steps up to the last known air, in order; an unknown hour is a step too."""
    stamps = forecast.hourly.index[: forecast.hourly["air_c"].notna().to_numpy().nonzero()[0][-1] + 1]
    lengths = [round((b - a) / HOUR, 1) for a, b in pairwise(stamps)]
    seen = list(dict.fromkeys(lengths))
    return " then ".join(f"{length:g} h" for length in seen) if seen else "one reading"


def _reach(forecast: Forecast, site: Site, now: datetime) -> str:
    """The last known air, and how far ahead that is."""
    known = forecast.hourly.index[forecast.hourly["air_c"].notna()]
    last = known[-1].to_pydatetime().astimezone(UTC)
    return f"{when(last, site.zone)}, {max((last - now) / HOUR / 24, 0.0):.1f} days ahead"


def _spread(forecast: Forecast) -> str:
    """Where a chance would come from."""
    if forecast.members is not None:
        return f"{len(forecast.members.columns)} ensemble members"
    if "air_p10_c" in forecast.hourly and forecast.hourly["air_p10_c"].notna().any():
        return "percentiles of the air"
    return "none; the usual error of forecasts is taken"


def _height(forecast: Forecast, site: Site) -> str:
    """What height the air is for, and how far from the site's that is."""
    if forecast.elevation_m is None:
        return "not said"
    told = f"for {forecast.elevation_m:.0f} m"
    if site.elevation_m is None:
        return told
    above_m = round(forecast.elevation_m - site.elevation_m)
    return (
        f"{told}, {abs(above_m)} m {'above' if above_m > 0 else 'below'} your site"
        if above_m
        else f"{told}, as your site"
    )
