"""`serve` as a process of its own: how it starts, and how it ends."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import faults
import pytest
import requests
from feed_house import SITE
from loopback import WeatherServer
from three_services import OPEN_METEO, addresses

from scheduler.faces.web.address import path_of, secret_made
from scheduler.household.site_file import write_site
from scheduler.journal.store import Journal

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")

ROOT = Path(__file__).parents[4]
SERVE = "from scheduler.faces.cli import main; main()"


@pytest.fixture
def site(tmp_path):
    path = tmp_path / "shed.toml"
    write_site(SITE, path)
    return path


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def process(site, port, weather, code=SERVE):
    folder = site.parent
    Journal.open(folder / "j.sqlite").close()
    environment = {**os.environ, **weather, "PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(folder / "cache")}
    command = [
        sys.executable,
        "-c",
        code,
        "serve",
        str(site),
        "--port",
        str(port),
        "--journal",
        str(folder / "j.sqlite"),
    ]
    return subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


@contextmanager
def running(*arguments, **more):
    started = process(*arguments, **more)
    try:
        yield started
    finally:
        started.kill()
        started.communicate()


def answered(port, path, wanted):
    """Whether that status comes within a minute."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            if requests.get(f"http://127.0.0.1:{port}{path}", timeout=10).status_code == wanted:
                return True
        except requests.ConnectionError:
            pass
        time.sleep(0.05)
    return False


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_in_order_while_a_weather_service_hangs(site, server, number):
    server.script(OPEN_METEO, *[faults.silent] * 9)
    port = free_port()
    with running(site, port, addresses(server)) as started:
        assert answered(port, path_of(secret_made(site)), 503)
        while not server.requests:
            time.sleep(0.02)
        began = time.monotonic()
        started.send_signal(number)
        assert started.wait(20) == 0
        assert time.monotonic() - began < 10


def test_a_port_in_use_is_one_line_and_exit_code_2(site):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        started = process(site, port, {})
        _, said = started.communicate(timeout=60)
    assert started.returncode == 2
    assert said.count("\n") == 1
    assert f"cannot listen at 127.0.0.1 port {port}: address already in use" in said


def test_a_keeper_that_dies_ends_the_process_with_an_error(site, server):
    broken = "from scheduler.faces.web.cells import Cells; Cells.due = lambda *_: 1 / 0; " + SERVE
    started = process(site, free_port(), addresses(server), code=broken)
    _, said = started.communicate(timeout=60)
    assert started.returncode == 70
    assert "ZeroDivisionError" in said


def test_the_process_collects_its_garbage(site, server):
    port = free_port()
    told = "import gc; from scheduler.faces.web import command, listening; "
    told += "listening.run = lambda *_: print('collects:', gc.isenabled(), flush=True); " + SERVE
    started = process(site, port, addresses(server), code=told)
    said, _ = started.communicate(timeout=60)
    assert said == "collects: True\n"
    assert started.returncode == 0


def test_after_a_kill_the_feed_is_there_before_any_weather(site):
    port, path = free_port(), path_of(secret_made(site), "smoke.ics")
    write_site(replace(SITE, weather="sample"), site)
    with running(site, port, {}) as started:
        assert answered(port, path, 200)
        before = requests.get(f"http://127.0.0.1:{port}{path}", timeout=10).content
    assert started.returncode == -signal.SIGKILL
    write_site(SITE, site)
    with WeatherServer(lambda: None) as silent:
        silent.script(OPEN_METEO, *[faults.silent] * 9)
        with running(site, port, addresses(silent)):
            assert answered(port, path, 200)
            assert requests.get(f"http://127.0.0.1:{port}{path}", timeout=10).content == before
