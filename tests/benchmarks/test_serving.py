"""The feed under load, beside the smallest answer that the same framework gives under the same settings."""

from __future__ import annotations

import json
import shutil
import statistics
import subprocess
from pathlib import Path

import pytest
import requests
from measure import tell
from serving_process import TARGET, feed, served_by

pytestmark = pytest.mark.benchmark

REQUESTS = 20_000
ROUNDS = 3
CONNECTIONS = 8
LONGEST_S = 120
LOAD = Path(__file__).with_name("load.lua")


def loaded(port: int, answers: int, *headers: str, connections: int = CONNECTIONS) -> dict[str, float]:
    """What wrk saw: so many answers asked for over some connections of this machine."""
    wrk = shutil.which("wrk")
    if wrk is None:
        pytest.skip("not run: wrk is not here (apt-get install wrk)")
    url = f"http://127.0.0.1:{port}{TARGET}"
    options = ["-t1", f"-c{connections}", f"-d{LONGEST_S}s", "--timeout", "10s", "-s", str(LOAD)]
    said = subprocess.run(
        [wrk, *options, url, "--", str(answers), *headers], check=True, capture_output=True, text=True, timeout=2 * LONGEST_S
    )
    (line,) = [line for line in said.stdout.splitlines() if line.startswith("RESULT ")]
    seen = json.loads(line.removeprefix("RESULT "))
    assert seen["errors"] == seen["other"] == 0
    assert seen["ok"] + seen["unchanged"] >= answers
    return {**seen, "per_s": (seen["ok"] + seen["unchanged"]) / seen["s"]}


def tag(port: int, encoding: str) -> str:
    answer = requests.get(f"http://127.0.0.1:{port}{TARGET}", headers={"Accept-Encoding": encoding}, timeout=10)
    assert answer.content == feed()
    return answer.headers["etag"]


def test_twenty_thousand_feed_requests_end_without_an_error_and_cost_little_more_than_an_empty_answer():
    each = REQUESTS // ROUNDS + 1
    ratios: dict[str, list[float]] = {"304": [], "200 packed": [], "200 plain": []}
    with served_by("feed") as (ours, _), served_by("empty") as (empty, _):
        packed = ["Accept-Encoding=gzip"]
        for _ in range(ROUNDS):
            least = loaded(empty, each)["per_s"]
            unchanged = loaded(ours, each, *packed, f"If-None-Match={tag(ours, 'gzip')}")
            assert unchanged["ok"] == 0
            ratios["304"].append(unchanged["per_s"] / least)
            ratios["200 packed"].append(loaded(ours, each, *packed)["per_s"] / least)
            whole = loaded(ours, each)
            assert whole["bytes"] > whole["ok"] * len(feed())
            ratios["200 plain"].append(whole["per_s"] / least)
    for what, found in ratios.items():
        aim = "at least 0.7" if what == "304" else "told, not aimed"
        tell(f"{what}: requests a second / those of an empty answer", statistics.median(found), aim)
    assert statistics.median(ratios["304"]) >= 0.7


@pytest.mark.parametrize("connections", [1, CONNECTIONS])
def test_while_the_process_computes_the_slowest_in_a_hundred_still_waits_little(connections):
    with served_by("feed") as (idle_port, _):
        idle = loaded(idle_port, 1000, "Accept-Encoding=gzip", connections=connections)
    with served_by("busy") as (busy_port, _):
        busy = loaded(busy_port, 1000, "Accept-Encoding=gzip", connections=connections)
    tell(f"{connections} at once: 99th percentile of the wait, idle [ms]", idle["p99_ms"], "told, not aimed")
    tell(f"{connections} at once: the same while a thread computes [ms]", busy["p99_ms"], "told, not aimed")
    tell(f"{connections} at once: median wait while a thread computes [ms]", busy["p50_ms"], "told, not aimed")
    assert busy["p99_ms"] < 1000
