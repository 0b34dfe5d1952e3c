"""`smokenight weather`, and what the other commands say of where their weather comes from, over real HTTP."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import faults
import pytest
from loopback import closed_port_url
from three_services import (
    CONTACT,
    ELEVATION_M,
    ENSEMBLE,
    IN_US,
    LATITUDE_DEG,
    LONGITUDE_DEG,
    MET_NORWAY,
    OPEN_METEO,
    PATHS,
    addresses,
    cover_the_place,
    met_norway_warmer_by,
)

from scheduler.household.site import Site
from scheduler.household.site_file import write_site

if TYPE_CHECKING:
    from command import Done, Shell
    from fake_time import FakeTime
    from loopback import WeatherServer

ALWAYS = 9
SITE = Site(
    "Invented yard",
    LATITUDE_DEG,
    LONGITUDE_DEG,
    IN_US.zone,
    elevation_m=ELEVATION_M,
    contact=CONTACT,
    sawdust_store_g=900.0,
)
ABROAD = replace(SITE, latitude_deg=51.25, longitude_deg=-1.5)


class Household:
    """A site file, the services of this machine, and the clock of the tests."""

    def __init__(self, shell: Shell, server: WeatherServer, fake_time: FakeTime) -> None:
        self.shell, self.server, self.time = shell, server, fake_time
        shell.more |= addresses(server)
        cover_the_place(server)
        self.lives(SITE)

    def lives(self, site: Site) -> None:
        self.file = self.shell.home / "site.toml"
        write_site(site, self.file)

    def run(self, command: str, *flags: str) -> Done:
        return self.shell.run(command, "--site", self.file, "--now", self.time.now.isoformat(), *flags)

    def told(self, command: str, *flags: str, code: int = 0) -> str:
        """What is printed, in one line."""
        done = self.run(command, *flags)
        assert (done.code, done.err) == (code, "")
        return " ".join(done.out.replace("\u00a0", " ").split())

    def nights(self, *flags: str) -> dict[str, Any]:
        return json.loads(self.run("nights", "--json", *flags).out)

    def down(self, *names: str) -> None:
        for name in names:
            self.server.script(PATHS[name], *[faults.status(403)] * ALWAYS)


@pytest.fixture
def house(shell: Shell, online: WeatherServer, fake_time: FakeTime) -> Household:
    return Household(shell, online, fake_time)


# What `weather` says.


def test_every_service_is_told_with_what_it_has(house: Household) -> None:
    lines = house.run("weather").out.replace("\u00a0", " ").splitlines()
    assert lines[0] == "open-meteo answers first; 3 of 3 services gave a fresh forecast."
    blocks = " ".join(" ".join(lines).split()).split(" made ")[1:]
    first, second, third = blocks
    for word in (
        "Tue 20 Oct 08:00, 0 min ago",
        "fresh until Tue 20 Oct 09:00",
        "steps 1 h",
        "reaches Wed 4 Nov 13:00, 15.2 days ahead",
        "spread 51 ensemble members",
        "height for 95 m, as your site",
        "credit Weather data by Open-Meteo.com (https://open-meteo.com/)",
        "2 us-nws",
    ):
        assert word in first
    for word in (
        "Tue 20 Oct 06:00, 2 h ago",
        "steps 1 h",
        "spread none; the usual error of forecasts is taken",
        "credit Weather data by NOAA / National Weather Service (https://www.weather.gov/)",
        "3 met-norway",
    ):
        assert word in second
    for word in (
        "Tue 20 Oct 06:00, 2 h ago",
        "fresh until Tue 20 Oct 08:31",
        "steps 1 h then 6 h",
        "spread percentiles of the air",
        "credit Data from MET Norway (https://api.met.no/)",
    ):
        assert word in third


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("trouble", [(), ("open-meteo",), ("open-meteo", "us-nws", "met-norway")])
def test_no_line_is_wider_than_the_page(house: Household, columns: int, trouble: tuple[str, ...]) -> None:
    house.lives(replace(SITE, elevation_m=1200.0))
    house.shell.more["COLUMNS"] = str(columns)
    house.down(*trouble)
    lines = house.run("weather").out.splitlines()
    assert len(lines) > 5
    assert max(map(len, lines)) <= columns


def test_the_order_is_the_site_s(house: Household) -> None:
    house.lives(replace(SITE, weather="met-norway"))
    told = house.told("weather")
    assert told.startswith("met-norway answers first")
    assert told.index("1 met-norway") < told.index("2 open-meteo") < told.index("3 us-nws")


def test_one_that_fails_is_told_and_the_next_answers_first(house: Household) -> None:
    house.down("open-meteo")
    told = house.told("weather")
    assert told.startswith("us-nws answers first; 2 of 3 services gave a fresh forecast.")
    assert "1 open-meteo open-meteo answered with status 403" in told


def test_those_that_are_not_asked_say_why(house: Household) -> None:
    house.lives(replace(ABROAD, contact=None))
    told = house.told("weather")
    assert "2 us-nws it covers the United States only" in told
    assert "3 met-norway it asks for a contact; set one with `smokenight setup --contact`" in told
    assert {seen.path for seen in house.server.requests} == {OPEN_METEO, ENSEMBLE}


def test_without_any_weather_the_code_is_3(house: Household) -> None:
    house.down("open-meteo", "us-nws", "met-norway")
    told = house.told("weather", code=3)
    assert told.startswith("None of 3 services gave a forecast.")
    assert told.count("answered with status 403") == 3


def test_an_old_answer_is_out_of_date_and_answers_last(house: Household) -> None:
    house.run("weather")
    house.time.pass_by(timedelta(hours=3))
    house.down("open-meteo", "us-nws")
    told = house.told("weather")
    assert told.startswith("met-norway answers first; 1 of 3 services gave a fresh forecast.")
    assert "fresh until Tue 20 Oct 09:00, out of date" in told
    assert "Open-meteo answered with status 403; the forecast shown is of 2026-10-20 12:00 UTC." in told
    house.down("met-norway")
    house.time.pass_by(timedelta(hours=3))
    assert house.told("weather").startswith("None of 3 services gave a fresh forecast; the newest at hand answers.")


@pytest.mark.parametrize(
    ("elevation_m", "words"), [(120.0, "for 95 m, 25 m below your site"), (0.0, "for 95 m, 95 m above your site")]
)
def test_the_height_is_told_beside_the_site_s(house: Household, elevation_m: float, words: str) -> None:
    house.lives(replace(SITE, elevation_m=elevation_m))
    assert words in house.told("weather")


def test_steep_country_is_warned_of(house: Household) -> None:
    house.lives(replace(SITE, elevation_m=400.0))
    told = house.told("weather")
    assert "Your site lies 305 m above the height that us-nws forecasts for" in told
    assert "In such terrain valleys hold cold air and slopes shed it" in told
    assert "valleys hold cold air" in house.told("nights")


# What an answer says of its weather.


def test_when_the_first_fails_the_next_answers_and_the_answer_says_so(house: Household) -> None:
    house.down("open-meteo")
    told = house.told("nights")
    assert "Forecast us-nws, made Tue 20 Oct 06:00, 2 h ago" in told
    assert "Open-meteo was passed over: open-meteo answered with status 403." in told
    assert house.nights()["forecast"]["source"] == "us-nws"


def test_a_service_named_in_the_command_is_asked_alone(house: Household) -> None:
    house.down("met-norway")
    done = house.run("nights", "--weather", "met-norway")
    assert (done.code, done.out) == (3, "")
    assert done.err == "smokenight: met-norway answered with status 403\n"
    assert {seen.path for seen in house.server.requests} == {MET_NORWAY}


def test_met_norway_named_without_a_contact_is_a_wrong_question(house: Household) -> None:
    house.lives(replace(SITE, contact=None))
    done = house.run("next", "--weather", "met-norway")
    assert done.code == 2
    assert "smokenight setup --contact" in done.err
    assert house.server.requests == []


def first_night(answer: dict[str, Any]) -> dict[str, Any]:
    return answer["nights"][0]


CLOSE = replace(SITE, limits=replace(SITE.limits, ceiling_c=12.5))
"""The evenings of the invented weather peak two degrees under it."""


def test_an_old_answer_from_disk_shows_its_age_and_a_wider_chance(house: Household) -> None:
    house.lives(CLOSE)
    flags = ("--weather", "us-nws")
    fresh = house.nights(*flags)
    house.time.pass_by(timedelta(hours=5))
    old = house.nights(*flags)
    house.down("us-nws")
    house.time.pass_by(timedelta(hours=2))
    older = house.nights(*flags)
    assert [answer["forecast"]["stale"] for answer in (fresh, old, older)] == [False, False, True]
    told = house.told("nights", "--why", *flags)
    assert "us-nws, made Tue 20 Oct 11:00, 4 h ago Out of date: a newer one should be there." in told
    assert "status 403; the forecast shown is of 2026-10-20 17:00 UTC" in told


def test_the_same_window_from_an_older_forecast_has_a_chance_nearer_to_even(house: Household) -> None:
    house.lives(CLOSE)
    flags = ("--weather", "open-meteo")
    house.server.script(ENSEMBLE, *[faults.status(403)] * ALWAYS)
    house.run("nights", *flags)
    house.down("open-meteo")
    chances = []
    for hours in (2, 36):
        house.time.now = datetime(2026, 10, 20, 12, tzinfo=UTC) + timedelta(hours=hours)
        answer = house.nights(*flags)
        assert answer["forecast"]["stale"]
        chances.append({night["date"]: night["chance"] for night in answer["nights"]}["2026-10-22"])
    assert chances[0] == chances[1], "the lead is counted from when it was made"
    house.server.faults.clear()
    house.server.script(ENSEMBLE, *[faults.status(403)] * ALWAYS)
    renewed = {night["date"]: night["chance"] for night in house.nights(*flags)["nights"]}["2026-10-22"]
    assert 0.5 < chances[0] < renewed < 0.98


def test_an_answer_older_than_two_days_leaves_every_night_unknown(house: Household) -> None:
    flags = ("--weather", "open-meteo")
    house.run("nights", *flags)
    house.down("open-meteo")
    house.time.pass_by(timedelta(hours=48))
    at_the_edge = house.nights(*flags)
    assert {night["verdict"] for night in at_the_edge["nights"]} > {"good"}
    house.time.pass_by(timedelta(minutes=1))
    done = house.run("nights", "--json", *flags)
    assert done.code == 1
    nights = json.loads(done.out)["nights"]
    assert {night["verdict"] for night in nights} == {"unknown"}
    assert "none older than 48 h decides a night" in nights[0]["reasons"][0]


# A second opinion.


def met_norway_at(house: Household, warmer_c: float) -> tuple[str, float, float]:
    """What the first night's reasons say, and the two chances."""
    house.lives(replace(ABROAD, limits=replace(SITE.limits, ceiling_c=14.5)))
    met_norway_warmer_by(house.server, warmer_c)
    own = first_night(house.nights())
    alone = first_night(house.nights("--weather", "met-norway"))
    return " ".join(own["reasons"]), own["chance"], alone["chance"]


