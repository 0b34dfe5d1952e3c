"""A plan that somebody took on, as the journal keeps it: what replanning compares the newest weather with."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from scheduler.planning.answers import Verdict


@dataclass(frozen=True, slots=True)
class Adopted:
    """One batch's night and times; instants zone-aware and in UTC."""

    night: date
    light: datetime
    lift: datetime
    steps: Mapping[str, datetime]
    """When each step of the process is to be done, by its name, lighting and lift among them."""
    verdict: Verdict
    """As it is shown: hysteresis keeps it from flickering."""
    chance: float | None
    peak_c: float | None
    peak_at: datetime | None
    """Warmest air of the window by the forecast that the plan rests on."""
    issued_at: datetime
    """When that forecast was made."""
    adopted_at: datetime
    """When this night was taken on, or last moved to."""
    committed: bool = False
    """Somebody said that it stands, though nothing is done yet."""
    moved_at: datetime | None = None
    """When it last moved without having to."""


@dataclass(frozen=True, slots=True)
class Look:
    """What an earlier replan saw and did not act on: another night was better by so much."""

    issued_at: datetime
    """Of the forecast that said so."""
    night: date
    gain: float


@dataclass(frozen=True, slots=True)
class Past:
    """What replanning is told of the time before."""

    adopted: Adopted
    looks: tuple[Look, ...] = field(default=())
    """Since the night was taken on, in order."""
