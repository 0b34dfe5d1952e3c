"""The one shape of a forecast, whoever made it.

Footing of time, the same for every source: ``air_c``, ``dewpoint_c``, ``humidity_pct``, ``wind_ms`` and
``cloud_pct`` are readings *at* their stamp; ``rain_mm`` (a sum), ``rain_chance``, ``gust_ms`` (a maximum) and
``sun_wm2`` (a mean) are for the period that *starts* at their stamp and ends at the next one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from providers.errors import BadPayload

if TYPE_CHECKING:
    from datetime import datetime, timedelta

    import pandas as pd

READINGS = ("air_c", "dewpoint_c", "humidity_pct", "wind_ms", "cloud_pct")
"""Columns that hold the value at their stamp."""

PERIODS = ("rain_mm", "rain_chance", "gust_ms", "sun_wm2", "air_max_c", "air_min_c")
"""Columns that speak of the period starting at their stamp; the air extremes only where a service gives them."""

PERCENTILES = ("air_p10_c", "air_p50_c", "air_p90_c")
"""Percentiles of the air at their stamp, only where a service gives them."""

REQUIRED = (
    "air_c",
    "dewpoint_c",
    "humidity_pct",
    "rain_mm",
    "rain_chance",
    "wind_ms",
    "gust_ms",
    "sun_wm2",
    "cloud_pct",
)
"""Columns that every frame has, all NaN where the service says nothing."""


@dataclass(frozen=True, slots=True)
class Credit:
    """Who made the data, and what must be shown beside it."""

    text: str
    """The line to show, as the licence asks."""
    link: str
    """Where it leads; empty where there is nothing to link to."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Weather at one place, hour by hour, and who says so."""

    source: str
    """Short name of the source: "open-meteo", "table", "sample" …"""
    credit: Credit
    latitude_deg: float | None
    longitude_deg: float | None
    """The place the values are for (the model's cell); None where the source does not say."""
    elevation_m: float | None
    """Height that the air temperature is for; None where the source does not say."""
    issued_at: datetime
    """When the forecast was made; where a service does not say, the time it was fetched."""
    fetched_at: datetime
    """When we got it."""
    fresh_until: datetime | None
    """Until when asking again is pointless; None where the source does not say."""
    hourly: pd.DataFrame
    """UTC index, sorted and unique; SI columns; NaN for what the service did not say."""
    members: pd.DataFrame | None = None
    """Further air temperatures [degC] on an index of their own, one column an ensemble member."""
    notes: tuple[str, ...] = field(default=())
    """What a person should know of this forecast, as sentences."""

    def __post_init__(self) -> None:
        """Hold the contract; raise BadPayload where a source broke it."""
        check_frame(self.hourly, REQUIRED)
        if self.members is not None:
            check_frame(self.members, ())

    def age(self, now: datetime) -> timedelta:
        """Time since the forecast was made."""
        return now - self.issued_at

    def is_stale(self, now: datetime) -> bool:
        """Past its fresh-until; False where the source gave none."""
        return self.fresh_until is not None and now > self.fresh_until


def check_frame(frame: pd.DataFrame, required: tuple[str, ...]) -> None:
    """Raise BadPayload unless the frame has a sorted, unique UTC index and float columns, all required ones too."""
    index = frame.index
    if str(getattr(index, "tz", None)) != "UTC":
        raise BadPayload("the hours of a forecast must be stamped in UTC")
    if not index.is_monotonic_increasing or not index.is_unique:
        raise BadPayload("the hours of a forecast must be sorted, each once")
    if len(index) == 0:
        raise BadPayload("the forecast holds no hours")
    missing = [name for name in required if name not in frame.columns]
    if missing:
        raise BadPayload(f"the forecast lacks the columns {', '.join(missing)}")
    wrong = [str(name) for name in frame.columns if frame[name].dtype.kind != "f"]
    if wrong:
        raise BadPayload(f"the columns {', '.join(wrong)} must hold numbers")
