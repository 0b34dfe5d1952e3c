"""How a plan is worded in a calendar entry: leeway, reasons, weights; and which characters may stand there."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.wording import MONTHS, WEEKDAYS, long_span, span_list, when
from scheduler.household.process import ANCHOR, SALT
from scheduler.household.units import show_weight

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from scheduler.household.process import Step
    from scheduler.household.site import Site
    from scheduler.planning.answers import Plan, PlannedStep

_LINE_ENDS = re.compile("\r\n?|[\x85\u2028\u2029]")
# Control characters (RFC 5545, 3.1 allows none but the tab), halves of characters, and the byte order mark.
_NOT_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufeff]")

_FIGURE = rf"(?:[\d−.,:]+|\b(?:{'|'.join((*WEEKDAYS, *MONTHS, 'days?', 'h', 'min'))})\b)"
_FIGURES = re.compile(rf"{_FIGURE}(?: *{_FIGURE})*")


def clean_text(text: str) -> str:
    """What a TEXT value may hold, with every line end as a newline."""
    return _NOT_TEXT.sub("", _LINE_ENDS.sub("\n", text)).strip()


def clean_line(text: str) -> str:
    """The same in one line."""
    return " ".join(clean_text(text).split())


def paragraphs(*groups: Iterable[str]) -> str:
    """The lines of each group under one another, an empty line between groups; what is empty is left out."""
    blocks = ("\n".join(filter(None, map(clean_text, group))) for group in groups)
    return "\n\n".join(filter(None, blocks))


def loose(text: str) -> str:
    """The words alone: without figures, days and lengths of time, which a forecast changes all the time."""
    return _FIGURES.sub("#", text)


def say_leeway(planned: PlannedStep, zone: ZoneInfo) -> str:
    """When else it can be done; empty where nobody has to do it, or the plan says nothing of it."""
    if planned.at is None or not planned.spans or not planned.step.household:
        return ""
    if planned.spans == ((planned.at, planned.at),):
        return "Leeway: none. The plan holds only at this time."
    return f"Leeway: {span_list(planned.spans, zone, planned.at)}. At these times the plan still holds."


def say_night(plan: Plan) -> str:
    """What speaks for this night, or against it, in the planner's own words."""
    reasons = "; ".join(reason.strip().rstrip(".") for reason in plan.night.reasons)
    lead = "Why this night" if plan.night.verdict.is_offered else "That night"
    return f"{lead}: {reasons}." if reasons else ""


def say_why(plan: Plan, planned: PlannedStep, zone: ZoneInfo) -> str:
    """What the time hangs from: the night for the lighting, the neighbouring step for every other."""
    step = planned.step
    if step.neighbour is None:
        return say_night(plan)
    other = next((each for each in plan.steps if each.step.name == step.neighbour), None)
    if other is None or other.at is None or planned.at is None:
        return ""
    if step.before:
        tie, wait = "leads to", _wait(other.at - planned.at, step, "this")
    else:
        tie, wait = "follows", _wait(planned.at - other.at, other.step, "that")
    if step.wait is None:  # set by the site, and counted from the start
        wait = f"{long_span(abs(planned.at - other.at) / timedelta(hours=1))} later"
    return f"Why then: it {tie} “{other.step.title}” ({when(other.at, zone)}), {wait}{_bounds(step)}."


def _wait(gap: timedelta, first: Step, which: str) -> str:
    """From the end of the first one's hands-on time, as the process counts its waits."""
    wait = gap - timedelta(minutes=first.hands_on_min)
    if wait < timedelta(minutes=1):
        return f"as soon as {which} is done"
    return f"{long_span(wait / timedelta(hours=1))} after {which} is done"


def _bounds(step: Step) -> str:
    """The process's own figures for the wait, where they leave a choice and do not depend on a weight."""
    wait = step.wait
    if wait is None or wait.weather or wait.per_started_g is not None or wait.least_h == wait.longest_h:
        return ""
    least, usual, longest = map(long_span, (wait.least_h, wait.usual_h, wait.longest_h))
    return f" (the process allows {least} to {longest}, usually {usual})"


def say_weights(plan: Plan, site: Site, step: Step | None = None) -> str:
    """What to weigh out for the step, or for the whole plan; empty where that is nothing or not known."""
    amounts: list[tuple[str, float | None]] = []
    if step is None or step.name == SALT:
        amounts += [("salt", plan.salt_g), ("sugar", plan.sugar_g)]
    if step is None or step.name == ANCHOR or (step.before and step.branch == "sawdust"):
        amounts += [("dry sawdust", plan.sawdust_g)]
    known = [f"{what} {show_weight(grams, site.units)}" for what, grams in amounts if grams is not None]
    return f"Weigh out: {', '.join(known)}." if known else ""
