"""The rows of a weather table: from lines of cells to named columns and numbers as given."""

from __future__ import annotations

import csv
import math
from array import array
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from providers.table_columns import KNOWN, ORDER, TIME, Column, column_named
from providers.table_text import HEADER_WANTED, bad, instant, nearest, shown

if TYPE_CHECKING:
    import io
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from providers.errors import BadTable

UNKNOWN = frozenset(("", "NaN", "nan", "NA", "null"))
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)


@dataclass(slots=True)
class Rows:
    """The cells under the header, read but not yet judged."""

    columns: tuple[Column, ...]
    """Without the time."""
    stamps_us: array[int] = field(default_factory=lambda: array("q"))
    """Microseconds since 1970 in UTC, rising."""
    lines: array[int] = field(default_factory=lambda: array("q"))
    """Line of the file that each row stands on."""
    numbers: array[float] = field(default_factory=lambda: array("d"))
    """Values as given, row after row."""
    members_told: array[int] = field(default_factory=lambda: array("b"))
    """Whether any member cell of the row holds something, if only NaN."""


def read_rows(path: Path, stream: io.StringIO, above: int) -> Rows:
    """The rows of a stream that begins at the header; raises BadTable."""
    lines = _lines(path, stream, above)
    header = next(lines, None)
    if header is None:
        raise bad(path, f"is empty; {HEADER_WANTED}")
    columns, time_at = _columns(path, *header)
    rows = Rows(columns)
    _fill(path, rows, lines, time_at)
    if not rows.lines:
        raise bad(path, "holds a header and no hours; add a line for each hour")
    return rows


def _lines(path: Path, stream: io.StringIO, above: int) -> Iterator[tuple[int, list[str]]]:
    """Number and cells of every line that is not blank."""
    reader = csv.reader(stream, strict=True, skipinitialspace=True)
    try:
        for cells in reader:
            if len(cells) > 1 or (cells and cells[0].strip()):
                yield above + reader.line_num, cells
    except csv.Error as exc:
        raise bad(path, f"is not well-formed CSV: {exc}", line=above + reader.line_num) from exc


def _columns(path: Path, line: int, header: list[str]) -> tuple[tuple[Column, ...], int]:
    """What each cell of the header means, without the time, and where the time stands."""
    names = [name.strip() for name in header]
    for sign, word in ((";", "semicolons"), ("\t", "tabs")):
        if any(sign in name for name in header):
            raise bad(path, f"its cells are separated with {word}; separate cells with commas", line=line)
    _check_header(path, names, line)
    columns = tuple(_column(path, name, line) for name in names if name != TIME)
    _check_quantities(path, columns, line)
    return columns, names.index(TIME)


def _check_header(path: Path, names: list[str], line: int) -> None:
    seen = set()
    for place, name in enumerate(names, 1):
        if not name:
            raise bad(path, f"cell {place} of the header is empty; name the column or take it out", line=line)
        if name in seen:
            raise bad(path, f"the header names {shown(name)} twice; keep one of the two", line=line)
        seen.add(name)
    if TIME not in names:
        meant = nearest(TIME, names)
        hint = f"rename {shown(meant)} to time" if meant else HEADER_WANTED
        raise bad(path, f"the header names no column time; {hint}", line=line)


def _column(path: Path, name: str, line: int) -> Column:
    column = column_named(name)
    if column is None:
        meant = nearest(name, (TIME, *KNOWN))
        every = f"the columns are {', '.join((TIME, *ORDER))}, air_c_01 …, and air_f, wind_mph and the like"
        hint = f"did you mean {meant}?" if meant else every
        raise bad(path, f"unknown column {shown(name)}; {hint}", line=line)
    return column


def _check_quantities(path: Path, columns: Iterable[Column], line: int) -> None:
    first: dict[str, str] = {}
    for column in columns:
        if column.quantity in first:
            pair = f"{first[column.quantity]} and {column.name}"
            raise bad(path, f"columns {pair} are the same quantity; keep one of them", line=line)
        first[column.quantity] = column.name
    if "air_c" not in first:
        raise bad(path, "the header names no column for the air; add air_c, air_f or air_k", line=line)


def _fill(path: Path, rows: Rows, lines: Iterable[tuple[int, list[str]]], time_at: int) -> None:
    width = len(rows.columns) + 1
    members = [place for place, column in enumerate(rows.columns) if column.member]
    for line, cells in lines:
        if len(cells) != width:
            raise _wrong_width(path, cells, width, line)
        _add_time(path, rows, cells.pop(time_at).strip(), line)
        try:
            rows.numbers.extend(map(_number, cells))
        except ValueError:
            raise _not_a_number(path, rows.columns, cells, line) from None
        rows.members_told.append(any(cells[place].strip() for place in members))


def _wrong_width(path: Path, cells: Sequence[str], width: int, line: int) -> BadTable:
    hint = "leave a cell empty where nothing is known"
    if cells[0].startswith("#"):
        hint = "lines that start with # belong above the header"
    elif len(cells) > width:
        hint = "name every column, and write decimals with a point"
    return bad(path, f"the header names {width} columns, here the cells are {len(cells)}; {hint}", line=line)


def _add_time(path: Path, rows: Rows, text: str, line: int) -> None:
    try:
        stamp = (instant(text) - EPOCH) // MICROSECOND
    except ValueError as exc:
        raise bad(path, str(exc), line=line, column=TIME) from None
    if rows.lines and stamp <= rows.stamps_us[-1]:
        last = f"line {rows.lines[-1]}"
        what = f"is earlier than {last}; sort the lines by time"
        if stamp == rows.stamps_us[-1]:
            what = f"is the same instant as {last}; give each time once"
        raise bad(path, f"time {shown(text)} {what}", line=line, column=TIME)
    rows.stamps_us.append(stamp)
    rows.lines.append(line)


@lru_cache(maxsize=1 << 14)
def _number(text: str) -> float:
    """The number in a cell, NaN where it is unknown; ValueError where it is neither."""
    text = text.strip()
    if text in UNKNOWN:
        return math.nan
    number = float(text)
    if not math.isfinite(number) or "_" in text or not text.isascii():  # Python reads these, other tools do not
        raise ValueError(text)
    return number


def _is_number(text: str) -> bool:
    try:
        _number(text)
    except ValueError:
        return False
    return True


def _not_a_number(path: Path, columns: Sequence[Column], cells: Sequence[str], line: int) -> BadTable:
    """The error for the first cell of a line that holds no number."""
    place = next(place for place, text in enumerate(cells) if not _is_number(text))
    text = cells[place].strip()
    with_point = text.replace(",", ".", 1)
    hint = "write a number such as 12.5, or leave the cell empty where it is unknown"
    if "," in text and _is_number(with_point):
        hint = f"write {with_point}"
    return bad(path, f"{shown(text)} is not a number; {hint}", line=line, column=columns[place].name)
