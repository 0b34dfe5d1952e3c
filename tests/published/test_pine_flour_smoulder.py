"""Speed of a smouldering front: Kim, Kim and Rie (2017), BioResources 12(4):7552.

1.4 to 1.8e-3 cm/s, downward in pine wood flour of 204 to 234 kg/m³ (abstract read).
"""

from __future__ import annotations

import pytest

from scheduler.science.smoulder import PRACTICE

TRACK_CM2 = 3.5 * 3.0
LOOSE_G_CM3 = 0.22


def front_cm_s(g_per_h: float) -> float:
    return g_per_h / (TRACK_CM2 * LOOSE_G_CM3) / 3600.0


def test_the_usual_rate_is_a_front_as_fast_as_they_measured() -> None:
    assert 1.4e-3 < front_cm_s(PRACTICE.usual) < 1.8e-3


def test_the_trades_range_lies_around_theirs() -> None:
    assert front_cm_s(PRACTICE.slow) == pytest.approx(1.1e-3, abs=5e-5)
    assert front_cm_s(PRACTICE.fast) == pytest.approx(2.3e-3, abs=5e-5)
