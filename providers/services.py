"""The weather services by name: how each is asked, where, and in which order they are tried."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from providers.errors import BadQuestion, Unreachable, WeatherError

if TYPE_CHECKING:
    from collections.abc import Callable
    from zoneinfo import ZoneInfo

    from providers.forecast import Forecast
    from providers.polite_http import PoliteClient

LAPSE_C_PER_M = 0.0065  # standard atmosphere; ECMWF's station verification reduces by it too
TELLING_HEIGHT_M = 100.0  # our judgement: two thirds of a degree by that lapse
COMPLEX_HEIGHT_M = 250.0  # our judgement

ADDRESSES = {
    "open-meteo": "SMOKENIGHT_OPEN_METEO_URL",
    "open-meteo ensemble": "SMOKENIGHT_OPEN_METEO_ENSEMBLE_URL",
    "open-meteo places": "SMOKENIGHT_PLACES_URL",
    "met-norway": "SMOKENIGHT_MET_NORWAY_URL",
    "us-nws": "SMOKENIGHT_US_NWS_URL",
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


@dataclass(frozen=True, slots=True)
class Service:
    """One weather service."""

    name: str
    ask: Callable[[PoliteClient, Place], Forecast]
    why_not: Callable[[Place], str | None]
    """Why it is not asked for a place, as a sentence; None where it can be."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What came of asking one service."""

    name: str
    forecast: Forecast | None
    error: WeatherError | None
    """Why there is no forecast."""


def address(what: str, usual: str) -> str:
    """The address of a service: its own, unless the environment names another."""
    return os.environ.get(ADDRESSES[what]) or usual


def _open_meteo(client: PoliteClient, place: Place) -> Forecast:
    from providers import open_meteo

    return open_meteo.forecast(
        client,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        url=address("open-meteo", open_meteo.FORECAST_URL),
        ensemble_url=address("open-meteo ensemble", open_meteo.ENSEMBLE_URL),
    )


def _met_norway(client: PoliteClient, place: Place) -> Forecast:
    from providers import met_norway

    return met_norway.forecast(
        client,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        url=address("met-norway", met_norway.URL),
    )


def _us_nws(client: PoliteClient, place: Place) -> Forecast:
    from providers import us_nws

    return us_nws.forecast(
        client,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        url=address("us-nws", us_nws.URL),
    )


def _anywhere(place: Place) -> str | None:  # noqa: ARG001 - the shape of every service
    return None


def _needs_contact(place: Place) -> str | None:
    return None if place.contact else "it asks for a contact; set one with `smokenight setup --contact`"


def _in_the_us(place: Place) -> str | None:
    from providers.us_nws_squares import covers

    return None if covers(place.latitude_deg, place.longitude_deg) else "it covers the United States only"


OPEN_METEO = Service("open-meteo", _open_meteo, _anywhere)
SERVICES = {
    s.name: s
    for s in (OPEN_METEO, Service("us-nws", _us_nws, _in_the_us), Service("met-norway", _met_norway, _needs_contact))
}
"""By name, in the order in which they are tried where a site names none."""


def in_order(first: str | None, place: Place) -> tuple[Service, ...]:
    """Services to try for a place: the wanted one, then every other that can be asked there."""
    wanted = SERVICES[first] if first is not None else OPEN_METEO
    others = (one for one in SERVICES.values() if one is not wanted and one.why_not(place) is None)
    return (wanted, *others)


def ask(service: Service, client: PoliteClient, place: Place) -> Asked:
    """Ask one service; what goes wrong is a value."""
    try:
        made = service.ask(client, place)
    except WeatherError as error:
        return Asked(service.name, None, error)
    return Asked(service.name, replace(made, notes=(*made.notes, *_height_notes(made, place))), None)


def not_asked(service: Service, place: Place) -> Asked:
    """A service that cannot be asked for a place."""
    return Asked(service.name, None, BadQuestion(service.why_not(place) or "it was not asked"))


def first_good(services: tuple[Service, ...], client: PoliteClient, place: Place, now: datetime) -> Forecast:
    """The forecast of the first service that has a fresh one, else the newest that any of them had.

    It says which services were passed over for it, and why.  Raises the first service's error where none has any.
    """
    tried: list[Asked] = []
    for service in services:
        asked = ask(service, client if not tried else client.hurried(), place)
        if asked.forecast is not None and not asked.forecast.is_stale(now):
            return _with_reasons(asked.forecast, tried)
        tried.append(asked)
    stale = [one.forecast for one in tried if one.forecast is not None]
    if stale:
        newest = max(stale, key=lambda made: made.issued_at)
        return _with_reasons(newest, [one for one in tried if one.forecast is not newest])
    raise tried[0].error or Unreachable(f"{tried[0].name} gave no forecast")


def _with_reasons(made: Forecast, passed: list[Asked]) -> Forecast:
    """Say which services were passed over, and why."""
    return replace(made, notes=(*(f"{one.name} was passed over: {_why_passed(one)}" for one in passed), *made.notes))


def _why_passed(one: Asked) -> str:
    """Its error, or how old the best is that it has."""
    if one.forecast is None:
        return str(one.error)
    return f"it has nothing newer than its forecast of {one.forecast.issued_at:%Y-%m-%d %H:%M} UTC"


def _height_notes(made: Forecast, place: Place) -> tuple[str, ...]:
    """What a difference in height between the site and the forecast means."""
    if made.elevation_m is None or place.elevation_m is None:
        return ()
    above_m = place.elevation_m - made.elevation_m
    if abs(above_m) < TELLING_HEIGHT_M:
        return ()
    side, warmth = ("above", "colder") if above_m > 0 else ("below", "warmer")
    note = (
        f"your site lies {abs(above_m):.0f} m {side} the height that {made.source} forecasts for; by the usual"
        f" {1000 * LAPSE_C_PER_M:.1f} °C a kilometre it is about {abs(above_m) * LAPSE_C_PER_M:.1f} °C {warmth} there"
    )
    if abs(above_m) < COMPLEX_HEIGHT_M:
        return (note,)
    return (note, "in such terrain valleys hold cold air and slopes shed it: trust your own thermometer more than this")


def release() -> str:
    """The version of this program."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("smokenight")
    except PackageNotFoundError:  # run from a checkout that nobody installed
        return "unreleased"


def polite_client(contact: str | None) -> PoliteClient:
    """The one client that talks to services, with this machine's clock and cache folder."""
    from random import SystemRandom

    from platformdirs import user_cache_path

    from providers.polite_http import PoliteClient, identity

    return PoliteClient(
        identity=identity(release(), contact),
        cache_folder=user_cache_path("smokenight", appauthor=False) / "weather",
        clock=lambda: datetime.now(UTC),
        rng=SystemRandom(),
    )
