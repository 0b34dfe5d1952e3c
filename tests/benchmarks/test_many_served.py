"""A server of many sites: what each costs must not grow with their number.

A thousand take some minutes, ten thousand over an hour.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from measure import ROOT, tell

pytestmark = pytest.mark.benchmark

SIZES = (1, 100, 1_000, 10_000)
MB = 2**20


@cache
def measured(count: int, shared: int) -> dict[str, float]:
    script = Path(__file__).with_name("many_served.py")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests")))}
    command = [sys.executable, str(script), str(count), str(shared)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=4 * 3600)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


@pytest.mark.parametrize("count", SIZES)
def test_many_sites_are_planned_anew_and_answered_meanwhile(count):
    seen = measured(count, 1)
    tell(f"{count} sites: processor time of a full replan, a site [ms]", 1000 * seen["again_cpu_s"] / count, "told")
    tell(f"{count} sites: time by the clock, a site [ms]", 1000 * seen["again_s"] / count, "told")
    tell(f"{count} sites: a look without news, a site [ms]", 1000 * seen["idle_s"] / count, "told")
    tell(f"{count} sites: every feed as it was, at a start, a site [ms]", 1000 * seen["start_s"] / count, "told")
    tell(f"{count} sites: memory held beyond the empty process [MB]", seen["held_bytes"] / MB, "told")
    tell(f"{count} sites, all planned anew: median wait for a feed [ms]", seen["p50_ms"], "told")
    tell(f"{count} sites, all planned anew: 99th percentile of the wait [ms]", seen["p99_ms"], "at most 1000")
    assert seen["p99_ms"] <= 1000


@pytest.mark.parametrize(("fewer", "more"), [(100, 1_000), (1_000, 10_000)])
def test_time_and_memory_of_a_site_do_not_grow_with_their_number(fewer, more):
    few, many = measured(fewer, 1), measured(more, 1)
    for what in ("first_cpu_s", "again_cpu_s", "held_bytes"):
        ratio = many[what] / more / (few[what] / fewer)
        tell(f"{what}: a site of {more:,} / a site of {fewer:,}", ratio, "at most 1.5")
        assert ratio <= 1.5


def test_sites_of_one_cell_share_its_forecast():
    seen = measured(100, 100)
    tell("100 sites in one cell: forecasts asked for in two rounds", seen["asked"], "2")
    assert seen["asked"] == 2
