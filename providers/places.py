"""Where a place is: Open-Meteo's search by name over GeoNames (https://open-meteo.com/en/docs/geocoding-api)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from providers.errors import BadPayload
from providers.forecast import Credit
from providers.payload import kind, member, number, one_line, parse_json

if TYPE_CHECKING:
    from providers.polite_http import Answer, PoliteClient

SOURCE = "open-meteo places"
URL = "https://geocoding-api.open-meteo.com/v1/search"
CREDIT = Credit("Places by GeoNames, by way of Open-Meteo.com", "https://www.geonames.org/")
"""GeoNames is under CC BY 4.0."""

HOLDS = timedelta(days=1)
MOST_PLACES = 10
SHORTEST_NAME = 2
"""The service finds nothing for one letter."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place of that name."""

    name: str
    region: str
    """First-level division (province, state); empty where it is not known."""
    country: str
    """Empty where it is not known."""
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    zone: str
    """IANA name of the time zone; empty where it is not known."""


def search_places(name: str, client: PoliteClient, *, url: str = URL) -> list[Place]:
    """Places whose name begins like this one, the likeliest first; an empty list where there is none.

    Raises Unreachable, Refused or BadPayload.
    """
    wanted = " ".join(name.split())
    if len(wanted) < SHORTEST_NAME:
        return []
    params = {"name": wanted, "count": str(MOST_PLACES), "language": "en", "format": "json"}
    return _read(client.get(url, params, source=SOURCE, check=_read, min_ttl=HOLDS))


def _read(answer: Answer) -> list[Place]:
    return parse_places(parse_json(answer.body, SOURCE))


def parse_places(payload: object) -> list[Place]:
    """Read their answer; raises BadPayload."""
    if not isinstance(payload, dict):
        raise BadPayload(f"{SOURCE} answered with {kind(payload)}, not an object")
    if "results" not in payload:  # how they say that nothing was found
        return []
    return [_place(found, row) for row, found in enumerate(member(payload, "results", list, SOURCE))]


def _place(found: Any, row: int) -> Place:
    if not isinstance(found, dict):
        raise BadPayload(f"{SOURCE}: results[{row}] is {kind(found)}, not an object")
    name = one_line(member(found, "name", str, SOURCE))
    if not name:
        raise BadPayload(f"{SOURCE}: results[{row}] has an empty name")
    return Place(
        name=name,
        region=_text(found, "admin1"),
        country=_text(found, "country"),
        latitude_deg=number(found.get("latitude"), f"results[{row}].latitude", SOURCE, -90.0, 90.0),
        longitude_deg=number(found.get("longitude"), f"results[{row}].longitude", SOURCE, -180.0, 180.0),
        elevation_m=_elevation(found, row),
        zone=_text(found, "timezone"),
    )


def _text(found: dict[str, Any], name: str) -> str:
    if found.get(name) is None:
        return ""
    return one_line(member(found, name, str, SOURCE))


def _elevation(found: dict[str, Any], row: int) -> float | None:
    """Height in metres; GeoNames writes -9999 where it has none."""
    value = found.get("elevation")
    if value is None or value == -9999:
        return None
    return number(value, f"results[{row}].elevation", SOURCE, -500.0, 9000.0)
