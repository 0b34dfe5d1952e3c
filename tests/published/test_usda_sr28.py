"""Water in raw fish: USDA National Nutrient Database for Standard Reference, release 28 (read in a public copy).

With protein and fat, in g per 100 g; each row of the source adds up to 100 within its own looseness (ash 1 to 2).
"""

from __future__ import annotations

import pytest

from scheduler.science.cure import WATER_G_PER_100_G, WETTEST

ROWS = {
    "chinook salmon": (71.64, 19.93, 10.43),
    "sockeye salmon": (72.54, 22.25, 4.69),
    "coho salmon, wild": (72.66, 21.62, 5.93),
    "coho salmon, farmed": (70.47, 21.27, 7.67),
    "king salmon, Alaska Native": (65.96, 20.25, 11.73),
    "Atlantic salmon, farmed": (64.89, 20.42, 13.42),
    "Atlantic salmon, wild": (68.50, 19.84, 6.34),
    "pink salmon": (75.52, 20.50, 4.40),
}


def test_every_row_is_here_and_no_other() -> None:
    assert {name: row[0] for name, row in ROWS.items()} == WATER_G_PER_100_G


@pytest.mark.parametrize("row", ROWS.values(), ids=ROWS)
def test_a_row_is_a_fish(row: tuple[float, float, float]) -> None:
    assert 94.0 < sum(row) < 102.5  # the chinook row sums past 100, the wild Atlantic one leaves 5: as printed


def test_the_wettest_is_the_cautious_row() -> None:
    assert WETTEST == "pink salmon"
    assert WATER_G_PER_100_G[WETTEST] == max(WATER_G_PER_100_G.values())
