"""Tables of hours that can be read, and what is read from them."""

from __future__ import annotations

import gzip
import math
import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from providers.errors import BadTable
from providers.forecast import PERCENTILES, PERIODS, REQUIRED, Credit, Forecast
from providers.table import read_table, write_table

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 10, 17, 12, tzinfo=UTC)
SMALL = "time,air_c\n2026-10-17T06:00Z,8.5\n2026-10-17T07:00Z,9\n"


def table(folder: Path, text: str | bytes, name: str = "weather.csv") -> Forecast:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_table(path, fetched_at=NOW)


def only_value(folder: Path, column: str, cell: str) -> tuple[str, float]:
    """The one value of a table beside its air: the name it got and what it is."""
    air = "" if column.startswith("air_") and column.count("_") == 1 else ",air_c"
    frame = table(folder, f"time,{column}{air}\n2026-10-17T06:00Z,{cell}{air and ',5'}\n").hourly
    others = frame.drop(columns="air_c") if air else frame
    known = others.iloc[0].dropna()
    assert len(known) == 1
    return str(known.index[0]), float(known.iloc[0])


# Values


def test_hours_and_air_are_read(tmp_path: Path) -> None:
    frame = table(tmp_path, SMALL).hourly
    assert frame["air_c"].tolist() == [8.5, 9.0]
    assert frame.index.tolist() == [pd.Timestamp("2026-10-17T06:00Z"), pd.Timestamp("2026-10-17T07:00Z")]


def test_columns_that_the_table_lacks_are_unknown(tmp_path: Path) -> None:
    frame = table(tmp_path, SMALL).hourly
    assert list(frame.columns) == list(REQUIRED)
    assert frame.drop(columns="air_c").isna().all(axis=None)


def test_zero_degrees_is_weather(tmp_path: Path) -> None:
    assert table(tmp_path, "time,air_c\n2026-10-17T06:00Z,0\n").hourly["air_c"].tolist() == [0.0]


@pytest.mark.parametrize("cell", ["", "NaN", "nan", "NA", "null", "  ", " NaN "])
def test_a_cell_may_be_unknown(tmp_path: Path, cell: str) -> None:
    frame = table(tmp_path, f"time,air_c,rain_mm\n2026-10-17T06:00Z,8.5,{cell}\n").hourly
    assert math.isnan(frame["rain_mm"].iloc[0])


@pytest.mark.parametrize("cell", ["12.5", "+12.5", " 12.5 ", ' "12.5"', "1.25e1", "125E-1", '"12.5"', "12.50000"])
def test_a_number_may_be_written_in_many_ways(tmp_path: Path, cell: str) -> None:
    assert table(tmp_path, f"time,air_c\n2026-10-17T06:00Z,{cell}\n").hourly["air_c"].tolist() == [12.5]


# Exact by definition: NIST Special Publication 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("column", "cell", "ours", "value"),
    [
        ("air_f", "50", "air_c", 10.0),
        ("air_k", "283.15", "air_c", 10.0),
        ("dewpoint_f", "14", "dewpoint_c", -10.0),
        ("dewpoint_k", "273.15", "dewpoint_c", 0.0),
        ("rain_in", "0.5", "rain_mm", 12.7),
        ("rain_chance_pct", "35", "rain_chance", 0.35),
        ("wind_mph", "10", "wind_ms", 4.4704),
        ("wind_kmh", "36", "wind_ms", 10.0),
        ("wind_kn", "3600", None, 1852.0),
        ("gust_mph", "20", "gust_ms", 8.9408),
        ("gust_kmh", "7.2", "gust_ms", 2.0),
        ("gust_kn", "36", "gust_ms", 18.52),
        ("air_max_f", "212", None, 100.0),
        ("air_min_k", "273.15", "air_min_c", 0.0),
        ("air_p10_f", "32", "air_p10_c", 0.0),
        ("air_p50_c", "4.5", "air_p50_c", 4.5),
        ("air_p90_c", "6.5", "air_p90_c", 6.5),
        ("humidity_pct", "81", "humidity_pct", 81.0),
        ("sun_wm2", "640", "sun_wm2", 640.0),
        ("cloud_pct", "75", "cloud_pct", 75.0),
    ],
)
def test_other_units_are_turned_into_ours(
    tmp_path: Path, column: str, cell: str, ours: str | None, value: float
) -> None:
    if ours is None:  # beyond all weather: the message tells that it was understood
        with pytest.raises(BadTable, match=column):
            only_value(tmp_path, column, cell)
        return
    name, read = only_value(tmp_path, column, cell)
    assert name == ours
    assert read == pytest.approx(value, rel=1e-15)


