"""The answers as JSON: the shape that programs may rely on."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from math import inf, nan

import pytest
from asked import CASES, SITE, answer, ask, salted

from scheduler.faces.as_json import next_json, night_json, nights_json, plan_json
from scheduler.science.hazards import CAUTIONS

ASKED = ["as_of", "site", "forecast"]
FORECAST = ["source", "issued_at", "fetched_at", "stale", "attribution"]
NIGHT = ["date", "verdict", "reasons", "light_earliest", "light_best", "light_latest", "lift", "duration_h", "peak_c",
         "peak_at", "low_c", "ceiling_c", "margin_c", "chance", "rain_mm", "gust_ms", "dewpoint_max_c"]  # fmt: skip
PLAN = ["batch", "night", "steps", "sawdust_g", "salt_g", "sugar_g", "cautions"]
STEP = ["name", "at", "earliest", "latest", "spans", "hands_on_min", "done", "note"]


def nights(case):
    return nights_json(answer(case).question, answer(case).nights)


@pytest.mark.parametrize("case", CASES)
def test_the_keys_are_the_published_ones_in_every_case(case):
    found = next_json(answer(case))
    assert list(found) == [*ASKED, "night", "plan", "reasons"]
    assert list(found["forecast"]) == FORECAST
    assert list(nights(case)) == [*ASKED, "nights"]
    assert all(list(night) == NIGHT for night in nights(case)["nights"])
    if found["plan"] is None:
        assert found["night"] is None
        return
    assert list(found["night"]) == NIGHT
    assert list(found["plan"]) == PLAN
    assert found["plan"]["night"] == found["night"]
    assert all(list(step) == STEP for step in found["plan"]["steps"])


@pytest.mark.parametrize("case", CASES)
def test_every_answer_is_strict_json_and_the_same_each_time(case):
    again = CASES[case]()
    for once, twice in (
        (next_json(answer(case)), next_json(again)),
        (nights(case), nights_json(again.question, again.nights)),
    ):
        text = json.dumps(once, allow_nan=False)
        assert json.loads(text) == once
        assert json.dumps(twice, allow_nan=False) == text


@pytest.mark.parametrize("case", CASES)
def test_reasons_are_sentences_with_or_without_a_plan(case):
    reasons = next_json(answer(case))["reasons"]
    assert reasons
    assert all(reason[0] == reason[0].upper() and reason.endswith(".") for reason in reasons)


def test_times_carry_the_sites_offset_and_name_the_same_instant():
    found, chosen = next_json(answer("good")), answer("good").choice.plan.night
    assert found["as_of"] == "2026-10-17T14:00:00-04:00"
    assert found["night"]["light_best"] == "2026-10-23T21:25:00-04:00"
    assert datetime.fromisoformat(found["night"]["lift"]) == chosen.lift
    after_the_clocks_went_back = nights("good")["nights"][-1]
    assert after_the_clocks_went_back["peak_at"].endswith("-05:00")


def test_numbers_are_rounded_and_chance_is_a_share():
    found = next_json(answer("good"))
    assert found["night"]["peak_c"] == 10.88
    assert found["night"]["ceiling_c"] == 15.56
    assert found["night"]["chance"] == round(answer("good").choice.plan.night.chance, 4)
    assert 0 <= found["night"]["chance"] <= 1
    assert (found["plan"]["salt_g"], found["plan"]["sugar_g"], found["plan"]["sawdust_g"]) == (156.0, 156.0, 225.0)


def test_zero_is_a_value_and_unknown_is_null():
    night = next_json(answer("good"))["night"]
    assert night["rain_mm"] == 0.0
    assert night["dewpoint_max_c"] is None


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_what_is_not_finite_is_null(value):
    night = replace(answer("good").nights[0], peak_c=value, margin_c=value, chance=value)
    found = night_json(night, SITE.zone)
    assert (found["peak_c"], found["margin_c"], found["chance"]) == (None, None, None)


def test_no_number_is_a_negative_zero():
    night = replace(answer("good").nights[0], low_c=-0.001)
    assert str(night_json(night, SITE.zone)["low_c"]) == "0.0"


def test_a_step_bounds_the_piece_of_leeway_that_holds_its_time():
    thaw = next_json(answer("good"))["plan"]["steps"][0]
    assert (thaw["name"], thaw["hands_on_min"], thaw["done"]) == ("thaw", 10.0, False)
    assert len(thaw["spans"]) == 3
    assert [thaw["earliest"], thaw["latest"]] in thaw["spans"]
    assert thaw["earliest"] <= thaw["at"] <= thaw["latest"]


def test_a_step_behind_is_done_and_has_no_leeway():
    thaw, salt, *rest = next_json(ask(batch=salted(20.0)))["plan"]["steps"]
    assert (thaw["at"], thaw["done"]) == (None, True)
    assert (salt["at"], salt["done"], salt["spans"]) == ("2026-10-16T18:00:00-04:00", True, [])
    assert (salt["earliest"], salt["latest"]) == (None, None)
    assert not any(step["done"] for step in rest)


def test_cautions_are_sentences():
    plan = answer("good").choice.plan
    told = plan_json(plan, SITE.zone)["cautions"]
    *general, freezing = told
    assert general == [CAUTIONS[key].text for key in answer("good").question.process.cautions]
    assert freezing.startswith("Freezing against parasites: met by 7 days at −20 °C")


def test_without_a_plan_the_reasons_say_what_each_night_fails_on():
    found = next_json(answer("too warm"))
    assert (found["night"], found["plan"]) == (None, None)
    assert found["reasons"][0] == "No good night among the 16 coming nights of this forecast."
    assert any("over your ceiling" in reason for reason in found["reasons"])


def test_with_a_plan_the_reasons_say_why_the_nights_before_it_are_not_taken():
    reasons = next_json(answer("good"))["reasons"]
    assert reasons[0] == "It is the first good night that you can be ready for."
    assert any("cannot be made" in reason for reason in reasons)


def test_the_forecast_says_who_made_it_and_whether_it_is_stale():
    fresh, old = next_json(answer("good"))["forecast"], next_json(answer("too old"))["forecast"]
    assert fresh["attribution"] == "Invented weather (https://weather.example/terms)"
    assert (fresh["stale"], old["stale"]) == (False, True)
    age = datetime.fromisoformat(old["fetched_at"]) - datetime.fromisoformat(old["issued_at"])
    assert age == timedelta(hours=60)
