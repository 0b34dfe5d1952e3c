"""Open-Meteo: hourly weather for 16 days anywhere, and the spread of an ensemble.  No key; not for commerce.

Documented at https://open-meteo.com/en/docs and https://open-meteo.com/en/docs/ensemble-api (read in the site's
source of 2026-08-18).  Asked in UTC and unix time, because its local mode puts one UTC offset on the whole series
and so is an hour off beyond a change of the clocks.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from providers.adapter import Field, answer_notes, minute, without_empty_tail
from providers.errors import BadPayload, WeatherError
from providers.forecast import PERIODS, REQUIRED, Credit, Forecast
from providers.open_meteo_hours import Hours, read_hours
from providers.payload import BareNan, number, parse_json
from providers.polite_http import Answer, PoliteClient, cut_coordinate

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

SOURCE = "open-meteo"
ENSEMBLE_SOURCE = "open-meteo ensemble"
FORECAST_URL = "https://api.open-meteo.com/v1/forecast"
ENSEMBLE_URL = "https://ensemble-api.open-meteo.com/v1/ensemble"
CREDIT = Credit("Weather data by Open-Meteo.com", "https://open-meteo.com/")
"""As the terms ask beside every display; the data are under CC BY 4.0."""

FIELDS = {
    "temperature_2m": Field("air_c", "°C"),
    "dew_point_2m": Field("dewpoint_c", "°C"),
    "relative_humidity_2m": Field("humidity_pct", "%"),
    "precipitation": Field("rain_mm", "mm"),
    "precipitation_probability": Field("rain_chance", "%", per_ours=100.0),
    "wind_speed_10m": Field("wind_ms", "m/s"),
    "wind_gusts_10m": Field("gust_ms", "m/s"),
    "shortwave_radiation": Field("sun_wm2", "W/m²"),
    "cloud_cover": Field("cloud_pct", "%"),
}
"""Their variable -> our column, the unit that we ask for, and how many of it make one of ours."""

HOLDS = timedelta(hours=1)
"""The service sends no cache headers; its global models are new every 6 h, regional ones every 1 to 3 h."""
ENSEMBLE_HOLDS = timedelta(hours=3)
"""Ours: the model is new every 6 h, and a question for its members counts as six of the day's 10,000."""
PAST_DAYS, FORECAST_DAYS = 1, 16
"""The series starts at 00:00 UTC, so a day back for places where the evening is already the next day there."""

MODEL = "ecmwf_ifs025_ensemble"
"""Global, 25 km, 3-hourly, 15 days, 51 members with the control: model table of the ensemble page, 2026-08."""
MEMBER = re.compile(r"temperature_2m(?:_member(\d{1,3}))?", re.ASCII)
FEWEST_MEMBERS = 10
"""Ours: with fewer members an hour, the spread of an ensemble says nothing."""
MEMBERS_KEEP = timedelta(hours=24)
"""Ours: members older than this are not laid over a newer forecast."""


def fetch(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None = None,
    url: str = FORECAST_URL,
) -> Answer:
    """Ask for the hourly forecast at a place; ``elevation_m`` replaces the height of their terrain model."""
    wanted = {"hourly": ",".join(FIELDS), "wind_speed_unit": "ms"}
    return _get(client, url, SOURCE, wanted | _place(latitude_deg, longitude_deg, elevation_m), _read)


def parse(payload: object, *, fetched_at: datetime) -> Forecast:
    """Make a forecast of their answer; raises BadPayload, which names the field that is wrong.

    They stamp rain, its probability, gusts and radiation with the *end* of their hour; here those are moved to its
    start (see ``providers.forecast``).  null becomes NaN, and hours at the end of which nothing is known are left
    out.  They do not say when a forecast was made, so ``issued_at`` is when it was fetched.
    """
    hours = read_hours(payload, fetched_at, SOURCE)
    hourly = without_empty_tail(_frame(hours))
    if hourly["air_c"].isna().all():
        raise BadPayload(f"{SOURCE}: temperature_2m holds nothing but null")
    facts: dict[str, Any] = payload if isinstance(payload, dict) else {}
    return Forecast(
        source=SOURCE,
        credit=CREDIT,
        latitude_deg=_fact(facts, "latitude", -90.0, 90.0),
        longitude_deg=_fact(facts, "longitude", -180.0, 180.0),
        elevation_m=_fact(facts, "elevation", -500.0, 9000.0),
        issued_at=fetched_at,
        fetched_at=fetched_at,
        fresh_until=fetched_at + HOLDS,
        hourly=hourly,
    )


