"""Site files that are right: reading, writing, and what stays whole when writing fails."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import BadSetting
from scheduler.household import site_file
from scheduler.household.clock import ever_meet
from scheduler.household.policy import Policy
from scheduler.household.site import Chamber, ClockRange, Limits, Site, Tray
from scheduler.household.site_file import default_site_path, load_site, site_from, site_text, write_site
from scheduler.household.site_text import SECTIONS

SMALLEST = """\
[site]
name = "invented garden"
latitude = 51.25
longitude = -0.5
zone = "Europe/London"
"""

FULL = """\
[site]
name = "invented garden"
latitude = 51
longitude = -0.5
elevation = "700 ft"
zone = "America/New_York"
units = "us"

[shelter]
rain = false
sun = false

[household]
hours = "06:30-22:30"
tuesday = ["06:00-07:30", "17:00-24:00"]
saturday = "08:00-01:30"
sunday = "away"
busy = ["family.ics", "https://calendar.example/secret.ics"]
lighting = "17:30-21:00"

[limits]
ceiling = "58 F"
floor = "30 F"
rain = "0.01 in/h"
gust = "20 mph"

[smoke]
duration = "14 h 30 min"

[verdict]
good = 0.9
borderline = 0.6

[replan]
must_below = 0.3
gain = 0.2
gain_twice = 0.12
gain_committed = 0.25
runs_apart = "12 h"
lock = "1 d"
move_every = "2 d"
ignore = "20 min"
ignore_committed = "1 h 30 min"
hysteresis = 0.05
go = 0.7
floor_slack = "3.6 F"
begin = 0.75

[chamber]
material = "metal"
volume = "53 gal"
rise = "9 F"
holds = "11 lb"

[tray]
holds = "1 lb"
fronts = 2

[sawdust]
store = "2 lb"

[fridge]
temperature = "38 F"

[keep]
days = 4

[rules]
parasites = "eu"

