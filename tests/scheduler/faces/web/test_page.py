"""The page tells what the plan holds: the same facts as the terminal, readable by everybody, and nothing else."""

from __future__ import annotations

import gzip
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from asked import CASES, FROZEN, NOW, SITE, answer, ask, made_forecast
from page_reader import Element, read_page

from providers.forecast import Credit
from scheduler import service
from scheduler.faces import why
from scheduler.faces.cautions import caution_sentence
from scheduler.faces.chamber_words import FOOD_HOURS, PUBLISHED, food_words
from scheduler.faces.keeping import Told
from scheduler.faces.next_report import headline
from scheduler.faces.nights_report import night_cells
from scheduler.faces.web.page import Links, render
from scheduler.faces.weights import cure_words, sawdust_words
from scheduler.faces.wording import clock, day_words, span_list
from scheduler.household.batch import Batch
from scheduler.household.process_file import shipped_process
from scheduler.science.exposure import CAVEAT

LINKS = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")
MOST_BYTES = 20_000
EVIL = "<script>alert(1)</script> \"double\" 'single' & \u202eturned <b>" + "x" * 200
HOLDS = "the plan still holds"


@cache
def page_of(case: str) -> bytes:
    return render([Told(answer(case))], LINKS)


@cache
def tree(case: str) -> Element:
    return read_page(page_of(case))


def words(text: str) -> str:
    return " ".join(text.split())


cases = pytest.mark.parametrize("case", CASES)
planned = pytest.mark.parametrize("case", [case for case in CASES if answer(case).choice.plan is not None])


@cases
def test_the_headline_is_the_terminals_and_stands_once(case):
    (title,) = tree(case).all("h1")
    assert title.text == words(headline(answer(case)))


@cases
def test_equal_answers_give_equal_bytes(case):
    assert render([Told(CASES[case]())], LINKS) == page_of(case)


@cases
def test_the_page_is_small(case):
    assert len(gzip.compress(page_of(case), 9)) < MOST_BYTES


@planned
def test_every_step_has_its_day_time_and_leeway_in_order(case):
    told, zone = answer(case), answer(case).question.site.zone
    expected = []
    for one in told.choice.plan.steps:
        day = "Before" if one.at is None else day_words(one.at.astimezone(zone).date())
        time = "" if one.at is None else clock(one.at, zone)
        leeway = ""
        if one.at is not None and one.spans and one.step.household:
            alone = one.spans == ((one.at, one.at),)
            leeway = "leeway: " + ("none, only at this time" if alone else span_list(one.spans, zone, one.at))
        expected.append((day, time, ("done: " if one.done else "") + one.step.title, leeway))
    assert list(_steps(tree(case))) == expected


def _steps(page: Element):
    for section in page.all("section", "todo"):
        day = ""
        for one in (one for one in section.inside if isinstance(one, Element)):
            day = one.text if one.tag == "h3" else day
            for step in (step for step in one.inside if one.tag == "ol" and isinstance(step, Element)):
                title = step.all("bdi")[0].text
                leeway = [note.text for note in step.all("p", "quiet") if note.text.startswith("leeway")]
                done = "done: " if step.attrs["class"] == "done" else ""
                yield day, step.all("p", "time")[0].text, done + title, "".join(leeway)


@planned
def test_what_to_weigh_is_what_the_terminal_says(case):
    told = answer(case)
    expected = [*cure_words(told.choice.plan, told.question), *sawdust_words(told.choice.plan, told.question)]
    (section,) = tree(case).all("section", "weigh")
    found = [(one.all("dt")[0].text, one.all("dd")[0].text) for one in section.all("dl")[0].all("div")]
    assert found == [(label, words(text)) for label, text in expected]


STRETCHES = {"thaw": "salt", "rest": "light", "smoke": "lift", "chill": "slice"}
"""By which step each stretch of the food is over."""


@planned
def test_how_long_the_food_is_how_warm_stands_at_the_step_that_ends_it_with_what_is_published(case):
    told, page = answer(case), tree(case)
    found = food_words(told.choice.plan, told.question)
    titles = {one.step.name: one.step.title for one in told.choice.plan.steps}
    expected = [(titles[STRETCHES[name]], f"food, {name}: {text}") for name, text in found.items()]
    shown = [(step.all("bdi")[0].text, one.text) for step in page.all("li") for one in step.all("", "food")]
    assert shown == expected
    assert len(shown) >= 2
    (beside,) = page.all("div", "beside")
    assert beside.text == words(f"{FOOD_HOURS} {PUBLISHED} {CAVEAT}")


