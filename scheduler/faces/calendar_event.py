"""One entry of a calendar as plain values, whatever it is about, and the identity that it keeps."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal
from uuid import UUID, uuid5

NAMESPACE = UUID("3563173b-86da-46ee-85ba-d1dfcf68cc94")
"""Drawn once for this project; every UID is made in it, so it never changes."""

SHORTEST = timedelta(minutes=5)
"""An event ends after its start (RFC 5545, 3.8.2.2), and a person needs something to see."""

TOPIC = "cold-smoking"
"""Category of every entry."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """A reminder, tied to the start of its event."""

    uid: str
    before: timedelta
    """How long before the start; zero is at it."""
    text: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that a description rests on, and how far it may be off before saying it anew is news."""

    name: str
    value: float | None
    """None for what is not known."""
    slack: float

    def near(self, value: float | None) -> bool:
        """Whether that value says the same."""
        if self.value is None or value is None:
            return self.value is value
        return abs(self.value - value) <= self.slack


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a calendar; instants in UTC and whole seconds, text without control characters."""

    uid: str
    start: datetime
    end: datetime
    """After the start."""
    summary: str
    description: str
    status: Literal["TENTATIVE", "CONFIRMED", "CANCELLED"]
    transparent: bool
    """Whether the time counts as free."""
    categories: tuple[str, ...]
    stamp: datetime
    """When it last changed."""
    alarms: tuple[Alarm, ...] = ()
    related_to: str | None = None
    """UID of the smoke that it belongs to."""
    sequence: int = 0
    """How often it has been revised."""
    created: datetime | None = None
    """When it was first published; None where nobody keeps a record of that."""
    core: str = ""
    """The part of its description whose words are news: without leeway, which shrinks by the minute, and credit."""
    gist: tuple[Figure, ...] = ()
    """The figures that its description rests on."""
    fleeting: bool = False
    """Whether it may leave a calendar without being cancelled."""


def whole_second(moment: datetime) -> datetime:
    """In UTC, without the fraction that iCalendar cannot write."""
    return moment.astimezone(UTC).replace(microsecond=0)


def uid_of(*names: str) -> str:
    """The same for the same names; as JSON, no two lists of names read alike, and any name can be encoded."""
    return str(uuid5(NAMESPACE, json.dumps(names)))
