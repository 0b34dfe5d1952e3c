"""The journal as JSON Lines: UTF-8, a first line that names the format, then one record a line in order of recording.

The same records give the same bytes, and reading them back gives the same records.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from scheduler.errors import BadJournal
from scheduler.household.quantity import shown
from scheduler.household.toml_file import file_name
from scheduler.journal.checks import read_record

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from scheduler.journal.record import Record

FORMAT = "smokenight journal"
VERSION = 1
"""Of the layout of a line and the bodies of the kinds."""


def write_lines(records: Sequence[Record]) -> bytes:
    """The exchange file of these records; the first line counts them, so that one that was cut off is known."""
    head = {"format": FORMAT, "version": VERSION, "records": len(records)}
    return b"".join(_line(values) for values in (head, *map(_values, records)))


def _values(record: Record) -> dict[str, Any]:
    return {
        "identity": record.identity,
        "site": record.site,
        "batch": record.batch,
        "kind": record.kind.value,
        "at": record.at.isoformat(),
        "recorded_at": record.recorded_at.isoformat(),
        "body": record.body,
    }


def _line(values: Mapping[str, Any]) -> bytes:
    return json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def read_lines(data: bytes, file: str) -> tuple[Record, ...]:
    """The records of an exchange file, every one checked.

    Raises BadJournal, one line, with the file, the line in it, what is wrong there, and what would be right.
    """
    lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    if lines[-1] == b"":
        lines.pop()
    if not lines:
        raise BadJournal(f"{file}: is empty: an export begins with a line that names {FORMAT!r}")
    expected = _head(_object(lines[0], f"{file}: line 1"), file)
    records = tuple(_record(line, f"{file}: line {number}") for number, line in enumerate(lines[1:], start=2))
    if len(records) != expected:
        raise BadJournal(
            f"{file}: holds {len(records)} records and says {expected} in line 1: it was cut off or changed"
        )
    return records


def read_export(path: Path) -> tuple[Record, ...]:
    """The records of the exchange file at that path; raises BadJournal as `read_lines` does."""
    name = file_name(path)
    try:
        data = path.read_bytes()
    except OSError as exc:
        raise BadJournal(f"{name}: cannot be read ({exc.strerror}): name a file that `export` wrote") from exc
    return read_lines(data, name)


def _head(values: object, file: str) -> int:
    """How many records are to follow."""
    found = values if isinstance(values, Mapping) else {}
    if found.get("format") != FORMAT:
        raise BadJournal(f"{file}: line 1 does not name the format {FORMAT!r}: name a file that `export` wrote")
    version, count = found.get("version"), found.get("records")
    if type(version) is not int or version < 1 or type(count) is not int:
        raise BadJournal(f"{file}: line 1 does not give a version and a count of records: name a file `export` wrote")
    if version > VERSION:
        raise BadJournal(f"{file}: is of version {version}, newer than this smokenight knows ({VERSION}): update it")
    return count


def _record(line: bytes, place: str) -> Record:
    values = _object(line, place)
    try:
        return read_record(values)
    except BadJournal as exc:
        raise BadJournal(f"{place}: {exc}") from None


def _object(line: bytes, place: str) -> object:
    """What a line of strict JSON holds."""
    try:
        return json.loads(line.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_constant)
    except UnicodeDecodeError:
        raise BadJournal(f"{place}: is not UTF-8: name a file that `export` wrote") from None
    except BadJournal as exc:
        raise BadJournal(f"{place}: {exc}") from None
    except json.JSONDecodeError as exc:
        raise BadJournal(
            f"{place}: is not JSON ({exc.msg} at column {exc.colno}): name a file `export` wrote"
        ) from None
    except (ValueError, RecursionError):
        raise BadJournal(f"{place}: holds a number or a nesting beyond all measure: write plain values") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        raise BadJournal("holds a key twice: keep one of them")
    return values


def _no_constant(name: str) -> Any:
    raise BadJournal(f"{shown(name)} is not a number: write a finite one, or null")
