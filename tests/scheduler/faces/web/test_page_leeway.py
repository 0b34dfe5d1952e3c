"""The bars beside the steps share one line of time, and hold the moments that the plan allows."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from asked import CASES, SITE, answer

from scheduler.faces.web.leeway_svg import DOT, WIDTH, Timeline
from scheduler.household.process import LIFT

cases = pytest.mark.parametrize("case", [case for case in CASES if answer(case).choice.plan is not None])


def line_of(case: str) -> tuple[Timeline, tuple]:
    told = answer(case)
    steps = told.choice.plan.steps
    return Timeline.of(steps, told.question.now, SITE.zone), steps


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - our own


def shapes(svg: str, css: str) -> list[ElementTree.Element]:
    return [one for one in read(svg).iter() if one.get("class") == css]


@cases
def test_the_planned_time_lies_on_its_own_leeway(case):
    line, steps = line_of(case)
    for one in (one for one in steps if line.bar(one) and one.spans):
        (dot,) = shapes(line.bar(one), "at")
        spans = [(float(each.get("x")), float(each.get("width"))) for each in shapes(line.bar(one), "span")]
        assert any(x - 0.2 <= float(dot.get("cx")) <= x + width + 0.2 for x, width in spans)


@cases
def test_later_steps_are_further_right_up_to_the_lift(case):
    line, steps = line_of(case)
    ahead = [one for one in steps if line.bar(one)]
    places = [float(shapes(line.bar(one), "at")[0].get("cx")) for one in ahead]
    assert all(before <= after for before, after in pairwise(places))
    assert all(DOT <= place <= WIDTH - DOT for place in places)
    lift = next(one for one in steps if one.step.name == LIFT)
    assert all(one.at <= lift.at for one in ahead if not lift.done)


def test_a_step_takes_the_share_of_the_line_that_its_time_does():
    line, steps = line_of("good")
    one = next(one for one in steps if one.step.name == "thaw")
    share = (one.at.timestamp() - line.start) / (line.end - line.start)
    (dot,) = shapes(line.bar(one), "at")
    assert float(dot.get("cx")) == pytest.approx(DOT + share * (WIDTH - 2 * DOT), abs=0.06)


def test_ticks_are_the_midnights_of_the_place_and_the_axis_names_the_days():
    line, _ = line_of("good")
    found = [datetime.fromtimestamp(at, SITE.zone) for at in line.midnights]
    assert {moment.strftime("%H:%M") for moment in found} == {"00:00"}
    assert [moment.day for moment in found] == [18, 19, 20, 21, 22, 23, 24]
    named = [one.text for one in read(line.axis()).iter("text")]
    assert named == ["18", "19", "20", "21", "22", "23", "24"]


def test_many_days_are_named_now_and_then():
    line, _ = line_of("freezing under way")
    assert len(line.midnights) > 15
    named = list(read(line.axis()).iter("text"))
    places = [float(one.get("x")) for one in named]
    assert len(named) > 5
    assert all(after - before >= 20 for before, after in pairwise(places))


def test_what_is_done_has_no_bar():
    line, steps = line_of("salted")
    assert {line.bar(one) for one in steps if one.done} <= {""}
    assert any(one.done for one in steps)
