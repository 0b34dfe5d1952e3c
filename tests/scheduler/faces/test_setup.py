"""`setup`: from flags, from a town's name, and from answers on a terminal."""

from __future__ import annotations

import os
from dataclasses import replace
from zoneinfo import ZoneInfo

import faults
import pytest
import shapes
from command import put_hours
from loopback import json_page

from scheduler.household.site import Chamber, ClockRange, Limits, Site, Tray
from scheduler.household.site_file import load_site
from scheduler.household.units import celsius_from_fahrenheit

SEARCH = "/v1/search"
PLACE = ("--latitude", "45", "--longitude", "-70.5", "--zone", "America/New_York")
SITE = Site("our place", 45.0, -70.5, ZoneInfo("America/New_York"))
TERMINAL = pytest.mark.skipif(os.name == "nt", reason="a terminal of POSIX")


def setup(shell, *flags):
    done = shell.run("setup", *flags)
    assert (done.code, done.out) == (0, f"wrote {shell.site_file}; now ask: smokenight next\n")
    return load_site(shell.site_file)


def refused(shell, *flags, code=2):
    """The last line of a setup that wrote nothing."""
    done = shell.run("setup", *flags)
    assert (done.code, done.out) == (code, "")
    assert not shell.site_file.exists()
    line = done.err.splitlines()[-1]
    assert line.startswith("smokenight: ")
    return line


# --- flags


def test_a_place_is_enough_and_the_rest_takes_its_defaults(shell):
    assert setup(shell, *PLACE) == SITE


def test_every_flag_reaches_its_key(shell):
    flags = {
        "name": "our “shed”", "elevation": "700 ft", "units": "us", "hours": "07:00-23:00", "lighting": "17:00-21:00",
        "ceiling": "58 F", "floor": "30 F", "rain-limit": "0.5 mm/h", "gust-limit": "9 m/s", "duration": "10 h",
        "good": "0.9", "borderline": "0.6", "chamber": "metal", "chamber-volume": "150 l", "tray": "500 g",
        "fronts": "2", "sawdust-store": "2 kg", "fridge": "3.5 C", "keep-days": "4", "weather": "met-norway",
        "contact": "cook@example.org",
    }  # fmt: skip
    given = [part for name, value in flags.items() for part in (f"--{name}", value)]
    days = ("--day", "sunday=away", "--day", "monday=07:00-08:00", "--day", "Monday=16:00-23:00")
    written = setup(shell, *PLACE, *given, *days, "--no-rain-shelter", "--no-sun-shelter")
    usual = (ClockRange(7 * 60, 23 * 60),)
    monday = (ClockRange(7 * 60, 8 * 60), ClockRange(16 * 60, 23 * 60))
    fahrenheit = celsius_from_fahrenheit
    assert written == replace(
        SITE, name="our “shed”", elevation_m=pytest.approx(213.36), units="us", rain_shelter=False, sun_shelter=False,
        household_hours=(monday, *[usual] * 5, ()), lighting_hours=ClockRange(17 * 60, 21 * 60),
        limits=Limits(fahrenheit(58.0), fahrenheit(30.0), 0.5, 9.0), duration_h=10.0, good_chance=0.9,
        borderline_chance=0.6, chamber=Chamber("metal", 150.0), tray=Tray(500.0, 2), sawdust_store_g=2000.0,
        fridge_c=3.5, eat_within_days=4.0, weather="met-norway", contact="cook@example.org",
    )  # fmt: skip


def test_what_is_written_can_be_asked(shell, tmp_path):
    setup(shell, *PLACE, "--sawdust-store", "900 g", "--weather", put_hours(tmp_path / "hours.csv", 8.0, days=10))
    done = shell.run("next", "--now", "2026-10-17T14:00")
    assert (done.code, done.err) == (0, "")


def test_a_table_is_found_from_wherever_the_site_file_lies(shell, tmp_path, monkeypatch):
    put_hours(tmp_path / "hours.csv", 8.0, days=10)
    monkeypatch.chdir(tmp_path)
    assert setup(shell, *PLACE, "--weather", "hours.csv").weather == str(tmp_path / "hours.csv")


def test_another_file_can_be_named_and_the_next_command_is_told_with_it(shell, tmp_path):
    path = tmp_path / "our site.toml"
    done = shell.run("setup", *PLACE, "--out", path)
    assert done.out == f"wrote {path}; now ask: smokenight next --site '{path}'\n"
    assert load_site(path) == SITE
    assert not shell.site_file.exists()


def test_a_site_file_that_is_there_keeps_every_byte(shell):
    setup(shell, *PLACE)
    before = shell.site_file.read_bytes()
    done = shell.run("setup", *PLACE, "--name", "another")
    assert (done.code, done.out) == (2, "")
    assert done.err == (
        f"smokenight: {shell.site_file} is there already; add --replace to write over it, or --out FILE for another\n"
    )
    assert shell.site_file.read_bytes() == before


