"""What became of every adopted plan: for people, and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from scheduler.faces.as_json import asked_json, night_json, plan_json
from scheduler.faces.forecast_lines import say_forecast, say_invented
from scheduler.faces.replan_words import headline, moved_words, next_words, overdue_words, why_moved
from scheduler.faces.terminal import Page
from scheduler.faces.ways_out_words import TITLES, say_ways_out, way_sentences
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from scheduler.faces.replanning import Asked
    from scheduler.household.site import Site
    from scheduler.planning.replanned import NightThen
    from scheduler.planning.way_values import WayOut

Json = dict[str, Any]

STYLES = {
    Change.UNCHANGED: "good",
    Change.MOVED: "borderline",
    Change.PROPOSED: "borderline",
    Change.LIFT_EARLY: "no",
    Change.NO_GO: "no",
    Change.LOST: "no",
}


def replan_report(asked: Sequence[Asked], width: int, *, colour: bool) -> str:
    """Every batch under its headline, then the forecast."""
    page = Page.of(width, colour=colour)
    for one in asked:
        page.gap()
        _say(page, one, named=len(asked) > 1)
    page.gap()
    say_invented(page, asked[0].question)
    say_forecast(page, asked[0].question)
    return page.text()


def _say(page: Page, asked: Asked, *, named: bool) -> None:
    """One batch: what became of it, why, what is overdue, what comes next."""
    found, question = asked.found, asked.question
    page.say(headline(found, question), style=STYLES[found.change])
    for text in why_moved(found, question):
        page.say(text, first="  ")
    waits = found.wait and found.change is Change.NO_GO
    if found.change is not Change.UNCHANGED and not waits:
        byself = {step.name for step in question.process.steps if not step.household}
        for moved in found.moved:
            if moved.step not in byself:
                page.say(moved_words(moved, question), first="  ", rest="    ")
    for overdue in found.overdue:
        page.say(overdue_words(overdue, question, named=named), first="  ", style="strong")
    if not waits and (following := next_words(found.plan, question)):
        page.say(f"Next: {following}.", first="  ")
    say_ways_out(page, asked.ways, question.site)


def replan_json(asked: Sequence[Asked]) -> Json:
    """When, where, the forecast it rests on, and what became of each batch."""
    return {**asked_json(asked[0].question), "batches": [_json(one) for one in asked]}


def nothing_json(now: datetime, site: Site) -> Json:
    """The same where no batch has a plan, and so no weather was asked for."""
    return {"as_of": _time(now, site.zone), "site": site.name, "forecast": None, "batches": []}


def _json(asked: Asked) -> Json:
    found, question = asked.found, asked.question
    zone = question.site.zone
    return {
        "batch": asked.batch.name,
        "identity": asked.batch.identity,
        "change": str(found.change),
        "state": str(found.state),
        "cause": None if found.cause is None else str(found.cause),
        "must": found.must,
        "verdict": None if found.verdict is None else str(found.verdict),
        "headline": headline(found, question),
        "why": list(why_moved(found, question)),
        "was_light": _time(found.adopted.light, zone),
        "was_lift": _time(found.adopted.lift, zone),
        "was": None if found.was is None else _then_json(found.was, zone),
        "now": None if found.is_now is None else _then_json(found.is_now, zone),
        "plan": None if found.plan is None else plan_json(found.plan, zone),
        "proposed": None if found.proposed is None else plan_json(found.proposed, zone),
        "gain": None if found.gain is None else round(found.gain, 4),
        "moved": [
            {"step": one.step, "title": one.title, "was": _time(one.was, zone), "now": _time(one.now, zone)}
            for one in found.moved
        ],
        "overdue": [
            {"step": one.planned.step.name, "title": one.planned.step.title, "was_due": _time(one.was_due, zone)}
            for one in found.overdue
        ],
        "lift_by": _time(found.lift_by, zone),
        "ways_out": [_way_json(way, question.site) for way in asked.ways],
    }


def _then_json(then: NightThen, zone: ZoneInfo) -> Json:
    return {
        "night": then.night.isoformat(),
        "chance": None if then.chance is None else round(then.chance, 4),
        "peak_c": None if then.peak_c is None else round(then.peak_c, 2),
        "peak_at": _time(then.peak_at, zone),
        "issued_at": _time(then.issued_at, zone),
    }


def _way_json(way: WayOut, site: Site) -> Json:
    zone = site.zone
    return {
        "way": str(way.kind),
        "title": TITLES[way.kind],
        "words": list(way_sentences(way, site)),
        "by": _time(way.by, zone),
        "until": _time(way.until, zone),
        "chance": None if way.chance is None else round(way.chance, 4),
        "good": way.good,
        "smokes": [
            {
                "light": _time(one.light, zone),
                "light_until": _time(one.light_until, zone),
                "lift": _time(one.lift, zone),
                "night": night_json(one.night, zone),
            }
            for one in way.smokes
        ],
    }


def _time(moment: datetime | None, zone: ZoneInfo) -> str | None:
    return None if moment is None else moment.astimezone(zone).isoformat(timespec="seconds")
