from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science.cure import (
    NO_NITRITE,
    WeighOut,
    finished,
    net_loss,
    plane_sheet_uptake,
    salt_to_retain,
    salt_uptake,
    thickness_warning,
    water_phase_salt,
    weigh_out,
)

moistures = st.floats(0.5, 0.85)
losses = st.floats(0.0, 0.3)
weights = st.floats(100.0, 10_000.0)


def test_a_kilogram_at_twelve_per_cent() -> None:
    got = weigh_out(1000.0, 12.0, 12.0, 12.0)
    assert got == WeighOut(pytest.approx(120.0), pytest.approx(120.0), pytest.approx(880.0))


def test_loss_by_the_scales() -> None:
    assert net_loss(1000.0, 880.0) == pytest.approx(0.12)
    assert net_loss(1000.0, 1000.0) == 0.0


@pytest.mark.parametrize(("raw", "cured"), [(1000.0, 1001.0), (1000.0, 0.0), (0.0, 0.0), (-1.0, -2.0)])
def test_a_fish_that_grew_or_vanished_is_refused(raw: float, cured: float) -> None:
    with pytest.raises(ValueError, match="cannot weigh"):
        net_loss(raw, cured)


@given(weights, moistures, losses, st.floats(0.1, 20.0))
def test_salt_to_retain_gives_the_water_phase_that_was_asked_for(
    raw: float, moisture: float, loss: float, wps: float
) -> None:
    salt = salt_to_retain(raw, moisture, loss, wps)
    got = finished(raw, moisture, loss, salt)
    assert got.wps_pct == pytest.approx(wps, rel=1e-12)
    assert water_phase_salt(got.salt_pct, got.moisture_pct) == pytest.approx(wps, rel=1e-9)


@given(weights, moistures, losses, st.floats(0.0, 0.04), st.floats(0.0, 0.04))
def test_more_salt_never_lowers_water_phase_salt(
    raw: float, moisture: float, loss: float, one: float, other: float
) -> None:
    little, much = sorted((one, other))
    less = finished(raw, moisture, loss, raw * little).wps_pct
    assert finished(raw, moisture, loss, raw * much).wps_pct >= less


@given(moistures, losses, losses)
def test_a_drier_fish_needs_no_more_salt(moisture: float, one: float, other: float) -> None:
    little, much = sorted((one, other))
    assert salt_to_retain(1000.0, moisture, much) <= salt_to_retain(1000.0, moisture, little)


@given(moistures, moistures, losses)
def test_a_wetter_fish_needs_no_less_salt(one: float, other: float, loss: float) -> None:
    drier, wetter = sorted((one, other))
    assert salt_to_retain(1000.0, wetter, loss) >= salt_to_retain(1000.0, drier, loss)


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_salt_only_comes_in_and_the_skin_side_lags(one: float, other: float) -> None:
    early, late = (plane_sheet_uptake(each) for each in sorted((one, other)))
    assert 0.0 <= early.mean <= late.mean + 1e-9 <= 1.0 + 1e-9
    assert early.far_side <= late.far_side + 1e-9
    assert late.far_side <= late.mean + 1e-9


def test_a_thin_piece_gets_no_warning_and_a_thick_one_its_reason() -> None:
    assert thickness_warning(25.0, 48.0) is None
    words = thickness_warning(35.0, 48.0)
    assert words is not None
    assert "35 mm" in words
    assert "48 h" in words
    assert "0 %" in words


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: weigh_out(0.0, 12.0, 12.0, 12.0),
        lambda: salt_to_retain(1000.0, 65.0, 0.12),
        lambda: salt_to_retain(1000.0, 0.65, -0.1),
        lambda: salt_to_retain(0.0, 0.65, 0.1),
        lambda: salt_to_retain(1000.0, 0.65, 0.12, 100.0),
        lambda: finished(1000.0, 0.65, 0.12, 531.0),
        lambda: water_phase_salt(0.0, 0.0),
        lambda: water_phase_salt(-1.0, 60.0),
        lambda: plane_sheet_uptake(-0.1),
        lambda: salt_uptake(48.0, 0.0, 1e-10),
    ],
)
def test_what_cannot_be_is_refused(wrong: object) -> None:
    with pytest.raises(ValueError, match=r"."):
        wrong()  # type: ignore[operator]


def test_nitrite_is_refused_with_the_reason() -> None:
    assert "dangerous" in NO_NITRITE
