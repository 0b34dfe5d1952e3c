"""FDA Food Code 3-402.11(A), as Washington Administrative Code 246-215-03425 prints it (read).

(a) frozen and stored at −4 °F (−20 °C) or below for 168 hours; (b) frozen at −31 °F (−35 °C) or below until solid and
stored there for 15 hours; (c) frozen at −31 °F until solid and stored at −4 °F or below for 24 hours.
"""

from __future__ import annotations

import pytest

from scheduler.science.parasites import (
    FOOD_CODE_7_DAYS,
    FOOD_CODE_15_HOURS,
    FOOD_CODE_24_HOURS,
    Frozen,
    Rule,
    find,
)

FOOD_CODE = (FOOD_CODE_7_DAYS, FOOD_CODE_15_HOURS, FOOD_CODE_24_HOURS)


def met(rule: Rule, *stretches: tuple[float, float]) -> bool:
    """Whether measured stretches of (hours, °C) at the core meet a rule as written, without time for the core."""
    return find(rule, [Frozen(hours, temp, measured=True) for hours, temp in stretches], core_lag_h=0.0).met


@pytest.mark.parametrize(("hours", "enough"), [(167.9, False), (168.0, True)])
def test_seven_days_at_minus_20(hours: float, enough: bool) -> None:
    assert met(FOOD_CODE_7_DAYS, (hours, -20.0)) is enough


@pytest.mark.parametrize(("hours", "enough"), [(14.9, False), (15.0, True)])
def test_fifteen_hours_at_minus_35(hours: float, enough: bool) -> None:
    assert met(FOOD_CODE_15_HOURS, (hours, -35.0)) is enough


@pytest.mark.parametrize(("hours", "enough"), [(23.9, False), (24.0, True)])
def test_solid_at_minus_35_then_a_day_at_minus_20(hours: float, enough: bool) -> None:
    assert met(FOOD_CODE_24_HOURS, (0.0, -35.0), (hours, -20.0)) is enough


def test_a_day_at_minus_20_alone_meets_none() -> None:
    assert not any(met(rule, (24.0, -20.0)) for rule in FOOD_CODE)


def test_minus_18_meets_none_at_any_length() -> None:
    assert not any(met(rule, (10_000.0, -18.0)) for rule in FOOD_CODE)


def test_nothing_between_the_steps_is_interpolated() -> None:
    assert not any(met(rule, (100.0, -34.9)) for rule in FOOD_CODE)


def test_fahrenheit_and_celsius_of_the_rule_are_the_same() -> None:
    assert met(FOOD_CODE_7_DAYS, (168.0, (-4.0 - 32.0) / 1.8))
    assert met(FOOD_CODE_15_HOURS, (15.0, (-31.0 - 32.0) / 1.8))
