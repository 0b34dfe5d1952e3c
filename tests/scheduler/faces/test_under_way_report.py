"""What people and programs see of a batch whose tray is lit, and of one that is lifted."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from asked import FROZEN, NOW, PROCESS, SITE, ZONE, made_forecast

from scheduler.faces.as_json import next_json
from scheduler.faces.calendar_events import events_of
from scheduler.faces.next_report import headline, next_report
from scheduler.service import Answer, Question, plan

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.faces.calendar_event import Event

COLD, WARMING = made_forecast(mean_c=2.0), made_forecast(mean_c=12.2)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 10, day, hour, minute, tzinfo=ZONE)


BEFORE = (("thaw", on(17, 15)), ("salt", on(18, 18)), ("rinse", on(20, 18)))
LIT = ("light", on(21, 19))
LATE = ("light", on(21, 21))
LIFTED = ("lift", on(22, 7, 10))


def ask(
    *done: tuple[str, datetime], now: datetime, weather: Forecast = COLD, relit: datetime | None = None, **rest: object
) -> Answer:
    batch = replace(FROZEN, done=(*BEFORE, *done), relit=relit)
    return plan(Question(SITE, PROCESS, batch, replace(weather, issued_at=now, fetched_at=now), now, **rest))  # type: ignore[arg-type]


def lines(answer: Answer) -> list[str]:
    return next_report(answer, 80, colour=False).splitlines()


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (ask(LIT, now=on(21, 19, 30)), "Lit Wed 21 Oct 19:00; lift from Thu 07:00."),
        (
            ask(LIT, now=on(21, 22, 12), relit=on(21, 22, 10)),
            "Lit Wed 21 Oct 19:00, again Wed 22:10; lift from Thu 10:10.",
        ),
        (ask(LATE, now=on(21, 22), weather=WARMING), "It warms: lift by Thu 08:42; lit Wed 21 Oct 21:00."),
        (
            ask(LATE, now=on(21, 22), weather=WARMING, busy=((on(22, 6, 30), on(22, 9)),)),
            "It warms: lift by Thu 08:42, by your household hours at Wed 22:10; lit Wed 21 Oct 21:00.",
        ),
        (
            ask(LATE, now=on(21, 22), weather=WARMING, busy=((on(21, 22), on(22, 9)),)),
            "It warms: lift by Thu 08:42, when by your household hours nobody is at home; lit Wed 21 Oct 21:00.",
        ),
        (ask(LIT, now=on(21, 19, 30), weather=made_forecast(mean_c=14.0)), "It warms: lift now; lit Wed 21 Oct 19:00."),
        (ask(LIT, now=on(22, 15, 30)), "Lit Wed 21 Oct 19:00; the lift is overdue: lift now."),
        (ask(LIT, LIFTED, now=on(22, 9)), "Lifted Thu 22 Oct 07:10; slice between Thu 15:10 and 21:45."),
        (
            ask(LIT, LIFTED, ("slice", on(22, 18)), now=on(22, 19)),
            "Lifted Thu 22 Oct 07:10; ash between Mon 19:00 and 22:20.",
        ),
        (
            ask(LIT, LIFTED, ("slice", on(22, 18)), ("ash", on(26, 20)), now=on(26, 21)),
            "Lifted Thu 22 Oct 07:10; eat by: Sun 25 Oct 07:10.",
        ),
    ],
)
def test_the_headline_says_what_to_do_next_and_by_when(answer: Answer, words: str) -> None:
    assert headline(answer) == words


def test_gusts_are_not_called_warmth() -> None:
    hourly = COLD.hourly.copy()
    hourly.loc[hourly.index >= on(22, 2), "gust_ms"] = 30.0
    site = replace(SITE, limits=replace(SITE.limits, gust_ms=10.0))
    now = on(21, 20, 30)
    batch = replace(FROZEN, done=(*BEFORE, LIT))
    weather = replace(COLD, hourly=hourly, issued_at=now, fetched_at=now)
    assert headline(plan(Question(site, PROCESS, batch, weather, now))).startswith(
        "The weather turns: lift by Thu 02:00"
    )


def test_the_report_of_a_smoke_shows_what_is_done_what_is_left_and_no_weights() -> None:
    told = lines(ask(LIT, now=on(21, 20, 30)))
    assert "  batch   1.3 kg of salmon, in the smoke since Wed 21 Oct 19:00" in told
    assert "  19:00  done: Light the tray, let it die down" in told
    assert "  18:00  done: Salt and sugar" in told
    assert "Nobody recorded load and first check, and the time for it is over." in told
    assert "          (air, margin and chance are for what is left of the smoke)" in told
    assert not any(line.startswith(("To weigh", "The night is borderline")) for line in told)


def test_the_report_of_lifted_food_speaks_of_no_night_any_more() -> None:
    told = lines(ask(LIT, LIFTED, now=on(22, 9)))
    assert "  batch   1.3 kg of salmon, smoked, lifted Thu 22 Oct 07:10" in told
    assert "  07:10  done: Lift the food out, chill at once" in told
    assert not any(line.startswith(("  night", "  air", "  chance", "Nobody recorded")) for line in told)


def test_json_says_what_is_under_way_and_is_as_before_for_a_batch_that_is_not_lit() -> None:
    told = next_json(ask(LATE, now=on(21, 22), weather=WARMING))
    assert told["under_way"] == {
        "planned_lift": "2026-10-22T09:00:00-04:00",
        "lift_by": "2026-10-22T08:42:00-04:00",
        "lift_by_at_home": "2026-10-22T08:42:00-04:00",
        "missed": ["load"],
    }
    assert told["reasons"][0] == "It warms: lift by Thu 08:42; lit Wed 21 Oct 21:00."
    assert {s["name"]: (s["at"], s["done"]) for s in told["plan"]["steps"]}["light"] == (
        "2026-10-21T21:00:00-04:00", True,
    )  # fmt: skip
    assert "under_way" not in next_json(plan(Question(SITE, PROCESS, FROZEN, COLD, NOW)))


def entries(answer: Answer) -> dict[str, Event]:
    found, weather = answer.choice.plan, answer.question.forecast
    assert found is not None
    events = events_of(
        found, site=SITE, stamp=weather.issued_at, credit=weather.credit, caution_text=lambda key: f"Mind {key}."
    )
    return {event.summary: event for event in events}


def test_the_calendar_of_a_smoke_is_settled_and_reminds_of_what_is_left() -> None:
    told = entries(ask(LATE, now=on(21, 22), weather=WARMING))
    assert {event.status for event in told.values()} == {"CONFIRMED"}
    assert told["Done: Light the tray, let it die down"].alarms == ()
    lift = told["Lift the food out, chill at once"]
    assert lift.start == on(22, 8, 42)
    assert len(lift.alarms) == 1
    assert "This is 18 min less smoke than the 12 h planned." in lift.description
    assert told["Cold smoke"].end == on(22, 8, 42)
    assert "Why this night" not in told["Cold smoke"].description


def test_the_calendar_of_lifted_food_has_its_smoke_as_done() -> None:
    told = entries(ask(LIT, LIFTED, now=on(22, 9)))
    assert (told["Done: Cold smoke"].start, told["Done: Cold smoke"].end) == (LIT[1], LIFTED[1])
    assert told["Slice and pack"].start - LIFTED[1] == timedelta(hours=12)


def test_salted_fish_that_was_recorded_is_told_with_its_time_where_it_cannot_be_made() -> None:
    now = on(19, 9)
    batch = replace(FROZEN, done=BEFORE[:2])
    weather = replace(made_forecast(mean_c=20.0), issued_at=now, fetched_at=now)
    told = lines(plan(Question(SITE, PROCESS, batch, weather, now)))
    assert "  batch   1.3 kg of salmon, salted since Sun 18 Oct 18:00" in told
