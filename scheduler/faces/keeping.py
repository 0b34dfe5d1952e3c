"""One site brought up to date: its plans held against the newest weather, its calendar published, all in one write.

The served feed, the page and `smokenight calendar` all come from here, so that the same state gives the same bytes.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler import service
from scheduler.errors import Overtaken
from scheduler.faces.adopted_plan import MOVES, adopted_plan
from scheduler.faces.calendar_events import News
from scheduler.faces.called_off import called_off
from scheduler.faces.feed import Entry, changed, in_order, publish
from scheduler.faces.feed_cancelled import INSTEAD, cancel_reasons
from scheduler.faces.feed_drafts import (
    held_at,
    is_lit,
    news_of,
    next_drafts,
    night_drafts,
    nothing_draft,
    plan_drafts,
    settled,
    spell_draft,
)
from scheduler.faces.feed_text import entry_of, entry_text
from scheduler.faces.feed_ways import best_by, ways_draft
from scheduler.faces.journal_question import question_of
from scheduler.faces.next_report import headline
from scheduler.faces.plan_records import logged_record, records_of
from scheduler.faces.replan_words import headline as replan_headline
from scheduler.faces.replan_words import overdue_words, told, why_moved
from scheduler.faces.replanning import ask_all
from scheduler.faces.ways_out_words import TITLES, way_sentences
from scheduler.faces.wording import sentence, when
from scheduler.journal.fold import fold
from scheduler.journal.record import Kind
from scheduler.planning.next_spell import NextSpell
from scheduler.planning.progress import DRY
from scheduler.planning.replanned import Change, State
from scheduler.planning.room import Guest, full_nights

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from scheduler.faces.book import Book
    from scheduler.faces.calendar_event import Event
    from scheduler.faces.journal_question import Weather
    from scheduler.faces.replanning import Asked
    from scheduler.journal.record import Record, Seen
    from scheduler.journal.state import BatchState, SiteState
    from scheduler.planning.answers import Plan, Span
    from scheduler.planning.replanned import Replanned
    from scheduler.planning.way_values import WayOut
    from scheduler.service import Answer, Question

NO_LONGER = "By the newest forecast this plan no longer holds: `smokenight replan` moves it, and says why."

MOST_TIMES = 3
"""How often it is thought over because somebody else wrote meanwhile."""


@dataclass(frozen=True, slots=True)
class Told:
    """One batch as the faces show it, or the next one where none is open."""

    answer: Answer
    news: tuple[str, ...] = ()
    """What moved and why, what is proposed and asked about, in sentences."""
    ways: tuple[WayOut, ...] = ()
    """What can be done with food that has begun and has no night left."""
    against: str = ""
    """What stands against doing the answer's plan, in a sentence."""
    off: str = ""
    """Before the names of steps that are not to be done (see `called_off`)."""
    unanswered: bool = False
    """Whether the plan stands or falls with a step that nobody recorded."""

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        return self.against or headline(self.answer)


@dataclass(frozen=True, slots=True)
class Kept:
    """A site at one moment."""

    told: tuple[Told, ...]
    """At least one; what has a plan first, in the order in which the batches were opened."""
    entries: tuple[Entry, ...]
    """What its calendar holds."""
    last: int
    """Number of the last record that all this rests on."""
    is_behind: bool
    """Whether a plan rests on newer weather than this: that is to be had somewhere."""


def keep(own: Book, usual: Question, weather: Weather, busy: tuple[Span, ...] = (), *, moving: bool) -> Kept:
    """Bring the site up to date and write it down, in one transaction.

    usual: the question of a batch that nobody has opened.  moving: whether plans move that have to, or may; else
    they are shown as they were adopted.  Where somebody else writes at the same time, it is thought over again;
    raises Overtaken where that happens time after time.
    """
    for _ in range(MOST_TIMES - 1):
        with suppress(Overtaken):
            return _kept(own, usual, weather, busy, moving=moving)
    return _kept(own, usual, weather, busy, moving=moving)


