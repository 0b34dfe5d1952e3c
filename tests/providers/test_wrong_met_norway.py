"""Answers of MET Norway with something wrong in them: one line that names it, and never half a forecast."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime
from typing import Any

import pytest
import shapes_met_norway as met
from contract import assert_keeps_contract
from hypothesis import given
from hypothesis import strategies as st
from shapes_met_norway import details, series
from test_mutated_payloads import MUTANTS, Adapter, mutate, outcomes, spoil_text

from providers.errors import BadPayload
from providers.met_norway import parse
from providers.met_norway_steps import FIELDS
from providers.payload import parse_json

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)


def payload(**options: Any) -> dict[str, Any]:
    return met.complete(NOW, **options)


def read(given: Any):
    return parse(given, fetched_at=NOW)


def unit(name: str, value: Any):
    return lambda given: given["properties"]["meta"]["units"].update({name: value})


def put(row: int, name: str, value: Any, block: str = "instant"):
    return lambda given: details(given, row, block).update({name: value})


def in_series(change):
    return lambda given: change(series(given))


def meta(**changes: Any):
    return lambda given: given["properties"]["meta"].update(changes)


BAD = {
    "no properties": (lambda given: given.pop("properties"), "no 'properties'"),
    "no meta": (lambda given: given["properties"].pop("meta"), "no 'meta'"),
    "no units": (lambda given: given["properties"]["meta"].pop("units"), "no 'units'"),
    "no series": (lambda given: given["properties"].pop("timeseries"), "no 'timeseries'"),
    "series an object": (lambda given: given["properties"].update(timeseries={}), "'timeseries' is an object"),
    "nothing in it": (in_series(list.clear), "has no forecast for this place$"),
    "not updated": (lambda given: given["properties"]["meta"].pop("updated_at"), "updated_at is null"),
    "updated in words": (meta(updated_at="today"), "updated_at is 'today', not an instant"),
    "updated long ago": (meta(updated_at="2016-10-20T10:00:00Z"), "updated_at is more than 40 days"),
    "an error that is no text": (meta(error=["x"]), "'error' is a list"),
    "air in kelvin": (unit("air_temperature", "kelvin"), "air_temperature comes in 'kelvin', not in 'celsius'"),
    "rain in cm": (unit("precipitation_amount", "cm"), "precipitation_amount comes in 'cm', not in 'mm'"),
    "unit missing": (lambda given: given["properties"]["meta"]["units"].pop("wind_speed"), "wind_speed comes in no un"),
    "unit is no text": (unit("wind_speed_of_gust", {"m": 1}), "wind_speed_of_gust comes in"),
    "entry a text": (in_series(lambda s: s.insert(2, "x")), r"timeseries\[2\] is a text"),
    "no time": (in_series(lambda s: s[3].pop("time")), r"timeseries\[3\].time is null"),
    "time in local form": (in_series(lambda s: s[3].update(time="2026-10-20T15:00")), r"timeseries\[3\].time is '2026"),
    "ten years off": (in_series(lambda s: s[0].update(time="2016-10-20T12:00:00Z")), r"\[0\].time is more than 40"),
    "unsorted": (in_series(list.reverse), r"timeseries\[1\].time is not after"),
    "twice": (in_series(lambda s: s.insert(4, s[3])), r"timeseries\[4\].time is not after"),
    "no data": (in_series(lambda s: s[3].pop("data")), r"timeseries\[3\].data is null"),
    "instant a list": (in_series(lambda s: s[3]["data"].update(instant=[])), r"\[3\].instant is a list"),
    "block null": (in_series(lambda s: s[3]["data"].update(next_1_hours=None)), r"\[3\].next_1_hours is null"),
    "details a number": (in_series(lambda s: s[3]["data"]["instant"].update(details=5)), "instant.details is a number"),
    "air a text": (put(7, "air_temperature", "8.1"), r"timeseries\[7\].instant.air_temperature is a text"),
    "air truth": (put(7, "air_temperature", True), "air_temperature is true or false"),
    "air too hot": (put(7, "air_temperature", 285.1), "air_temperature is 285.1, outside -90 to 60"),
    "air of any length": (put(7, "air_temperature", 10**400), "air_temperature is beyond all bounds"),
    "air not a number": (put(7, "air_temperature", math.nan), "air_temperature is nan"),
    "rain below zero": (put(7, "precipitation_amount", -1, "next_1_hours"), r"\[7\].next_1_hours.precipitation_amount"),
    "chance over 100": (put(7, "probability_of_precipitation", 101, "next_1_hours"), "is 101, outside 0 to 100"),
    "no air": (in_series(lambda s: [e["data"]["instant"]["details"].pop("air_temperature") for e in s]), "no step has"),
    "percentiles crossed": (put(3, "air_temperature_percentile_10", 40), "percentile_10 is above air_temperature_perc"),
    "extremes crossed": (put(-2, "air_temperature_min", 40, "next_6_hours"), "_min is above air_temperature_max"),
    "geometry a list": (lambda given: given.update(geometry=[]), "'geometry' is a list"),
    "no coordinates": (lambda given: given.update(geometry={}), "no 'coordinates'"),
    "one coordinate": (lambda given: given["geometry"].update(coordinates=[1.0]), "'coordinates' holds 1 values"),
    "off the globe": (lambda given: given["geometry"].update(coordinates=[181, 0]), r"coordinates\[0\] is 181"),
    "height a text": (lambda given: given["geometry"].update(coordinates=[0, 0, "9"]), r"coordinates\[2\] is a text"),
}  # fmt: skip


@pytest.mark.parametrize(("change", "sentence"), BAD.values(), ids=BAD.keys())
def test_an_answer_out_of_shape_is_refused_with_the_name_of_what_is_wrong(change, sentence):
    given = payload()
    change(given)
    with pytest.raises(BadPayload, match=sentence) as caught:
        read(given)
    assert str(caught.value).startswith("met-norway")


@pytest.mark.parametrize("top", [[], [payload()], None, "text", 3])
def test_anything_but_one_object_is_refused(top):
    with pytest.raises(BadPayload, match=r"the answer is .*, not an object"):
        read(top)


@given(st.sampled_from(list(FIELDS.items())), st.floats(allow_nan=False))
def test_a_value_is_kept_or_refused_never_changed_unseen(which, value):
    name, field = which
    given = payload(hours=3, blocks=2)
    blocks = series(given)[6]["data"]
    block = next(part for part in blocks.values() if name in part.get("details", {}))
    block["details"][name] = value
    try:
        made = read(given)
    except BadPayload as error:
        assert name in str(error)  # noqa: PT017 - the other way out is as good
        return
    assert_keeps_contract(made)
    low, high = field.bounds.clip or (-math.inf, math.inf)
    kept = made.hourly[field.column].iloc[5 if field.column == "gust_ms" else 6]
    wanted = min(max(value / field.per_ours, low), high)
    assert kept == pytest.approx(max(wanted, 8.7) if field.column == "gust_ms" else wanted)


# Thousands of answers with something wrong in them.


def short() -> dict[str, Any]:
    """Few enough steps that a change is likely to hit something that matters."""
    return met.complete(NOW, hours=3, blocks=4)


MUTATED = Adapter(short, read, assert_keeps_contract)


def test_every_changed_payload_is_taken_whole_or_refused_in_words():
    whole = short()
    taken, refused = outcomes(MUTATED, lambda rng: mutate(rng, whole))
    assert taken > MUTANTS / 10
    assert refused > MUTANTS / 10


def test_every_spoilt_text_is_taken_whole_or_refused_in_words():
    body = json.dumps(short()).encode()
    taken, refused = outcomes(MUTATED, lambda rng: parse_json(spoil_text(rng, body), "the service"))
    assert taken > 0
    assert refused > MUTANTS / 10
