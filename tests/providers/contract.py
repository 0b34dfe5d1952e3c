"""What every source of weather must keep, whatever its service sends."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from providers.forecast import REQUIRED
from providers.table_columns import AIR, BOUNDS

if TYPE_CHECKING:
    from providers.forecast import Forecast

LONGEST_STEP = pd.Timedelta(hours=6)


def assert_keeps_contract(forecast: Forecast) -> None:
    """Everything that holds for any forecast of any source."""
    assert_hours(forecast.hourly)
    assert set(REQUIRED) <= set(forecast.hourly.columns)
    assert forecast.hourly["air_c"].notna().any()
    for name in forecast.hourly.columns:
        assert_possible(forecast.hourly[name], name)
    if forecast.members is not None:
        assert_members(forecast.members)
    assert forecast.source
    assert forecast.credit.text
    for instant in (forecast.issued_at, forecast.fetched_at, forecast.fresh_until):
        assert instant is None or instant.utcoffset() == timedelta(0)
    assert forecast.issued_at <= forecast.fetched_at
    assert forecast.latitude_deg is None or -90 <= forecast.latitude_deg <= 90
    assert forecast.longitude_deg is None or -180 <= forecast.longitude_deg <= 180
    assert all(note and "\n" not in note for note in forecast.notes)


def assert_hours(frame: pd.DataFrame) -> None:
    """UTC, sorted, each once, steps of at most six hours, numbers throughout, no empty hour at the end."""
    assert str(frame.index.tz) == "UTC"
    assert frame.index.is_monotonic_increasing
    assert frame.index.is_unique
    assert len(frame) > 0
    assert frame.index.to_series().diff().max() <= LONGEST_STEP or len(frame) == 1
    assert (frame.dtypes == np.float64).all()
    assert frame.iloc[-1].notna().any()


def assert_members(members: pd.DataFrame) -> None:
    assert_hours(members)
    for name in members.columns:
        assert_possible(members[name], "air_c")


def assert_possible(column: pd.Series, name: str) -> None:
    """Finite, and within what the quantity can be; NaN is unknown."""
    bounds = BOUNDS.get(name, AIR)
    known = column.dropna()
    least, most = bounds.clip or (bounds.least, bounds.most)
    assert np.isfinite(known).all()
    assert ((known >= least) & (known <= most)).all(), name


class ProviderContract:
    """Subclass it beside an adapter's tests, and give it a good forecast."""

    def good(self) -> Forecast:
        """A forecast made from an answer in the service's usual shape."""
        raise NotImplementedError

    def test_a_good_answer_keeps_the_contract(self) -> None:
        assert_keeps_contract(self.good())

    def test_the_same_answer_gives_the_same_forecast(self) -> None:
        one, other = self.good(), self.good()
        pd.testing.assert_frame_equal(one.hourly, other.hourly)
        assert (one.issued_at, one.fresh_until, one.notes) == (other.issued_at, other.fresh_until, other.notes)

    def test_it_is_fresh_when_fetched(self) -> None:
        forecast = self.good()
        assert not forecast.is_stale(forecast.fetched_at)

    def test_the_credit_names_where_it_leads(self) -> None:
        assert self.good().credit.link.startswith("https://")

    def test_rain_comes_with_the_hour_that_it_starts_in(self) -> None:
        """The invented weather rains from 05:00 to 06:00 UTC and never else, in every service's shape."""
        rain = self.good().hourly["rain_mm"].dropna()
        wet = rain[rain > 0]
        assert len(wet) > 0
        assert set(wet.index.hour) == {5}

    def test_the_air_is_read_at_its_stamp(self) -> None:
        """The invented day is warmest at 15:00 and coldest at 03:00 UTC."""
        day = self.good().hourly["air_c"].iloc[:24]
        assert (day.idxmax().hour, day.idxmin().hour) == (15, 3)
