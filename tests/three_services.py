"""All three weather services on this machine, and an invented place in the United States that each of them covers."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from email.utils import format_datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import shapes_met_norway
import shapes_us_nws
from loopback import json_page

from providers.services import Place

if TYPE_CHECKING:
    from loopback import WeatherServer

CONTACT = "cook@example.org"
LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M = 41.0, -74.0, 95.0
IN_US = Place(LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M, ZoneInfo("America/New_York"), CONTACT)
ABROAD = replace(IN_US, latitude_deg=51.25, longitude_deg=-1.5, zone=ZoneInfo("Europe/London"))

OPEN_METEO, ENSEMBLE = "/v1/forecast", "/v1/ensemble"
MET_NORWAY = shapes_met_norway.PATH
US_POINT, US_GRID = "/points/41,-74", shapes_us_nws.GRID
PATHS = {"open-meteo": OPEN_METEO, "us-nws": US_GRID, "met-norway": MET_NORWAY}
"""Where each service gives its forecast."""


def addresses(server: WeatherServer) -> dict[str, str]:
    """The environment that puts this machine in the place of every service."""
    return {
        "SMOKENIGHT_OPEN_METEO_URL": server.url + OPEN_METEO,
        "SMOKENIGHT_OPEN_METEO_ENSEMBLE_URL": server.url + ENSEMBLE,
        "SMOKENIGHT_MET_NORWAY_URL": server.url + MET_NORWAY,
        "SMOKENIGHT_US_NWS_URL": server.url,
    }


def cover_the_place(server: WeatherServer) -> None:
    """Tell the US service's square for the place."""
    server.pages[US_POINT] = json_page(shapes_us_nws.point(), **shapes_us_nws.GEO_JSON)


def met_norway_warmer_by(server: WeatherServer, more_c: float) -> None:
    """MET Norway sees every temperature so much higher, for half an hour from now."""
    now = server.clock()
    payload = shapes_met_norway.complete(now.replace(minute=0, second=0, microsecond=0))
    for step in shapes_met_norway.series(payload):
        for block in step["data"].values():
            _warm(block.get("details", {}), more_c)
    expires = format_datetime(now + timedelta(minutes=30), usegmt=True)
    server.pages[MET_NORWAY] = json_page(payload, Expires=expires)


def _warm(details: dict[str, Any], more_c: float) -> None:
    for name in details:
        if name.startswith("air_temperature"):
            details[name] += more_c