def test_sixty_fahrenheit_is_exactly_the_usual_ceiling(tmp_path: Path) -> None:
    assert only_value(tmp_path, "air_f", "60") == ("air_c", (60.0 - 32.0) / 1.8)


def test_air_just_saturated_by_its_instrument_is_saturated(tmp_path: Path) -> None:
    assert only_value(tmp_path, "humidity_pct", "100.4") == ("humidity_pct", 100.0)


def test_the_sun_at_night_is_not_negative(tmp_path: Path) -> None:
    assert only_value(tmp_path, "sun_wm2", "-2.5") == ("sun_wm2", 0.0)


def test_columns_may_stand_in_any_order_with_spaces_about_them(tmp_path: Path) -> None:
    frame = table(tmp_path, "rain_mm , air_c, time\n0.4, 8.5, 2026-10-17T06:00Z\n").hourly
    assert frame[["air_c", "rain_mm"]].to_numpy().tolist() == [[8.5, 0.4]]
    assert list(frame.columns) == list(REQUIRED)


# Times


def test_times_of_several_offsets_are_one_line_of_time(tmp_path: Path) -> None:
    text = "time,air_c\n2026-10-25T01:30+01:00,8\n2026-10-25T01:30Z,7\n2026-10-24T22:30-0400,6\n"
    stamps = table(tmp_path, text).hourly.index
    assert stamps.tolist() == [pd.Timestamp(f"2026-10-25T0{hour}:30Z") for hour in range(3)]


@pytest.mark.parametrize("stamp", ["2026-10-17T06:00Z", "2026-10-17 06:00:00Z", "20261017T0600Z", "2026-10-17T06Z",
                                   '"2026-10-17T02:00:00.000-04:00"', "2026-10-17T11:30+05:30"])  # fmt: skip
def test_a_time_may_be_written_in_any_form_of_the_standard(tmp_path: Path, stamp: str) -> None:
    assert table(tmp_path, f"time,air_c\n{stamp},8\n").hourly.index[0] == pd.Timestamp("2026-10-17T06:00Z")


def test_steps_may_change_along_the_way(tmp_path: Path) -> None:
    text = "time,air_c\n2026-10-17T06:00Z,8\n2026-10-17T07:00Z,7\n2026-10-17T10:00Z,6\n2026-10-17T16:00Z,6\n"
    assert len(table(tmp_path, text).hourly) == 4


# Files


def test_a_packed_table_is_known_by_its_first_bytes(tmp_path: Path) -> None:
    assert len(table(tmp_path, gzip.compress(SMALL.encode()), "weather.csv").hourly) == 2
    assert len(table(tmp_path, SMALL, "weather.csv.gz").hourly) == 2


@pytest.mark.parametrize("text", [
    SMALL.encode("utf-8-sig"),
    SMALL.replace("\n", "\r\n").encode(),
    SMALL.replace("\n", "\r").encode(),
    SMALL.rstrip("\n").encode(),
    b"\n" + SMALL.replace("\n", "\n\n  \n").encode(),
])  # fmt: skip
def test_line_ends_marks_and_blank_lines_do_not_matter(tmp_path: Path, text: bytes) -> None:
    assert table(tmp_path, text).hourly["air_c"].tolist() == [8.5, 9.0]


# What the lines above the header say

HEAD = (
    "# A garden that is nowhere\n#issued: 2026-10-17T06:00Z\n# Source: invented: by hand\n"
    "# link: https://weather.example/\n# latitude: 52.25\n# longitude: -1.5\n# elevation: 213 m\n"
)


def test_the_head_says_who_where_and_when(tmp_path: Path) -> None:
    forecast = table(tmp_path, HEAD + SMALL)
    assert forecast.source == "table"
    assert forecast.credit == Credit("invented: by hand", "https://weather.example/")
    assert (forecast.latitude_deg, forecast.longitude_deg, forecast.elevation_m) == (52.25, -1.5, 213.0)
    assert forecast.issued_at == datetime(2026, 10, 17, 6, tzinfo=UTC)
    assert forecast.fetched_at == NOW
    assert forecast.notes == ()


def test_a_table_without_an_issue_counts_from_its_reading_and_says_so(tmp_path: Path) -> None:
    forecast = table(tmp_path, SMALL)
    assert forecast.issued_at == forecast.fetched_at == NOW
    assert forecast.fresh_until is None
    assert (forecast.latitude_deg, forecast.longitude_deg, forecast.elevation_m) == (None, None, None)
    assert forecast.credit == Credit("Weather table weather.csv", "")
    assert forecast.notes == ("The table does not say when it was issued; the time it was read is taken for it.",)


