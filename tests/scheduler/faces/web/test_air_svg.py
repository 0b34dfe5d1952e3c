"""The picture is true: what is drawn over the ceiling is too warm, and every edge lies at its own time."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import isnan, nan
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces.web.air_svg import AirPicture, NightMark, Strip, draw
from scheduler.planning.answers import Verdict

HOUR = 3600.0
CEILING = 15.6
HOURS = 48
PIXEL = 0.11
"""Coordinates are written to a tenth."""


def night(start_h: float, window_h: tuple[float, float] | None, **more: object) -> NightMark:
    window = None if window_h is None else (window_h[0] * HOUR, window_h[1] * HOUR)
    dark = ((start_h + 6) * HOUR, (start_h + 18) * HOUR)
    made = NightMark(start_h * HOUR, (start_h + 24) * HOUR, "Thu 22", Verdict.GOOD, dark, window)
    return replace(made, **more)


def picture(air: list[float], **more: object) -> AirPicture:
    """So many hours of air from 0 on, with a band of a degree below and two above."""
    points = [(hour * HOUR, value) for hour, value in enumerate(air)]
    made = AirPicture(
        name="test", title="Air", description="Thursday good", start=0.0, end=(len(air) - 1) * HOUR, px_per_h=4.0,
        air=tuple(points), low=tuple((at, value - 1) for at, value in points),
        high=tuple((at, value + 2) for at, value in points), unit="°C", ceiling=CEILING,
        ceiling_label="ceiling 15.6 °C", nights=(night(0, (9.5, 21.5)), night(24, None)), strips=(),
    )  # fmt: skip
    return replace(made, **more)


def drawn(made: AirPicture) -> ElementTree.Element:
    return ElementTree.fromstring(draw(made))  # noqa: S314 - our own


def of_class(svg: ElementTree.Element, css: str) -> list[ElementTree.Element]:
    return [one for one in svg.iter() if css in one.get("class", "").split()]


def points(shape: ElementTree.Element) -> list[tuple[float, float]]:
    return [tuple(map(float, pair.split(","))) for pair in shape.get("points", "").split()]


def ceiling_y(svg: ElementTree.Element) -> float:
    (line,) = of_class(svg, "ceiling")
    assert line.get("y1") == line.get("y2")
    return float(line.get("y1"))


airs = st.lists(st.floats(-30, 45).map(lambda value: round(value, 1)), min_size=HOURS, max_size=HOURS)


@given(airs)
def test_a_point_lies_over_the_ceiling_exactly_where_the_air_is_warmer(air):
    svg = drawn(picture(air))
    (line,) = of_class(svg, "line")
    assert len(points(line)) == len(air)
    for value, (_, y) in zip(air, points(line), strict=True):
        if abs(value - CEILING) > 0.04:
            assert (y <= ceiling_y(svg) + PIXEL) == (value > CEILING) or abs(y - ceiling_y(svg)) <= PIXEL
        if abs(value - CEILING) > 1:
            assert (y < ceiling_y(svg)) == (value > CEILING)


@given(airs)
def test_warmer_is_never_drawn_lower_and_later_is_never_drawn_further_left(air):
    (line,) = of_class(drawn(picture(air)), "line")
    both = sorted(zip(air, points(line), strict=True))
    assert all(after[1][1] <= before[1][1] + PIXEL for before, after in pairwise(both))
    assert all(after[0] > before[0] for before, after in pairwise(points(line)))


def test_the_line_begins_and_ends_at_the_edges_of_the_picture():
    svg = drawn(picture([10.0] * HOURS))
    (line,), (rail,) = of_class(svg, "line"), of_class(svg, "ceiling")
    assert [points(line)[0][0], points(line)[-1][0]] == [float(rail.get("x1")), float(rail.get("x2"))]


@given(airs)
def test_the_band_contains_the_line(air):
    svg = drawn(picture(air))
    (band,), (line,) = of_class(svg, "spread"), of_class(svg, "line")
    edge = points(band)
    low, high = dict(edge[: len(air)]), dict(edge[len(air) :])
    assert all(high[x] - PIXEL <= y <= low[x] + PIXEL for x, y in points(line))


@given(airs)
def test_everything_lies_on_the_picture(air):
    svg = drawn(picture(air))
    width, height = (float(svg.get(name)) for name in ("width", "height"))
    for one in [*of_class(svg, "line"), *of_class(svg, "spread")]:
        assert all(0 <= x <= width and 0 <= y <= height for x, y in points(one))


@given(st.lists(st.one_of(st.just(nan), st.floats(-20, 30)), min_size=4, max_size=60))
def test_air_that_nobody_knows_breaks_the_line_and_the_band(air):
    svg = drawn(picture(air))
    runs = [run for run in "".join("-" if isnan(value) else "x" for value in air).split("-") if len(run) > 1]
    assert [len(points(one)) for one in of_class(svg, "line")] == [len(run) for run in runs]
    assert [len(points(one)) for one in of_class(svg, "spread")] == [2 * len(run) for run in runs]


def test_a_band_with_one_edge_unknown_is_not_drawn_there():
    made = picture([10.0] * 10)
    high = tuple((at, nan if at == 4 * HOUR else value) for at, value in made.high)
    assert [len(points(one)) for one in of_class(drawn(replace(made, high=high)), "spread")] == [8, 10]


@given(st.floats(0, 30), st.floats(1, 17))
def test_a_window_reaches_from_its_lighting_to_its_lift(light_h, smoke_h):
    svg = drawn(picture([10.0] * HOURS, nights=(night(0, (light_h, light_h + smoke_h)),)))
    (window,), (line,) = of_class(svg, "window"), of_class(svg, "line")
    (x0, _), (x1, _) = points(line)[:2]
    left, width = float(window.get("x")), float(window.get("width"))
    assert left == pytest.approx(x0 + light_h * (x1 - x0), abs=PIXEL)
    assert left + width == pytest.approx(x0 + min(light_h + smoke_h, HOURS - 1) * (x1 - x0), abs=2 * PIXEL)


def test_a_window_off_the_picture_is_not_drawn():
    assert not of_class(drawn(picture([10.0] * HOURS, nights=(night(48, (60, 70)),))), "window")


def test_the_chosen_night_is_told_by_a_stroke_and_by_its_times():
    svg = drawn(picture([10.0] * HOURS, nights=(night(0, (9.5, 21.5), chosen=True, window_label="21:30–09:30"),)))
    assert len(of_class(svg, "chosen")) == 1
    assert "21:30–09:30" in [one.text for one in svg.iter("text")]
    assert not of_class(drawn(picture([10.0] * HOURS)), "chosen")


@pytest.mark.parametrize("verdict", Verdict)
def test_every_verdict_is_told_in_words(verdict):
    svg = drawn(picture([10.0] * HOURS, nights=(night(0, None, verdict=verdict),)))
    assert any(verdict in (one.text or "") for one in svg.iter("text"))


def test_the_warmest_air_of_one_night_is_marked_where_the_line_is():
    svg = drawn(picture([10.0, 12.0, 11.0], ticks=((0.0, "12:00"),), peak=(HOUR, 12.0, "12.0")))
    (dot,), (line,) = of_class(svg, "at"), of_class(svg, "line")
    assert (float(dot.get("cx")), float(dot.get("cy"))) == points(line)[1]
    assert "12.0" in [one.text for one in svg.iter("text")]


def test_bars_are_as_high_as_they_say_and_nothing_is_drawn_for_none():
    bars = ((0.0, HOUR, 0.0), (HOUR, 2 * HOUR, 1.0), (2 * HOUR, 3 * HOUR, 2.0))
    svg = drawn(picture([10.0] * HOURS, strips=(Strip("rain, mm/h", bars, 1.0, limit=1.0),)))
    (bar,), (limit,) = of_class(svg, "bar"), of_class(svg, "limit")
    boxes = [one.replace("V", " ").replace("H", " ").split() for one in bar.get("d").strip("Mz").split("zM")]
    (x1, foot, top1, end1, _), (x2, _, top2, _, _) = [list(map(float, box)) for box in boxes]
    assert end1 == x2 == x1 + 4
    assert foot - top2 == 2 * (foot - top1)
    assert float(limit.get("y1")) == top1


def test_it_says_in_words_what_it_shows():
    svg = drawn(picture([10.0] * HOURS))
    named = {one.get("id"): one.text for one in svg.iter() if one.get("id")}
    assert svg.get("role") == "img"
    assert [named[name] for name in svg.get("aria-labelledby").split()] == ["Air", "Thursday good"]


def test_two_pictures_on_a_page_share_no_identifier():
    one, other = ({each.get("id") for each in drawn(picture([10.0] * 5, name=name)).iter()} for name in ("a", "b"))
    assert one & other == {None}


def test_words_are_escaped_and_equal_pictures_are_equal_bytes():
    made = picture([10.0] * HOURS, title="<b>", ceiling_label='"<script>', nights=(night(0, None, label="<i>"),))
    assert [one.text for one in drawn(made).iter("title")] == ["<b>"]
    assert "<script>" not in draw(made)
    assert draw(made) == draw(replace(made))
