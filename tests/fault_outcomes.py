"""What becomes of every fault on the way to Open-Meteo: the error or the answer, and how often it is asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import faults

from providers.errors import BadPayload, Refused, Unreachable, WeatherError

if TYPE_CHECKING:
    from loopback import Fault

PATH = "/v1/forecast"


@dataclass(frozen=True)
class Outcome:
    """What becomes of it."""

    error: type[WeatherError] | None
    """None: the forecast comes all the same."""
    says: str = ""
    """Words of the message."""
    asks: int = 1
    """Requests that were made."""
    total_s: float = 30.0
    read_s: float = 5.0
    """The time limits; short where only they end the matter."""


TEN_YEARS_S = 3653 * 86400
TRIES = 3
OUTCOMES: dict[str, tuple[list[Fault], Outcome]] = {
    # trouble that passes
    "500 once": ([faults.status(500)], Outcome(None, asks=2)),
    "503 twice": ([faults.status(503)] * 2, Outcome(None, asks=3)),
    "429 once, no Retry-After": ([faults.reason(429, "Too many concurrent requests")], Outcome(None, asks=2)),
    "429 with Retry-After": ([faults.status(429, retry_after="2")], Outcome(None, asks=2)),
    "silent once": ([faults.silent], Outcome(None, asks=2, read_s=0.5)),
    "301 to a relative address": ([faults.redirect_here], Outcome(None, asks=2)),
    # trouble that does not
    "500 always": ([faults.status(500)] * TRIES, Outcome(Unreachable, "status 500", TRIES)),
    "503 always": ([faults.reason(503, "overloaded")] * TRIES, Outcome(Unreachable, "503: overloaded", TRIES)),
    "429 always": ([faults.reason(429, "try tomorrow")] * TRIES, Outcome(Unreachable, "try tomorrow", TRIES)),
    "429 for an hour": ([faults.status(429, retry_after="3600")], Outcome(Unreachable, "429")),
    "silent always": ([faults.silent] * TRIES, Outcome(Unreachable, "silent for 0.2 s", TRIES, read_s=0.2)),
    "stalled body": ([faults.stalled_body] * TRIES, Outcome(Unreachable, "silent for 0.2 s", TRIES, read_s=0.2)),
    "headers a byte at a time": ([faults.slow_headers], Outcome(Unreachable, "did not finish .* 1 s", total_s=1.0)),
    "body a byte at a time": ([faults.slow_body], Outcome(Unreachable, "did not finish .* 1 s", total_s=1.0)),
    # connections that break, asked once: an earlier answer or another service is nearer
    "reset": ([faults.hang_up], Outcome(Unreachable, "could not be reached")),
    "cut short": ([faults.cut_body], Outcome(BadPayload, "cut short")),
    "not HTTP": ([faults.not_http], Outcome(Unreachable, "could not be reached")),
    # refusals, asked once
    "400 with a reason": ([faults.reason(400, "Latitude must be in range")], Outcome(Refused, "400: Latitude must be")),
    "403": ([faults.status(403)], Outcome(Refused, "status 403")),
    "403 cut short": ([faults.refusal_cut_short], Outcome(Refused, "status 403$")),
    "404 as a web page": ([faults.status(404, faults.HTML)], Outcome(Refused, "404: Sign in to the guest network")),
    "reason with control marks": ([faults.reason(400, "a\x1b[2Jb\r\nc")], Outcome(Refused, r"400: a \[2Jb c")),
    "reason without end": ([faults.reason(400, "x" * 9000)], Outcome(Refused, "400: x{199}…")),
    # redirects that are not followed
    "redirect loop": ([faults.redirect(PATH)] * 9, Outcome(Unreachable, "more than 3 times", 4)),
    "redirect to another host": ([faults.redirect("http://127.0.0.2:9/")], Outcome(Unreachable, "another host")),
    "redirect to nowhere": ([faults.redirect("")], Outcome(Unreachable, "without saying where")),
    # answers that are none
    "304 that nobody asked for": ([faults.not_modified], Outcome(BadPayload, "304")),
    "204": ([faults.status(204)], Outcome(BadPayload, "204")),
    "a web page": ([faults.says(faults.HTML)], Outcome(BadPayload, "web page")),
    "nothing": ([faults.says(b"")], Outcome(BadPayload, "nothing")),
    "bare nan": ([faults.says(faults.NOT_COVERED)], Outcome(BadPayload, "does not cover this place")),
    "a list for an object": ([faults.spoilt(lambda p: [p])], Outcome(BadPayload, "a list where an object")),
    "cut gzip": ([faults.cut_gzip], Outcome(BadPayload, "cut short")),
    "broken gzip": ([faults.broken_gzip], Outcome(BadPayload, "cannot be unpacked")),
    "nested gzip": ([faults.nested_gzip], Outcome(BadPayload, "packed")),
    "200 MB": ([faults.endless], Outcome(BadPayload, "more than 8 MB")),
    "200 MB in 200 kB": ([faults.gzip_bomb], Outcome(BadPayload, "more than 8 MB")),
    "nesting without end": ([faults.says(b'{"a":' * 200_000)], Outcome(BadPayload, "not JSON")),
    "text for numbers": (
        [faults.with_hours("temperature_2m", lambda v: [str(x) for x in v])],
        Outcome(BadPayload, r"temperature_2m\[0\] is a text"),
    ),
    "times repeated": ([faults.with_hours("time", lambda v: [v[0], *v[:-1]])], Outcome(BadPayload, r"time\[1\]")),
    "times unsorted": ([faults.with_hours("time", lambda v: v[::-1])], Outcome(BadPayload, r"time\[1\]")),
    "times ten years off": (
        [faults.with_hours("time", lambda v: [s + TEN_YEARS_S for s in v])],
        Outcome(BadPayload, "40 days"),
    ),
}  # fmt: skip

FAILING = {name: (script, outcome) for name, (script, outcome) in OUTCOMES.items() if outcome.error is not None}
