"""Answers in the true shape of each weather service, made from simple functions of time: invented weather.

The shapes are those that the services document; no value here was ever forecast.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any

CELL = {"latitude": 51.25, "longitude": -1.5, "elevation": 95.0}
NULL_TAIL = 5
"""Hours at the end of a forecast for which every variable is null."""

OPEN_METEO_UNITS = {
    "temperature_2m": "°C",
    "dew_point_2m": "°C",
    "relative_humidity_2m": "%",
    "precipitation": "mm",
    "precipitation_probability": "%",
    "wind_speed_10m": "km/h",
    "wind_gusts_10m": "km/h",
    "shortwave_radiation": "W/m²",
    "cloud_cover": "%",
}
SPEEDS = {"ms": ("m/s", 1.0), "kmh": ("km/h", 3.6), "mph": ("mp/h", 1 / 0.44704), "kn": ("kn", 3600 / 1852)}


def air_c(hour: datetime, member: int = 0) -> float:
    """Warmest at 15:00 UTC, coldest at 03:00, a little colder day by day; members part as time goes on."""
    day = (hour - datetime(2026, 10, 20, tzinfo=UTC)).total_seconds() / 86400
    swing = math.cos((hour.hour - 15) / 24 * 2 * math.pi)
    return round(9.0 - 0.2 * day + 5.0 * swing + 0.1 * max(day, 0.0) * math.sin(member), 1)


def rain_mm(hour_end: datetime) -> float:
    """What falls in the hour that ends here: 1.2 mm from 05:00 to 06:00 UTC, nothing else."""
    return 1.2 if hour_end.hour == 6 else 0.0


def sun_wm2(hour_end: datetime) -> float:
    """Mean of the hour that ends here: up at 07:00, down at 17:00 UTC."""
    return (
        max(0.0, round(400 * math.sin((hour_end.hour - 0.5 - 7) / 10 * math.pi), 1)) if 7 < hour_end.hour <= 17 else 0.0
    )


VARIABLES = {
    "temperature_2m": air_c,
    "dew_point_2m": lambda hour: air_c(hour) - 2.0,
    "relative_humidity_2m": lambda _: 87,
    "precipitation": rain_mm,
    "precipitation_probability": lambda hour: 80 if rain_mm(hour) else 5,
    "wind_speed_10m": lambda _: 3.0,
    "wind_gusts_10m": lambda hour: 7.0 + hour.hour / 10,
    "shortwave_radiation": sun_wm2,
    "cloud_cover": lambda _: 40,
}


def open_meteo_hours(now: datetime, past_days: int, forecast_days: int) -> list[datetime]:
    """Hours from 00:00 UTC of the first day."""
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    first = midnight - timedelta(days=past_days)
    return [first + timedelta(hours=n) for n in range(24 * (past_days + forecast_days))]


def open_meteo_forecast(
    now: datetime,
    *,
    past_days: int = 0,
    forecast_days: int = 2,
    wind_speed_unit: str = "kmh",
    timeformat: str = "iso8601",
    variables: tuple[str, ...] = tuple(VARIABLES),
) -> dict[str, Any]:
    """The body of /v1/forecast for one place, with its null tail."""
    hours = open_meteo_hours(now, past_days, forecast_days)
    label, factor = SPEEDS[wind_speed_unit]
    columns: dict[str, list[Any]] = {}
    units = {"time": timeformat}
    for name in variables:
        is_wind = OPEN_METEO_UNITS[name] == "km/h"
        units[name] = label if is_wind else OPEN_METEO_UNITS[name]
        values = [VARIABLES[name](hour) for hour in hours]
        columns[name] = [round(value * factor, 2) for value in values] if is_wind else values
        columns[name][len(hours) - NULL_TAIL :] = [None] * NULL_TAIL
    return _open_meteo(hours, timeformat, units, columns)


def open_meteo_ensemble(
    now: datetime, *, past_days: int = 0, forecast_days: int = 2, timeformat: str = "iso8601", members: int = 50
) -> dict[str, Any]:
    """The body of /v1/ensemble: the control run and its members, the control two hours shorter than they are."""
    hours = open_meteo_hours(now, past_days, forecast_days)
    names = ["temperature_2m", *(f"temperature_2m_member{n:02d}" for n in range(1, members + 1))]
    columns = {}
    for n, name in enumerate(names):
        tail = NULL_TAIL + (2 if n == 0 else 0)
        columns[name] = [air_c(hour, n) for hour in hours[: len(hours) - tail]] + [None] * tail
    units = {"time": timeformat, **dict.fromkeys(names, "°C")}
    return _open_meteo(hours, timeformat, units, columns)


def open_meteo_places() -> dict[str, Any]:
    """The body of /v1/search for invented places."""
    return {
        "results": [
            {
                "id": 1,
                "name": "Smokeham",
                "latitude": 51.2512,
                "longitude": -1.5034,
                "elevation": 95.0,
                "feature_code": "PPL",
                "country_code": "XX",
                "timezone": "Europe/London",
                "country": "Inventia",
                "admin1": "North Riding of Nowhere",
            },
            {"id": 2, "name": "Smokeham on Sea", "latitude": 50.9, "longitude": 0.4, "elevation": -9999.0},
        ],
        "generationtime_ms": 0.14,
    }


def _open_meteo(
    hours: list[datetime], timeformat: str, units: dict[str, str], columns: dict[str, list[Any]]
) -> dict[str, Any]:
    stamps = [int(hour.timestamp()) if timeformat == "unixtime" else f"{hour:%Y-%m-%dT%H:%M}" for hour in hours]
    return {
        **CELL,
        "generationtime_ms": 0.7,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "hourly_units": units,
        "hourly": {"time": stamps, **columns},
    }
