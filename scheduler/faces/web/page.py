"""The page of one site: the answer, the picture, the steps, the cautions, and how to subscribe.

Rendered on the server from the very answer that the terminal and the calendar show; it needs no script.
"""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from scheduler.faces import why
from scheduler.faces.calendar_words import say_leeway
from scheduler.faces.cautions import Marks, caution_sentence
from scheduler.faces.chamber_words import chamber_words, chance_of_what, margin_words
from scheduler.faces.chart import MARKS
from scheduler.faces.drying_words import drying_lines
from scheduler.faces.forecast_lines import INVENTED, SAMPLE
from scheduler.faces.next_report import headline
from scheduler.faces.nights_report import COLUMNS, _cells
from scheduler.faces.web.air_svg import draw
from scheduler.faces.web.leeway_svg import Timeline
from scheduler.faces.web.scene import picture_of
from scheduler.faces.weights import cure_words, sawdust_words
from scheduler.faces.wording import clock, day_words, long_span, one_line, percent, sentence, weekday_clock, when
from scheduler.household.units import show_duration, show_temperature
from scheduler.science.hazards import DEFERS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from jinja2 import Template

    from scheduler.planning.answers import Night, Plan, PlannedStep
    from scheduler.service import Answer, Question


@dataclass(frozen=True, slots=True)
class BatchPart:
    """What the page tells of one batch, or of the next one where none is open."""

    answer: Answer
    news: tuple[str, ...] = ()
    """What moved and why, what is asked about, in sentences."""


@dataclass(frozen=True, slots=True)
class Links:
    """Where the page's own addresses are."""

    feed_https: str
    """To copy; as the household reaches the server."""
    feed_webcal: str
    """Opens the calendar program's own dialog."""


def render(parts: Sequence[BatchPart], links: Links) -> bytes:
    """The page; the first part gives the headline, the picture and the nights."""
    first = parts[0].answer
    picture = picture_of(first, plan=first.choice.plan)
    css = _css()
    text = _template().render(
        css=css,
        headline=headline(first),
        site=one_line(first.question.site.name),
        invented=INVENTED if first.question.forecast.source == SAMPLE else "",
        picture="" if picture is None else draw(picture),
        unit="" if picture is None else picture.unit,
        parts=[_part(part) for part in parts],
        nights=_nights(first),
        columns=COLUMNS,
        forecast=_forecast(first.question),
        defers=DEFERS,
        links=links,
    )
    return text.encode()


def content_policy() -> str:
    """What a browser may do with the page: show it, with this one style sheet, and nothing else."""
    digest = base64.b64encode(hashlib.sha256(_css().encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


@cache
def _css() -> str:
    return files("scheduler.faces.web").joinpath("page.css").read_text(encoding="utf-8").strip()


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    source = files("scheduler.faces.web").joinpath("page.html").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True).from_string(
        source
    )


def _part(part: BatchPart) -> dict[str, Any]:
    """One batch's section."""
    answer, plan = part.answer, part.answer.choice.plan
    question = answer.question
    steps = plan.steps if plan is not None else answer.earliest
    marks = Marks(list(plan.cautions if plan is not None else question.process.cautions))
    return {
        "name": one_line(question.batch.name),
        "headline": headline(answer),
        "tentative": plan is not None and plan.tentative,
        "lead": _lead(answer, plan),
        "facts": [] if plan is None else _facts(plan, question),
        "open": list(why.freezing_open(answer)),
        "news": list(part.news),
        "steps_title": "What to do, and when" if plan is not None else "To be ready at the earliest",
        "days": _days(steps, plan, question, marks),
        "weigh": [] if plan is None else [*cure_words(plan, question), *sawdust_words(plan, question)],
        "cautions": [(number, caution_sentence(key)) for number, key in enumerate(marks.keys, start=1)],
    }


def _lead(answer: Answer, plan: Plan | None) -> list[str]:
    """Why this night; or why none."""
    if plan is not None:
        chosen, *_ = why.why_this_night(answer)
        return [chosen, *why.why_not_made(answer)]
    return [sentence(text) for text in why.lead_in(answer)]


def _facts(plan: Plan, question: Question) -> list[tuple[str, str]]:
    """The figures of the plan's night."""
    night, site = plan.night, question.site
    found = [("night", f"{day_words(night.date)}, {MARKS[night.verdict]} {night.verdict}")]
    if night.chance is not None:
        found.append(("chance", f"{percent(night.chance)} {chance_of_what(night, site)}"))
    if night.peak_c is not None and night.peak_at is not None:
        at = weekday_clock(night.peak_at, site.zone)
        found.append(
            ("warmest air", f"{show_temperature(night.peak_c, site.units)} ({at}), {margin_words(night, site)}")
        )
    if chamber := chamber_words(night, site):
        found.append(("chamber", chamber))
    return found


def _days(
    steps: Sequence[PlannedStep], plan: Plan | None, question: Question, marks: Marks
) -> list[tuple[str, list[dict[str, Any]]]]:
    """Steps by day, those done at an unknown time first."""
    zone, line = question.site.zone, Timeline.of(steps, question.now)
    upcoming = next((planned for planned in steps if not planned.done), None)
    found: list[tuple[str, list[dict[str, Any]]]] = []
    last: date | None = None
    for planned in steps:
        day = None if planned.at is None else planned.at.astimezone(zone).date()
        if not found or day != last:
            found.append(("Before" if day is None else day_words(day), []))
        last = day
        step, numbers = planned.step, marks.of_step(() if planned.done else planned.step.cautions)
        found[-1][1].append({
            "time": "" if planned.at is None else clock(planned.at, zone),
            "title": one_line(step.title),
            "done": planned.done,
            "now": planned is upcoming,
            "length": show_duration(step.hands_on_min / 60) if step.hands_on_min > 0 and not planned.done else "",
            "note": one_line(step.note) if not planned.done else "",
            "more": [] if planned.done else [*planned.notes, *_drying(plan, planned, question)],
            "leeway": "" if planned.done or plan is None else say_leeway(planned, zone),
            "bar": line.bar(planned),
            "numbers": numbers.strip("[]").replace(" ", "").split(",") if numbers else [],
        })  # fmt: skip
    return found


def _drying(plan: Plan | None, planned: PlannedStep, question: Question) -> Sequence[str]:
    return () if plan is None else drying_lines(plan, planned.step.name, question.site.zone)


def _nights(answer: Answer) -> list[tuple[Night, list[str], str]]:
    """Every night as the terminal's table has it, its mark, and the deciding reason."""
    return [
        (night, [*_cells(night, answer.question)], sentence(night.reasons[0]) if night.reasons else "")
        for night in answer.nights
    ]


def _forecast(question: Question) -> dict[str, Any]:
    """Who says so, how old it is, and what must be shown beside it."""
    forecast, zone = question.forecast, question.site.zone
    age = long_span(round(max(forecast.age(question.now), timedelta(0)) / timedelta(hours=1)))
    return {
        "source": one_line(forecast.source),
        "made": when(forecast.issued_at, zone),
        "asked": when(question.now, zone),
        "age": age,
        "stale": forecast.is_stale(question.now),
        "notes": [sentence(one_line(note)) for note in forecast.notes],
        "credit": one_line(forecast.credit.text),
        "link": forecast.credit.link if forecast.credit.link.startswith("https://") else "",
    }
