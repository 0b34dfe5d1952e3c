"""Whole-process time of the commands that people type."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from measure import process_ratio, tell

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
