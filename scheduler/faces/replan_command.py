"""`replan`: the newest weather and what was done, held against every adopted plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting, SchedulerError
from scheduler.faces import asking, book, options
from scheduler.faces.completion import open_batches
from scheduler.faces.printing import colour, dump, remark, say, width

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.faces.book import Book
    from scheduler.faces.replanning import Asked
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, SiteState

LOST, CHANGED = 1, 10
"""Exit codes: no night is left for a batch; something changed."""

NO_PLAN = "`smokenight plan` adopts one"


def replan(
    batch: Annotated[
        str | None,
        typer.Option(
            "--batch",
            help="Name of the batch; else every open one with a plan.",
            metavar="NAME",
            autocompletion=open_batches,
        ),
    ] = None,
    take: Annotated[
        bool,
        typer.Option("--take", help="Take what is proposed: move to the better night, or drop a plan without one."),
    ] = False,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    weather: options.Weather = None,
    now: options.Now = None,
    journal: options.JournalFile = None,
    away: options.Away = None,
    as_json: options.Json = False,
) -> None:
    """Hold every adopted plan against the newest weather.

    And against what was done since.
    Exit codes: 0 unchanged, 10 changed (moved, proposed, lift early, do not light), 1 no night is left.
    For example: smokenight replan --take
    """
    from scheduler.faces.journal_question import busy_of, question_of, weather_of
    from scheduler.faces.plan_records import logged_record, records_of
    from scheduler.faces.replan_report import nothing_json, replan_json, replan_report
    from scheduler.faces.replanning import ask_all

    flags = asking.Flags(site, sample, weather, now, None, journal, away)
    with book.opened(flags, writes=True) as own:
        state = own.state
        wanted = _wanted(state, batch)
        if not wanted:
            say(dump(nothing_json(own.now, own.site)) if as_json else f"No open batch has a night: {NO_PLAN}.")
            return
        newest, busy = weather_of(flags, own), busy_of(flags, own)
        others = [one for one in state.open if one.plan is not None and one not in wanted]
        asked = ask_all([(one, question_of(own, state, one, newest, busy)) for one in wanted], others)
        records = [record for one in asked for record in records_of(own, one, take=take)]
        trouble = _write_down(own, *records, *logged_record(own, state, asked[0].question, asked[0].found.nights))
    say(dump(replan_json(asked)) if as_json else replan_report(asked, width(), colour=colour()))
    if trouble is not None:
        raise trouble
    for line in (*_taken(asked, take=take), *own.notes()):
        remark(line)
    code = _code(asked)
    if code:
        raise typer.Exit(code)


def _write_down(own: Book, *records: Record) -> SchedulerError | None:
    """Or say why it could not be done: what the weather brings is worth telling all the same."""
    try:
        own.add(*records)
    except SchedulerError as error:
        return error
    return None


def _wanted(state: SiteState, name: str | None) -> Sequence[BatchState]:
    """The batch that was named, else every open one with a plan."""
    if name is None:
        return [one for one in state.open if one.plan is not None]
    one = book.pick(state, name)
    if one.plan is None:
        raise BadSetting(f"{one.name!r} has no night yet: {NO_PLAN}")
    return [one]


def _taken(asked: Sequence[Asked], *, take: bool) -> Iterator[str]:
    """What `--take` did."""
    from scheduler.faces.wording import day_words, one_line

    if not take:
        return
    taken = False
    for one in asked:
        if one.found.proposed is not None:
            yield f"Taken: {one_line(one.batch.name)} moves to {day_words(one.found.proposed.night.date)}."
        elif one.found.is_stuck:
            yield f"Taken: the plan of {one_line(one.batch.name)} is dropped; `smokenight plan` adopts another."
        else:
            continue
        taken = True
    if not taken:
        yield "Nothing was proposed, so there was nothing to take."


def _code(asked: Sequence[Asked]) -> int:
    """1 where a batch has no night left, whatever else; 10 where anything changed."""
    from scheduler.planning.replanned import Change

    changes = {one.found.change for one in asked}
    if Change.LOST in changes:
        return LOST
    return 0 if changes == {Change.UNCHANGED} else CHANGED