[weather]
source = "weather/autumn.csv"
contact = "curer@example.org"
"""

ZONES = ["Europe/London", "America/New_York", "Asia/Kathmandu", "Australia/Lord_Howe", "UTC"]


def site(**changes: object) -> Site:
    """A site nowhere in particular."""
    return replace(Site("invented garden", 51.25, -0.5, ZoneInfo("Europe/London")), **changes)


def test_four_keys_are_enough_and_the_rest_is_usual():
    assert site_from(SMALLEST.encode(), "site.toml") == site()


def test_every_key_is_read_into_its_field(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(FULL, encoding="utf-8")
    read = load_site(path)
    usual = (ClockRange(390, 1350),)
    assert read == Site(
        name="invented garden",
        latitude_deg=51.0,
        longitude_deg=-0.5,
        zone=ZoneInfo("America/New_York"),
        elevation_m=700 * 0.3048,
        rain_shelter=False,
        sun_shelter=False,
        units="us",
        household_hours=(
            usual,
            (ClockRange(360, 450), ClockRange(1020, 1440)),
            *[usual] * 3,
            (ClockRange(480, 90),),
            (),
        ),
        lighting_hours=ClockRange(1050, 1260),
        duration_h=14.5,
        good_chance=0.9,
        borderline_chance=0.6,
        limits=Limits(26 / 1.8, -2 / 1.8, 0.254, pytest.approx(8.9408, rel=1e-12)),
        policy=Policy(0.3, 0.2, 0.12, 0.25, 12.0, 24.0, 48.0, 20.0, 90.0, 0.05, 0.7, 2.0, 0.75),
        busy=("family.ics", "https://calendar.example/secret.ics"),
        chamber=Chamber("metal", 53 * 3.785411784, 5.0, 11 * 453.59237),
        tray=Tray(453.59237, 2),
        sawdust_store_g=2 * 453.59237,
        fridge_c=6 / 1.8,
        eat_within_days=4.0,
        parasite_rule="eu",
        weather="weather/autumn.csv",
        contact="curer@example.org",
    )
    assert isinstance(read.latitude_deg, float)


def test_the_full_example_holds_every_key_but_four_weekdays():
    written = {(section, key) for section, keys in tomllib.loads(FULL).items() for key in keys}
    known = {(section, key) for section, keys in SECTIONS.items() for key in keys}
    weekdays = {("household", day) for day in ("monday", "wednesday", "thursday", "friday")}
    assert known - written == weekdays


@pytest.mark.parametrize(
    ("hours", "ranges"),
    [
        ('"6:30-22:30"', (ClockRange(390, 1350),)),
        ('"06:30 – 22:30"', (ClockRange(390, 1350),)),
        ('"00:00-24:00"', (ClockRange(0, 1440),)),
        ('"18:00-00:00"', (ClockRange(1080, 0),)),
        ('"18:00-24:00"', (ClockRange(1080, 1440),)),
        ('"18:00-02:00"', (ClockRange(1080, 120),)),
        ('["06:00-07:00", "18:00-23:00"]', (ClockRange(360, 420), ClockRange(1080, 1380))),
    ],
)
def test_household_hours_may_be_one_stretch_or_several_and_run_past_midnight(hours, ranges):
    read = site_from(f"{SMALLEST}[household]\nhours = {hours}\n".encode(), "site.toml")
    assert read.household_hours == (ranges,) * 7


def test_a_household_away_on_weekdays_keeps_its_saturday():
    read = site_from(f'{SMALLEST}[household]\nhours = "away"\nsaturday = "08:00-20:00"\n'.encode(), "site.toml")
    assert read.household_hours == ((),) * 5 + ((ClockRange(480, 1200),), ())


def test_sunday_night_reaches_into_monday_when_lighting_is_held_against_the_household():
    sunday_night = ((),) * 6 + ((ClockRange(22 * 60, 3 * 60),),)
    small_hours = ((ClockRange(60, 120),),) * 7
    assert ever_meet(small_hours, sunday_night)
    assert ever_meet(sunday_night, small_hours)
    assert not ever_meet(((ClockRange(4 * 60, 5 * 60),),) * 7, sunday_night)


def test_a_stretch_ends_on_its_own_day_unless_its_end_comes_first():
    half_an_hour = ((ClockRange(600, 630),),) * 7
    past_midnight = ((ClockRange(600, 599),),) * 7
    noon = ((ClockRange(720, 740),),) * 7
    assert not ever_meet(half_an_hour, noon)
    assert ever_meet(past_midnight, noon)


def test_hours_that_touch_in_one_minute_meet():
    assert ever_meet(((ClockRange(0, 60),),) * 7, ((ClockRange(60, 120),),) * 7)


def test_a_byte_order_mark_and_carriage_returns_are_no_obstacle():
    data = b"\xef\xbb\xbf" + SMALLEST.replace("\n", "\r\n").encode()
    assert site_from(data, "site.toml") == site()


@st.composite
def policies(draw: st.DrawFn) -> Policy:
    """Any thresholds that do not contradict each other; what no borderline allows is left as is usual."""
    twice = draw(st.floats(0, 1))
    ignore = draw(st.integers(0, 720))
    hours = st.floats(0, 14 * 24)
    return Policy(
        gain=draw(st.floats(twice, 1)),
        gain_twice=twice,
        gain_committed=draw(st.floats(twice, 1)),
        runs_apart_h=draw(hours),
        lock_h=draw(hours),
        move_every_h=draw(hours),
        ignore_min=float(ignore),
        ignore_committed_min=float(draw(st.integers(ignore, 720))),
        hysteresis=draw(st.floats(0, 1)),
        go=draw(st.floats(0, 1)),
        floor_slack_k=draw(st.floats(0, 5)),
        begin=draw(st.floats(0, 1)),
    )


@st.composite
def sites(draw: st.DrawFn) -> Site:
    """Any site that a site file has words for."""
    minutes = st.integers(0, 1439)
    ranges = st.builds(ClockRange, minutes, st.integers(0, 1440)).filter(lambda r: r.start_min != r.end_min)
    days = st.tuples(*[st.lists(ranges, max_size=3).map(tuple)] * 7).filter(any)
    hours = draw(days)
    met = [r for day in hours for r in day]
    plain = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"))
    line = st.text(plain, min_size=1, max_size=40).filter(str.strip)
    floor = draw(st.floats(-40, 10))
    good = draw(st.floats(0.01, 1))
    return Site(
        name=draw(line),
        latitude_deg=draw(st.floats(-90, 90)),
        longitude_deg=draw(st.floats(-180, 180)),
        zone=ZoneInfo(draw(st.sampled_from(ZONES))),
        elevation_m=draw(st.none() | st.floats(-430, 9000)),
        rain_shelter=draw(st.booleans()),
        sun_shelter=draw(st.booleans()),
        units=draw(st.sampled_from(["metric", "us"])),
        household_hours=hours,
        lighting_hours=draw(st.sampled_from(met)),
        duration_h=draw(st.floats(8, 18)),
        good_chance=good,
        borderline_chance=draw(st.floats(0, good, exclude_max=True)),
        limits=Limits(
            draw(st.floats(floor, 32, exclude_min=True) | st.just(28 / 1.8).filter(lambda c: c > floor)),
            floor,
            draw(st.none() | st.floats(0, 100)),
            draw(st.none() | st.floats(0, 100)),
        ),
        chamber=Chamber(
            draw(st.sampled_from(["metal", "wood", "cardboard"])),
            draw(st.floats(1, 1e5)),
            draw(st.none() | st.floats(0, 40)),
            draw(st.none() | st.floats(1, 1e6)),
        ),
        policy=draw(policies()),
        busy=draw(
            st.lists(
                line.filter(lambda text: "://" not in text) | st.just("https://calendar.example/a"),
                max_size=2,
                unique=True,
            ).map(tuple)
        ),
        tray=Tray(draw(st.floats(1, 20000)), draw(st.sampled_from([1, 2]))),
        sawdust_store_g=draw(st.floats(0, 1e6)),
        fridge_c=draw(st.none() | st.floats(-5, 15)),
        eat_within_days=draw(st.none() | st.floats(0, 10, exclude_min=True)),
        parasite_rule=draw(st.sampled_from(["food-code", "eu"])),
        weather=draw(st.none() | line),
        contact=draw(st.none() | st.sampled_from(["curer@example.org", "https://curer.example/about"])),
    )


@given(sites())
def test_a_site_reads_back_from_its_own_text_exactly(one):
    assert site_from(site_text(one).encode(), "site.toml") == one


@given(sites())
def test_the_same_site_gives_the_same_bytes_and_so_does_what_is_read_back(one):
    text = site_text(one)
    assert site_text(one) == text
    assert site_text(site_from(text.encode(), "site.toml")) == text


def test_written_file_carries_a_note_for_the_reader_and_the_units_that_were_said(tmp_path):
    path = tmp_path / "site.toml"
    write_site(site(elevation_m=213.0, limits=Limits(rain_mm_per_h=0.2)), path)
    text = path.read_text(encoding="utf-8")
    assert 'ceiling = "60 F"  # ' in text
    assert 'floor = "28 F"  # ' in text
    assert 'elevation = "213 m"  # ' in text
    assert 'rain = "0.2 mm/h"  # ' in text
    assert '# gust = "10 m/s"  # ' in text
    assert "good = 0.80  # " in text
    assert load_site(path) == site(elevation_m=213.0, limits=Limits(rain_mm_per_h=0.2))


def test_notes_that_stand_for_absent_keys_are_right_once_the_mark_is_taken_away():
    text = "\n".join(line.removeprefix("# ") if " = " in line else line for line in site_text(site()).split("\n"))
    read = site_from(text.encode(), "site.toml")
    assert read.elevation_m == 213.0
    assert read.limits == Limits(rain_mm_per_h=0.2, gust_ms=10.0)
    assert (read.fridge_c, read.eat_within_days) == (3.5, 3.0)
    assert (read.weather, read.contact) == ("open-meteo", "you@example.org")
    assert (read.policy, read.chamber.holds_g, read.busy) == (Policy(), 5000.0, ("family.ics",))


def test_usual_thresholds_stand_behind_a_mark_and_the_households_own_do_not():
    text = site_text(site(policy=Policy(must_below=0.3, ignore_min=20.0)))
    shown = [line.partition("  #")[0] for line in text.partition("[replan]")[2].partition("[chamber]")[0].splitlines()]
    assert [line for line in shown if " = " in line and not line.startswith("#")] == [
        "must_below = 0.30",
        'ignore = "20 min"',
    ]
    assert "# gain = 0.15" in shown


def test_a_calendar_may_be_one_text_or_a_list_and_phones_write_webcal():
    for written, read in (
        ('"family.ics"', ("family.ics",)),
        ('["webcal://calendar.example/a", "b.ics"]', ("webcal://calendar.example/a", "b.ics")),
    ):
        assert site_from(f"{SMALLEST}[household]\nbusy = {written}\n".encode(), "site.toml").busy == read


def test_writing_makes_the_folder_and_leaves_nothing_beside_the_file(tmp_path):
    path = tmp_path / "new" / "deeper" / "site.toml"
    write_site(site(), path)
    write_site(site(name="renamed"), path)
    assert os.listdir(path.parent) == ["site.toml"]
    assert load_site(path).name == "renamed"


def test_when_the_swap_fails_the_old_file_is_whole_and_nothing_is_left_beside_it(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    write_site(site(), path)

    def fail(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(BadSetting, match=r"site\.toml: cannot be written \(No space left on device\)"):
        write_site(site(name="renamed"), path)
    assert os.listdir(tmp_path) == ["site.toml"]
    assert load_site(path) == site()


@pytest.mark.skipif(os.name == "nt", reason="permission bits and links are those of POSIX")
def test_writing_keeps_the_permissions_and_follows_a_link(tmp_path):
    kept = tmp_path / "kept.toml"
    write_site(site(), kept)
    kept.chmod(0o600)
    link = tmp_path / "link.toml"
    link.symlink_to(kept)
    write_site(site(name="renamed"), link)
    assert link.is_symlink()
    assert load_site(kept).name == "renamed"
    assert kept.stat().st_mode & 0o777 == 0o600


def test_writing_under_a_file_is_refused_in_one_line(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(BadSetting, match=r"cannot be written \(.+\): check the folder"):
        write_site(site(), tmp_path / "file" / "site.toml")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"longest_h": 19.0}, "has no words for"),
        ({"duration_h": 20.0}, "[smoke] duration"),
        ({"name": "two\nlines"}, "not TOML"),
        ({"sawdust_store_g": -1.0}, "below zero"),
        ({"sawdust_store_g": float("nan")}, "not a weight"),
        ({"latitude_deg": float("nan")}, "[site] latitude"),
        ({"weather": ""}, "[weather] source"),
    ],
)
def test_a_site_that_could_not_be_read_back_is_never_written(tmp_path, changes, words):
    path = tmp_path / "site.toml"
    with pytest.raises(BadSetting) as caught:
        write_site(site(**changes), path)
    assert words in str(caught.value)
    assert not path.exists()


def test_default_path_is_in_the_users_config_folder():
    path = default_site_path()
    assert path.is_absolute()
    assert path.name == "site.toml"
    assert "smokenight" in path.parts


def test_reading_a_site_needs_neither_network_nor_database_nor_frames():
    heavy = ("requests", "sqlite3", "typer", "pandas", "platformdirs")
    code = (
        "import sys, scheduler.household.site_file, scheduler.household.process_file\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    root = Path(site_file.__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    assert done.stdout.strip() == "[]"
