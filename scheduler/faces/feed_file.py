"""The calendar file of a household: the very bytes that its feed has, brought up to date without moving any plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.faces import asking, book
from scheduler.faces.journal_question import busy_of, weather_of
from scheduler.faces.next_report import headline
from scheduler.household.batch import Batch
from scheduler.service import Question

if TYPE_CHECKING:
    from scheduler.faces.asking import BatchFlags, Flags
    from scheduler.faces.book import Book
    from scheduler.faces.journal_question import Weather
    from scheduler.planning.answers import Span


@dataclass(frozen=True, slots=True)
class Written:
    """A calendar's bytes, and what is to be said of it."""

    data: bytes
    lines: tuple[str, ...]
    planned: bool
    """Whether there is a plan in it."""


def feed_file(flags: Flags, said: BatchFlags) -> Written | None:
    """The household's calendar; None where something else was asked for: a batch described, or the invented site."""
    from scheduler.faces.calendar import feed_bytes
    from scheduler.faces.keeping import keep

    if said != asking.BatchFlags() or flags.process is not None or (flags.sample and flags.journal is None):
        return None
    with book.opened(flags, writes=True) as own:
        newest, busy = weather_of(flags, own), busy_of(flags, own)
        kept = keep(own, usual_question(own, newest, busy), newest, busy, moving=False)
    lines = [line for one in kept.told for line in (headline(one.answer), *one.news)]
    planned = any(one.answer.choice.plan is not None for one in kept.told)
    return Written(feed_bytes(kept.entries, own.site), tuple(lines), planned)


def usual_question(own: Book, weather: Weather, busy: tuple[Span, ...]) -> Question:
    """The question of a batch that nobody has opened."""
    from scheduler.household.process_file import shipped_process
    from scheduler.science.hazards import KNOWN

    forecast, others = weather
    return Question(own.site, shipped_process(Batch().food, KNOWN), Batch(), forecast, own.now, others, busy)
