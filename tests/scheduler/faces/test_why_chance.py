"""What `nights --why` says of a chance: where it comes from, the raw count beside it, and the margin hour by hour."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from three_services import ABROAD, addresses

from scheduler.household.site import Limits, Site
from scheduler.household.site_file import write_site
from scheduler.planning.chance import dressed_chance, error_sd_c

if TYPE_CHECKING:
    from pathlib import Path

    from command import Shell
    from loopback import WeatherServer

START = datetime(2026, 10, 20, 12, tzinfo=UTC)
AT = ("--now", "2026-10-20T12:00Z")
COUNT, WARM = 12, 3
"""Members in all, and those of them that go over the ceiling."""


def squeezed(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def put_members(path: Path, *, hours: int = 30) -> Path:
    """Air at 10 °C; members at 11 °C, and a few that warm to 16.5 °C at midnight."""
    names = [f"air_c_{n:02d}" for n in range(1, COUNT + 1)]
    rows = [f"# issued: {START:%Y-%m-%dT%H:%MZ}", ",".join(["time", "air_c", *names])]
    for hour in range(hours + 1):
        warm_c = 16.5 if hour == 12 else 11.0
        members = [f"{warm_c if n < WARM else 11.0}" for n in range(COUNT)]
        rows.append(",".join([f"{START + timedelta(hours=hour):%Y-%m-%dT%H:%MZ}", "10.0", *members]))
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def site(shell: Shell) -> Path:
    file = shell.home / "site.toml"
    write_site(
        Site("Invented yard", ABROAD.latitude_deg, ABROAD.longitude_deg, ABROAD.zone, contact=ABROAD.contact), file
    )
    return file


def test_the_raw_count_stands_beside_the_dressed_chance(shell: Shell, site: Path, tmp_path: Path) -> None:
    flags = ("--site", site, "--weather", put_members(tmp_path / "hours.csv"), *AT)
    night = json.loads(shell.run("nights", "--json", *flags).out)["nights"][0]
    told = squeezed(shell.run("nights", "--why", *flags).out)
    lead_days = (datetime.fromisoformat(night["light_best"]) - START) / timedelta(days=1)
    sd_c = error_sd_c(np.array([lead_days]))
    warmest = np.array([[16.5] * WARM + [11.0] * (COUNT - WARM)])
    assert night["chance"] == pytest.approx(float(dressed_chance(warmest, Limits().ceiling_c, sd_c)[0]), abs=6e-5)
    assert night["chance"] != pytest.approx(1 - WARM / COUNT, abs=0.005)
    assert (
        f"chance from {COUNT} ensemble members, of which {COUNT - WARM} keep to your ceiling,"
        f" widened to the usual error of {sd_c[0]:.1f} °C" in told
    )
    assert f"{100 * night['chance']:.0f} %" in told


def test_the_margin_is_told_at_every_full_hour_from_lighting_to_lift(shell: Shell, site: Path, tmp_path: Path) -> None:
    flags = ("--site", site, "--weather", put_members(tmp_path / "hours.csv"), *AT)
    told = squeezed(shell.run("nights", "--why", *flags).out)
    hours = re.search(r"air and margin by the hour: ((?:\d\d:\d\d [\d.]+ \([\d.]+\)(?:, )?)+)", told)
    assert hours is not None
    found = hours[1].split(", ")
    assert (found[0][:5], found[1][:5], found[-2][:5], found[-1][:5]) == ("16:00", "17:00", "06:00", "06:30")
    assert all(one.endswith("10.0 (5.6)") for one in found)


@pytest.mark.parametrize(
    ("service", "words"),
    [
        ("open-meteo", "chance from 51 ensemble members, of which 51 keep to your ceiling, widened to the usual error"),
        ("met-norway", "chance from the service's own percentiles"),
    ],
)
def test_each_service_tells_its_own_spread(
    shell: Shell, online: WeatherServer, site: Path, service: str, words: str
) -> None:
    shell.more |= addresses(online)
    told = squeezed(shell.run("nights", "--why", "--site", site, "--weather", service, *AT).out)
    assert words in told


def test_past_the_members_the_error_of_one_forecast_is_told(shell: Shell, site: Path, tmp_path: Path) -> None:
    table = put_members(tmp_path / "hours.csv", hours=60)
    lines = table.read_text(encoding="utf-8").splitlines()
    cut = [line if n < 34 else line.partition(",10.0")[0] + ",10.0" + "," * COUNT for n, line in enumerate(lines)]
    table.write_text("\n".join(cut) + "\n", encoding="utf-8")
    told = squeezed(shell.run("nights", "--why", "--site", site, "--weather", table, *AT).out)
    assert "12 ensemble members" in told
    assert re.search(r"chance from one forecast and its usual error, 1\.\d °C at 1\.\d days ahead", told)
