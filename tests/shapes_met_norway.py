"""MET Norway on this machine: Locationforecast's shape, made from the invented weather, and its way of answering."""

from __future__ import annotations

from datetime import datetime, timedelta
from email.utils import format_datetime
from typing import Any

import shapes
from loopback import Page, Query, json_page, route

PATH = "/weatherapi/locationforecast/2.0/complete"
HOUR = timedelta(hours=1)
BLOCK = 6 * HOUR
UNITS = {
    "air_pressure_at_sea_level": "hPa",
    "air_temperature": "celsius",
    "air_temperature_max": "celsius",
    "air_temperature_min": "celsius",
    "air_temperature_percentile_10": "celsius",
    "air_temperature_percentile_90": "celsius",
    "cloud_area_fraction": "%",
    "dew_point_temperature": "celsius",
    "precipitation_amount": "mm",
    "probability_of_precipitation": "%",
    "relative_humidity": "%",
    "wind_from_direction": "degrees",
    "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s",
}
HTML = b"<html><head><title>400 Bad Request</title></head><body><h1>Bad request</h1><p>Missing value for lat</p></body>"


def stamps(now: datetime, hours: int, blocks: int) -> list[datetime]:
    """Hourly from the full hour for at least ``hours``, to 00, 06, 12 or 18 UTC; then every six hours."""
    first = now.replace(minute=0, second=0, microsecond=0)
    found = [first]
    while len(found) <= hours or (blocks and found[-1].hour % 6):
        found.append(found[-1] + HOUR)
    return found + [found[-1] + n * BLOCK for n in range(1, blocks + 1)]


def complete(now: datetime, *, hours: int = 54, blocks: int = 12, nordic: bool = True) -> dict[str, Any]:
    """The body of ``complete``: the last stamp with its instant alone; percentiles and gusts in the north."""
    times = stamps(now, hours, blocks)
    hourly = len(times) - blocks
    series = []
    for row, time in enumerate(times):
        data: dict[str, Any] = {"instant": {"details": _instant(time, nordic=nordic, gusts=nordic and row < hourly)}}
        if row + 1 < hourly:
            data["next_1_hours"] = {"summary": {"symbol_code": "cloudy"}, "details": _rain(time, 1, nordic)}
        if time + BLOCK <= times[-1] and (row + 6 < hourly or row >= hourly - 1):
            data["next_6_hours"] = {
                "summary": {"symbol_code": "cloudy"},
                "details": _extremes(time) | _rain(time, 6, nordic),
            }
        if time + 2 * BLOCK <= times[-1]:
            data["next_12_hours"] = {"summary": {"symbol_code": "cloudy", "symbol_confidence": "certain"}}
        series.append({"time": f"{time:%Y-%m-%dT%H:%M:%SZ}", "data": data})
    units = {name: UNITS[name] for name in UNITS if nordic or ("percentile" not in name and "gust" not in name)}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-1.509, 51.251, 95]},
        "properties": {
            "meta": {"updated_at": f"{now - 2 * HOUR:%Y-%m-%dT%H:%M:%SZ}", "units": units},
            "timeseries": series,
        },
    }


def series(payload: dict[str, Any]) -> list[dict[str, Any]]:
    """The steps of a payload."""
    return payload["properties"]["timeseries"]


def details(payload: dict[str, Any], row: int, block: str = "instant") -> dict[str, Any]:
    """The values of one block of one step."""
    return series(payload)[row]["data"][block]["details"]


def no_data() -> dict[str, Any]:
    """What comes with status 200 for a place too far from any of their grids."""
    meta = {"updated_at": "2026-10-20T10:00:00Z", "error": "no data at the given location", "units": {}}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-1.5, 51.25]},
        "properties": {"meta": meta, "timeseries": []},
    }


@route(PATH)
def locationforecast(now: datetime, query: Query) -> Page:
    """400 in HTML without a position, 403 for one of five decimals, else the forecast of the hour."""
    where = [query.get(name, "") for name in ("lat", "lon")]
    if not all(where):
        return Page(HTML, {"Content-Type": "text/html"}, 400)
    if any(len(deg.partition(".")[2]) > 4 for deg in where):
        return Page(b"403 Forbidden", {"Content-Type": "text/plain"}, 403)
    made = now.replace(minute=0, second=0, microsecond=0)
    headers = {
        "Expires": format_datetime(now + timedelta(minutes=31), usegmt=True),
        "Last-Modified": format_datetime(made, usegmt=True),
    }
    return json_page(complete(made), **headers)


def _instant(time: datetime, *, nordic: bool, gusts: bool) -> dict[str, float]:
    air = shapes.air_c(time)
    details = {
        "air_pressure_at_sea_level": 1013.2,
        "air_temperature": air,
        "cloud_area_fraction": 40.2,
        "dew_point_temperature": round(air - 2.0, 1),
        "relative_humidity": 87.1,
        "wind_from_direction": 210.0,
        "wind_speed": 3.0,
    }
    if nordic:
        details |= {
            "air_temperature_percentile_10": round(air - 1.0, 1),
            "air_temperature_percentile_90": round(air + 1.0, 1),
        }
    return details | ({"wind_speed_of_gust": round(7.0 + time.hour / 10, 1)} if gusts else {})


def _rain(time: datetime, hours: int, nordic: bool) -> dict[str, float]:
    amount = sum(shapes.rain_mm(time + n * HOUR) for n in range(1, hours + 1))
    chance = {"probability_of_precipitation": 80.0 if amount else 5.0} if nordic else {}
    return {"precipitation_amount": amount} | chance


def _extremes(time: datetime) -> dict[str, float]:
    air = [shapes.air_c(time + n * HOUR) for n in range(1, 7)]
    return {"air_temperature_max": max(air), "air_temperature_min": min(air)}
