"""MET Norway: Locationforecast 2.0, nine days anywhere on earth, at its best in the Nordic countries.  No key.

Documented at https://api.met.no/doc/locationforecast/datamodel, https://api.met.no/doc/ForecastJSON and
https://api.met.no/doc/TermsOfService.  The data are under CC BY 4.0 and NLOD 2.0.  ``complete`` is asked for, as
``compact`` lacks the extremes between its six-hourly instants.  They say nothing of radiation.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from providers.adapter import answer_notes, object_of, without_empty_tail
from providers.errors import BadPayload, BadQuestion
from providers.forecast import Credit, Forecast
from providers.iso_times import read_instant
from providers.met_norway_steps import SOURCE, hourly_frame, read_steps
from providers.payload import member, number, one_line, parse_json
from providers.polite_http import cut_coordinate

if TYPE_CHECKING:
    from datetime import datetime

    from providers.polite_http import Answer, PoliteClient

URL = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
CREDIT = Credit("Data from MET Norway", "https://api.met.no/")
"""As https://api.met.no/doc/License asks."""


def fetch(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None = None,
    url: str = URL,
) -> Answer:
    """Ask for the forecast at a place; without ``elevation_m`` they take the height of their 1 km terrain.

    Raises BadQuestion where the client does not say whom to turn to, before anything is asked.
    """
    if not client.identity.endswith(")"):  # the contact stands in a comment at the end of the User-Agent
        raise BadQuestion(
            "MET Norway asks who is asking, and turns away those who do not say; set a contact with"
            " `smokenight setup --contact` and a mail or web address"
        )
    where = {"lat": cut_coordinate(latitude_deg), "lon": cut_coordinate(longitude_deg)}
    if elevation_m is not None:
        where["altitude"] = f"{elevation_m:.0f}"
    return client.get(url, where, source=SOURCE, check=_read)


def parse(payload: object, *, fetched_at: datetime, fresh_until: datetime | None = None) -> Forecast:
    """Make a forecast of their answer; raises BadPayload, which names what is wrong.

    Hourly for about two and a half days, then every six hours.  ``rain_mm``, ``rain_chance`` and the extremes of the
    air come from the block that is as long as the step to the next stamp (``next_1_hours``, ``next_6_hours``): so
    the six-hour blocks that overlap at hourly steps are not used.  A gust is documented as the "maximum gust for
    period" without saying which, so an hour's ``gust_ms`` is the larger of those at its two ends; they give none for
    steps of six hours.  Percentiles and extremes are columns only where there are any.

    ``issued_at`` is their ``updated_at``, and never later than ``fetched_at``.
    """
    given = object_of(payload, "the answer", SOURCE)
    properties = member(given, "properties", dict, SOURCE)
    meta = member(properties, "meta", dict, SOURCE)
    series = member(properties, "timeseries", list, SOURCE)
    trouble = _trouble(meta)
    if not series:
        raise BadPayload(f"{SOURCE} has no forecast for this place" + (f": {trouble}" if trouble else ""))
    updated_at = read_instant(meta.get("updated_at"), "updated_at", SOURCE, near=fetched_at)
    steps = read_steps(series, fetched_at)
    hourly = without_empty_tail(hourly_frame(steps, member(meta, "units", dict, SOURCE)))
    if hourly["air_c"].isna().all():
        raise BadPayload(f"{SOURCE}: no step has an air_temperature")
    latitude_deg, longitude_deg, elevation_m = _position(given)
    return Forecast(
        source=SOURCE,
        credit=CREDIT,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
        issued_at=min(updated_at, fetched_at),
        fetched_at=fetched_at,
        fresh_until=fresh_until,
        hourly=hourly,
        notes=(f"{SOURCE} says of its forecast: {trouble}",) if trouble else (),
    )


def forecast(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None = None,
    url: str = URL,
) -> Forecast:
    """The forecast at a place, fresh until their ``Expires``.  Raises BadQuestion, Unreachable, Refused, BadPayload."""
    answer = fetch(client, latitude_deg=latitude_deg, longitude_deg=longitude_deg, elevation_m=elevation_m, url=url)
    made = _read(answer)
    return replace(made, fresh_until=answer.fresh_until, notes=(*answer_notes(answer), *made.notes))


def _read(answer: Answer) -> Forecast:
    return parse(parse_json(answer.body, SOURCE), fetched_at=answer.fetched_at)


def _trouble(meta: dict[str, Any]) -> str:
    """What they say is wrong, with status 200; empty where nothing is."""
    return one_line(member(meta, "error", str, SOURCE)) if meta.get("error") is not None else ""


def _position(payload: dict[str, Any]) -> tuple[float | None, float | None, float | None]:
    """Latitude, longitude [deg] and height [m] that the values are for, None for what is not said."""
    if payload.get("geometry") is None:
        return None, None, None
    point = member(member(payload, "geometry", dict, SOURCE), "coordinates", list, SOURCE)
    if len(point) not in (2, 3):
        raise BadPayload(f"{SOURCE}: 'coordinates' holds {len(point)} values, not longitude, latitude and height")
    longitude_deg = number(point[0], "coordinates[0]", SOURCE, -180.0, 180.0)
    latitude_deg = number(point[1], "coordinates[1]", SOURCE, -90.0, 90.0)
    height = point[2] if len(point) == 3 else None
    elevation_m = None if height is None else number(height, "coordinates[2]", SOURCE, -500.0, 9000.0)
    return latitude_deg, longitude_deg, elevation_m
