"""Answers of the US National Weather Service with something wrong in them: one line that names it, never half a
forecast."""

from __future__ import annotations

import json
import math
import re
from datetime import UTC, datetime
from typing import Any

import pytest
import shapes_us_nws as nws
from contract import assert_keeps_contract
from hypothesis import given
from hypothesis import strategies as st
from shapes_us_nws import layer, with_layer
from test_mutated_payloads import MUTANTS, Adapter, mutate, outcomes, spoil_text

from providers.errors import BadPayload
from providers.payload import parse_json
from providers.us_nws import parse
from providers.us_nws_layers import FIELDS
from providers.us_nws_squares import Grid, parse_grid

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)


def payload() -> dict[str, Any]:
    return nws.grid(NOW)


def read(given: Any):
    return parse(given, fetched_at=NOW)


def air(row: int, **changes: Any):
    return lambda given: layer(given, "temperature")["values"][row].update(changes)


def lose(row: int, name: str):
    return lambda given: layer(given, "temperature")["values"][row].pop(name)


def into(name: str, **changes: Any):
    return lambda given: layer(given, name).update(changes)


def properties(**changes: Any):
    return lambda given: given["properties"].update(changes)


def ring(*points: Any):
    return lambda given: given["geometry"].update(coordinates=[list(points)])


BAD = {
    "no properties": (lambda given: given.pop("properties"), "no 'properties'"),
    "not updated": (lambda given: given["properties"].pop("updateTime"), "updateTime is null, not an instant"),
    "updated long ago": (properties(updateTime="2016-10-20T10:00:00+00:00"), "updateTime is more than 40 days"),
    "no air": (lambda given: given["properties"].pop("temperature"), "no 'temperature'"),
    "air null": (properties(temperature=None), "'temperature' is null"),
    "air empty": (into("temperature", values=[]), "temperature holds nothing but null"),
    "air without its unit": (lambda given: layer(given, "temperature").pop("uom"), "temperature comes in no unit, not"),
    "air in Fahrenheit": (into("temperature", uom="wmoUnit:degF"), "temperature comes in 'wmoUnit:degF', not"),
    "unit of another layer": (into("windSpeed", uom="wmoUnit:m_s-1"), "windSpeed comes in 'wmoUnit:m_s-1'"),
    "unit is no text": (into("windSpeed", uom=5), "windSpeed comes in '5'"),
    "layer a list": (properties(dewpoint=[]), "'dewpoint' is a list"),
    "layer without values": (lambda given: layer(given, "dewpoint").pop("values"), "dewpoint: .* no 'values'"),
    "values an object": (into("dewpoint", values={}), "'values' is an object"),
    "interval a text": (lambda given: layer(given, "temperature")["values"].insert(1, "x"), r"values\[1\] is a text"),
    "no time": (lose(2, "validTime"), r"temperature.values\[2\].validTime is null, not an interval"),
    "no length": (air(2, validTime="2026-10-20T08:00:00+00:00"), r"\[2\].validTime is '2026-10-20T08:00:00\+00:00'"),
    "weeks": (air(2, validTime="2026-10-20T08:00:00+00:00/P1W"), r"\[2\].validTime lasts 'P1W'"),
    "ten years off": (air(2, validTime="2016-10-20T08:00:00+00:00/PT1H"), r"\[2\].validTime is more than 40 days"),
    "overlapping": (air(1, validTime="2026-10-20T07:00:00+00:00/PT2H"), r"\[2\].validTime starts before"),
    "twice": (air(1, validTime="2026-10-20T06:00:00+00:00/PT1H"), r"\[1\].validTime starts before the one before"),
    "unsorted": (lambda given: layer(given, "temperature")["values"].reverse(), r"\[1\].validTime starts before"),
    "no value": (lose(2, "value"), r"temperature.values\[2\] has no 'value'"),
    "value a text": (air(2, value="8.1"), r"temperature.values\[2\].value is a text"),
    "value truth": (air(2, value=True), r"values\[2\].value is true or false"),
    "value an object": (air(2, value={"value": 8}), r"values\[2\].value is an object"),
    "thousands of degrees": (air(2, value=5000), r"values\[2\].value is 5000, outside -90 to 60"),
    "not a number": (air(2, value=math.nan), "value is nan"),
    "all null": (into("temperature", values=[nws.interval(NOW, 5, None)]), "nothing but null"),
    "height in feet": (properties(elevation={"unitCode": "wmoUnit:ft", "value": 9}), "elevation comes in 'wmoUnit:ft'"),
    "height a number": (properties(elevation=9), "'elevation' is a number"),
    "height a text": (properties(elevation={"unitCode": "wmoUnit:m", "value": "9"}), "elevation.value is a text"),
    "no coordinates": (lambda given: given.update(geometry={}), "no 'coordinates'"),
    "no ring": (lambda given: given["geometry"].update(coordinates=[]), "holds no ring of corners"),
    "a point": (lambda given: given["geometry"].update(coordinates=[-1.5, 51.25]), "holds no ring of corners"),
    "too few corners": (ring([0, 0], [1, 1], [0, 0]), "holds no ring of corners"),
    "a corner of one": (ring([0, 0], [1], [1, 1], [0, 0]), r"coordinates\[0\]\[1\] is no longitude and latitude"),
    "a corner off the globe": (ring([0, 0], [1, 91], [1, 1], [0, 0]), r"coordinates\[0\]\[1\]\[1\] is 91"),
}  # fmt: skip


