"""What the tests of the command line share."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from command import Shell

from providers.polite_http import identity

if TYPE_CHECKING:
    from pathlib import Path

    from loopback import WeatherServer

    from providers.polite_http import PoliteClient


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    home = tmp_path / "home"
    home.mkdir()
    return Shell(home)


@pytest.fixture
def online(shell: Shell, server: WeatherServer, client: PoliteClient, monkeypatch: pytest.MonkeyPatch) -> WeatherServer:
    """The services of this machine, which the shell asks, on the clock of the tests."""
    paths = {"OPEN_METEO": "/v1/forecast", "OPEN_METEO_ENSEMBLE": "/v1/ensemble", "PLACES": "/v1/search"}
    shell.more |= {f"SMOKENIGHT_{name}_URL": server.url + path for name, path in paths.items()}
    monkeypatch.setattr(
        "providers.source.polite_client", lambda contact: replace(client, identity=identity("0", contact))
    )
    return server
