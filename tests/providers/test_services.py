"""Which service is asked, in which order, and what stands in where one fails: over real HTTP to this machine."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import faults
import pytest
from contract import assert_keeps_contract
from fault_outcomes import FAILING, Outcome
from loopback import closed_port_url
from three_services import (
    ABROAD,
    CONTACT,
    ENSEMBLE,
    IN_US,
    MET_NORWAY,
    OPEN_METEO,
    PATHS,
    US_GRID,
    US_POINT,
    addresses,
    cover_the_place,
)

from providers import source
from providers.errors import BadQuestion, Refused, Unreachable
from providers.polite_http import identity
from providers.services import ADDRESSES, SERVICES, in_order
from providers.source import ask_each, get_forecast, second_opinions

if TYPE_CHECKING:
    from collections.abc import Callable

    from fake_time import FakeTime
    from loopback import Fault, WeatherServer

    from providers.forecast import Forecast
    from providers.polite_http import PoliteClient
    from providers.services import Place

ALWAYS = 9
"""More often than anything is asked here."""
HOURS_3 = timedelta(hours=3)


@pytest.fixture
def three(server: WeatherServer, client: PoliteClient, monkeypatch: pytest.MonkeyPatch) -> Callable[..., WeatherServer]:
    """All services, asked with the clock of the tests; given limits hold for the first that is asked."""

    def run(**limits: Any) -> WeatherServer:
        own = replace(client, limits=replace(client.limits, **limits))
        monkeypatch.setattr(source, "polite_client", lambda contact: replace(own, identity=identity("0", contact)))
        for name, url in addresses(server).items():
            monkeypatch.setenv(name, url)
        cover_the_place(server)
        return server

    return run


@pytest.fixture
def online(three: Callable[..., WeatherServer]) -> WeatherServer:
    return three()


def asked(server: WeatherServer) -> list[str]:
    """The services that were asked for a forecast, in order."""
    names = {path: name for name, path in PATHS.items()}
    return [names[seen.path] for seen in server.requests if seen.path in names]


def down(server: WeatherServer, *names: str) -> None:
    for name in names:
        server.script(PATHS[name], *[faults.status(403)] * ALWAYS)


# The order.


@pytest.mark.parametrize(
    ("first", "place", "order"),
    [
        (None, IN_US, ["open-meteo", "us-nws", "met-norway"]),
        ("us-nws", IN_US, ["us-nws", "open-meteo", "met-norway"]),
        ("met-norway", IN_US, ["met-norway", "open-meteo", "us-nws"]),
        (None, replace(IN_US, contact=None), ["open-meteo", "us-nws"]),
        (None, ABROAD, ["open-meteo", "met-norway"]),
        ("met-norway", ABROAD, ["met-norway", "open-meteo"]),
        (None, replace(ABROAD, contact=None), ["open-meteo"]),
        ("us-nws", ABROAD, ["us-nws", "open-meteo", "met-norway"]),
    ],
)
def test_the_site_s_service_comes_first_then_those_that_cover_the_place(
    first: str | None, place: Place, order: list[str]
) -> None:
    assert [one.name for one in in_order(first, place)] == order


def test_the_environment_can_move_every_address() -> None:
    assert set(SERVICES) <= set(ADDRESSES)


@pytest.mark.parametrize("name", SERVICES)
def test_the_first_answers_and_nobody_else_is_asked(online: WeatherServer, fake_time: FakeTime, name: str) -> None:
    made = get_forecast(name, IN_US, fake_time.now)
    assert_keeps_contract(made)
    assert (made.source, made.notes) == (name, ())
    assert asked(online) == [name]


# The first fails.


@pytest.mark.parametrize(("script", "outcome"), FAILING.values(), ids=FAILING.keys())
def test_whatever_ails_the_first_the_next_answers_and_says_so(
    three: Callable[..., WeatherServer], fake_time: FakeTime, script: list[Fault], outcome: Outcome
) -> None:
    server = three(total_s=outcome.total_s, read_s=outcome.read_s)
    server.script(OPEN_METEO, *script)
    made = get_forecast(None, ABROAD, fake_time.now)
    assert made.source == "met-norway"
    (note,) = made.notes
    assert note.startswith("open-meteo was passed over: ")
    assert asked(server)[-1] == "met-norway"


def test_two_that_fail_are_both_told_in_order(online: WeatherServer, fake_time: FakeTime) -> None:
    down(online, "open-meteo", "us-nws")
    made = get_forecast(None, IN_US, fake_time.now)
    assert made.source == "met-norway"
    assert [note.partition(" was")[0] for note in made.notes] == ["open-meteo", "us-nws"]


def test_an_old_answer_of_the_first_gives_way_to_a_fresh_one_of_the_next(
    online: WeatherServer, fake_time: FakeTime
) -> None:
    get_forecast(None, ABROAD, fake_time.now)
    fake_time.pass_by(HOURS_3)
    down(online, "open-meteo")
    made = get_forecast(None, ABROAD, fake_time.now)
    assert made.source == "met-norway"
    assert not made.is_stale(fake_time.now)
    told = "open-meteo was passed over: it has nothing newer than its forecast of 2026-10-20 12:00 UTC"
    assert made.notes == (told,)


def test_with_nothing_fresh_the_newest_old_answer_stands_in_and_says_why(
    online: WeatherServer, fake_time: FakeTime
) -> None:
    get_forecast("open-meteo", ABROAD, fake_time.now, only=True)
    fake_time.pass_by(HOURS_3)
    get_forecast("met-norway", ABROAD, fake_time.now, only=True)
    fake_time.pass_by(HOURS_3)
    down(online, "open-meteo", "met-norway")
    made = get_forecast(None, ABROAD, fake_time.now)
    assert made.source == "met-norway"
    assert made.is_stale(fake_time.now)
    assert made.age(fake_time.now) == timedelta(hours=5), "MET Norway's was made two hours before it was fetched"
    first, second = made.notes
    assert first.startswith("open-meteo was passed over: it has nothing newer than")
    assert second.startswith("met-norway answered with status 403; the forecast shown is of 2026-10-20 15:00 UTC")


def test_with_nothing_at_all_the_error_is_the_first_service_s(online: WeatherServer, fake_time: FakeTime) -> None:
    down(online, "open-meteo", "us-nws", "met-norway")
    with pytest.raises(Refused, match=r"^open-meteo answered with status 403$"):
        get_forecast(None, IN_US, fake_time.now)
    assert asked(online) == ["open-meteo", "us-nws", "met-norway"]


# One service by name.


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_asked_by_name_is_asked_alone(online: WeatherServer, fake_time: FakeTime, name: str) -> None:
    down(online, name)
    with pytest.raises(Refused, match=f"^{name} answered with status 403"):
        get_forecast(name, IN_US, fake_time.now, only=True)
    assert set(asked(online)) == {name}


def test_met_norway_is_not_asked_by_somebody_who_gives_no_contact(online: WeatherServer, fake_time: FakeTime) -> None:
    nobody = replace(ABROAD, contact=None)
    with pytest.raises(BadQuestion, match="smokenight setup --contact"):
        get_forecast("met-norway", nobody, fake_time.now, only=True)
    made = get_forecast("met-norway", nobody, fake_time.now)
    assert made.source == "open-meteo"
    assert made.notes[0].startswith("met-norway was passed over: MET Norway asks who is asking")
    assert online.asked(MET_NORWAY) == []


def test_the_contact_is_told_to_every_service(online: WeatherServer) -> None:
    ask_each(None, IN_US)
    assert {seen.headers["user-agent"] for seen in online.requests} == {f"smokenight/0 ({CONTACT})"}


# All of them.


def test_each_says_what_came_of_asking_it_and_why_others_were_not(online: WeatherServer) -> None:
    down(online, "open-meteo")
    found = ask_each(None, replace(ABROAD, contact=None))
    assert [(one.name, one.forecast is None) for one in found] == [
        ("open-meteo", True),
        ("us-nws", True),
        ("met-norway", True),
    ]
    assert [str(one.error) for one in found] == [
        "open-meteo answered with status 403",
        "it covers the United States only",
        "it asks for a contact; set one with `smokenight setup --contact`",
    ]
    assert asked(online) == ["open-meteo"]


def test_outside_the_united_states_their_service_hears_nothing(online: WeatherServer, fake_time: FakeTime) -> None:
    down(online, "open-meteo", "met-norway")
    with pytest.raises(Refused):
        get_forecast(None, ABROAD, fake_time.now)
    assert [seen.path for seen in online.requests] == [OPEN_METEO, MET_NORWAY]


def opinions(made: Forecast, place: Place, first: str | None = None) -> list[str]:
    return [one.source for one in second_opinions(made, place, first)]


def test_the_other_services_are_second_opinions_where_they_cover(online: WeatherServer, fake_time: FakeTime) -> None:
    made = get_forecast(None, IN_US, fake_time.now)
    assert opinions(made, IN_US) == ["us-nws", "met-norway"]
    assert opinions(made, replace(ABROAD, contact=None)) == []
    assert opinions(get_forecast("us-nws", IN_US, fake_time.now), IN_US, "us-nws") == ["open-meteo", "met-norway"]


def test_a_service_that_has_just_failed_is_not_asked_for_an_opinion(online: WeatherServer, fake_time: FakeTime) -> None:
    down(online, "open-meteo")
    made = get_forecast(None, IN_US, fake_time.now)
    assert made.source == "us-nws"
    before = asked(online).count("open-meteo")
    assert opinions(made, IN_US) == ["met-norway"]
    assert asked(online).count("open-meteo") == before


def test_a_second_opinion_that_fails_or_is_old_is_left_out(online: WeatherServer, fake_time: FakeTime) -> None:
    made = get_forecast(None, IN_US, fake_time.now)
    assert opinions(made, IN_US) == ["us-nws", "met-norway"]
    fake_time.pass_by(HOURS_3)
    down(online, "met-norway")
    assert opinions(made, IN_US) == ["us-nws"]


def test_a_table_and_the_sample_ask_nobody_for_an_opinion(online: WeatherServer, fake_time: FakeTime) -> None:
    assert opinions(get_forecast("sample", IN_US, fake_time.now), IN_US) == []
    assert online.requests == []


# Asking again.


def test_within_its_time_an_answer_is_not_asked_for_again_and_after_it_only_if_it_changed(
    online: WeatherServer, fake_time: FakeTime
) -> None:
    first = get_forecast("met-norway", ABROAD, fake_time.now)
    fake_time.pass_by(timedelta(minutes=30))
    assert get_forecast("met-norway", ABROAD, fake_time.now).hourly.equals(first.hourly)
    assert len(online.requests) == 1
    fake_time.pass_by(timedelta(minutes=2))
    again = get_forecast("met-norway", ABROAD, fake_time.now)
    held, renewed = online.requests
    assert "if-modified-since" not in held.headers
    assert renewed.headers["if-modified-since"] == "Tue, 20 Oct 2026 12:00:00 GMT"
    assert again.hourly.equals(first.hourly)
    assert again.fresh_until == fake_time.now + timedelta(minutes=31)
    assert again.notes == ()


def test_an_hour_later_the_new_forecast_is_taken(online: WeatherServer, fake_time: FakeTime) -> None:
    first = get_forecast("met-norway", ABROAD, fake_time.now)
    fake_time.pass_by(timedelta(hours=1))
    later = get_forecast("met-norway", ABROAD, fake_time.now)
    assert later.issued_at == first.issued_at + timedelta(hours=1)
    assert len(online.requests) == 2


# How long a person waits.


def test_off_the_network_every_service_gives_up_at_once(
    online: WeatherServer, fake_time: FakeTime, monkeypatch: pytest.MonkeyPatch
) -> None:
    get_forecast(None, IN_US, fake_time.now)
    second_opinions(get_forecast(None, IN_US, fake_time.now), IN_US, None)
    fake_time.pass_by(HOURS_3)
    for name in addresses(online):
        monkeypatch.setenv(name, addresses(online)[name].replace(online.url, closed_port_url()))
    with pytest.raises(Unreachable):
        get_forecast(None, IN_US, fake_time.now)
    assert fake_time.slept == []


@pytest.mark.parametrize("held", [False, True], ids=["nothing at hand", "an old answer at hand"])
def test_while_all_services_are_in_trouble_nobody_waits_longer_than_half_a_minute(
    online: WeatherServer, fake_time: FakeTime, held: bool
) -> None:
    if held:
        ask_each(None, IN_US)
        fake_time.pass_by(HOURS_3)
    fake_time.slept.clear()
    for path in (OPEN_METEO, ENSEMBLE, US_POINT, US_GRID, MET_NORWAY):
        online.script(path, *[faults.status(503)] * ALWAYS)
    began = time.monotonic()
    if held:
        second_opinions(get_forecast(None, IN_US, fake_time.now), IN_US, None)
    else:
        with pytest.raises(Unreachable):
            get_forecast(None, IN_US, fake_time.now)
    assert sum(fake_time.slept) <= 30.0
    assert time.monotonic() - began < 10.0


def test_those_that_stand_in_are_tried_once_less_than_the_first(online: WeatherServer, fake_time: FakeTime) -> None:
    for path in PATHS.values():
        online.script(path, *[faults.status(503)] * ALWAYS)
    with pytest.raises(Unreachable):
        get_forecast(None, IN_US, fake_time.now)
    assert asked(online) == ["open-meteo"] * 3 + ["us-nws"] * 2 + ["met-norway"] * 2


# Height.


@pytest.mark.parametrize(
    ("elevation_m", "words"),
    [
        (None, []),
        (0.0, []),
        (194.0, []),
        (196.0, ["101 m above the height that us-nws forecasts for", "0.7 °C colder"]),
        (-10.0, ["105 m below the height that us-nws forecasts for", "0.7 °C warmer"]),
        (344.0, ["249 m above"]),
        (346.0, ["251 m above", "1.6 °C colder", "valleys hold cold air and slopes shed it"]),
    ],
)
def test_a_telling_difference_in_height_is_told_and_a_great_one_is_a_warning(
    online: WeatherServer, fake_time: FakeTime, elevation_m: float | None, words: list[str]
) -> None:
    """Their square lies 95 m high."""
    told = " ".join(get_forecast("us-nws", replace(IN_US, elevation_m=elevation_m), fake_time.now).notes)
    assert all(word in told for word in words)
    assert bool(told) is bool(words)
    assert ("valleys" in told) is ("valleys hold cold air and slopes shed it" in words)


def test_the_site_s_height_goes_to_the_services_that_take_one(online: WeatherServer) -> None:
    ask_each(None, replace(IN_US, elevation_m=312.4))
    assert online.asked(OPEN_METEO)[0].query["elevation"] == "312"
    assert online.asked(ENSEMBLE)[0].query["elevation"] == "312"
    assert online.asked(MET_NORWAY)[0].query["altitude"] == "312"
