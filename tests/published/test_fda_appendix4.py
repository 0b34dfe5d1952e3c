"""FDA, Fish and Fishery Products Hazards and Controls Guidance, Appendix 4, edition of March 2020: its summary (read).

For raw, ready-to-eat products: if ever above 70 °F (21.1 °C), time above 50 °F (10 °C) 2 hours, or 4 hours of which no
more than 2 above 70 °F.  Table A-2 itself was not opened: no row of it is tested, or shipped.
"""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.science.exposure import BESIDE, EDGES_C, exposure


def test_bands_change_where_the_summary_changes() -> None:
    assert list(EDGES_C) == pytest.approx([5.0, 10.0, 21.1], abs=0.02)


def test_a_fish_that_warms_from_0_to_25_degrees_spends_its_time_by_the_bands_widths() -> None:
    got = exposure(np.array([0.0, 25.0]), np.array([0.0, 25.0]))
    assert (got.cold_h, got.cool_h, got.mild_h, got.warm_h) == pytest.approx((5.0, 5.0, 11.11, 3.89), abs=0.01)
    assert got.unknown_h == 0.0


def test_what_stands_beside_the_hours_names_its_figures() -> None:
    for figure in ("70 °F", "50 °F", "2 hours", "4 hours"):
        assert figure in BESIDE.text