def test_replace_writes_over_it_but_not_with_something_wrong(shell):
    setup(shell, *PLACE)
    assert setup(shell, *PLACE, "--name", "another", "--replace").name == "another"
    assert shell.run("setup", *PLACE, "--ceiling", "60 C", "--replace").code == 2
    assert load_site(shell.site_file).name == "another"


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        ((), 'add --near "TOWN", or --latitude, --longitude, --zone'),
        (PLACE[:4], 'add --near "TOWN", or --zone'),
        ((*PLACE, "--latitude", "nan"), "[site] latitude: nan is not a finite number"),
        ((*PLACE, "--latitude", "1e999"), "[site] latitude: inf is not a finite number"),
        ((*PLACE, "--good", "80 %"), "--good: '80 %' is no number"),
        ((*PLACE, "--hours", "06:00-12:00"), "[household] lighting"),
        ((*PLACE, "--day", "sunday"), "--day: 'sunday' is no weekday with hours"),
        ((*PLACE, "--ceiling", '60 F"\nfloor = "0 F'), "[limits] ceiling"),
        ((*PLACE, "--contact", "me"), "[weather] contact: 'me'"),
    ],
)
def test_wrong_flags_write_nothing(shell, flags, words):
    assert words in refused(shell, *flags)


# --- a town


@pytest.fixture
def one_town(online):
    """A geocoder that knows one place of that name."""
    found = shapes.open_meteo_places()
    found["results"] = found["results"][:1]
    online.pages[SEARCH] = json_page(found)
    return online


def test_one_match_gives_the_position_the_height_the_zone_and_the_name(shell, one_town):
    written = setup(shell, "--near", "Smokeham")
    assert written == Site("Smokeham", 51.2512, -1.5034, ZoneInfo("Europe/London"), elevation_m=95.0)


def test_what_a_flag_says_is_not_looked_up(shell, one_town):
    written = setup(shell, "--near", "Smokeham", "--name", "shed", "--latitude", "51.3", "--elevation", "120 m")
    assert (written.name, written.latitude_deg, written.longitude_deg) == ("shed", 51.3, -1.5034)
    assert written.elevation_m == 120.0


def test_several_matches_are_listed_with_their_source_and_one_has_to_be_picked(shell, online):
    done = shell.run("setup", "--near", "Smokeham")
    assert (done.code, done.out) == (2, "")
    assert done.err.splitlines() == [
        "places named 'Smokeham' (by GeoNames, by way of Open-Meteo.com):",
        "  1  Smokeham, North Riding of Nowhere, Inventia (51.251, -1.503, 95 m)",
        "  2  Smokeham on Sea (50.900, 0.400)",
        "smokenight: 2 places are named 'Smokeham'; add --pick with the number of yours",
    ]


def test_the_picked_match_is_taken(shell, online):
    assert setup(shell, "--near", "Smokeham", "--pick", "1").latitude_deg == 51.2512
    written = setup(shell, "--near", "Smokeham", "--pick", "2", "--zone", "Europe/London", "--replace")
    assert (written.name, written.latitude_deg, written.elevation_m) == ("Smokeham on Sea", 50.9, None)


def test_a_match_without_a_zone_asks_for_it(shell, online):
    assert refused(shell, "--near", "Smokeham", "--pick", "2").endswith("setup needs more of the place: add --zone")


@pytest.mark.parametrize("pick", ["0", "3", "-1", "two", "", "1" * 5000])
def test_a_pick_that_is_not_on_the_list_is_refused(shell, online, pick):
    assert "choose a number from 1 to 2" in refused(shell, "--near", "Smokeham", "--pick", pick)


def test_no_match_says_what_else_would_do(shell, online):
    line = refused(shell, "--near", "Nowhere")
    assert line.endswith(
        "no place is known by the name 'Nowhere'; try a larger town, or --latitude, --longitude, --zone"
    )


def test_without_a_contact_none_is_sent_and_with_one_it_is(shell, one_town):
    setup(shell, "--near", "Smokeham")
    assert "(" not in one_town.requests[-1].headers["user-agent"]
    assert setup(shell, "--near", "Smokey", "--contact", "cook@example.org", "--replace").contact == "cook@example.org"
    assert one_town.requests[-1].headers["user-agent"].endswith("(cook@example.org)")


def test_a_contact_that_cannot_be_sent_is_refused_before_anything_is(shell, online):
    assert "cannot be sent to a weather service" in refused(shell, "--near", "Smokeham", "--contact", "a(b@example.org")
    assert online.requests == []


