"""Plans whose sawdust dries by the forecast: the spreading lies in the good spell, as early as needed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from drying_builders import NOW_S, column, damp_winter, drying_site, forecast
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import DAY_S, HOUR_S, MINUTE_S, examples, hours_between, moment, smoke_process

from scheduler.faces.why import why_none
from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, Step, Wait
from scheduler.planning.backward import Infeasible
from scheduler.planning.chain import Chain
from scheduler.planning.clock import seconds
from scheduler.planning.drying_plan import planned_drying
from scheduler.planning.plan import earliest_steps
from scheduler.planning.spans import ALWAYS
from scheduler.service import Question, plan

if TYPE_CHECKING:
    from datetime import datetime

    from providers.forecast import Forecast
    from scheduler.household.process import Process

DRYING = Wait(96.0, 96.0, 240.0, "clock", None, "drying")
STEPS = (
    Step("soak", "Soak", 15.0, "spread", True, Wait(8.0, 12.0, 24.0), branch="sawdust", during="soaking"),
    Step("spread", "Spread", 45.0, "store", True, DRYING, branch="sawdust", during="drying"),
    Step("store", "Store", 10.0, ANCHOR, True, Wait(0.0, 24.0, 1440.0, "clock"), branch="sawdust"),
)
HOME = ((hours_between("06:30", "22:30"),),) * 7
SITE = drying_site(household_hours=HOME, lighting_hours=hours_between("16:00", "22:00"))


def process() -> Process:
    return smoke_process(*STEPS, hands_on_min=10.0)


def chain(made: Forecast | None, **said: Any) -> Chain:
    """Fish that is ready, sawdust that is not."""
    batch = Batch(**{"state": "fresh", "sawdust": "none", **said})
    return Chain(SITE, process(), batch, NOW_S, NOW_S + 56 * DAY_S, made)


def ready_s(made: Chain) -> float:
    """The earliest lighting."""
    domain = made.tree(12.0).leeway(ALWAYS)
    assert isinstance(domain, dict)
    return domain[ANCHOR].first


def good_then_damp(good_days: float) -> Forecast:
    """Mild sun for so many days, and damp air after it."""
    made, damp = forecast(), damp_winter()
    first = int(good_days * 24)
    changed = {
        name: np.append(column(made, name)[:first], column(damp, name)[first:]) for name in ("air_c", "humidity_pct")
    }
    return replace(made, hourly=made.hourly.assign(**changed))


def test_good_weather_is_ready_sooner_than_four_days_and_slow_weather_later() -> None:
    by_days = ready_s(chain(None))
    hot = forecast(warm_c=32.0, cold_c=18.0, dry_pct=20.0, damp_pct=50.0)
    cool = forecast(warm_c=14.0, cold_c=6.0, dry_pct=62.0, damp_pct=95.0)
    assert ready_s(chain(hot)) < by_days < ready_s(chain(cool))


def test_a_forecast_that_says_nothing_of_drying_leaves_the_days_of_the_process() -> None:
    made = forecast()
    silent = replace(made, hourly=made.hourly.assign(wind_ms=np.nan))
    assert ready_s(chain(silent)) == ready_s(chain(None))


def test_sawdust_for_a_late_night_is_spread_in_the_good_spell_at_its_start() -> None:
    made = chain(good_then_damp(6.0))
    domain = made.tree(12.0).leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert domain["spread"].last < NOW_S + 3 * DAY_S
    assert domain["soak"].last < domain["spread"].last
    for late in (5.0, 9.0):
        chosen = made.tree(12.0).choose(domain, NOW_S + late * DAY_S, frozenset())
        assert chosen["spread"] in domain["spread"]


def test_dryness_is_never_later_than_the_store_step_and_the_slow_end_is_kept_where_there_is_time() -> None:
    made = chain(forecast())
    domain = made.tree(12.0).leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert made.drying is not None
    for night in range(5, 14):
        chosen = made.tree(12.0).choose(domain, NOW_S + night * DAY_S, frozenset())
        spread = chosen["spread"] + 45 * MINUTE_S
        assert made.drying.usual.times.ready_at(spread) <= chosen["store"]
        if night >= 8:
            assert made.drying.slow.times.ready_at(spread) <= chosen["store"]


@examples(30)
@given(st.integers(0, 14 * 24 * 4))
def test_spreading_at_any_quarter_hour_of_the_leeway_keeps_a_plan_and_at_no_other(quarter: int) -> None:
    at = NOW_S + quarter * 15 * MINUTE_S
    made = chain(good_then_damp(9.0))
    tree = made.tree(12.0)
    domain = tree.leeway(ALWAYS)
    assert isinstance(domain, dict)
    assert made.drying is not None
    ready = made.drying.usual.times.ready_at(at + 45 * MINUTE_S)
    home = made.at_home.shrink(45 * MINUTE_S)
    soaked = any(
        at - 24.25 * HOUR_S <= soak <= at - 8.25 * HOUR_S
        for soak in (NOW_S + k * 15 * MINUTE_S for k in range(-4 * 24, 17 * 96))
        if soak in tree.own["soak"]
    )
    stored = made.at_home.shrink(10 * MINUTE_S).between(ready, at + 45 * MINUTE_S + 240 * HOUR_S)
    assert (at in domain["spread"]) == (at in home and soaked and bool(stored))


def test_what_lies_out_already_is_dry_sooner_than_what_is_spread_now() -> None:
    ready = [ready_s(chain(forecast(), sawdust="drying", sawdust_since=since(days))) for days in (0.0, 1.0, 3.0, 6.0)]
    assert ready == sorted(ready, reverse=True)
    assert ready[-1] < ready[0]
    assert ready[0] <= ready_s(chain(forecast()))


def since(days: float) -> datetime:
    return moment(NOW_S - days * DAY_S)


def test_hours_before_the_forecast_never_make_it_dry_by_themselves() -> None:
    for days in (4.0, 9.0):
        made = chain(damp_winter(), sawdust="drying", sawdust_since=since(days))
        assert isinstance(made.tree(12.0).leeway(ALWAYS), Infeasible)


def test_where_nothing_dries_no_step_is_placed_and_the_reason_says_so() -> None:
    asked = Question(SITE, process(), Batch(state="fresh", sawdust="none"), damp_winter(), moment(NOW_S))
    answer = plan(asked)
    assert answer.choice.plan is None
    assert answer.earliest == ()
    assert isinstance(answer.choice.ready, Infeasible)
    assert answer.choice.ready.other == "spread"
    told = " ".join(why_none(answer))
    assert "sawdust does not dry in this weather" in told
    assert "18 % is dry enough" in told


def test_the_missing_hours_are_counted_from_what_this_weather_takes() -> None:
    asked = Question(SITE, process(), Batch(state="fresh", sawdust="none"), forecast(warm_c=14.0), moment(NOW_S))
    answer = plan(asked)
    assert answer.spell is not None
    told = " ".join(why_none(answer))
    assert "in this weather after spread, before light" in told


def test_a_plan_says_by_when_its_sawdust_is_dry() -> None:
    cold_later = forecast()
    air = column(cold_later, "air_c")
    air[7 * 24 :] -= 8.0
    answer = plan(Question(SITE, process(), Batch(state="fresh", sawdust="none"), forecast(air_c=air), moment(NOW_S)))
    chosen = answer.choice.plan
    assert chosen is not None
    assert chosen.drying is not None
    by_name = {one.step.name: one for one in chosen.steps}
    spread = by_name["spread"].at
    assert spread is not None
    assert chosen.drying.spread == spread + timedelta(minutes=45)
    assert chosen.drying.dry is not None
    assert by_name["store"].at is not None
    assert chosen.drying.dry <= by_name["store"].at
    assert chosen.drying.estimated
    assert answer.drying == chosen.drying


def test_dry_sawdust_has_no_drying_in_its_plan_and_no_weather_is_read_for_it() -> None:
    made = chain(forecast(), sawdust="dry")
    assert planned_drying(made, earliest_steps(made)) is None
    assert made.spell is None


@pytest.mark.parametrize("days", [1, 3])
def test_a_short_forecast_still_plans_with_the_days_of_common_practice(days: int) -> None:
    made = chain(forecast(days))
    assert NOW_S + 3 * DAY_S < ready_s(made) < NOW_S + 7 * DAY_S
    steps = earliest_steps(made)
    drying = planned_drying(made, steps)
    assert drying is not None
    assert drying.dry is not None
    assert drying.known_until is not None
    assert drying.dry > drying.known_until
    assert seconds(drying.spread) > NOW_S
