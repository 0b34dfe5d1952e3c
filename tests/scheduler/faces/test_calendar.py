"""Which entries a plan makes, what they say, and that the same plan always makes the same bytes."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import pytest

from scheduler.faces.calendar import calendar_bytes, plan_calendar, write_events
from scheduler.faces.calendar_events import FIRE, PROMISE, TENTATIVE, events_of
from scheduler.faces.cautions import caution_sentence
from scheduler.household.process import Step, Wait
from scheduler.science.hazards import DEFERS
from tests.builders import (
    CREDIT,
    LIGHT,
    LONDON,
    STAMP,
    caution_text,
    make_plan,
    make_site,
    planned,
    with_step,
)

if TYPE_CHECKING:
    from scheduler.faces.calendar_event import Event
    from scheduler.planning.answers import Plan

ROOT = Path(__file__).parents[3]
PROJECT = "3563173b-86da-46ee-85ba-d1dfcf68cc94"


def entries(plan: Plan | None = None, *, stamp: datetime = STAMP, **site: object) -> dict[str, Event]:
    """Events of a plan by the step they belong to; "smoke" for the smoke."""
    found = events_of(
        plan or make_plan(), site=make_site(**site), stamp=stamp, credit=CREDIT, caution_text=caution_text
    )
    return {event.categories[-1]: event for event in found}


def as_bytes(plan: Plan, stamp: datetime = STAMP) -> bytes:
    return calendar_bytes(plan, site=make_site(), stamp=stamp, credit=CREDIT, caution_text=caution_text)


def reminders(event: Event) -> dict[str, timedelta]:
    """How long before the start, by the first word of the text."""
    return {alarm.text.split(",")[0]: alarm.before for alarm in event.alarms}


# Which entries, and when


def test_every_step_and_the_smoke_have_one_entry_each():
    plan = make_plan()
    assert set(entries(plan)) == {each.step.name for each in plan.steps} | {"smoke"}
    assert len(plan.steps) == 14


def test_an_entry_is_as_long_as_the_hands_on_time():
    salt = entries()["salt"]
    assert (salt.start, salt.end - salt.start) == (LIGHT - timedelta(hours=73), timedelta(minutes=45))


def test_an_entry_without_hands_on_time_still_ends_after_its_start():
    ash = entries()["ash"]
    assert ash.end - ash.start == timedelta(minutes=5)


def test_the_smoke_runs_from_lighting_to_lift():
    smoke = entries(make_plan(smoke_h=13.5))["smoke"]
    assert (smoke.start, smoke.end) == (LIGHT, LIGHT + timedelta(hours=13.5))


def test_entries_are_in_order_of_time():
    starts = [event.start for event in entries().values()]
    assert starts == sorted(starts)


def test_only_time_that_somebody_is_needed_for_is_busy():
    free = {name for name, event in entries().items() if event.transparent}
    assert free == {"smoke", "ash"}


def test_a_moment_that_needs_somebody_is_busy_and_reminds_however_short():
    event = entries(with_step(make_plan(), "turn", hands_on_min=0))["turn"]
    assert not event.transparent
    assert reminders(event) == {"Now": timedelta(0)}


def test_a_step_at_an_unknown_time_has_no_entry():
    plan = with_step(make_plan(), "thaw", at=None, spans=(), done=True)
    assert "thaw" not in entries(plan)


@pytest.mark.parametrize("name", ["light", "lift"])
def test_without_a_time_for_lighting_or_lift_there_is_no_smoke_entry_and_nothing_points_to_one(name):
    found = entries(with_step(make_plan(), name, at=None, spans=(), done=True))
    assert "smoke" not in found
    assert {event.related_to for event in found.values()} == {None}


def test_a_lift_recorded_before_the_lighting_makes_no_smoke_entry():
    plan = with_step(make_plan(), "lift", at=LIGHT - timedelta(minutes=1), spans=(), done=True)
    assert "smoke" not in entries(plan)


def test_fractions_of_a_second_are_cut_off_so_that_what_is_written_is_what_the_event_says():
    plan = with_step(make_plan(), "rinse", at=datetime(2026, 10, 28, 17, 40, 30, 999_999, tzinfo=LONDON))
    assert entries(plan)["rinse"].start == datetime(2026, 10, 28, 17, 40, 30, tzinfo=UTC)


# What an entry is known by


def test_uids_stay_when_every_date_moves():
    before, after = entries(), entries(make_plan(LIGHT + timedelta(days=3, hours=1)))
    assert {name: event.uid for name, event in before.items()} == {name: event.uid for name, event in after.items()}
    assert all(before[name].start != after[name].start for name in before)


def test_uids_of_reminders_stay_when_every_date_moves():
    before, after = entries(), entries(make_plan(LIGHT + timedelta(days=3)))
    kept = [[alarm.uid for event in found.values() for alarm in event.alarms] for found in (before, after)]
    assert kept[0] == kept[1]
    assert len(set(kept[0])) == len(kept[0]) == 16


def test_no_two_entries_or_reminders_share_a_uid():
    uids = [uid for event in entries().values() for uid in (event.uid, *(alarm.uid for alarm in event.alarms))]
    assert len(set(uids)) == len(uids)


def test_another_batch_or_another_site_has_other_uids():
    sets = [
        {event.uid for event in found.values()}
        for found in (entries(), entries(make_plan(batch="second lot")), entries(name="Another shed"))
    ]
    assert not sets[0] & sets[1]
    assert not sets[0] & sets[2]


def test_a_batch_and_site_that_swap_names_do_not_share_uids():
    one = entries(make_plan(batch="b"), name="a")["salt"].uid
    assert one != entries(make_plan(batch="a"), name="b")["salt"].uid


def test_a_uid_once_released_never_changes():
    assert entries()["salt"].uid == str(uuid5(UUID(PROJECT), '["Invented shed", "autumn lot", "salt"]'))


def test_every_step_belongs_to_the_smoke():
    found = entries()
    assert {event.related_to for name, event in found.items() if name != "smoke"} == {found["smoke"].uid}
    assert found["smoke"].related_to is None


def test_a_name_with_half_a_character_still_makes_entries():
    assert entries(make_plan(batch="a\udcffb"))["salt"].summary == "Salt the fish (ab)"


# Reminders


def test_a_step_that_needs_somebody_reminds_at_its_time_and_lighting_also_an_hour_before():
    found = entries()
    assert reminders(found["rinse"]) == {"Now": timedelta(0)}
    assert reminders(found["light"]) == {"Now": timedelta(0), "In one hour": timedelta(hours=1)}


@pytest.mark.parametrize("name", ["thaw", "salt"])
def test_thawing_and_salting_also_remind_on_the_evening_before(name):
    event = entries()[name]
    due = (event.start - reminders(event)["Tomorrow"]).astimezone(LONDON)
    assert (due.hour, due.minute) == (19, 0)
    assert due.date() == event.start.astimezone(LONDON).date() - timedelta(days=1)


def test_the_evening_before_is_at_seven_on_the_clock_across_a_clock_change():
    at = datetime(2027, 3, 28, 9, 0, tzinfo=LONDON)  # the clocks went forward at 01:00
    event = entries(with_step(make_plan(), "thaw", at=at, spans=((at, at),)))["thaw"]
    assert reminders(event)["Tomorrow"] == timedelta(hours=13)


def test_the_evening_before_is_that_of_the_day_at_the_site():
    at = datetime(2026, 10, 25, 17, 0, tzinfo=UTC)  # 02:00 on the 26th in Tokyo
    event = entries(with_step(make_plan(), "thaw", at=at, spans=()), zone=ZoneInfo("Asia/Tokyo"))["thaw"]
    assert reminders(event)["Tomorrow"] == timedelta(hours=7)


def test_neither_the_smoke_nor_a_step_that_needs_nobody_reminds():
    found = entries()
    assert found["smoke"].alarms == found["ash"].alarms == ()


def test_a_reminder_due_at_the_stamp_or_before_is_left_out():
    an_hour_before = LIGHT - timedelta(hours=1)
    assert reminders(entries(stamp=an_hour_before)["light"]) == {"Now": timedelta(0)}
    assert "In one hour" in reminders(entries(stamp=an_hour_before - timedelta(seconds=1))["light"])
    assert entries(stamp=LIGHT)["light"].alarms == ()


def test_a_reminder_says_by_itself_what_to_do_and_when():
    texts = [alarm.text for alarm in entries()["light"].alarms]
    assert texts == [
        "Now, Thu 29 Oct 18:40: Light the tray (autumn lot)",
        "In one hour, Thu 29 Oct 18:40: Light the tray (autumn lot)",
    ]


# What is done


def done(name: str, **changes: object) -> Event:
    return entries(with_step(make_plan(**changes), name, spans=(), done=True))[name]


def test_a_step_that_is_done_stays_where_it_happened_and_does_not_remind():
    event = done("salt")
    assert (event.start, event.alarms) == (LIGHT - timedelta(hours=73), ())
    assert event.summary == "Done: Salt the fish (autumn lot)"
    assert event.description.startswith("Done Mon 26 Oct 17:40.")


def test_what_is_done_is_not_tentative():
    assert done("salt", tentative=True).status == "CONFIRMED"


def test_a_borderline_plan_is_tentative_and_says_so():
    found = entries(make_plan(tentative=True))
    assert {event.status for event in found.values()} == {"TENTATIVE"}
    assert all(TENTATIVE in event.description for event in found.values())


def test_a_good_plan_is_confirmed_and_does_not_speak_of_tentative():
    found = entries()
    assert {event.status for event in found.values()} == {"CONFIRMED"}
    assert not any(TENTATIVE in event.description for event in found.values())


def test_a_smoke_that_is_lit_is_no_longer_tentative():
    plan = with_step(make_plan(tentative=True), "light", spans=(), done=True)
    assert entries(plan)["smoke"].status == "CONFIRMED"


# What an entry says


def test_a_description_reads_from_what_to_do_to_what_to_mind():
    assert entries()["rinse"].description == (
        "Cold water, then dry it.\n"
        "\n"
        "Leeway: Wed 16:40–18:40. At these times the plan still holds.\n"
        "Why then: it leads to “Hang the fish” (Thu 29 Oct 16:40), 22 h 30 min after this is done"
        " (the process allows 36 h to 2 days 12 h, usually 2 days).\n"
        "\n"
        "Invented weather, made up for tests (https://weather.example/terms)\n" + PROMISE
    )


def test_the_smoke_says_from_when_to_when_why_and_what_holds_for_the_whole_plan():
    assert entries()["smoke"].description == (
        "From lighting Thu 29 Oct 18:40 to lift Fri 30 Oct 06:40, 12 h.\n"
        "\n"
        "Why this night: the air peaks at 9.4 °C (Thu 19:00), 6.2 °C under your ceiling; chance: 97 %.\n"
        "\n"
        "Weigh out: salt 75 g, sugar 38 g, dry sawdust 430 g.\n"
        "\n"
        "• Mind the cold.\n"
        f"{DEFERS}\n"
        "\n"
        f"{FIRE}\n"
        "Invented weather, made up for tests (https://weather.example/terms)\n" + PROMISE
    )


def test_a_step_after_the_lighting_says_what_it_follows():
    text = entries()["pack"].description
    assert "it follows “Take the fish out” (Fri 30 Oct 06:40), 23 h 30 min after that is done" in text


def test_the_lift_is_counted_from_the_lighting_itself():
    assert "it follows “Light the tray” (Thu 29 Oct 18:40), 12 h later." in entries()["lift"].description


def test_a_step_right_after_another_is_said_to_be():
    at = LIGHT + timedelta(minutes=20)
    text = entries(with_step(make_plan(), "check", at=at, spans=()))["check"].description
    assert "as soon as that is done (the process allows 30 min to 1 h 30 min, usually 1 h)" in text


def test_a_wait_that_depends_on_a_weight_is_not_given_as_if_it_did_not():
    text = entries()["thaw"].description
    assert "leads to “Salt the fish”" in text
    assert "the process allows" not in text


def test_a_neighbour_done_at_an_unknown_time_gives_no_reason():
    plan = with_step(make_plan(), "lift", at=None, spans=(), done=True)
    assert "Why then" not in entries(plan)["pack"].description


def test_the_lighting_gives_the_reasons_of_the_night():
    assert "Why this night: the air peaks at 9.4 °C" in entries()["light"].description


def test_every_caution_of_a_step_is_said_in_full_and_defers_to_others():
    found = entries()
    assert f"• Mind the fumes.\n• Mind the fire.\n{DEFERS}\n" in found["light"].description
    assert DEFERS not in found["rinse"].description


def test_fire_defers_to_local_rules_from_lighting_to_lift_and_at_the_ash_but_not_with_the_lifted_food():
    told = {name for name, event in entries().items() if FIRE in event.description}
    assert told == {"smoke", "light", "check", "late_check", "lift", "ash"}


def test_every_description_ends_with_the_credit_and_promises_nothing():
    for event in entries().values():
        assert event.description.splitlines()[-2:] == [f"{CREDIT.text} ({CREDIT.link})", PROMISE]


def test_a_credit_without_a_link_is_shown_without_one():
    events = events_of(
        make_plan(), site=make_site(), stamp=STAMP, credit=replace(CREDIT, link=""), caution_text=caution_text
    )
    assert events[0].description.splitlines()[-2] == f"{CREDIT.text}"


def test_weights_stand_where_they_are_weighed_out_in_the_units_of_the_household():
    found = entries(units="us")
    assert "Weigh out: salt 2.6 oz, sugar 1.3 oz.\n" in found["salt"].description
    assert "Weigh out: dry sawdust 15.2 oz.\n" in found["soak"].description
    assert {name for name, event in found.items() if "Weigh out" in event.description} == {
        "smoke", "light", "salt", "soak", "spread", "fill"
    }  # fmt: skip


def test_a_cure_without_sugar_says_so():
    text = entries(replace(make_plan(), sugar_g=0.0))["salt"].description
    assert "Weigh out: salt 75 g, sugar 0 g." in text


def test_unknown_weights_are_not_mentioned():
    plan = replace(make_plan(), salt_g=None, sugar_g=None, sawdust_g=None)
    assert not any("Weigh out" in event.description for event in entries(plan).values())


def test_a_batch_nobody_named_is_not_in_the_titles():
    assert entries(make_plan(batch="next batch"))["salt"].summary == "Salt the fish"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\x85", "\u2028", "\u2029"])
def test_whatever_ends_a_line_ends_one_in_a_note_and_none_in_a_title(end):
    event = entries(with_step(make_plan(), "salt", title=f"one{end}two", note=f"one{end}two"))["salt"]
    assert event.summary == "one two (autumn lot)"
    assert event.description.startswith("one\ntwo\n\n")


@pytest.mark.parametrize("nothing", ["\x00", "\x0b", "\x1f", "\x7f", "\x9f", "\ud800", "\ufeff"])
def test_what_is_no_text_is_left_out(nothing):
    event = entries(with_step(make_plan(), "salt", title=f"on{nothing}e", note=f"on{nothing}e"))["salt"]
    assert event.summary == "one (autumn lot)"
    assert event.description.startswith("one\n\n")


def test_a_leeway_in_pieces_gives_all_of_them():
    at = LIGHT - timedelta(hours=25)
    later = (at + timedelta(hours=14), at + timedelta(hours=16))
    text = entries(with_step(make_plan(), "rinse", spans=((at, at), later)))["rinse"].description
    assert "Leeway: Wed 17:40, Thu 07:40–09:40." in text


def test_a_step_that_can_be_done_at_one_time_only_says_so():
    at = LIGHT - timedelta(hours=25)
    text = entries(with_step(make_plan(), "rinse", spans=((at, at),)))["rinse"].description
    assert "Leeway: none. The plan holds only at this time." in text


def test_what_happens_by_itself_has_no_leeway():
    assert "Leeway" not in entries()["ash"].description


def test_a_wait_that_leaves_no_choice_is_not_given_as_one():
    plan = with_step(make_plan(), "rinse", wait=Wait(22, 22, 22))
    assert "22 h 30 min after this is done.\n" in entries(plan)["rinse"].description


def test_ash_of_the_sawdust_concerns_fire_even_where_it_follows_the_lift():
    event = entries(with_step(make_plan(), "ash", neighbour="lift", branch="sawdust"))["ash"]
    assert FIRE in event.description


def test_a_leeway_is_rounded_into_itself():
    at = LIGHT - timedelta(hours=25)
    span = (at - timedelta(minutes=9, seconds=59), at + timedelta(minutes=9, seconds=59))
    text = entries(with_step(make_plan(), "rinse", spans=(span,)))["rinse"].description
    assert "Leeway: Wed 17:31–17:49." in text


def test_a_leeway_past_midnight_names_both_days():
    at = LIGHT - timedelta(hours=25)
    text = entries(with_step(make_plan(), "rinse", spans=((at, at + timedelta(hours=7)),)))["rinse"].description
    assert "Leeway: Wed 17:40–Thu 00:40." in text


def test_times_are_in_the_zone_of_the_site():
    assert "Thu 29 Oct 11:40" in entries(zone=ZoneInfo("America/Los_Angeles"))["smoke"].description


def test_the_hour_that_the_clock_shows_twice_is_told_apart():
    second = datetime(2027, 10, 31, 1, 30, tzinfo=UTC)
    event = entries(with_step(make_plan(), "check", at=second, spans=()))["check"]
    assert [alarm.text for alarm in event.alarms] == ["Now, Sun 31 Oct 01:30 GMT: First look (autumn lot)"]


def test_the_spring_smoke_is_twelve_hours_long_and_thirteen_on_the_clock():
    smoke = entries(make_plan(datetime(2027, 3, 27, 19, 0, tzinfo=LONDON)))["smoke"]
    assert "From lighting Sat 27 Mar 19:00 to lift Sun 28 Mar 08:00, 12 h." in smoke.description


# The file


def test_a_question_gives_the_stamp_and_the_credit_of_its_plan():
    # only what a calendar needs of a question: making a whole one takes a forecast
    forecast = SimpleNamespace(issued_at=STAMP, credit=CREDIT)
    want = calendar_bytes(make_plan(), site=make_site(), stamp=STAMP, credit=CREDIT, caution_text=caution_sentence)
    assert plan_calendar(make_plan(), SimpleNamespace(site=make_site(), forecast=forecast)) == want


def test_a_calendar_of_nothing_is_refused():
    with pytest.raises(ValueError, match="at least one entry"):
        write_events((), name="empty")


def test_the_same_inputs_give_the_same_bytes():
    assert as_bytes(make_plan()) == as_bytes(make_plan())


def test_another_issue_of_the_same_forecast_changes_the_stamps_alone():
    later = STAMP + timedelta(hours=6)
    old, new = as_bytes(make_plan()), as_bytes(make_plan(), later)
    assert old != new
    assert old.replace(f"{STAMP:%Y%m%dT%H%M%SZ}".encode(), f"{later:%Y%m%dT%H%M%SZ}".encode()) == new


HASH = "from tests.scheduler.faces.test_calendar import *; print(hashlib.sha256(as_bytes(make_plan())).hexdigest())"


@pytest.mark.parametrize("around", [{"PYTHONHASHSEED": "1", "TZ": "Asia/Tokyo"}, {"PYTHONHASHSEED": "4242"}])
def test_the_bytes_depend_on_neither_the_hash_seed_nor_the_zone_of_the_machine(around):
    run = subprocess.run(
        [sys.executable, "-c", HASH], cwd=ROOT, env={**os.environ, **around}, capture_output=True, check=True, text=True
    )
    assert run.stdout.strip() == hashlib.sha256(as_bytes(make_plan())).hexdigest()


def test_loading_the_face_loads_neither_the_calendar_library_nor_anything_heavy():
    code = "import sys, scheduler.faces.calendar; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True, text=True)
    heavy = {"icalendar", "pandas", "numpy", "requests", "sqlite3", "typer", "providers"}
    assert not heavy & set(run.stdout.split())


def test_a_step_called_like_the_smoke_keeps_an_entry_of_its_own():
    step = Step("smoke", "Enjoy the smoke", 10, "light", False, None)
    plan = make_plan()
    plan = replace(plan, steps=(*plan.steps, replace(planned(plan, "check"), step=step)))
    events = events_of(plan, site=make_site(), stamp=STAMP, credit=CREDIT, caution_text=caution_text)
    assert len({event.uid for event in events}) == len(plan.steps) + 1
