"""What forecasts said of the porch, and what came: how much too warm they were, by how far ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from scheduler.journal.learn_smokes import Thermometer
from scheduler.journal.learn_value import Figure, Rule, learned_value

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.journal.record import Record
    from scheduler.journal.state import SiteState

DAY = timedelta(days=1)

BAND_ENDS_DAYS = (2.0, 5.0)
"""A lead, from the issue of a forecast to the lighting, up to 2 days, up to 5, or more."""

BIAS = Rule(shipped=0.0, low=-3.0, high=3.0, drawn_by=10.0, apart=3.0, fewest=10)
"""Of the porch's warmest [°C], positive where forecasts are too warm."""


@dataclass(frozen=True, slots=True)
class Forecasted:
    """One night's window by one forecast, and the porch."""

    night: date
    light: datetime
    issued_at: datetime
    peak_c: float | None
    """Warmest air of the window by the forecast, as it came, before any correction."""
    chance: float | None
    observed_c: float
    """Warmest reading of the same window."""

    @property
    def lead_days(self) -> float:
        """From the issue to the lighting."""
        return (self.light - self.issued_at) / DAY

    @property
    def band(self) -> int:
        """Which of the bands the lead lies in, 0 the nearest."""
        return sum(self.lead_days > end for end in BAND_ENDS_DAYS)


@dataclass(frozen=True, slots=True)
class Bias:
    """How much too warm forecasts have been [°C]."""

    overall: Figure
    """By the newest forecast before each lighting: what is taken off a forecast before it is judged."""
    by_band: tuple[Figure, ...]
    """By the newest forecast of each band of lead."""


def forecasted(state: SiteState, source: str | None = None) -> tuple[Forecasted, ...]:
    """Every night of every logged forecast whose whole window was read at the porch, in order of issue.

    Only forecasts made before the lighting that they speak of; source: one weather service, None takes all.
    """
    porch = Thermometer.of(state.readings, "porch")
    records = [record for record in state.forecasts if source is None or record.body["source"] == source]
    return tuple(pair for record in records for night in record.body["nights"] for pair in _pairs(record, night, porch))


def _pairs(record: Record, night: dict[str, Any], porch: Thermometer) -> Iterable[Forecasted]:
    if night["light"] is None or night["lift"] is None:
        return
    light, lift = (datetime.fromisoformat(night[key]) for key in ("light", "lift"))
    issued_at = datetime.fromisoformat(record.body["issued_at"])
    observed_c = porch.warmest(light, lift) if issued_at < light else None
    if observed_c is not None:
        day = date.fromisoformat(night["night"])
        yield Forecasted(day, light, issued_at, night["peak_c"], night["chance"], observed_c)


def newest(pairs: Iterable[Forecasted]) -> list[Forecasted]:
    """Of each night the pair of the newest forecast; nights in order."""
    found: dict[date, Forecasted] = {}
    for pair in pairs:
        if pair.night not in found or pair.issued_at >= found[pair.night].issued_at:
            found[pair.night] = pair
    return [found[night] for night in sorted(found)]


def bias(pairs: Sequence[Forecasted]) -> Bias:
    """Forecast less reading, over all nights and by the lead."""
    bands = range(len(BAND_ENDS_DAYS) + 1)
    return Bias(_bias(pairs), tuple(_bias([pair for pair in pairs if pair.band == band]) for band in bands))


def _bias(pairs: Sequence[Forecasted]) -> Figure:
    told = newest(pair for pair in pairs if pair.peak_c is not None)
    return learned_value(BIAS, [pair.peak_c - pair.observed_c for pair in told if pair.peak_c is not None])
