"""What the reports say of fire and chamber: its warmth, the limit that binds, the fuel, the food in it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from asked import NOW, SITE, ZONE, ask, made_forecast

from providers.sample import sample_forecast
from scheduler.faces.as_json import next_json, nights_json
from scheduler.faces.calendar_events import events_of
from scheduler.faces.calendar_words import say_night
from scheduler.faces.next_report import next_report
from scheduler.faces.nights_report import nights_report
from scheduler.household.site import Chamber, Limits, Tray
from scheduler.planning.answers import Verdict
from scheduler.science.chamber import ADVICE, LIMIT_C

HOT = replace(SITE, limits=Limits(ceiling_c=27.0), chamber=Chamber(rise_k=18.0))
"""A chamber of which somebody measured that it leaves 14.2 °C of the ceiling."""


def joined(text: str) -> str:
    return " ".join(text.split())


def test_a_chamber_that_binds_has_its_limit_beside_margin_chance_and_reasons() -> None:
    text = joined(next_report(ask(made_forecast(), HOT), 80, colour=False))
    assert "chamber 23.6 °C to 28.9 °C (Fri 21:25), with your measured rise of 18.0 °C" in text
    assert "margin 3.3 °C under 14.2 °C, which the chamber's limit of 32.2 °C leaves" in text
    assert "% that the chamber stays under its limit, from one forecast" in text
    assert "your ceiling of" not in text


def test_advice_is_given_where_the_chamber_keeps_a_night_from_being_good() -> None:
    good, less = (ask(made_forecast(mean_c=mean_c), HOT) for mean_c in (13.0, 15.5))
    assert good.choice.plan.night.verdict is Verdict.GOOD
    assert "keeps the chamber cooler" not in " ".join(good.choice.plan.night.reasons)
    others = [night for night in less.nights if night.verdict in (Verdict.BORDERLINE, Verdict.NO)]
    assert {night.verdict for night in others} == {Verdict.BORDERLINE, Verdict.NO}
    assert all("Put a tray of ice in the chamber" in " ".join(night.reasons) for night in others)


def test_the_sun_on_the_chamber_is_named_where_it_warms() -> None:
    in_sun = replace(SITE, sun_shelter=False)
    asked = ask(made_forecast(days=3), in_sun)
    text = joined(nights_report(asked.question, asked.nights, why=True, width=200, colour=False))
    assert "more from the sun" in text
    assert "chamber to 32.2 °C" in text


def test_nights_say_the_limit_of_a_chamber_that_binds_and_draw_what_it_leaves() -> None:
    asked = ask(made_forecast(days=3, mean_c=15.5), HOT)
    text = nights_report(asked.question, asked.nights, why=True, width=80, colour=False)
    assert "air from -2.2 °C to 27.0 °C, chamber to 32.2 °C" in joined(text)
    assert "\n14.2 │" in text
    cool = ask(made_forecast(days=3, mean_c=15.5))
    assert "chamber to" not in nights_report(cool.question, cool.nights, why=False, width=80, colour=False)


def test_the_margin_by_the_hour_is_under_what_the_chamber_leaves() -> None:
    asked = ask(made_forecast(), HOT)
    text = joined(nights_report(asked.question, asked.nights, why=True, width=400, colour=False))
    assert asked.choice.plan.night.ceiling_c == pytest.approx(LIMIT_C - 18.0)
    assert "air and margin by the hour: 21:25 10.9 (3.3), 22:00 10.0 (4.2)" in text


def test_json_has_the_effective_ceiling_and_the_margin_under_it() -> None:
    asked = ask(made_forecast(), HOT)
    for night in nights_json(asked.question, asked.nights)["nights"]:
        assert night["ceiling_c"] == 14.22
        assert night["margin_c"] == pytest.approx(14.22 - night["peak_c"], abs=0.011)
    assert next_json(asked)["night"]["ceiling_c"] == 14.22


def test_a_calendar_gives_the_chamber_as_the_reason_where_it_decides() -> None:
    plan = ask(made_forecast(), HOT).choice.plan
    assert "Why this night: the chamber would reach 28.9 °C at Fri 21:25" in say_night(plan)


def test_the_sample_is_judged_as_without_a_fire_where_one_front_stands_in_the_shade() -> None:
    forecast = sample_forecast(NOW, zone=ZONE, latitude_deg=41.0, longitude_deg=-74.0)
    with_fire, without = (ask(forecast, replace(SITE, chamber=Chamber(rise_k=k))).nights for k in (None, 0.0))
    assert [replace(n, chamber=None, reasons=n.reasons[:1]) for n in with_fire] == [
        replace(n, chamber=None, reasons=n.reasons[:1]) for n in without
    ]
    assert {night.verdict for night in with_fire} > {Verdict.GOOD}


def test_what_the_warmth_rests_on_is_said() -> None:
    text = joined(next_report(ask(), 80, colour=False))
    assert "4.4 °C above the air with 1 front (our estimate); up to 19.8 °C if it burns hot" in text


def test_the_fuel_says_how_long_it_burns_and_whether_that_lasts() -> None:
    text = joined(next_report(ask(), 80, colour=False))
    assert "it burns for 12 h to 24 h (common practice, no source), usually 16 h (our estimate)" in text
    assert "that lasts the 12 h of smoke even if it burns fast" in text
    small = joined(next_report(ask(site=replace(SITE, tray=Tray(holds_g=100.0))), 80, colour=False))
    assert "the full tray is out before the 12 h of smoke are over, however slowly it burns" in small
    middling = joined(next_report(ask(site=replace(SITE, tray=Tray(holds_g=200.0))), 80, colour=False))
    assert "the full tray may be out before the 12 h of smoke are over" in middling


def test_the_hours_of_the_food_stand_beside_what_is_published_and_its_caveat() -> None:
    text = joined(next_report(ask(), 80, colour=False))
    hours = text.partition("How long the food is how warm: information, not a clearance")[2].partition("Cautions")[0]
    assert "rest 8 h not known, in the fridge, which nobody measured" in hours
    assert "smoke 12 h from 10.0 °C to 21.1 °C, taken as warm" in hours
    assert "This is for unsalted fish" in hours
    assert "Appendix 4" in hours


def test_what_a_time_asks_for_stands_at_its_step_in_every_face() -> None:
    asked = ask(sample_forecast(NOW, zone=ZONE, latitude_deg=41.0, longitude_deg=-74.0))
    plan, forecast = asked.choice.plan, asked.question.forecast
    (note,) = next(planned.notes for planned in plan.steps if planned.step.name == "load")
    assert "sweats in this air" in note
    assert note in joined(next_report(asked, 80, colour=False))
    assert next(step["note"] for step in next_json(asked)["plan"]["steps"] if step["name"] == "load").endswith(note)
    events = events_of(plan, site=SITE, stamp=NOW, credit=forecast.credit, caution_text=str)
    assert [note in event.description for event in events if "load" in event.categories] == [True]


def test_no_word_of_it_calls_anything_safe() -> None:
    for asked in (ask(), ask(made_forecast(), HOT), ask(made_forecast(mean_c=21.0), HOT)):
        texts = (next_report(asked, 80, colour=False), *(reason for night in asked.nights for reason in night.reasons))
        assert not any("safe" in text.lower() for text in texts)
    assert not any("safe" in text.lower() for text in ADVICE.values())
