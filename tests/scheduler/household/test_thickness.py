"""Thicknesses as people write and read them."""

from __future__ import annotations

import pytest

from scheduler.errors import BadSetting
from scheduler.household.units import parse_thickness_mm, show_thickness


@pytest.mark.parametrize(("given", "mm"), [("25 mm", 25.0), ("2.5cm", 25.0), ("1 in", 25.4), ("1.5 inches", 38.1)])
def test_a_thickness_is_read_in_its_unit(given, mm):
    assert parse_thickness_mm(given) == pytest.approx(mm)


@pytest.mark.parametrize("given", ["25", 25, "25 m", "-1 mm", "thick", "1 lb"])
def test_what_is_no_thickness_is_refused(given):
    with pytest.raises(BadSetting):
        parse_thickness_mm(given)


def test_a_thickness_is_shown_in_the_households_unit():
    assert show_thickness(30.0, "metric") == "30 mm"
    assert show_thickness(38.1, "us") == "1.5 in"
