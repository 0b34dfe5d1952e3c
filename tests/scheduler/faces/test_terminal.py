"""Wrapping, colour and plain characters."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces.terminal import GLUE, NARROWEST, WIDEST, Ink, Page, for_encoding, visible_width, wrapped

WORDS = st.lists(
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z", "M")), min_size=1, max_size=40), min_size=1
)


@given(WORDS, st.integers(12, 90), st.booleans())
def test_wrapping_keeps_every_letter_and_the_width(words, width, colour):
    text = Ink(colour)("strong", " ".join(words))
    lines = wrapped(text, width, first="  - ", rest="    ")
    assert max(map(visible_width, lines)) <= width
    told = re.sub("\x1b\\[[0-9;]*m", "", "".join(line[4:] for line in lines))
    assert re.sub(r"\s", "", told) == re.sub(r"\s", "", "".join(words))


@pytest.mark.parametrize(
    "text",
    [
        "15.6 °C",
        "95 %",
        "12 h",
        "30 min",
        "1.3 kg",
        "3 days",
        "Thu 22 Oct 18:40",
        "0.2 mm/h",
        "14 h 30 min",
        "2 days 15 h",
    ],
)
def test_a_quantity_or_a_date_is_never_broken(text):
    for width in range(18, 40):
        lines = [line.replace(GLUE, " ") for line in wrapped(f"some words before {text} and after it", width)]
        assert any(text in line for line in lines)


def test_colour_starts_and_ends_with_each_word():
    lines = wrapped(Ink(True)("good", "light the tray now"), 9)
    assert len(lines) > 1
    assert all(line.startswith("\x1b[1;32m") and line.endswith("\x1b[0m") for line in lines)


def test_a_page_is_never_narrower_or_wider_than_can_be_read():
    assert Page.of(1, colour=False).width == NARROWEST
    assert Page.of(500, colour=False).width == WIDEST


def test_numbers_are_set_to_the_right():
    page = Page.of(80, colour=False)
    page.row(["peak", "9.5"], [6, 6], right=(1,))
    assert page.text() == "peak       9.5"


def test_gaps_are_one_line_and_never_the_first():
    page = Page.of(80, colour=False)
    page.gap()
    page.say("a")
    page.gap()
    page.gap()
    page.say("b")
    assert page.text() == "a\n\nb"


@given(st.text(st.characters(codec="utf-8")), st.sampled_from(["ascii", "cp1252", "latin-1", "cp437"]))
def test_any_text_can_be_carried_and_never_grows(text, encoding):
    plain = for_encoding(text, encoding)
    plain.encode(encoding)
    assert len(plain) <= len(text)


def test_words_are_written_plainly_where_they_must_be():
    assert for_encoding("−2.2 °C – “light”", "ascii") == '-2.2 C - "light"'
    assert for_encoding("−2.2 °C – “light”", "latin-1") == '-2.2 °C - "light"'
