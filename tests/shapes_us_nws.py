"""The US National Weather Service on this machine: its points and grids, of the invented weather, and its answers.

No office is called ZZZ, and its first square has the index 0.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from email.utils import format_datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import shapes
from loopback import Page, Query, json_page, route

if TYPE_CHECKING:
    from collections.abc import Callable

POINT = "/points/51.251,-1.509"
GRID = "/gridpoints/ZZZ/0,12"
GEO_JSON = {"Content-Type": "application/geo+json"}
PROBLEM_JSON = {"Content-Type": "application/problem+json"}
HOUR = timedelta(hours=1)


def point(office: str | None = "ZZZ", x: int | None = 0, y: int | None = 12) -> dict[str, Any]:
    """The body of /points: which square a place lies in."""
    return {
        "id": "https://api.example/points/51.251,-1.509",
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-1.509, 51.251]},
        "properties": {
            "cwa": office,
            "gridId": office,
            "gridX": x,
            "gridY": y,
            "forecastGridData": f"https://api.example/gridpoints/{office}/{x},{y}",
            "timeZone": "Europe/London",
        },
    }


def grid(now: datetime, *, hours: int = 48, blocks: int = 0) -> dict[str, Any]:
    """The body of /gridpoints: layers of merged hours from six hours ago, the last ``blocks`` of six hours each."""
    first = now.replace(minute=0, second=0, microsecond=0) - 6 * HOUR
    times = [first + n * HOUR for n in range(hours)]
    times += [times[-1] + HOUR + n * 6 * HOUR for n in range(blocks)]
    times.append(times[-1] + (6 if blocks else 1) * HOUR)

    def layer(uom: str, value: Callable[[datetime], Any], *, total: bool = False) -> dict[str, Any]:
        return {"uom": uom, "values": merged(times, value, total=total)}

    return {
        "@context": [],
        "id": "https://api.example/gridpoints/ZZZ/0,12",
        "type": "Feature",
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[-1.52, 51.26], [-1.52, 51.24], [-1.49, 51.24], [-1.49, 51.26], [-1.52, 51.26]]],
        },
        "properties": {
            "@type": "wx:Gridpoint",
            "updateTime": f"{now - 2 * HOUR:%Y-%m-%dT%H:%M:%S}+00:00",
            "validTimes": f"{first:%Y-%m-%dT%H:%M:%S}+00:00/P2D",
            "elevation": {"unitCode": "wmoUnit:m", "value": 95.0976},
            "gridId": "ZZZ",
            "gridX": "0",
            "gridY": "12",
            "temperature": layer("wmoUnit:degC", shapes.air_c),
            "dewpoint": layer("wmoUnit:degC", lambda hour: round(shapes.air_c(hour)) - 3),
            "maxTemperature": {"uom": "wmoUnit:degC", "values": [interval(first, 13, 14.4)]},
            "relativeHumidity": layer("wmoUnit:percent", lambda _: 87),
            "windChill": {"uom": "wmoUnit:degC", "values": [interval(first, 30, None)]},
            "skyCover": layer("wmoUnit:percent", lambda _: 40),
            "windSpeed": layer("wmoUnit:km_h-1", lambda hour: 18 if hour.hour < 12 else 9.0),
            "windGust": layer("wmoUnit:km_h-1", lambda hour: 36.0 if hour.hour < 12 else 27),
            "weather": {"values": [interval(first, 9, [{"coverage": None, "weather": None}])]},
            "probabilityOfPrecipitation": layer("wmoUnit:percent", lambda hour: 80 if rain_mm(hour) else 5),
            "quantitativePrecipitation": layer("wmoUnit:mm", rain_mm, total=True),
            "pressure": {"values": []},
        },
    }


def layer(payload: dict[str, Any], name: str) -> dict[str, Any]:
    """One layer of a payload."""
    return payload["properties"][name]


def with_layer(now: datetime, name: str, *intervals: tuple[datetime, int, Any]) -> dict[str, Any]:
    """The usual payload with one layer of these intervals: start, hours and value."""
    payload = grid(now)
    layer(payload, name)["values"] = [interval(*each) for each in intervals]
    return payload


def rain_mm(hour: datetime) -> float:
    """What falls in the hour from here."""
    return shapes.rain_mm(hour + HOUR)


def merged(times: list[datetime], value: Callable[[datetime], Any], *, total: bool = False) -> list[dict[str, Any]]:
    """Intervals between the times, equal neighbours in one as they are served; totals add up."""
    found: list[tuple[datetime, int, Any]] = []
    for one, after in pairwise(times):
        hours, given = (after - one) // HOUR, value(one)
        if found and found[-1][2] == given and (not total or given == 0):
            found[-1] = (found[-1][0], found[-1][1] + hours, given)
        else:
            found.append((one, hours, given))
    return [interval(*each) for each in found]


def interval(start: datetime, hours: int, value: Any) -> dict[str, Any]:
    days, rest = divmod(hours, 24)
    length = "P" + (f"{days}D" if days else "") + (f"T{rest}H" if rest else "")
    return {"validTime": f"{start:%Y-%m-%dT%H:%M:%S}+00:00/{length}", "value": value}


def problem(status: int, kind: str, title: str, detail: str) -> Page:
    """An error in the shape of RFC 9457, as they send it."""
    body = {
        "correlationId": "1a2b3c",
        "title": title,
        "type": f"https://api.example/problems/{kind}",
        "status": status,
        "detail": detail,
        "instance": "https://api.example/requests/1a2b3c",
    }
    return json_page(body, status=status, **PROBLEM_JSON)


def invalid_point() -> Page:
    return problem(404, "InvalidPoint", "Data Unavailable For Requested Point", "Unable to provide data for this point")


def unexpected() -> Page:
    return problem(500, "UnexpectedProblem", "Unexpected Problem", "An unexpected problem has occurred.")


def expired() -> Page:
    return problem(503, "ForecastGridExpired", "Forecast Grid Expired", "The requested forecast grid is too old.")


def _without_query(query: Query, page: Page) -> Page:
    if query:
        return problem(400, "BadRequest", "Bad Request", f"Query parameter '{next(iter(query))}' is not recognized")
    return page


@route(POINT)
def answer_point(now: datetime, query: Query) -> Page:
    return _without_query(query, json_page(point(), **GEO_JSON, **{"Cache-Control": "public, max-age=14400"}))


@route(GRID)
def answer_grid(now: datetime, query: Query) -> Page:
    made = now.replace(minute=0, second=0, microsecond=0)
    headers = {
        "Cache-Control": "public, max-age=3600, s-maxage=3600",
        "Last-Modified": format_datetime(made, usegmt=True),
        "Expires": format_datetime(now + HOUR, usegmt=True),
    }
    return _without_query(query, json_page(grid(made), **GEO_JSON, **headers))
