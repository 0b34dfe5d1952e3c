"""Instants and intervals as services write them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from providers.errors import BadPayload
from providers.iso_times import read_instant, read_interval

NOW = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)


def instant(text):
    return read_instant(text, "stamp", "the service", near=NOW)


def interval(text):
    return read_interval(text, "validTime", "the service", near=NOW)


@pytest.mark.parametrize(
    ("text", "hour"),
    [
        ("2026-10-20T11:00:00Z", 11), ("2026-10-20T11:00:00+00:00", 11), ("2026-10-20T11:00:00-06:00", 17),
        ("2026-10-20T11:00:00.000Z", 11), ("2026-10-20T16:45:00+05:45", 11),
    ],
)  # fmt: skip
def test_an_instant_is_read_in_universal_time(text, hour):
    assert instant(text) == datetime(2026, 10, 20, hour, tzinfo=UTC)
    assert instant(text).utcoffset() == timedelta(0)


@pytest.mark.parametrize(
    "text",
    [
        "", "now", "2026-10-20", "2026-10-20T11:00Z", "2026-10-20T11:00:00", "2026-W43-2T11:00:00Z",
        "20261020T110000Z", "2026-10-20 11:00:00Z", "2026-10-32T11:00:00Z", "2026-10-20T25:00:00Z",
        "2026-10-20T11:00:00+99:00", "0001-01-01T00:00:00+05:00", "٢٠٢٦-10-20T11:00:00Z", "2026-10-20T11:00:00Z\n",
        None, 1792454400, True, ["2026-10-20T11:00:00Z"],
    ],
)  # fmt: skip
def test_anything_else_is_no_instant(text):
    with pytest.raises(BadPayload, match=r"^the service: stamp is .*, not an instant like 2026-") as caught:
        instant(text)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("text", ["2036-10-20T12:00:00Z", "2026-11-29T12:00:01Z", "2026-09-10T11:59:59Z"])
def test_an_instant_of_another_time_is_refused(text):
    with pytest.raises(BadPayload, match="stamp is more than 40 days"):
        instant(text)


@pytest.mark.parametrize(
    ("length", "hours"),
    [("PT1H", 1), ("PT17H", 17), ("PT36H", 36), ("P1D", 24), ("P1DT6H", 30), ("P2DT3H", 51), ("P6DT15H", 159),
     ("P40D", 960), ("PT06H", 6)],
)  # fmt: skip
def test_a_length_is_days_and_hours(length, hours):
    read = interval(f"2026-10-20T06:00:00+00:00/{length}")
    assert (read.start, read.hours) == (NOW - timedelta(hours=6), hours)


@pytest.mark.parametrize(
    "length",
    ["", "P", "PT", "P1W", "P1M", "P1Y", "PT30M", "PT1H30M", "PT3600S", "P1DT", "P1D6H", "PT0H", "P0D", "P-1D", "-P1D",
     "pt1h", "PT1.5H", "PT1,5H", "P1D ", "PT٣H", "P41D", "P999D", "PT99999999999H", "2026-10-21T06:00:00+00:00"],
)  # fmt: skip
def test_any_other_length_is_refused(length):
    with pytest.raises(BadPayload, match=r"validTime lasts '.*', not days and hours like P1DT6H"):
        interval(f"2026-10-20T06:00:00+00:00/{length}")


@pytest.mark.parametrize("text", ["2026-10-20T06:00:00Z", "", None, 5, {}])
def test_an_interval_has_two_parts(text):
    with pytest.raises(BadPayload, match="not an interval like"):
        interval(text)


@pytest.mark.parametrize("start", ["2026-10-20T06:30:00+00:00", "2026-10-20T06:00:01Z", "2026-10-20T06:00:00+05:30"])
def test_an_interval_between_two_hours_is_refused(start):
    with pytest.raises(BadPayload, match="between two hours"):
        interval(f"{start}/PT1H")


@given(st.integers(0, 39), st.integers(0, 23), st.integers(-900, 900))
def test_any_days_and_hours_add_up(days, hours, start):
    first = NOW + timedelta(hours=start)
    if days or hours:
        read = interval(f"{first:%Y-%m-%dT%H:%M:%S}Z/P{days}DT{hours}H")
        assert (read.start, read.hours) == (first, 24 * days + hours)