def test_an_issue_later_than_the_reading_is_remarked(tmp_path: Path) -> None:
    forecast = table(tmp_path, "# issued: 2026-10-18T06:00Z\n" + SMALL)
    assert forecast.notes == ("The table says it was issued later than the time it was read.",)


def test_latitude_zero_is_a_place(tmp_path: Path) -> None:
    assert table(tmp_path, "# latitude: 0\n# elevation: 0\n" + SMALL).latitude_deg == 0.0


# Members


def test_members_are_apart_from_the_hours_and_in_our_unit(tmp_path: Path) -> None:
    text = "time,air_c,air_c_01,air_f_02\n2026-10-17T06:00Z,8,7.5,50\n2026-10-17T07:00Z,8,7,\n"
    forecast = table(tmp_path, text)
    assert list(forecast.hourly.columns) == list(REQUIRED)
    assert forecast.members is not None
    assert forecast.members["air_c_01"].tolist() == [7.5, 7.0]
    assert forecast.members["air_c_02"].iloc[0] == 10.0
    assert math.isnan(forecast.members["air_c_02"].iloc[1])


def test_members_may_come_at_longer_steps_than_the_hours(tmp_path: Path) -> None:
    rows = "".join(f"2026-10-17T{hour:02d}:00Z,8,{'7.5' if hour % 3 == 0 else ''}\n" for hour in range(7))
    forecast = table(tmp_path, "time,air_c,air_c_01\n" + rows)
    assert len(forecast.hourly) == 7
    assert forecast.members is not None
    assert [stamp.hour for stamp in forecast.members.index] == [0, 3, 6]


def test_members_written_as_unknown_keep_their_row(tmp_path: Path) -> None:
    forecast = table(tmp_path, "time,air_c,air_c_01\n2026-10-17T06:00Z,8,7\n2026-10-17T07:00Z,8,NaN\n")
    assert forecast.members is not None
    assert len(forecast.members) == 2


def test_an_hour_that_nothing_is_known_of_stays_a_gap(tmp_path: Path) -> None:
    text = "time,air_c,air_c_01\n2026-10-17T06:00Z,8,7\n2026-10-17T07:00Z,,\n2026-10-17T08:00Z,8,7\n"
    assert table(tmp_path, text).hourly["air_c"].isna().tolist() == [False, True, False]


def test_empty_member_columns_are_no_members(tmp_path: Path) -> None:
    assert table(tmp_path, "time,air_c,air_c_01\n2026-10-17T06:00Z,8,\n").members is None


# Writing

LIMITS = {
    "humidity_pct": (0.0, 100.0), "rain_mm": (0.0, 300.0), "rain_chance": (0.0, 1.0), "wind_ms": (0.0, 100.0),
    "gust_ms": (0.0, 100.0), "sun_wm2": (0.0, 1400.0), "cloud_pct": (0.0, 100.0),
}  # fmt: skip


def columns_of(names: list[str], rows: int) -> st.SearchStrategy[pd.DataFrame]:
    values = {}
    for name in names:
        least, most = LIMITS.get(name, (-60.0, 59.0))
        value = st.floats(least, most) | st.just(math.nan)
        values[name] = st.lists(value, min_size=rows, max_size=rows)
    return st.fixed_dictionaries(values).map(lambda lists: pd.DataFrame(lists, columns=names, dtype="float64"))


@st.composite
def forecasts(draw: st.DrawFn) -> Forecast:
    start = draw(st.datetimes(datetime(1950, 1, 1), datetime(2150, 1, 1), timezones=st.just(UTC)))  # noqa: DTZ001
    steps = draw(st.lists(st.sampled_from([1, 3, 6]), max_size=6))
    stamps = [start + timedelta(hours=sum(steps[:count])) for count in range(len(steps) + 1)]
    index = pd.DatetimeIndex(stamps).as_unit("us")
    optional = [name for name in (*PERIODS, *PERCENTILES) if name not in REQUIRED]
    extra = draw(st.sets(st.sampled_from(optional)))
    names = [*REQUIRED, *(name for name in optional if name in extra)]
    hourly = draw(columns_of(names, len(index))).set_index(index)
    return Forecast(
        source="invented", credit=Credit("Invented weather", ""), latitude_deg=draw(st.none() | st.floats(-90, 90)),
        longitude_deg=draw(st.none() | st.floats(-180, 180)), elevation_m=draw(st.none() | st.floats(-400, 8000)),
        issued_at=start, fetched_at=NOW, fresh_until=None, hourly=hourly, members=draw(members_of(index)),
    )  # fmt: skip


