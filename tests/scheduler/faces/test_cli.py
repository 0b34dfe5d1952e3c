"""The command line without network: answers, JSON, exit codes, states of the fish and the sawdust."""

from __future__ import annotations

import json
import re
import socket
from importlib.metadata import version

import pytest
from command import AT, ROOT, SAMPLE, put_hours
from typer.main import get_command

from scheduler.faces.commands import app
from scheduler.faces.overview import SECTIONS
from scheduler.faces.terminal import visible_width

SINCE = "2026-10-17T12:00"
ASKED = ["as_of", "site", "forecast"]
FORECAST = ["source", "issued_at", "fetched_at", "stale", "attribution"]
NIGHT = ["date", "verdict", "reasons", "light_earliest", "light_best", "light_latest", "lift", "duration_h", "peak_c",
         "peak_at", "low_c", "ceiling_c", "margin_c", "chance", "rain_mm", "gust_ms", "dewpoint_max_c"]  # fmt: skip
PLAN = ["batch", "night", "steps", "sawdust_g", "salt_g", "sugar_g", "cautions"]
STEP = ["name", "at", "earliest", "latest", "spans", "hands_on_min", "done", "note"]
SITE = """\
[site]
name = "invented garden"
latitude = 45.0
longitude = -70.0
zone = "America/New_York"

[sawdust]
store = "900 g"
"""


def answer(shell, *flags):
    """The JSON of `next` for the sample."""
    done = shell.run("next", *SAMPLE, "--json", *flags)
    assert done.err == ""
    return json.loads(done.out)


def steps(shell, *flags):
    """Names of the steps that are done, and of those ahead, in order."""
    planned = answer(shell, *flags)["plan"]["steps"]
    return [s["name"] for s in planned if s["done"]], [s["name"] for s in planned if not s["done"]]


def squeezed(text):
    return " ".join(text.split())


@pytest.fixture
def warm(tmp_path):
    """A table in which no night will do."""
    return put_hours(tmp_path / "warm.csv", 25.0, days=10)


# --- the sample


UNREACHED = (
    "smokenight: open-meteo could not be reached: connection refused; try later,"
    " or without network: --weather FILE.csv\n"
)


