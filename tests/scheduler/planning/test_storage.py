"""How long smoked fish keeps: the same figures in the plan, the cautions and the README."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from asked import SITE, ask

from scheduler.errors import BadSetting
from scheduler.household.process_file import shipped_process
from scheduler.household.site_values import LONGEST_KEEP_DAYS, keep_days
from scheduler.household.units import celsius_from_fahrenheit
from scheduler.planning.chain import KEEP_DAYS_MEASURED, KEEP_DAYS_UNMEASURED
from scheduler.science.hazards import CAUTIONS

README = Path(__file__).parents[3] / "README.md"


@pytest.mark.parametrize(
    ("fridge_c", "own_days", "days"),
    [
        (None, None, 3),
        (celsius_from_fahrenheit(40.0), None, 5),
        (4.4, None, 5),
        (4.5, None, 3),
        (0.0, None, 5),
        (7.0, 10.0, 10),
        (2.0, 2.0, 2),
    ],
)
def test_the_plan_ends_so_many_days_after_the_lift(fridge_c, own_days, days):
    plan = ask(site=replace(SITE, fridge_c=fridge_c, eat_within_days=own_days)).choice.plan
    at = {each.step.name: each.at for each in plan.steps}
    assert at["eat_by"] - at["lift"] == timedelta(days=days)


def test_no_own_figure_over_ten_days_is_taken():
    assert keep_days(10) == 10.0
    with pytest.raises(BadSetting, match="over 10"):
        keep_days(10.5)


def test_the_caution_at_the_end_has_the_plans_figures():
    said = CAUTIONS["keep"].text
    assert f"within {KEEP_DAYS_UNMEASURED:.0f} days of the lift, or within {KEEP_DAYS_MEASURED:.0f} where" in said
    assert "measured at or under 4.4 °C (40 °F)" in said
    assert f"{LONGEST_KEEP_DAYS} days at most" in said
    assert "keep" in shipped_process("salmon").step("eat_by").cautions


def test_vacuum_packed_means_frozen_and_frozen_is_at_its_best_for_two_months():
    assert "Vacuum-packed means frozen" in CAUTIONS["vacuum_frozen"].text
    assert "best for 2 months" in CAUTIONS["frozen_quality"].text
    assert "best for two months" in shipped_process("salmon").step("eat_by").note


def test_the_readme_has_the_same_figures():
    said = " ".join(README.read_text(encoding="utf-8").split())
    assert "4.4 °C (40 °F) and eat the fish within 3 days, or 5 if that was measured" in said
    assert "best for 2 months" in said
