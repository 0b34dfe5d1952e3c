"""Hourly weather from a table: a CSV file that somebody measured, exported or made up.

The first line names the columns, each name ending in its unit; ``time`` and the air (``air_c``, ``air_f`` or
``air_k``) are needed.  Values stand on the footing of time of every forecast (see `providers.forecast`).
An empty cell, NaN, NA and null are unknown.  Lines above the header that start with ``#`` may say ``issued``,
``source``, ``link``, ``latitude``, ``longitude`` and ``elevation``, each as ``# word: value``.
"""

from __future__ import annotations

import gzip
import os
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from providers.forecast import REQUIRED, Credit, Forecast
from providers.table_columns import MEMBER, ORDER, TIME, Column, other_unit, outside, same
from providers.table_rows import Rows, read_rows
from providers.table_text import Head, bad, read_text, split_head

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from providers.table_columns import Values

SOURCE = "table"
NOT_ISSUED = "The table does not say when it was issued; the time it was read is taken for it."
ISSUED_LATER = "The table says it was issued later than the time it was read."


def read_table(path: str | Path, *, fetched_at: datetime) -> Forecast:
    """The forecast that a table holds; the file may be packed with gzip, whatever its name.

    Rows are sorted by time, each time once and with its offset from UTC.  What is not written is unknown, but
    a row whose member cells are all empty speaks of no members (they may come at longer steps).  Humidity up
    to 100.5 % is taken as 100, sun down to -5 W/m² as 0.  Raises BadTable: the file, the place in it, what was
    given, what would be right.
    """
    path = Path(path)
    head, stream, above = split_head(path, read_text(path))
    rows = read_rows(path, stream, above)
    table = _table(path, rows)
    return Forecast(
        source=SOURCE,
        credit=Credit(head.source or f"Weather table {path.name}", head.link or ""),
        latitude_deg=head.latitude,
        longitude_deg=head.longitude,
        elevation_m=head.elevation,
        issued_at=head.issued or fetched_at,
        fetched_at=fetched_at,
        fresh_until=None,
        hourly=table.reindex(columns=[name for name in ORDER if name in table.columns or name in REQUIRED]),
        members=_members(table, rows),
        notes=_notes(head, fetched_at),
    )


def _table(path: Path, rows: Rows) -> pd.DataFrame:
    """All values in our names and units."""
    import numpy as np
    import pandas as pd

    given = np.array(rows.numbers).reshape(len(rows.lines), len(rows.columns))
    stamps = pd.DatetimeIndex(np.array(rows.stamps_us).view("datetime64[us]"), name=TIME).tz_localize("UTC")
    with np.errstate(over="ignore"):  # beyond all numbers is beyond all weather, and said so below
        values = {
            column.quantity: _judged(path, column, given[:, place], rows.lines)
            for place, column in enumerate(rows.columns)
        }
    return pd.DataFrame(values, index=stamps)


def _judged(path: Path, column: Column, given: Values, lines: Sequence[int]) -> Values:
    """The values of one column in our unit; BadTable at the first that no weather can have."""
    values, bounds = column.convert(given), column.bounds
    wrong = outside(values, bounds)
    if wrong.any():
        place = int(wrong.argmax())
        hint = "correct it, or leave the cell empty where it is unknown"
        meant = other_unit(column, given)
        if meant is not None:
            hint = f"if the values are in another unit, name the column so, such as {meant}"
        what = f"{_value_words(column, given[place], values[place])} is not within {bounds}"
        raise bad(path, f"{what}; {hint}", line=lines[place], column=column.name)
    return values if bounds.clip is None else values.clip(*bounds.clip)


def _value_words(column: Column, given: float, ours: float) -> str:
    """A value as given, and in our unit where that is another."""
    if column.convert is same:
        return f"{given:g}"
    in_ours = f"{ours:.4g} {column.bounds.unit}".rstrip()
    return f"{given:g} ({in_ours})"


def _members(table: pd.DataFrame, rows: Rows) -> pd.DataFrame | None:
    import numpy as np

    told = np.array(rows.members_told, dtype=bool)
    names = [column.quantity for column in rows.columns if column.member]
    return table.loc[told, names] if told.any() else None


def _notes(head: Head, fetched_at: datetime) -> tuple[str, ...]:
    if head.issued is None:
        return (NOT_ISSUED,)
    return (ISSUED_LATER,) if head.issued > fetched_at else ()


def write_table(forecast: Forecast, path: str | Path) -> None:
    """Write a forecast as a table, whole or not at all; packed where the name ends in .gz.

    `read_table` gives back the same hours, members (named air_c_01 … where they were not), credit, place and
    time of issue; notes and freshness are not kept.  Raises BadTable where a table cannot hold the forecast or
    the file cannot be written.
    """
    path = Path(path)
    data = (_head_text(forecast) + _body(path, forecast)).encode()
    if path.suffix == ".gz":
        data = gzip.compress(data, mtime=0)
    try:
        _replace(Path(os.path.realpath(path)), data)
    except (OSError, ValueError) as exc:  # ValueError: a name that no file can have
        raise bad(path, f"cannot be written: {getattr(exc, 'strerror', None) or exc}") from exc


def _head_text(forecast: Forecast) -> str:
    elevation = None if forecast.elevation_m is None else f"{forecast.elevation_m} m"
    said = {
        "issued": _stamp(forecast.issued_at),
        "source": " ".join(forecast.credit.text.split()) or None,
        "link": forecast.credit.link or None,
        "latitude": forecast.latitude_deg,
        "longitude": forecast.longitude_deg,
        "elevation": elevation,
    }
    return "".join(f"# {word}: {value}\n" for word, value in said.items() if value is not None)


def _body(path: Path, forecast: Forecast) -> str:
    hourly = forecast.hourly
    strange = [str(name) for name in hourly.columns if name not in ORDER]
    if strange:
        raise bad(path, f"a table has no columns {', '.join(strange)}; they are {', '.join(ORDER)}")
    table = hourly.set_axis([_stamp(stamp) for stamp in hourly.index], axis=0)
    if forecast.members is not None:
        table = table.join(_member_cells(path, forecast.members, hourly.index).set_axis(table.index, axis=0))
    return table.to_csv(index_label=TIME, lineterminator="\n")


def _member_cells(path: Path, members: pd.DataFrame, index: pd.Index) -> pd.DataFrame:
    """Members as cells on the hours' index: empty where they have no row, NaN where a row is unknown."""
    if not members.index.isin(index).all():
        raise bad(path, "a table cannot hold members at times that its hours do not have")
    names = [str(name) for name in members.columns]
    if not all(MEMBER.fullmatch(name) for name in names):
        names = [f"air_c_{number:02d}" for number in range(1, len(names) + 1)]
    cells = members.set_axis(names, axis=1).astype(object)
    return cells.where(members.notna().to_numpy(), "NaN").reindex(index, fill_value="")


def _stamp(time: datetime) -> str:
    return time.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _replace(path: Path, data: bytes) -> None:
    """Put the data where the file is, in one step that cannot be seen half done."""
    beside = path.with_name(f".{secrets.token_hex(8)}.tmp")
    try:
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)
