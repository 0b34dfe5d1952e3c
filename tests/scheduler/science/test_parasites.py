from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science.parasites import (
    CORE_LAG_H,
    DEFAULT_RULES,
    EU_RULES,
    EXTENSION_14_DAYS,
    FOOD_CODE_7_DAYS,
    FOOD_CODE_24_HOURS,
    Frozen,
    Rule,
    any_met,
    find,
    findings,
    shortest_way,
)

ALL = DEFAULT_RULES + EU_RULES
rules = st.sampled_from(ALL)
stretches = st.builds(
    Frozen, hours=st.floats(0.0, 400.0), temp_c=st.one_of(st.none(), st.floats(-45.0, 5.0)), measured=st.booleans()
)
records = st.lists(stretches, max_size=6)


def measured(hours: float, temp_c: float) -> Frozen:
    return Frozen(hours, temp_c, measured=True)


def test_without_a_record_nothing_is_met_and_it_says_so() -> None:
    found = findings([])
    assert not any_met(found)
    assert {each.state for each in found} == {"no_record"}
    assert shortest_way(found) is None


def test_a_measured_week_and_a_day_meet_the_default() -> None:
    assert find(FOOD_CODE_7_DAYS, [measured(168.0 + 24.0, -20.0)]).met
    assert not find(FOOD_CODE_7_DAYS, [measured(168.0 + 23.9, -20.0)]).met


def test_a_label_is_no_measurement() -> None:
    got = find(FOOD_CODE_7_DAYS, [Frozen(1000.0, -25.0, measured=False)])
    assert (got.state, got.remaining_h) == ("not_measured", 192.0)


def test_two_weeks_and_a_day_in_a_home_freezer_meet_the_extensions_rule_alone() -> None:
    found = findings([Frozen(336.0 + 24.0, -18.0, measured=False)])
    assert [each.rule for each in found if each.met] == [EXTENSION_14_DAYS]
    assert {each.state for each in found if not each.met} == {"too_warm"}


def test_the_european_day_is_asked_only_where_it_is_selected() -> None:
    record = [measured(48.0, -20.0)]
    assert not any_met(findings(record))
    assert any_met(findings(record, EU_RULES))


def test_what_remains_is_named_and_the_shortest_way_found() -> None:
    found = findings([Frozen(300.0, -18.0, measured=False)])
    way = shortest_way(found)
    assert way is not None
    assert way.rule == EXTENSION_14_DAYS
    assert way.remaining_h == pytest.approx(60.0)


def test_a_warmer_day_in_between_starts_the_clock_anew() -> None:
    record = [measured(150.0, -20.0), measured(1.0, -12.0), measured(150.0, -20.0)]
    assert find(FOOD_CODE_7_DAYS, record).remaining_h == pytest.approx(192.0 - 150.0)


def test_a_rule_once_met_stays_met_after_the_thaw() -> None:
    assert find(FOOD_CODE_7_DAYS, [measured(192.0, -20.0), measured(24.0, 3.0)]).met


def test_time_at_minus_20_does_not_freeze_it_solid_at_minus_35() -> None:
    got = find(FOOD_CODE_24_HOURS, [measured(100.0, -20.0)])
    assert (got.state, got.remaining_h) == ("too_warm", 48.0)
    assert find(FOOD_CODE_24_HOURS, [measured(24.0, -36.0), measured(24.0, -20.0)]).met


def test_time_that_is_left_after_freezing_solid_counts_for_holding() -> None:
    assert find(FOOD_CODE_24_HOURS, [measured(34.0, -36.0), measured(14.0, -21.0)]).met


def test_freezing_solid_must_not_be_broken_off() -> None:
    broken = [measured(12.0, -36.0), measured(10.0, -20.0), measured(12.0, -36.0), measured(24.0, -20.0)]
    assert not find(FOOD_CODE_24_HOURS, broken).met


def test_an_unknown_temperature_counts_for_nothing() -> None:
    record = [measured(150.0, -20.0), Frozen(50.0, None, measured=False)]
    got = find(FOOD_CODE_7_DAYS, record)
    assert (got.state, got.remaining_h) == ("no_record", 192.0)


@given(rules, records, st.floats(0.0, 48.0))
def test_remaining_is_never_more_than_the_rule_and_zero_only_if_met(
    rule: Rule, record: list[Frozen], lag: float
) -> None:
    got = find(rule, record, lag)
    assert 0.0 <= got.remaining_h <= rule.hold_h + lag + 1e-6
    assert got.met == (got.remaining_h == 0.0)


@given(rules, records)
def test_staying_for_what_remains_meets_the_rule(rule: Rule, record: list[Frozen]) -> None:
    got = find(rule, record)
    if got.state == "not_yet":
        assert find(rule, [*record, Frozen(got.remaining_h + 1e-6, record[-1].temp_c, record[-1].measured)]).met


@given(rules, records, st.floats(0.0, 20.0))
def test_colder_never_undoes_a_rule(rule: Rule, record: list[Frozen], colder: float) -> None:
    if find(rule, record).met:
        cold = [
            Frozen(each.hours, None if each.temp_c is None else each.temp_c - colder, each.measured) for each in record
        ]
        assert find(rule, cold).met


@given(rules, records, st.floats(0.0, 24.0), st.floats(0.0, 24.0))
def test_more_time_for_the_core_never_meets_a_rule_sooner(
    rule: Rule, record: list[Frozen], one: float, other: float
) -> None:
    little, much = sorted((one, other))
    if find(rule, record, much).met:
        assert find(rule, record, little).met


@given(rules, st.floats(-45.0, 0.0))
def test_rules_are_steps_in_temperature(rule: Rule, temp: float) -> None:
    """At any temperature a rule asks for its full time or for another freezer; nothing in between."""
    got = find(rule, [measured(10_000.0, temp)])
    assert got.state == ("met" if temp <= rule.freeze_c + 1e-9 else "too_warm")


def test_the_rules_are_each_once() -> None:
    keys = sorted(rule.key for rule in ALL)
    assert all(one != other for one, other in pairwise(keys))
    assert CORE_LAG_H == 24.0


@pytest.mark.parametrize("wrong", [{"hours": -1.0, "temp_c": -20.0}, {"hours": 1.0, "temp_c": float("nan")}])
def test_a_stretch_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"no time|not NaN"):
        Frozen(measured=True, **wrong)