def test_a_geocoder_in_trouble_is_3(shell, online):
    online.script(SEARCH, *[faults.status(500)] * 12)
    assert "open-meteo places answered with status 500" in refused(shell, "--near", "Smokeham", code=3)


# --- a terminal


REST = [
    ("metric or us", "\n"), ("awake and at home", "\n"), ("tray be lit", "\n"), ("Warmest outside air", "\n"),
    ("How long is a smoke", "\n"), ("fills the tray", "\n"), ("Dry sawdust at hand", "900 g\n"),
    ("roof keep rain", "\n"),
]  # fmt: skip


@TERMINAL
def test_on_a_terminal_a_town_is_asked_for_and_picked(shell, server):
    shell.more["SMOKENIGHT_PLACES_URL"] = server.url + SEARCH
    done = shell.terminal(
        "setup", answers=[("A town near you", "Smokeham\n"), ("Which [1]", "9\n"), ("Which", "1\n"), *REST]
    )
    assert done.code == 0
    assert "Error: --pick: choose a number from 1 to 2, not '9'" in done.out
    written = load_site(shell.site_file)
    assert (written.name, written.latitude_deg, written.sawdust_store_g) == ("Smokeham", 51.2512, 900.0)


@TERMINAL
def test_a_town_that_is_not_found_or_cannot_be_looked_up_leaves_the_position_to_type(shell, server):
    shell.more["SMOKENIGHT_PLACES_URL"] = server.url + SEARCH
    server.script(SEARCH, faults.in_order, faults.status(404))
    towns = [("A town near you", "Nowhere\n"), ("A town near you", "Elsewhere\n"), ("A town near you", "\n")]
    place = [("Latitude", "45\n"), ("Longitude", "-70.5\n"), ("Time zone", "America/New_York\n")]
    done = shell.terminal("setup", answers=[*towns, *place, *REST])
    assert done.code == 0
    assert "no place is known by the name 'Nowhere'" in done.out
    assert "open-meteo places answered with status 404" in done.out
    assert load_site(shell.site_file) == replace(SITE, sawdust_store_g=900.0)


@TERMINAL
def test_a_wrong_answer_is_told_in_one_line_and_asked_again(shell):
    wrong = [
        ("Latitude", "north\n"), ("Latitude", "95\n"), ("Latitude", "45\n"), ("Longitude", "-70.5\n"),
        ("Time zone", "America/New_Yrk\n"), ("Time zone", "America/New_York\n"), ("metric or us", "imperial\n"),
        ("metric or us", "us\n"), ("awake and at home", "all day\n"), ("awake", "06:00-13:00\n"), ("tray be lit", "\n"),
        ("tray be lit", "10:00-12:00\n"), ("Warmest outside air", "60\n"), ("Warmest outside air", "60 F\n"),
        ("How long is a smoke", "7 h\n"), ("How long is a smoke", "\n"), ("fills the tray", "\n"),
        ("Dry sawdust at hand", "2 l\n"), ("Dry sawdust at hand", "900 g\n"), ("roof keep rain", "n\n"),
        ("Most rain in an hour", "2 %\n"), ("Most rain in an hour", "2 mm/h\n"),
    ]  # fmt: skip
    done = shell.terminal("setup", answers=[("A town near you", "\n"), *wrong])
    assert done.code == 0
    told = [line for line in done.out.splitlines() if line.startswith("Error: ")]
    assert len(told) == 10
    assert told[1] == "Error: 95 lies outside of -90 to 90 degrees"
    written = load_site(shell.site_file)
    assert (written.latitude_deg, written.units, written.limits.rain_mm_per_h) == (45.0, "us", 2.0)
    assert (written.lighting_hours, written.rain_shelter) == (ClockRange(10 * 60, 12 * 60), False)


@TERMINAL
def test_what_flags_say_is_not_asked(shell):
    flags = ("--units", "us", "--hours", "06:00-22:00", "--lighting", "17:00-21:00", "--ceiling", "58 F")
    more = ("--duration", "10 h", "--tray", "400 g", "--sawdust-store", "1 kg", "--rain-shelter")
    done = shell.terminal("setup", *PLACE, *flags, *more)
    assert (done.code, done.out) == (0, f"wrote {shell.site_file}; now ask: smokenight next\n")


@TERMINAL
@pytest.mark.parametrize("key", ["\x03", "\x04"])
def test_whoever_breaks_off_leaves_nothing_behind(shell, key):
    done = shell.terminal("setup", answers=[("A town near you", "\n"), ("Latitude", "45\n"), ("Longitude", key)])
    assert done.code == 130
    assert done.out.endswith("smokenight: stopped before the end; nothing was written\n")
    assert not shell.site_file.exists()
