"""Most of a day of a server that has much to bear; the whole month is a benchmark."""

from __future__ import annotations

import os
import signal
import time

import pytest
from month import Month

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and limits of POSIX")


def test_a_day_of_ill_services_kills_and_a_full_disk_leave_the_feed_whole_and_lose_nothing(tmp_path, monkeypatch):
    with Month(tmp_path, monkeypatch, pace_s=60.0, seed=1) as month:
        month.weather.lies = False
        month.until(4)
        month.again()
        month.until(7)
        month.full_disk_for(1)
        month.wrong_clock_for(3, by_h=1)
        month.again()
        month.until(11)
        month.all_is_well()
        month.check()
        assert month.subscriber.answers[200] > 5
        assert month.subscriber.answers[304] > 50
        assert len(month.household.acknowledged) >= 3
        began = time.monotonic()
        assert month.server.kill(signal.SIGTERM) == 0
        assert time.monotonic() - began < 10
