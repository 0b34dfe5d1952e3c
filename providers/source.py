"""Ask for a forecast: of a service by its name, of a table by its file, or of the invented sample."""

from __future__ import annotations

import os
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from providers.errors import UnknownSource
from providers.services import (
    SERVICES,
    Asked,
    Place,
    address,
    ask,
    first_good,
    in_order,
    not_asked,
    polite_client,
)

if TYPE_CHECKING:
    from datetime import datetime

    from providers.forecast import Forecast
    from providers.places import Place as FoundPlace

SAMPLE = "sample"

__all__ = ["Asked", "Place", "ask_each", "find_places", "get_forecast", "looks_like_a_file", "second_opinions"]


def get_forecast(source: str | None, place: Place, now: datetime, *, only: bool = False) -> Forecast:
    """A forecast from the named source; None takes the first service.

    only: ask no other service where the named one fails.  Raises BadTable for a table that cannot be read,
    UnknownSource for a name that is none, and another WeatherError where there is no forecast to be had.
    """
    if source == SAMPLE:
        from providers.sample import sample_forecast

        return sample_forecast(now, zone=place.zone, latitude_deg=place.latitude_deg, longitude_deg=place.longitude_deg)
    if source is None or source in SERVICES:
        services = in_order(source, place)
        return first_good(services[:1] if only else services, polite_client(place.contact), place, now)
    if not looks_like_a_file(source):
        raise UnknownSource(f"weather {source!r} is not known; {_nearest(source)}")
    from providers.table import read_table

    return read_table(Path(source), fetched_at=now)


def second_opinions(made: Forecast, place: Place, first: str | None) -> tuple[Forecast, ...]:
    """What the services say that come after the one that answered; those that have nothing fresh are left out.

    first: the source that was asked for; the services before the one that answered have just failed.
    """
    if made.source not in SERVICES:
        return ()
    client, order = polite_client(place.contact).hurried(), in_order(first, place)
    after = order[[one.name for one in order].index(made.source) + 1 :]
    others = [ask(one, client, place).forecast for one in after]
    return tuple(one for one in others if one is not None and not one.is_stale(client.clock()))


def ask_each(first: str | None, place: Place) -> tuple[Asked, ...]:
    """What comes of asking every service, in the order in which they are tried; last those not asked, and why."""
    client, (wanted, *others) = polite_client(place.contact), in_order(first, place)
    rest = (one for one in SERVICES.values() if one not in (wanted, *others))
    asked = (ask(wanted, client, place), *(ask(one, client.hurried(), place) for one in others))
    return (*asked, *(not_asked(one, place) for one in rest))


def find_places(name: str, contact: str | None) -> list[FoundPlace]:
    """Places of that name, from the weather service's open geocoder."""
    from providers import places

    return places.search_places(name, polite_client(contact), url=address("open-meteo places", places.URL))


def looks_like_a_file(name: str) -> bool:
    """Whether a source is meant as a path."""
    return "/" in name or os.sep in name or "." in name or Path(name).exists()


def _nearest(name: str) -> str:
    known = (*SERVICES, SAMPLE)
    near = get_close_matches(name, known, n=1)
    or_table = "or a table of hours (FILE.csv)"
    if near:
        return f"did you mean {near[0]!r}? Else name one of: {', '.join(known)}, {or_table}"
    return f"choose one of: {', '.join(known)}, {or_table}"
