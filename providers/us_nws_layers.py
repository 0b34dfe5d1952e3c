"""The layers of the US National Weather Service's grid: merged intervals, taken apart into hours of ours."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from providers.adapter import Field, object_of, without_empty_tail, wrong_unit
from providers.errors import BadPayload
from providers.forecast import REQUIRED
from providers.iso_times import HOUR, read_interval
from providers.payload import member

if TYPE_CHECKING:
    from datetime import datetime

    import pandas as pd

SOURCE = "us-nws"

FIELDS = {
    "temperature": Field("air_c", "degC"),
    "dewpoint": Field("dewpoint_c", "degC"),
    "relativeHumidity": Field("humidity_pct", "percent"),
    "quantitativePrecipitation": Field("rain_mm", "mm"),
    "probabilityOfPrecipitation": Field("rain_chance", "percent", per_ours=100.0),
    "windSpeed": Field("wind_ms", "km_h-1", per_ours=3.6),
    "windGust": Field("gust_ms", "km_h-1", per_ours=3.6),
    "skyCover": Field("cloud_pct", "percent"),
}
"""Their layer -> our column, the unit that they give it (after the prefix), and how many of it make one of ours."""

AIR = "temperature"
TOTALS = frozenset({"quantitativePrecipitation"})
"""Layers that give the sum over an interval."""
PAST = timedelta(hours=36)
"""Ours: hours further back than this say nothing of a night to come."""
Hours = dict[int, float]
"""Values by their hour, counted since 1970 UTC."""


def hourly_frame(properties: dict[str, Any], fetched_at: datetime) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Our columns hour by hour, and what a person should know of them; raises BadPayload."""
    import pandas as pd

    columns, notes = {}, []
    for name, field in FIELDS.items():
        layer = _layer(properties, name)
        if layer.get("uom") is None and layer["values"]:
            if name == AIR:
                raise wrong_unit(name, None, field.unit, SOURCE)
            notes.append(f"{SOURCE} gives its {name} without a unit, so it is left out")
            layer = {"values": []}
        columns[field.column] = _hours(layer, name, field, fetched_at)
    hours = sorted(set().union(*columns.values()))
    if not hours:
        raise BadPayload(f"{SOURCE}: the answer holds no hours from the last {PAST // HOUR} h on")
    every = range(hours[0], hours[-1] + 1)
    index = pd.to_datetime([hour * 3600 for hour in every], unit="s", utc=True)
    values = {name: [column.get(hour, math.nan) for hour in every] for name, column in columns.items()}
    frame = pd.DataFrame(values | {"sun_wm2": math.nan}, index=index, dtype="float64")[list(REQUIRED)]
    if frame["air_c"].isna().all():
        raise BadPayload(f"{SOURCE}: temperature holds nothing but null")
    return without_empty_tail(frame), tuple(notes)


def _layer(properties: dict[str, Any], name: str) -> dict[str, Any]:
    """One layer with its values; without any where it is not there.  The air must be."""
    if name != AIR and properties.get(name) is None:
        return {"values": []}
    layer: dict[str, Any] = member(properties, name, dict, SOURCE)
    member(layer, "values", list, f"{SOURCE}: {name}")
    return layer


def _hours(layer: dict[str, Any], name: str, field: Field, fetched_at: datetime) -> Hours:
    """A layer's values in our unit by the hour since 1970 UTC; raises BadPayload."""
    if layer["values"]:
        _check_unit(layer["uom"], name, field)
    first = math.ceil((fetched_at - PAST).timestamp() / 3600)
    found: Hours = {}
    end = -math.inf
    for row, given in enumerate(layer["values"]):
        where = f"{name}.values[{row}]"
        entry = object_of(given, where, SOURCE)
        interval = read_interval(entry.get("validTime"), f"{where}.validTime", SOURCE, near=fetched_at)
        start = round(interval.start.timestamp() / 3600)
        if start < end:
            raise BadPayload(f"{SOURCE}: {where}.validTime starts before the one before it ends")
        end = start + interval.hours
        if "value" not in entry:
            raise BadPayload(f"{SOURCE}: {where} has no 'value'")
        value = field.value(entry["value"], f"{where}.value", SOURCE)
        each = value / interval.hours if name in TOTALS else value
        found |= dict.fromkeys(range(max(start, first), end), each)
    return found


def _check_unit(uom: object, name: str, field: Field) -> None:
    """Compare a unit without its prefix (wmoUnit:, unit: …), which they may change."""
    if not isinstance(uom, str) or uom.rpartition(":")[2] != field.unit:
        raise wrong_unit(name, uom, field.unit, SOURCE)
