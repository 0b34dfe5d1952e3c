"""What a site's calendar should hold now: adopted plans step by step, else the next one; good nights; drying spells."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from scheduler.faces.calendar_event import SHORTEST, TOPIC, Event, Figure, uid_of, whole_second
from scheduler.faces.calendar_events import AIR_SLACK_C, CHANCE_SLACK, PROMISE, News, events_of
from scheduler.faces.calendar_words import loose, paragraphs
from scheduler.faces.cautions import caution_sentence
from scheduler.faces.feed import near
from scheduler.faces.wording import day_words, sentence, when
from scheduler.household.process import ANCHOR
from scheduler.journal.record import Kind
from scheduler.planning.answers import Verdict
from scheduler.planning.clock import HOUR_S, instant, on_clock
from scheduler.science.drying import OUT_FROM_H, OUT_UNTIL_H

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from scheduler.household.site import Site
    from scheduler.journal.state import BatchState
    from scheduler.planning.answers import Night, Plan, PlannedStep
    from scheduler.planning.next_spell import NextSpell
    from scheduler.service import Question

DRIFT = timedelta(hours=6)
"""How far the steps of a plan that nobody adopted may be off before it is told anew: as often as forecasts come."""

BEST_SLACK_H = 2.0
"""How far the best lighting of a night that nobody took on may drift before its entry says it anew (our judgement)."""

NIGHT_LENGTH = timedelta(minutes=30)
"""Of a good night's entry: over the whole evening a week of them would hide the plan (our judgement)."""

PLANS = (Kind.PLAN_ADOPTED, Kind.PLAN_MOVED)


def plan_drafts(plan: Plan, question: Question, news: News) -> tuple[Event, ...]:
    """An adopted plan step by step."""
    return _events(plan, question, adopted=True, news=news)


def is_lit(plan: Plan) -> bool:
    """Whether its tray burns, or did: that is as good as a night taken on."""
    return any(one.step.name == ANCHOR and one.done for one in plan.steps)


def next_drafts(plan: Plan, question: Question) -> Iterator[Event]:
    """A plan that nobody has adopted: tentative, free time, without reminders, and gone without a trace.

    What of it was done did happen, and stays.
    """
    for event in _events(plan, question, adopted=False, news=News()):
        happened = event.status == "CONFIRMED"
        yield event if happened else replace(event, transparent=True, alarms=(), fleeting=True)


def _events(plan: Plan, question: Question, *, adopted: bool, news: News) -> tuple[Event, ...]:
    return events_of(
        plan,
        site=question.site,
        stamp=question.now,
        credit=question.forecast.credit,
        caution_text=caution_sentence,
        adopted=adopted,
        news=news,
    )


def settled(drafts: Sequence[Event], before: Mapping[str, Event]) -> Sequence[Event]:
    """The plan that nobody adopted as it was published, all of it or nothing, until it is another one.

    Its first steps could begin now, so they would run with the clock, and the others behind them.
    """
    old = [before.get(draft.uid) for draft in drafts]
    kept = [one for one in old if one is not None]
    return kept if len(kept) == len(drafts) and all(map(_as_told, kept, drafts)) else drafts


def _as_told(old: Event, draft: Event) -> bool:
    drift = max(abs(old.start - draft.start), abs(old.end - draft.end))
    same = (old.fleeting, old.summary, old.status) == (draft.fleeting, draft.summary, draft.status)
    return same and drift <= DRIFT and loose(old.core) == loose(draft.core) and near(old, draft)


def news_of(batch: BatchState, notice: str = "", off: str = "") -> News:
    """How the batch's plan moved last, by its records alone, so that the words stay until it moves again."""
    plans = [record for record in batch.records if record.kind in PLANS]
    if len(plans) < 2 or plans[-1].kind is not Kind.PLAN_MOVED or batch.plan is not plans[-1]:
        return News(notice=notice, off=off)
    was = {name: datetime.fromisoformat(at) for name, at in plans[-2].body["steps"].items()}
    return News(was, tuple(plans[-1].body["why"]), plans[-1].at, notice, off)


