"""What has to be said of the batch is asked for with flags where there are any, and in words everywhere else."""

from __future__ import annotations

import json
import re

import icalendar
import pytest
from asked import CASES, answer
from feed_house import NOON, House, weather
from page_reader import read_page

from scheduler.faces.as_json import next_json
from scheduler.faces.flag_words import FLAGS, WEIGHED, with_flags
from scheduler.faces.keeping import Told
from scheduler.faces.next_report import next_report
from scheduler.faces.web.page import Links, render
from scheduler.planning.freezing_words import ASK, FARMED

FLAG = re.compile(r"(?<!\S)[(`]?--[a-z]")
LINKS = Links("https://cook.example/s/secret/smoke.ics", "webcal://cook.example/s/secret/smoke.ics")
ASKING = {"no freezing record": ASK, "freezing ahead": FARMED, "farmed": WEIGHED}


def page_words(case):
    return read_page(render([Told(answer(case))], LINKS)).text


@pytest.mark.parametrize("case", CASES)
def test_a_page_and_an_answer_for_programs_name_no_flag(case):
    assert not FLAG.search(page_words(case))
    assert not FLAG.search(json.dumps(next_json(answer(case)), ensure_ascii=False))


@pytest.mark.parametrize(("case", "words"), ASKING.items())
def test_the_page_asks_in_words_and_the_terminal_with_flags(case, words):
    terminal = " ".join(next_report(answer(case), 10_000, colour=False).split())
    assert words in page_words(case)
    assert words not in terminal
    assert FLAGS[words] in terminal
    assert FLAG.search(FLAGS[words])


@pytest.mark.parametrize(("state", "words"), [("frozen", ASK), ("fresh", FARMED)])
def test_a_calendar_asks_in_words(state, words):
    house = House(forecast=weather(NOON, days=24))
    batch = house.open(state=state, frozen_since=None, freezer_c=None, freezer_measured=False)
    house.adopt(batch)
    house.keep()
    texts = [str(one["description"]) for one in icalendar.Calendar.from_ical(house.bytes()).events]
    assert any(words in text for text in texts)
    assert not [text for text in texts if FLAG.search(text)]


def test_other_text_stays_as_it_is():
    assert with_flags(f"Met. {ASK}.") == f"Met. {FLAGS[ASK]}."
    assert with_flags("The fish is farmed.") == "The fish is farmed."
