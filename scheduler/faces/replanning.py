"""Every open batch with an adopted plan, asked again, with what the journal knows of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.faces.adopted_plan import adopted_plan
from scheduler.faces.from_journal import past_of
from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from scheduler.journal.state import BatchState
    from scheduler.planning.adopted import Past
    from scheduler.planning.replanned import Replanned
    from scheduler.planning.way_values import WayOut
    from scheduler.service import Question


@dataclass(frozen=True, slots=True)
class Asked:
    """One batch, and what became of its plan."""

    batch: BatchState
    question: Question
    found: Replanned
    ways: tuple[WayOut, ...] = ()
    taken: frozenset[date] = frozenset()
    """Nights on which the chamber is another batch's."""

    @property
    def is_behind(self) -> bool:
        """Whether the plan rests on newer weather than it was asked with: somebody else was given that."""
        return self.question.forecast.issued_at < self.found.adopted.issued_at


def ask_all(batches: Sequence[tuple[BatchState, Question]], others: Sequence[BatchState]) -> tuple[Asked, ...]:
    """Each batch's plan by the newest weather; others: open batches with a plan that are not asked about."""
    from scheduler import service
    from scheduler.planning.room import Guest

    following = [
        # By its number, so that of equals the one that was opened first comes first.
        service.Following(f"{number:06} {batch.identity}", question, _past(batch))
        for number, (batch, question) in enumerate(batches)
    ]
    guests = [Guest(one.identity, _past(one).adopted.night, one.opened.body["weight_g"]) for one in others]
    found = service.replan_all(following, guests)
    return tuple(
        _by_newer(Asked(batch, question, one.found, one.ways, one.taken))
        for (batch, question), one in zip(batches, found, strict=True)
    )


def _by_newer(asked: Asked) -> Asked:
    """By weather that is older than what the plan rests on, nothing of it moves or is dropped."""
    found = asked.found
    if not asked.is_behind or found.change is Change.UNCHANGED:
        return asked
    stands = replace(
        found, change=Change.UNCHANGED, plan=adopted_plan(asked), verdict=found.adopted.verdict, cause=None, must=False,
        proposed=None, gain=None, wait=False, look=None, moved=(), lift_by=None,
    )  # fmt: skip
    return replace(asked, found=stands, ways=())


def _past(batch: BatchState) -> Past:
    past = past_of(batch)
    if past is None:
        raise ValueError("a batch that is asked again has a plan")
    return past
