"""The text of a weather table: from bytes on disk to lines, and what the lines above the header say.

Everything that is wrong is a BadTable whose message is one line: the file, the place in it, what was given,
and what would be right.
"""

from __future__ import annotations

import difflib
import gzip
import io
import re
import zlib
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from providers.errors import BadTable

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

LIMIT_MB = 64
"""Largest table read, packed or not: decades of hours, and small enough for any machine."""

LONGEST_LINE = 100_000
"""Characters; beyond this a line is no row of hours."""

YEARS = (1900, 2199)
"""First and last year of a time stamp; beyond them a digit is missing or doubled."""

HEADER_WANTED = "the first line should name the columns, such as time,air_c,rain_mm"
GZIP_MAGIC = b"\x1f\x8b"
HEAD_LINE = re.compile(r"#\s*(\w+)\s*:(.*)")
DEGREES = re.compile(r"([+-]?\d+(?:\.\d*)?(?:e-?\d+)?)", re.ASCII)
METRES = re.compile(rf"{DEGREES.pattern}\s*m?", re.ASCII)

# words above the header that hold a number: its form, least, most, an example
NUMBERS = {
    "latitude": (DEGREES, -90.0, 90.0, "52.1 (degrees north of the equator)"),
    "longitude": (DEGREES, -180.0, 180.0, "-1.5 (degrees east of Greenwich)"),
    "elevation": (METRES, -500.0, 9000.0, "213 m"),
}
WORDS = ("issued", "source", "link", *NUMBERS)


@dataclass(frozen=True, slots=True)
class Head:
    """What the lines above the header say of the table; None where they do not."""

    issued: datetime | None = None
    source: str | None = None
    """The credit to show."""
    link: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None


def bad(path: Path, what: str, *, line: int | None = None, column: str | None = None) -> BadTable:
    """The error that says what is wrong with the table, and where."""
    place = [f"line {line}"] if line is not None else []
    if column is not None:
        place.append(f"column {column}")
    name = str(path) if str(path).isprintable() else repr(str(path))
    return BadTable(": ".join(filter(None, [name, ", ".join(place), what])))


def shown(text: str) -> str:
    """What was given, fit to be quoted in one line."""
    return repr(text if len(text) <= 40 else f"{text[:40]}…")


def nearest(word: str, known: Sequence[str], *, cutoff: float = 0.6) -> str | None:
    """The known word that looks most like this one; None where none does."""
    close = difflib.get_close_matches(word.lower(), known, n=1, cutoff=cutoff)
    return close[0] if close else None


def read_text(path: Path) -> str:
    """The table as text, unpacked where its first bytes say that it is packed; raises BadTable."""
    data = _unpacked(path, _file_bytes(path))
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise bad(path, "holds NUL bytes, so it is not text; save the table as CSV (UTF-8)", line=line)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        raise bad(path, "is not UTF-8 text; save the table as CSV (UTF-8)", line=line) from exc
    if not text.strip():
        raise bad(path, f"is empty; {HEADER_WANTED}")
    if max(map(len, text.splitlines())) > LONGEST_LINE:
        raise bad(path, f"holds a line of more than {LONGEST_LINE} characters; give each hour its own line")
    return text


def _file_bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise bad(path, "is a folder; name a file in it")
        if path.exists() and not path.is_file():
            raise bad(path, "is not a regular file; name a CSV file")
        _check_size(path, path.stat().st_size)
        return path.read_bytes()
    except FileNotFoundError as exc:
        raise bad(path, "there is no such file; name a CSV file that is there") from exc
    except BadTable:
        raise
    except (OSError, ValueError) as exc:  # ValueError: a name that no file can have
        raise bad(path, f"cannot be read: {getattr(exc, 'strerror', None) or exc}") from exc


def _unpacked(path: Path, data: bytes) -> bytes:
    if not data.startswith(GZIP_MAGIC):
        return data
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as stream:
            text = stream.read(LIMIT_MB * 1_000_000 + 1)
    except EOFError as exc:
        raise bad(path, "the gzip data end too early; fetch or pack the file again") from exc
    except (OSError, zlib.error) as exc:
        raise bad(path, "the gzip data are damaged; fetch or pack the file again") from exc
    _check_size(path, len(text))
    return text


def _check_size(path: Path, size: int) -> None:
    if size > LIMIT_MB * 1_000_000:
        raise bad(path, f"holds more than {LIMIT_MB} MB; cut it to the hours that matter")


def split_head(path: Path, text: str) -> tuple[Head, io.StringIO, int]:
    """What the lines above the header say, the stream from the header on, and how many lines are above."""
    stream = io.StringIO(text, newline=None)
    said: dict[str, Any] = {}
    above = 0
    while True:
        start = stream.tell()
        line = stream.readline()
        if not line:
            raise bad(path, f"has no header; {HEADER_WANTED}")
        if line.strip() and not line.startswith("#"):
            stream.seek(start)
            return Head(**said), stream, above
        above += 1
        _note_word(path, line, above, said)


def _note_word(path: Path, line: str, number: int, said: dict[str, Any]) -> None:
    """Keep a word that we know; other lines are comments, but a word nearly ours is a slip of the pen."""
    match = HEAD_LINE.fullmatch(line.strip())
    if match is None:
        return
    word, value = match[1].lower(), match[2].strip()
    if word not in WORDS:
        meant = nearest(word, WORDS, cutoff=0.8)
        if meant is not None:
            raise bad(path, f"unknown word {shown(match[1])}; did you mean '# {meant}:'?", line=number)
        return
    if word in said:
        raise bad(path, f"'# {word}:' is given twice; keep one of them", line=number)
    try:
        said[word] = _meaning(word, value)
    except ValueError as exc:
        raise bad(path, f"'# {word}:' {exc}", line=number) from exc


def _meaning(word: str, value: str) -> datetime | float | str:
    if not value:
        raise ValueError("says nothing; fill it in or take the line out")
    if word == "issued":
        return instant(value)
    if word not in NUMBERS:
        return value
    form, least, most, example = NUMBERS[word]
    match = form.fullmatch(value)
    if match is None or not least <= float(match[1]) <= most:
        hint = f"write a number from {least:g} to {most:g}, such as {example}"
        raise ValueError(f"cannot be {shown(value)}; {hint}")
    return float(match[1])


def instant(text: str) -> datetime:
    """The aware time that a text in ISO 8601 means; ValueError with a sentence where it means none."""
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f"time {shown(text)} cannot be read; write it as 2026-10-17T06:00-04:00 or 2026-10-17T06:00Z"
        ) from None
    if time.tzinfo is None:
        stem = time.isoformat(timespec="minutes")
        raise ValueError(
            f"time {shown(text)} does not say its offset from UTC; write {stem}Z for UTC,"
            f" or {stem}-04:00 for four hours behind it"
        )
    if not YEARS[0] <= time.year <= YEARS[1]:
        raise ValueError(f"time {shown(text)} is not of this age; write a year from {YEARS[0]} to {YEARS[1]}")
    return time