def test_chances_more_than_25_points_apart_are_both_shown(house: Household) -> None:
    told, own, theirs = met_norway_at(house, 4.0)
    assert own - theirs > 0.25
    assert (
        f"met-norway sees it otherwise: it gives this night a chance of {100 * theirs:.0f} %,"
        f" open-meteo one of {100 * own:.0f} %" in told
    )
    assert "met-norway sees it otherwise" in house.told("nights", "--why")


def test_chances_less_than_25_points_apart_are_not(house: Household) -> None:
    told, own, theirs = met_norway_at(house, 3.0)
    assert 0.02 < own - theirs < 0.25
    assert "otherwise" not in told


def test_a_second_opinion_that_fails_costs_nothing(house: Household) -> None:
    house.down("met-norway", "us-nws")
    told = house.told("nights")
    assert "Forecast open-meteo" in told
    assert "403" not in told


# Off the network, with the program's own client and clock.


def test_a_process_without_a_network_says_so_quickly(shell: Shell) -> None:
    shell.more["SMOKENIGHT_OPEN_METEO_URL"] = closed_port_url()
    site = shell.home / "site.toml"
    write_site(ABROAD, site)
    began = datetime.now(UTC)
    done = shell.process("weather", "--site", site)
    assert done.code == 3
    assert "open-meteo could not be reached: connection refused" in " ".join(done.out.split())
    assert (datetime.now(UTC) - began).total_seconds() < 20.0
