"""Salt in the water phase, and the closed balance of a cure in which only water leaves and only salt enters.

The definition (100 times salt over salt and water) is that of the smoked-fish rules.  The figures are worked out from
it in another program, with the moisture of USDA SR28.
"""

from __future__ import annotations

import pytest

from scheduler.science.cure import finished, salt_pct_for, salt_to_retain, water_phase_salt

FARMED, WILD, CHINOOK = 0.6489, 0.685, 0.7164


@pytest.mark.parametrize(
    ("salt_pct", "moisture_pct", "wps_pct"),
    [(2.0, 70, 2.778), (2.4, 65, 3.561), (2.5, 68.5, 3.521), (3.0, 60, 4.762), (3.5, 65, 5.109), (1.8, 68.5, 2.560)],
)
def test_water_phase_salt(salt_pct: float, moisture_pct: float, wps_pct: float) -> None:
    assert water_phase_salt(salt_pct, moisture_pct) == pytest.approx(wps_pct, abs=5.1e-4)


@pytest.mark.parametrize(("moisture_pct", "salt_pct"), [(60, 2.176), (65, 2.358), (68.5, 2.484), (70, 2.539)])
def test_salt_for_three_and_a_half_per_cent(moisture_pct: float, salt_pct: float) -> None:
    assert salt_pct_for(3.5, moisture_pct) == pytest.approx(salt_pct, abs=5.1e-4)


@pytest.mark.parametrize(
    ("moisture", "loss", "for_35_g", "for_40_g", "wps", "salt", "water"),
    # Per kg of raw fish; the last three for 25 g of salt retained.
    [
        (FARMED, 0.08, 19.91, 22.76, 4.394, 2.717, 59.12),
        (FARMED, 0.12, 18.51, 21.16, 4.727, 2.841, 57.26),
        (FARMED, 0.17, 16.76, 19.16, 5.220, 3.012, 54.69),
        (WILD, 0.08, 21.18, 24.20, 4.132, 2.717, 63.04),
        (WILD, 0.12, 19.78, 22.60, 4.425, 2.841, 61.36),
        (WILD, 0.17, 18.03, 20.60, 4.854, 3.012, 59.04),
    ],
)
def test_closed_balance(
    moisture: float, loss: float, for_35_g: float, for_40_g: float, wps: float, salt: float, water: float
) -> None:
    assert salt_to_retain(1000.0, moisture, loss, 3.5) == pytest.approx(for_35_g, abs=5.1e-3)
    assert salt_to_retain(1000.0, moisture, loss, 4.0) == pytest.approx(for_40_g, abs=5.1e-3)
    got = finished(1000.0, moisture, loss, 25.0)
    assert got.wps_pct == pytest.approx(wps, abs=5.1e-4)
    assert got.salt_pct == pytest.approx(salt, abs=5.1e-4)
    assert got.moisture_pct == pytest.approx(water, abs=5.1e-3)


def test_a_wetter_fish_needs_more_salt() -> None:
    assert salt_to_retain(1000.0, CHINOOK, 0.12, 3.5) == pytest.approx(20.87, abs=5.1e-3)


@pytest.mark.parametrize("loss", [FARMED, 0.7])
def test_a_loss_of_all_the_water_is_refused(loss: float) -> None:
    with pytest.raises(ValueError, match="more than the fish has water"):
        salt_to_retain(1000.0, FARMED, loss)
