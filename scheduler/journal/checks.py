"""A record in its one form, or refused whole: asked of each before it is added, and before it is imported."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from scheduler.errors import BadJournal, BadSetting
from scheduler.household.quantity import shown
from scheduler.household.toml_file import a_line, did_you_mean
from scheduler.journal.kinds import SHAPES, read_body
from scheduler.journal.record import Kind, Record
from scheduler.journal.values import an_identity, instant, whole_second

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")

KEYS = ("identity", "site", "batch", "kind", "at", "recorded_at", "body")
"""Of a record in an exchange file, in this order."""


def checked(record: Record) -> Record:
    """The record in its one form.  Raises BadJournal: which kind, which key, what was given, what would do."""
    shape = SHAPES[record.kind]
    try:
        whole = replace(
            record,
            identity=_at("identity", an_identity, record.identity),
            site=_at("site", a_line, record.site),
            batch=None if record.batch is None else _at("batch", an_identity, record.batch),
            at=_at("at", whole_second, record.at),
            recorded_at=_at("recorded_at", whole_second, record.recorded_at),
            body=read_body(shape.fields, record.body),
        )
        _check_batch(whole, shape.batch)
        if whole.kind is Kind.READINGS:
            _check_pairs(whole.body)
    except BadSetting as exc:
        raise BadJournal(f"record {record.kind}: {exc}") from None
    return whole


def read_record(given: object) -> Record:
    """The record that an object of an exchange file describes.  Raises BadJournal as `checked` does."""
    if not isinstance(given, Mapping):
        raise BadJournal(f"{shown(given)} is not an object with the keys {', '.join(KEYS)}")
    for key in given:
        if key not in KEYS:
            raise BadJournal(f"{shown(key)} is not a key of a record; {did_you_mean(str(key), KEYS)}")
    for key in KEYS:
        if key not in given:
            raise BadJournal(f"{key}: is missing: a record has the keys {', '.join(KEYS)}")
    try:
        kind = _at("kind", a_kind, given["kind"])
        at, recorded_at = _at("at", instant, given["at"]), _at("recorded_at", instant, given["recorded_at"])
    except BadSetting as exc:
        raise BadJournal(str(exc)) from None
    return checked(Record(given["identity"], given["site"], given["batch"], kind, at, recorded_at, given["body"]))


def a_kind(given: object) -> Kind:
    """A kind by its name."""
    names = tuple(kind.value for kind in Kind)
    if not isinstance(given, str) or given not in names:
        raise BadSetting(f"{shown(given)} is not a kind of record; {did_you_mean(str(given), names)}")
    return Kind(given)


def _at(key: str, parse: Callable[[Any], T], given: object) -> T:
    try:
        return parse(given)
    except BadSetting as exc:
        raise BadSetting(f"{key}: {exc}") from None


def _check_batch(record: Record, rule: str) -> None:
    if rule == "its own" and record.batch != record.identity:
        raise BadSetting("batch: is not the identity of the record itself, which opens the batch")
    if rule == "one" and record.batch is None:
        raise BadSetting("batch: is missing: write the identity of the record that opened it")
    if rule == "none" and record.batch is not None:
        raise BadSetting("batch: is given, but the record concerns none: leave it null")


def _check_pairs(body: Mapping[str, Any]) -> None:
    times, readings = len(body["times"]), len(body["c"])
    if times != readings or not times:
        raise BadSetting(f"c: has {readings} readings and times has {times}: write as many, and at least one")