def night_drafts(nights: Iterable[Night], question: Question, taken: Collection[date]) -> Iterator[Event]:
    """The coming good nights that no plan has, from when on a tray may be lit: that does not shift with the weather."""
    site = question.site
    for night in nights:
        if night.verdict is not Verdict.GOOD or night.date in taken or night.light_best is None or night.lift is None:
            continue
        start, _ = _lighting_hours(night.date, site)
        best = f"Best lit {when(night.light_best, site.zone)}, lifted from {when(night.lift, site.zone)}."
        why = " ".join(sentence(reason) for reason in night.reasons)
        core = paragraphs([best, why], [PROMISE])
        yield Event(
            uid=uid_of(site.name, "night", night.date.isoformat()),
            start=start,
            end=start + NIGHT_LENGTH,
            summary="Good night for a cold smoke",
            description=paragraphs([core], [question.forecast.credit.text]),
            status="TENTATIVE",
            transparent=True,
            categories=(TOPIC, "night"),
            stamp=whole_second(question.now),
            core=loose(core),
            gist=(
                Figure("chance", night.chance, CHANCE_SLACK),
                Figure("peak_c", night.peak_c, AIR_SLACK_C),
                Figure("best_h", night.light_best.timestamp() / HOUR_S, BEST_SLACK_H),
            ),
            fleeting=True,
        )


def _lighting_hours(night: date, site: Site) -> tuple[datetime, datetime]:
    """The hours of the clock in which the site lights, on the evening of that night."""
    hours = site.lighting_hours
    over = 0 if hours.end_min > hours.start_min else 24 * 60
    start = instant(on_clock(night, hours.start_min, site.zone))
    return start, max(instant(on_clock(night, hours.end_min + over, site.zone)), start + SHORTEST)


def spell_draft(spell: NextSpell, question: Question) -> Iterator[Event]:
    """The next spell in which a tray's worth of sawdust dries, by whole days."""
    drying, zone = spell.drying, question.site.zone
    if not spell.dries or drying.dry is None:
        return
    first, last = (moment.astimezone(zone).date() for moment in (drying.spread, drying.dry))
    steps = ", ".join(f"{name} {when(at, zone)}" for name, at in spell.at)
    core = paragraphs([f"At the earliest: {steps}; usually dry on {day_words(last)}."], [PROMISE])
    yield Event(
        uid=uid_of(question.site.name, "drying"),
        start=instant(on_clock(first, int(OUT_FROM_H * 60), zone)),
        end=instant(on_clock(last, int(OUT_UNTIL_H * 60), zone)),
        summary="Weather that dries sawdust",
        description=core,
        status="TENTATIVE",
        transparent=True,
        categories=(TOPIC, "sawdust"),
        stamp=whole_second(question.now),
        core="drying",  # its days are news, not the minute from which it could begin
        fleeting=True,
    )


def nothing_draft(question: Question) -> Event:
    """Where there is nothing else to say: a calendar has to hold something (RFC 5545, 3.6)."""
    site = question.site
    last = question.forecast.hourly.index[-1].to_pydatetime().astimezone(site.zone).date()
    start, end = _lighting_hours(last, site)
    words = f"Until here no night of the forecast is good. It is looked at again every few hours.\n\n{PROMISE}"
    return Event(
        uid=uid_of(site.name, "nothing"),
        start=start,
        end=end,
        summary="No good night for a cold smoke yet",
        description=words,
        status="TENTATIVE",
        transparent=True,
        categories=(TOPIC, "night"),
        stamp=whole_second(question.now),
        fleeting=True,
    )


def held_at(plan: Plan, due: Mapping[str, datetime]) -> Plan:
    """Steps that were due and that nobody recorded stay where they were, else they would run with the clock."""
    return replace(plan, steps=tuple(_held(one, due.get(one.step.name, one.at)) for one in plan.steps))


def _held(planned: PlannedStep, at: datetime | None) -> PlannedStep:
    """At that time, with the leeway that is left around it, if any."""
    inside = at is not None and any(first <= at <= last for first, last in planned.spans)
    return replace(planned, at=at, spans=planned.spans if inside else ())
