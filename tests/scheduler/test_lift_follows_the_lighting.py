"""A tray that is lit at another time than planned takes its checks and its lift along."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduler import service
from scheduler.faces.asking import BatchFlags, Flags, question
from scheduler.household.process import ANCHOR, LIFT
from scheduler.planning.adopted import Past, taken_on

HOUR = timedelta(hours=1)
FOOD = ("thaw", "salt", "rinse")


@pytest.fixture(scope="module")
def adopted():
    asked = question(Flags(None, True, None, "2026-10-17T14:00", None), BatchFlags())
    return taken_on(service.plan(asked).choice.plan, asked.forecast.issued_at, asked.now)


def lift_after(adopted, hours_off: float):
    """The lift that a replan gives for a tray lit so many hours off its time."""
    light = adopted.light + hours_off * HOUR
    asked = question(Flags(None, True, None, (light + HOUR / 2).isoformat(), None), BatchFlags())
    done = tuple((name, min(adopted.steps[name], light - HOUR)) for name in FOOD)
    batch = replace(asked.batch, done=(*sorted(done, key=lambda one: one[1]), (ANCHOR, light)))
    found = service.replan(replace(asked, batch=batch), Past(adopted))
    return next(one.at for one in found.plan.steps if one.step.name == LIFT) - light


def test_lit_at_its_time_it_is_lifted_at_its_time(adopted):
    assert lift_after(adopted, 0) == adopted.lift - adopted.light


def test_lit_a_few_minutes_early_the_lift_stays_where_it_was(adopted):
    assert lift_after(adopted, -0.25) == adopted.lift - adopted.light + HOUR / 4


@pytest.mark.parametrize("hours", [-4, -2.5])
def test_lit_hours_early_the_smoke_is_as_long_as_planned_or_until_somebody_is_up(adopted, hours):
    length = lift_after(adopted, hours)
    assert 12 * HOUR <= length < 14 * HOUR
