"""Tables that cannot be read: one line that names the file, the place in it, what was given and what would do."""

from __future__ import annotations

import gzip
import os
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from providers.errors import BadTable, WeatherError
from providers.table import read_table

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 10, 17, 12, tzinfo=UTC)
T6, T7, T8 = (f"2026-10-17T0{hour}:00Z" for hour in (6, 7, 8))
HOUR = f"{T6},8.5\n"
SMALL = f"time,air_c\n{HOUR}"


def message(path: Path) -> str:
    with pytest.raises(BadTable) as caught:
        read_table(path, fetched_at=NOW)
    assert isinstance(caught.value, WeatherError)
    return str(caught.value)


def one_cell(column: str, cell: str) -> str:
    return f"time,air_c,{column}\n{T6},8.5,\n{T7},8.5,{cell}\n"


def air(column: str, *cells: str) -> str:
    return f"time,{column}\n" + "".join(f"2026-10-17T0{hour}:00Z,{cell}\n" for hour, cell in enumerate(cells))


WRONG: dict[str, tuple[str | bytes, tuple[str, ...]]] = {
    # not a table at all
    "empty": ("", ("is empty", "time,air_c")),
    "only a byte order mark": (b"\xef\xbb\xbf", ("is empty",)),
    "only blank lines": ("\n \n\n", ("is empty",)),
    "packed nothing": (gzip.compress(b""), ("is empty",)),
    "only comments": ("# nothing\n# more\n", ("no header", "time,air_c")),
    "header only": ("time,air_c\n", ("no hours", "line for each hour")),
    "not utf-8": (SMALL.encode() + b"# caf\xe9,1\n", ("line 3", "not UTF-8", "save")),
    "utf-16": (SMALL.encode("utf-16"), ("line 1", "NUL", "UTF-8")),
    "nul bytes": (SMALL.encode() + f"{T7},\0\n".encode(), ("line 3", "NUL")),
    "a spreadsheet's own file": (b"PK\x03\x04\x14\0\0\0", ("NUL", "CSV")),
    "truncated gzip": (gzip.compress(SMALL.encode() * 50)[:-20], ("gzip", "too early", "again")),
    "gzip head alone": (b"\x1f\x8b", ("gzip", "too early")),
    "damaged gzip": (b"\x1f\x8b\x08\0" + b"\xff" * 40, ("gzip", "damaged")),
    "gzip checksum wrong": (gzip.compress(SMALL.encode())[:-8] + b"\0" * 8, ("gzip", "damaged")),
    "gzip with a tail": (gzip.compress(SMALL.encode()) + b"tail", ("gzip", "damaged")),
    "packed twice": (gzip.compress(gzip.compress(SMALL.encode())), ("text; save the table",)),
    "gzip bomb": (gzip.compress(b" " * 64_000_001), ("more than 64 MB",)),
    "too large": (b" " * 64_000_001, ("more than 64 MB",)),
    "one endless line": ("time,air_c" + ",air_c" * 20_000 + "\n", ("100000 characters", "line")),
    # the header
    "no time": ("air_c,rain_mm\n8,0\n", ("line 1", "no column time", "time,air_c")),
    "time by another name": ("times,air_c\n" + HOUR, ("line 1", "no column time", "rename 'times'")),
    "no air": (f"time,rain_mm\n{T6},0\n", ("line 1", "no column for the air", "air_c, air_f or air_k")),
    "time alone": (f"time\n{T6}\n", ("no column for the air",)),
    "no header": (HOUR, ("line 1", "no column time", "first line should name")),
    "unknown column, near": (f"time,air_c,rian_mm\n{T6},8,0\n", ("line 1", "'rian_mm'", "did you mean rain_mm")),
    "unknown column, far": (f"time,air_c,zzz\n{T6},8,0\n", ("line 1", "'zzz'", "dewpoint_c", "wind_mph", "air_c_01")),
    "capitals": ("time,Air_C\n" + HOUR, ("'Air_C'", "did you mean air_c")),
    "unknown unit": (f"time,air_c,wind_bft\n{T6},8,3\n", ("'wind_bft'", "did you mean wind_")),
    "same header twice": (f"time,air_c,air_c\n{T6},8,8\n", ("line 1", "'air_c'", "twice")),
    "time twice": (f"time,air_c,time\n{T6},8,{T6}\n", ("line 1", "'time'", "twice")),
    "same quantity twice": (f"time,air_c,air_f\n{T6},8,46\n", ("line 1", "air_c and air_f", "same quantity")),
    "same member twice": (f"time,air_c,air_c_01,air_f_1\n{T6},8,8,46\n", ("air_c_01 and air_f_1", "same quantity")),
    "a line break in a header": (f'time,air_c,"a\nb","a\nb"\n{T6},8,8,8\n', ("line 3", r"'a\nb'", "twice")),
    "nameless column": (f"time,,air_c\n{T6},,8\n", ("line 1", "cell 2", "empty")),
    "semicolons": (f"time;air_c\n{T6};8,5\n", ("line 1", "semicolons", "separate cells with commas")),
    "tabs": (f"time\tair_c\n{T6}\t8\n", ("line 1", "tabs", "separate cells with commas")),
    # rows
    "a cell too many": (SMALL + f"{T7},8,1\n", ("line 3", "cells are 3", "2 columns", "name every column")),
    "a cell too few": (f"time,air_c,rain_mm\n{T6},8\n", ("line 2", "cells are 2", "3 columns", "empty")),
    "decimal commas": (f"time,air_c\n{T6},8,5\n", ("line 2", "cells are 3", "decimals with a point")),
    "quoted decimal comma": (air("air_c", '"8,5"'), ("line 2", "column air_c", "'8,5'", "write 8.5")),
    "a comment below the header": (SMALL + "# later\n", ("line 3", "2 columns", "above the header")),
    "an open quote": (SMALL + f'{T7},"8\n', ("line 3", "CSV")),
    "a quote in mid cell": (SMALL + f'"{T7}"Z,8\n', ("line 3", "CSV")),
    "a line break in a cell": (SMALL + f'{T7},"1\n0"\n', ("line 4", "column air_c", "not a number")),
    # times
    "naive time": ("time,air_c\n2026-10-17T06:00,8\n", ("line 2", "column time", "offset", "2026-10-17T06:00-04:00")),
    "date alone": (SMALL + "2026-10-18,8\n", ("line 3", "column time", "offset", "2026-10-18T00:00Z")),
    "empty time": (SMALL + ",8\n", ("line 3", "column time", "''", "cannot be read")),
    "unparsable time": (SMALL + "17/10/2026 7:00,8\n", ("line 3", "'17/10/2026 7:00'", "2026-10-17T06:00Z")),
    "seconds since 1970": ("time,air_c\n1792216800,8\n", ("line 2", "'1792216800'", "cannot be read")),
    "an hour that no day has": (SMALL + "2026-10-17T25:00Z,8\n", ("line 3", "'2026-10-17T25:00Z'", "cannot be read")),
    "an offset that no place has": (SMALL + "2026-10-17T07:00+99:00,8\n", ("line 3", "cannot be read")),
    "a year with a digit missing": ("time,air_c\n0026-10-17T06:00Z,8\n", ("line 2", "'0026-", "1900")),
    "the first instant of all": ("time,air_c\n0001-01-01T00:00+05:00,8\n", ("line 2", "1900")),
    "same time twice": (SMALL + HOUR, ("line 3", "column time", "same instant as line 2")),
    "same instant in two offsets": (SMALL + "2026-10-17T07:00+01:00,8\n", ("line 3", "same instant as line 2")),
    "unsorted": (f"time,air_c\n{T6},8\n\n{T8},8\n{T7},8\n", ("line 5", "column time", "earlier than line 4", "sort")),
    # values
    "a word": (air("air_c", "8", "mild"), ("line 3", "column air_c", "'mild'", "not a number", "empty")),
    "a dash": (one_cell("rain_mm", "-"), ("line 3", "column rain_mm", "'-'")),
    "a unit in the cell": (one_cell("gust_ms", "8 m/s"), ("line 3", "column gust_ms", "'8 m/s'")),
    "an underscore": (one_cell("sun_wm2", "1_0"), ("line 3", "column sun_wm2", "'1_0'")),
    "foreign digits": (one_cell("air_c_01", "٨"), ("line 3", "column air_c_01", "not a number")),
    "true": (one_cell("rain_chance", "True"), ("line 3", "'True'")),
    "infinite": (one_cell("wind_ms", "inf"), ("line 3", "column wind_ms", "'inf'", "not a number")),
    "beyond all numbers": (one_cell("wind_ms", "1e999"), ("line 3", "'1e999'", "not a number")),
    "nearly beyond all numbers": (one_cell("rain_in", "1e308"), ("line 3", "column rain_in", "1e+308")),
    "another word for unknown": (one_cell("cloud_pct", "N/A"), ("line 3", "'N/A'", "leave the cell empty")),
    "fahrenheit as celsius": (air("air_c", "55", "71.5"), ("line 3", "column air_c", "71.5", "60 °C", "air_f")),
    "kelvin as celsius": (air("air_c", "283.1", "285"), ("line 2", "column air_c", "283.1", "air_k")),
    "celsius as kelvin": (air("air_k", "8", "9"), ("line 2", "column air_k", "8 (-265.1 °C)", "air_c")),
    "a member in fahrenheit": (one_cell("air_c_07", "66"), ("line 3", "column air_c_07", "air_f_07")),
    "colder than any place": (air("air_c", "8", "-99.9"), ("line 3", "column air_c", "-99.9", "-90 to 60 °C; correct")),
    "warm beyond any unit": (air("air_c", "8", "9999"), ("line 3", "9999", "leave the cell empty")),
    "dew point beyond the air": (one_cell("dewpoint_f", "500"), ("line 3", "column dewpoint_f", "500")),
    "humidity above all": (one_cell("humidity_pct", "100.6"), ("line 3", "humidity_pct", "100.6", "0 to 100")),
    "humidity below none": (one_cell("humidity_pct", "-1"), ("line 3", "column humidity_pct", "-1")),
    "rain upwards": (one_cell("rain_mm", "-0.1"), ("line 3", "column rain_mm", "-0.1")),
    "wind below calm": (one_cell("wind_kmh", "-3"), ("line 3", "column wind_kmh", "-3 (-0.8333 m/s)")),
    "gust of a missing value": (one_cell("gust_ms", "-999"), ("line 3", "column gust_ms", "-999", "empty")),
    "chance in per cent": (one_cell("rain_chance", "35"), ("line 3", "rain_chance", "35", "rain_chance_pct")),
    "chance below none": (one_cell("rain_chance", "-0.1"), ("line 3", "column rain_chance", "-0.1")),
    "chance above all": (one_cell("rain_chance_pct", "101"), ("line 3", "column rain_chance_pct", "101 (1.01)")),
    "more sun than there is": (one_cell("sun_wm2", "1500.5"), ("line 3", "column sun_wm2", "1500.5", "1500 W/m²")),
    "less sun than none": (one_cell("sun_wm2", "-5.5"), ("line 3", "column sun_wm2", "-5.5", "0 to 1500")),
    "more cloud than sky": (one_cell("cloud_pct", "101"), ("line 3", "column cloud_pct", "101")),
    "an impossible extreme": (one_cell("air_max_c", "75"), ("line 3", "column air_max_c", "75", "air_max_f")),
    "an impossible percentile": (one_cell("air_p90_c", "-300"), ("line 3", "column air_p90_c", "-300")),
    # what the lines above the header say
    "a slip in a word": ("# isued: 2026-10-17T06:00Z\n" + SMALL, ("line 1", "'isued'", "'# issued:'")),
    "issued without an offset": ("# issued: 2026-10-17T06:00\n" + SMALL, ("line 1", "issued", "offset")),
    "issued in words": ("\n# issued: this morning\n" + SMALL, ("line 2", "issued", "'this morning'")),
    "issued twice": (f"# issued: {T6}\n# issued: {T7}\n" + SMALL, ("line 2", "issued", "twice")),
    "nothing issued": ("# issued:\n" + SMALL, ("line 1", "issued", "says nothing")),
    "latitude out of bounds": ("# latitude: 90.5\n" + SMALL, ("line 1", "latitude", "'90.5'", "-90 to 90")),
    "longitude in letters": ("# longitude: 1.5 W\n" + SMALL, ("line 1", "longitude", "'1.5 W'", "Greenwich")),
    "elevation in feet": ("# elevation: 700 ft\n" + SMALL, ("line 1", "elevation", "'700 ft'", "213 m")),
    "the rows count from the top": ("# a\n# b\n\n" + SMALL + f"{T7},mild\n", ("line 6", "'mild'")),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_table_is_refused_in_one_line_that_says_where_and_what(name: str, tmp_path: Path) -> None:
    content, wanted = WRONG[name]
    path = tmp_path / "hours.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    said = message(path)
    assert said.startswith(f"{path}: ")
    assert said.count("\n") == 0
    for words in wanted:
        assert words in said.removeprefix(str(path))


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    assert message(tmp_path / "lost.csv") == (
        f"{tmp_path / 'lost.csv'}: there is no such file; name a CSV file that is there"
    )


def test_a_folder_is_no_table(tmp_path: Path) -> None:
    assert message(tmp_path) == f"{tmp_path}: is a folder; name a file in it"


def test_a_pipe_is_no_table_and_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert "not a regular file" in message(tmp_path / "pipe.csv")


def test_a_name_with_a_line_break_stays_in_one_line(tmp_path: Path) -> None:
    assert message(tmp_path / "lost\n.csv").count("\n") == 0


@pytest.mark.parametrize("name", ["a\0b.csv", "x" * 300])
def test_a_name_that_no_file_can_have_is_refused(tmp_path: Path, name: str) -> None:
    assert "cannot be read" in message(tmp_path / name)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is closed to the superuser")
def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "closed.csv"
    path.write_text(SMALL)
    path.chmod(0)
    assert "cannot be read: Permission denied" in message(path)


PIECES = st.sampled_from([
    "time", "air_c", "air_f_01", "rain_mm", ",", ",", ",", "\n", "\n", "\r", '"', "#", "# issued:", T6, T7, T8, "8.5",
    "NaN", "-9999", "1e308", " ", "\t", ";", "\x85", "\u2028", "\ufeff", "٨", "2026-10-17",
])  # fmt: skip


@given(text=st.lists(PIECES, max_size=40).map("".join) | st.text(), known=st.booleans())
@settings(max_examples=300, deadline=None)
def test_any_text_is_a_table_or_is_refused_in_one_line(
    text: str, known: bool, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_text(SMALL + text if known else text, encoding="utf-8", errors="replace", newline="")
    refusal = ""
    try:
        read_table(path, fetched_at=NOW)
    except BadTable as exc:
        refusal = str(exc)
    assert len(refusal.splitlines()) <= 1


@given(data=st.binary(max_size=60), head=st.sampled_from([b"", b"\x1f\x8b", b"\x1f\x8b\x08\0\0\0\0\0\0\3"]))
@settings(max_examples=200, deadline=None)
def test_any_bytes_are_a_table_or_are_refused(
    data: bytes, head: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.bin"
    path.write_bytes(head + data)
    with pytest.raises(BadTable):
        read_table(path, fetched_at=NOW)


def test_what_was_given_is_quoted_only_as_far_as_a_line_allows(tmp_path: Path) -> None:
    path = tmp_path / "hours.csv"
    path.write_text(SMALL + f"{T7},{'x' * 5000}\n")
    assert len(message(path).removeprefix(str(path))) < 200