@pytest.mark.parametrize(("change", "sentence"), BAD.values(), ids=BAD.keys())
def test_an_answer_out_of_shape_is_refused_with_the_name_of_what_is_wrong(change, sentence):
    given = payload()
    change(given)
    with pytest.raises(BadPayload, match=sentence) as caught:
        read(given)
    assert str(caught.value).startswith("us-nws")


@pytest.mark.parametrize("top", [[], [payload()], None, "text", 3])
def test_anything_but_one_object_is_refused(top):
    with pytest.raises(BadPayload, match=r"the answer is .*, not an object"):
        read(top)


@given(st.sampled_from(list(FIELDS.items())), st.floats(allow_nan=False), st.integers(1, 40))
def test_a_value_is_kept_or_refused_never_changed_unseen(which, value, hours):
    name, field = which
    made = None
    try:
        made = read(with_layer(NOW, name, (NOW, hours, value)))
    except BadPayload as error:
        assert f"{name}.values[0].value" in str(error)  # noqa: PT017 - the other way out is as good
        return
    assert_keeps_contract(made)
    kept = made.hourly[field.column].dropna()
    low, high = field.bounds.clip or (-math.inf, math.inf)
    wanted = min(max(value / field.per_ours, low), high)
    assert len(kept) == hours
    assert kept.sum() == pytest.approx(wanted if field.column == "rain_mm" else wanted * hours)


# Thousands of answers with something wrong in them.


def short() -> dict[str, Any]:
    """Few enough intervals that a change is likely to hit something that matters."""
    return nws.grid(NOW, hours=8, blocks=2)


def check_grid(grid: Grid) -> None:
    assert re.fullmatch(r"/gridpoints/[A-Z0-9]{3,4}/\d{1,4},\d{1,4}", grid.path)


MUTATED = {
    "grid": Adapter(short, read, assert_keeps_contract),
    "point": Adapter(nws.point, parse_grid, check_grid),
}
BOTH = pytest.mark.parametrize("adapter", MUTATED.values(), ids=MUTATED.keys())


@BOTH
def test_every_changed_payload_is_taken_whole_or_refused_in_words(adapter):
    whole = adapter.payload()
    taken, refused = outcomes(adapter, lambda rng: mutate(rng, whole))
    assert taken > MUTANTS / 10
    assert refused > MUTANTS / 10


@BOTH
def test_every_spoilt_text_is_taken_whole_or_refused_in_words(adapter):
    body = json.dumps(adapter.payload()).encode()
    taken, refused = outcomes(adapter, lambda rng: parse_json(spoil_text(rng, body), "the service"))
    assert taken > 0
    assert refused > MUTANTS / 10