def test_food_without_a_cure_has_no_such_hours():
    cheese = Batch(food="cheese", state="ready")
    told = service.plan(service.Question(SITE, shipped_process("cheese"), cheese, made_forecast(mean_c=6.0), NOW))
    page = read_page(render([Told(told)], LINKS))
    assert told.choice.plan is not None
    assert not page.all("", "food")
    assert not page.all("div", "beside")


@cases
def test_nothing_is_called_safe(case):
    assert not re.search(r"\b(?:un)?safe", tree(case).text, re.IGNORECASE)


@planned
def test_every_caution_stands_in_full_once_and_at_its_step(case):
    told, page = answer(case), tree(case)
    plan = told.choice.plan
    full = [re.sub(r"^\d+ ", "", one.text) for one in page.all("ul", "cautions") for one in one.all("li")
            if "again" not in one.attrs.get("class", "")]  # fmt: skip
    ahead = [one.step.cautions for one in plan.steps if not one.done]
    keys = dict.fromkeys([*plan.cautions, *(key for each in ahead for key in each)])
    assert sorted(full) == sorted(words(caution_sentence(key)) for key in keys)
    for step, item in zip((one for one in plan.steps if not one.done), _ahead(page), strict=True):
        marked = {page.by_id(_target(mark)).text for mark in item.all("", "mark")}
        numbers = {str(list(_in_order(plan)).index(key) + 1) for key in step.step.cautions}
        assert marked == numbers


def _ahead(page: Element) -> list[Element]:
    return [one for one in page.all("li") if one.attrs.get("class") in ("now", "fire", "ahead")]


def _target(mark: Element) -> str:
    return mark.attrs["id"] if "id" in mark.attrs else mark.attrs["href"].removeprefix("#")


def _in_order(plan):
    return dict.fromkeys([*plan.cautions, *(key for one in plan.steps if not one.done for key in one.step.cautions)])


@planned
def test_what_leeway_means_is_said_once(case):
    assert tree(case).text.count(HOLDS) == 1


@cases
def test_the_table_of_nights_is_the_terminals(case):
    told, page = answer(case), tree(case)
    rows = [[cell.text for cell in row.inside if isinstance(cell, Element)] for row in page.all("tr")[1:]]
    for night, row in zip(told.nights, rows, strict=True):
        expected = night_cells(night, told.question)
        assert [row[0], *row[2:8]] == [words(cell) for cell in [expected[0], *expected[2:]]]
        assert night.verdict in row[1]
        assert words(night.reasons[0]).rstrip(".").casefold() in row[8].casefold()


@cases
def test_a_night_that_cannot_be_made_says_so_in_the_table_and_why_on_the_page(case):
    told, page = answer(case), tree(case)
    rows = {row.all("th")[0].text: row.text for row in page.all("tr")[1:]}
    for night, found in told.choice.not_makeable:
        assert "It cannot be made" in rows[day_words(night.date)]
        assert words(why.cannot_be_made(told, found)).split(";")[0].split(" are missing")[0] in page.text


def test_without_a_night_the_page_says_why_and_what_could_be():
    page = tree("too old")
    assert "The forecast is 60 h old" in page.all("section", "tonight")[0].text
    assert not page.all("section", "weigh")
    assert not page.all("ol")


def test_without_a_plan_in_the_forecast_the_earliest_steps_are_told():
    page = tree("lead-in past the end")
    assert "To be ready at the earliest" in page.text
    assert len(page.all("ol", "steps")) > 1
    assert not page.all("svg", "leeway")
    assert HOLDS not in page.text


@cases
def test_it_is_well_formed_and_every_identifier_is_its_own(case):
    page = tree(case)
    names = [one.attrs["id"] for one in page.all() if "id" in one.attrs]
    assert len(names) == len(set(names))
    pointed = {one.attrs["href"][1:] for one in page.all("a") if one.attrs["href"].startswith("#")}
    labels = {name for one in page.all() for name in one.attrs.get("aria-labelledby", "").split()}
    assert pointed | labels <= set(names)


@cases
def test_nothing_on_it_runs_loads_or_carries_a_style_of_its_own(case):
    page = tree(case)
    assert not [one for one in page.all() if one.tag in ("script", "img", "iframe", "link", "object", "form")]
    assert not [name for one in page.all() for name in one.attrs if name == "style" or name.startswith("on")]


