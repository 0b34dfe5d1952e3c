"""Payloads with something wrong in them, thousands at a time: a forecast that keeps the contract, or words.

Each adapter adds an ``Adapter`` to ``ADAPTERS``.  The chance is seeded, so a failure names its number and comes back.
"""

from __future__ import annotations

import copy
import json
import math
import random
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
import shapes
from contract import assert_keeps_contract, assert_members

from providers import open_meteo, places
from providers.errors import WeatherError
from providers.payload import parse_json

if TYPE_CHECKING:
    from collections.abc import Callable

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)
MUTANTS = 2000
JUNK: list[Any] = [
    None, True, False, 0, -1, 1, 61, -91, 1e308, -1e308, 10**400, math.nan, math.inf, -math.inf, 0.5, -0.0, "", "8.1",
    "nan", "°C", "\x00\ud800\u202e", [], [None], [[]], {}, {"a": None}, 2**31, 2**63, 1760000000, 1760000000000,
]  # fmt: skip
BYTES = [
    b"nan",
    b"NaN",
    b"null",
    b"{",
    b"}",
    b"[",
    b"]",
    b'"',
    b",",
    b"-",
    b"1e999",
    b"\x00",
    b"\xff",
    b"\\u0000",
    b"<",
]


@dataclass(frozen=True)
class Adapter:
    """One way from a payload to something of ours."""

    payload: Callable[[], Any]
    parse: Callable[[Any], Any]
    check: Callable[[Any], None]


def open_meteo_forecast() -> Any:
    """A short one: 24 hours of the usual shape, so that a change is likely to hit something that matters."""
    whole = shapes.open_meteo_forecast(NOW, wind_speed_unit="ms", timeformat="unixtime", forecast_days=1)
    return whole | {"hourly": {name: values[-20:] for name, values in whole["hourly"].items()}}


def open_meteo_ensemble() -> Any:
    whole = shapes.open_meteo_ensemble(NOW, timeformat="unixtime", forecast_days=1, members=12)
    return whole | {"hourly": {name: values[-16:] for name, values in whole["hourly"].items()}}


def check_places(found: list[places.Place]) -> None:
    for place in found:
        assert place.name
        assert all(text.isprintable() for text in (place.name, place.region, place.country, place.zone))
        assert -90 <= place.latitude_deg <= 90
        assert -180 <= place.longitude_deg <= 180
        assert place.elevation_m is None or math.isfinite(place.elevation_m)


ADAPTERS = {
    "open-meteo": Adapter(
        open_meteo_forecast, lambda given: open_meteo.parse(given, fetched_at=NOW), assert_keeps_contract
    ),
    "open-meteo ensemble": Adapter(
        open_meteo_ensemble, lambda given: open_meteo.parse_ensemble(given, fetched_at=NOW), assert_members
    ),
    "places": Adapter(shapes.open_meteo_places, places.parse_places, check_places),
}
BOTH = pytest.mark.parametrize("adapter", ADAPTERS.values(), ids=ADAPTERS.keys())


def spots(value: Any) -> list[tuple[Any, Any]]:
    """Every place in a payload as its container and key."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    found = []
    for key, part in items:
        found += [(value, key), *spots(part)]
    return found


def mutate(rng: random.Random, payload: Any) -> Any:
    """A copy with one to three changes."""
    changed = copy.deepcopy(payload)
    for _ in range(rng.randint(1, 3)):
        all_spots = spots(changed)
        if not all_spots or rng.random() < 0.01:
            return rng.choice(JUNK)
        # half of the changes high up: there are many numbers and few of anything else
        high = [spot for spot in all_spots if isinstance(spot[0], dict)]
        change_at(rng, *rng.choice(high if rng.random() < 0.5 and high else all_spots))
    return changed


def change_at(rng: random.Random, container: Any, key: Any) -> None:
    value = container[key]
    how = rng.randrange(8)
    if how == 0:
        del container[key]
    elif how == 1 and isinstance(value, list) and value:
        rng.choice([value.pop, value.reverse, lambda: rng.shuffle(value), lambda: value.append(value[0])])()
    elif how == 2 and isinstance(container, dict):
        container[str(key) + rng.choice(["_x", "", "1", "_member07"])] = container.pop(key)
    elif how == 3 and isinstance(value, int | float):
        container[key] = rng.choice([value * 1000, -value, value + 1, str(value), [value], value // 3])
    elif how == 4:
        container[key] = [copy.deepcopy(value)]
    elif how == 5 and isinstance(container, dict):
        container[key] = container[rng.choice(list(container))]
    elif how == 6 and isinstance(value, list):
        container[key] = [rng.choice([None, part]) for part in value]
    else:
        container[key] = copy.deepcopy(rng.choice(JUNK))


def spoil_text(rng: random.Random, body: bytes) -> bytes:
    """A body with bytes lost, doubled, replaced or put in."""
    start = rng.randrange(len(body))
    end = min(len(body), start + rng.choice([1, 1, 2, 10, 100]))
    middle = rng.choice([b"", body[start:end] * 2, rng.randbytes(end - start), rng.choice(BYTES)])
    return body[:start] if rng.random() < 0.1 else body[:start] + middle + body[end:]


def outcomes(adapter: Adapter, read: Callable[[random.Random], Any]) -> tuple[int, int]:
    """How many mutants were taken and how many refused; anything else is raised, with the mutant's number."""
    taken = refused = 0
    for number in range(MUTANTS):
        rng = random.Random(number)
        try:
            made = adapter.parse(read(rng))
        except WeatherError as error:
            assert str(error).isprintable(), number  # noqa: PT017 - the other way out is as good
            refused += 1
            continue
        except Exception as error:
            raise AssertionError(f"mutant {number}") from error
        adapter.check(made)
        taken += 1
    return taken, refused


@BOTH
def test_a_payload_unchanged_is_taken(adapter):
    adapter.check(adapter.parse(adapter.payload()))


@BOTH
def test_every_changed_payload_is_taken_whole_or_refused_in_words(adapter):
    payload = adapter.payload()
    taken, refused = outcomes(adapter, lambda rng: mutate(rng, payload))
    assert taken > MUTANTS / 50, "changes must leave something to read as well"
    assert refused > MUTANTS / 10, "and something to refuse"


@BOTH
def test_every_spoilt_text_is_taken_whole_or_refused_in_words(adapter):
    body = json.dumps(adapter.payload()).encode()
    taken, refused = outcomes(adapter, lambda rng: parse_json(spoil_text(rng, body), "the service"))
    assert taken > 0
    assert refused > MUTANTS / 10
