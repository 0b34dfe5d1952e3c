"""Saturation pressure and dew point of the Magnus form in WMO-No. 8, Annex 4.B.

The annex prints no table.  Against steam tables, whose figures are from memory (11 significant digits exist; four are
used): 12.28 hPa at 10 °C, 23.39 at 20 °C and 42.47 at 30 °C.  The Magnus form stays within 0.35 % of them, an observed
gap, not a stated one.
"""

from __future__ import annotations

import pytest

from scheduler.science.air import dew_point, humidity_after_warming, standing, vapour_pressure


@pytest.mark.parametrize(("temp_c", "hpa"), [(0.01, 6.117), (10.0, 12.28), (20.0, 23.39), (30.0, 42.47)])
def test_saturation_pressure_agrees_with_steam_tables(temp_c: float, hpa: float) -> None:
    assert float(vapour_pressure(temp_c)) == pytest.approx(hpa, rel=3.5e-3)


@pytest.mark.parametrize(
    ("temp_c", "hpa"),
    # The same three numbers worked out by hand in another program; three decimals.
    [(0, 6.112), (3, 7.576), (5, 8.717), (10, 12.260), (15, 17.017), (20, 23.326), (25, 31.601), (30, 42.337)],
)
def test_saturation_pressure_is_the_formula(temp_c: float, hpa: float) -> None:
    assert float(vapour_pressure(temp_c)) == pytest.approx(hpa, abs=5.1e-4)


@pytest.mark.parametrize(
    ("temp_c", "humidity_pct", "dew_c"),
    # Five independent formulas agree on these within 0.05 K.
    [
        (10, 50, 0.05),
        (20, 50, 9.26),
        (20, 80, 16.44),
        (15, 90, 13.37),
        (5, 95, 4.27),
        (10, 70, 4.78),
        (15.6, 60, 7.86),
        (25, 40, 10.46),
        (30, 90, 28.18),
        (10, 80, 6.71),
        (15.6, 70, 10.14),
        (8, 90, 6.46),
        (12, 75, 7.70),
        (15, 50, 4.65),
        (0, 100, 0.0),
    ],
)
def test_dew_point(temp_c: float, humidity_pct: float, dew_c: float) -> None:
    assert float(dew_point(temp_c, humidity_pct)) == pytest.approx(dew_c, abs=0.05)


@pytest.mark.parametrize(
    ("outside_c", "outside_pct", "chamber_c", "chamber_pct"),
    [(8, 90, 14, 60.4), (5, 95, 10, 67.5), (10, 85, 15, 61.2), (12, 90, 16, 69.4)],
)
def test_damp_air_is_dry_once_warmed(
    outside_c: float, outside_pct: float, chamber_c: float, chamber_pct: float
) -> None:
    got = float(humidity_after_warming(outside_c, outside_pct, chamber_c))
    assert got == pytest.approx(chamber_pct, abs=0.05)


@pytest.mark.parametrize(
    ("fish_c", "least_pct"),
    # Least whole per cent at which fish this cold sweats in air of 5, 8, 10, 12, 15, 15.6 and 20 °C.
    [
        (3, (87, 71, 62, 54, 45, 43, 33)),
        (4, (93, 76, 66, 58, 48, 46, 35)),
        (5, (100, 81, 71, 62, 51, 49, 37)),
    ],
)
def test_humidity_at_which_fridge_cold_fish_sweats(fish_c: float, least_pct: tuple[int, ...]) -> None:
    for air_c, least in zip((5, 8, 10, 12, 15, 15.6, 20), least_pct, strict=True):
        if least < 100:
            assert standing(fish_c, air_c, least + 0.6, 25.0).sweats
        assert not standing(fish_c, air_c, least - 0.6, 25.0).sweats
