"""The page of a plan that is called off begins with that, and offers none of its steps."""

from __future__ import annotations

import json

import pytest
from called_off_house import TOO_WARM_K, CalledOff
from feed_house import HOUR, House
from page_reader import read_page

from scheduler.faces.web.page import Links, render
from scheduler.faces.web.publishing import pages_of
from scheduler.faces.web.sites import Served

LINKS = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")
NO_GO = "Do not light on Tue 20 Oct, it holds with 49 %, and no other night in reach is likely enough."


@pytest.fixture
def house(tmp_path):
    found = CalledOff.adopted(tmp_path)
    yield found
    found.house.keeper.close()


def page_of(house):
    return read_page(render(house.kept.told, LINKS))


def steps(page):
    """Marks and names of the steps that are still ahead."""
    found = [one for one in page.all("li") if one.attrs.get("class") in ("now", "fire", "ahead")]
    return [(" ".join(mark.text for mark in one.all("span", "off")), one) for one in found]


def test_a_no_go_is_the_headline_with_its_reason_and_the_ways_out(house):
    house.rinsed()
    house.look(TOO_WARM_K)
    page = page_of(house)
    assert page.all("h1")[0].text == NO_GO
    assert page.all("title")[0].text.startswith(NO_GO)
    assert page.text.count("do not light on Tue 20 Oct") == 0, "it is said once"
    news = page.all("section", "news")[0].text
    assert "Tue 20 Oct now reaches 15.3 °C" in news
    assert "Way out 1: smoke it shorter." in news
    assert "look again before each step" not in page.text
    assert "It is the night of the plan that you took on." in page.text
    assert "first good night" not in page.text


def test_the_json_of_a_no_go_begins_with_it_too(house, tmp_path):
    house.rinsed()
    house.look(TOO_WARM_K)
    served = Served(tmp_path / "shed.toml", house.house.site, "of the address")
    reasons = json.loads(pages_of(house.kept, served, "https://cook.example")["next.json"].data)["reasons"]
    assert reasons[0] == NO_GO
    assert len(reasons) > 1


def test_after_a_no_go_no_step_is_next_or_has_leeway(house):
    house.rinsed()
    assert {mark for mark, _ in steps(page_of(house))} == {""}
    house.look(TOO_WARM_K)
    found = steps(page_of(house))
    assert [mark for mark, _ in found] == ["No go:"] * 9
    for _, step in found:
        assert step.attrs["class"] != "now"
        assert not step.all("svg", "leeway")
        assert "leeway" not in step.text


def test_what_is_not_to_begin_yet_is_marked_and_the_lighting_is_not(house):
    house.look(TOO_WARM_K, HOUR / 2)
    page = page_of(house)
    assert page.all("h1")[0].text.startswith("Do not begin yet: Tue 20 Oct holds with")
    assert [mark for mark, _ in steps(page)][:4] == ["Not yet:", "Not yet:", "Not yet:", ""]


def test_a_go_after_all_is_a_plan_like_any_other(house):
    house.rinsed()
    before = page_of(house).all("h1")[0].text
    house.look(TOO_WARM_K)
    house.look(0.0)
    page = page_of(house)
    assert page.all("h1")[0].text == before
    assert {mark for mark, _ in steps(page)} == {""}


def test_a_plan_that_nobody_took_on_says_so_and_how_to(tmp_path):
    house = House()
    page = read_page(render(house.keep().told, LINKS))
    assert "Nobody has taken this night on yet" in page.text
    assert "`smokenight batch new` opens a batch" in page.text
    house.open()
    page = read_page(render(house.keep().told, LINKS))
    assert "tentative: `smokenight plan` adopts it." in page.text
    house.adopted()
    assert "Nobody has taken" not in read_page(render(house.keep().told[:1], LINKS)).text
