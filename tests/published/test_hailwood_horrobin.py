"""Equilibrium moisture by the Hailwood and Horrobin equation, against figures worked out by others with it."""

from __future__ import annotations

import pytest

from scheduler.science.wood import equilibrium_moisture


def test_printed_example_140_degrees_fahrenheit_and_55_pct() -> None:
    """8.4 % by the equation: encyclopedia article "Equilibrium moisture content", citing the Wood Handbook (read)."""
    assert 100 * float(equilibrium_moisture(60.0, 55.0)) == pytest.approx(8.4, abs=0.05)


@pytest.mark.parametrize(
    ("humidity_pct", "moisture_pct"),
    [(25, 5.3), (60, 11.1), (84, 17.6), (87, 19.0), (97, 25.0), (100, 28.8)],
)
def test_calculator_of_the_forest_products_laboratorys_equation_at_70_fahrenheit(
    humidity_pct: float, moisture_pct: float
) -> None:
    """Examples of an EMC calculator after Simpson (1998), FPL-RN-0268 (read).

    It starts from round shares of the wet weight and prints the humidity that they need as a whole number, so the
    moisture must lie between those at one per cent less and one more; 28.8 % is saturation itself.
    """
    least = 100 * float(equilibrium_moisture(21.1, humidity_pct - 1.0))
    most = 100 * float(equilibrium_moisture(21.1, min(humidity_pct + 1.0, 100.0)))
    assert least < moisture_pct <= most + 0.05


def test_published_code_gives_the_same_to_all_digits() -> None:
    """calcEMC_wood(20, 50) of the R package ConSciR, its formula worked out by hand."""
    temp, h = 20.0, 0.5
    w = 349 + 1.29 * temp + 0.0135 * temp**2
    k = 0.805 + 0.000736 * temp - 0.00000273 * temp**2
    k1 = 6.27 - 0.00938 * temp - 0.000303 * temp**2
    k2 = 1.91 + 0.0407 * temp - 0.000293 * temp**2
    top = k1 * k * h + 2 * k1 * k2 * k**2 * h**2
    by_hand = (1800 / w) * ((k * h) / (1 - k * h) + top / (1 + k1 * k * h + k1 * k2 * k**2 * h**2))
    assert 100 * float(equilibrium_moisture(temp, 50.0)) == pytest.approx(by_hand, rel=1e-12)
