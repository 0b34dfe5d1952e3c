"""The Brier score of logged chances against an independent library (scoringrules), and a vector by hand."""

from __future__ import annotations

import numpy as np
import pytest
import scoringrules
from hypothesis import given
from hypothesis import strategies as st

from scheduler.journal.scores import Outcome, brier

NIGHTS = st.lists(st.builds(Outcome, st.floats(0.0, 1.0), st.booleans()), min_size=1, max_size=60)


def test_a_score_worked_out_by_hand():
    """(0.3² + 0.2² + 0.9²) / 3; the Python library scores (2.7) gives the same."""
    nights = [Outcome(0.7, held=True), Outcome(0.2, held=False), Outcome(0.9, held=False)]
    assert brier(nights) == pytest.approx(0.3133333, abs=5e-8)


@given(NIGHTS)
def test_any_nights_score_as_the_library_says(nights):
    held, chances = np.array([float(night.held) for night in nights]), np.array([night.chance for night in nights])
    assert brier(nights) == pytest.approx(scoringrules.brier_score(held, chances, backend="numpy").mean(), abs=1e-12)
