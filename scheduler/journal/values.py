"""Values that a record may hold, each brought into one form.  All raise BadSetting: what was given, what would do."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, TypeVar

from scheduler.errors import BadSetting
from scheduler.household.quantity import ABSOLUTE_ZERO_C, shown
from scheduler.household.toml_file import a_line, a_number, is_line, within

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")

LONGEST_NOTE = 1000
"""Characters in a sentence somebody wrote."""
_TOO_EARLY, _TOO_LATE = 1970, 2199
"""Years; times there are a slip of the pen."""

_IDENTITY = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_SUCH_AS = "such as 2026-10-17T16:00:00+00:00"


def an_identity(given: object) -> str:
    """A random UUID (version 4), in lower case."""
    if not isinstance(given, str) or not _IDENTITY.fullmatch(given):
        raise BadSetting(f"{shown(given)} is not an identity: write a random UUID (version 4) in lower case")
    return given


def whole_second(moment: datetime) -> datetime:
    """A zone-aware moment on a whole second, in UTC."""
    instant = _in_utc(moment, shown(moment.isoformat()))
    if instant.microsecond:
        raise BadSetting(f"{shown(moment.isoformat())} is not on a whole second: leave out the fraction")
    return instant


def instant(given: object) -> datetime:
    """The moment that a text names, in UTC."""
    if not isinstance(given, str):
        raise BadSetting(f"{shown(given)} is not a time: write text {_SUCH_AS}")
    try:
        moment = datetime.fromisoformat(given)
    except ValueError:
        raise BadSetting(f"{shown(given)} is not a time: write it {_SUCH_AS}") from None
    return _in_utc(moment, shown(given))


def a_moment(given: object) -> str:
    """A time with its offset, as text in UTC."""
    return instant(given).isoformat()


def _in_utc(moment: datetime, said: str) -> datetime:
    if moment.utcoffset() is None:
        raise BadSetting(f"{said} has no offset from UTC: write it {_SUCH_AS}")
    if not _TOO_EARLY < moment.year < _TOO_LATE:
        raise BadSetting(f"{said} is not within the years {_TOO_EARLY + 1} to {_TOO_LATE - 1}")
    return moment.astimezone(UTC)


def a_day(given: object) -> str:
    """A date."""
    try:
        if isinstance(given, str) and _DAY.fullmatch(given):
            return date.fromisoformat(given).isoformat()
    except ValueError:
        pass
    raise BadSetting(f"{shown(given)} is not a date: write it such as 2026-10-17")


def a_sentence(given: object) -> str:
    """Text on one line, longer than a name may be."""
    if not isinstance(given, str):
        raise BadSetting(f"{shown(given)} is not text: write it in quotes")
    if not is_line(given) or len(given) > LONGEST_NOTE:
        raise BadSetting(f"{shown(given)} is not one line of text: write 1 to {LONGEST_NOTE} characters")
    return given


def list_of(parse: Callable[[object], object], most: int = 1000) -> Callable[[object], list[object]]:
    """A parser of a list; the entry that does not fit is named by its place."""

    def check(given: object) -> list[object]:
        if not isinstance(given, list):
            raise BadSetting(f"{shown(given)} is not a list")
        if len(given) > most:
            raise BadSetting(f"has {len(given)} entries: write at most {most}")
        return [_entry(parse, f"entry {place}", each) for place, each in enumerate(given, start=1)]

    return check


def moments_by_name(given: object) -> dict[str, object]:
    """Times, each under a name."""
    if not isinstance(given, dict):
        raise BadSetting(f"{shown(given)} is not an object of names and times")
    return {_entry(a_line, "a name", name): _entry(a_moment, shown(name), each) for name, each in given.items()}


def _entry(parse: Callable[[object], T], place: str, given: object) -> T:
    try:
        return parse(given)
    except BadSetting as exc:
        raise BadSetting(f"{place}: {exc}") from None


a_celsius = within(a_number, ABSOLUTE_ZERO_C, 1000.0, "is no temperature in °C: write one from -273.15 to 1000")
a_chance = within(a_number, 0.0, 1.0, "is no chance: write a number from 0 to 1")
a_gain = within(a_number, -10.0, 10.0, "is no difference of chances: write a number from -10 to 10")
a_weight = within(a_number, 1e-3, 1e6, "is no weight in g: write a number above 0, up to 1000000")
an_unburnt_weight = within(a_number, 0.0, 1e6, "is no weight in g: write a number from 0 to 1000000")
