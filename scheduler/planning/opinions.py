"""What a second forecast says of the same nights."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.planning.reasons import percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.planning.answers import Night

APART = 0.25
"""Chances further apart than this are shown side by side, not averaged away (our judgement)."""


def with_opinion(nights: Sequence[Night], theirs: Sequence[Night], own: str, other: str) -> tuple[Night, ...]:
    """The nights, each with a reason more where the other source's chance of it is far from its own."""
    chances = {night.date: night.chance for night in theirs}
    return tuple(_with(night, chances.get(night.date), own, other) for night in nights)


def _with(night: Night, their_chance: float | None, own: str, other: str) -> Night:
    if night.chance is None or their_chance is None or abs(night.chance - their_chance) <= APART:
        return night
    told = (
        f"{other} sees it otherwise: it gives this night a chance of {percent(their_chance)},"
        f" {own} one of {percent(night.chance)}"
    )
    return replace(night, reasons=(*night.reasons, told))
