"""The weather of the simulated month: services that are well for some hours and ill for some, and who counts it."""

from __future__ import annotations

import math
import socket
import threading
from collections import defaultdict
from contextlib import suppress
from dataclasses import replace
from datetime import datetime, timedelta
from email.utils import format_datetime, parsedate_to_datetime
from typing import TYPE_CHECKING

import faults
import feed_house
import shapes_met_norway
import shapes_us_nws  # noqa: F401 - its routes
from loopback import Handler, Page, WeatherServer

if TYPE_CHECKING:
    import random
    from collections.abc import Callable


HOUR, DAY = 3600.0, 86400.0


def air_c(hour: datetime, made: datetime, member: int = 0) -> float:
    """Waves of six days; what is far ahead is told otherwise every six hours."""
    ahead = max((hour - made).total_seconds() / DAY, 0.0)
    telling = int(made.timestamp() // (6 * HOUR))
    wrong = 1.5 * math.sin(1.7 * telling + hour.timestamp() / DAY) * min(ahead / 4, 1.0)
    return round(feed_house.air_c(hour, 8.5) + wrong + 0.2 * math.sin(member) * min(ahead, 4.0), 1)


def slow(handler: Handler, page: Page) -> None:
    """Right, and late."""
    handler.wait(0.2)
    handler.answer(page)


def expires(text: Callable[[datetime], str]) -> Callable[[Handler, Page], None]:
    """The right answer, with another Expires and no max-age, which would outrank it (RFC 9111, section 5.3)."""

    def fault(handler: Handler, page: Page) -> None:
        others = {name: value for name, value in page.headers.items() if name != "Cache-Control"}
        handler.answer(replace(page, headers=others | {"Expires": text(handler.server.service.clock())}))

    return fault


def _in(span: timedelta) -> Callable[[datetime], str]:
    return lambda now: format_datetime(now + span, usegmt=True)


FAULTS = (
    faults.status(500), faults.status(503), faults.status(429, retry_after="20"), faults.status(429, retry_after="900"),
    faults.status(403, b"you are ban"), faults.hang_up, faults.stalled_body, faults.slow_body, faults.cut_body,
    faults.cut_gzip, faults.broken_gzip, faults.nested_gzip, faults.not_http, faults.says(faults.HTML),
    faults.says(b""), faults.says(b"[1, 2"), faults.says(b'{"hourly": 7}'), faults.says(b"null"),
    faults.spoilt(lambda _: []), faults.spoilt(lambda given: dict.fromkeys(given, "x")), faults.redirect_here,
    faults.redirect("http://127.0.0.1:9/elsewhere"), faults.redirect("https://elsewhere.example/"), faults.not_modified,
    faults.refusal_cut_short, slow, slow, faults.in_order, expires(_in(-timedelta(days=2))),
    expires(_in(timedelta(hours=3))), expires(lambda _: "soon"),
)  # fmt: skip
FAR = expires(_in(timedelta(days=30)))
"""Taken at its word for a day."""
LASTING = (faults.stalled_body, faults.slow_body, slow)
"""What keeps a client waiting."""


def _at_once(fault: Callable[[Handler, Page], None]) -> Callable[[Handler, Page], None]:
    """A fault after which the client may ask again before our thread has come to its end."""

    def told(handler: Watched, page: Page) -> None:
        handler.done_with()
        fault(handler, page)

    return told


SERVICE_OF = {"v1": "open-meteo", "points": "us-nws", "gridpoints": "us-nws", "weatherapi": "met-norway"}


class Watched(Handler):
    """Counts who is asked at the same time, and who before the last answer expired."""

    def do_GET(self) -> None:  # noqa: N802 - the name in http.server
        service = self.server.service
        name = SERVICE_OF.get(self.path.split("/")[1], "?")
        with service.lock:
            now = service.clock().timestamp()
            if service.well_until.get(self.path, 0.0) > now + 1.0 and not service.excused:
                service.too_soon.append((self.path.partition("?")[0], service.well_until[self.path] - now))
            service.active[name].add(self)
            waiting = sum(one.is_waited_for() for one in service.active[name])
            service.most_active[name] = max(service.most_active[name], waiting)
        try:
            super().do_GET()
        finally:
            self.done_with()

    def done_with(self) -> None:
        """Before the last byte is sent, as the client may ask again as soon as it has that."""
        service = self.server.service
        with service.lock:
            service.active[SERVICE_OF.get(self.path.split("/")[1], "?")].discard(self)

    def start(self, status: int, headers: dict[str, str]) -> None:
        if status == 304:
            self.done_with()
        super().start(status, headers)

    def is_waited_for(self) -> bool:
        """Whether the client has not given up, or been killed: it closes its end then."""
        try:
            return self.connection.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT) != b""
        except BlockingIOError:
            return True
        except OSError:
            return False

    def answer(self, page: Page) -> None:
        """What it sends in order, holds until it expires."""
        self.done_with()
        super().answer(page)
        when = page.headers.get("Expires")
        with suppress(ValueError, TypeError):
            if page.status == 200 and when is not None:
                span = min((parsedate_to_datetime(when) - self.server.service.clock()).total_seconds(), DAY)
                if not self.server.service.excused:
                    self.server.service.well_until[self.path] = self.server.service.clock().timestamp() + span


class Flapping(WeatherServer):
    """Services that are well for some hours and ill for some, each on its own."""

    def __init__(self, clock: Callable[[], datetime], rng: random.Random) -> None:
        super().__init__(clock)
        self.rng, self.lock = rng, threading.Lock()
        self.ill = True
        """Whether there is any fault at all."""
        self.lies = True
        """Whether an answer may say that it holds for a month."""
        self.excused = False
        """Whether the disk takes nothing, so that no answer can be kept."""
        self.active: dict[str, set[Watched]] = defaultdict(set)
        self.most_active: dict[str, int] = defaultdict(int)
        self.well_until: dict[str, float] = {}
        self.too_soon: list[tuple[str, float]] = []
        self.met_by: dict[str, int] = defaultdict(int)
        self._server.RequestHandlerClass = Watched

    def page(self, path: str, query: dict[str, str]) -> Page:
        page = super().page(path, query)
        spell = int(self.clock().timestamp() // (7 * HOUR)) + hash(path.split("/")[1]) % 3
        if self.ill and self.rng.random() < (0.85 if spell % 3 == 0 else 0.15):
            fault = self.rng.choice((*FAULTS, FAR) if self.lies else FAULTS)
            self.faults[path].append(fault if fault in LASTING else _at_once(fault))
            self.met_by[getattr(fault, "__name__", "?")] += 1
        return page


_ = shapes_met_norway  # its route
