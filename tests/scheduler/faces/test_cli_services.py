"""The command line over real HTTP: what a service on this machine says, and what goes wrong with it."""

from __future__ import annotations

import json
from datetime import timedelta

import faults
import pytest

FORECAST, ENSEMBLE = "/v1/forecast", "/v1/ensemble"
ASK = ("next", "--sample", "--weather", "open-meteo", "--now", "2026-10-20T12:00Z")
"""The moment of the tests' clock."""

UNREACHED = (
    "smokenight: open-meteo could not be reached: connection refused; try later,"
    " or without network: --weather FILE.csv\n"
)

ALWAYS = 12
"""As often as any one command asks, tries again included."""


def no_weather(shell):
    """The one line on stderr of a command that got no weather."""
    done = shell.run(*ASK)
    assert (done.code, done.out) == (3, "")
    assert done.err.startswith("smokenight: open-meteo")
    assert done.err.endswith("\n")
    assert len(done.err.splitlines()) == 1
    assert "Traceback" not in done.err
    return done.err


def test_the_services_forecast_is_answered_with_its_credit(shell, online):
    done = shell.run(*ASK, "--json")
    forecast = json.loads(done.out)["forecast"]
    assert (done.code, done.err) == (0, "")
    assert forecast["source"] == "open-meteo"
    assert "Open-Meteo.com" in forecast["attribution"]
    assert forecast["stale"] is False
    assert [seen.path for seen in online.requests] == [FORECAST, ENSEMBLE]


def test_the_answer_on_disk_serves_the_next_question(shell, online):
    first = shell.run(*ASK)
    assert shell.run("nights", *ASK[1:]).code == 0
    assert shell.run(*ASK) == first
    assert len(online.requests) == 2


def test_the_terminal_names_the_service_and_its_terms(shell, online):
    said = shell.run(*ASK).out
    assert "open-meteo, made Tue 20 Oct 08:00, 0 min ago" in said
    assert "Weather data by Open-Meteo.com (https://open-meteo.com/)" in said
    assert "invented, to try" not in said


def test_without_an_ensemble_there_is_still_an_answer_that_says_so(shell, online):
    online.script(ENSEMBLE, *[faults.status(500)] * ALWAYS)
    done = shell.run(*ASK)
    assert done.code == 0
    assert "No ensemble with this forecast: open-meteo ensemble answered with" in " ".join(done.out.split())


def test_a_site_that_names_no_service_gets_the_first(shell, online):
    flags = ("--latitude", "51.25", "--longitude", "-1.5", "--zone", "Europe/London")
    assert shell.run("setup", *flags, "--sawdust-store", "900 g").code == 0
    done = shell.run("next", "--now", "2026-10-20T12:00Z")
    assert done.code == 0
    assert "open-meteo, made" in done.out


def test_what_was_heard_before_serves_where_the_service_fails_and_the_answer_says_so(shell, online, fake_time):
    assert shell.run(*ASK).code == 0
    fake_time.pass_by(timedelta(hours=3))
    online.script(FORECAST, *[faults.status(503)] * ALWAYS)
    done = shell.run(*ASK[:-1], "2026-10-20T15:00Z")
    assert done.code == 0
    assert "answered with status 503; the forecast shown is of 2026-10-20 12:00 UTC" in " ".join(done.out.split())


def test_nobody_who_listens_is_no_weather(shell):
    assert no_weather(shell) == UNREACHED


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (faults.status(500), "answered with status 500"),
        (faults.status(503, b"<html>down</html>"), "answered with status 503"),
        (faults.status(429), "answered with status 429"),
        (faults.status(404, b"not found"), "answered with status 404"),
        (faults.reason(400, "Latitude must be in range of -90 to 90."), "Latitude must be in range"),
        (faults.reason(400, "two\nlines \x1b[31mand red"), "two lines [31mand red"),
        (faults.says(faults.HTML), "answered with a web page"),
        (faults.says(faults.NOT_COVERED), "does not cover this place"),
        (faults.says(b""), "answered with nothing"),
        (faults.says(b"{}"), "has no"),
        (faults.says(b"[1, 2]"), "answered with a list"),
        (faults.says(b'{"hourly": {'), "cut short"),
        (faults.says(b"\xff\xfe\x00"), "not JSON"),
        (faults.cut_body, "cut short"),
        (faults.broken_gzip, "cannot be unpacked"),
        (faults.nested_gzip, "packed its answer in a way"),
        (faults.hang_up, "could not be reached"),
        (faults.not_http, "open-meteo"),
        (faults.redirect("https://elsewhere.example/"), "redirects to another host"),
        (faults.redirect_here, "redirects more than"),
        (faults.with_hours("temperature_2m", lambda hours: [None] * len(hours)), "nothing but null"),
        (faults.with_hours("temperature_2m", lambda hours: hours[:-1]), "temperature_2m"),
        (faults.with_hours("temperature_2m", lambda hours: ["mild", *hours[1:]]), "temperature_2m"),
        (faults.with_hours("temperature_2m", lambda hours: [999.0, *hours[1:]]), "temperature_2m"),
        (faults.with_hours("time", lambda hours: hours[::-1]), "time"),
    ],
)
def test_a_service_in_trouble_is_no_weather_in_one_line(shell, online, fault, words):
    online.script(FORECAST, *[fault] * ALWAYS)
    assert words in no_weather(shell)


def test_trouble_that_passes_is_not_noticed(shell, online):
    online.script(FORECAST, faults.status(500), faults.status(503))
    assert shell.run(*ASK).code == 0


def test_an_address_that_is_not_encrypted_is_not_asked(shell, monkeypatch):
    shell.more["SMOKENIGHT_OPEN_METEO_URL"] = "http://weather.example/v1/forecast"
    assert "needs https" in shell.run(*ASK).err
    assert shell.run(*ASK).code == 3


def test_weather_tells_of_each_service_and_is_3_where_none_answers(shell, online):
    done = shell.run("weather", "--sample", "--now", "2026-10-20T12:00Z")
    assert done.code == 0
    assert online.requests == []
    site = shell.home / "site.toml"
    shell.run("setup", "--latitude", "51", "--longitude", "0", "--zone", "Europe/London", "--out", site)
    told = shell.run("weather", "--site", site, "--now", "2026-10-20T12:00Z")
    assert told.code == 0
    assert told.out.startswith("open-meteo answers first; 1 of 3 services")
    assert "it covers the United States only" in told.out
    shell.more["SMOKENIGHT_OPEN_METEO_URL"] = online.url + "/nowhere"
    told = shell.run("weather", "--site", site, "--now", "2026-10-20T12:00Z")
    assert told.code == 3
    assert "answers first" not in told.out
    assert "status 404" in told.out
