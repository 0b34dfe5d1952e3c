from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.science.wood import equilibrium_moisture

temps = st.floats(-10.0, 55.0)


@given(temps, st.floats(0.0, 99.0), st.floats(0.01, 1.0))
def test_damper_air_leaves_wood_wetter(temp: float, humidity: float, more: float) -> None:
    assert equilibrium_moisture(temp, humidity) < equilibrium_moisture(temp, humidity + more)


@given(temps)
def test_dry_air_leaves_it_dry_and_saturated_air_at_fibre_saturation(temp: float) -> None:
    assert float(equilibrium_moisture(temp, 0.0)) == 0.0
    assert 0.22 < float(equilibrium_moisture(temp, 100.0)) < 0.32


@pytest.mark.parametrize(
    ("temp_c", "humidity_pct", "moisture_pct"),
    # Worked out in another program.
    [
        (0, 80, 16.5),
        (5, 90, 21.0),
        (10, 60, 11.24),
        (10, 90, 20.9),
        (15, 50, 9.38),
        (15, 80, 16.2),
        (20, 50, 9.27),
        (20, 90, 20.5),
        (30, 40, 7.47),
        (10, 98, 26.9),
        (10, 70, 13.4),
        (10, 84, 17.9),
        (10, 88, 19.8),
        (10, 95, 24.3),
        (60, 55, 8.37),
    ],
)
def test_common_weather(temp_c: float, humidity_pct: float, moisture_pct: float) -> None:
    assert 100 * float(equilibrium_moisture(temp_c, humidity_pct)) == pytest.approx(moisture_pct, abs=0.05)
