"""How wet a raw fish is taken to be, by its name."""

from __future__ import annotations

import pytest

from scheduler.science.cure import WATER_G_PER_100_G, WETTEST, salt_to_retain, thickness_warning, water_of


@pytest.mark.parametrize(
    ("food", "row", "matches"),
    [
        ("salmon", "pink salmon", 8),
        ("Sockeye Salmon", "sockeye salmon", 1),
        ("atlantic salmon", "Atlantic salmon, wild", 2),
        ("farmed atlantic salmon", "Atlantic salmon, farmed", 1),
        ("coho salmon", "coho salmon, wild", 2),
        ("trout", WETTEST, 0),
        ("...", WETTEST, 0),
    ],
)
def test_a_fish_has_the_wettest_row_that_bears_its_name(food, row, matches):
    found = water_of(food)
    assert (found.row, found.pct, found.matches) == (row, WATER_G_PER_100_G[row], matches)


def test_one_fish_by_two_names_has_the_wetter_of_its_rows():
    assert water_of("king salmon").row == water_of("chinook salmon").row == "chinook salmon"


def test_a_fish_without_a_row_is_never_asked_for_less_salt_than_one_with():
    asked = salt_to_retain(1000.0, water_of("trout").pct / 100.0, 0.12)
    assert all(asked >= salt_to_retain(1000.0, pct / 100.0, 0.12) for pct in WATER_G_PER_100_G.values())


def test_an_inch_is_not_over_an_inch():
    assert thickness_warning(25.4, 48.0) is None
    assert thickness_warning(26.0, 48.0) is not None
