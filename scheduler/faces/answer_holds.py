"""How long an answer of `next` holds, and what of it is kept (`kept_answer` reads it back)."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.faces.kept_answer import asked_line, digest, made_line, site_path
from scheduler.household.process import ANCHOR

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.kept_answer import Recall
    from scheduler.journal.store import Journal
    from scheduler.planning.answers import PlannedStep
    from scheduler.service import Answer, Question

LONGEST = timedelta(minutes=15)
"""Our judgement: what counts from the moment, such as how much time is missing, is then still near enough."""

MINUTE = timedelta(minutes=1)


def content_of(asked: Recall, answer: Answer, text: str, journal: Journal) -> dict[str, Any] | None:
    """What to keep of an answer; None where it holds for this very minute alone, or rests on what may change."""
    from providers.services import SERVICES

    question = answer.question
    until, files = holds_until(answer), _files(asked, question, journal)
    if until <= question.now or files is None:
        return None
    shown = {"answer": json.loads(text)} if asked.look.as_json else _pieces(asked, question, text)
    if shown is None:
        return None
    forecast = question.forecast
    fresh = [one.fresh_until for one in (forecast, *question.second_opinions) if one.fresh_until is not None]
    served = forecast.source in SERVICES and fresh
    return {
        "asked": question.now.isoformat(),
        "until": until.isoformat(),
        "fresh_until": min(fresh).isoformat() if served else None,
        "zone": question.site.zone.key,
        "source": forecast.source,
        "issued_at": forecast.issued_at.isoformat(),
        "found": answer.choice.plan is not None,
        "files": files,
        **shown,
    }


def holds_until(answer: Answer) -> datetime:
    """The first moment at which the answer may be another one; its own moment where that is at once.

    While the tray burns, and where a step is due now, every answer is a new one.
    """
    from scheduler.planning.nights import OLDEST

    question = answer.question
    minute = question.now + MINUTE
    steps = [one for one in (answer.choice.plan.steps if answer.choice.plan else answer.earliest) if not one.done]
    if answer.under_way is not None or any(_due(step, minute) for step in steps):
        return question.now
    forecasts = (question.forecast, *question.second_opinions)
    fresh = [one.fresh_until for one in forecasts if one.fresh_until is not None]
    ends = [question.now + LONGEST, _next_half_day(question), *fresh, *(one.issued_at + OLDEST for one in forecasts)]
    return min(*ends, *(moment for moment in _bounds(answer, steps) if moment > minute))


def _due(step: PlannedStep, minute: datetime) -> bool:
    """Whether it is to be done now; the lighting, whether it can be."""
    if step.at is None or step.at <= minute:
        return True
    return step.step.name == ANCHOR and any(first <= minute for first, _ in step.spans)


def _next_half_day(question: Question) -> datetime:
    """Noon or midnight: where "tonight" becomes another night, and a day another day."""
    local = question.now.astimezone(question.site.zone)
    midnight = (local + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)
    noon = local.replace(hour=12, minute=0, second=0, microsecond=0)
    return noon if local < noon else midnight


def _bounds(answer: Answer, steps: list[PlannedStep]) -> Iterator[datetime]:
    """Every moment at which a night or a leeway that is shown begins or ends."""
    for night in answer.nights:
        ends = (night.light_earliest, night.light_best, night.light_latest, night.lift, night.lift_latest)
        yield from (moment for moment in ends if moment is not None)
        yield from (moment for span in night.other_spans for moment in span)
    for step in steps:
        yield from () if step.at is None else (step.at,)
        yield from (moment for span in step.spans for moment in span)


def _pieces(asked: Recall, question: Question, text: str) -> dict[str, Any] | None:
    """The report around its moment and around its forecast's age; None where they do not stand there once."""
    zone, forecast = question.site.zone, question.forecast
    told = asked_line(question.now, zone, asked.look)
    made = made_line(forecast.source, forecast.issued_at, question.now, zone, asked.look)
    if text.count(f"\n{told}\n") != 1 or text.count(f"\n{made}\n") != 1:
        return None
    before, rest = text.split(f"\n{told}\n")
    if f"\n{made}\n" not in f"\n{rest}":
        return None
    between, after = f"\n{rest}".split(f"\n{made}\n")
    return {"pieces": [f"{before}\n", f"{between}\n", f"\n{after}"]}


def _files(asked: Recall, question: Question, journal: Journal) -> dict[str, str] | None:
    """What each file holds that the answer rests on; None where one is newer than the question, or is an address."""
    if any("://" in each for each in question.site.busy):
        return None
    paths = list(_paths(asked, question, journal))
    if any(path.stat().st_mtime > asked.began for path in paths):
        return None
    return {str(path): digest(path) for path in paths}


def _paths(asked: Recall, question: Question, journal: Journal) -> Iterator[Path]:
    from scheduler.faces.asking import weather_file

    site, flags = site_path(asked.flags), asked.flags
    if site is not None:
        yield site
    for each in question.site.busy:
        yield (site.parent if site is not None else Path()).absolute() / each
    if flags.process is not None:
        yield flags.process.absolute()
    opened = (one for one in journal.records(question.site.name) if one.identity == question.batch.identity)
    for record in opened:
        if record.body["process"] is not None:
            yield Path(record.body["process"])
    table = weather_file(flags, question.site)
    if table is not None:
        yield table.absolute()