@pytest.mark.parametrize("command", [("next",), ("nights",), ("nights", "--why"), ("calendar", "smoke.ics")])
def test_the_sample_is_answered_without_any_connection(shell, tmp_path, monkeypatch, command):
    def refuse(*_):
        raise AssertionError("the sample needs no network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    monkeypatch.chdir(tmp_path)
    assert shell.run(*command, *SAMPLE).code == 0
    assert not shell.site_file.exists()


@pytest.mark.parametrize("command", ["next", "nights"])
def test_the_sample_says_that_it_is_invented(shell, command):
    assert "invented" in shell.run(command, *SAMPLE).out.split("Forecast")[0]


def test_without_a_site_nor_the_sample_both_ways_out_are_named(shell):
    done = shell.run("next")
    assert (done.code, done.out) == (2, "")
    assert f"{shell.site_file}: there is no such file" in done.err
    assert "`smokenight setup`" in done.err
    assert "`--sample`" in done.err


@pytest.mark.parametrize("command", [("next",), ("next", "--json"), ("nights", "--why"), ("nights", "--json")])
def test_the_same_question_is_answered_with_the_same_bytes_whatever_the_machine(shell, command):
    here = shell.run(*command, *SAMPLE)
    shell.more = {"TZ": "Asia/Kathmandu", "PYTHONHASHSEED": "7", "LC_ALL": "C.UTF-8"}
    assert shell.process(*command, *SAMPLE) == here
    assert here.code == 0


def test_the_same_plan_is_the_same_calendar(shell, tmp_path):
    for name in ("one.ics", "two.ics"):
        shell.run("calendar", tmp_path / name, *SAMPLE)
    assert (tmp_path / "one.ics").read_bytes() == (tmp_path / "two.ics").read_bytes()


@pytest.mark.parametrize("columns", ["30", "55", "80", "100"])
def test_no_line_is_wider_than_the_terminal(shell, columns):
    shell.more = {"COLUMNS": columns}
    for command in (("next",), ("nights", "--why"), ("weather",)):
        lines = shell.run(*command, *SAMPLE).out.splitlines()
        assert max(visible_width(line) for line in lines) <= int(columns)


@pytest.mark.parametrize("columns", ["1", "0", "-5", "abc", "99999"])
def test_an_odd_width_is_no_trouble(shell, columns):
    shell.more = {"COLUMNS": columns}
    done = shell.run("next", *SAMPLE)
    assert done.code == 0
    assert max(visible_width(line) for line in done.out.splitlines()) <= 100


# --- JSON


def test_next_as_json_has_the_published_keys(shell):
    found = answer(shell)
    assert list(found) == [*ASKED, "night", "plan", "reasons"]
    assert list(found["forecast"]) == FORECAST
    assert list(found["night"]) == NIGHT
    assert list(found["plan"]) == PLAN
    assert all(list(step) == STEP for step in found["plan"]["steps"])
    assert found["plan"]["night"] == found["night"]


def test_nights_as_json_has_the_published_keys(shell):
    done = shell.run("nights", *SAMPLE, "--json")
    found = json.loads(done.out)
    assert done.code == 0
    assert list(found) == [*ASKED, "nights"]
    assert list(found["forecast"]) == FORECAST
    assert len(found["nights"]) == 16
    assert all(list(night) == NIGHT for night in found["nights"])


def test_without_a_night_the_night_and_the_plan_are_null_and_the_code_is_1(shell, warm):
    done = shell.run("next", *SAMPLE, "--weather", warm, "--json")
    found = json.loads(done.out)
    assert (done.code, found["night"], found["plan"], done.err) == (1, None, None, "")
    assert found["reasons"][0] == "No good night among the 10 coming nights of this forecast."


def test_nights_as_json_without_a_good_one_still_tells_them_all(shell, warm):
    done = shell.run("nights", *SAMPLE, "--weather", warm, "--json")
    assert done.code == 1
    assert {night["verdict"] for night in json.loads(done.out)["nights"]} == {"no"}


# --- exit codes


def test_a_night_is_0_no_night_is_1_a_wrong_question_is_2_and_no_weather_is_3(shell, warm):
    assert shell.run("next", *SAMPLE).code == 0
    assert shell.run("nights", *SAMPLE).code == 0
    assert shell.run("next", *SAMPLE, "--weather", warm).code == 1
    assert shell.run("nights", *SAMPLE, "--weather", warm).code == 1
    assert shell.run("next", *SAMPLE, "--fish", "smoked").code == 2
    assert shell.run("nights", "--sample", "--now", "soon").code == 2


def test_no_weather_is_3_as_a_process_too(shell):
    done = shell.process("next", *SAMPLE, "--weather", "open-meteo")
    assert (done.code, done.out) == (3, "")
    assert done.err == UNREACHED


# --- the calendar


def test_the_calendar_is_written_and_nothing_goes_to_stdout(shell, tmp_path):
    done = shell.run("calendar", tmp_path / "smoke.ics", *SAMPLE, "--batch", "autumn lot")
    assert (done.code, done.out) == (0, "")
    assert done.err.splitlines()[-1] == f"{tmp_path / 'smoke.ics'} is written"
    written = (tmp_path / "smoke.ics").read_text("utf-8")
    assert written.startswith("BEGIN:VCALENDAR")
    assert "autumn lot" in written


def test_without_a_plan_a_calendar_that_is_there_keeps_every_byte(shell, tmp_path, warm):
    kept = b"BEGIN:VCALENDAR\r\nX-OURS:\xff\r\nEND:VCALENDAR"
    (tmp_path / "smoke.ics").write_bytes(kept)
    done = shell.run("calendar", tmp_path / "smoke.ics", *SAMPLE, "--weather", warm)
    assert (done.code, done.out) == (1, "")
    assert done.err.startswith("No good night among the 10 coming nights of this forecast.")
    assert done.err.endswith(f"{tmp_path / 'smoke.ics'} is left as it was\n")
    assert (tmp_path / "smoke.ics").read_bytes() == kept


def test_without_a_plan_no_calendar_is_made(shell, tmp_path, warm):
    done = shell.run("calendar", tmp_path / "smoke.ics", *SAMPLE, "--weather", warm)
    assert done.err.endswith("is not written\n")
    assert not (tmp_path / "smoke.ics").exists()


# --- the moment


@pytest.mark.parametrize("now", ["T14:00", " 14:00", "T14:00-04:00", "T18:00Z", "T23:45+05:45"])
def test_the_moment_is_the_sites_clock_unless_it_says_its_offset(shell, now):
    done = shell.run("next", "--sample", "--now", f"2026-10-17{now}", "--json")
    assert json.loads(done.out)["as_of"] == "2026-10-17T14:00:00-04:00"


def test_an_hour_that_the_clock_shows_twice_can_be_meant_with_its_offset(shell):
    for offset in ("-04:00", "-05:00"):
        done = shell.run("next", "--sample", "--now", f"2026-11-01T01:30{offset}", "--json")
        assert json.loads(done.out)["as_of"] == f"2026-11-01T01:30:00{offset}"


# --- states of the fish and the sawdust


@pytest.mark.parametrize(
    ("flags", "done", "ahead"),
    [
        ((), [], ["thaw", "salt", "rinse", "light"]),
        (("--fish", "frozen"), [], ["thaw", "salt", "rinse", "light"]),
        (("--fish", "fresh", "--farmed"), [], ["salt", "rinse", "light"]),
        (("--fish", "thawing", "--since", SINCE), ["thaw"], ["salt", "rinse", "light"]),
        (("--fish", "thawed", "--since", SINCE), ["thaw"], ["salt", "rinse", "light"]),
        (("--fish", "salted", "--since", SINCE), ["thaw", "salt"], ["rinse", "light"]),
        (("--fish", "rinsed", "--since", SINCE), ["thaw", "salt", "rinse"], ["light"]),
        (("--fish", " Salted ", "--since", SINCE), ["thaw", "salt"], ["rinse", "light"]),
    ],
)
def test_the_steps_ahead_follow_from_where_the_fish_is(shell, flags, done, ahead):
    behind, coming = steps(shell, *flags)
    assert behind == done
    assert coming[: len(ahead)] == ahead


@pytest.mark.parametrize(
    ("flags", "done", "ahead"),
    [
        (("--sawdust", "dry"), [], []),
        (("--sawdust", "none"), [], ["soak", "spread", "store"]),
        (("--sawdust", "soaking", "--sawdust-since", SINCE), ["soak"], ["spread", "store"]),
        (("--sawdust", "drying", "--sawdust-since", SINCE), ["soak", "spread"], ["store"]),
    ],
)
def test_the_steps_ahead_follow_from_where_the_sawdust_is(shell, flags, done, ahead):
    behind, coming = steps(shell, *flags)
    assert behind == done
    assert [name for name in coming if name in ("soak", "spread", "store")] == ahead


def test_what_was_done_stands_in_the_plan_at_its_time(shell):
    planned = answer(shell, "--fish", "salted", "--since", SINCE)["plan"]["steps"]
    assert next(s["at"] for s in planned if s["name"] == "salt") == "2026-10-17T12:00:00-04:00"


def test_salt_sugar_and_sawdust_are_weighed_for_the_fish_at_hand(shell):
    plan = answer(shell, "--weight", "2 kg")["plan"]
    assert (plan["salt_g"], plan["sugar_g"]) == (240.0, 240.0)
    assert plan["sawdust_g"] > 0


def test_a_thicker_pack_is_put_to_thaw_earlier(shell):
    thaw = [answer(shell, "--largest-pack", pack)["plan"]["steps"][0]["at"] for pack in ("2 kg", "4 kg", "9 kg")]
    assert thaw == sorted(thaw, reverse=True)
    assert len(set(thaw)) == 3


# --- what is said of a night


def test_tonight_is_good_but_cannot_be_made_says_both(shell):
    said = squeezed(shell.run("next", *SAMPLE).out)
    assert "Tonight (Sat 17 Oct), Sun 18 Oct and Mon 19 Oct are good too, but cannot be made: the salmon needs" in said
    assert said.startswith("Light on Fri 23 Oct between")


def test_a_borderline_night_is_tentative_and_the_good_ones_that_cannot_be_made_are_not_called_good_too(shell):
    done = shell.run("next", *SAMPLE, "--fish", "thawing", "--since", "2026-10-17T08:00")
    said = squeezed(done.out)
    assert done.code == 0
    assert said.startswith("Tentative: light on Tue 20 Oct")
    assert "The night is borderline: look again before each step." in said
    assert "Mon 19 Oct are good, but cannot be made" in said


def test_fish_that_lay_too_long_is_told_since_when(shell):
    done = shell.run("next", *SAMPLE, "--fish", "salted", "--since", "2026-10-13T12:00")
    assert done.code == 1
    assert "the salmon may wait 60 h after salt (Tue 13 Oct 12:00) at most; rinse would come" in squeezed(done.out)


def test_where_fish_and_sawdust_cannot_meet_both_waits_are_told(shell):
    done = shell.run("next", *SAMPLE, "--fish", "salted", "--since", SINCE, "--sawdust", "none")
    said = squeezed(done.out)
    assert done.code == 1
    assert "cannot be made: the sawdust needs at least 8 h after soak and" in said
    assert "in this weather after spread, before light;" in said
    assert "comes before light" not in said


def test_weather_for_a_site_of_ones_own_is_not_taken_for_an_invented_site(shell, tmp_path):
    (tmp_path / "site.toml").write_text(SITE)
    done = shell.run("next", "--site", tmp_path / "site.toml", "--weather", "sample", *AT)
    assert "The weather of this answer is invented" in done.out
    assert "site and" not in done.out


def test_json_is_escaped_where_the_output_is_no_unicode(shell):
    shell.more = {"PYTHONIOENCODING": "ascii"}
    assert json.loads(shell.process("next", *SAMPLE, "--json").out) == answer(shell)


def test_where_the_forecast_is_too_short_it_says_what_to_start_now_and_from_when_a_night_can_be_picked(shell, tmp_path):
    done = shell.run("next", *SAMPLE, "--weather", put_hours(tmp_path / "short.csv", 8.0, days=2), "--sawdust", "none")
    said = squeezed(done.out)
    assert done.code == 1
    assert "this forecast ends Mon 19 Oct 08:00. A night can be picked from" in said
    assert "when a forecast of this length reaches that far." in said
    assert "The salmon cannot wait for a night once it is begun: do not start it before a night is picked." in said
    assert "To be ready at the earliest Sat 17 Oct 18:15 Soak the pellets, 15 min" in said


def test_fish_that_is_under_way_is_not_held_back(shell, tmp_path):
    table = put_hours(tmp_path / "short.csv", 8.0, days=1)
    done = shell.run("next", *SAMPLE, "--weather", table, "--fish", "thawing", "--since", SINCE)
    assert "To be ready at the earliest" in done.out
    assert "do not start it" not in done.out


def test_a_table_that_ended_is_not_called_short_but_old(shell, tmp_path):
    table = put_hours(tmp_path / "old.csv", 8.0, days=1)
    done = shell.run("next", "--sample", "--now", "2026-10-27T14:00", "--weather", table)
    assert done.code == 1
    assert "this forecast ended Sun 18 Oct 08:00: take a newer one." in squeezed(done.out)
    assert "can be picked" not in done.out


def test_a_site_needs_no_more_than_a_table_of_time_and_air(shell, tmp_path):
    put_hours(tmp_path / "hours.csv", 8.0, days=10)
    (tmp_path / "site.toml").write_text(SITE + '[weather]\nsource = "hours.csv"\n')
    done = shell.run("next", "--site", tmp_path / "site.toml", *AT)
    assert done.code == 0
    assert "invented, to try" not in done.out
    assert "Weather table hours.csv" in done.out


# --- help


COMMANDS = list(get_command(app).commands)


def test_the_overview_tells_every_command_in_one_whole_line(shell):
    overview = shell.run("--help").out
    sections = re.split(r"\n\n(?=\S)", overview[overview.index("To begin:\n") :].rstrip())
    assert [section.splitlines()[0].rstrip(":") for section in sections] == list(SECTIONS)
    listed = [line for section in sections for line in section.split("\n\n")[0].splitlines()[1:]]
    assert sorted(line.split()[0] for line in listed) == sorted(COMMANDS)
    assert [line.split()[0] for line in listed[:3]] == ["setup", "next", "nights"]
    assert all(line.endswith(".") and not line.endswith("...") for line in listed)
    assert shell.run() == shell.run("--help")
    assert "smokenight next --sample" in overview


def test_the_version_is_told_with_the_name(shell):
    assert shell.run("--version").out == f"smokenight {version('smokenight')}\n"
    assert shell.run("--version", "next", "--sample") == shell.run("--version")
    assert "--version" in shell.run("--help").out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_stands_in_the_readme(shell, name):
    done = shell.run(name, "--help")
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith(f"Usage: smokenight {name} ")
    assert shell.run(name, "-h") == done
    assert f"For example: smokenight {name}" in " ".join(done.out.split())
    assert f"\nsmokenight {name} " in (ROOT / "README.md").read_text("utf-8")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_flag_of_every_command_has_help(name):
    for param in get_command(app).commands[name].params:
        assert getattr(param, "help", None), f"{name} {param.name}"


def test_sentences_are_broken_between_words_on_a_terminal_and_stay_whole_in_a_pipe(shell, tmp_path):
    named = ("batch", "new", "--fresh", "--name", "the long side of the fish that uncle brought", "--sample", *AT)
    shell.more = {"COLUMNS": "32"}
    on_terminal, piped = shell.terminal(*named), shell.process(*named)
    assert max(len(line) for line in on_terminal.out.splitlines()) <= 32
    assert on_terminal.out.split() == piped.out.split()
    assert "uncle brought is open: salmon, fresh." in piped.out
