"""A probe's log: a CSV file of times and temperatures, as thermometers write them."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from scheduler.errors import BadSetting

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

UNKNOWN = frozenset(("", "nan", "na", "null", "-", "--"))
TIMES = ("time", "timestamp", "datetime", "date_time", "date")
LOOKS_LIKE = "begin it with the line time,air_c, then a line for each reading, like 2026-10-24T21:30,9.8"
COLDEST_C, WARMEST_C = -60.0, 150.0
"""What a thermometer at a chamber reads; beyond it the unit is another (our judgement)."""

_UNIT = re.compile(r"(?:^|[\s_(\[°]|deg)([cf])(?:elsius|ahrenheit)?[)\]]?$")
_WORD = re.compile(r"air|temp|chamber|porch|probe|inside|outside|fridge|freezer|celsius|fahrenheit|°|^[cf]$")
_CELL_UNIT = re.compile(r"°?\s*([cf])$")


@dataclass(frozen=True, slots=True)
class Log:
    """What a probe wrote, in order of time."""

    times: tuple[datetime, ...]
    """In UTC, whole seconds."""
    c: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Columns:
    time: int
    value: int
    fahrenheit: bool | None
    """None where each cell says its own unit."""


def read_log(path: Path, zone: ZoneInfo, now: datetime) -> Log:
    """The log in a file; times without an offset are the site's clock, empty cells are left out.

    Raises BadSetting, or BadTable for what is no text: the file, the line, what was given, what would be right.
    """
    from providers.table_text import read_text

    lines = [line for line in enumerate(read_text(path).splitlines(), start=1) if line[1].strip()]
    lines = [(number, text) for number, text in lines if not text.startswith("#")]
    if not lines:
        raise BadSetting(f"{path}: holds no readings; {LOOKS_LIKE}")
    delimiter = ";" if ";" in lines[0][1] else "\t" if "\t" in lines[0][1] else ","
    rows = list(
        zip((number for number, _ in lines), csv.reader((t for _, t in lines), delimiter=delimiter), strict=True)
    )
    columns = _columns(path, rows[0])
    found = dict(_readings(path, rows[1:], columns, zone, now))
    if not found:
        raise BadSetting(f"{path}: holds a header and no readings; {LOOKS_LIKE}")
    return Log(tuple(sorted(found)), tuple(found[at] for at in sorted(found)))


def _columns(path: Path, header: tuple[int, Sequence[str]]) -> _Columns:
    """Where the time and the temperature stand."""
    number, names = header[0], [" ".join(name.lower().split()) for name in header[1]]
    times = [at for at, name in enumerate(names) if name.replace(" ", "_") in TIMES]
    values = [at for at, name in enumerate(names) if at not in times and _WORD.search(name)]
    if not times:
        raise BadSetting(f"{path}: line {number}: no column is called time; {LOOKS_LIKE}")
    if len(values) != 1:
        said = "no column is" if not values else f"{', '.join(repr(names[at]) for at in values)} are all"
        raise BadSetting(
            f"{path}: line {number}: {said} a temperature; name one column with its unit, air_c or air_f, and leave"
            " the others out"
        )
    unit = _UNIT.search(names[values[0]])
    return _Columns(times[0], values[0], None if unit is None else unit[1] == "f")


def _readings(
    path: Path, rows: Sequence[tuple[int, Sequence[str]]], columns: _Columns, zone: ZoneInfo, now: datetime
) -> Iterator[tuple[datetime, float]]:
    """Each line that has a temperature."""
    for number, cells in rows:
        if len(cells) <= max(columns.time, columns.value):
            raise BadSetting(f"{path}: line {number}: has {len(cells)} cells; the header names more")
        given = cells[columns.value].strip()
        if given.lower() in UNKNOWN:
            continue
        at = _time(path, number, cells[columns.time], zone)
        if at > now:
            raise BadSetting(
                f"{path}: line {number}: {cells[columns.time].strip()!r} is still ahead; is the clock right?"
            )
        yield at, _celsius(path, number, given, columns.fahrenheit)


def _time(path: Path, number: int, given: str, zone: ZoneInfo) -> datetime:
    from scheduler.faces.asking import moment

    try:
        return moment(given.strip(), zone, "time").astimezone(UTC).replace(microsecond=0)
    except BadSetting as exc:
        raise BadSetting(f"{path}: line {number}: {exc}") from None


def _celsius(path: Path, number: int, given: str, fahrenheit: bool | None) -> float:
    """The temperature of a cell, in the unit that the cell or the header says."""
    from scheduler.household.units import parse_temperature_c

    said = _CELL_UNIT.search(given.lower())
    text = given if said else f"{given} {'F' if fahrenheit else 'C'}"
    try:
        if said is None and fahrenheit is None:
            raise BadSetting(f"{given!r} may be °C or °F: name the column air_c or air_f")
        value = parse_temperature_c(text)
    except BadSetting as exc:
        raise BadSetting(f"{path}: line {number}: {exc}") from None
    if not COLDEST_C <= value <= WARMEST_C:
        raise BadSetting(
            f"{path}: line {number}: {given!r} is not from {COLDEST_C:g} °C to {WARMEST_C:g} °C;"
            " is the unit of the column right?"
        )
    return round(value, 3)
