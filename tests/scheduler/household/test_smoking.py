"""What a process asks of the smoke, beside what the site asks."""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wrong_processes import PROCESS

from scheduler.errors import BadProcess
from scheduler.household.process import Smoke
from scheduler.household.process_file import process_from, shipped_process
from scheduler.household.site import Limits, Site
from scheduler.household.smoking import site_for

SITE = Site("Invented yard", 41.0, -74.0, ZoneInfo("America/New_York"), duration_h=12.0, longest_h=20.0)
PLAIN = process_from(PROCESS.encode(), "mine.toml")


def asking(**smoke: float):
    return replace(PLAIN, smoke=Smoke(**smoke))


def read(smoke: str) -> Smoke:
    return process_from(PROCESS.replace("[cure]", f"[smoke]\n{smoke}\n[cure]").encode(), "mine.toml").smoke


def test_a_process_that_asks_nothing_leaves_the_site_as_it_is():
    assert PLAIN.smoke == Smoke()
    assert site_for(SITE, PLAIN) is SITE


@given(st.floats(-2, 32), st.floats(-2, 32))
def test_the_lower_ceiling_holds(own, food):
    site = replace(SITE, limits=Limits(ceiling_c=own, floor_c=-5.0))
    assert site_for(site, asking(ceiling_c=food)).limits == Limits(ceiling_c=min(own, food), floor_c=-5.0)


def test_the_processs_length_takes_the_place_of_the_sites():
    site = site_for(SITE, asking(duration_h=3.0, longest_h=6.0))
    assert (site.duration_h, site.longest_h) == (3.0, 6.0)
    assert site_for(SITE, asking(duration_h=3.0)).longest_h == 20.0


@given(st.floats(1, 18), st.floats(0, 2), st.floats(0, 30))
def test_twice_is_once(duration, more, ceiling):
    process = asking(ceiling_c=ceiling, duration_h=duration, longest_h=duration + more)
    once = site_for(SITE, process)
    assert site_for(once, process) == once


def test_a_ceiling_that_is_not_above_the_floor_is_refused():
    site = replace(SITE, limits=Limits(floor_c=11.0))
    with pytest.raises(BadProcess, match=r"'mine' wants the air at or under 10\.0 °C, .* floor of 11\.0 °C"):
        site_for(site, asking(ceiling_c=10.0))


def test_what_a_process_asks_is_read_in_its_units():
    assert read('ceiling = "50 F"\nduration = "3 h"\nlongest = "6 h"') == Smoke(pytest.approx(10.0), 3.0, 6.0)
    assert read('duration = "90 min"') == Smoke(duration_h=1.5)


@pytest.mark.parametrize(
    ("smoke", "words"),
    [
        ('ceiling = "95 F"', r"\[smoke\] ceiling: '95 F' is over the limit of the chamber"),
        ("ceiling = 50", r"\[smoke\] ceiling: 50 may be °F or °C"),
        ('duration = "30 min"', r"\[smoke\] duration: '30 min' is not a smoke of 1 h to 18 h"),
        ('duration = "19 h"', r"\[smoke\] duration: '19 h' is not a smoke of 1 h to 18 h"),
        ('duration = "3 h"\nlongest = "21 h"', r"\[smoke\] longest: '21 h' is not 1 h to 20 h"),
        ('duration = "3 h"\nlongest = "2 h"', r"\[smoke\] longest: goes with a duration that is no longer"),
        ('longest = "6 h"', r"\[smoke\] longest: goes with a duration"),
        ('cieling = "50 F"', r"\[smoke\] cieling: is not known here; did you mean 'ceiling'\?"),
    ],
)
def test_what_cannot_be_asked_is_refused(smoke, words):
    with pytest.raises(BadProcess, match=rf"mine\.toml: {words}"):
        read(smoke)


def test_smoke_is_a_table_of_keys():
    with pytest.raises(BadProcess, match=r"mine\.toml: smoke: 'long' is not a table of keys"):
        process_from(f'smoke = "long"\n{PROCESS}'.encode(), "mine.toml")


def test_states_of_food_that_has_not_begun_are_the_processs_own():
    text = PROCESS.replace('foods = ["salmon"]', 'foods = ["salmon"]\nunstarted = ["ready"]')
    assert process_from(text.encode(), "mine.toml").unstarted == ("ready",)
    assert PLAIN.unstarted == ("frozen", "fresh")


@pytest.mark.parametrize(
    ("unstarted", "words"),
    [
        ("[]", r"unstarted: \[\] names no state"),
        ('"ready"', r"unstarted: 'ready' is not a list"),
        ('["Ready now"]', r"unstarted: 'Ready now' is not one word"),
        ('["salted"]', r"step salt during: 'salted' is the state of unstarted already"),
    ],
)
def test_states_that_cannot_be_are_refused(unstarted, words):
    text = PROCESS.replace('foods = ["salmon"]', f'foods = ["salmon"]\nunstarted = {unstarted}')
    with pytest.raises(BadProcess, match=rf"mine\.toml: {words}"):
        process_from(text.encode(), "mine.toml")


def test_a_state_of_another_process_is_not_one_to_skip_for():
    text = PROCESS.replace('foods = ["salmon"]', 'foods = ["salmon"]\nunstarted = ["ready"]')
    with pytest.raises(BadProcess, match="there is no state 'fresh'; known are: ready, dry, none, salted"):
        process_from(text.replace("during", 'skip_if = ["fresh"]\nduring').encode(), "mine.toml")


@pytest.mark.parametrize("key", ["nitrite", "nitrate", "curing_salt"])
def test_nitrite_is_no_part_of_a_cure(key):
    with pytest.raises(BadProcess, match=rf"\[cure\] {key}: is refused: nitrite .*21 CFR 172\.175"):
        process_from(PROCESS.replace("[cure]", f'[cure]\n{key} = "0.01 %"').encode(), "mine.toml")


def test_cheese_asks_for_cooler_air_and_a_shorter_smoke_than_fish():
    cheese = site_for(SITE, shipped_process("cheese"))
    assert cheese.limits.ceiling_c < SITE.limits.ceiling_c
    assert (cheese.duration_h, cheese.longest_h) == (3.0, 6.0)
    assert shipped_process("cheese").cure is None


def test_salt_asks_nothing_of_the_air_and_names_no_hazard_of_food():
    from scheduler.science.hazards import CAUTIONS

    salt = shipped_process("salt")
    assert site_for(SITE, salt) is SITE
    assert salt.cure is None
    keys = {*salt.cautions, *(key for step in salt.steps for key in step.cautions)}
    assert {CAUTIONS[key].topic for key in keys} == {"fire"}


@pytest.mark.parametrize("food", ["cheese", "salt"])
def test_sawdust_and_ash_are_the_same_for_every_food(food):
    fish, other = shipped_process("salmon"), shipped_process(food)
    same = ("soak", "spread", "store", "light", "burn_out", "ash")
    assert [other.step(name) for name in same] == [fish.step(name) for name in same]


@pytest.mark.parametrize("name", ["Atlantic salmon", "sockeye salmon", "king salmon"])
def test_salmon_by_its_full_name_is_known(name):
    assert shipped_process(name).name == "dry-salted-fish"


def test_a_food_that_only_bears_the_name_of_another_is_not_taken_for_it():
    with pytest.raises(ValueError, match="no process for 'salt cod'"):
        shipped_process("salt cod")
