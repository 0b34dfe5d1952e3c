"""Dusk, solar midnight and dawn against an independent ephemeris and against published values."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import ephem
import pytest

from scheduler.science.sun import sun_of_night

# What the library's method is good for, as measured against two other codes; beyond 66 degrees only grazing matters.
MINUTE_S = 60.0
FAR_NORTH_S = 120.0

PLACES = {
    "Quito": (-0.18, -78.47, "America/Guayaquil"),
    "Singapore": (1.35, 103.82, "Asia/Singapore"),
    "Sydney": (-33.87, 151.21, "Australia/Sydney"),
    "Denver": (39.74, -104.99, "America/Denver"),
    "Urumqi": (43.83, 87.62, "Asia/Shanghai"),
    "London": (51.50, -0.12, "Europe/London"),
    "Anchorage": (61.22, -149.90, "America/Anchorage"),
    "Reykjavik": (64.15, -21.94, "Atlantic/Reykjavik"),
}
LIMIT_S = {"Anchorage": FAR_NORTH_S, "Reykjavik": FAR_NORTH_S}
GRAZING = {"Anchorage": range(5, 9), "Reykjavik": range(5, 9)}
"""Months near midsummer whose twilights graze the limit, where a small error in height is minutes."""


def noon(day: date, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=zone).astimezone(UTC)


def by_ephem(place: str, night: date) -> dict[str, datetime | None]:
    """Dusk, solar midnight and dawn by PyEphem, without refraction, as civil twilight is defined."""
    latitude_deg, longitude_deg, zone_name = PLACES[place]
    zone = ZoneInfo(zone_name)
    observer = ephem.Observer()
    observer.lat, observer.lon = str(latitude_deg), str(longitude_deg)
    observer.pressure, observer.horizon = 0, "-6"
    start, end = noon(night, zone), noon(night + timedelta(days=1), zone)

    def first(name: str, **options: bool) -> datetime | None:
        observer.date = start.replace(tzinfo=None)
        try:
            found = getattr(observer, name)(ephem.Sun(), **options).datetime().replace(tzinfo=UTC)
        except (ephem.AlwaysUpError, ephem.NeverUpError):
            return None
        return found if found < end else None

    return {
        "dusk": first("next_setting", use_center=True),
        "solar_midnight": first("next_antitransit"),
        "dawn": first("next_rising", use_center=True),
    }


def ours(place: str, night: date) -> dict[str, datetime | None]:
    latitude_deg, longitude_deg, zone = PLACES[place]
    sun = sun_of_night(night, latitude_deg, longitude_deg, ZoneInfo(zone))
    return {"dusk": sun.dusk, "solar_midnight": sun.solar_midnight, "dawn": sun.dawn}


@pytest.mark.parametrize("place", PLACES)
def test_agrees_with_an_independent_ephemeris_through_a_year(place):
    night, nights = date(2025, 1, 1), 0
    while night < date(2026, 1, 1):
        if night.month not in GRAZING.get(place, ()):
            mine = ours(place, night)
            for name, theirs in by_ephem(place, night).items():
                assert theirs is not None
                assert mine[name] is not None, (night, name)
                assert abs((mine[name] - theirs).total_seconds()) <= LIMIT_S.get(place, MINUTE_S), (night, name)
            nights += 1
        night += timedelta(days=3)
    assert nights >= 80


def test_the_dawn_that_passes_midnight_utc_is_not_lost():
    # On this date the library has none under any calendar date; PyEphem has it at 23:58:30 UTC.
    mine, theirs = ours("Urumqi", date(2025, 3, 11)), by_ephem("Urumqi", date(2025, 3, 11))
    assert abs((mine["dawn"] - theirs["dawn"]).total_seconds()) <= MINUTE_S


# Civil dusk, local clock: zenith 96 degrees solved with the solar position algorithm of Reda and Andreas (NREL
# TP-560-34302, 2004) as computed by pvlib 0.16.1's spa_python, which reproduces that report's own example.
@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "zone", "dusk"),
    [
        (51.5, -0.12, "Europe/London", "2025-06-21 22:09:21"),
        (51.5, -0.12, "Europe/London", "2025-01-15 16:59:37"),
        (39.742476, -105.1786, "America/Denver", "2025-10-17 18:45:07"),
        (-33.87, 151.21, "Australia/Sydney", "2025-06-21 17:21:35"),
    ],
)
def test_dusk_agrees_with_the_solar_position_algorithm(latitude_deg, longitude_deg, zone, dusk):
    theirs = datetime.fromisoformat(dusk).replace(tzinfo=ZoneInfo(zone))
    found = sun_of_night(theirs.date(), latitude_deg, longitude_deg, ZoneInfo(zone)).dusk
    assert abs((found - theirs).total_seconds()) <= MINUTE_S


# End of civil twilight in whole minutes UTC: tables of the US Naval Observatory for 2023, as kept in the test
# resources of the library solarpositioning.  A whole minute adds half of one to the tolerance.
@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "zone", "night", "dusk"),
    [
        (-36.84, 174.74, "Pacific/Auckland", date(2023, 6, 15), datetime(2023, 6, 15, 5, 40, tzinfo=UTC)),
        (-15.78, -47.91, "America/Sao_Paulo", date(2023, 12, 15), datetime(2023, 12, 15, 22, 2, tzinfo=UTC)),
        (1.36, 103.9, "Asia/Singapore", date(2023, 3, 15), datetime(2023, 3, 15, 11, 37, tzinfo=UTC)),
    ],
)
def test_dusk_agrees_with_the_naval_observatory(latitude_deg, longitude_deg, zone, night, dusk):
    found = sun_of_night(night, latitude_deg, longitude_deg, ZoneInfo(zone)).dusk
    assert abs((found - dusk).total_seconds()) <= MINUTE_S + 30.0


@pytest.mark.parametrize("night", [date(2020, 1, 15), date(2020, 6, 15)])
def test_polar_night_and_midnight_sun_have_neither_dusk_nor_dawn(night):
    # Longyearbyen on both dates: ALL_NIGHT and ALL_DAY in the Naval Observatory's tables for 2020.
    sun = sun_of_night(night, 78.22, 15.65, ZoneInfo("Arctic/Longyearbyen"))
    assert (sun.dusk, sun.dawn) == (None, None)
    assert 0 <= (sun.solar_midnight - noon(night, ZoneInfo("Arctic/Longyearbyen"))).total_seconds() < 24 * 3600


def test_a_polar_night_with_twilight_has_a_dusk():
    # Tromsø, 27 November: the sun does not rise, but it comes within 6 degrees of the horizon.
    sun = sun_of_night(date(2025, 11, 27), 69.65, 18.96, ZoneInfo("Europe/Oslo"))
    assert sun.dusk.astimezone(ZoneInfo("Europe/Oslo")).hour == 14


@pytest.mark.parametrize(
    ("place", "night"),
    [
        ("Reykjavik", date(2025, 5, 10)),  # dusk on the same evening, dawn before 03:00
        ("Reykjavik", date(2025, 8, 4)),  # dusk minutes before or after midnight
        ("Anchorage", date(2020, 5, 24)),  # dusk at half past midnight, on the next calendar date
        ("Anchorage", date(2020, 7, 20)),
    ],
)
def test_events_past_midnight_belong_to_the_evening_before(place, night):
    mine, theirs = ours(place, night), by_ephem(place, night)
    assert theirs["dusk"] is not None
    for name in mine:
        assert abs((mine[name] - theirs[name]).total_seconds()) <= 2 * FAR_NORTH_S, name
    assert mine["dusk"] < mine["solar_midnight"] < mine["dawn"]


def test_every_night_of_a_northern_spring_has_its_own_dusk():
    # Around the date on which dusk moves past midnight there are two on one calendar date, or none.
    dusks = [ours("Reykjavik", date(2025, 4, 20) + timedelta(days=day))["dusk"] for day in range(25)]
    assert None not in dusks
    gaps = [(later - earlier).total_seconds() / 3600 for earlier, later in pairwise(dusks)]
    assert all(24.0 < gap < 24.3 for gap in gaps)


def test_clocks_going_back_leave_the_sun_where_it_is():
    # Clocks in Denver go back at 2:00 on 2 November 2025: the clock shows an hour less, the sun does not mind.
    before, after = ours("Denver", date(2025, 10, 31)), ours("Denver", date(2025, 11, 2))
    assert abs((after["dusk"] - before["dusk"]).total_seconds() - 48 * 3600) < 180
