"""`dry` as people and programs see it, on invented weather."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest
from drying_builders import NOW_S, damp_winter, drying_site, forecast
from planning_builders import ALL_DAY, HOUR_S, NEVER_HOME, moment
from typer.testing import CliRunner

from providers.table import write_table
from scheduler.faces.commands import app
from scheduler.faces.dry_report import dry_json, dry_report
from scheduler.faces.terminal import visible_width
from scheduler.household.batch import Batch
from scheduler.household.process_file import shipped_process
from scheduler.service import Question, dry

if TYPE_CHECKING:
    from pathlib import Path

    from providers.forecast import Forecast
    from scheduler.household.site import Site
    from scheduler.service import DryAnswer

NOW = ["--now", "2026-04-17T14:00-05:00"]
SITE = """\
[site]
name = "Invented yard"
latitude = 45.0
longitude = -75.0
zone = "Etc/GMT+5"

[shelter]
rain = {shelter}
"""


SAMPLED = """\
[site]
name = "Invented yard"
latitude = 45.0
longitude = -70.0
zone = "America/New_York"

[weather]
source = "sample"
"""


def run(*words: str, columns: int = 80) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["dry", *words], env={"COLUMNS": str(columns)}, catch_exceptions=False)
    return done.exit_code, done.stdout


def told(made: Forecast, folder: Path, *more: str, shelter: str = "true", columns: int = 80) -> tuple[int, str]:
    """The answer for a table of this weather at a site of our own."""
    table, site = folder / "hours.csv", folder / "site.toml"
    write_table(made, table)
    site.write_text(SITE.format(shelter=shelter), encoding="utf-8")
    return run("--site", str(site), "--weather", str(table), *NOW, *more, columns=columns)


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_mild_sun_is_soaked_in_the_evening_spread_in_the_morning_and_dry_days_later(tmp_path):
    code, text = told(forecast(), tmp_path)
    assert code == 0
    assert one_line(text).startswith("Soak on Fri 17 Apr 18:15, spread on Sat 18 Apr 06:30; dry by")
    assert "hours in the open" in text


def test_a_damp_winter_is_not_this_weather_and_says_where_the_moisture_stalls(tmp_path):
    code, text = told(damp_winter(), tmp_path)
    assert code == 1
    first = one_line(text).partition("The site")[0]
    assert "sawdust does not dry in this weather" in first.lower()
    assert "18 % is dry enough" in first
    assert "dry by" not in text


@pytest.mark.parametrize("days", [2, 9])
@pytest.mark.parametrize("made", [forecast, damp_winter])
def test_the_sentence_and_the_table_name_the_same_moments(tmp_path, made, days):
    """The spreading is begun at 6:30 and takes 45 minutes; from then on it lies out."""
    _, text = told(made(days), tmp_path)
    assert "spread Sat 18 Apr 06:30, lying out from Sat 18 Apr 07:15" in one_line(text)
    spread = set(re.findall(r"[Ss]pread (?:on )?(\w+ \d+ \w+ [\d:]+)", one_line(text)))
    assert spread == {"Sat 18 Apr 06:30"}
    lies_out = set(re.findall(r"lying out from (\w+ \d+ \w+ [\d:]+)", one_line(text)))
    assert lies_out == {"Sat 18 Apr 07:15"}


def test_what_never_dries_is_counted_from_the_moment_that_the_table_names(tmp_path):
    site = tmp_path / "site.toml"
    site.write_text(SAMPLED, encoding="utf-8")
    _, text = run("--site", str(site), "--now", "2026-11-25T14:57")
    head, _, table = one_line(text).partition("The weather of this answer")
    assert "lying out from Thu 26 Nov 07:15 it still holds" in head
    assert "spread Thu 26 Nov 06:30, lying out from Thu 26 Nov 07:15" in table


def test_two_days_of_forecast_hold_no_spell_and_nothing_is_promised(tmp_path):
    code, text = told(forecast(2), tmp_path)
    assert code == 1
    assert "no spell within this forecast" in one_line(text).lower()


def test_it_is_said_that_radiation_was_estimated_only_where_it_was(tmp_path):
    words = "estimated from cloud cover and the height of the sun"
    assert words in one_line(told(forecast(), tmp_path)[1])
    count = len(forecast().hourly)
    assert words not in one_line(told(forecast(sun_wm2=[200.0] * count), tmp_path)[1])


def test_weather_without_wind_cannot_be_judged(tmp_path):
    count = len(forecast().hourly)
    code, text = told(forecast(wind_ms=[float("nan")] * count), tmp_path)
    assert code == 1
    assert "nothing can be said of drying" in text.lower()


def asked_of(site: Site, made: Forecast, hours_old: float = 2.0) -> DryAnswer:
    """The answer for sawdust that is not soaked yet."""
    now = moment(NOW_S + hours_old * HOUR_S)
    return dry(Question(site, shipped_process("salmon"), Batch(sawdust="none"), made, now))


def test_a_forecast_older_than_two_days_decides_nothing():
    at_home = drying_site()
    assert asked_of(at_home, forecast(), 47.0).dries
    old = asked_of(at_home, forecast(), 60.0)
    assert not old.dries
    assert "60 h old" in dry_report(old, 80, colour=False)


def test_a_household_that_is_never_home_is_told_which_step_fails():
    nobody = asked_of(drying_site(household_hours=NEVER_HOME), forecast())
    assert not nobody.dries
    assert "nobody is at home" in dry_report(nobody, 80, colour=False).splitlines()[0]
    assert dry_json(nobody)["spell"] is None


def test_a_good_spell_that_nobody_is_home_for_is_not_promised():
    weekend = tuple(() if day < 6 else (ALL_DAY,) for day in range(7))
    made = asked_of(drying_site(household_hours=weekend), forecast(4))
    assert not made.dries


def test_under_open_sky_the_hours_to_cover_are_counted(tmp_path):
    rain = [0.0] * len(forecast().hourly)
    rain[24:27] = [0.5] * 3
    text = one_line(told(forecast(rain_mm=rain), tmp_path, shelter="false")[1])
    assert "cover it while it rains (3 hours by day" in text
    assert "your roof" in one_line(told(forecast(), tmp_path)[1])


@pytest.mark.parametrize("columns", [24, 40, 80, 100])
@pytest.mark.parametrize("now", ["2026-04-17T14:00", "2026-10-17T14:00", "2026-12-17T14:00"])
def test_no_line_is_wider_than_the_page(columns, now):
    _, text = run("--sample", "--now", now, columns=columns)
    assert max(map(visible_width, text.splitlines())) <= columns


def test_the_range_of_the_day_it_is_dry_names_its_dates():
    """The two ends may lie more than a week apart, where a weekday alone tells nothing."""
    _, text = run("--sample", "--now", "2026-10-17T14:00")
    assert re.search(r"dry by Tue 27 Oct 14:00 \(Sat 24 Oct \d\d:\d\d to Sat 31 Oct \d\d:\d\d\)", one_line(text))


def chart_rows(text: str) -> list[str]:
    rows = text.partition("is dry enough)\n")[2].partition("\n\n")[0]
    return rows.splitlines()


def test_the_chart_has_a_row_a_day_whose_numbers_never_rise_and_end_dry(tmp_path):
    rows = chart_rows(told(forecast(), tmp_path)[1])
    numbers = [int(row[10:].split()[0]) for row in rows]
    assert numbers == sorted(numbers, reverse=True)
    assert rows[0].startswith("Sat 18 Apr")
    assert rows[-1].endswith("dry")
    bars = [row.count("━") for row in rows]
    assert bars == sorted(bars, reverse=True)
    assert bars[0] > bars[1]


def test_the_sample_is_told_as_invented():
    assert "invented" in run("--sample", "--now", "2026-04-17T14:00")[1]


def test_json_gives_the_same_facts(tmp_path):
    code, text = told(forecast(), tmp_path, "--json")
    got: dict[str, Any] = json.loads(text)
    assert code == 0
    assert list(got) == ["as_of", "site", "forecast", "dries", "spell", "reasons"]
    spell = got["spell"]
    assert list(spell) == [
        "steps", "drying", "out_h", "moisture_at_end", "ready_moisture", "days", "sawdust_g", "area_m2",
    ]  # fmt: skip
    assert [step["name"] for step in spell["steps"]] == ["soak", "spread"]
    assert spell["drying"]["radiation_estimated"] is True
    assert spell["drying"]["quick"] <= spell["drying"]["dry"] <= spell["drying"]["slow"]
    assert spell["steps"][1]["at"] < spell["drying"]["spread"] < spell["drying"]["dry"]
    assert spell["days"][-1]["slow"] <= spell["ready_moisture"]
    assert spell["area_m2"] == 0.18


def test_json_without_a_spell_says_no_and_why(tmp_path):
    code, text = told(damp_winter(), tmp_path, "--json")
    got = json.loads(text)
    assert code == 1
    assert got["dries"] is False
    assert got["spell"]["drying"]["dry"] is None
    assert got["spell"]["moisture_at_end"] > got["spell"]["ready_moisture"]
    assert "does not dry in this weather" in got["reasons"][0]


def test_json_of_weather_that_says_too_little_has_no_spell(tmp_path):
    count = len(forecast().hourly)
    got = json.loads(told(forecast(wind_ms=[float("nan")] * count), tmp_path, "--json")[1])
    assert got["spell"] is None
    assert got["dries"] is False


def test_a_process_that_dries_no_sawdust_is_refused_in_one_line(tmp_path):
    mine = tmp_path / "mine.toml"
    mine.write_text(
        'name = "mine"\ntitle = "Mine"\nfoods = ["salmon"]\n\n'
        '[[step]]\nname = "light"\ntitle = "Light"\nhands_on = "10 min"\n\n'
        '[[step]]\nname = "lift"\ntitle = "Lift"\nhands_on = "10 min"\ncomes_from = "light"\n',
        encoding="utf-8",
    )
    done = CliRunner().invoke(app, ["dry", "--sample", "--process", str(mine), "--now", "2026-04-17T14:00"])
    assert done.exit_code != 0
    assert 'no step whose wait has weather = "drying"' in str(done.exception)


def test_next_tells_by_when_the_sawdust_is_dry_and_the_calendar_beside_its_step(tmp_path):
    words = ["--sample", "--now", "2026-04-17T14:00", "--sawdust", "none"]
    done = CliRunner().invoke(app, ["next", *words], env={"COLUMNS": "80"}, catch_exceptions=False)
    assert "in this weather" in one_line(done.stdout)
    out = tmp_path / "smoke.ics"
    assert CliRunner().invoke(app, ["calendar", str(out), *words], catch_exceptions=False).exit_code == 0
    unfolded = out.read_text(encoding="utf-8").replace("\n ", "")
    spread = next(event for event in unfolded.split("BEGIN:VEVENT") if "SUMMARY:Maybe: Break up" in event)
    assert "dry by" in spread
    assert unfolded.count("in this weather") == 1


def test_next_in_a_damp_winter_says_that_sawdust_does_not_dry():
    words = ["next", "--sample", "--now", "2026-12-17T14:00", "--sawdust", "none"]
    done = CliRunner().invoke(app, words, env={"COLUMNS": "80"}, catch_exceptions=False)
    assert done.exit_code == 1
    assert "sawdust does not dry in this weather" in one_line(done.stdout)
