"""A month of a server that has much to bear, on a clock that runs ahead whenever it waits (several minutes)."""

from __future__ import annotations

import random
import signal
import statistics
import time

import pytest
from measure import tell
from month import Month, lives

pytestmark = pytest.mark.benchmark

HOURS = 31 * 24
LAST_LIFE_H = 8 * 24
"""Without a kill, so that memory can be looked at."""


def test_a_month_of_ill_services_kills_and_a_full_disk_leaves_the_feed_whole_and_loses_nothing(tmp_path, monkeypatch):
    began = time.monotonic()
    with Month(tmp_path, monkeypatch, pace_s=60.0, seed=2026) as month:
        kills = list(lives(random.Random(7), HOURS - LAST_LIFE_H, mean_h=30.0))
        for number, at in enumerate(kills):
            month.until(at, patience_s=1800)
            month.again()
            if number == len(kills) // 3:
                month.full_disk_for(1)
            if number == len(kills) // 2:
                month.wrong_clock_for(6, by_h=1)
                month.wrong_clock_for(6, by_h=-1)
        memory = []
        for at in range(HOURS - LAST_LIFE_H + 24, HOURS + 1, 2):
            month.weather.lies = HOURS - at > 48
            month.until(at, patience_s=1800)
            memory.append(month.server.memory)
        month.all_is_well()
        month.check()
        early, late = statistics.median(memory[:12]), statistics.median(memory[-12:])
        tell("seconds that the month took", time.monotonic() - began, "told, not aimed")
        tell("kills", len(kills), "told, not aimed")
        tell("feeds looked at", len(month.subscriber.chains), "told, not aimed")
        tell("answers 200, told once each", month.subscriber.answers[200], "told, not aimed")
        tell("answers 304", month.subscriber.answers[304], "told, not aimed")
        tell("faults that the services met", sum(month.weather.met_by.values()), "told, not aimed")
        tell("requests to weather services", len(month.weather.requests), "told, not aimed")
        tell("records acknowledged, all of them kept", len(month.household.acknowledged), "told, not aimed")
        tell("memory at the end / a day after the start", late / early, "at most 1.15")
        assert late / early <= 1.15
        assert month.server.kill(signal.SIGTERM) == 0
