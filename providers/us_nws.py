"""The US National Weather Service: the grid that its forecast offices draw, seven days, the USA and its territories.

No key.  Documented at https://www.weather.gov/documentation/services-web-api and
https://weather-gov.github.io/api/gridpoints.  The data are free for any purpose.  The raw grid is asked for rather
than the text of it: numbers with units.  They say nothing of radiation.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from providers.adapter import answer_notes, minute, object_of
from providers.errors import Refused
from providers.forecast import Credit, Forecast
from providers.iso_times import read_instant
from providers.payload import member, parse_json
from providers.polite_http import NO_TIME, cut_coordinate
from providers.us_nws_layers import SOURCE, hourly_frame
from providers.us_nws_squares import Grid, elevation_m, middle, parse_grid

if TYPE_CHECKING:
    from datetime import datetime

    from providers.polite_http import Answer, PoliteClient

URL = "https://api.weather.gov"
CREDIT = Credit("Weather data by NOAA / National Weather Service", "https://www.weather.gov/")
"""A courtesy: the data are in the public domain."""

ACCEPT = "application/geo+json"
"""Always sent: their caches keep answers by it."""
GRID_HOLDS = timedelta(minutes=30)
"""Ours, at least; offices renew their grid a few times a day."""
POINT_HOLDS = timedelta(days=7)
"""Ours; which square of which office a place lies in changes rarely, and they ask that it be kept."""
OLD = timedelta(hours=18)
"""Ours; a grid that nobody renewed for so long is told of."""

_GONE = f"{SOURCE} answered with status 404"


def fetch_grid(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    url: str = URL,
    holds: timedelta = POINT_HOLDS,
) -> Grid:
    """Ask which square a place lies in, unless an answer younger than ``holds`` is at hand."""
    where = f"{url}/points/{cut_coordinate(latitude_deg)},{cut_coordinate(longitude_deg)}"
    return _read_grid(client.get(where, {}, source=SOURCE, check=_read_grid, accept=ACCEPT, min_ttl=holds))


def fetch(client: PoliteClient, *, latitude_deg: float, longitude_deg: float, url: str = URL) -> Answer:
    """Ask for the grid at a place.  Where its square is gone (404), ask once more which one it is."""
    place: dict[str, Any] = {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "url": url}
    grid = fetch_grid(client, **place)
    try:
        answer = _ask(client, url, grid)
    except Refused as error:
        moved = _moved(client, place, grid, str(error))
        if moved is None:
            raise
        return _ask(client, url, moved)
    moved = _moved(client, place, grid, answer.stale_because)
    return answer if moved is None else _ask(client, url, moved)


def parse(payload: object, *, fetched_at: datetime, fresh_until: datetime | None = None) -> Forecast:
    """Make a forecast of their answer for one square; raises BadPayload, which names what is wrong.

    Hourly, from at most 36 h before ``fetched_at`` (their grid starts hours ago by design) to where the last layer
    ends.  An interval's value stands at every hour of it, and its rain in equal parts; its chance of rain is that of
    the whole interval, which no single hour's exceeds.  null becomes NaN, as do hours that a layer does not reach, and
    layers that are missing, empty or without a unit (told in a note).  Air without a unit is refused.

    ``issued_at`` is their ``updateTime``, and never later than ``fetched_at``.
    """
    given = object_of(payload, "the answer", SOURCE)
    properties = member(given, "properties", dict, SOURCE)
    updated_at = read_instant(properties.get("updateTime"), "updateTime", SOURCE, near=fetched_at)
    hourly, notes = hourly_frame(properties, fetched_at)
    if fetched_at - updated_at > OLD:
        notes = (f"{SOURCE} last renewed its forecast on {minute(updated_at)}, unusually long ago", *notes)
    latitude_deg, longitude_deg = middle(given)
    return Forecast(
        source=SOURCE,
        credit=CREDIT,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m(properties),
        issued_at=min(updated_at, fetched_at),
        fetched_at=fetched_at,
        fresh_until=fresh_until,
        hourly=hourly,
        notes=notes,
    )


def forecast(client: PoliteClient, *, latitude_deg: float, longitude_deg: float, url: str = URL) -> Forecast:
    """The forecast at a place, for the height of its square.  Raises Unreachable, Refused or BadPayload."""
    answer = fetch(client, latitude_deg=latitude_deg, longitude_deg=longitude_deg, url=url)
    made = _read(answer)
    return replace(made, fresh_until=answer.fresh_until, notes=(*answer_notes(answer), *made.notes))


def _ask(client: PoliteClient, url: str, grid: Grid) -> Answer:
    return client.get(url + grid.path, {}, source=SOURCE, check=_read, accept=ACCEPT, min_ttl=GRID_HOLDS)


def _moved(client: PoliteClient, place: dict[str, Any], grid: Grid, words: str | None) -> Grid | None:
    """The square that a place lies in now, where they said that the one we knew is gone; None where it is the same."""
    if words is None or not words.startswith(_GONE):
        return None
    now = fetch_grid(client, **place, holds=NO_TIME)
    return None if now == grid else now


def _read(answer: Answer) -> Forecast:
    return parse(parse_json(answer.body, SOURCE), fetched_at=answer.fetched_at)


def _read_grid(answer: Answer) -> Grid:
    return parse_grid(parse_json(answer.body, SOURCE))
