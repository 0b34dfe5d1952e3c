"""Diffusion into a plane sheet: Crank, The Mathematics of Diffusion (1975), pages 47 and 48.

The equations and two worked figures each were read in the documentation of polykin, which takes them from there.
"""

from __future__ import annotations

import pytest

from scheduler.science.cure import plane_sheet_uptake, salt_uptake


def test_uptake_of_a_02_mm_film_after_100_s() -> None:
    """D 1e-10 m²/s; the documentation prints 0.562233541762138 for the sheet, 0.3145542331096479 for its middle."""
    got = plane_sheet_uptake(1e-10 * 100.0 / 0.2e-3**2)
    assert got.mean == pytest.approx(0.562233541762138, abs=1e-12)
    assert got.far_side == pytest.approx(0.3145542331096479, abs=1e-12)


def test_uptake_of_a_02_mm_film_after_500_s() -> None:
    """D 1e-11 m²/s; the documentation prints 0.39892798988456807."""
    assert plane_sheet_uptake(1e-11 * 500.0 / 2e-4**2).mean == pytest.approx(0.39892798988456807, abs=1e-12)


@pytest.mark.parametrize(
    ("fourier", "mean", "far"),
    # The same series worked out in another program.
    [
        (0.01, 0.1128, 0.0),
        (0.05, 0.2523, 0.0031),
        (0.1, 0.3568, 0.0507),
        (0.2, 0.5041, 0.2277),
        (0.5, 0.7640, 0.6292),
        (1.0, 0.9313, 0.8920),
        (1.5, 0.9800, 0.9686),
    ],
)
def test_uptake_by_fourier_number(fourier: float, mean: float, far: float) -> None:
    got = plane_sheet_uptake(fourier)
    assert got.mean == pytest.approx(mean, abs=5.1e-5)
    assert got.far_side == pytest.approx(far, abs=5.1e-5)


@pytest.mark.parametrize(
    ("thickness_mm", "diffusion", "mean", "far"),
    [
        (15, 1e-10, 0.313, 0.021),
        (15, 5e-10, 0.686, 0.506),
        (15, 1e-9, 0.878, 0.809),
        (25, 1e-10, 0.188, 0.000),
        (25, 5e-10, 0.420, 0.114),
        (25, 1e-9, 0.590, 0.357),
        (35, 1e-10, 0.134, 0.000),
        (35, 5e-10, 0.300, 0.016),
        (35, 1e-9, 0.424, 0.119),
    ],
)
def test_two_days_do_not_equal_out_a_thick_side(thickness_mm: float, diffusion: float, mean: float, far: float) -> None:
    got = salt_uptake(48.0, thickness_mm, diffusion)
    assert got.mean == pytest.approx(mean, abs=5.1e-4)
    assert got.far_side == pytest.approx(far, abs=5.1e-4)


def test_early_uptake_is_that_of_a_half_infinite_solid() -> None:
    """2 √(Fo/π), to which the series tends: no step where one takes over from the other."""
    below, above = plane_sheet_uptake(0.004999999), plane_sheet_uptake(0.005000001)
    assert above.mean - below.mean == pytest.approx(0.0, abs=1e-7)
    assert below.far_side == above.far_side == 0.0
