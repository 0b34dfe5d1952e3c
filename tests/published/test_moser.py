"""Optimal stopping on uniform chances: the sequence V_(n+1) = (1 + V_n²) / 2.

L. Moser, "On a problem of Cayley", Scripta Mathematica, 1956 (title and year from memory; the numbers are computed from
the recursion, which anybody can repeat with a pencil).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from scheduler.planning.stopping import value_of_waiting

SEQUENCE = (0.5, 0.625, 0.6953, 0.7417, 0.7751)
UNIFORM = (1.0, 1.0)


@pytest.mark.parametrize(("n", "expected"), list(enumerate(SEQUENCE, start=1)))
def test_the_value_of_so_many_uniform_nights_is_the_classic_sequence(n, expected):
    assert value_of_waiting(n, *UNIFORM) == pytest.approx(expected, abs=5e-5)


def test_it_is_the_recursion_in_exact_fractions():
    value = Fraction(0)
    for n in range(1, 8):
        value = (1 + value * value) / 2
        assert value_of_waiting(n, *UNIFORM) == pytest.approx(float(value), abs=1e-13)
