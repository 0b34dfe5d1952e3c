"""The calendar file of a household: the very bytes that its feed has, brought up to date without moving any plan."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.faces import asking, book
from scheduler.faces.feed_cancelled import uids_of
from scheduler.faces.journal_question import busy_of, taught, weather_of
from scheduler.faces.memory import Memory
from scheduler.faces.wording import one_line
from scheduler.household.batch import Batch
from scheduler.service import Question

if TYPE_CHECKING:
    from scheduler.faces.asking import BatchFlags, Flags
    from scheduler.faces.book import Book
    from scheduler.faces.journal_question import Weather
    from scheduler.faces.keeping import Told
    from scheduler.journal.state import SiteState
    from scheduler.planning.answers import Span


@dataclass(frozen=True, slots=True)
class Written:
    """A calendar's bytes, and what is to be said of it."""

    data: bytes
    lines: tuple[str, ...]
    planned: bool
    """Whether there is a plan in it."""


def feed_file(flags: Flags, said: BatchFlags) -> Written | None:
    """The household's calendar, or what it has of the batch that was named.

    None where something else was asked for (food described, or the invented site), or that batch has no entry.  What
    is asked of another moment, weather or time at home begins with the journal and leaves no trace in it: what
    subscribers have would count up for it, and back.
    """
    from scheduler.faces.calendar import feed_bytes
    from scheduler.faces.keeping import keep

    described = replace(said, name=None) != asking.BatchFlags() or flags.process is not None
    if described or (flags.sample and flags.journal is None):
        return None
    with book.opened(flags, writes=not _is_what_if(flags), begins=True) as own:
        if _is_what_if(flags):
            own = replace(own, keeper=Memory.beginning_with(own.keeper, own.site.name), kept=False)
        newest, busy = weather_of(flags, own), busy_of(flags, own)
        kept = keep(own, usual_question(own, newest, busy), newest, busy, moving=False)
        meant = None if said.name is None else _entries_of(own.state, said.name)
    entries = [one for one in kept.entries if meant is None or one.event.uid in meant]
    if not entries:
        return None
    told = [one for one in kept.told if said.name is None or _name(one.answer.question.batch.name) == _name(said.name)]
    lines = [line for one in told for line in (_headline(one), *one.news)]
    planned = any(one.answer.choice.plan is not None for one in told)
    return Written(feed_bytes(entries, own.site), tuple(lines), planned)


def _is_what_if(flags: Flags) -> bool:
    """Whether it is asked of something else than what is."""
    return flags.sample or flags.now is not None or flags.weather is not None or bool(flags.away)


def _headline(told: Told) -> str:
    """The answer in one sentence, with the batch it is for."""
    batch = told.answer.question.batch
    return told.headline if batch.identity is None else f"{one_line(batch.name)}: {told.headline}"


def _entries_of(state: SiteState, name: str) -> set[str]:
    """UIDs of the entries of the open batch of that name; empty where there is none."""
    return {uid for one in state.open if _name(one.name) == _name(name) for uid in uids_of(one)}


def _name(given: str) -> str:
    """Names are told apart by their letters alone."""
    return one_line(given).lower()


def usual_question(own: Book, weather: Weather, busy: tuple[Span, ...]) -> Question:
    """The question of a batch that nobody has opened."""
    from scheduler.household.process_file import shipped_process
    from scheduler.science.hazards import KNOWN

    forecast, others = weather
    asked = Question(own.site, shipped_process(Batch().food, KNOWN), Batch(), forecast, own.now, others, busy)
    return taught(asked, own.site, own.state)
