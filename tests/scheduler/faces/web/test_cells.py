"""The weather of cells: when it is asked for, and what stands in for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random

import feed_house
import pandas as pd
import pytest
from feed_house import HOUR, NOON

from providers.errors import Unreachable
from scheduler.errors import BadSetting
from scheduler.faces.web.cells import MOST_HELD, Cells
from scheduler.faces.web.sites import Served
from scheduler.faces.web.timetable import FURTHEST, cell_of

SERVED = Served(Path("shed.toml"), feed_house.SITE, "s" * 43)
CELL = cell_of(feed_house.SITE)
MINUTE = timedelta(minutes=1)


class Service:
    """Answers, or does not, and counts."""

    def __init__(self):
        self.asked, self.error, self.stale = [], None, False

    def __call__(self, served, now):
        self.asked.append(now)
        if self.error is not None:
            raise self.error
        fresh = now - MINUTE if self.stale else now + HOUR
        return replace(feed_house.weather(now, days=2), fresh_until=fresh), ()


@pytest.fixture
def service():
    return Service()


@pytest.fixture
def cells(service):
    found = Cells(service, Random(1))
    found.keep_only({CELL}, NOON)
    return found


def test_a_new_cell_is_asked_about_at_once_and_then_not_before_its_forecast_expires(cells, service):
    for minutes in range(0, 60, 5):
        assert cells.weather(CELL, SERVED, NOON + minutes * MINUTE)[0].issued_at == NOON
    assert service.asked == [NOON]
    assert cells.due(NOON + 59 * MINUTE) == []
    assert cells.due(NOON + 70 * MINUTE) == [CELL]


def test_a_service_that_never_answered_is_not_asked_again_before_its_pause_is_over(cells, service):
    service.error = Unreachable("the service is silent")
    for seconds in range(0, 290, 30):
        assert cells.weather(CELL, SERVED, NOON + timedelta(seconds=seconds)) is None
    assert service.asked == [NOON]
    assert cells.known[CELL].trouble == "the service is silent"


def test_an_old_forecast_stands_in_while_a_service_fails_and_the_trouble_is_known(cells, service):
    cells.weather(CELL, SERVED, NOON)
    service.error = Unreachable("the service is silent")
    for hours in range(2, 8):
        assert cells.weather(CELL, SERVED, NOON + hours * HOUR)[0].issued_at == NOON
    assert cells.known[CELL].failures == len(service.asked) - 1 >= 4
    assert cells.known[CELL].issued_at == NOON


def test_an_answer_past_its_time_counts_as_a_failure(cells, service):
    service.stale = True
    assert cells.weather(CELL, SERVED, NOON) is not None
    assert cells.known[CELL].trouble == "nothing newer could be had"


def test_all_is_well_again_after_the_first_good_answer(cells, service):
    service.error = Unreachable("the service is silent")
    cells.weather(CELL, SERVED, NOON)
    service.error = None
    cells.weather(CELL, SERVED, NOON + HOUR)
    assert (cells.known[CELL].failures, cells.known[CELL].trouble) == (0, None)


def test_any_other_fault_counts_as_a_failure_and_is_handed_on(cells, service):
    service.error = BadSetting("the table has no hours")
    with pytest.raises(BadSetting):
        cells.weather(CELL, SERVED, NOON)
    assert cells.weather(CELL, SERVED, NOON + MINUTE) is None
    assert cells.known[CELL].trouble == "the table has no hours"


def test_a_clock_that_was_a_year_ahead_keeps_no_cell_from_being_asked(cells, service):
    cells.weather(CELL, SERVED, NOON + timedelta(days=365))
    cells.keep_only({CELL}, NOON)
    assert cells.due(NOON) == [CELL]


def test_a_clock_set_back_an_hour_asks_no_sooner_than_without(cells, service):
    cells.weather(CELL, SERVED, NOON)
    cells.keep_only({CELL}, NOON - HOUR)
    assert cells.known[CELL].due - (NOON - HOUR) <= FURTHEST
    assert cells.due(NOON - HOUR) == []


def test_more_cells_than_are_held_ready_are_still_asked_once_and_read_back_the_same(service):
    sites = [replace(feed_house.SITE, name=str(n), latitude_deg=30 + n / 10) for n in range(MOST_HELD + 6)]
    cells = Cells(service, Random(1))
    cells.keep_only({cell_of(one) for one in sites}, NOON)
    first = [cells.weather(cell_of(one), replace(SERVED, site=one), NOON)[0] for one in sites]
    again = [cells.weather(cell_of(one), replace(SERVED, site=one), NOON + MINUTE)[0] for one in sites]
    assert len(service.asked) == len(sites)
    assert len(cells._held) == MOST_HELD
    for one, other in zip(first, again, strict=True):
        pd.testing.assert_frame_equal(one.hourly, other.hourly)
        assert replace(one, hourly=other.hourly) == other


def test_a_cell_without_a_site_is_forgotten(cells):
    cells.weather(CELL, SERVED, NOON)
    cells.keep_only(set(), NOON)
    assert cells.known == cells._held == cells._packed == {}