def _kept(own: Book, usual: Question, weather: Weather, busy: tuple[Span, ...], *, moving: bool) -> Kept:
    seen = own.keeper.seen(own.site.name)
    held = own.records
    state = fold(held)
    questions = {one.identity: question_of(own, state, one, weather, busy) for one in state.open}
    planned = [one for one in state.open if one.plan is not None]
    asked = ask_all([(one, questions[one.identity]) for one in planned], ()) if planned else ()
    records = tuple(record for one in asked for record in records_of(own, one, take=False)) if moving else ()
    after = fold((*held, *records)) if records else state
    logged = tuple(logged_record(own, state, asked[0].question, asked[0].found.nights)) if moving and asked else ()
    guests = _guests(asked, moving=moving)
    waiting = [_waiting(questions[one.identity], guests) for one in state.open if one.plan is None]
    alone = [] if state.open else [Told(service.plan(usual))]
    shown = (*(_told(one, after, moving=moving) for one in asked), *waiting, *alone)
    before = tuple(entry_of(text) for text in seen.entries)
    further = _further_drafts(shown, asked, usual, {one.event.uid: one.event for one in before})
    drafts = (*_planned_drafts(asked, after, moving=moving), *further) or (nothing_draft(usual),)
    entries = publish(before, drafts, own.now, cancel_reasons(asked, after))
    last = _write_down(own, before, entries, (*records, *logged), seen)
    return Kept(shown, entries, last, any(one.is_behind for one in asked))


def _batch(state: SiteState, identity: str) -> BatchState:
    return next(one for one in state.batches if one.identity == identity)


def _told(asked: Asked, after: SiteState, *, moving: bool) -> Told:
    """One batch with a plan."""
    found, question = asked.found, asked.question
    plan = _plan_of(asked, moving=moving)
    if plan is None:
        answer = service.plan(question, asked.taken)
    else:
        answer = service.answer_with(question, held_at(plan, _due(asked)), found.nights)
    if plan is not None and answer.under_way is None:
        answer = replace(answer, question=replace(question, adopted=found.adopted))
    news = (*_news(asked, _batch(after, asked.batch.identity)), *_ways_news(asked.ways, question))
    overdue = (overdue_words(one, question, named=True) for one in found.overdue)
    against = sentence(told(found, question)) if _is_headline(found) else _stuck(asked.ways, question)
    told_once = tuple(dict.fromkeys((*news, *overdue)))
    return Told(answer, told_once, asked.ways, against, called_off(found), found.is_unanswered)


def _is_headline(found: Replanned) -> bool:
    """Whether what was found stands before everything else: not to light or begin, or whether the tray is lit."""
    return found.change is Change.NO_GO or found.is_unanswered


def _stuck(ways: Sequence[WayOut], question: Question) -> str:
    """What a batch without a night comes to: the best way out, and by when."""
    if not ways:
        return ""
    return sentence(f"no night is left: {TITLES[ways[0].kind]}, by {when(best_by(ways), question.site.zone)}")


def _guests(asked: Sequence[Asked], *, moving: bool) -> list[Guest]:
    """Who has the chamber, and when."""
    plans = [(one, _plan_of(one, moving=moving)) for one in asked]
    return [
        Guest(one.batch.identity, plan.night.date, one.question.batch.weight_g)
        for one, plan in plans
        if plan is not None
    ]


def _waiting(question: Question, guests: Sequence[Guest]) -> Told:
    """One batch that nobody has taken a night on for, or whose plan was dropped."""
    taken = full_nights(question.batch.weight_g, guests, question.site.chamber.holds_g)
    answer = service.plan(question, taken)
    ways = () if answer.choice.plan is not None else service.ways_left(question, taken)
    return Told(answer, tuple(_ways_news(ways, question)), ways, _stuck(ways, question))


def _plan_of(asked: Asked, *, moving: bool) -> Plan | None:
    """The plan that stands once everything is written down; None for a lost one."""
    found = asked.found
    return adopted_plan(asked) if found.is_unanswered or (not moving and found.change in MOVES) else found.plan


def _notice(asked: Asked, *, moving: bool) -> str:
    """What stands against following the plan as it is."""
    found = asked.found
    if _is_headline(found):
        return sentence(f"{told(found, asked.question)}{INSTEAD if asked.ways else ''}")
    return NO_LONGER if not moving and found.change in MOVES else ""


