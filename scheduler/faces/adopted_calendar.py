"""The calendar of a household: the adopted plans of its open batches, each as it was taken on."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.faces import asking, book
from scheduler.faces.feed_file import Written
from scheduler.faces.wording import day_words, one_line
from scheduler.journal.record import Kind
from scheduler.planning.answers import Night, Plan, PlannedStep
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.faces.asking import BatchFlags, Flags
    from scheduler.faces.calendar_events import Event
    from scheduler.faces.replanning import Asked
    from scheduler.journal.state import BatchState

AS_ADOPTED = (Change.UNCHANGED, Change.PROPOSED)
"""What leaves a plan where it was."""


def adopted_calendar(flags: Flags, said: BatchFlags) -> Written | None:
    """The adopted plans of all open batches, or of the one named; None where there is none to write.

    Where something was said of the food, that is what is asked about.
    """
    from scheduler.faces.calendar import write_events
    from scheduler.faces.journal_question import busy_of, question_of, weather_of
    from scheduler.faces.replanning import ask_all

    if replace(said, name=None) != asking.BatchFlags() or flags.process is not None:
        return None
    if flags.sample and flags.journal is None:
        return None
    with book.opened(flags, writes=False) as own:
        state = own.state
        wanted = _wanted(state.open, said.name)
        if not wanted:
            return None
        newest, busy = weather_of(flags, own), busy_of(flags, own)
        others = [one for one in state.open if one.plan is not None and one not in wanted]
        asked = ask_all([(one, question_of(own, state, one, newest, busy)) for one in wanted], others)
    events = sorted((event for one in asked for event in _events(one)), key=lambda e: (e.start, e.end, e.uid))
    name = f"Cold smoking: {own.site.name}"
    return Written(write_events(events, name=name), tuple(line for one in asked for line in _lines(one)), planned=True)


def _wanted(among: Sequence[BatchState], name: str | None) -> list[BatchState]:
    """Open batches with a plan; of that name, where one was given."""
    planned = [one for one in among if one.plan is not None]
    return planned if name is None else [one for one in planned if one.name.lower() == name.strip().lower()]


def _events(asked: Asked) -> Iterator[Event]:
    """The entries of one batch, counted up with every move of its plan."""
    from scheduler.faces.calendar_events import events_of
    from scheduler.faces.cautions import caution_sentence

    question = asked.question
    plans = (Kind.PLAN_ADOPTED, Kind.PLAN_MOVED)
    times = [record.body["steps"] for record in asked.batch.records if record.kind in plans]
    moves = sum(before != after for before, after in pairwise(times))
    events = events_of(
        adopted_plan(asked),
        site=question.site,
        stamp=question.forecast.issued_at,
        credit=question.forecast.credit,
        caution_text=caution_sentence,
    )
    return (replace(event, sequence=moves) for event in events)


def adopted_plan(asked: Asked) -> Plan:
    """The plan as it was taken on: with its leeway where it still holds, else with its bare times."""
    found, question = asked.found, asked.question
    if found.plan is not None and found.change in AS_ADOPTED:
        return found.plan
    done = dict(question.batch.done)
    times = {**found.adopted.steps, **done}
    steps = [
        PlannedStep(step, times[step.name].astimezone(UTC), (), done=step.name in done)
        for step in question.process.steps
        if step.name in times
    ]
    night = next((one for one in found.nights if one.date == found.adopted.night), _bare_night(asked))
    return Plan(
        batch=question.batch,
        night=night,
        steps=tuple(sorted(steps, key=lambda one: times[one.step.name])),
        sawdust_g=None,
        salt_g=None,
        sugar_g=None,
        cautions=question.process.cautions,
        tentative=True,
    )


def _bare_night(asked: Asked) -> Night:
    """A night that no forecast speaks of any more."""
    site, adopted = asked.question.site, asked.found.adopted
    return Night(adopted.night, adopted.verdict, (), site.duration_h, site.limits.ceiling_c)


def _lines(asked: Asked) -> Iterator[str]:
    """What is written, and where it no longer holds."""
    adopted = asked.found.adopted
    yield f"{one_line(asked.batch.name)}: {day_words(adopted.night)}, as adopted."
    if asked.found.change not in AS_ADOPTED:
        yield "It no longer holds as it was adopted: `smokenight replan` says what changed."
