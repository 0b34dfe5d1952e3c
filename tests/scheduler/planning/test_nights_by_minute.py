"""Nights against a search minute by minute, and what holds for all of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import (
    HOUR_S,
    MINUTE_S,
    examples,
    planning_site,
    weather_of,
)
from planning_minutes import DAYS_TO_1970, Minutes, runs
from planning_scenes import NOON, Scene, scenes

from scheduler.planning.answers import Night, Verdict


@examples(150)
@given(scenes())
def test_nights_are_what_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    found = {night.date.toordinal() - DAYS_TO_1970: night for night in scene.nights}
    for n in truth.nights:
        sets = (truth.lightings, truth.surely_holding, truth.holding, truth.perhaps_holding)
        lit, surely, roughly, perhaps = ({m for m in one if truth.night_of(m) == n} for one in sets)
        if not lit and n == truth.nights[0]:
            assert n not in found
            continue
        night = found.pop(n)
        assert night.reasons
        if night.light_best is not None and night.light_best.timestamp() % MINUTE_S:
            assert not surely  # the window is shorter than a minute, and is shown as it is
        elif surely or roughly:
            assert night.verdict is (Verdict.GOOD if surely else Verdict.BORDERLINE)
            assert_is_of(night, truth, surely or roughly)
        else:
            assert night.verdict is (Verdict.UNKNOWN if perhaps else Verdict.NO)
            assert (night.light_best, night.light_earliest, night.light_latest, night.lift) == (None,) * 4
    assert not found


def assert_is_of(night: Night, truth: Minutes, held: set[int]) -> None:
    """The night's lighting, span, lift and peak are those of the minutes that hold."""
    best, early, late, lift, lift_latest = (
        minutes_of(t)
        for t in (night.light_best, night.light_earliest, night.light_latest, night.lift, night.lift_latest)
    )
    assert (early, late) in runs(held)
    assert early <= best <= late
    assert lift == truth.lift_of(int(best))
    assert night.peak_c == pytest.approx(truth.told_peak_c(int(best)), abs=1e-6)
    assert night.ceiling_c == pytest.approx(truth.ceiling_c, abs=1e-9)
    assert night.margin_c == pytest.approx(truth.ceiling_c - truth.told_peak_c(int(best)), abs=1e-6)
    slope = np.nanmax(truth.air[0] - truth.air[1])
    assert truth.peak_c(int(best)) <= min(truth.peak_c(m) for m in held) + slope + 1e-6
    others = [run for run in runs(held) if run != (early, late)]
    told = [(minutes_of(a), minutes_of(b)) for a, b in night.other_spans]
    assert all(any(abs(a - c) <= 1 and abs(b - d) <= 1 for c, d in told) for a, b in others)
    broken = truth.broken[0] | truth.broken[1] | (truth.doubtful[1] if night.verdict is Verdict.GOOD else False)
    after = np.nonzero(broken[int(lift - truth.grid[0]) :])[0]
    assert lift_latest == pytest.approx(min(lift + after[0], late + truth.site.longest_h * 60), abs=1.0)


def minutes_of(instant: datetime | None) -> float:
    assert instant is not None
    return instant.timestamp() / MINUTE_S


@examples(60)
@given(scenes(), st.integers(1, 400))
def test_moving_everything_by_whole_weeks_moves_the_dates_and_nothing_else(scene: Scene, weeks_on: int) -> None:
    on = timedelta(weeks=weeks_on)
    times = scene.minutes.samples * MINUTE_S + on.total_seconds()
    later = replace(scene, forecast=weather_of(times, **scene.columns), now_s=scene.now_s + round(on.total_seconds()))
    assert later.nights == tuple(moved(night, on) for night in scene.nights)


def moved(night: Night, on: timedelta) -> Night:
    """The same night some time on."""
    values = {name: getattr(night, name) for name in Night.__slots__}
    spans = {"looked_at": values.pop("looked_at"), "other_spans": values.pop("other_spans")}
    changed = {name: value + on for name, value in values.items() if isinstance(value, date)}
    if spans["looked_at"] is not None:
        changed["looked_at"] = tuple(t + on for t in spans["looked_at"])
    chamber = values["chamber"]
    if chamber is not None:
        moments = {"peak_at": chamber.peak_at + on, "humidity_at": chamber.humidity_at + on}
        changed["chamber"] = replace(chamber, **moments)
    changed["other_spans"] = tuple((a + on, b + on) for a, b in spans["other_spans"])
    return replace(night, **changed)


@examples(80)
@given(scenes(), st.data())
def test_what_is_good_or_no_stays_so_whatever_the_unknown_hours_turn_out_to_be(
    scene: Scene, data: st.DataObject
) -> None:
    """Unknown is never good; and a night is unknown only where what is not known could still decide it."""
    air_c = scene.columns["air_c"]
    hidden = np.array(data.draw(st.lists(st.booleans(), min_size=len(air_c), max_size=len(air_c))))
    hidden &= np.arange(len(air_c)) >= data.draw(st.integers(0, len(air_c)))
    times = scene.minutes.samples * MINUTE_S
    assume(not np.isnan(air_c).any())
    partly = replace(scene, forecast=weather_of(times, **{**scene.columns, "air_c": np.where(hidden, np.nan, air_c)}))
    known = {night.date: night.verdict for night in scene.nights}
    for night in partly.nights:
        if night.verdict is not Verdict.UNKNOWN:
            assert (known[night.date] is Verdict.NO) is (night.verdict is Verdict.NO)
        if night.verdict is Verdict.GOOD:
            assert known[night.date] is Verdict.GOOD
    kept = partly.holding.lightings
    assert kept & scene.holding.lightings == kept


def test_an_instant_is_in_utc_and_on_a_whole_minute() -> None:
    scene = Scene(planning_site(), weather_of(NOON + np.arange(49) * HOUR_S, np.linspace(19.3, 3.0, 49)), NOON)
    for night in scene.nights:
        for when in (night.light_best, night.light_earliest, night.light_latest):
            assert isinstance(when, datetime)
            assert when.tzinfo is UTC
            assert when.second == when.microsecond == 0
