"""`plan`: adopt a night for a batch."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, book, options
from scheduler.faces.exit_codes import NO
from scheduler.faces.printing import colour, dump, remark, say, width
from scheduler.household.process import ANCHOR

if TYPE_CHECKING:
    from scheduler.faces.book import Book
    from scheduler.household.site import Site
    from scheduler.journal.state import BatchState, SiteState
    from scheduler.planning.answers import Plan
    from scheduler.service import Answer, Question

Text = str | None


def plan(
    batch: options.Batch = None,
    night: Annotated[
        Text, typer.Option("--night", help="The night to take, by the day it begins on; else the next good one.")
    ] = None,
    committed: Annotated[
        bool, typer.Option("--committed", help="It stands: a better night is only proposed from now on.")
    ] = False,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    weather: options.Weather = None,
    now: options.Now = None,
    journal: options.JournalFile = None,
    away: options.Away = None,
    as_json: options.Json = False,
) -> None:
    """Adopt a night for a batch: the next good one, or yours.

    From then on `smokenight replan` holds it against every new forecast, and `calendar` writes it.
    For example: smokenight plan --night 2026-10-23
    """
    from scheduler import service
    from scheduler.faces.as_json import next_json
    from scheduler.faces.journal_question import busy_of, question_of, weather_of
    from scheduler.faces.next_report import next_report
    from scheduler.faces.plan_records import adopted_record, logged_record

    flags = asking.Flags(site, sample, weather, now, None, journal, away)
    with book.opened(flags, writes=True) as own:
        state = own.state
        of = book.pick(state, batch)
        wanted = None if night is None else _day(night)
        _not_smoked(own, of)
        question = question_of(own, state, of, weather_of(flags, own), busy_of(flags, own))
        answer = service.plan(question) if wanted is None else _that_night(question, wanted)
        found = answer.choice.plan
        logged = tuple(logged_record(own, state, question, service.look(question)))
        if found is not None:
            own.add(adopted_record(own, of.identity, found, question, committed=committed), *logged)
        elif logged:
            own.add(*logged)
    say(dump(next_json(answer)) if as_json else next_report(answer, width(), colour=colour()))
    if found is None:
        raise typer.Exit(NO)
    for line in (*_adopted_words(own.site, state, of, found), *own.notes()):
        remark(line)


def _day(given: str) -> date:
    """A night by its day."""
    try:
        return date.fromisoformat(given.strip())
    except ValueError as exc:
        raise BadSetting(f"--night: {given!r} is no day; write it like 2026-10-23") from exc


def _that_night(question: Question, night: date) -> Answer:
    """The plan for the night that was asked for."""
    from scheduler import service
    from scheduler.faces.wording import day_words

    try:
        return service.plan_night(question, night)
    except ValueError:
        coming = [day_words(one.date) for one in service.look(question)]
        reach = f"it reaches from {coming[0]} to {coming[-1]}" if coming else "it holds no coming night"
        raise BadSetting(f"--night: the forecast says nothing of {day_words(night)}; {reach}") from None


def _not_smoked(own: Book, batch: BatchState) -> None:
    """A batch whose tray is lit has its night."""
    from scheduler.faces.wording import when

    lit = next((one.at for one in batch.done if one.step == ANCHOR), None)
    if lit is not None:
        raise BadSetting(
            f"{batch.name!r} was lit {when(lit, own.site.zone)}: its night is taken; `smokenight replan` plans the lift"
        )


def _adopted_words(site: Site, state: SiteState, batch: BatchState, found: Plan) -> tuple[str, ...]:
    """What was adopted, who else has that night, and whether it goes into the chamber at all."""
    from scheduler.faces.wording import day_words, one_line
    from scheduler.household.units import show_weight

    day = found.night.date
    others = [
        one_line(one.name)
        for one in state.open
        if one.identity != batch.identity and one.plan is not None and one.plan.body["night"] == day.isoformat()
    ]
    said = f"Adopted for {one_line(batch.name)}: {day_words(day)}."
    if batch.plan is not None and batch.plan.body["night"] != day.isoformat():
        said += f" It takes the place of {day_words(date.fromisoformat(batch.plan.body['night']))}."
    lines = [said]
    if others:
        lines.append(f"That night is also adopted for {', '.join(others)}: `smokenight replan` shares the nights out.")
    holds_g, weight_g = site.chamber.holds_g, found.batch.weight_g
    if holds_g is not None and weight_g is not None and weight_g > holds_g:
        held, own = show_weight(holds_g, site.units), show_weight(weight_g, site.units)
        lines.append(f"Your chamber holds {held} and this batch weighs {own}: open it as two batches.")
    return tuple(lines)
