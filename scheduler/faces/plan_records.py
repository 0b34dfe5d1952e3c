"""What adopting, moving and looking write into the journal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from scheduler.faces.book import whole
from scheduler.faces.replan_words import headline, why_moved
from scheduler.journal.record import Kind
from scheduler.planning.adopted import carried_on, taken_on
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from scheduler.faces.book import Book
    from scheduler.faces.replanning import Asked
    from scheduler.journal.record import Record
    from scheduler.journal.state import SiteState
    from scheduler.planning.adopted import Adopted
    from scheduler.planning.answers import Night, Plan
    from scheduler.planning.replanned import Replanned
    from scheduler.service import Question

Body = dict[str, Any]


def records_of(book: Book, asked: Asked, *, take: bool) -> Iterator[Record]:
    """What replanning writes down of one batch; take: whether what is proposed is taken."""
    found, identity, why = asked.found, asked.batch.identity, why_moved(asked.found, asked.question)
    if take and found.proposed is not None:
        yield taken_record(book, identity, found, asked.question, why)
    elif take and found.is_stuck:
        yield dropped_record(book, identity, (headline(found, asked.question), *why))
        return
    elif found.change in (Change.MOVED, Change.LIFT_EARLY):
        yield moved_record(book, identity, found, asked.question, why)
    yield from looked_record(book, identity, found)
    yield from go_record(book, asked)


def go_record(book: Book, asked: Asked) -> Iterator[Record]:
    """What is told of a lighting, where that is another thing than was told before."""
    found, before = asked.found, asked.batch.no_go
    no_go = found.change is Change.NO_GO and not found.wait
    stands = found.change in (Change.UNCHANGED, Change.PROPOSED) and found.plan is not None
    if (no_go and not before) or (stands and before):
        issued_at, chance = asked.question.forecast.issued_at, None if found.is_now is None else found.is_now.chance
        yield book.record(Kind.GO_TOLD, asked.batch.identity, go=not no_go, issued_at=_time(issued_at), chance=chance)


def adopted_record(book: Book, identity: str, plan: Plan, question: Question, *, committed: bool) -> Record:
    """A night that was taken on."""
    adopted = taken_on(plan, question.forecast.issued_at, book.now, committed=committed)
    return book.record(Kind.PLAN_ADOPTED, identity, **_plan_body(adopted, question))


def moved_record(book: Book, identity: str, found: Replanned, question: Question, why: Sequence[str]) -> Record:
    """A plan that moved."""
    adopted = carried_on(found, question.forecast.issued_at, book.now)
    return book.record(Kind.PLAN_MOVED, identity, **_moved_body(adopted, found, question, why))


def taken_record(book: Book, identity: str, found: Replanned, question: Question, why: Sequence[str]) -> Record:
    """A plan that somebody moved to the night that was proposed."""
    if found.proposed is None:
        raise ValueError("only what is proposed can be taken")
    adopted = taken_on(found.proposed, question.forecast.issued_at, book.now, committed=found.adopted.committed)
    adopted = replace(adopted, moved_at=book.now)
    return book.record(Kind.PLAN_MOVED, identity, **_moved_body(adopted, found, question, why))


def dropped_record(book: Book, identity: str, why: Sequence[str]) -> Record:
    """A plan that nobody follows any more."""
    return book.record(Kind.PLAN_DROPPED, identity, why=list(why))


def _moved_body(adopted: Adopted, found: Replanned, question: Question, why: Sequence[str]) -> Body:
    return {
        **_plan_body(adopted, question),
        "from_night": found.adopted.night.isoformat(),
        "from_light": _time(found.adopted.light),
        "must": found.must,
        "cause": None if found.cause is None else str(found.cause),
        "why": list(why),
    }


def _plan_body(adopted: Adopted, question: Question) -> Body:
    return {
        "night": adopted.night.isoformat(),
        "light": _time(adopted.light),
        "lift": _time(adopted.lift),
        "steps": {name: _time(at) for name, at in adopted.steps.items()},
        "verdict": str(adopted.verdict),
        "chance": adopted.chance,
        "peak_c": adopted.peak_c,
        "peak_at": None if adopted.peak_at is None else _time(adopted.peak_at),
        "issued_at": _time(adopted.issued_at),
        "source": question.forecast.source,
        "committed": adopted.committed,
        "moved_at": None if adopted.moved_at is None else _time(adopted.moved_at),
    }


def looked_record(book: Book, identity: str, found: Replanned) -> Iterator[Record]:
    """Another night that was better, and not by enough yet."""
    look = found.look
    if look is not None:
        body: Body = {"issued_at": _time(look.issued_at), "night": look.night.isoformat(), "gain": look.gain}
        yield book.record(Kind.PLAN_LOOKED, identity, **body)


def logged_record(book: Book, state: SiteState, question: Question, nights: Sequence[Night]) -> Iterator[Record]:
    """What the forecast said of each night, to be held against what comes; the same forecast only once."""
    source, issued_at = question.forecast.source, _time(question.forecast.issued_at)
    for earlier in state.forecasts:
        if (earlier.body["source"], earlier.body["issued_at"]) == (source, issued_at):
            return
    told = [_night_body(night, question.bias_c) for night in nights if night.peak_c is not None]
    if told:
        yield book.record(Kind.FORECAST_LOGGED, None, source=source, issued_at=issued_at, nights=told)


def _night_body(night: Night, bias_c: float) -> Body:
    """One night's window: the air as the forecast had it, and the chance as it was shown."""
    light, lift = night.looked_at or (None, None)
    return {
        "night": night.date.isoformat(),
        "light": None if light is None else _time(light),
        "lift": None if lift is None else _time(lift),
        "peak_c": None if night.peak_c is None else night.peak_c + bias_c,
        "chance": night.chance,
    }


def _time(moment: datetime) -> str:
    return whole(moment).isoformat()
