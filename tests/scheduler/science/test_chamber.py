from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science import chamber
from scheduler.science.chamber import Material, Rise, effective_ceiling, fire_rise, temperature, warmth
from scheduler.science.smoulder import Rate

volumes, fronts = st.floats(0.05, 2.0), st.integers(1, 4)
materials = st.sampled_from(("metal", "cardboard", "wood"))


def typical(g_per_h: float, heat_mj_kg: float, volume_m3: float, material: Material) -> float:
    """Rise [K] of one front with this rate and heat."""
    rise = fire_rise(1, volume_m3, material, Rate(g_per_h, g_per_h, g_per_h))
    return rise.typical * heat_mj_kg / 8.0


@pytest.mark.parametrize(
    ("material", "volume_m3", "wall", "rises", "least", "most"),
    # As first worked out by hand: 10, 14, 28 and 40 g/h at 8 MJ/kg; 10 g/h at 6; 40 g/h at 12.
    [
        ("metal", 0.10, 6.1, (3.5, 4.9, 9.7, 13.9), 2.6, 21.0),
        ("cardboard", 0.15, 7.0, (3.0, 4.2, 8.3, 11.9), 2.2, 18.0),
        ("wood", 0.20, 6.4, (3.1, 4.4, 8.8, 12.6), 2.4, 19.0),
        ("wood", 0.30, 8.4, (2.4, 3.3, 6.6, 9.5), 1.8, 14.0),
    ],
)
def test_rise_of_four_chambers(
    material: Material, volume_m3: float, wall: float, rises: tuple[float, ...], least: float, most: float
) -> None:
    assert chamber.wall_loss_w_k(volume_m3, material) == pytest.approx(wall, abs=0.1)
    for rate, kelvin in zip((10.0, 14.0, 28.0, 40.0), rises, strict=True):
        assert typical(rate, 8.0, volume_m3, material) == pytest.approx(kelvin, abs=0.15)
    assert typical(10.0, 6.0, volume_m3, material) == pytest.approx(least, abs=0.1)
    assert typical(40.0, 12.0, volume_m3, material) == pytest.approx(most, abs=0.5)


@given(fronts, volumes, materials)
def test_more_fronts_are_never_cooler(lit: int, volume: float, material: Material) -> None:
    fewer, more = fire_rise(lit, volume, material), fire_rise(lit + 1, volume, material)
    assert fewer.low < more.low
    assert fewer.typical < more.typical
    assert fewer.high < more.high


@given(fronts, volumes, materials, st.floats(0.01, 1.0))
def test_a_larger_chamber_or_a_pipe_is_never_warmer(lit: int, volume: float, material: Material, share: float) -> None:
    small = fire_rise(lit, volume, material)
    assert fire_rise(lit, volume * 1.5, material).typical < small.typical
    assert fire_rise(lit, volume, material, share_inside=share).typical == pytest.approx(share * small.typical)


def test_limits_are_90_fahrenheit_and_30_celsius() -> None:
    assert pytest.approx(32.2, abs=0.03) == chamber.LIMIT_C
    assert chamber.NOTE_C == 30.0


