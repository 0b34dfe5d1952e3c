"""Two batches that share a night share its tray, so they are lit at one moment, or not on one night."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduler import service
from scheduler.faces.asking import BatchFlags, Flags, question
from scheduler.household.process import ANCHOR
from scheduler.planning.adopted import Past, taken_on
from scheduler.planning.replanned import Cause, Change

NOW = "2026-10-17T14:00"
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def asked():
    return question(Flags(None, True, None, NOW, None), BatchFlags())


@pytest.fixture(scope="module")
def found(asked):
    plan = service.plan(asked).choice.plan
    return service.replan(asked, Past(taken_on(plan, asked.forecast.issued_at, asked.now)))


def times(plan):
    return {one.step.name: one.at for one in plan.steps}


def test_it_is_lit_when_the_other_is(asked, found):
    light = times(found.plan)[ANCHOR] - HOUR
    together = service.together(asked, found, light)
    assert times(together.plan)[ANCHOR] == light
    assert (together.change, together.cause) == (Change.MOVED, Cause.SHARED)
    assert {one.step for one in together.moved} >= {ANCHOR, "lift"}


def test_at_the_same_moment_nothing_changes(asked, found):
    assert service.together(asked, found, times(found.plan)[ANCHOR]) is found


def test_once_it_was_moved_to_the_others_lighting_it_stays(asked, found):
    light = times(found.plan)[ANCHOR] - HOUR
    together = service.together(asked, found, light)
    again = service.replan(asked, Past(taken_on(together.plan, asked.forecast.issued_at, asked.now)))
    assert again.change is Change.UNCHANGED
    assert service.together(asked, again, light) is again


@pytest.mark.parametrize("hours", [-6, 12, -96])
def test_where_it_cannot_be_lit_then_the_night_is_not_shared(asked, found, hours):
    assert service.together(asked, found, times(found.plan)[ANCHOR] + hours * HOUR) is None


def test_without_a_plan_there_is_nothing_to_light_together(asked, found):
    assert service.together(asked, replace(found, plan=None), asked.now) is None
