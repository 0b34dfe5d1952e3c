"""What every forecast must be, whoever made it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pandas as pd
import pytest

from providers.errors import BadPayload
from providers.forecast import REQUIRED, Credit, Forecast

NOW = datetime(2026, 10, 17, 6, tzinfo=UTC)


def make_frame(stamps: list[str] | pd.Index, tz: str | None = "UTC") -> pd.DataFrame:
    index = stamps if isinstance(stamps, pd.Index) else pd.DatetimeIndex(stamps, tz=tz)
    return pd.DataFrame({name: [5.0] * len(index) for name in REQUIRED}, index=index)


def make_forecast(hourly: pd.DataFrame, members: pd.DataFrame | None = None) -> Forecast:
    return Forecast(
        source="invented", credit=Credit("Invented", ""), latitude_deg=None, longitude_deg=None, elevation_m=None,
        issued_at=NOW, fetched_at=NOW, fresh_until=None, hourly=hourly, members=members,
    )  # fmt: skip


HOURS = ["2026-10-17T06:00", "2026-10-17T07:00", "2026-10-17T10:00"]


def test_hours_in_utc_sorted_and_unique_are_taken_at_any_steps() -> None:
    assert list(make_forecast(make_frame(HOURS)).hourly.columns) == list(REQUIRED)


def test_unknown_values_are_taken() -> None:
    frame = make_frame(HOURS)
    frame["gust_ms"] = float("nan")
    assert make_forecast(frame).hourly["gust_ms"].isna().all()


@pytest.mark.parametrize(
    ("frame", "why"),
    [
        pytest.param(make_frame(HOURS, tz=None), "UTC", id="times without a zone"),
        pytest.param(make_frame(HOURS, tz="Europe/London"), "UTC", id="times in another zone"),
        pytest.param(make_frame(pd.RangeIndex(3)), "UTC", id="no times at all"),
        pytest.param(make_frame(HOURS[::-1]), "sorted", id="times backwards"),
        pytest.param(make_frame([HOURS[0], HOURS[0]]), "once", id="a time twice"),
        pytest.param(make_frame(HOURS).iloc[:0], "no hours", id="empty"),
        pytest.param(make_frame(HOURS).drop(columns="gust_ms"), "gust_ms", id="a column missing"),
        pytest.param(make_frame(HOURS).astype({"rain_mm": "int64"}), "rain_mm", id="whole numbers"),
        pytest.param(make_frame(HOURS).astype({"rain_mm": object}), "rain_mm", id="objects"),
        pytest.param(make_frame(HOURS).assign(sky="clear"), "sky", id="words"),
    ],
)
def test_a_frame_outside_the_contract_is_refused(frame: pd.DataFrame, why: str) -> None:
    with pytest.raises(BadPayload, match=why):
        make_forecast(frame)


def test_every_missing_column_is_named() -> None:
    with pytest.raises(BadPayload, match="rain_mm, rain_chance"):
        make_forecast(make_frame(HOURS).drop(columns=["rain_mm", "rain_chance"]))


def test_members_have_hours_of_their_own() -> None:
    members = pd.DataFrame({"air_c_01": [4.0, 5.0]}, index=pd.DatetimeIndex(HOURS[:2], tz="UTC"))
    assert make_forecast(make_frame(HOURS), members).members is members


def test_members_are_held_to_the_same_contract() -> None:
    members = pd.DataFrame({"air_c_01": [4.0, 5.0]}, index=pd.DatetimeIndex(HOURS[:2]))
    with pytest.raises(BadPayload, match="UTC"):
        make_forecast(make_frame(HOURS), members)


def test_age_counts_from_the_issue() -> None:
    assert make_forecast(make_frame(HOURS)).age(NOW + timedelta(hours=5)) == timedelta(hours=5)


def test_a_forecast_is_stale_only_after_the_time_its_source_gave() -> None:
    fresh = replace(make_forecast(make_frame(HOURS)), fresh_until=NOW)
    assert not fresh.is_stale(NOW)
    assert fresh.is_stale(NOW + timedelta(seconds=1))
    assert not make_forecast(make_frame(HOURS)).is_stale(NOW + timedelta(days=9))
