"""A page that cannot be made anew says so, once, in words that are nobody's secret."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC

import pytest
from asked import NOW, SITE, answer
from page_reader import read_page

from scheduler.faces.keeping import Told
from scheduler.faces.web.page import Links, content_policy, render
from scheduler.faces.web.page_trouble import page_in_trouble
from scheduler.faces.web.shelf import Body

AT = NOW.astimezone(UTC)
LINKS = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")
PAGE = Body(render([Told(answer("good"))], LINKS), "text/html; charset=utf-8", AT)


def told(trouble, page=PAGE, **further):
    return page_in_trouble(trouble, SITE, AT, page, **{"calendar": True, **further})


def notices(body):
    return [one.text for one in read_page(body.data).all("p", "notice")]


def test_the_trouble_stands_above_the_page_as_it_was():
    body = told("the journal has no room left")
    (notice,) = notices(body)
    assert notice.startswith("Not up to date. What follows is as it was at the moment above.")
    assert notice.endswith("Since then: the journal has no room left.")
    first = next(one for one in read_page(body.data).all("main")[0].inside if not isinstance(one, str))
    assert first.attrs["id"] == "trouble"
    assert read_page(body.data).text.replace(notice, "").split() == read_page(PAGE.data).text.split()


def test_another_trouble_takes_the_place_of_the_first_and_the_same_changes_nothing():
    first = told("the disk is full")
    assert notices(told("the service is silent", first))[0].endswith("the service is silent.")
    assert len(notices(told("the service is silent", first))) == 1
    assert told("the disk is full", first).data == first.data


def test_where_there_is_no_page_another_trouble_speaks_of_none_either():
    first = told("the disk is full", None)
    second = told("the service is silent", first, calendar=False)
    assert second.data == told("the service is silent", None, calendar=False).data
    assert "at the moment above" not in read_page(second.data).text


@pytest.mark.parametrize("page", [None, PAGE])
def test_foreign_words_stay_words_and_the_policy_goes_with_them(page):
    body = told("<script>alert(1)</script> & \\1 \n next", page)
    assert not read_page(body.data).all("script")
    assert r"<script>alert(1)</script> & \1 next" in notices(body)[0]
    assert (b"content-security-policy", content_policy().encode()) in body.plain.headers


@pytest.mark.parametrize("page", [None, PAGE])
@pytest.mark.parametrize(
    ("trouble", "shown"),
    [
        ("journal /srv/a household/.data/journal.sqlite is held: wait", "ournal journal.sqlite is held: wait."),
        ("/hours.csv: row 5, and /a/b.csv", "/hours.csv: row 5, and b.csv."),
        ("https://weather.example/a/b is silent", "ttps://weather.example/a/b is silent."),
    ],
)
def test_where_files_lie_on_the_server_is_not_told(trouble, shown, page):
    assert notices(told(trouble, page))[0].endswith(shown)


def test_without_a_page_the_trouble_is_the_page_and_the_calendar_is_named_where_it_is_served():
    page = read_page(told("the service is silent", None).data)
    assert page.all("h1")[0].text == "No plan can be shown at the moment"
    assert page.all("bdi")[0].text == SITE.name
    assert "The calendar is served as it was published last." in page.text
    assert "calendar" not in read_page(told("the service is silent", None, calendar=False).data).text


def test_the_name_of_a_site_is_only_a_name():
    body = page_in_trouble("trouble", replace(SITE, name="<b>hut</b>"), AT, None, calendar=False)
    assert not read_page(body.data).all("b")
