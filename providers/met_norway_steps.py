"""The ``timeseries`` of MET Norway: instants, and blocks of one or six hours after them, made into hours of ours."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from providers.adapter import Field, object_of, wrong_unit
from providers.errors import BadPayload
from providers.forecast import PERIODS, REQUIRED
from providers.iso_times import HOUR, read_instant

if TYPE_CHECKING:
    from datetime import datetime, timedelta

    import pandas as pd

SOURCE = "met-norway"

FIELDS = {
    "air_temperature": Field("air_c", "celsius"),
    "dew_point_temperature": Field("dewpoint_c", "celsius"),
    "relative_humidity": Field("humidity_pct", "%"),
    "wind_speed": Field("wind_ms", "m/s"),
    "wind_speed_of_gust": Field("gust_ms", "m/s"),
    "cloud_area_fraction": Field("cloud_pct", "%"),
    "precipitation_amount": Field("rain_mm", "mm"),
    "probability_of_precipitation": Field("rain_chance", "%", per_ours=100.0),
    "air_temperature_max": Field("air_max_c", "celsius"),
    "air_temperature_min": Field("air_min_c", "celsius"),
    "air_temperature_percentile_10": Field("air_p10_c", "celsius"),
    "air_temperature_percentile_90": Field("air_p90_c", "celsius"),
}
"""Their quantity -> our column, the unit that they document, and how many of it make one of ours."""

INSTANT = "instant"
BLOCKS = {HOUR: "next_1_hours", 6 * HOUR: "next_6_hours"}
"""The block that speaks of a whole step, by the step's length."""
LONGEST_STEP = 6 * HOUR
ORDERED = (("air_min_c", "air_max_c"), ("air_p10_c", "air_p90_c"))
"""Columns of which the first cannot be above the second."""


@dataclass(frozen=True, slots=True)
class Step:
    """One stamp, and what is said of it and of the time to the next one."""

    where: str
    """Its place in the answer, for messages."""
    time: datetime
    length: timedelta | None
    """Time to the next stamp; None for the last."""
    blocks: dict[str, dict[str, Any]]
    """Their values by block and name; without the blocks that are not there."""

    def value(self, name: str, field: Field) -> float:
        """One quantity, at the stamp or for the whole step; NaN where it is not given."""
        block = _block(field, self.length)
        return field.value(self.blocks.get(block, {}).get(name), f"{self.where}.{block}.{name}", SOURCE)


def read_steps(series: list[Any], fetched_at: datetime) -> list[Step]:
    """The steps of an answer in order of time; raises BadPayload.

    Where two stamps are more than six hours apart, empty steps every six hours stand between them: what happens there
    is unknown.
    """
    steps: list[Step] = []
    for row, given in enumerate(series):
        step = _step(given, f"timeseries[{row}]", fetched_at)
        while steps and step.time - steps[-1].time > LONGEST_STEP:
            steps.append(Step("", steps[-1].time + LONGEST_STEP, None, {}))
        if steps and step.time <= steps[-1].time:
            raise BadPayload(f"{SOURCE}: {step.where}.time is not after the one before")
        steps.append(step)
    return [*(replace(one, length=after.time - one.time) for one, after in pairwise(steps)), *steps[-1:]]


def hourly_frame(steps: list[Step], units: dict[str, Any]) -> pd.DataFrame:
    """Our columns on the stamps of the steps; raises BadPayload for an unknown unit or an impossible value."""
    import pandas as pd

    columns = {"sun_wm2": [math.nan] * len(steps)}
    for name, field in FIELDS.items():
        values = [step.value(name, field) for step in steps]
        is_given = not all(map(math.isnan, values))
        if (is_given or name in units) and units.get(name) != field.unit:
            raise wrong_unit(name, units.get(name), field.unit, SOURCE)
        if is_given or field.column in REQUIRED:
            columns[field.column] = values
    columns["gust_ms"] = _gusts_of_hours(columns["gust_ms"], steps)
    _check_order(columns, steps)
    index = pd.DatetimeIndex([step.time for step in steps], tz="UTC").as_unit("us")
    return pd.DataFrame({name: columns[name] for name in dict.fromkeys((*REQUIRED, *columns))}, index=index)


def _step(given: object, where: str, fetched_at: datetime) -> Step:
    """One entry, its length not yet known."""
    entry = object_of(given, where, SOURCE)
    time = read_instant(entry.get("time"), f"{where}.time", SOURCE, near=fetched_at)
    data = object_of(entry.get("data"), f"{where}.data", SOURCE)
    blocks = {}
    for name in (INSTANT, *BLOCKS.values()):
        block = object_of(data.get(name, {}), f"{where}.{name}", SOURCE)
        blocks[name] = object_of(block.get("details", {}), f"{where}.{name}.details", SOURCE)
    return Step(where, time, None, blocks)


def _block(field: Field, length: timedelta | None) -> str:
    """The block that holds a quantity for a step of this length; empty where none does."""
    if field.column not in PERIODS or field.column == "gust_ms":
        return INSTANT
    return BLOCKS.get(length, "") if length is not None else ""


def _gusts_of_hours(gusts: list[float], steps: list[Step]) -> list[float]:
    """The larger gust of those at the two ends of each hour; NaN for longer steps and where one is unknown."""
    after = [*gusts[1:], math.nan]
    return [
        max(one, two) if step.length == HOUR and not math.isnan(one + two) else math.nan
        for step, one, two in zip(steps, gusts, after, strict=True)
    ]


def _check_order(columns: dict[str, list[float]], steps: list[Step]) -> None:
    """Raise BadPayload where a low is above its high; what is unknown is neither."""
    names = {field.column: name for name, field in FIELDS.items()}
    for low, high in ORDERED:
        for step, least, most in zip(steps, columns.get(low, ()), columns.get(high, ()), strict=False):
            if least > most:
                raise BadPayload(f"{SOURCE}: {step.where}: {names[low]} is above {names[high]}")
