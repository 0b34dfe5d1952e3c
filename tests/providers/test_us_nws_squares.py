"""The squares of the US National Weather Service: which one a place lies in, and whether there is any."""

from __future__ import annotations

import pytest
import shapes_us_nws as nws

from providers.errors import BadPayload
from providers.us_nws_squares import Grid, covers, parse_grid


def test_the_index_zero_is_an_index():
    assert parse_grid(nws.point("ZZZ", 0, 0)) == Grid("ZZZ", 0, 0)


BAD_POINTS = {
    "no properties": ({}, "no 'properties'"),
    "a list": ([nws.point()], "the answer is a list"),
    "no square there": (nws.point(None, None, None), "has no forecast grid for this place"),
    "office a number": (nws.point(5), "'gridId' is a number"),
    "office with a path": (nws.point("../ZZZ"), "gridId is '../ZZZ', not an office"),
    "office in small letters": (nws.point("zzz"), "gridId is 'zzz'"),
    "index null": (nws.point("ZZZ", None), "gridX is None, not a whole number"),
    "index a text": (nws.point("ZZZ", 0, "12"), "gridY is '12', not a whole number"),
    "index truth": (nws.point("ZZZ", True), "gridX is True"),
    "index a fraction": (nws.point("ZZZ", 1.5), "gridX is 1.5"),
    "index below zero": (nws.point("ZZZ", -1), "gridX is -1"),
    "index of any length": (nws.point("ZZZ", 10**400), "gridX is 1000"),
}


@pytest.mark.parametrize(("given_point", "sentence"), BAD_POINTS.values(), ids=BAD_POINTS.keys())
def test_a_point_out_of_shape_is_refused(given_point, sentence):
    with pytest.raises(BadPayload, match=sentence) as caught:
        parse_grid(given_point)
    assert str(caught.value).startswith("us-nws")
    assert len(str(caught.value)) < 120


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "covered"),
    [
        (40.0, -100.0, True), (25.0, -81.0, True), (61.0, -150.0, True), (52.0, 173.0, True), (20.0, -156.0, True),
        (18.2, -66.0, True), (13.4, 144.8, True), (-14.3, -170.7, True),
        (51.5, -0.1, False), (0.0, 0.0, False), (-40.0, -100.0, False), (40.0, 100.0, False), (53.0, -100.0, False),
        (float("nan"), 0.0, False),
    ],
)  # fmt: skip
def test_boxes_around_the_states_and_territories(latitude_deg, longitude_deg, covered):
    assert covers(latitude_deg, longitude_deg) is covered
