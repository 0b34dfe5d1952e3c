"""What the body of each kind of record holds.

Read when a record is added and when one is imported: what does not fit is refused whole, and what fits is brought into
one form (every key, in the order given here, null where it was left out; numbers as floats; times in UTC).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from scheduler.errors import BadSetting
from scheduler.household.quantity import shown
from scheduler.household.toml_file import a_flag, a_line, did_you_mean, one_of
from scheduler.journal.record import Kind
from scheduler.journal.values import (
    a_celsius,
    a_chance,
    a_day,
    a_gain,
    a_moment,
    a_sentence,
    a_weight,
    an_identity,
    an_unburnt_weight,
    list_of,
    moments_by_name,
)

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_READINGS = 100_000
"""In one record: ten weeks of a probe that writes every minute."""

ENDINGS = ("eaten", "cooked", "frozen", "thrown out", "given up", "finished")
"""How a batch ends."""

PLACES = ("porch", "chamber", "fridge", "freezer")
"""Where a thermometer hangs."""

VERDICTS = ("good", "borderline", "no", "unknown")


class Field(NamedTuple):
    """One key of a body."""

    name: str
    holds: str
    """Its type, and its unit where it has one."""
    parse: Callable[[object], object]
    """The value in its one form; raises BadSetting."""
    optional: bool = False
    """It may be null."""


@dataclass(frozen=True, slots=True)
class Shape:
    """What a record of one kind is about, and the keys of its body."""

    batch: Literal["its own", "one", "one or none", "none"]
    """Whether the record names a batch; the one that opens it is its identity."""
    fields: tuple[Field, ...]


def read_body(fields: tuple[Field, ...], given: object) -> dict[str, object]:
    """The body in its one form; raises BadSetting, with the key, for one that does not fit."""
    if not isinstance(given, Mapping):
        raise BadSetting(f"{shown(given)} is not an object of keys and values")
    names = tuple(field.name for field in fields)
    for key in given:
        if key not in names:
            known = did_you_mean(str(key), names) if names else "it has none"
            raise BadSetting(f"{shown(key)} is not a key of it; {known}")
    return {field.name: _value(field, given) for field in fields}


def _value(field: Field, body: Mapping[str, object]) -> object:
    given = body.get(field.name)
    if given is None:
        if field.optional:
            return None
        raise BadSetting(f"{field.name}: is {'null' if field.name in body else 'missing'}: write a {field.holds}")
    try:
        return field.parse(given)
    except BadSetting as exc:
        raise BadSetting(f"{field.name}: {exc}") from None


def _nights(given: object) -> object:
    return list_of(lambda entry: read_body(_LOGGED_NIGHT, entry))(given)


def _choice(name: str, words: tuple[str, ...]) -> Field:
    return Field(name, " / ".join(words), one_of(*words))


_LOGGED_NIGHT = (
    Field("night", "date", a_day),
    Field("light", "time", a_moment, optional=True),
    Field("lift", "time", a_moment, optional=True),
    Field("peak_c", "number, °C", a_celsius, optional=True),
    Field("chance", "number, 0 to 1", a_chance, optional=True),
)

_OPENED = (
    Field("name", "text", a_line),
    Field("food", "text", a_line),
    Field("process", "text", a_sentence, optional=True),
    Field("weight_g", "number, g", a_weight, optional=True),
    Field("largest_pack_g", "number, g", a_weight, optional=True),
    Field("state", "text", a_line),
    Field("frozen_since", "time", a_moment, optional=True),
    Field("freezer_c", "number, °C", a_celsius, optional=True),
    Field("freezer_measured", "true or false", a_flag),
    Field("farmed", "true or false", a_flag),
)

_PLAN = (
    Field("night", "date", a_day),
    Field("light", "time", a_moment),
    Field("lift", "time", a_moment),
    Field("steps", "times by step", moments_by_name),
    _choice("verdict", VERDICTS),
    Field("chance", "number, 0 to 1", a_chance, optional=True),
    Field("peak_c", "number, °C", a_celsius, optional=True),
    Field("peak_at", "time", a_moment, optional=True),
    Field("issued_at", "time", a_moment),
    Field("source", "text", a_line),
    Field("committed", "true or false", a_flag),
    Field("moved_at", "time", a_moment, optional=True),
)

_WHY = Field("why", "list of text", list_of(a_sentence))

_MOVED = (
    Field("from_night", "date", a_day),
    Field("from_light", "time", a_moment),
    Field("must", "true or false", a_flag),
    Field("cause", "text", a_line, optional=True),
    _WHY,
)

_DONE = (
    Field("step", "text", a_line),
    Field("weight_g", "number, g", a_weight, optional=True),
    Field("sawdust_g", "number, g", an_unburnt_weight, optional=True),
)

_READINGS = (
    _choice("where", PLACES),
    Field("name", "text", a_line),
    Field("times", "list of times", list_of(a_moment, MOST_READINGS)),
    Field("c", "list of numbers, °C", list_of(a_celsius, MOST_READINGS)),
)

_LOOKED = (Field("issued_at", "time", a_moment), Field("night", "date", a_day), Field("gain", "number", a_gain))

_GO = (
    Field("go", "true or false", a_flag),
    Field("issued_at", "time", a_moment),
    Field("chance", "number, 0 to 1", a_chance, optional=True),
)

_LOGGED = (
    Field("source", "text", a_line),
    Field("issued_at", "time", a_moment),
    Field("nights", "list of {night, light, lift, peak_c, chance}", _nights),
)

SHAPES: dict[Kind, Shape] = {
    Kind.BATCH_OPENED: Shape("its own", _OPENED),
    Kind.BATCH_ENDED: Shape("one", (_choice("how", ENDINGS), Field("words", "text", a_sentence, optional=True))),
    Kind.STEP_DONE: Shape("one", _DONE),
    Kind.RELIT: Shape("one", ()),
    Kind.NOTE: Shape("one or none", (Field("words", "text", a_sentence),)),
    Kind.READING: Shape("one or none", (_choice("where", PLACES), Field("c", "number, °C", a_celsius))),
    Kind.READINGS: Shape("one or none", _READINGS),
    Kind.PLAN_ADOPTED: Shape("one", _PLAN),
    Kind.PLAN_MOVED: Shape("one", (*_PLAN, *_MOVED)),
    Kind.PLAN_DROPPED: Shape("one", (_WHY,)),
    Kind.PLAN_LOOKED: Shape("one", _LOOKED),
    Kind.GO_TOLD: Shape("one", _GO),
    Kind.FORECAST_LOGGED: Shape("none", _LOGGED),
    Kind.UNDONE: Shape("one or none", (Field("undoes", "identity of a record", an_identity),)),
}
"""The shape of every kind; the contributor's guide shows the same."""