@st.composite
def members_of(draw: st.DrawFn, index: pd.DatetimeIndex) -> pd.DataFrame | None:
    """Members at some of the hours, or none."""
    kept = draw(st.lists(st.booleans(), min_size=len(index), max_size=len(index)))
    if not any(kept):
        return None
    some = index[np.array(kept)]
    names = [f"air_c_{number:02d}" for number in range(1, draw(st.integers(1, 4)) + 1)]
    return draw(columns_of(names, len(some))).set_index(some)


@given(forecast=forecasts(), suffix=st.sampled_from(["csv", "csv.gz"]))
@settings(deadline=None)
def test_what_is_written_is_read_back(
    forecast: Forecast, suffix: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / f"round.{suffix}"
    write_table(forecast, path)
    again = read_table(path, fetched_at=NOW)
    pd.testing.assert_frame_equal(again.hourly, forecast.hourly, check_exact=True, check_names=False)
    assert (again.members is None) == (forecast.members is None)
    if again.members is not None:
        pd.testing.assert_frame_equal(again.members, forecast.members, check_exact=True, check_names=False)
    for fact in ("credit", "latitude_deg", "longitude_deg", "elevation_m", "issued_at"):
        assert getattr(again, fact) == getattr(forecast, fact)


@pytest.fixture
def small(tmp_path: Path) -> Forecast:
    return table(tmp_path, HEAD + SMALL, "small.csv")


@pytest.mark.parametrize("name", ["weather.csv", "weather.csv.gz"])
def test_the_same_forecast_gives_the_same_bytes(tmp_path: Path, small: Forecast, name: str) -> None:
    write_table(small, tmp_path / name)
    first = (tmp_path / name).read_bytes()
    write_table(small, tmp_path / name)
    assert (tmp_path / name).read_bytes() == first
    assert first.startswith(b"\x1f\x8b") == name.endswith(".gz")


def test_members_named_by_others_are_numbered(tmp_path: Path, small: Forecast) -> None:
    members = pd.DataFrame({"m0": [1.0, 2.0], "m1": [3.0, 4.0]}, index=small.hourly.index)
    write_table(replace(small, members=members), tmp_path / "weather.csv")
    again = read_table(tmp_path / "weather.csv", fetched_at=NOW).members
    assert again is not None
    assert {name: again[name].tolist() for name in again.columns} == {"air_c_01": [1.0, 2.0], "air_c_02": [3.0, 4.0]}


def test_members_at_times_without_hours_are_refused(tmp_path: Path, small: Forecast) -> None:
    late = pd.DataFrame({"air_c_01": [1.0]}, index=small.hourly.index[-1:] + pd.Timedelta(hours=1))
    with pytest.raises(BadTable, match=r"weather\.csv: .*times that its hours do not have"):
        write_table(replace(small, members=late), tmp_path / "weather.csv")


def test_a_column_that_no_table_has_is_refused(tmp_path: Path, small: Forecast) -> None:
    strange = replace(small, hourly=small.hourly.assign(pressure_pa=1e5))
    with pytest.raises(BadTable, match="pressure_pa"):
        write_table(strange, tmp_path / "weather.csv")
    assert not (tmp_path / "weather.csv").exists()


def test_a_failed_write_leaves_the_old_table_and_nothing_else(
    tmp_path: Path, small: Forecast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(source: object, target: object) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / "weather.csv"
    path.write_text("old")
    before = sorted(os.listdir(tmp_path))
    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(BadTable, match=r"weather\.csv: cannot be written: No space"):
        write_table(small, path)
    assert path.read_text() == "old"
    assert sorted(os.listdir(tmp_path)) == before


def test_a_table_cannot_be_written_into_a_folder_that_is_not_there(tmp_path: Path, small: Forecast) -> None:
    with pytest.raises(BadTable, match="cannot be written"):
        write_table(small, tmp_path / "nowhere" / "weather.csv")


def test_a_credit_over_several_lines_becomes_one(tmp_path: Path, small: Forecast) -> None:
    write_table(replace(small, credit=Credit("Invented\nweather", "")), tmp_path / "weather.csv")
    assert read_table(tmp_path / "weather.csv", fetched_at=NOW).credit.text == "Invented weather"


# Real sizes


def test_fifty_one_members_over_sixteen_days_are_read(tmp_path: Path) -> None:
    names = ["air_c", *(f"air_c_{number:02d}" for number in range(51))]
    start = datetime(2026, 10, 17, 12, tzinfo=UTC)
    rows = [f"{(start + timedelta(hours=hour)).isoformat()},{','.join(['8.5'] * 52)}" for hour in range(385)]
    members = table(tmp_path, f"time,{','.join(names)}\n" + "\n".join(rows)).members
    assert members is not None
    assert members.shape == (385, 51)