def _news(asked: Asked, batch: BatchState) -> Iterator[str]:
    """The last move and why, then what is proposed."""
    found, question = asked.found, asked.question
    if batch.plan is not None and batch.plan.kind is Kind.PLAN_MOVED:
        body, zone = batch.plan.body, question.site.zone
        was, light = (when(datetime.fromisoformat(body[key]), zone) for key in ("from_light", "light"))
        lighting = f"; the lighting from {was} to {light}" if was != light else ""
        yield sentence(f"the plan moved {when(batch.plan.at, zone)}{lighting}")
        yield from body["why"]
    if found.change in (Change.PROPOSED, Change.LIFT_EARLY, Change.LOST) and not _is_headline(found):
        yield sentence(replan_headline(found, question))
    if found.change in (Change.PROPOSED, Change.NO_GO, Change.LIFT_EARLY, Change.LOST):
        yield from why_moved(found, question)


def _ways_news(ways: Sequence[WayOut], question: Question) -> Iterator[str]:
    for number, way in enumerate(ways, 1):
        yield " ".join((f"Way out {number}: {TITLES[way.kind]}.", *way_sentences(way, question.site)))


def _planned_drafts(asked: Sequence[Asked], after: SiteState, *, moving: bool) -> Iterator[Event]:
    """Adopted plans, a lost one left out: what it had put into the calendar is cancelled."""
    for one in asked:
        plan = _plan_of(one, moving=moving)
        if plan is not None:
            batch = _batch(after, one.batch.identity)
            news = news_of(batch, _notice(one, moving=moving), called_off(one.found))
            yield from plan_drafts(held_at(plan, _due(one)), one.question, news)


def _due(asked: Asked) -> dict[str, datetime]:
    """Steps that stay where they were: those that nobody recorded, and all others while the plan stands.

    What waits for an overdue step would run with the clock; once that is recorded, the plan moves, and says so.  What
    follows a lift counts from the lift itself.
    """
    found, done = asked.found, dict(asked.question.batch.done)
    due = {each.planned.step.name: each.was_due for each in found.overdue}
    if found.change in MOVES or found.state is State.LIFTED:
        return due
    return {**{name: at for name, at in found.adopted.steps.items() if name not in done}, **due}


def _further_drafts(
    told: Sequence[Told], asked: Sequence[Asked], usual: Question, before: Mapping[str, Event]
) -> Iterator[Event]:
    """Ways out, and what nobody has adopted: the next plan, other good nights, the next spell that dries sawdust."""
    for one in told:
        yield from ways_draft(one.answer.question, one.ways, unanswered=one.unanswered)
    for one in told[len(asked) :]:
        plan = one.answer.choice.plan
        if plan is not None and is_lit(plan):
            yield from plan_drafts(plan, one.answer.question, News())
        elif plan is not None:
            yield from settled(tuple(next_drafts(plan, one.answer.question)), before)
    first = told[0].answer
    taken = {one.answer.choice.plan.night.date for one in told if one.answer.choice.plan is not None}
    yield from night_drafts(first.nights, first.question, taken)
    yield from _spell(usual)


def _spell(usual: Question) -> Iterator[Event]:
    """Where sawdust has to dry at all, and none is at hand."""
    chain = service.chain_of(usual)
    if chain.drying_step is None or chain.sawdust_state(chain.fill_g(usual.site.duration_h)) == DRY:
        return
    found = service.dry(usual).next
    if isinstance(found, NextSpell):
        yield from spell_draft(found, usual)


def _write_down(
    own: Book, before: Sequence[Entry], after: Sequence[Entry], records: Sequence[Record], seen: Seen
) -> int:
    """What publishing changed, together with the records; the number of the site's last record from now on."""
    new, left = changed(before, after)
    if not (new or left or records):
        return seen.last
    return own.keeper.publish(own.site.name, records, {one.event.uid: entry_text(one) for one in new}, left, seen)


def as_it_was(own: Book) -> tuple[Entry, ...]:
    """What was published last; for when there is no weather to be had."""
    return in_order(entry_of(text) for text in own.keeper.entries(own.site.name))
