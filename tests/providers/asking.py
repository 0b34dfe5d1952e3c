"""What the tests of the HTTP client share."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from providers import open_meteo

if TYPE_CHECKING:
    from loopback import WeatherServer

    from providers.forecast import Forecast
    from providers.polite_http import Answer, PoliteClient

PLAIN = "/plain"
HOUR = timedelta(hours=1)
HERE = {"latitude_deg": 51.25129, "longitude_deg": -1.50999, "elevation_m": 95.4}
"""An invented site."""


def ask(client: PoliteClient, server: WeatherServer, path: str = PLAIN, **options: Any) -> Answer:
    return client.get(server.url + path, {}, source="the service", **options)


def forecast(server: WeatherServer, client: PoliteClient, **options: Any) -> Forecast:
    """What Open-Meteo on this machine says of the invented site."""
    urls = {"url": server.url + "/v1/forecast", "ensemble_url": server.url + "/v1/ensemble"}
    return open_meteo.forecast(client, **(HERE | urls | options))
