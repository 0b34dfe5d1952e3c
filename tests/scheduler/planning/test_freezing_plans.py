"""Freezing against parasites in whole plans: what a record meets, and what is put before the thaw."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from asked import NOW, PROCESS, SITE, ask, made_forecast, salted
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import examples

from scheduler import service
from scheduler.errors import BadBatch
from scheduler.faces.as_json import next_json
from scheduler.faces.calendar_events import events_of
from scheduler.faces.cautions import caution_sentence
from scheduler.faces.next_report import next_report
from scheduler.faces.why import cannot_be_made
from scheduler.household.batch import Batch
from scheduler.household.process import FREEZE
from scheduler.household.process_file import shipped_process
from scheduler.planning.backward import Infeasible
from scheduler.planning.freezing import freezing_of
from scheduler.planning.freezing_words import freezing_sentence
from scheduler.science.parasites import DEFAULT_RULES, EU_RULES, FARMED_EXEMPTION, FOOD_CODE_7_DAYS

if TYPE_CHECKING:
    from scheduler.planning.answers import PlannedStep
    from scheduler.service import Answer

HOUR = timedelta(hours=1)
EU = replace(SITE, parasite_rule="eu")
LAG = 24.0


def frozen(hours: float, freezer_c: float | None, *, measured: bool = False, **rest: object) -> Batch:
    """Fish that has been so long in such a freezer."""
    since = NOW - hours * HOUR
    return Batch(frozen_since=since, freezer_c=freezer_c, freezer_measured=measured, **rest)


def steps(answer: Answer) -> dict[str, PlannedStep]:
    """Planned steps by name, whether or not a night was found."""
    planned = answer.earliest if answer.choice.plan is None else answer.choice.plan.steps
    return {each.step.name: each for each in planned}


def words(answer: Answer) -> str:
    assert answer.freezing is not None
    return freezing_sentence(answer.freezing, answer.question.batch, answer.question.site)


def earliest_thaw(answer: Answer) -> datetime:
    spans = steps(answer)["thaw"].spans
    return spans[0][0]


@pytest.mark.parametrize(
    ("hours", "freezer_c", "measured", "met"),
    [
        (168.0 + LAG, -20.0, True, True),
        (167.9 + LAG, -20.0, True, False),
        (10_000.0, -20.0, False, True),  # by the extension's 14 days, which asks no thermometer
        (200.0, -20.0, False, False),
        (336.0 + LAG, -18.0, False, True),
        (335.9 + LAG, -18.0, False, False),
        (10_000.0, -17.0, True, False),
        (15.0 + LAG, -35.0, True, True),
        (14.9 + LAG, -35.0, True, False),
        (24.0 + LAG, -20.0, True, False),
    ],
)
def test_a_record_meets_the_default_rules_in_steps(hours, freezer_c, measured, met):
    answer = ask(batch=frozen(hours, freezer_c, measured=measured))
    assert (answer.freezing.standing == "met") is met
    assert (FREEZE in steps(answer)) is not met


@pytest.mark.parametrize(("hours", "met"), [(24.0 + LAG, True), (23.9 + LAG, False)])
def test_the_european_day_counts_only_where_the_site_selects_it(hours, met):
    record = frozen(hours, -20.0, measured=True)
    assert (ask(batch=record, site=EU).freezing.standing == "met") is met
    assert ask(batch=record).freezing.standing == "unfinished"


def test_the_extensions_two_weeks_hold_beside_the_european_rule():
    assert ask(batch=frozen(360.0, -18.0), site=EU).freezing.standing == "met"


def test_the_rule_met_and_those_not_met_are_named_with_why():
    said = words(ask(batch=frozen(400.0, -18.0, measured=True)))
    assert "met by 14 days at −18 °C (0 °F) (extension advice)" in said
    assert "7 days at −20 °C (−4 °F) (Food Code)" in said.partition("Not met:")[2]
    assert said.endswith("−18.0 °C is too warm at any length.")


def test_a_label_is_named_as_what_is_missing():
    assert "only a measured temperature counts" in words(ask(batch=frozen(400.0, -20.0)))


def test_no_thaw_before_the_rest_of_the_freezing_is_over():
    answer = ask(batch=frozen(240.0, -18.0))
    freeze = steps(answer)[FREEZE]
    assert freeze.done
    assert freeze.at == NOW - 240.0 * HOUR
    assert earliest_thaw(answer) >= NOW + 120.0 * HOUR
    assert earliest_thaw(answer) < NOW + 144.0 * HOUR


def test_nights_before_the_freezing_is_over_are_refused_with_that_reason():
    reasons = next_json(ask(batch=frozen(240.0, -18.0)))["reasons"]
    assert any("at least 15 days after freeze (Wed 7 Oct 14:00)" in each for each in reasons)


def test_what_spoils_is_told_without_the_wait_in_the_freezer():
    answer = ask(batch=frozen(240.0, -18.0))
    said = cannot_be_made(answer, Infeasible("rinse", "salt", 100.0, early=True))
    assert said.startswith("the salmon may wait 24 h for each started 2.3 kg and 24 h more after thaw and 60 h")


def test_without_a_record_the_plan_answers_and_says_first_that_nothing_is_met():
    answer = ask(batch=Batch(weight_g=1300.0))
    assert answer.choice.plan is not None
    assert FREEZE not in steps(answer)
    lines = " ".join(next_report(answer, 80, colour=False).partition("\n\n")[0].split())
    assert "Freezing against parasites: no record, so not met. Say --frozen-since TIME and --freezer" in lines
    assert words(answer) in steps(answer)["thaw"].step.cautions


@pytest.mark.parametrize(
    "partial", [Batch(frozen_since=NOW - 999 * HOUR), Batch(freezer_c=-20.0, freezer_measured=True)]
)
def test_half_a_record_is_none(partial):
    answer = ask(batch=partial)
    assert answer.freezing.standing == "no_record"
    assert answer.choice.plan is not None


def test_fresh_fish_is_frozen_first_at_once_and_then_thawed():
    batch = Batch(state="fresh", freezer_c=-20.0, freezer_measured=True)
    answer = ask(batch=batch, forecast=made_forecast())
    freeze, thaw = steps(answer)[FREEZE], steps(answer)["thaw"]
    assert freeze.at == NOW
    assert not freeze.done
    assert freeze.spans[-1][1] <= NOW + 48 * HOUR
    assert thaw.at - freeze.at >= (FOOD_CODE_7_DAYS.hold_h + LAG) * HOUR


def test_fresh_fish_without_a_word_on_the_freezer_takes_the_two_weeks_of_any_home_freezer():
    answer = ask(batch=Batch(state="fresh"))
    assert answer.choice.plan is None  # 16 days of forecast do not reach
    made = steps(answer)
    assert made["thaw"].at - made[FREEZE].at >= (336.0 + LAG) * HOUR
    assert made[FREEZE].at == NOW
    assert NOW + 30 * HOUR < made[FREEZE].spans[-1][1] <= NOW + 48 * HOUR
    assert any("the plan freezes first: 14 days at −18 °C" in each for each in next_json(answer)["reasons"])


@pytest.mark.parametrize(
    ("freezer_c", "measured", "site", "needed_h"),
    [
        (-20.0, True, SITE, 168.0 + LAG),
        (-20.0, False, SITE, 336.0 + LAG),
        (-19.9, True, SITE, 336.0 + LAG),
        (-18.0, False, SITE, 336.0 + LAG),
        (-15.0, True, SITE, 336.0 + LAG),  # in a colder one
        (-35.0, True, SITE, 15.0 + LAG),
        (-34.9, True, SITE, 168.0 + LAG),
        (-20.0, True, EU, 24.0 + LAG),
        (-19.9, True, EU, 336.0 + LAG),
    ],
)
def test_fresh_fish_takes_the_shortest_published_way_in_its_freezer(freezer_c, measured, site, needed_h):
    answer = ask(batch=Batch(state="fresh", freezer_c=freezer_c, freezer_measured=measured), site=site)
    assert answer.freezing.needed_h == needed_h


def test_a_freezer_that_meets_no_rule_is_left_for_a_colder_one():
    answer = ask(batch=frozen(5_000.0, -15.0))
    assert answer.freezing.standing == "no_way"
    assert not steps(answer)[FREEZE].done
    assert "never in this freezer" in words(answer)


def test_farmed_fish_is_exempt_only_where_somebody_says_so():
    said = ask(batch=Batch(state="fresh", farmed=True))
    assert {FREEZE, "thaw"}.isdisjoint(steps(said))
    assert FARMED_EXEMPTION in words(said)
    unsaid = ask(batch=Batch(food="farmed Atlantic salmon", state="fresh"))
    assert FREEZE in steps(unsaid)


def test_fish_in_salt_without_a_record_met_is_planned_and_told_that_it_cannot_be_made_up():
    answer = ask(batch=replace(salted(20.0), frozen_since=NOW - 240 * HOUR, freezer_c=-18.0))
    assert answer.choice.plan is not None
    assert answer.freezing.standing == "too_late"
    assert "cannot be made up in this batch any more, short of cooking it to 63 °C (145 °F)" in words(answer)
    assert FREEZE not in steps(answer)


def test_salted_fish_is_counted_only_until_the_earliest_it_can_have_come_out():
    """Longest thaw 48 h, hands-on 10 min and 45 min before the salt was on."""
    out_h = 20.0 + 48.0 + 55.0 / 60.0
    just = replace(salted(20.0), freezer_c=-18.0, frozen_since=NOW - (360.0 + out_h) * HOUR)
    assert ask(batch=just).freezing.standing == "met"
    assert "the earliest it can have come out" in words(ask(batch=just))
    short = replace(just, frozen_since=just.frozen_since + timedelta(minutes=1))
    assert ask(batch=short).freezing.standing == "too_late"


def test_thawing_fish_is_counted_to_the_moment_it_came_out():
    out = Batch(state="thawing", since=NOW - 10 * HOUR, freezer_c=-18.0, frozen_since=NOW - 370 * HOUR)
    assert ask(batch=out).freezing.standing == "met"
    assert "counted until" in words(ask(batch=out))
    assert "earliest" not in words(ask(batch=out))
    assert ask(batch=replace(out, frozen_since=NOW - 369.9 * HOUR)).freezing.standing == "too_late"


def test_the_cautions_in_json_carry_the_sentence_in_the_sites_units():
    answer = ask(batch=frozen(400.0, -20.0), site=replace(SITE, units="us"))
    cautions = next_json(answer)["plan"]["cautions"]
    assert words(answer) in cautions
    assert answer.freezing.standing == "met"
    warm = ask(batch=frozen(240.0, -18.0), site=replace(SITE, units="us"))
    assert any("−0.4 °F is too warm at any length" in each for each in next_json(warm)["plan"]["cautions"])


@pytest.mark.parametrize(
    ("batch", "told"),
    [
        (Batch(frozen_since=NOW + HOUR), "lies in the future"),
        (Batch(state="fresh", frozen_since=NOW - HOUR), "fresh fish has not been frozen"),
        (replace(salted(20.0), frozen_since=NOW - HOUR), "frozen before it is thawed"),
    ],
)
def test_a_record_that_cannot_be_is_refused(batch, told):
    with pytest.raises(BadBatch, match=told):
        ask(batch=batch)


def test_the_calendar_says_at_the_thaw_what_is_still_to_come():
    answer = ask(batch=frozen(240.0, -18.0))
    entries = events_of(
        answer.choice.plan, site=SITE, stamp=NOW, credit=answer.question.forecast.credit, caution_text=caution_sentence
    )
    thaw = next(entry for entry in entries if "thaw" in entry.categories)
    assert words(answer) in thaw.description


def test_a_process_without_a_freezing_step_says_that_it_has_none():
    process = replace(PROCESS, steps=tuple(step for step in PROCESS.steps if step.name != FREEZE))
    question = replace(ask().question, process=process, batch=frozen(240.0, -18.0))
    answer = service.plan(question)
    assert answer.choice.plan is not None
    assert "the process has no step for it. First freeze 14 days at −18 °C" in words(answer)


def test_food_that_no_parasite_rule_is_about_has_no_record():
    question = replace(ask().question, process=shipped_process("cheese"), batch=Batch(food="cheese", state="ready"))
    assert service.plan(question).freezing is None


@examples(60)
@given(hours=st.floats(0.0, 500.0), freezer_c=st.floats(-45.0, 0.0), measured=st.booleans(), eu=st.booleans())
def test_the_freezing_of_a_plan_is_as_long_as_a_rule_and_never_between_two(hours, freezer_c, measured, eu):
    site = EU if eu else SITE
    for batch in (frozen(hours, freezer_c, measured=measured), Batch(state="fresh", freezer_c=freezer_c)):
        now = NOW.timestamp()
        needed = freezing_of(site, PROCESS, batch, now, None).needed_h
        assert needed is None or needed - LAG in {rule.hold_h for rule in (*DEFAULT_RULES, *EU_RULES)}


@examples(60)
@given(hours=st.floats(0.0, 500.0), freezer_c=st.floats(-45.0, 0.0), more=st.floats(0.0, 300.0))
def test_more_time_in_the_freezer_never_undoes_a_rule(hours, freezer_c, more):
    now = NOW.timestamp()
    if freezing_of(SITE, PROCESS, frozen(hours, freezer_c, measured=True), now, None).standing == "met":
        longer = frozen(hours + more, freezer_c, measured=True)
        assert freezing_of(SITE, PROCESS, longer, now, None).standing == "met"


@examples(25)
@given(hours=st.floats(0.0, 500.0), freezer_c=st.floats(-40.0, 0.0), measured=st.booleans())
def test_a_plan_thaws_only_fish_whose_record_meets_a_rule_by_then(hours, freezer_c, measured):
    """A later question at the moment of the thaw, with the same record, finds a rule met."""
    batch = frozen(hours, freezer_c, measured=measured)
    answer = ask(batch=batch)
    if answer.freezing.standing in ("no_way", "met"):
        return
    thaw = steps(answer)["thaw"].spans[0][0]
    later = replace(answer.question, now=thaw)
    assert service.plan(later).freezing.standing == "met"
