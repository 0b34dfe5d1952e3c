"""What the adapters of weather services share: a field and its unit, and the words that go with an answer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from providers.errors import BadPayload
from providers.payload import kind, number, one_line
from providers.table_columns import AIR, BOUNDS, Bounds

if TYPE_CHECKING:
    from datetime import datetime

    import pandas as pd

    from providers.polite_http import Answer


@dataclass(frozen=True, slots=True)
class Field:
    """One of a service's quantities, and what it becomes here."""

    column: str
    """Our name."""
    unit: str
    """The label that the service must give it."""
    per_ours: float = 1.0
    """How many of their unit make one of ours."""

    @property
    def bounds(self) -> Bounds:
        """What its values may be, in our unit."""
        return BOUNDS.get(self.column, AIR)

    def value(self, given: object, where: str, source: str) -> float:
        """A value in our unit, NaN for null; BadPayload, which says where, for what is no possible number."""
        if given is None:
            return math.nan
        bounds = self.bounds
        ours = number(given, where, source, bounds.least * self.per_ours, bounds.most * self.per_ours) / self.per_ours
        return ours if bounds.clip is None else min(max(ours, bounds.clip[0]), bounds.clip[1])


def wrong_unit(name: str, given: object, wanted: str, source: str) -> BadPayload:
    """The error for a quantity in another unit than the service documents."""
    shown = "no unit" if given is None else repr(one_line(str(given), 40))
    return BadPayload(f"{source}: {name} comes in {shown}, not in {wanted!r}")


def object_of(value: object, where: str, source: str) -> dict[str, object]:
    """A value that must be an object; BadPayload otherwise."""
    if not isinstance(value, dict):
        raise BadPayload(f"{source}: {where} is {kind(value)}, not an object")
    return value


def without_empty_tail(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame up to the last hour of which something is known."""
    known = frame.notna().any(axis=1)
    return frame.loc[: known[known].index.max()] if known.any() else frame.iloc[:0]


def answer_notes(answer: Answer, what: str = "the forecast") -> tuple[str, ...]:
    """What a person should know of the way an answer came here, in sentences."""
    if answer.stale_because is None:
        return answer.notes
    return (f"{answer.stale_because}; {what} shown is of {minute(answer.fetched_at)}", *answer.notes)


def minute(instant: datetime) -> str:
    """An instant in UTC, for a sentence."""
    return f"{instant:%Y-%m-%d %H:%M} UTC"