def fetch_ensemble(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None = None,
    url: str = ENSEMBLE_URL,
    model: str = MODEL,
) -> Answer:
    """Ask for the air temperature of every member of one ensemble; each member is billed as a variable."""
    wanted = {"hourly": "temperature_2m", "models": model}
    place = _place(latitude_deg, longitude_deg, elevation_m)
    return _get(client, url, ENSEMBLE_SOURCE, wanted | place, _read_ensemble, ENSEMBLE_HOLDS)


def parse_ensemble(payload: object, *, fetched_at: datetime) -> pd.DataFrame:
    """Air temperatures [degC], one column a member on hours in UTC; ``air_c_00`` is the control run.

    An hour for which fewer than 10 members have a value is NaN throughout; such hours at the end are left out.
    Raises BadPayload.
    """
    import pandas as pd

    hours = read_hours(payload, fetched_at, ENSEMBLE_SOURCE)
    columns: dict[str, list[float]] = {}
    for name in hours.values:
        match = MEMBER.fullmatch(name)
        if match is None:
            continue
        ours = f"air_c_{int(match[1] or 0):02d}"
        if ours in columns:
            raise BadPayload(f"{ENSEMBLE_SOURCE}: {name} is given twice")
        columns[ours] = hours.column(name, FIELDS["temperature_2m"])
    members = pd.DataFrame(columns, index=hours.index, dtype="float64")
    members[members.notna().sum(axis=1) < FEWEST_MEMBERS] = float("nan")
    members = without_empty_tail(members)
    if members.empty:
        raise BadPayload(f"{ENSEMBLE_SOURCE}: no hour has at least {FEWEST_MEMBERS} members")
    return members


def forecast(
    client: PoliteClient,
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None = None,
    ensemble: bool = True,
    url: str = FORECAST_URL,
    ensemble_url: str = ENSEMBLE_URL,
) -> Forecast:
    """The forecast at a place, with the members of the ensemble where they can be had.

    Raises Unreachable, Refused or BadPayload for the forecast itself; what goes wrong with the ensemble is a note,
    and it is not waited for as long.
    """
    at: dict[str, Any] = {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "elevation_m": elevation_m}
    answer = fetch(client, **at, url=url)
    made = replace(_read(answer), fresh_until=answer.fresh_until, notes=answer_notes(answer))
    if not ensemble:
        return made
    try:
        spread = fetch_ensemble(client.hurried(), **at, url=ensemble_url)
        if made.fetched_at - spread.fetched_at > MEMBERS_KEEP:
            raise BadPayload(f"its members at hand are of {minute(spread.fetched_at)}, too old for this forecast")
        members = _read_ensemble(spread)
    except WeatherError as error:
        return replace(made, notes=(*made.notes, f"no ensemble with this forecast: {error}"))
    return replace(made, members=members, notes=(*made.notes, *answer_notes(spread, "the ensemble")))


def _place(latitude_deg: float, longitude_deg: float, elevation_m: float | None) -> dict[str, str]:
    place = {"latitude": cut_coordinate(latitude_deg), "longitude": cut_coordinate(longitude_deg)}
    return place if elevation_m is None else place | {"elevation": f"{elevation_m:.0f}"}


def _get(
    client: PoliteClient,
    url: str,
    source: str,
    wanted: dict[str, str],
    check: Callable[[Answer], object],
    holds: timedelta = HOLDS,
) -> Answer:
    when = {
        "timezone": "GMT",
        "timeformat": "unixtime",
        "past_days": str(PAST_DAYS),
        "forecast_days": str(FORECAST_DAYS),
    }
    return client.get(url, wanted | when, source=source, check=check, min_ttl=holds)


def _read(answer: Answer) -> Forecast:
    return parse(_payload(answer, SOURCE), fetched_at=answer.fetched_at)


def _read_ensemble(answer: Answer) -> pd.DataFrame:
    return parse_ensemble(_payload(answer, ENSEMBLE_SOURCE), fetched_at=answer.fetched_at)


def _payload(answer: Answer, source: str) -> object:
    try:
        return parse_json(answer.body, source)
    except BareNan as error:  # what it sends for a place outside its grid, with status 200
        raise BadPayload(f"{source} does not cover this place (its answer holds nan for a number)") from error


def _frame(hours: Hours) -> pd.DataFrame:
    """Every field in our unit, those of a period moved from the end of their hour to its start."""
    import pandas as pd

    columns = {field.column: hours.column(name, field) for name, field in FIELDS.items()}
    frame = pd.DataFrame(columns, index=hours.index, dtype="float64")[list(REQUIRED)]
    periods = [name for name in REQUIRED if name in PERIODS]
    frame[periods] = frame[periods].shift(-1)
    return frame


def _fact(payload: dict[str, Any], name: str, low: float, high: float) -> float | None:
    value = payload.get(name)
    return None if value is None else number(value, name, SOURCE, low, high)
