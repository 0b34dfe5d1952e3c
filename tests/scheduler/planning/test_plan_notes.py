"""What a plan says of its own times: sweating at the loading, hours of the food by temperature, colder of equals."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asked import NOW, SITE, ask, made_forecast
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples

from scheduler.household.batch import Batch
from scheduler.household.site import Chamber, Tray
from scheduler.planning.answers import Plan, Verdict
from scheduler.planning.plan import AS_LIKELY, choose_night
from scheduler.planning.plan_notes import FRIDGE_ASSUMED_C
from scheduler.service import chain_of, look

if TYPE_CHECKING:
    from providers.forecast import Forecast

RINSED = Batch(state="rinsed", since=NOW - timedelta(hours=2), weight_g=1300.0)


def even(air_c: float, dewpoint_c: float, **columns: float) -> Forecast:
    """The same weather at every hour."""
    forecast = made_forecast(days=3)
    hourly = forecast.hourly.copy()
    for name, value in {"air_c": air_c, "dewpoint_c": dewpoint_c, **columns}.items():
        hourly[name] = value
    return replace(forecast, hourly=hourly)


def plan_of(forecast: Forecast, **site: Any) -> Plan:
    plan = ask(forecast, replace(SITE, **site), RINSED).choice.plan
    assert plan is not None
    return plan


def at_loading(plan: Plan) -> tuple[str, ...]:
    others = [planned.notes for planned in plan.steps if planned.step.name not in ("load", "burn_out")]
    assert not any(others)
    return next(planned.notes for planned in plan.steps if planned.step.name == "load")


def test_food_from_the_fridge_sweats_in_air_whose_dew_point_is_warmer() -> None:
    # 25 mm of fish: ρ c L / 2 h is 0.86 h in a draught (15 W/m² K) and 1.61 h in still air (8); ln(6/4) of it.
    (note,) = at_loading(plan_of(even(10.0, 6.0), fridge_c=4.0))
    assert note == (
        "Food from a fridge at 4.0 °C sweats in this air, whose dew point is 6.0 °C: let it stand covered first;"
        " a piece 25 mm thick is past that after 21 min to 39 min, within 2 h out of the fridge in all."
    )


def test_food_does_not_sweat_in_dry_air_or_where_nobody_knows_the_dew_point() -> None:
    assert at_loading(plan_of(even(10.0, 3.9), fridge_c=4.0)) == ()
    assert at_loading(plan_of(even(10.0, float("nan")), fridge_c=4.0)) == ()


def test_a_fridge_that_nobody_measured_is_assumed_and_said() -> None:
    (note,) = at_loading(plan_of(even(10.0, 6.0)))
    assert f"a fridge at {FRIDGE_ASSUMED_C:.1f} °C (assumed, nobody measured)" in note


@pytest.mark.parametrize(
    ("dewpoint_c", "words"),
    [(9.0, "is past that after 1 h 32 min or more, within 2 h"), (9.9, "no standing within the 2 h")],
)
def test_no_standing_goes_over_the_two_hours(dewpoint_c: float, words: str) -> None:
    (note,) = at_loading(plan_of(even(10.0, dewpoint_c), fridge_c=4.0))
    assert words in note


def test_the_food_is_as_warm_as_the_chamber_in_the_smoke_and_as_the_fridge_in_the_rest() -> None:
    plan = plan_of(even(4.0, 0.0), fridge_c=3.0)
    at = {planned.step.name: planned.at for planned in plan.steps}
    hours = plan.food_hours
    assert hours is not None
    assert hours.rest is not None
    # 4 °C and 4 °C of fire: between 5 and 10 °C for the whole smoke.
    smoke_h = (at["lift"] - at["light"]).total_seconds() / 3600.0  # type: ignore[operator]
    assert (hours.smoke.cold_h, hours.smoke.cool_h) == (0.0, pytest.approx(smoke_h))
    rest_h = (at["light"] - at["rinse"]).total_seconds() / 3600.0 - 0.5  # type: ignore[operator]
    assert hours.rest.cold_h == pytest.approx(rest_h)


def test_the_thaw_and_the_chill_count_as_hours_in_the_fridge() -> None:
    plan = ask(site=replace(SITE, fridge_c=3.0)).choice.plan
    assert plan is not None
    assert plan.food_hours is not None
    steps = {planned.step.name: planned for planned in plan.steps}
    for found, first, then in ((plan.food_hours.thaw, "thaw", "salt"), (plan.food_hours.chill, "lift", "slice")):
        between = steps[then].at - steps[first].at  # type: ignore[operator]
        assert found is not None
        assert found.cold_h == pytest.approx(between.total_seconds() / 3600.0 - steps[first].step.hands_on_min / 60.0)


def test_food_that_is_past_its_thaw_has_no_hours_of_it() -> None:
    hours = plan_of(even(4.0, 0.0), fridge_c=3.0).food_hours
    assert hours is not None
    assert hours.thaw is None


def test_a_fridge_that_nobody_measured_leaves_the_rest_unknown() -> None:
    hours = plan_of(even(4.0, 0.0)).food_hours
    assert hours is not None
    assert hours.rest is not None
    assert hours.rest.unknown_h > 0.0
    assert hours.rest.cold_h == hours.rest.warm_h == 0.0


@examples(25)
@given(st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_a_warmer_rise_never_keeps_the_food_colder(one_k: float, other_k: float) -> None:
    cool, warm = (plan_of(even(6.0, 0.0), chamber=Chamber(rise_k=k)).food_hours for k in sorted([one_k, other_k]))
    assert cool is not None
    assert warm is not None
    assert warm.smoke.cold_h <= cool.smoke.cold_h
    assert warm.smoke.above_cool_h >= cool.smoke.above_cool_h


def test_of_borderline_nights_worth_the_same_the_one_that_keeps_the_food_cold_longer_is_taken() -> None:
    answer = ask(made_forecast(mean_c=16.7), batch=RINSED)
    nights = [night for night in look(answer.question) if night.verdict is Verdict.BORDERLINE]
    assert nights
    first = nights[0]
    assert first.chamber is not None

    def with_above(hours: float, peak_c: float, chance: float) -> Any:
        exposure = replace(first.chamber.exposure, mild_h=hours, warm_h=0.0)  # type: ignore[union-attr]
        return replace(first, peak_c=peak_c, chance=chance, chamber=replace(first.chamber, exposure=exposure))

    longer, shorter = with_above(9.0, 12.0, 0.7), with_above(3.0, 13.0, 0.7 - AS_LIKELY / 2)
    chain = chain_of(answer.question)
    for order in ([longer, shorter], [shorter, longer]):
        plan = choose_night(chain, order).plan
        assert plan is not None
        assert plan.night is shorter
    # Further apart in worth, the more likely one is taken whatever the food.
    plan = choose_night(chain, [longer, replace(shorter, chance=0.7 - 2 * AS_LIKELY)]).plan
    assert plan is not None
    assert plan.night is longer


def test_the_end_of_the_fire_is_told_at_its_earliest_and_as_usual() -> None:
    # Lit at 16:00 and lifted at 6:30: 14.5 h at 18.75 g/h, which are 29 h at 9.375 and 19 h 25 min at 14.
    plan = plan_of(even(4.0, 0.0))
    light, out = (next(p for p in plan.steps if p.step.name == name) for name in ("light", "burn_out"))
    assert light.at is not None
    assert out.at == light.at + timedelta(hours=29)
    earliest, usually = ((light.at + timedelta(minutes=m)).astimezone(SITE.zone) for m in (870, 1165))
    assert out.notes == (
        f"At the earliest it is out by {earliest:%a %H:%M}, usually by {usually:%a %H:%M} (our estimate).",
    )


@pytest.mark.parametrize(("fronts", "holds_g"), [(1, 450.0), (2, 450.0), (2, 150.0)])
def test_the_tray_is_filled_for_the_window_at_the_fastest_rate_as_far_as_it_holds(fronts: int, holds_g: float) -> None:
    plan = plan_of(even(4.0, 0.0), tray=Tray(holds_g, fronts))
    at = {planned.step.name: planned.at for planned in plan.steps}
    smoke_h = (at["lift"] - at["light"]).total_seconds() / 3600.0  # type: ignore[operator]
    assert plan.sawdust_g == pytest.approx(min(holds_g, smoke_h * fronts * 18.75))
