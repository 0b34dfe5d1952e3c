"""What every test may use: a clock of our own, a weather service on this machine, and no way off it."""

from __future__ import annotations

import ipaddress
import random
import socket
from datetime import timedelta
from email.utils import format_datetime
from typing import TYPE_CHECKING, Any

import pytest
from fake_time import FakeTime
from hypothesis import settings
from loopback import WeatherServer, json_page

from providers.polite_http import Limits, PoliteClient

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

# A slow machine is no failure: how long an example takes decides nothing.
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")

IDENTITY = "smokenight/0 (cook@example.org)"
QUICK = Limits(connect_s=5.0, read_s=5.0, total_s=30.0)
"""Short enough to end a test that hangs, long enough for a slow machine."""


@pytest.fixture(scope="session", autouse=True)
def _stays_on_this_machine() -> Iterator[None]:
    """No test may connect to, or look up, anything but this machine."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", _guarded(socket.socket.connect))
        patch.setattr(socket, "getaddrinfo", _guarded_lookup(socket.getaddrinfo))
        yield


@pytest.fixture
def fake_time() -> FakeTime:
    return FakeTime()


@pytest.fixture
def server(fake_time: FakeTime) -> Iterator[WeatherServer]:
    with WeatherServer(fake_time.clock) as running:
        yield running


@pytest.fixture
def plain(server: WeatherServer, fake_time: FakeTime) -> WeatherServer:
    """The service with a page that holds for half an hour and says when it was made."""
    expires = format_datetime(fake_time.now + timedelta(minutes=30), usegmt=True)
    made = {"Last-Modified": "Tue, 20 Oct 2026 10:02:03 GMT", "ETag": '"a"'}
    server.pages["/plain"] = json_page({"n": 1}, Expires=expires, **made)
    return server


@pytest.fixture
def client(fake_time: FakeTime, tmp_path: Path) -> PoliteClient:
    return PoliteClient(
        identity=IDENTITY,
        cache_folder=tmp_path / "answers",
        clock=fake_time.clock,
        rng=random.Random(1),
        sleep=fake_time.sleep,
        monotonic=fake_time.monotonic,
        limits=QUICK,
    )


def _guarded(connect: Any) -> Any:
    def connect_here(self: socket.socket, address: Any) -> Any:
        if self.family in (socket.AF_INET, socket.AF_INET6):
            assert _is_here(address[0]), f"a test tried to reach {address}"
        return connect(self, address)

    return connect_here


def _guarded_lookup(lookup: Any) -> Any:
    def look_up_here(host: Any, *args: Any, **kwargs: Any) -> Any:
        if host is not None and not _is_here(host if isinstance(host, str) else host.decode()):
            raise socket.gaierror(socket.EAI_NONAME, f"a test tried to look up {host}")
        return lookup(host, *args, **kwargs)

    return look_up_here


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host in ("localhost", "")
