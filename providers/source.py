"""Ask one source for a forecast: a service by its name, a table by its file, or the invented sample."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from providers.errors import UnknownSource

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from providers.forecast import Forecast
    from providers.places import Place as FoundPlace
    from providers.polite_http import PoliteClient

SERVICES = ("open-meteo",)
SAMPLE = "sample"
DEFAULT = "open-meteo"

ADDRESSES = {
    "forecast": "SMOKENIGHT_OPEN_METEO_URL",
    "ensemble": "SMOKENIGHT_OPEN_METEO_ENSEMBLE_URL",
    "places": "SMOKENIGHT_PLACES_URL",
}
"""Environment variables that put another address in the place of a service's own."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where weather is wanted, and who asks."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    zone: ZoneInfo
    contact: str | None


def get_forecast(source: str | None, place: Place, now: datetime) -> Forecast:
    """A forecast from the named source; None takes the default service.

    Raises BadTable for a table that cannot be read, UnknownSource for a name that is none, and another WeatherError
    where a service gives no forecast.
    """
    chosen = DEFAULT if source is None else source
    if chosen == SAMPLE:
        from providers.sample import sample_forecast

        return sample_forecast(now, zone=place.zone, latitude_deg=place.latitude_deg, longitude_deg=place.longitude_deg)
    if chosen in SERVICES:
        from providers import open_meteo

        return open_meteo.forecast(
            client(place.contact),
            latitude_deg=place.latitude_deg,
            longitude_deg=place.longitude_deg,
            elevation_m=place.elevation_m,
            ensemble=False,
            url=address("forecast", open_meteo.FORECAST_URL),
        )
    if not looks_like_a_file(chosen):
        raise UnknownSource(f"weather {chosen!r} is not known; {_nearest(chosen)}, or a table of hours (FILE.csv)")
    from providers.table import read_table

    return read_table(Path(chosen), fetched_at=now)


def find_places(name: str, contact: str | None) -> list[FoundPlace]:
    """Places of that name, from the weather service's open geocoder."""
    from providers import places

    return places.search_places(name, client(contact), url=address("places", places.URL))


def client(contact: str | None) -> PoliteClient:
    """The one client that talks to services, with this machine's clock and cache folder."""
    from importlib.metadata import version
    from random import SystemRandom

    from platformdirs import user_cache_path

    from providers.polite_http import PoliteClient, identity

    return PoliteClient(
        identity=identity(version("smokenight"), contact),
        cache_folder=user_cache_path("smokenight", appauthor=False) / "weather",
        clock=lambda: datetime.now(UTC),
        rng=SystemRandom(),
    )


def address(what: str, usual: str) -> str:
    """The address of a service: its own, unless the environment names another."""
    return os.environ.get(ADDRESSES[what]) or usual


def looks_like_a_file(name: str) -> bool:
    """Whether a source is meant as a path."""
    return "/" in name or os.sep in name or "." in name or Path(name).exists()


def _nearest(name: str) -> str:
    known = (*SERVICES, SAMPLE)
    near = get_close_matches(name, known, n=1)
    return f"did you mean {near[0]!r}?" if near else f"choose one of: {', '.join(known)}"
