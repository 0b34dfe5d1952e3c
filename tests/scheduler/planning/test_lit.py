"""After the lighting: the lift and its cap, a fire that went out, steps whose time is over."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from asked import FROZEN, PROCESS, SITE, ZONE, made_forecast
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples

from scheduler.planning.answers import Plan, PlannedStep
from scheduler.service import Answer, Question, plan

if TYPE_CHECKING:
    from scheduler.household.site import Site

COLD = made_forecast(mean_c=2.0)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 10, day, hour, minute, tzinfo=ZONE)


LIT = on(21, 19)
RINSED = ("rinse", on(21, 10))
CHECKED = ("first_check", on(21, 20, 5))
LIFTED = ("lift", on(22, 7, 10))


def ask(
    *done: tuple[str, datetime],
    now: datetime,
    relit: datetime | None = None,
    site: Site = SITE,
    busy: tuple[tuple[datetime, datetime], ...] = (),
    lit: datetime = LIT,
) -> Answer:
    batch = replace(FROZEN, done=(RINSED, ("light", lit), *done), relit=relit)
    forecast = replace(COLD, issued_at=now, fetched_at=now)
    return plan(Question(site, PROCESS, batch, forecast, now, busy=busy))


def steps(*done: tuple[str, datetime], now: datetime, **rest: object) -> dict[str, PlannedStep]:
    found = ask(*done, now=now, **rest).choice.plan  # type: ignore[arg-type]
    assert isinstance(found, Plan)
    return {one.step.name: one for one in found.steps}


def test_recording_the_lighting_at_its_planned_time_moves_nothing_else() -> None:
    batch = replace(FROZEN, done=(RINSED,))
    forecast = replace(COLD, issued_at=on(21, 12), fetched_at=on(21, 12))
    before = plan(Question(SITE, PROCESS, batch, forecast, on(21, 12))).choice.plan
    assert before is not None
    was = {one.step.name: one.at for one in before.steps}
    assert was["light"] is not None
    done = replace(batch, done=(RINSED, ("light", was["light"])))
    now = was["light"] + timedelta(minutes=1)
    after = plan(Question(SITE, PROCESS, done, forecast, now)).choice.plan
    assert after is not None
    assert {one.step.name: one.at for one in after.steps if not one.step.before} == {
        name: at for name, at in was.items() if not PROCESS.step(name).before
    }
    assert after.sawdust_g == before.sawdust_g


def test_the_lift_waits_for_the_planned_smoke_and_stays_under_the_cap() -> None:
    lift = steps(now=on(21, 19, 30))["lift"]
    assert (lift.at, lift.spans[0][0], lift.spans[-1][1]) == (on(22, 7), on(22, 7), on(22, 15))
    assert lift.notes == ()


def test_a_lift_that_is_due_is_now() -> None:
    lift = steps(now=on(22, 8, 20))["lift"]
    assert (lift.at, lift.notes) == (on(22, 8, 20), ())


def test_a_lift_past_its_cap_is_overdue_by_so_much_and_planned_for_now() -> None:
    lift = steps(now=on(22, 16, 30))["lift"]
    assert lift.at == on(22, 16, 30)
    assert lift.spans == ((on(22, 16, 30), on(22, 16, 30)),)
    (note,) = lift.notes
    assert note.startswith("Overdue: 20 h after lighting, your longest, was Thu 15:00, 1 h 30 min ago. Lift it now,")


def test_a_lift_at_its_very_cap_is_not_overdue() -> None:
    lift = steps(now=on(22, 15))["lift"]
    assert (lift.at, lift.notes) == (on(22, 15), ())


def test_away_from_the_planned_lift_to_the_cap_the_smoke_is_shorter_never_longer() -> None:
    away = ((on(22, 6, 45), on(22, 18)),)
    assert steps(now=on(21, 19, 30), busy=((on(22, 6, 45), on(22, 14)),))["lift"].at == on(22, 14)
    # Lifting takes 20 minutes, and the household gets up at 06:30: only the evening before is left.
    lift = steps(now=on(21, 19, 30), busy=away)["lift"]
    assert lift.at == on(21, 22, 10)
    assert lift.notes == ("This is 8 h 50 min less smoke than the 12 h planned.",)


def test_where_nobody_is_at_home_up_to_the_cap_the_lift_is_at_the_cap_and_it_is_said() -> None:
    lift = steps(now=on(22, 1), busy=((on(22, 1), on(23, 1)),))["lift"]
    assert lift.at == on(22, 15)
    assert lift.notes == ("By the household's hours nobody is at home before that.",)


def test_a_fire_lit_again_smokes_for_what_is_missing_since_it_was_last_seen_burning() -> None:
    # Seen burning for 1 h 05 min, lit again at 22:10: 10 h 55 min more.
    assert steps(CHECKED, now=on(21, 22, 12), relit=on(21, 22, 10))["lift"].at == on(22, 9, 5)
    # Never seen burning: the whole 12 h.
    assert steps(now=on(21, 22, 12), relit=on(21, 22, 10))["lift"].at == on(22, 10, 10)
    # A look at the very relighting is the one that found it out.
    checked = ("last_check", on(21, 22, 10))
    assert steps(checked, now=on(21, 22, 12), relit=on(21, 22, 10))["lift"].at == on(22, 10, 10)


def test_a_fire_lit_again_burns_out_and_leaves_ash_later() -> None:
    first, again = (steps(now=on(21, 22, 12), relit=relit) for relit in (None, on(21, 22, 10)))
    later = timedelta(hours=3, minutes=10)
    for name in ("burn_out", "ash"):
        assert again[name].at == first[name].at + later  # type: ignore[operator]
    assert again["burn_out"].notes == ("At the earliest it is out by Thu 10:10, usually by Thu 14:14 (our estimate).",)


def test_a_fire_lit_again_too_late_keeps_the_cap_of_the_first_lighting() -> None:
    lift = steps(now=on(22, 6, 35), relit=on(22, 6, 30))["lift"]
    assert lift.at == on(22, 15)
    assert lift.notes == ("This is 3 h 30 min less smoke than the 12 h planned.",)


def test_steps_whose_last_moment_is_past_leave_the_plan_and_are_told() -> None:
    answer = ask(now=on(21, 20, 30))
    assert answer.under_way is not None
    assert [step.name for step in answer.under_way.missed] == ["load", "first_check"]
    assert {one.step.name for one in answer.under_way.plan.steps if not one.done} == {
        "last_check", "lift", "burn_out", "slice", "eat_by", "ash",
    }  # fmt: skip


def test_who_lifted_the_food_is_not_asked_for_its_checks() -> None:
    answer = ask(LIFTED, now=on(22, 9))
    assert answer.under_way is not None
    assert answer.under_way.missed == ()


def test_after_the_lift_slicing_and_eating_hang_from_it_and_the_fire_from_its_lighting() -> None:
    found = steps(LIFTED, now=on(22, 9))
    assert (found["lift"].at, found["lift"].done, found["lift"].spans) == (LIFTED[1], True, ())
    assert found["slice"].spans[0][0] == on(22, 15, 10)
    assert found["eat_by"].at == on(25, 7, 10)
    assert found["burn_out"].at == on(22, 19)


def test_a_missed_slicing_leaves_the_day_to_eat_by_standing_even_when_it_is_past() -> None:
    answer = ask(LIFTED, now=on(26, 9))
    assert answer.under_way is not None
    assert [step.name for step in answer.under_way.missed] == ["slice"]
    found = {one.step.name: one for one in answer.under_way.plan.steps}
    assert (found["eat_by"].at, found["eat_by"].done) == (on(25, 7, 10), False)
    assert found["burn_out"].done  # it came about by itself


def test_a_check_nobody_is_at_home_for_is_kept_and_it_is_said() -> None:
    found = steps(now=on(21, 19, 20), busy=((on(21, 19, 15), on(21, 20, 30)),))
    assert found["first_check"].at == on(21, 20)
    assert found["first_check"].notes == ("By the household's hours nobody is at home in the time it leaves.",)


@examples(40)
@given(
    st.integers(0, 30 * 60),
    st.lists(st.tuples(st.integers(0, 30 * 60), st.integers(10, 900)), max_size=3),
    st.integers(-1, 600),
    st.booleans(),
)
def test_the_lift_is_never_before_now_nor_past_the_cap_unless_that_is_past(
    minutes: int, away: list[tuple[int, int]], relit: int, checked: bool
) -> None:
    now = LIT + timedelta(minutes=minutes)
    again = LIT + timedelta(minutes=relit) if 0 <= relit <= minutes else None
    done = (CHECKED,) if checked and minutes >= 65 else ()
    busy = tuple((LIT + timedelta(minutes=a), LIT + timedelta(minutes=a + length)) for a, length in away)
    found = steps(*done, now=now, relit=again, busy=busy)
    lift = found["lift"]
    assert lift.at is not None
    cap = LIT + timedelta(hours=SITE.longest_h)
    assert now <= lift.at <= max(now, cap)
    assert (now > cap) == any(note.startswith("Overdue") for note in lift.notes)
    least = timedelta(hours=12) if again is None else again - LIT + timedelta(hours=12)
    if again is not None and done and again > CHECKED[1]:
        least -= CHECKED[1] - LIT
    assert (lift.at - LIT < least) == any("less smoke" in note for note in lift.notes)
    assert (found["light"].at, found["rinse"].at) == (LIT, RINSED[1])


@pytest.mark.parametrize("hours", [3.0, 25.0])
def test_a_batch_that_is_lit_has_a_plan_whatever_the_site_allows(hours: float) -> None:
    assert steps(now=on(21, 19, 30), site=replace(SITE, duration_h=hours, longest_h=hours))["lift"].at is not None


def test_ash_that_was_emptied_before_the_tray_was_surely_out_stays_where_it_was_recorded() -> None:
    found = steps(LIFTED, ("ash", on(22, 12)), now=on(22, 13))
    assert (found["ash"].at, found["ash"].done) == (on(22, 12), True)
    assert (found["burn_out"].at, found["burn_out"].done) == (on(22, 19), False)


def test_a_last_look_that_nobody_took_before_bed_is_not_asked_for_in_the_night() -> None:
    answer = ask(CHECKED, now=on(21, 22, 40))
    assert answer.under_way is not None
    assert [step.name for step in answer.under_way.missed] == ["load", "last_check"]


@pytest.mark.parametrize("now", [on(21, 22, 40), on(22, 0, 30), on(22, 2, 40), on(22, 5)])
def test_a_last_look_before_the_night_is_never_planned_for_the_morning(now: datetime) -> None:
    answer = ask(now=now, lit=on(21, 22, 5))
    assert answer.choice.plan is not None
    assert answer.under_way is not None
    assert "last_check" not in {one.step.name for one in answer.choice.plan.steps}
    assert "last_check" in [step.name for step in answer.under_way.missed]


def test_nobody_looks_at_a_smoke_after_its_lift() -> None:
    warm = made_forecast(mean_c=2.0)
    hourly = warm.hourly.copy()
    hourly.loc[hourly.index >= on(21, 22), "air_c"] = 20.0
    batch = replace(FROZEN, done=(RINSED, ("light", LIT), CHECKED))
    now = on(21, 20, 30)
    answer = plan(Question(SITE, PROCESS, batch, replace(warm, hourly=hourly, issued_at=now, fetched_at=now), now))
    assert answer.under_way is not None
    assert answer.under_way.lift_by is not None
    times = {one.step.name: one.at for one in answer.under_way.plan.steps}
    assert times["lift"] < on(21, 22, 25)
    assert "last_check" not in times