@given(st.floats(-10.0, 30.0), st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_more_rise_never_lifts_the_ceiling(ceiling: float, one: float, other: float) -> None:
    little, much = sorted((one, other))
    assert effective_ceiling(ceiling, much) <= effective_ceiling(ceiling, little) <= ceiling


def test_ceiling_is_the_lower_of_the_rule_and_what_the_chamber_allows() -> None:
    assert float(effective_ceiling(15.6, 8.0)) == 15.6
    assert float(effective_ceiling(15.6, 20.0)) == pytest.approx(12.2, abs=0.03)
    assert effective_ceiling(15.6, [0.0, 20.0]) == pytest.approx([15.6, 12.2], abs=0.03)


def test_one_front_at_the_ceiling_feels_cool() -> None:
    got = warmth(temperature(np.array([12.0, 15.6]), fire_rise(1, 0.2, "wood")))
    assert got.typical_c == pytest.approx(15.6 + 4.4, abs=0.05)
    assert not got.over_limit
    assert not got.note


def test_the_high_end_only_notes() -> None:
    got = warmth(temperature(15.6, fire_rise(2, 0.2, "wood")))
    assert got.typical_c < chamber.NOTE_C < chamber.LIMIT_C < got.high_c
    assert got.note
    assert not got.over_limit


def test_above_30_it_notes_and_above_the_limit_it_says_no() -> None:
    noted = warmth(temperature(20.0, Rise(10.0, 11.0, 12.0)))
    assert noted.note
    assert not noted.over_limit
    refused = warmth(temperature(20.0, Rise(10.0, 12.3, 13.0)))
    assert refused.over_limit
    assert not refused.note


def test_a_measured_rise_has_no_range() -> None:
    got = temperature([0.0, 5.0], chamber.measured_rise(6.5))
    assert got.low == pytest.approx([6.5, 11.5])
    assert (got.low == got.high).all()


@given(st.floats(-90.0, 0.0), st.floats(0.0, 100.0))
def test_a_sun_that_is_down_warms_nothing(height: float, cloud: float) -> None:
    got = chamber.sun_rise(height, cloud)
    assert float(got.low) == float(got.typical) == float(got.high) == 0.0


@given(st.floats(0.0, 89.0), st.floats(0.0, 1.0), st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_a_higher_sun_and_a_thinner_cloud_never_warm_less(
    height: float, more: float, thin: float, thick: float
) -> None:
    thin, thick = sorted((thin, thick))
    assert chamber.sun_rise(height + more, thin).typical >= chamber.sun_rise(height, thin).typical
    assert chamber.sun_rise(height, thick).typical <= chamber.sun_rise(height, thin).typical


def test_light_on_a_box_under_an_overhead_sun() -> None:
    """1098 e^−0.059 = 1035 W/m²: a quarter of the sun's four fifths and half of the sky's fifth make 0.3 of it."""
    assert float(chamber.sunlight_on_box(90.0, 0.0)) == pytest.approx(0.3 * 1035.1, rel=1e-3)
    assert float(chamber.sunlight_on_box(90.0, 100.0)) == pytest.approx(0.25 * 0.3 * 1035.1, rel=1e-3)


def test_an_hour_after_sunrise_the_sun_outdoes_one_front() -> None:
    assert float(chamber.sun_rise(10.0, 0.0).typical) > fire_rise(1, 0.2, "wood").typical


def test_where_the_cloud_is_unknown_the_sky_counts_as_clear() -> None:
    assert float(chamber.sun_rise(20.0, np.nan).typical) == float(chamber.sun_rise(20.0, 0.0).typical)


def test_sun_and_fire_add_up() -> None:
    sun = chamber.sun_rise([-5.0, 15.0], 0.0)
    got = temperature([8.0, 8.0], Rise(2.0, 4.0, 9.0), sun)
    assert got.typical[0] == 12.0
    assert got.typical[1] == pytest.approx(12.0 + float(sun.typical[1]))
    assert got.high[1] == pytest.approx(17.0 + float(sun.high[1]))


def test_advice_fits_the_chamber() -> None:
    assert chamber.advice(2, in_sun=True) == ("one_front", "shade", "ice", "shorter")
    assert chamber.advice(1, in_sun=False) == ("ice", "shorter")
    assert set(chamber.advice(2, in_sun=True)) == set(chamber.ADVICE)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="holds nothing"):
        fire_rise(1, 0.0, "wood")
    with pytest.raises(ValueError, match="warm nothing"):
        fire_rise(0, 0.2, "wood")
    with pytest.raises(ValueError, match="not low, typical and high"):
        Rise(5.0, 4.0, 9.0)
