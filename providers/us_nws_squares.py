"""The squares of the US National Weather Service's grid: which one a place lies in, and where it lies itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from providers.adapter import object_of, wrong_unit
from providers.errors import BadPayload
from providers.payload import member, number, one_line
from providers.us_nws_layers import SOURCE

BOXES = (
    (24.0, 49.5, -125.0, -66.5),  # the contiguous states, with much of southern Canada and northern Mexico
    (51.0, 71.5, -180.0, -129.5),  # Alaska
    (51.0, 53.5, 172.0, 180.0),  # the western Aleutians
    (18.5, 28.5, -178.5, -154.5),  # Hawaii
    (17.5, 18.7, -67.5, -64.5),  # Puerto Rico and the Virgin Islands
    (13.0, 20.7, 144.5, 146.5),  # Guam and the Northern Marianas
    (-14.7, -11.0, -171.2, -168.0),  # American Samoa
)
"""Least and greatest latitude, least and greatest longitude [deg]; ours, drawn by hand."""


_OFFICE = re.compile(r"[A-Z0-9]{3,4}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Grid:
    """One square of 2.5 km on the grid of a forecast office."""

    office: str
    x: int
    y: int

    @property
    def path(self) -> str:
        """The end of its address."""
        return f"/gridpoints/{self.office}/{self.x},{self.y}"


def covers(latitude_deg: float, longitude_deg: float) -> bool:
    """Whether it is worth asking them about a place: it lies in a box around a part of the USA.

    Coarse, so only a guess at whom to ask first; what they do not cover they say themselves (404).
    """
    return any(south <= latitude_deg <= north and west <= longitude_deg <= east for south, north, west, east in BOXES)


def parse_grid(payload: object) -> Grid:
    """Read which square a place lies in; raises BadPayload."""
    properties = member(object_of(payload, "the answer", SOURCE), "properties", dict, SOURCE)
    if properties.get("gridId") is None:
        raise BadPayload(f"{SOURCE} has no forecast grid for this place")
    office = member(properties, "gridId", str, SOURCE)
    if not _OFFICE.fullmatch(office):
        raise BadPayload(f"{SOURCE}: gridId is {one_line(office, 40)!r}, not an office like XYZ")
    return Grid(office, _grid_index(properties, "gridX"), _grid_index(properties, "gridY"))


def elevation_m(properties: dict[str, Any]) -> float | None:
    """Height of the square in metres; None where it is not said."""
    if properties.get("elevation") is None:
        return None
    given = member(properties, "elevation", dict, SOURCE)
    if given.get("value") is None:
        return None
    unit = given.get("unitCode")
    if not isinstance(unit, str) or unit.rpartition(":")[2] != "m":
        raise wrong_unit("elevation", unit, "m", SOURCE)
    return number(given["value"], "elevation.value", SOURCE, -500.0, 9000.0)


def middle(payload: dict[str, Any]) -> tuple[float | None, float | None]:
    """Latitude and longitude [deg] of the middle of the square: the mean of its corners; None where there is none."""
    if payload.get("geometry") is None:
        return None, None
    rings = member(member(payload, "geometry", dict, SOURCE), "coordinates", list, SOURCE)
    ring = rings[0] if rings else None
    if not isinstance(ring, list) or len(ring) < 4:  # RFC 7946: closed, the last corner is the first
        raise BadPayload(f"{SOURCE}: 'coordinates' holds no ring of corners")
    corners = [_corner(point, row) for row, point in enumerate(ring[:-1])]
    first = corners[0][1]
    east = sum((longitude - first + 180.0) % 360.0 - 180.0 for _, longitude in corners) / len(corners)
    latitude_deg = sum(latitude for latitude, _ in corners) / len(corners)
    return latitude_deg, (first + east + 180.0) % 360.0 - 180.0


def _grid_index(properties: dict[str, Any], name: str) -> int:
    index = properties.get(name)
    if isinstance(index, bool) or not isinstance(index, int) or not 0 <= index < 10_000:
        raise BadPayload(f"{SOURCE}: {name} is {one_line(repr(index), 40)}, not a whole number from 0 to 9999")
    return index


def _corner(point: object, row: int) -> tuple[float, float]:
    where = f"coordinates[0][{row}]"
    if not isinstance(point, list) or len(point) < 2:
        raise BadPayload(f"{SOURCE}: {where} is no longitude and latitude")
    longitude_deg = number(point[0], f"{where}[0]", SOURCE, -180.0, 180.0)
    return number(point[1], f"{where}[1]", SOURCE, -90.0, 90.0), longitude_deg
