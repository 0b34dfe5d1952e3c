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

LEAST_REQUESTS = 20_000
MOST_ROUNDS = 12
ROUND_S = 1
CONNECTIONS = 8
LOAD = Path(__file__).with_name("load.lua")


def loaded(port: int, *headers: str, connections: int = CONNECTIONS) -> dict[str, float]:
    """What wrk saw in one round over some connections of this machine, each asking again as soon as it is answered."""
    wrk = shutil.which("wrk")
    if wrk is None:
        pytest.skip("not run: wrk is not here (apt-get install wrk)")
    options = ["-t1", f"-c{connections}", f"-d{ROUND_S}s", "--timeout", "10s", "-s", str(LOAD)]
    command = [wrk, *options, f"http://127.0.0.1:{port}{TARGET}", "--", *headers]
    said = subprocess.run(command, check=True, capture_output=True, text=True, timeout=60)
    (line,) = [line for line in said.stdout.splitlines() if line.startswith("RESULT ")]
    seen = json.loads(line.removeprefix("RESULT "))
    assert seen["errors"] == seen["other"] == 0
    return {**seen, "per_s": (seen["ok"] + seen["unchanged"]) / seen["s"]}


def tag(port: int, encoding: str) -> str:
    answer = requests.get(f"http://127.0.0.1:{port}{TARGET}", headers={"Accept-Encoding": encoding}, timeout=10)
    assert answer.content == feed()
    return answer.headers["etag"]


def test_twenty_thousand_feed_requests_end_without_an_error_and_cost_little_more_than_an_empty_answer():
    ratios: dict[str, list[float]] = {"304": [], "200 packed": [], "200 plain": []}
    answered = 0.0
    with served_by("feed") as (ours, _), served_by("empty") as (empty, _):
        tagged = ("Accept-Encoding=gzip", f"If-None-Match={tag(ours, 'gzip')}")
        for _ in range(MOST_ROUNDS):
            least = loaded(empty)["per_s"]
            unchanged, packed, plain = loaded(ours, *tagged), loaded(ours, tagged[0]), loaded(ours)
            assert unchanged["ok"] == packed["unchanged"] == plain["unchanged"] == 0
            assert plain["bytes"] > plain["ok"] * len(feed()) > packed["bytes"]
            for what, seen in zip(ratios, (unchanged, packed, plain), strict=True):
                ratios[what].append(seen["per_s"] / least)
                answered += seen["ok"] + seen["unchanged"]
    tell("feed requests answered, none with an error", answered, f"at least {LEAST_REQUESTS}")
    tell("empty answers a second on this machine", least, "told, not aimed")
    for what, found in ratios.items():
        aim = "at least 0.7" if what == "304" else "told, not aimed"
        tell(f"{what}: requests a second / those of an empty answer", statistics.median(found), aim)
    assert answered >= LEAST_REQUESTS
    assert statistics.median(ratios["304"]) >= 0.7


@pytest.mark.parametrize("connections", [1, CONNECTIONS])
def test_while_the_process_computes_the_slowest_in_a_hundred_still_waits_little(connections):
    for what in ("feed", "busy"):
        with served_by(what) as (port, _):
            seen = loaded(port, "Accept-Encoding=gzip", connections=connections)
        tell(f"{what}, {connections} at once: median wait [ms]", seen["p50_ms"], "told, not aimed")
        tell(f"{what}, {connections} at once: 99th percentile of the wait [ms]", seen["p99_ms"], "told, not aimed")
        tell(f"{what}, {connections} at once: answers a second", seen["per_s"], "told, not aimed")
    assert seen["p99_ms"] < 1000
