"""One site brought up to date: its plans held against the newest weather, its calendar published, all in one write.

The served feed, the page and `smokenight calendar` all come from here, so that the same state gives the same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler import service
from scheduler.faces.adopted_calendar import AS_ADOPTED, adopted_plan
from scheduler.faces.feed import Entry, changed, in_order, publish
from scheduler.faces.feed_drafts import (
    held_at,
    moves_of,
    next_drafts,
    night_drafts,
    nothing_draft,
    plan_drafts,
    spell_draft,
)
from scheduler.faces.feed_text import entry_of, entry_text
from scheduler.faces.journal_question import question_of
from scheduler.faces.plan_records import logged_record, records_of
from scheduler.faces.replan_words import headline as replan_headline
from scheduler.faces.replan_words import overdue_words, why_moved
from scheduler.faces.replanning import ask_all
from scheduler.faces.ways_out_words import TITLES, way_sentences
from scheduler.faces.wording import sentence, when
from scheduler.journal.fold import fold
from scheduler.journal.record import Kind
from scheduler.planning.next_spell import NextSpell
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.faces.book import Book
    from scheduler.faces.calendar_events import Event
    from scheduler.faces.journal_question import Weather
    from scheduler.faces.replanning import Asked
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, SiteState
    from scheduler.planning.answers import Span
    from scheduler.service import Answer, Question


@dataclass(frozen=True, slots=True)
class Told:
    """One batch as the faces show it, or the next one where none is open."""

    answer: Answer
    news: tuple[str, ...] = ()
    """What moved and why, what is proposed and asked about, in sentences."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A site at one moment."""

    told: tuple[Told, ...]
    """At least one; what has a plan first, in the order in which the batches were opened."""
    entries: tuple[Entry, ...]
    """What its calendar holds."""


def keep(own: Book, usual: Question, weather: Weather, busy: tuple[Span, ...] = (), *, moving: bool) -> Kept:
    """Bring the site up to date and write it down, in one transaction.

    usual: the question of a batch that nobody has opened.  moving: whether plans move that have to, or may; else
    they are shown as they were adopted.
    """
    state = own.state
    questions = {one.identity: question_of(own, state, one, weather, busy) for one in state.open}
    planned = [one for one in state.open if one.plan is not None]
    asked = ask_all([(one, questions[one.identity]) for one in planned], ()) if planned else ()
    records = tuple(record for one in asked for record in records_of(own, one, take=False)) if moving else ()
    after = fold((*own.records, *records)) if records else state
    logged = tuple(logged_record(own, asked[0].question, asked[0].found.nights)) if moving and asked else ()
    waiting = [Told(service.plan(questions[one.identity])) for one in state.open if one.plan is None]
    alone = [] if state.open else [Told(service.plan(usual))]
    told = (*(_told(one, after, moving=moving) for one in asked), *waiting, *alone)
    drafts = (*_planned_drafts(asked, after, moving=moving), *_further_drafts(told, asked, usual))
    return Kept(told, _published(own, drafts or (nothing_draft(usual),), (*records, *logged)))


def _batch(state: SiteState, identity: str) -> BatchState:
    return next(one for one in state.batches if one.identity == identity)


def _told(asked: Asked, after: SiteState, *, moving: bool) -> Told:
    """One batch with a plan."""
    found, question = asked.found, asked.question
    plan = found.plan if moving or found.change in AS_ADOPTED else adopted_plan(asked)
    answer = service.plan(question) if plan is None else service.answer_with(question, plan, found.nights)
    return Told(answer, tuple(_news(asked, _batch(after, asked.batch.identity), answer)))


def _news(asked: Asked, batch: BatchState, answer: Answer) -> Iterator[str]:
    """The last move and why, then what waits for somebody."""
    found, question = asked.found, asked.question
    if batch.plan is not None and batch.plan.kind is Kind.PLAN_MOVED:
        body, zone = batch.plan.body, question.site.zone
        was, light = (when(datetime.fromisoformat(body[key]), zone) for key in ("from_light", "light"))
        lighting = f"; the lighting from {was} to {light}" if was != light else ""
        yield sentence(f"the plan moved {when(batch.plan.at, zone)}{lighting}")
        yield from body["why"]
    if found.change in (Change.PROPOSED, Change.NO_GO, Change.LIFT_EARLY, Change.LOST):
        yield sentence(replan_headline(found, question))
        yield from why_moved(found, question)
    for number, way in enumerate(asked.ways, 1):
        yield " ".join((f"Way out {number}: {TITLES[way.kind]}.", *way_sentences(way, question.site)))
    named = answer.question.batch.name != ""
    yield from (overdue_words(one, question, named=named) for one in found.overdue)


def _planned_drafts(asked: Sequence[Asked], after: SiteState, *, moving: bool) -> Iterator[Event]:
    """Adopted plans, a lost one left out: what it had put into the calendar is cancelled."""
    for one in asked:
        found = one.found
        plan = found.plan if moving or found.change in AS_ADOPTED else adopted_plan(one)
        if plan is not None:
            due = {each.planned.step.name: each.was_due for each in found.overdue}
            moves = moves_of(_batch(after, one.batch.identity))
            yield from held_at(plan_drafts(plan, one.question, moves), due)


def _further_drafts(told: Sequence[Told], asked: Sequence[Asked], usual: Question) -> Iterator[Event]:
    """What nobody has adopted: the next plan, other good nights, the next spell that dries sawdust."""
    adopted = len(asked)
    for one in told[adopted:]:
        plan = one.answer.choice.plan
        if plan is not None:
            yield from next_drafts(plan, one.answer.question)
    first = told[0].answer
    taken = {one.answer.choice.plan.night.date for one in told if one.answer.choice.plan is not None}
    yield from night_drafts(first.nights, first.question, taken)
    yield from _spell(usual)


def _spell(usual: Question) -> Iterator[Event]:
    """Where sawdust has to dry at all, and none is at hand."""
    chain = service.chain_of(usual)
    if chain.drying_step is None or chain.sawdust_state(chain.fill_g(usual.site.duration_h)) == "dry":
        return
    found = service.dry(usual).next
    if isinstance(found, NextSpell):
        yield from spell_draft(found, usual)


def _published(own: Book, drafts: Sequence[Event], records: Sequence[Record]) -> tuple[Entry, ...]:
    """Publish, and write down what that changed, together with the records."""
    before = tuple(entry_of(text) for text in own.keeper.entries(own.site.name))
    after = publish(before, drafts, own.now)
    new, left = changed(before, after)
    if new or left or records:
        own.keeper.publish(own.site.name, records, {one.event.uid: entry_text(one) for one in new}, left)
    return after


def as_it_was(own: Book) -> tuple[Entry, ...]:
    """What was published last; for when there is no weather to be had."""
    return in_order(entry_of(text) for text in own.keeper.entries(own.site.name))
