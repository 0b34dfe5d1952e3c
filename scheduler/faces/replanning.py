"""Every open batch with an adopted plan, asked again: several share the chamber, the one nearest its limit first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.faces.from_journal import past_of
from scheduler.faces.replan_words import at_of
from scheduler.household.process import ANCHOR
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from scheduler.journal.state import BatchState
    from scheduler.planning.replanned import Replanned
    from scheduler.planning.sharing import Contender, Shared
    from scheduler.planning.way_values import WayOut
    from scheduler.service import Question


@dataclass(frozen=True, slots=True)
class Asked:
    """One batch, and what became of its plan."""

    batch: BatchState
    question: Question
    found: Replanned
    ways: tuple[WayOut, ...] = ()


def ask_all(batches: Sequence[tuple[BatchState, Question]], others: Sequence[BatchState]) -> tuple[Asked, ...]:
    """Each batch's plan by the newest weather; others: open batches with a plan that are not asked about."""
    contenders = _contenders(batches) if len(batches) > 1 else {}
    queue = sorted(batches, key=lambda pair: _limit(contenders, pair[0]))
    held: list[tuple[str, date, float | None]] = [
        (one.identity, _night(one), one.opened.body["weight_g"]) for one in (*others, *(pair[0] for pair in queue))
    ]
    shared = _shared(contenders, queue)
    found: list[Asked] = []
    settled = {one.identity for one in others}
    lit: dict[date, datetime] = {}
    for batch, question in queue:
        has = [one for one in held if shared is None or one[0] in settled]
        taken = _taken(batch, question, has) | _reserved(shared, batch, settled)
        asked = _ask(batch, question, taken, lit)
        found.append(asked)
        settled.add(batch.identity)
        held = [one for one in held if one[0] != batch.identity]
        if asked.found.plan is not None:
            held.append((batch.identity, asked.found.plan.night.date, question.batch.weight_g))
            lit.setdefault(asked.found.plan.night.date, at_of(asked.found.plan, ANCHOR))
    order = [batch.identity for batch, _ in batches]
    return tuple(sorted(found, key=lambda one: order.index(one.batch.identity)))


def _night(batch: BatchState) -> date:
    past = past_of(batch)
    if past is None:
        raise ValueError("a batch that is asked again has a plan")
    return past.adopted.night


def _ask(batch: BatchState, question: Question, taken: frozenset[date], lit: Mapping[date, datetime]) -> Asked:
    """One batch, with the ways out where it is lost or must not be lit.

    lit: when the tray is lit on nights that batches nearer their limit have; who shares a night shares its lighting.
    """
    from scheduler import service

    past = past_of(batch)
    if past is None:
        raise ValueError("a batch that is asked again has a plan")
    found = service.replan(question, past, taken)
    night = None if found.plan is None else found.plan.night.date
    if night is not None and night in lit and ANCHOR not in dict(question.batch.done):
        found = service.together(question, found, lit[night]) or service.replan(question, past, taken | {night})
    stuck = found.change in (Change.LOST, Change.NO_GO) and not found.wait
    return Asked(batch, question, found, service.ways_left(question) if stuck else ())


def _contenders(batches: Sequence[tuple[BatchState, Question]]) -> dict[str, Contender]:
    """Those whose tray is not lit yet, as they want the chamber."""
    from scheduler import service

    waiting = [pair for pair in batches if not any(one.step == ANCHOR for one in pair[0].done)]
    return {batch.identity: service.contender(question, batch.identity) for batch, question in waiting}


def _limit(contenders: dict[str, Contender], batch: BatchState) -> tuple[float, str]:
    """The nearest first; what is lit has the chamber already."""
    own = contenders.get(batch.identity)
    return (float("-inf") if own is None else own.limit), batch.name


def _shared(contenders: dict[str, Contender], queue: Sequence[tuple[BatchState, Question]]) -> Shared | None:
    """The nights shared out, where two batches want the same; None where nobody is in the way."""
    from scheduler.planning.sharing import share_nights

    holds_g = queue[0][1].site.chamber.holds_g
    nights = [_night(batch) for batch, _ in queue if batch.identity in contenders]
    if len(set(nights)) == len(nights) or (holds_g is not None and _fit(contenders, holds_g)):
        return None
    return share_nights(list(contenders.values()), holds_g)


def _reserved(shared: Shared | None, batch: BatchState, settled: set[str]) -> frozenset[date]:
    """Nights that are kept for batches whose turn is still to come."""
    lightings = () if shared is None else shared.lightings
    return frozenset(
        one.night for one in lightings if batch.identity not in one.batches and not settled.issuperset(one.batches)
    )


def _fit(contenders: dict[str, Contender], holds_g: float) -> bool:
    """Whether all of them go into the chamber together."""
    weights = [one.weight_g for one in contenders.values()]
    return all(weight is not None for weight in weights) and sum(weight or 0.0 for weight in weights) <= holds_g


def _taken(batch: BatchState, question: Question, held: Sequence[tuple[str, date, float | None]]) -> frozenset[date]:
    """Nights on which the chamber has no room beside the others that have it."""
    holds_g, own_g = question.site.chamber.holds_g, question.batch.weight_g
    taken = set()
    for night in {each for identity, each, _ in held if identity != batch.identity}:
        weights = [weight for identity, each, weight in held if each == night and identity != batch.identity]
        known = own_g is not None and all(weight is not None for weight in weights)
        room = holds_g is not None and known and sum(w or 0.0 for w in weights) + (own_g or 0.0) <= holds_g
        if not room:
            taken.add(night)
    return frozenset(taken)
