"""The parallel arrays in which Open-Meteo answers, read with nothing taken on trust."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from providers.errors import BadPayload
from providers.payload import kind, member, one_line

if TYPE_CHECKING:
    from datetime import datetime

    import pandas as pd

    from providers.adapter import Field

HOUR_S = 3600
DAY_S = 86400
FARTHEST_DAYS = 40
"""Ours: the service gives at most 36 days ahead; hours farther from the fetch than this are of another time."""


@dataclass(frozen=True, slots=True)
class Hours:
    """The ``hourly`` part of an answer, with its units."""

    source: str
    values: dict[str, Any]
    units: dict[str, Any]
    index: pd.DatetimeIndex

    def column(self, name: str, field: Field) -> list[float]:
        """One variable in our unit, null as NaN.  Raises BadPayload, which names the variable and the row."""
        self._check_unit(name, field.unit)
        given = member(self.values, name, list, self.source)
        if len(given) != len(self.index):
            raise BadPayload(f"{self.source}: {name} has {len(given)} values for {len(self.index)} hours")
        return [field.value(value, f"{name}[{row}]", self.source) for row, value in enumerate(given)]

    def _check_unit(self, name: str, wanted: str) -> None:
        check_unit(self.units, name, wanted, self.source)


def read_hours(payload: object, fetched_at: datetime, source: str) -> Hours:
    """Find the hours of an answer and check their times; raises BadPayload."""
    if not isinstance(payload, dict):
        raise BadPayload(f"{source} answered with {kind(payload)} where one place was asked for")
    units = member(payload, "hourly_units", dict, source)
    values = member(payload, "hourly", dict, source)
    check_unit(units, "time", "unixtime", source)
    times = member(values, "time", list, source)
    return Hours(source, values, units, _index(times, fetched_at, source))


def check_unit(units: dict[str, Any], name: str, wanted: str, source: str) -> None:
    """Raise BadPayload unless the answer gives a variable in the unit that was asked for."""
    given = units.get(name)
    if given != wanted:
        shown = "no unit" if given is None else repr(one_line(str(given), 40))
        raise BadPayload(f"{source}: {name} comes in {shown}, not in {wanted!r}")


def _index(times: list[Any], fetched_at: datetime, source: str) -> pd.DatetimeIndex:
    """Their seconds since 1970 as hours in UTC: whole numbers, one hour apart, near the time of the fetch."""
    import pandas as pd

    if not times:
        raise BadPayload(f"{source}: the answer holds no hours")
    now_s = int(fetched_at.timestamp())  # whole, so that the difference is exact for whatever number is sent
    for row, stamp in enumerate(times):
        if isinstance(stamp, bool) or not isinstance(stamp, int):
            raise BadPayload(f"{source}: time[{row}] is {kind(stamp)}, not whole seconds")
        if abs(stamp - now_s) > FARTHEST_DAYS * DAY_S:
            raise BadPayload(f"{source}: time[{row}] is more than {FARTHEST_DAYS} days from when it was fetched")
    for row, (one, after) in enumerate(pairwise(times), start=1):
        if after - one != HOUR_S:
            wrong = "is not after the one before" if after <= one else "is not one hour after the one before"
            raise BadPayload(f"{source}: time[{row}] {wrong}")
    return pd.to_datetime(times, unit="s", utc=True)
