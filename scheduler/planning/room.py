"""Room in the chamber: on which nights a batch finds none beside those that have it already."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.planning.answers import Verdict
from scheduler.planning.sharing import fit

if TYPE_CHECKING:
    from collections.abc import Sequence, Set
    from datetime import date

    from scheduler.planning.answers import Night
    from scheduler.planning.sharing import Shared

TAKEN = "another batch has the chamber that night"


@dataclass(frozen=True, slots=True)
class Guest:
    """A batch that has the chamber on a night."""

    name: str
    """Told apart from the others by it."""
    night: date
    weight_g: float | None
    """None where nobody weighed."""


def full_nights(weight_g: float | None, guests: Sequence[Guest], holds_g: float | None) -> frozenset[date]:
    """Nights on which a batch of this weight has no room beside the guests."""
    nights = {guest.night for guest in guests}
    beside = {night: [guest.weight_g for guest in guests if guest.night == night] for night in nights}
    return frozenset(night for night in nights if not fit((weight_g, *beside[night]), holds_g))


def without_taken(nights: Sequence[Night], taken: Set[date]) -> tuple[Night, ...]:
    """The nights, those that the chamber is taken on no good, and why."""
    return tuple(
        replace(night, verdict=Verdict.NO, reasons=(TAKEN,))
        if night.date in taken and night.verdict.is_offered
        else night
        for night in nights
    )


def kept_nights(shared: Shared, name: str, waiting: Set[str]) -> frozenset[date]:
    """Nights that are shared out to others whose turn is still to come, and not to this one as well."""
    return frozenset(
        one.night for one in shared.lightings if name not in one.batches and not waiting.isdisjoint(one.batches)
    )
