"""The search over one 16-day hourly forecast, alone and with 51 members, against what a user would write."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from measure import seconds, tell

from scheduler.planning.curve import Curve
from scheduler.planning.spans import Spans
from scheduler.planning.windows import coolest, smokes

pytestmark = pytest.mark.benchmark

HOURS, MEMBERS, DURATION_H = 16 * 24 + 1, 51, 12
START = datetime(2026, 10, 17, 12, tzinfo=UTC)
TIMES = START.timestamp() + 3600.0 * np.arange(HOURS)
CEILING_C = 15.5556


def frame() -> pd.DataFrame:
    rng = np.random.default_rng(2026)
    day = 14.0 + 5.0 * np.cos((np.arange(HOURS) - 3.0) / 12.0 * np.pi)
    walk = rng.normal(0.0, 0.3, (HOURS, MEMBERS + 1)).cumsum(axis=0) * 0.5
    index = pd.date_range(START, periods=HOURS, freq="h")
    return pd.DataFrame(day[:, None] + walk, index=index, columns=[f"air_c_{n:02d}" for n in range(MEMBERS + 1)])


def lightings() -> list[datetime]:
    """Every full hour of every evening from 16:00 to 22:00."""
    evenings = [START + timedelta(days=day, hours=4) for day in range(15)]
    return [evening + timedelta(hours=hour) for evening in evenings for hour in range(7)]


def plain_loop(table: pd.DataFrame) -> list[list[float]]:
    """What a user would write: for each lighting and each column, the maximum of the slice."""
    return [
        [float(table[name].loc[light : light + timedelta(hours=DURATION_H)].max()) for name in table.columns]
        for light in lightings()
    ]


def our_maxima(curve: Curve) -> np.ndarray:
    start = np.array([light.timestamp() for light in lightings()])
    return curve.greatest(start, start + DURATION_H * 3600.0)


def test_window_maxima_of_51_members_against_the_plain_pandas_loop():
    table = frame()
    values = table.to_numpy()
    start = time_of_loop(table)
    ours = seconds(lambda: our_maxima(Curve.of(TIMES, values)), 20)
    np.testing.assert_allclose(our_maxima(Curve.of(TIMES, values)), plain_loop(table))
    tell("plain pandas loop over 51 members / our window maxima", start / ours, "at least 300")
    tell("our window maxima / one numpy.max over the same numbers", ours / seconds(values.max, 50), "told, not aimed")


def time_of_loop(table: pd.DataFrame) -> float:
    start = datetime.now(UTC)
    plain_loop(table)
    return (datetime.now(UTC) - start).total_seconds()


def test_the_exact_coolest_lighting_of_every_night_against_the_plain_pandas_loop():
    table = frame()[["air_c_00"]]
    curve = Curve.of(TIMES, table.to_numpy())
    evenings = [START.timestamp() + 3600.0 * (24 * day + 4) for day in range(15)]
    every = smokes(
        Spans.of((at, at + 6 * 3600.0) for at in evenings),
        Spans(((TIMES[0], TIMES[-1]),)),
        duration_s=DURATION_H * 3600.0,
        longest_s=20 * 3600.0,
    )

    def search() -> None:
        allowed = curve.under(CEILING_C)
        for at in evenings:
            night = every.between(at, at + 6 * 3600.0)
            coolest(curve, night.inside(allowed) if night.inside(allowed).stretches else night)

    ours = seconds(search, 5)
    tell("plain pandas loop at full hours / our exact search", time_of_loop(table) / ours, "told, not aimed")
    values = table.to_numpy()
    tell("our exact search / one numpy.max over the same numbers", ours / seconds(values.max, 50), "told, not aimed")
