"""The question of a batch in the journal: what was done to it, what was learned, and the newest weather."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.faces import asking
from scheduler.faces.from_journal import batch_of, past_of, process_of

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.faces.asking import BatchFlags, Flags
    from scheduler.faces.book import Book
    from scheduler.household.site import Site
    from scheduler.journal.state import BatchState, SiteState
    from scheduler.planning.answers import Span
    from scheduler.service import Question

    Weather = tuple[Forecast, tuple[Forecast, ...]]


def question_of(
    book: Book, state: SiteState, batch: BatchState, weather: Weather, busy: tuple[Span, ...] = ()
) -> Question:
    """The question, with the figures that the household's own nights have taught."""
    from scheduler.service import Question

    forecast, others = weather
    process = process_of(batch)
    asked = Question(book.site, process, batch_of(batch, process), forecast, book.now, others, busy)
    return taught(asked, book.site, state)


def taught(question: Question, site: Site, state: SiteState) -> Question:
    """The question with what the household's own nights have taught; site: as its file has it."""
    from scheduler.journal.apply import applied
    from scheduler.journal.learn import learn

    learned = learn(state, site, question.process, question.forecast.source)
    site, process = applied(learned, site, question.process)
    return replace(question, site=site, process=process, bias_c=learned.bias_c)


def with_own_nights(question: Question, flags: Flags) -> Question:
    """The same for a batch that no journal knows; nothing where the household keeps none."""
    from scheduler.faces import book
    from scheduler.journal.fold import fold

    if flags.sample and flags.journal is None:
        return question
    with book.opened(flags, writes=False) as own:
        records = own.records
        return taught(question, own.site, fold(records)) if records else question


def weather_of(flags: Flags, book: Book) -> Weather:
    """The newest weather, asked for once however many batches there are."""
    return asking.forecasts_of(flags, book.site, book.now)


def busy_of(flags: Flags, book: Book) -> tuple[Span, ...]:
    """When nobody is at home, by the flags and the household's calendars."""
    from scheduler.faces import away

    return away.busy_of(flags, book.site, book.now)


def open_batch(flags: Flags, said: BatchFlags, *, strict: bool = True) -> Question | None:
    """The question of the batch in the journal that was named, or of the only open one; None where neither is meant.

    strict: whether a name that no open batch has is refused, or is but a name.
    Where anything was said of the food, the sawdust or the process, that is what is asked about.
    """
    from scheduler.faces import book

    if replace(said, name=None) != asking.BatchFlags() or flags.process is not None:
        return None
    if flags.sample and flags.journal is None:  # the invented site has its own batch
        return None
    with book.opened(flags, writes=False) as own:
        state = own.state
        if said.name is None and len(state.open) != 1:
            return None
        names = [one.name.lower() for one in state.open]
        if not strict and said.name is not None and said.name.strip().lower() not in names:
            return None
        batch = book.pick(state, said.name)
        asked, past = question_of(own, state, batch, weather_of(flags, own), busy_of(flags, own)), past_of(batch)
        return asked if past is None else replace(asked, adopted=past.adopted)
