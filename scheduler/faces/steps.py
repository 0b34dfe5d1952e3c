"""The steps of a plan, day by day, each with its time, its leeway and the time it keeps one busy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.cautions import Marks
from scheduler.faces.wording import clock, day_words, one_line, span_list
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.units import show_duration

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from zoneinfo import ZoneInfo

    from scheduler.faces.terminal import Page
    from scheduler.planning.answers import PlannedStep
    from scheduler.service import Question

INDENT = " " * 9
"""Under the title of a step, past its time."""


def say_steps(
    page: Page,
    steps: Sequence[PlannedStep],
    question: Question,
    whole: Sequence[str],
    title: str = "Steps, with hands-on time, leeway and [cautions]",
    *,
    leeway: bool = True,
) -> Marks:
    """All steps in order; returns the cautions that were marked on them, after those for the whole of it."""
    marks = Marks(list(whole))
    page.heading(title)
    upcoming = next((planned for planned in steps if not planned.done), None)
    last: date | None = None
    for planned in steps:
        day = None if planned.at is None else planned.at.astimezone(question.site.zone).date()
        if day is not None and day != last:
            page.say(f"  {page.ink('strong', day_words(day))}")
        last = day
        _say_title(page, planned, question.site.zone, marks, strong=planned is upcoming)
        if leeway:
            _say_leeway(page, planned, question.site.zone)
        if planned is upcoming and planned.step.note:  # how to do it, only where it comes next
            page.say(one_line(planned.step.note), first=INDENT)
        for note in planned.notes:
            page.say(note, first=INDENT)
    return marks


def _say_title(page: Page, planned: PlannedStep, zone: ZoneInfo, marks: Marks, *, strong: bool) -> None:
    """Time, title and length."""
    step = planned.step
    title = one_line(step.title)
    if planned.done:
        at = INDENT if planned.at is None else _time(clock(planned.at, zone))
        page.say(f"done: {title}", first=at, style="quiet")
        return
    length = f", {show_duration(step.hands_on_min / 60)}" if step.hands_on_min > 0 else ""
    mark = marks.of_step(step.cautions)
    style = "good" if step.name in (ANCHOR, LIFT) else "strong" if strong else None
    text = f"{page.ink(style, title) if style else title}{length}{page.ink('quiet', f' {mark}') if mark else ''}"
    page.say(text, first=INDENT if planned.at is None else _time(clock(planned.at, zone)), rest=INDENT)


def _say_leeway(page: Page, planned: PlannedStep, zone: ZoneInfo) -> None:
    """When else it can be done; what happens by itself needs none."""
    if planned.at is not None and planned.spans and planned.step.household:
        page.say(f"leeway {span_list(planned.spans, zone, planned.at)}", first=INDENT, style="quiet")


def _time(text: str) -> str:
    return f"  {text:>5}  "
