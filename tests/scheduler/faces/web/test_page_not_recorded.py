"""The page while nobody has said whether the tray is lit."""

from __future__ import annotations

from called_off_house import CalledOff
from feed_house import HOUR
from page_reader import read_page

from scheduler.faces.web.page import Links, render

LINKS = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")


def test_the_question_is_the_headline_and_the_lift_and_the_ways_out_are_both_told(tmp_path):
    house = CalledOff.adopted(tmp_path)
    house.rinsed()
    house.house.now = house.house.steps()["light"].start + 9 * HOUR
    house.look()
    page = read_page(render(house.kept.told, LINKS))
    assert page.all("h1")[0].text == (
        "Tue 20 Oct is kept only if the tray is lit: record it. If it is not, no night is left that it can make."
    )
    assert page.text.count("is kept only if") == 1, "it is said once"
    assert "Was “Light the tray, let it die down” done?" in page.text
    assert "Way out 1: " in page.text
    assert "Lift the food out, chill at once" in page.text
    for wrong in ("borderline", "It is the first good night", "all along the bar"):
        assert wrong not in page.text


def test_nothing_is_marked_as_the_next_thing_to_do(tmp_path):
    house = CalledOff.adopted(tmp_path)
    house.rinsed()
    house.house.now = house.house.steps()["light"].start + 9 * HOUR
    house.look()
    page = read_page(render(house.kept.told, LINKS))
    assert page.all("span", "next") == []
    assert [one for one in page.all("li") if one.attrs.get("class") == "now"] == []
