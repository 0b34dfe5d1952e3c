"""Invented weather: always the same for the same day, and always worth a try."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from astral import Observer
from astral.sun import elevation
from hypothesis import given, settings
from hypothesis import strategies as st

from providers.forecast import REQUIRED, Forecast
from providers.sample import sample_forecast

CEILING_C = (60.0 - 32.0) / 1.8
ZONES = ("Europe/London", "America/Toronto", "Australia/Lord_Howe", "Asia/Kolkata", "Pacific/Chatham", "UTC")
ZONE = ZoneInfo("Europe/London")
LATITUDE_DEG, LONGITUDE_DEG = 51.0, -1.0
DAYS = 400


def sample_at(now: datetime, zone: ZoneInfo = ZONE) -> Forecast:
    return sample_forecast(now, zone=zone, latitude_deg=LATITUDE_DEG, longitude_deg=LONGITUDE_DEG)


def local(day: date, hour: int, minute: int = 0, zone: ZoneInfo = ZONE) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone).astimezone(UTC)


@dataclass(frozen=True)
class InventedNight:
    """What a reader of the hours can see of one night, lit on the hour between 16:00 and 22:00 for 12 hours."""

    ahead: int
    """Days from the first noon."""
    best_peak_c: float
    """Warmest air of the lighting for which it is least; NaN where hours are unknown."""
    least_c: float
    """Coldest known air of the whole night."""
    evening_to_morning_c: float
    """Warmest air from 16:00 to 08:30."""
    unknown_hours: int


def nights_of(forecast: Forecast) -> list[InventedNight]:
    air = forecast.hourly["air_c"].to_numpy()
    clock = forecast.hourly.index.tz_convert(ZONE).to_pydatetime()
    place = {(stamp.date(), stamp.hour): number for number, stamp in enumerate(clock)}
    return [night_of(air, place, clock[0].date(), ahead) for ahead in range(16)]


def night_of(air: np.ndarray, place: dict[tuple[date, int], int], first: date, ahead: int) -> InventedNight:
    evening, morning = first + timedelta(days=ahead), first + timedelta(days=ahead + 1)
    lightings = [place[evening, hour] for hour in range(16, 23)]
    whole = air[place[evening, 12] : place.get((morning, 12), len(air)) + 1]  # the last night may lack an hour
    return InventedNight(
        ahead,
        best_peak_c=float(np.min([air[light : light + 13].max() for light in lightings])),
        least_c=float(np.nanmin(whole)),
        evening_to_morning_c=float(air[place[evening, 16] : place[morning, 9] + 1].max()),
        unknown_hours=int(np.isnan(whole).sum()),
    )


@pytest.fixture(scope="module")
def days() -> list[list[InventedNight]]:
    start = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    return [nights_of(sample_at(start + timedelta(days=number))) for number in range(DAYS)]


# What a newcomer must be able to see, whatever the day


def test_frozen_fish_can_always_make_a_cold_night(days: list[list[InventedNight]]) -> None:
    for nights in days:
        cold = [night for night in nights if night.ahead >= 4 and night.evening_to_morning_c <= 11.0]
        assert cold, nights


def test_there_are_always_two_spells_of_nights_above_the_usual_ceiling(days: list[list[InventedNight]]) -> None:
    for nights in days:
        warm = [night.ahead for night in nights if night.least_c > CEILING_C]
        spells = [ahead for ahead in warm if ahead - 1 not in warm]
        assert len(spells) >= 2, nights


def test_there_is_always_a_night_that_only_just_holds(days: list[list[InventedNight]]) -> None:
    for nights in days:
        close = [night for night in nights if CEILING_C - 2.0 <= night.best_peak_c <= CEILING_C]
        assert close, nights


def test_one_later_cold_night_has_a_gap_of_four_hours(days: list[list[InventedNight]]) -> None:
    for nights in days:
        gaps = [night for night in nights if night.unknown_hours]
        assert [night.unknown_hours for night in gaps] == [4]
        assert gaps[0].ahead >= 8
        assert np.isnan(gaps[0].best_peak_c)


def test_no_night_is_too_cold_for_smoke(days: list[list[InventedNight]]) -> None:
    assert min(night.least_c for nights in days for night in nights) > 0.0


# The same for the same day


@given(
    now=st.datetimes(min_value=datetime(2020, 1, 1), max_value=datetime(2035, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    zone=st.sampled_from(ZONES).map(ZoneInfo),
)
@settings(max_examples=60, deadline=None)
def test_it_begins_on_the_last_local_noon_and_holds_sixteen_days(now: datetime, zone: ZoneInfo) -> None:
    forecast = sample_at(now, zone)
    index = forecast.hourly.index
    first = index[0].astimezone(zone)
    assert (first.hour, first.minute, first.second) == (12, 0, 0)
    assert index[0] <= now < local(first.date() + timedelta(days=1), 12, zone=zone)
    assert len(index) == 16 * 24 + 1
    assert index[-1] - index[0] == timedelta(hours=384)
    assert (np.diff(index.asi8) == 3600 * 1_000_000).all()


@given(
    minutes=st.integers(0, 24 * 60 - 1), day=st.dates(date(2024, 1, 1), date(2030, 1, 1)), zone=st.sampled_from(ZONES)
)
@settings(max_examples=40, deadline=None)
def test_every_moment_of_a_day_gives_the_same_bytes(minutes: int, day: date, zone: str) -> None:
    noon = local(day, 12, zone=ZoneInfo(zone))
    until = local(day + timedelta(days=1), 12, zone=ZoneInfo(zone))
    now = min(noon + timedelta(minutes=minutes), until - timedelta(microseconds=1))
    once, again = sample_at(noon, ZoneInfo(zone)), sample_at(now, ZoneInfo(zone))
    assert once.hourly.to_csv() == again.hourly.to_csv()
    assert once.issued_at == again.issued_at == noon
    assert once.fresh_until == again.fresh_until == until


def test_the_next_noon_gives_another_forecast() -> None:
    noon = local(date(2026, 10, 17), 12)
    before, after = sample_at(noon - timedelta(seconds=1)), sample_at(noon)
    assert after.hourly.index[0] - before.hourly.index[0] == timedelta(days=1)


def test_tomorrow_agrees_with_today_about_the_air_where_both_know_it() -> None:
    now = datetime(2026, 10, 17, 13, tzinfo=UTC)
    pair = pd.concat([sample_at(now).hourly["air_c"], sample_at(now + timedelta(days=1)).hourly["air_c"]], axis=1)
    known = pair.dropna().to_numpy()
    assert len(known) > 300
    assert (known[:, 0] == known[:, 1]).all()


# Plausible weather


@pytest.fixture(scope="module")
def hours() -> pd.DataFrame:
    """A year and more of invented hours, each once."""
    start = datetime(2026, 3, 1, 13, tzinfo=UTC)
    frames = [sample_at(start + timedelta(days=16 * number)).hourly.iloc[:-1] for number in range(24)]
    return pd.concat(frames)


def test_days_of_the_same_kind_differ_a_little(hours: pd.DataFrame) -> None:
    local_days = hours.index.tz_convert(ZONE).date
    highs = hours["air_c"].groupby(local_days).max().iloc[1:-1]
    kinds = highs.groupby([day.toordinal() % 8 for day in highs.index])
    spread = kinds.max() - kinds.min()
    assert len(spread) == 8
    assert spread.between(0.6, 1.6).all()


def test_dew_point_is_never_above_the_air(hours: pd.DataFrame) -> None:
    known = hours.dropna(subset=["air_c"])
    assert (known["dewpoint_c"] <= known["air_c"]).all()


def test_humidity_agrees_with_air_and_dew_point(hours: pd.DataFrame) -> None:
    # Alduchov and Eskridge (1996), Improved Magnus form: 17.625, 243.04 degC; tolerance: half a per cent of rounding
    known = hours.dropna(subset=["air_c"])
    vapour = {name: np.exp(17.625 * known[name] / (243.04 + known[name])) for name in ("air_c", "dewpoint_c")}
    expected = 100.0 * vapour["dewpoint_c"] / vapour["air_c"]
    assert (known["humidity_pct"] - expected).abs().max() <= 0.55


def test_gusts_are_stronger_than_the_wind(hours: pd.DataFrame) -> None:
    known = hours.dropna(subset=["gust_ms"])
    assert (known["gust_ms"] > known["wind_ms"]).all()


def test_gusts_are_unknown_in_the_last_days_only() -> None:
    frame = sample_at(datetime(2026, 10, 17, 13, tzinfo=UTC)).hourly
    gap = frame["air_c"].isna()
    assert frame["gust_ms"].iloc[288:].isna().all()
    assert frame["gust_ms"].iloc[:288][~gap].notna().all()


def test_a_gap_leaves_no_column_known() -> None:
    frame = sample_at(datetime(2026, 10, 17, 13, tzinfo=UTC)).hourly
    gap = frame[frame["air_c"].isna()]
    assert len(gap) == 4
    assert gap.isna().all(axis=None)


def test_it_rains_in_some_hours_of_every_forecast_and_only_where_rain_was_likely(hours: pd.DataFrame) -> None:
    wet = hours[hours["rain_mm"] > 0.0]
    assert 0.03 < len(wet) / len(hours) < 0.3
    assert wet["rain_chance"].min() >= 0.3
    assert hours["rain_chance"].between(0.0, 1.0).sum() == hours["air_c"].notna().sum()


def test_the_afternoon_is_warmest_and_the_early_morning_coldest(hours: pd.DataFrame) -> None:
    by_hour = hours["air_c"].groupby(hours.index.tz_convert(ZONE).hour).mean()
    assert by_hour.idxmax() in (14, 15, 16)
    assert by_hour.idxmin() in (5, 6, 7)
    assert by_hour.max() - by_hour.min() > 4.0


def test_no_sun_shines_at_night(hours: pd.DataFrame) -> None:
    place = Observer(LATITUDE_DEG, LONGITUDE_DEG)
    down = [elevation(place, stamp + timedelta(minutes=30)) < 0.0 for stamp in hours.index]
    assert hours.loc[down, "sun_wm2"].max() == 0.0


def test_sun_is_weaker_under_cloud() -> None:
    noon = [local(date(2026, 6, 1) + timedelta(days=number), 12) for number in range(16)]
    frame = sample_at(noon[0]).hourly.loc[noon].sort_values("cloud_pct")
    assert frame["cloud_pct"].iloc[0] < 40.0
    assert frame["sun_wm2"].iloc[0] > 1.5 * frame["sun_wm2"].iloc[-1]


@pytest.mark.parametrize("latitude_deg", [-90.0, -66.6, 0.0, 66.6, 90.0])
def test_the_sun_can_be_placed_anywhere_on_earth(latitude_deg: float) -> None:
    now = datetime(2026, 12, 21, 13, tzinfo=UTC)
    forecast = sample_forecast(now, zone=ZONE, latitude_deg=latitude_deg, longitude_deg=180.0)
    assert forecast.hourly["sun_wm2"].between(0.0, 1100.0).sum() == 16 * 24 + 1 - 4


def test_values_are_rounded_as_a_service_rounds_them(hours: pd.DataFrame) -> None:
    for name, places in {"air_c": 1, "rain_mm": 1, "gust_ms": 1, "rain_chance": 2, "humidity_pct": 0}.items():
        assert (hours[name].dropna() == hours[name].dropna().round(places)).all()


# What it says of itself


def test_it_says_that_it_is_invented() -> None:
    forecast = sample_at(datetime(2026, 10, 17, 13, tzinfo=UTC))
    assert forecast.source == "sample"
    assert forecast.notes == ("This weather is invented; it is no forecast.",)
    assert "Invented" in forecast.credit.text
    assert forecast.credit.link == ""
    assert tuple(forecast.hourly.columns) == REQUIRED
    assert forecast.members is None


def test_it_is_never_older_than_a_day() -> None:
    for hour in range(48):
        now = datetime(2026, 10, 24, 13, 59, tzinfo=UTC) + timedelta(hours=hour)
        forecast = sample_at(now)
        assert timedelta(0) <= forecast.age(now) <= timedelta(hours=25)  # the day the clocks go back has 25
        assert not forecast.is_stale(now)