@cases
def test_headings_step_down_one_at_a_time_and_landmarks_are_there(case):
    page = tree(case)
    levels = [int(one.tag[1]) for one in page.all() if re.fullmatch(r"h[1-6]", one.tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert [len(page.all(tag)) for tag in ("main", "header", "footer")] == [1, 1, 1]
    assert page.all("html")[0].attrs["lang"] == "en"


@cases
def test_pictures_say_in_words_what_they_show(case):
    for one in tree(case).all("svg"):
        labelled = one.attrs.get("role") == "img" and "aria-labelledby" in one.attrs
        assert labelled or one.attrs.get("aria-hidden") == "true"


def evil_page() -> bytes:
    site, batch = replace(SITE, name=EVIL), replace(FROZEN, name=EVIL)
    credit = Credit(EVIL, "javascript:alert(3)")
    told = ask(made_forecast(notes=(EVIL,), credit=credit, source=EVIL), site=site, batch=batch)
    return render([Told(told, (EVIL,))], LINKS)


def test_foreign_text_stays_text_whatever_is_in_it():
    page = read_page(evil_page())
    assert not page.all("script")
    assert not page.all("b")
    assert page.text.count("<script>alert(1)</script>") >= 5
    assert not [one for one in page.all("a") if one.attrs["href"].startswith("javascript")]


def test_a_name_that_turns_the_writing_turns_nothing():
    page = read_page(evil_page())
    names = [one.text for one in page.all("bdi") if "turned" in one.text]
    assert names == [words(EVIL).replace("\u202e", "")] * 2
    assert "\u202e" in EVIL
    assert "\u202e" not in "".join(names)


def test_the_weather_says_how_old_it_is_and_who_made_it():
    page = tree("good")
    assert "Weather 2 h old, looked at Sat 17 Oct 14:00" in page.all("header")[0].text
    assert "made Sat 17 Oct 12:00, 2 h old when this page was written, Sat 17 Oct 14:00" in page.all("footer")[0].text
    (credit,) = page.all("footer")[0].all("a")
    assert (credit.text, credit.attrs["href"]) == ("Invented weather", "https://weather.example/terms")


def test_the_credits_of_second_opinions_are_shown_too():
    other = made_forecast(source="other", credit=Credit("Another invented weather", "https://other.example/"))
    asked = replace(answer("good").question, second_opinions=(other,))
    page = read_page(render([Told(service.plan(asked))], LINKS))
    assert [one.text for one in page.all("footer")[0].all("a")] == ["Invented weather", "Another invented weather"]


def test_old_and_invented_weather_is_said_before_the_answer():
    old, invented = ([one.text for one in tree(case).all("p", "notice")] for case in ("too old", "sample"))
    assert [text.split(".")[0] for text in (*old, *invented)] == [
        "Old weather", "The weather of this answer is invented, to try the tool with"
    ]  # fmt: skip
    assert not tree("good").all("p", "notice")


def test_a_borderline_night_says_look_again():
    assert "look again before each step" in tree("tentative").all("p", "warn")[0].text


def test_an_open_freezing_record_is_said_with_the_answer():
    assert any("Freezing against parasites" in one.text for one in tree("no freezing record").all("p", "warn"))


def test_what_moved_and_why_is_shown_and_nothing_where_nothing_did():
    moved = "Moved from Thu 22 Oct to Fri 23 Oct: Thursday now reaches 16.8 °C."
    page = read_page(render([Told(answer("good"), (moved,))], LINKS))
    assert page.all("section", "news")[0].text == f"What changed {moved}"
    assert not tree("good").all("section", "news")


def test_the_feed_can_be_subscribed_to_and_copied():
    (section,) = tree("good").all("section", "subscribe")
    assert [one.attrs["href"] for one in section.all("a")] == [LINKS.feed_webcal, LINKS.feed_https]
    assert section.all("a")[1].text == LINKS.feed_https


def test_each_of_two_batches_has_its_own_answer_and_steps():
    cheese = Batch(name="Cheese for Sunday", food="cheese", state="ready")
    second = service.plan(service.Question(SITE, shipped_process("cheese"), cheese, made_forecast(mean_c=6.0), NOW))
    first = ask(batch=replace(FROZEN, name="Salmon for Sunday"))
    page = read_page(render([Told(first), Told(second)], LINKS))
    assert [one.all("p", "name")[0].text for one in page.all("section", "tonight")] == [
        "Salmon for Sunday", "Cheese for Sunday"
    ]  # fmt: skip
    assert page.all("h2", "headline")[0].text == headline(second)
    assert page.by_id("nights").text == "The nights in figures Salmon for Sunday"
    both = [*first.choice.plan.steps, *second.choice.plan.steps]
    assert [title.removeprefix("done: ") for _, _, title, _ in _steps(page)] == [one.step.title for one in both]
    names = [one.attrs["id"] for one in page.all() if "id" in one.attrs]
    assert len(names) == len(set(names))
