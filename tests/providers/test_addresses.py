"""Which addresses are asked, and where a redirect may lead."""

from __future__ import annotations

import pytest

from providers.addresses import checked_address, redirected
from providers.errors import Refused, Unreachable

API = "https://api.weather.example/v1?x=1"


@pytest.mark.parametrize(
    ("location", "target"),
    [
        ("/v2", "https://api.weather.example/v2"),
        ("v2", "https://api.weather.example/v2"),
        ("//api.weather.example/v2", "https://api.weather.example/v2"),
        ("https://weather.example/v2", "https://weather.example/v2"),
        ("https://eu.api.weather.example/", "https://eu.api.weather.example/"),
        ("https://API.weather.example:8443/", "https://API.weather.example:8443/"),
    ],
)
def test_a_redirect_within_the_site_is_followed(location, target):
    assert redirected(API, location, "the service") == target


@pytest.mark.parametrize(
    "location",
    [
        "http://api.weather.example/v2", "https://weather.example.evil.example/", "https://evilweather.example/",
        "https://other.example/", "https://api.weather.example@evil.example/", "//evil.example", "https://example/",
        "ftp://api.weather.example/", "file:///etc/passwd", "javascript:alert(1)", "https://[::1",
        "https://api.weather.example:x/", "", None, "https://127.0.0.1/",
    ],
)  # fmt: skip
def test_a_redirect_elsewhere_or_without_encryption_is_not_followed(location):
    with pytest.raises(Unreachable):
        redirected(API, location, "the service")


def test_a_number_is_never_under_another_number():
    with pytest.raises(Unreachable):
        redirected("https://10.1.2.3/", "https://2.3/", "the service")


@pytest.mark.parametrize("url", ["https://weather.example/x", "http://127.0.0.1:1/", "http://127.9.9.9/",
                                 "http://[::1]:80/", "http://localhost/"])  # fmt: skip
def test_https_and_this_machine_may_be_asked(url):
    assert checked_address(url) == url


@pytest.mark.parametrize(
    "url",
    ["http://weather.example/", "http://127.0.0.1.evil.example/", "http://127.0.0.1@evil.example/", "ftp://x/",
     "weather.example", "", "https://", "http://[::1", "file:///etc/passwd", "http://10.0.0.1/", "https://a:b/"],
)  # fmt: skip
def test_anything_else_is_refused_before_it_is_asked(client, url):
    with pytest.raises(Refused, match="https"):
        client.get(url, {}, source="the service")
