"""Finding a place by its name."""

from __future__ import annotations

from typing import Any

import faults
import pytest
import shapes

from providers.errors import BadPayload, Refused
from providers.places import CREDIT, Place, parse_places, search_places

PATH = "/v1/search"


def search(server, client, name="Smokeham"):
    return search_places(name, client, url=server.url + PATH)


def test_a_place_comes_with_its_position_height_and_zone(server, client):
    assert search(server, client)[0] == Place(
        name="Smokeham",
        region="North Riding of Nowhere",
        country="Inventia",
        latitude_deg=51.2512,
        longitude_deg=-1.5034,
        elevation_m=95.0,
        zone="Europe/London",
    )


def test_what_is_not_known_of_a_place_is_left_empty(server, client):
    place = search(server, client)[1]
    assert (place.region, place.country, place.zone, place.elevation_m) == ("", "", "", None)


def test_no_hit_is_an_answer_without_results(server, client):
    assert search(server, client, "Nowhere") == []


@pytest.mark.parametrize("name", ["", " ", "x", " x "])
def test_a_name_too_short_to_find_is_not_asked(server, client, name):
    assert search(server, client, name) == []
    assert server.requests == []


def test_any_name_can_be_asked(server, client):
    assert search(server, client, "Æ\udcff & ?=#\n/..") == []
    assert server.requests[0].query["name"] == "Æ? & ?=# /.."


def test_the_same_name_is_asked_once_a_day(server, client):
    assert search(server, client) == search(server, client)
    assert len(server.requests) == 1


def test_a_refusal_shows_the_reason(server, client):
    server.script(PATH, faults.reason(400, "Parameter count must be between 1 and 100."))
    with pytest.raises(Refused, match="Parameter count"):
        search(server, client)


def test_a_name_with_control_marks_is_shown_without_them():
    given = shapes.open_meteo_places()
    given["results"][0]["name"] = "Smoke\x1b[31mham\u202e"
    assert parse_places(given)[0].name == "Smoke [31mham"


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("latitude", "51", r"results\[0\].latitude is a text"),
        ("latitude", None, r"results\[0\].latitude is null"),
        ("longitude", 181, r"results\[0\].longitude is 181"),
        ("elevation", True, r"results\[0\].elevation is true or false"),
        ("name", None, "'name' is null"),
        ("name", "\x00", "empty name"),
        ("timezone", 5, "'timezone' is a number"),
    ],
)
def test_a_place_out_of_shape_is_refused(field, value, sentence):
    given: dict[str, Any] = shapes.open_meteo_places()
    given["results"][0][field] = value
    with pytest.raises(BadPayload, match=sentence):
        parse_places(given)


@pytest.mark.parametrize("payload", [[], None, {"results": None}, {"results": {}}, {"results": [1]}])
def test_anything_but_a_list_of_places_is_refused(payload):
    with pytest.raises(BadPayload):
        parse_places(payload)


def test_the_credit_names_geonames():
    assert "GeoNames" in CREDIT.text
    assert CREDIT.link == "https://www.geonames.org/"
