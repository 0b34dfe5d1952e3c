"""Asks a server of this machine for one feed after the other for some seconds and prints how long the answers took."""

from __future__ import annotations

import http.client
import json
import statistics
import sys
import time


def main(port: int, secrets: list[str], seconds: float) -> None:
    link, waits, end = http.client.HTTPConnection("127.0.0.1", port, timeout=30), [], time.monotonic() + seconds
    while time.monotonic() < end:
        for secret in secrets:
            began = time.perf_counter()
            link.request("GET", f"/s/{secret}/smoke.ics", headers={"Accept-Encoding": "gzip"})
            answer = link.getresponse()
            data = answer.read()
            assert answer.status == 200, answer.status
            assert data
            waits.append(time.perf_counter() - began)
    parts = statistics.quantiles(waits, n=100)
    told = {"answers": len(waits), "p50_ms": 1000 * parts[49], "p99_ms": 1000 * parts[98]}
    print(json.dumps(told))  # noqa: T201 - read by who started it


if __name__ == "__main__":
    main(**json.loads(sys.argv[1]))
