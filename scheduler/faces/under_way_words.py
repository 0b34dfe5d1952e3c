"""A batch whose tray is lit, in words: when to lift, whether that has to be early, and what comes after."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.wording import clock, inside, listed, weekday_clock, when
from scheduler.household.process import ANCHOR, LIFT

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from scheduler.planning.answers import PlannedStep
    from scheduler.planning.under_way import UnderWay
    from scheduler.service import Answer, Question


def under_way_headline(found: UnderWay, question: Question) -> str:
    """The answer in one sentence."""
    zone = question.site.zone
    light, lift = step_of(found, ANCHOR), step_of(found, LIFT)
    if lift.done:
        return f"lifted {_told(lift, zone)}; {_next_words(found, zone)}"
    lit = f"lit {_told(light, zone)}{_again(question)}"
    if light.at is not None and light.at + timedelta(hours=question.site.longest_h) < question.now:
        return f"{lit}; the lift is overdue: lift now"
    if found.lift_by is None:
        return f"{lit}; lift from {weekday_clock(found.planned_lift, zone)}"
    return f"{_turn(found)}: {_early_words(found, question)}; {lit}"


def _turn(found: UnderWay) -> str:
    """What ends the smoke early."""
    warm = found.night.margin_c is not None and found.night.margin_c < 0.0
    return "it warms" if warm else "the weather turns"


def _early_words(found: UnderWay, question: Question) -> str:
    """By when to lift, and the last moment of that at which somebody is at home."""
    zone, by, home = question.site.zone, found.lift_by, found.lift_by_at_home
    if by is None or by <= question.now:
        return "lift now"
    last = f"lift by {weekday_clock(by, zone)}"
    if home is None:
        return f"{last}, when by your household hours nobody is at home"
    return last if home == by else f"{last}, by your household hours at {weekday_clock(home, zone)}"


def _again(question: Question) -> str:
    """When the fire was lit again."""
    relit = question.batch.relit
    return "" if relit is None else f", again {weekday_clock(relit, question.site.zone)}"


def _next_words(found: UnderWay, zone: ZoneInfo) -> str:
    """What comes next, and when."""
    ahead = [one for one in found.plan.steps if not one.done and one.at is not None]
    if not ahead:
        return "nothing is left to do"
    first = next((one for one in ahead if one.step.household and one.leeway is not None), ahead[0])
    name = first.step.name.replace("_", " ")
    if first.leeway is None or inside(first.leeway)[0] == inside(first.leeway)[1]:
        return f"{name}: {_told(first, zone)}"
    start, end = inside(first.leeway)
    same_day = start.astimezone(zone).date() == end.astimezone(zone).date()
    until = clock(end, zone) if same_day else weekday_clock(end, zone)
    return f"{name} between {weekday_clock(start, zone)} and {until}"


def why_under_way(answer: Answer, found: UnderWay) -> Iterator[str]:
    """The reasons of an answer about a batch whose tray is lit, in sentences without their full stops."""
    yield under_way_headline(found, answer.question)
    if not step_of(found, LIFT).done:
        yield from found.night.reasons
    if found.missed:
        yield missed_words(found)


def missed_words(found: UnderWay) -> str:
    """Steps whose time is over and which nobody recorded."""
    steps = listed(step.name.replace("_", " ") for step in found.missed)
    return f"nobody recorded {steps}, and the time for it is over"


def batch_words(found: UnderWay, zone: ZoneInfo) -> str:
    """How far the food has come."""
    lift, light = step_of(found, LIFT), step_of(found, ANCHOR)
    return f"smoked, lifted {_told(lift, zone)}" if lift.done else f"in the smoke since {_told(light, zone)}"


def step_of(found: UnderWay, name: str) -> PlannedStep:
    """The planned step of that name, which every plan has."""
    return next(planned for planned in found.plan.steps if planned.step.name == name)


def _told(planned: PlannedStep, zone: ZoneInfo) -> str:
    return when(_at(planned), zone)


def _at(planned: PlannedStep) -> datetime:
    if planned.at is None:
        raise ValueError("what is planned, or recorded after the lighting, has a time")
    return planned.at
