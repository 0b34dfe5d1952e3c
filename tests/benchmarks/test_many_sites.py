"""The chance of 16 nights at up to 10,000 sites of 51 members, against one numpy.max pass over the same array."""

from __future__ import annotations

import os
import tracemalloc
from typing import TYPE_CHECKING

import numpy as np
import pytest
from measure import seconds, tell

from scheduler.planning.clock import HOUR_S
from scheduler.planning.curve import Curve
from scheduler.planning.spread import ErrorModel, Members

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.benchmark

NIGHTS, MEMBERS, DURATION_H = 16, 51, 12
HOURS = NIGHTS * 24 + 1
NOON = 20_000 * 24 * HOUR_S + 12 * HOUR_S
TIMES = NOON + HOUR_S * np.arange(HOURS)
LIGHT = NOON + HOUR_S * (24.0 * np.arange(NIGHTS) + 7.0)
LIFT = LIGHT + DURATION_H * HOUR_S
CEILING_C = 15.5556
SITE_BYTES = 8 * HOURS * MEMBERS
SIZES = (100, 1_000, 10_000)


def ensembles(count: int) -> np.ndarray:
    """Air of every site, hour and member [°C], shape (sites, hours, members): 1.6 GB for 10,000."""
    rng = np.random.default_rng(2026)
    day = 13.0 + 5.0 * np.cos((np.arange(HOURS) - 3.0) / 12.0 * np.pi)
    few = day[:, None] + 0.5 * rng.normal(0.0, 0.3, (10, HOURS, MEMBERS)).cumsum(axis=1)
    air = np.empty((count, HOURS, MEMBERS))
    for site in range(count):
        np.add(few[site % len(few)], rng.normal(0.0, 3.0), out=air[site])
    return air


def chances_of(site_air: np.ndarray) -> np.ndarray:
    """What one site costs: window maxima of all members, and the dressed chance of each night."""
    only = Curve.of(TIMES, site_air)
    return Members(only, NOON, ErrorModel(only, NOON)).chances(LIGHT, LIFT, CEILING_C)


def all_chances(air: np.ndarray) -> np.ndarray:
    return np.array([chances_of(one) for one in air])


def plain_maxima(site_air: np.ndarray) -> np.ndarray:
    """Window maxima as anybody would write them: every lighting and lift here is a full hour."""
    first = ((LIGHT - NOON) / HOUR_S).astype(int)
    return np.array([site_air[row : row + DURATION_H + 1].max(axis=0) for row in first])


def peak_bytes(work: Callable[[], object]) -> int:
    """The most that was held at once beyond what was there before."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("count", SIZES)
def test_a_site_costs_the_same_however_many_there_are(count: int) -> None:
    if count * SITE_BYTES > 0.7 * os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"):
        pytest.skip("not enough free memory for the array")
    air = ensembles(count)
    np.testing.assert_array_equal(Curve.of(TIMES, air[0]).greatest(LIGHT, LIFT), plain_maxima(air[0]))
    ours, one_pass = seconds(lambda: all_chances(air), 1), seconds(air.max, max(1, SIZES[-1] // count))
    tell(f"{count} sites: our chances / one numpy.max over the same array", ours / one_pass, "at most 100")
    held = peak_bytes(lambda: all_chances(air))
    tell(f"{count} sites: most memory held / the array", held / air.nbytes, "falling with the sites")
    tell(f"{count} sites: most memory held / the members of one site", held / SITE_BYTES, "told, not aimed")
