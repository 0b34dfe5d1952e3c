"""Sawdust that dries more slowly than was forecast moves a plan; the weather is named as the cause."""

from __future__ import annotations

from dataclasses import replace

from drying_builders import NOW_S, drying_site, forecast
from planning_builders import DAY_S, HOUR_S, hours_between, moment, smoke_process

from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, Step, Wait
from scheduler.household.site import Limits
from scheduler.planning.adopted import Past, taken_on
from scheduler.planning.replanned import Cause, Change
from scheduler.service import Question, plan_night, replan

DRYING = Wait(96.0, 96.0, 240.0, "clock", None, "drying")
SPREAD = Step("spread", "Spread", 0.0, "store", True, DRYING, branch="sawdust", during="drying")
STORE = Step("store", "Store", 0.0, ANCHOR, True, Wait(0.0, 24.0, 1440.0, "clock"), branch="sawdust")
SITE = drying_site(lighting_hours=hours_between("16:00", "22:00"), limits=Limits(ceiling_c=40.0, floor_c=-40.0))
COOL = {"warm_c": 14.0, "cold_c": 6.0, "dry_pct": 62.0, "damp_pct": 95.0}
LATER_S = NOW_S + 6 * HOUR_S


def asked(now_s, **weather):
    """Sawdust that was spread at noon."""
    batch = Batch(state="fresh", sawdust="none", done=(("spread", moment(NOW_S)),))
    made = replace(forecast(**weather), issued_at=moment(now_s))
    return Question(SITE, smoke_process(SPREAD, STORE), batch, made, moment(now_s))


def first_plan():
    """For the first night by whose evening the sawdust is dry in mild weather."""
    question = asked(NOW_S)
    for day in range(2, 14):
        made = plan_night(question, moment(NOW_S + day * DAY_S).date()).choice.plan
        if made is not None:
            return taken_on(made, moment(NOW_S), moment(NOW_S))
    raise AssertionError("mild weather dries")


def test_weather_that_dries_as_it_was_forecast_leaves_the_plan():
    assert replan(asked(LATER_S), Past(first_plan())).change is Change.UNCHANGED


def test_slower_drying_moves_the_night():
    adopted = first_plan()
    answer = replan(asked(LATER_S, **COOL), Past(adopted))
    assert (answer.change, answer.cause, answer.must) == (Change.MOVED, Cause.WEATHER, True)
    assert answer.plan.night.date > adopted.night
    assert answer.blocked is not None
