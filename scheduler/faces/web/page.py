"""The page of one site: the answer, the pictures, the steps with their cautions, and how to subscribe.

Rendered on the server from the very answer that the terminal and the calendar show; it needs no script.
"""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from scheduler.faces import why
from scheduler.faces.chart import MARKS
from scheduler.faces.forecast_lines import INVENTED, SAMPLE
from scheduler.faces.nights_report import COLUMNS, night_cells
from scheduler.faces.web.air_svg import draw
from scheduler.faces.web.page_parts import part_of
from scheduler.faces.web.scene import nights_picture
from scheduler.faces.wording import UNKNOWN, long_span, one_line, sentence, when
from scheduler.household.units import show_temperature
from scheduler.science.hazards import DEFERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jinja2 import Template

    from providers.forecast import Credit
    from scheduler.faces.keeping import Told
    from scheduler.planning.backward import Infeasible
    from scheduler.service import Answer, Question

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:°[CF]|%|k?g|lb|oz|h|min|mm|in|m/s|mph)\b|[°%])")


@dataclass(frozen=True, slots=True)
class Links:
    """Where the page's own addresses are."""

    feed_https: str
    """To copy; as the household reaches the server."""
    feed_webcal: str
    """Opens the calendar program's own dialog."""


def render(parts: Sequence[Told], links: Links) -> bytes:
    """The page; the first part gives the headline and the nights."""
    first = parts[0].answer
    question, picture = first.question, nights_picture(first)
    text = template("page.html").render(
        css=style_sheet(),
        headline=parts[0].headline,
        site=one_line(question.site.name),
        invented=INVENTED if question.forecast.source == SAMPLE else "",
        parts=[part_of(part, number) for number, part in enumerate(parts, start=1)],
        picture="" if picture is None else draw(picture),
        unit=show_temperature(0, question.site.units).split(" ")[1],
        nights=_nights(first),
        columns=COLUMNS,
        unknown=UNKNOWN,
        forecast=_forecast(question),
        defers=DEFERS,
        links=links,
    )
    return text.encode()


def content_policy() -> str:
    """What a browser may do with the page: show it, with this one style sheet, and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style_sheet().encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


@cache
def style_sheet() -> str:
    """Of every page, the same to the byte, as the policy names it by its digest."""
    return files("scheduler.faces.web").joinpath("page.css").read_text(encoding="utf-8").strip()


@cache
def template(name: str) -> Template:
    """A template in this folder, which escapes whatever it is given."""
    from jinja2 import Environment, StrictUndefined

    source = files("scheduler.faces.web").joinpath(name).read_text(encoding="utf-8")
    made = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=_glued
    )
    return made.from_string(source)


def _glued(value: object) -> object:
    """Text with every number kept on the line of its unit; what is drawn already stays as it is."""
    is_text = isinstance(value, str) and not hasattr(value, "__html__")
    return _BEFORE_UNIT.sub("\u00a0", value) if is_text and isinstance(value, str) else value


def _nights(answer: Answer) -> list[dict[str, Any]]:
    """Every night as the terminal's table has it, with its mark and what decides it for this batch."""
    plan = answer.choice.plan
    chosen = None if plan is None or answer.under_way is not None else plan.night.date
    obstacles = {night.date: _obstacle(answer, found) for night, found in answer.choice.not_makeable}
    return [
        {
            "cells": [*night_cells(night, answer.question)],
            "verdict": str(night.verdict),
            "mark": MARKS[night.verdict],
            "chosen": night.date == chosen,
            "reasons": [
                *([sentence(night.reasons[0])] if night.reasons else []),
                *([obstacles[night.date]] if night.date in obstacles else []),
            ],
        }
        for night in answer.nights
    ]


def _obstacle(answer: Answer, found: Infeasible) -> str:
    """That a night cannot be made; and why, where the answer does not begin with it."""
    if answer.choice.plan is not None:
        return "It cannot be made."
    return f"It cannot be made: {why.cannot_be_made(answer, found)}."


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
        "credits": list(dict.fromkeys(_credit(one.credit) for one in (forecast, *question.second_opinions))),
    }


def _credit(credit: Credit) -> tuple[str, str]:
    """Text and link; a link that is none is not made one."""
    link = credit.link if credit.link.startswith(("https://", "http://")) else ""
    return one_line(credit.text) or link, link
