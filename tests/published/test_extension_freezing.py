"""University of Alaska Fairbanks Extension, Smoking Fish at Home: 14 days at 0 °F (−18 °C) or less before a cold smoke.

Read second hand, in a newspaper column that quotes it.
"""

from __future__ import annotations

import pytest

from scheduler.science.parasites import EXTENSION_14_DAYS, Frozen, find


@pytest.mark.parametrize("temp_c", [-18.0, -17.8, -17.9, -25.0])
@pytest.mark.parametrize(("hours", "enough"), [(335.9, False), (336.0, True)])
def test_fourteen_days_at_home_freezer_temperature(hours: float, enough: bool, temp_c: float) -> None:
    assert find(EXTENSION_14_DAYS, [Frozen(hours, temp_c, measured=False)], core_lag_h=0.0).met is enough


def test_a_warmer_freezer_meets_it_at_no_length() -> None:
    assert not find(EXTENSION_14_DAYS, [Frozen(10_000.0, -17.0, measured=True)], core_lag_h=0.0).met
