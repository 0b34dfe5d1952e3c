"""Households made up for learning, with a truth that is known: states of a journal without a file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from scheduler.household.process_file import shipped_process
from scheduler.household.site import Site
from scheduler.journal.record import Kind, Record
from scheduler.journal.state import BatchState, Reading, SiteState, StepDone

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
START = datetime(2026, 1, 10, 18, 0, tzinfo=UTC)
"""The first lighting; night n's is n days later."""
SITE = Site("Invented shed", 51.0, -1.0, ZoneInfo("Europe/London"))
SALMON = shipped_process("salmon")


def lit(night: int) -> datetime:
    """When the tray of that night was lit."""
    return START + night * DAY


def record(kind: Kind, at: datetime, body: Mapping[str, Any], batch: str | None = None) -> Record:
    return Record(f"{kind}-{at.isoformat()}-{batch}", SITE.name, batch, kind, at, at, body)


def forecast(
    night: int, peak_c: float | None, *, lead_h: float = 24.0, chance: float | None = 0.7, **more: Any
) -> Record:
    """One night of a logged forecast, made so many hours before the lighting."""
    light = lit(night)
    issued = light - lead_h * HOUR
    told = {
        "night": light.date().isoformat(),
        "light": light.isoformat(),
        "lift": (light + 12 * HOUR).isoformat(),
        "peak_c": peak_c,
        "chance": chance,
    }
    body = {"source": "invented weather", "issued_at": issued.isoformat(), "nights": [told | more]}
    return record(Kind.FORECAST_LOGGED, issued, body)


def porch(night: int, warmest_c: float, every_h: float = 1.0) -> list[Reading]:
    """Readings from an hour before the lighting to an hour after the lift; the warmest is at the lighting."""
    count = int(14 / every_h) + 1
    return [
        Reading("porch", lit(night) + (each * every_h - 1.0) * HOUR, warmest_c - 0.5 * abs(each * every_h - 1.0))
        for each in range(count)
    ]


def batch(
    number: int,
    done: Sequence[StepDone] = (),
    *,
    weight_g: float | None = None,
    food: str = "salmon",
    relit: Sequence[datetime] = (),
) -> BatchState:
    body = {"name": f"batch {number}", "food": food, "process": None, "weight_g": weight_g}
    opened = record(Kind.BATCH_OPENED, lit(number) - 10 * DAY, body, f"b{number}")
    return BatchState(f"b{number}", opened, tuple(done), tuple(relit))


def smoke(number: int, fill_g: float | None, left_g: float | None, hours: float = 12.0, **more: Any) -> BatchState:
    light = lit(number)
    steps = (StepDone("light", light, None, fill_g), StepDone("lift", light + hours * HOUR, None, left_g))
    return batch(number, steps, **more)


def forecasts_and_porch(peaks: Sequence[tuple[float, float]], **more: Any) -> SiteState:
    """Nights in a row, each by its forecast and its warmest reading."""
    readings = [one for night, (_, observed) in enumerate(peaks) for one in porch(night, observed)]
    return SiteState((), tuple(readings), tuple(forecast(night, peak, **more) for night, (peak, _) in enumerate(peaks)))


def burnt(rate_g_h: float, hours: float = 12.0, fronts: int = 1) -> tuple[float, float]:
    """Filled and left, for this rate."""
    gone = rate_g_h * hours * fronts
    return gone + 200.0, 200.0


def salted(number: int, loss_pct: float, raw_g: float = 1300.0) -> BatchState:
    cured_g = raw_g * (1.0 - loss_pct / 100.0)
    return batch(number, (StepDone("salt", lit(number), raw_g), StepDone("rinse", lit(number) + 2 * DAY, cured_g)))


def spread(number: int, hours: float) -> BatchState:
    return batch(number, (StepDone("spread", lit(number)), StepDone("store", lit(number) + hours * HOUR)))


def chamber(night: int, rise_k: float) -> list[Reading]:
    """Read beside every reading at the porch, five minutes later."""
    return [
        Reading("chamber", one.at + timedelta(minutes=5), one.c + rise_k)
        for one in porch(night, 10.0)
        if lit(night) + HOUR <= one.at < lit(night) + 12 * HOUR
    ]


def rises(nights: list[float]) -> SiteState:
    readings = [one for night, rise in enumerate(nights) for one in (*porch(night, 10.0), *chamber(night, rise))]
    fires = tuple(smoke(night, None, None) for night in range(len(nights)))
    return SiteState(fires, tuple(sorted(readings, key=lambda one: one.at)))
