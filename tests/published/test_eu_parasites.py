"""Regulation (EC) 853/2004, Annex III, Section VIII, Chapter III, part D, as replaced by (EU) 1276/2011.

Against parasites other than trematodes: every part of the product at −20 °C or less for 24 hours, or at −35 °C or less
for 15 hours.  Read in the German text.
"""

from __future__ import annotations

import pytest

from scheduler.science.parasites import EU_15_HOURS, EU_24_HOURS, Frozen, find


@pytest.mark.parametrize(("hours", "enough"), [(23.9, False), (24.0, True)])
def test_a_day_at_minus_20(hours: float, enough: bool) -> None:
    assert find(EU_24_HOURS, [Frozen(hours, -20.0, measured=True)], core_lag_h=0.0).met is enough


@pytest.mark.parametrize(("hours", "enough"), [(14.9, False), (15.0, True)])
def test_fifteen_hours_at_minus_35(hours: float, enough: bool) -> None:
    assert find(EU_15_HOURS, [Frozen(hours, -35.0, measured=True)], core_lag_h=0.0).met is enough


@pytest.mark.parametrize("rule", [EU_24_HOURS, EU_15_HOURS])
def test_minus_18_meets_neither_at_any_length(rule: object) -> None:
    assert not find(rule, [Frozen(10_000.0, -18.0, measured=True)], core_lag_h=0.0).met  # type: ignore[arg-type]


def test_every_part_of_the_product_means_that_the_core_is_given_time() -> None:
    assert not find(EU_24_HOURS, [Frozen(47.9, -20.0, measured=True)]).met
    assert find(EU_24_HOURS, [Frozen(48.0, -20.0, measured=True)]).met
