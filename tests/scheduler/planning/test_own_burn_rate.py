"""What a household's own smokes have taught of its tray goes into how much is filled in and when it has burnt out."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_builders import HOUR_S, at, planning_site, smoke_process

from scheduler.household.batch import Batch
from scheduler.household.site import Tray
from scheduler.planning.chain import Chain
from scheduler.science.smoulder import FASTEST_G_PER_H, USUAL_G_PER_H, burn_time

NOW = at("2024-01-15T00:00")


def chain(g_per_h: float | None) -> Chain:
    site = replace(planning_site(), tray=Tray(holds_g=2000.0, fronts=1, g_per_h=g_per_h))
    return Chain(site, smoke_process(), Batch(), NOW, NOW + 240 * HOUR_S)


def test_without_own_smokes_practice_decides():
    assert chain(None).fill_g(12.0) == pytest.approx(12.0 * FASTEST_G_PER_H)
    assert chain(None).burn(12.0) == burn_time(12.0 * FASTEST_G_PER_H, 1)


def test_a_tray_that_burns_faster_is_filled_with_more():
    own = chain(2 * USUAL_G_PER_H)
    assert own.fill_g(12.0) == pytest.approx(2 * chain(None).fill_g(12.0))
    assert own.burn(12.0).usual_h == pytest.approx(chain(None).burn(12.0).usual_h)


def test_a_tray_that_burns_slower_is_not_called_out_sooner():
    assert (
        chain(0.5 * USUAL_G_PER_H).burn(12.0).longest_h
        >= burn_time(chain(0.5 * USUAL_G_PER_H).fill_g(12.0), 1).longest_h
    )
