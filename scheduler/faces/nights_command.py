"""`nights`: every night of the forecast, and `weather`: every service that could say it."""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler.faces import asking, options
from scheduler.faces.exit_codes import NO, NO_WEATHER
from scheduler.faces.printing import colour, dump, say, width

Why = Annotated[bool, typer.Option("--why", help="Add the other lighting spans, the sun, and the hours.")]


def nights(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    weather: options.Weather = None,
    now: options.Now = None,
    food: options.Food = None,
    process: options.ProcessFile = None,
    away: options.Away = None,
    journal: options.JournalFile = None,
    why: Why = False,
    as_json: options.Json = False,
) -> None:
    """Every night of the forecast: its verdict, its window, and why.

    For example: smokenight nights --why
    """
    from scheduler import service
    from scheduler.faces.as_json import nights_json
    from scheduler.faces.nights_report import nights_report

    flags = asking.Flags(site, sample, weather, now, process, journal, away)
    question = asking.question(flags, asking.BatchFlags(food))
    found = service.look(question)
    if as_json:
        say(dump(nights_json(question, found)))
    else:
        say(nights_report(question, found, why=why, width=width(), colour=colour()))
    if not any(night.verdict.is_offered for night in found):
        raise typer.Exit(NO)


def weather(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
) -> None:
    """Every weather service for your site: how new, how far ahead.

    Also whether it can be reached, in which steps it says the air, and with which spread.  They are tried in this
    order; the first with a fresh forecast answers.  For example: smokenight weather
    """
    from providers.source import SAMPLE, Asked, ask_each, get_forecast
    from scheduler.faces.weather_report import weather_report

    place, moment = asking.site_and_moment(asking.Flags(site, sample, None, now))
    if sample:  # asks nobody
        asked: tuple[Asked, ...] = (Asked(SAMPLE, get_forecast(SAMPLE, asking.place_of(place), moment), None),)
    else:
        asked = ask_each(asking.preferred(place), asking.place_of(place))
    say(weather_report(asked, place, moment, width=width(), colour=colour()))
    if not any(one.forecast is not None for one in asked):
        raise typer.Exit(NO_WEATHER)
