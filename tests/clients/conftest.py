"""The second stage: real clients, found where .ci/run has put them; one that is missing is not run, never passed."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from functools import partial
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items):
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.clients)


def found(path: Path | str | None, what: str) -> str:
    """The tool, or a test that is reported as not run."""
    if path is None or not Path(path).exists():
        pytest.skip(f"not run: {what} is not here")
    return str(path)


@pytest.fixture(scope="session")
def tools() -> Path:
    """The folder with node_modules and the calendar programs' environment."""
    named = os.environ.get("SMOKENIGHT_TEST_TOOLS")
    if not named:
        pytest.skip("not run: SMOKENIGHT_TEST_TOOLS names no folder with the clients")
    return Path(named)


@pytest.fixture(scope="session")
def khal(tools) -> str:
    return found(tools / "cal" / "bin" / "khal", "khal")


@pytest.fixture(scope="session")
def vdirsyncer(tools) -> str:
    return found(tools / "cal" / "bin" / "vdirsyncer", "vdirsyncer")


@pytest.fixture(scope="session")
def node(tools) -> str:
    return found(shutil.which("node"), "Node")


@pytest.fixture(scope="session")
def libical_python() -> str:
    """A Python that reaches libical by way of its introspection data."""
    python = found("/usr/bin/python3", "Debian's Python")
    asked = [python, "-c", "import gi; gi.require_version('ICalGLib', '3.0'); from gi.repository import ICalGLib"]
    if subprocess.run(asked, capture_output=True, check=False).returncode:
        pytest.skip("not run: libical is not here")
    return python


def read_ical_js(node: str, tools: Path, text: bytes) -> dict[str, Any]:
    """What ical.js understands of a calendar."""
    found(tools / "node_modules" / "ical.js", "ical.js")
    return _told([node, str(HERE / "read_ical.mjs"), str(tools)], text)


def read_libical(python: str, text: bytes) -> dict[str, Any]:
    """What libical understands of a calendar."""
    return _told([python, str(HERE / "read_libical.py")], text)


def _told(command: list[str], text: bytes) -> dict[str, Any]:
    done = subprocess.run(command, input=text, capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr.decode()
    told: dict[str, Any] = json.loads(done.stdout)
    return told


@pytest.fixture(scope="session", params=["ical.js", "libical"])
def reader(request):
    """A function that gives what one reader understands."""
    if request.param == "libical":
        return partial(read_libical, request.getfixturevalue("libical_python"))
    return partial(read_ical_js, request.getfixturevalue("node"), request.getfixturevalue("tools"))
