"""What people read: the next night with its steps, and all the nights."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from datetime import timedelta

import pytest
from asked import CASES, NOW, SITE, answer, ask, made_forecast, salted

from scheduler.faces.next_report import headline, next_report
from scheduler.faces.nights_report import nights_report
from scheduler.household.batch import Batch
from scheduler.planning.answers import Verdict
from scheduler.planning.limits import read_weather
from scheduler.science.hazards import CAUTIONS, DEFERS

WIDTHS = (24, 40, 80, 120)
SGR = re.compile("\x1b\\[[0-9;]*m")


def next_text(case: str, width: int = 80, *, colour: bool = False) -> str:
    return next_report(answer(case), width, colour=colour)


def nights_text(case: str, width: int = 80, *, why: bool = False, colour: bool = False) -> str:
    found = answer(case)
    return nights_report(found.question, found.nights, why=why, width=width, colour=colour)


def joined(text: str) -> str:
    """The words of a report, wherever its lines break."""
    return " ".join(text.split())


def columns(line: str) -> int:
    """Columns of a line on a terminal, by Unicode Standard Annex 11."""
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in SGR.sub("", line))


def every_report(case: str, width: int, *, colour: bool = False) -> list[str]:
    return [
        next_text(case, width, colour=colour),
        nights_text(case, width, colour=colour),
        nights_text(case, width, why=True, colour=colour),
    ]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("case", CASES)
def test_no_line_is_wider_than_asked(case, width):
    for text in every_report(case, width, colour=True):
        assert max(map(columns, text.splitlines())) <= width


@pytest.mark.parametrize("case", CASES)
def test_colour_only_repeats_what_the_words_say(case):
    for plain, coloured in zip(every_report(case, 80), every_report(case, 80, colour=True), strict=True):
        assert "\x1b" not in plain
        assert "\x1b[" in coloured
        assert SGR.sub("", coloured) == plain


@pytest.mark.parametrize("case", CASES)
def test_nothing_unknown_or_endless_is_printed_as_a_number(case):
    for text in every_report(case, 80):
        assert not re.search(r"\b(nan|inf|None)\b", text.replace("None of the", ""))


@pytest.mark.parametrize("case", CASES)
def test_no_night_is_called_safe(case):
    for text in every_report(case, 80):
        assert not re.search(r"\b(un)?safe", text, re.IGNORECASE)


@pytest.mark.parametrize("case", CASES)
def test_the_same_answer_gives_the_same_text(case):
    assert every_report(case, 60) == [
        next_report(CASES[case](), 60, colour=False),
        *every_report(case, 60)[1:],
    ]


def test_the_first_line_says_when_to_light_and_when_to_lift():
    first = next_text("good").splitlines()[0]
    assert first == "Light on Fri 23 Oct between 19:45 and 21:25, best 21:25; lift from Sat 09:25."
    assert headline(answer("good")) == first


def test_the_chosen_night_shows_air_margin_chance_and_sun():
    text = joined(next_text("good"))
    assert "warmest 10.9 °C (Fri 21:25), coldest 5.6 °C (Sat 03:00)" in text
    assert "margin 4.7 °C under your ceiling of 15.6 °C" in text
    assert "95 % that the air stays under your ceiling" in text
    assert "dusk Fri 18:31, solar midnight Sat 00:40, dawn Sat 06:49" in text
    assert "first good night that you can be ready for" in text


def test_the_first_two_reasons_of_a_planned_night_are_the_ones_that_have_lines_of_their_own():
    for case in ("good", "tentative", "salted"):
        peak, chance, *_ = answer(case).choice.plan.night.reasons
        assert peak.startswith("the air peaks at")
        assert chance.startswith("chance that the air stays under your ceiling")


def test_a_note_of_the_night_is_kept():
    text = joined(next_report(ask(made_forecast(mean_c=2.0)), 80, colour=False))
    assert "below freezing, above your floor" in text


def test_nights_that_cannot_be_made_name_the_wait_and_what_is_missing():
    text = joined(next_text("salted"))
    assert (
        "Tonight (Sat 17 Oct) is good too, but cannot be made: the salmon needs at least 44 h after salt"
        " (Fri 16 Oct 18:00) and 1 h after rinse, before light; 18 h 5 min are missing." in text
    )


def test_a_wait_that_is_over_is_not_named():
    thawed = Batch(state="thawed", since=NOW - timedelta(hours=3))
    text = joined(next_report(ask(batch=thawed), 80, colour=False))
    assert "the salmon needs at least 44 h after salt and 1 h after rinse, before light" in text


def test_nights_with_the_same_obstacle_share_a_sentence():
    text = joined(next_text("good"))
    assert "Tonight (Sat 17 Oct), Sun 18 Oct and Mon 19 Oct are good too, but cannot be made" in text
    assert "2 days 15 h, 39 h and 15 h are missing" in text


def test_fish_too_long_in_salt_is_told_so():
    text = joined(next_text("too long in salt"))
    assert "the salmon may wait 60 h after salt (Tue 13 Oct 10:00) at most; rinse would come 40 h later" in text


def test_a_borderline_plan_is_called_tentative():
    lines = next_text("tentative", 120).splitlines()
    assert lines[0].startswith("Tentative: light on ")
    assert lines[1] == "The night is borderline: look again before each step."
    assert "tentative" not in next_text("good").lower()


def test_figures_of_another_lighting_are_marked():
    assert "(air, margin and chance are for lighting at 20:54)" in next_text("ready after the best lighting")
    assert "margin and chance are for" not in next_text("good")


def test_every_step_has_its_time_leeway_and_length():
    text = next_text("good")
    for planned in answer("good").choice.plan.steps:
        at = planned.at.astimezone(SITE.zone)
        length = f", {planned.step.hands_on_min:.0f} min" if planned.step.hands_on_min else ""
        assert f"{at:%H:%M}  {planned.step.title}{length}" in text
        assert f"{at:%a} {at.day} {at:%b}" in text
    household = [planned for planned in answer("good").choice.plan.steps if planned.step.household]
    assert text.count(" leeway ") - 1 == len(household)  # one stands in the heading
    assert "leeway Sun and Mon each 06:30–22:20, Tue 06:30–21:35" in text


def test_only_the_step_that_comes_next_tells_how_to_do_it():
    steps = {step.name: step for step in answer("salted").question.process.steps}
    text = joined(next_text("salted"))
    assert steps["rinse"].note in text
    assert steps["lift"].note not in text


def test_steps_behind_are_marked_as_done():
    text = next_text("salted")
    assert "done: Start thawing in the fridge" in text
    assert "18:00  done: Salt and sugar" in text


def test_each_caution_stands_once_under_the_number_that_its_steps_carry():
    text = next_text("good")
    notes = {
        number: joined(note)
        for number, note in re.findall(r"^ {2,3}(\d+)  ((?:.+\n)(?: {6}.+\n)*)", text, re.MULTILINE)
    }
    plan, process = answer("good").choice.plan, answer("good").question.process
    wanted = {*process.cautions, plan.cautions[-1], *(key for planned in plan.steps for key in planned.step.cautions)}
    assert len(notes) == len(wanted)
    for planned in plan.steps:
        if not planned.step.cautions:
            continue
        numbers = re.search(rf"{re.escape(planned.step.title)}.*?\[([\d, ]+)\]", joined(text)).group(1).split(", ")
        told = [notes[number].removesuffix(" (common practice, no source)") for number in numbers]
        assert sorted(told) == sorted(CAUTIONS[key].text for key in planned.step.cautions)
    for key in wanted:
        assert joined(text).count(CAUTIONS[key].text if key in CAUTIONS else key) == 1
    assert DEFERS in joined(text)


def test_rules_of_the_trade_are_marked_as_such():
    text = joined(next_text("good"))
    assert "salt 156 g (12 % of 1.3 kg, common practice, no source)" in text
    assert "sugar 156 g (12 % of 1.3 kg, common practice, no source)" in text
    assert "sawdust 225 g dry; with 1 front it burns for 12 h to 24 h (common practice, no source)" in text
    assert "and add none to what is warm. (common practice, no source)" in text


def test_without_a_weight_the_report_says_how_to_give_it():
    text = joined(next_text("weight unknown, two fronts"))
    assert "salt 12 %, sugar 12 % of the salmon's weight" in text
    assert "--weight" in text
    assert "the full tray may be out before the 18 h of smoke are over" in text


def test_nothing_is_weighed_out_for_fish_already_in_salt():
    assert "sugar " not in next_text("salted").partition("To weigh")[2].partition("Cautions")[0]


def test_without_a_plan_each_night_says_what_it_fails_on_and_by_how_much():
    text = next_text("too warm")
    assert text.startswith("No good night among the 16 coming nights of this forecast.")
    assert "Everything could be ready from Tue 20 Oct 16:00." in text
    for night in answer("too warm").nights:
        over = f"{-night.margin_c:.1f} °C over your ceiling"
        assert re.search(rf"{night.date:%a} {night.date.day} {night.date:%b}: no\. .*? {over}", joined(text))


def test_nights_in_a_row_that_fail_alike_are_told_together():
    text = joined(next_text("too old"))
    assert "Sat 17 Oct to Sun 1 Nov: unknown. The forecast is 60 h old" in text
    assert text.count("60 h old") == 1


def test_a_lead_in_past_the_forecast_says_what_to_start_and_when_a_night_can_be_picked():
    text = next_text("lead-in past the end")
    assert "Everything can be ready from Thu 22 Oct 16:00; this forecast ends" in joined(text)
    # Two days of forecast reach the lift, 12 h after that moment, from Wed 21 Oct 04:00 on.
    assert "A night can be picked from Wed 21 Oct 04:00" in joined(text)
    assert "Soak the pellets, 15 min" in text
    assert "Light the tray" not in text


def test_the_forecast_is_credited_and_its_age_told():
    text = joined(next_text("good"))
    assert "table, made Sat 17 Oct 12:00, 2 h ago Invented weather (https://weather.example/terms)" in text
    assert "Out of date" not in text
    assert "Out of date: a newer one should be there." in joined(next_text("too old"))


def test_only_invented_weather_is_called_invented():
    for text in (next_text("sample"), nights_text("sample")):
        assert "The weather of this answer is invented" in joined(text)
    for text in (next_text("good"), nights_text("good")):
        assert "The weather of this answer is invented" not in joined(text)


def test_near_the_poles_dusk_and_dawn_may_be_missing():
    assert "no dusk, solar midnight Sat" in joined(next_text("polar day"))


def test_a_name_cannot_steer_the_terminal():
    site = replace(SITE, name="Invented\x1b[2J\r\nshed\x07")
    found = ask(site=site)
    for text in (
        next_report(found, 80, colour=False),
        nights_report(found.question, found.nights, why=False, width=80, colour=False),
    ):
        assert not [char for char in text if unicodedata.category(char) == "Cc" and char != "\n"]


def test_units_of_the_household_are_used_for_air_and_weights():
    text = joined(next_text("long name, US units"))
    assert "margin 8.4 °F under your ceiling of 60.0 °F" in text
    assert "salt 5.5 oz (12 % of 2 lb 13.9 oz" in text


def test_the_nights_are_counted():
    assert nights_text("good").startswith("8 of 16 coming nights are good, first Sat 17 Oct; 2 borderline.\n")
    assert nights_text("too warm").startswith("None of the 16 coming nights is good.\n")
    assert "1 unknown" in nights_text("sample").splitlines()[0]


def test_a_wide_page_has_one_table_and_a_narrow_one_a_block_a_night():
    header = re.compile(r"^night +verdict +light +lift +peak +low +margin +chance$", re.MULTILINE)
    assert header.search(nights_text("good", 80))
    assert not header.search(nights_text("good", 40))
    assert "Sat 17 Oct  good, chance 98 %\n  light 18:59–21:25, lift Sun 09:25\n  air 5.6 to 10.9, margin 4.7\n" in (
        nights_text("good", 40)
    )


def test_every_night_has_its_verdict_and_deciding_reason():
    for width in (40, 80):
        text = joined(nights_text("good", width))
        for night in answer("good").nights:
            assert f"{night.date:%a} {night.date.day} {night.date:%b} {night.verdict}" in text
            assert night.reasons[0] in text


def test_only_nights_worth_lighting_show_times_for_it():
    lines = nights_text("good").splitlines()
    for night in answer("good").nights:
        row = next(line for line in lines if line.startswith(f"{night.date:%a} {night.date.day} {night.date:%b}"))
        offered = night.verdict in (Verdict.GOOD, Verdict.BORDERLINE)
        assert bool(re.search(r"\d\d:\d\d–\d\d:\d\d", row)) == offered


def test_why_adds_reasons_sun_and_the_air_hour_by_hour():
    brief, full = joined(nights_text("good")), joined(nights_text("good", why=True))
    night = answer("good").nights[0]
    weather = read_weather(answer("good").question.forecast)
    air = weather.air.at([night.light_best.replace(hour=2, minute=0).timestamp()])[0, 0]
    for words in (
        night.reasons[1],
        night.chance_from,
        "dusk Sat",
        "rain 0.0 mm, gusts to 3.0 m/s",
        "best lit at 21:25",
    ):
        assert words in full
        assert words not in brief.partition("Nights, air")[2]
    hours = re.search(r"air and margin by the hour: ([^a-z]+)", full).group(1).strip().split(", ")
    assert len(hours) == 14  # 21:25, the twelve full hours after it, 09:25
    assert hours[0].startswith("21:25 10.9 (4.7)")
    assert hours[1].startswith(f"22:00 {air:.1f} (")


def test_without_any_night_the_report_says_so():
    question = answer("good").question
    assert "holds no coming night" in nights_report(question, (), why=True, width=80, colour=False)


def test_now_is_said_in_the_sites_zone():
    assert f"asked   Sat {NOW.day} Oct 14:00" in next_text("good")


def test_a_batch_says_what_state_it_is_in():
    assert "salmon, salted since Fri 16 Oct 18:00" in next_text("salted")
    assert "1.3 kg of salmon, frozen" in next_text("good")


def test_a_plan_that_rests_on_done_steps_needs_no_weight():
    assert "--weight" not in next_report(ask(batch=salted(20.0)), 80, colour=False)
