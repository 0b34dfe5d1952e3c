"""Whole-process time of the commands that people type."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from measure import ROOT, process_ratio, tell

from providers.sample import sample_forecast
from providers.table import write_table

pytestmark = pytest.mark.benchmark

NOW = datetime(2026, 10, 17, 18, tzinfo=UTC)


def test_next_from_a_saved_table_against_importing_pandas_and_typer(tmp_path):
    table = tmp_path / "hours.csv"
    forecast = sample_forecast(NOW, zone=ZoneInfo("America/New_York"), latitude_deg=45.0, longitude_deg=-70.0)
    write_table(forecast, table)
    command = ["-m", "scheduler", "next", "--sample", "--weather", str(table), "--now", NOW.isoformat()]
    ratio = process_ratio(command, ["-c", "import pandas, typer"])
    tell("next from a saved table / import pandas, typer", ratio, "at most 1.6")


def test_next_that_is_read_back_against_importing_typer_and_rich(tmp_path):
    """The answer was kept a minute ago, its forecast is fresh, and nothing was recorded since."""
    own = ("--sample", "--journal", str(tmp_path / "journal.sqlite"))
    opened = ["batch", "new", *own, "--weight", "1.3 kg", "--now", NOW.isoformat()]
    kept = ["next", *own, "--now", (NOW + timedelta(minutes=1)).isoformat()]
    again = ["-m", "scheduler", "next", *own, "--now", (NOW + timedelta(minutes=2)).isoformat()]
    for command in (opened, kept):
        subprocess.run([sys.executable, "-m", "scheduler", *command], cwd=ROOT, check=True, capture_output=True)
    shown = subprocess.run([sys.executable, *again], cwd=ROOT, check=True, capture_output=True)
    assert b", read back 14:02" in shown.stdout
    ratio = process_ratio(again, ["-c", "import typer, rich.table"])
    tell("next that is read back / import typer, rich.table", ratio, "at most 2.5")
    assert ratio <= 2.5
