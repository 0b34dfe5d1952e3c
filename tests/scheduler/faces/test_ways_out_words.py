"""The ways out in words: times, the limit each meets or misses, and the published figures beside their sources."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from asked import NOW, SITE, made_forecast, with_gap
from ways_out_scenes import in_salt, rinsed, way, ways, weather

from scheduler.faces.terminal import Page
from scheduler.faces.ways_out_words import TITLES, say_ways_out, way_sentences
from scheduler.household.site import Chamber, Tray
from scheduler.planning.way_values import Way

WARM = weather()
TWO_FRONTS = replace(SITE, tray=Tray(fronts=2), duration_h=14.0, chamber=Chamber(volume_l=60.0))

SCENES = {
    Way.SHORTER: (rinsed(), weather(("17 21:00", "18 07:00")), SITE),
    Way.ONE_FRONT: (rinsed(), made_forecast(), TWO_FRONTS),
    Way.TWO_NIGHTS: (rinsed(), weather(("17 15:00", "17 23:00"), ("18 15:00", "18 23:00")), SITE),
    Way.HOLD: (rinsed(), made_forecast(mean_c=16.7), SITE),
    Way.FREEZE: (rinsed(), WARM, SITE),
    Way.COOK: (rinsed(), WARM, SITE),
}


def said(kind, site=None, **changes):
    batch, forecast, usual = SCENES[kind]
    site = usual if site is None else site
    found = way(kind, ways(replace(batch, **changes), forecast, site))
    return " ".join(way_sentences(found, site))


@pytest.mark.parametrize("kind", Way)
def test_every_way_says_when_its_wait_ends_and_what_is_common_practice(kind):
    text = said(kind)
    assert "Sun 18 Oct 11:00" in text
    assert "longest wait" in text
    assert "common practice, no source" in text
    assert kind in TITLES


@pytest.mark.parametrize("kind", Way)
def test_no_way_is_called_by_a_word_that_clears_food_or_hides_a_gap(kind):
    text = said(kind)
    assert "safe" not in text.lower()
    assert "None" not in text
    assert "  " not in text
    assert "!" not in text


def test_a_shorter_smoke_tells_both_lengths_lighting_lift_and_chance():
    text = said(Way.SHORTER)
    assert text.startswith("10 h instead of 12 h. Light Sat 17 Oct 21:")
    assert "lift Sun 07:" in text
    assert "The night is good: " in text
    assert "8 h is the least" in text


def test_one_front_tells_how_to_light_it():
    assert said(Way.ONE_FRONT).startswith(
        "Light the tray at one end of its track: less heat in the chamber, and 14 h. Light Sat 17 Oct"
    )


def test_two_nights_tell_both_lightings_the_fridge_between_and_the_hot_ash():
    text = said(Way.TWO_NIGHTS)
    assert text.startswith("At least 6 h each. Light Sat 17 Oct 1")
    assert "Light Sun 18 Oct 1" in text
    assert "in the fridge, at or under 4.4 °C, for 24 h at most: a rule of ours (common practice, no source)" in text
    assert "as if one night told nothing of the other" in text
    assert "counts as hot" in text


def test_holding_tells_until_when_how_long_and_for_which_night():
    text = said(Way.HOLD)
    assert "until Sun 18 Oct 11:00, 21 h from now, and no longer" in text
    assert "Sat 17 Oct is borderline (73 %)." in text
    assert "freeze it or cook it" in text


def test_a_night_that_nobody_knows_is_told_without_a_chance():
    found = way(Way.HOLD, ways(rinsed(), with_gap(WARM, 4, 30)))
    assert "Sat 17 Oct is unknown." in " ".join(way_sentences(found, SITE))


def test_salted_fish_is_told_to_be_rinsed_first_and_that_an_earlier_rinse_ends_the_wait_earlier():
    cook = ways(in_salt(50.0), WARM)[-1]
    text = " ".join(way_sentences(cook, SITE))
    assert text.startswith("First: rinse, pat dry, weigh, by Sat 17 Oct 22:00; what follows counts from then, and is")
    assert "By Sun 18 Oct 22:30, to 63 °C (145 °F) inside (FDA consumer advice)" in text


def test_freezing_without_a_record_tells_the_rule_that_it_could_still_meet():
    text = said(Way.FREEZE)
    assert "No rule on freezing against parasites is met yet" in text
    assert "14 days at −18 °C (0 °F) or colder, and 24 h more for the core (extension advice)" in text


def test_freezing_with_a_record_tells_no_rule_and_names_the_next_good_night():
    batch = rinsed(frozen_since=NOW - timedelta(days=60), freezer_c=-20.0, freezer_measured=True)
    found = way(Way.FREEZE, ways(batch, weather(("20 15:00", "21 15:00"))))
    text = " ".join(way_sentences(found, SITE))
    assert "parasites" not in text
    assert "The first good night that this leaves time for is Tue 20 Oct." in text


def test_a_wait_that_is_over_is_called_missed_and_is_not_smoked():
    (cook,) = ways(rinsed(30.0), WARM)
    text = " ".join(way_sentences(cook, SITE))
    assert text.startswith("Its longest wait ended Sat 17 Oct 08:00, and that limit is missed: do not smoke it.")
    assert "Cook it at once, to 63 °C (145 °F) inside (FDA consumer advice)" in text
    assert "throw it out" in text


def test_degrees_are_the_households():
    assert "40.0 °F" in said(Way.HOLD, replace(SITE, units="us"))


def test_the_page_numbers_them_the_best_first_and_says_nothing_of_none():
    page = Page.of(80, colour=False)
    say_ways_out(page, (), SITE)
    assert page.text() == ""
    say_ways_out(page, ways(rinsed(), WARM), SITE)
    assert "1. Freeze it now, smoke it later." in page.text()
    assert "2. Cook it." in page.text()
    assert max(map(len, page.text().splitlines())) <= 80
