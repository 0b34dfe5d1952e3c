"""Windows against a search minute by minute: which lightings hold, the coolest of them, the lift, and the nights."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import (
    ALL_DAY,
    ALWAYS_HOME,
    HOUR_S,
    MINUTE_S,
    ask,
    at,
    examples,
    holding_smokes,
    hours_between,
    planning_site,
    possible_smokes,
    smoke_process,
    weather_of,
)
from planning_minutes import DAYS_TO_1970, Minutes, runs

from scheduler.household.process import ANCHOR, Process, Step, Wait
from scheduler.household.site import Chamber, ClockRange, Limits, Site, Tray
from scheduler.planning.answers import Night, Verdict
from scheduler.planning.limits import read_weather
from scheduler.planning.spans import Spans
from scheduler.planning.windows import Smokes, coolest, smokes
from scheduler.service import Question, look

if TYPE_CHECKING:
    from providers.forecast import Forecast

NOON = round(at("2024-01-15T12:00"))
"""A Monday."""


@dataclass(frozen=True)
class Scene:
    """A household, a weather and a moment."""

    site: Site
    forecast: Forecast
    now_s: int
    hands_on_min: int = 0
    look_min: tuple[int, int] | None = None

    @property
    def minutes(self) -> Minutes:
        return Minutes(self.site, self.forecast, self.now_s, self.hands_on_min, self.look_min)

    @property
    def process(self) -> Process:
        if self.look_min is None:
            return smoke_process(hands_on_min=self.hands_on_min)
        least, longest = (minutes / 60 for minutes in self.look_min)
        look = Step("look", "Look", self.hands_on_min, ANCHOR, False, Wait(least, least, longest))
        return smoke_process(look, hands_on_min=self.hands_on_min)

    @property
    def question(self) -> Question:
        return ask(self.site, self.forecast, self.now_s, process=self.process)

    @property
    def possible(self) -> Smokes:
        """Every lighting the household could make, weather aside."""
        return possible_smokes(self.question)

    @property
    def holding(self) -> Smokes:
        """Those whose window is known to meet every limit."""
        return holding_smokes(self.question)

    @property
    def nights(self) -> tuple[Night, ...]:
        return look(self.question)


def whole_minutes(spans: Spans, last: int) -> set[int]:
    """The minutes since 1970 that lie in a set of time, up to one of them."""
    return {m for a, b in spans for m in range(ceil(a / MINUTE_S), min(last, int(b // MINUTE_S)) + 1)}


clock_times = st.integers(0, 143).map(lambda tens: tens * 10)
clock_ranges = st.builds(ClockRange, clock_times, clock_times).filter(lambda r: r.start_min != r.end_min)
days = st.lists(clock_ranges, max_size=2).map(tuple)
weeks = st.one_of(
    st.just(ALWAYS_HOME),
    st.just(((hours_between("06:30", "22:30"),),) * 7),
    days.map(lambda day: (day,) * 7),
    st.tuples(*[days] * 7),
)
lighting_hours = st.one_of(st.just(ALL_DAY), st.just(hours_between("16:00", "22:00")), clock_ranges)
temperatures = st.one_of(
    st.integers(8, 20).map(float), st.integers(60, 320).map(lambda tenths: tenths / 20), st.just(float("nan"))
)
STEPS = {"hourly": [1] * 50, "coarser": [1] * 12 + [3] * 8 + [6] * 3, "six": [6] * 9, "gap": [1] * 20 + [7] + [1] * 24}


@st.composite
def scenes(draw: st.DrawFn, *, unknown: bool = True) -> Scene:
    """Two days of weather, a household with hours of its own, and a moment in the first afternoon or evening."""
    steps = STEPS[draw(st.sampled_from(sorted(STEPS)))]
    times = NOON + np.cumsum([0, *steps]) * HOUR_S
    air_c = np.array(draw(st.lists(temperatures, min_size=len(times), max_size=len(times))))
    if draw(st.booleans()):  # nights as they are: warm by day, cold by night
        air_c = air_c / 2 + 7.5 + 5 * np.cos((times - NOON - 2 * HOUR_S) / HOUR_S * np.pi / 12).round(1)
    if not unknown or draw(st.booleans()):
        air_c = np.where(np.isnan(air_c), 12.0, air_c)
    rain_mm = np.array(draw(st.lists(st.sampled_from([0.0, 0.0, 0.0, 2.1]), min_size=len(times), max_size=len(times))))
    site = planning_site(
        household_hours=draw(weeks),
        lighting_hours=draw(lighting_hours),
        duration_h=draw(st.sampled_from([8.0, 9.5, 12.0])),
        longest_h=draw(st.sampled_from([12.0, 15.0, 20.0])),
        rain_shelter=draw(st.booleans()),
        limits=Limits(
            ceiling_c=draw(st.sampled_from([13.0, 15.0, 17.5, 30.0])),
            floor_c=draw(st.sampled_from([-40.0, -40.0, 9.0])),
            rain_mm_per_h=draw(st.sampled_from([None, 0.7, 1.0])),
        ),
        tray=Tray(fronts=draw(st.sampled_from([1, 2]))),
        chamber=Chamber(rise_k=draw(st.sampled_from([None, None, 0.0, 18.0]))),
    )
    return Scene(
        site=site,
        forecast=weather_of(times, air_c, rain_mm=rain_mm),
        now_s=NOON + draw(st.sampled_from([0, 0, 17, 6 * 60, 9 * 60 + 5])) * MINUTE_S,
        hands_on_min=draw(st.sampled_from([0, 10])),
        look_min=draw(st.sampled_from([None, (50, 50), (60, 300)])),
    )


# The lift.


@examples(60)
@given(scenes())
def test_lightings_and_lifts_are_those_that_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    last = int(truth.grid[-1]) - 24 * 60
    expected = {m for m in truth.lightings if m <= last}
    possible = scene.possible
    assert whole_minutes(possible.lightings, last) == expected
    some = sorted(expected)[:: max(1, len(expected) // 40)]
    lifts = [truth.lift_of(m) for m in some]
    assert [possible.lift_of(m * MINUTE_S) / MINUTE_S for m in some] == lifts
    assert (possible.lifts_of(np.array(some) * 60.0) / MINUTE_S).tolist() == lifts


def test_a_lift_is_due_right_after_the_planned_time_while_somebody_is_up() -> None:
    up = Spans.of([(0, 24 * HOUR_S)])
    found = smokes(up, up, duration_s=8 * HOUR_S, longest_s=12 * HOUR_S)
    assert found.lightings.pieces == ((0, 16 * HOUR_S),)
    assert found.lift_of(3 * HOUR_S) == 11 * HOUR_S


def test_a_lift_waits_for_the_household_to_get_up_but_no_longer_than_the_longest_smoke() -> None:
    evening, morning = (16 * HOUR_S, 22 * HOUR_S), (31 * HOUR_S, 40 * HOUR_S)
    found = smokes(Spans.of([evening]), Spans.of([evening, morning]), duration_s=8 * HOUR_S, longest_s=12 * HOUR_S)
    # Lit before 19:00 the smoke would be over 12 h old at 7:00.
    assert found.lightings.pieces == ((19 * HOUR_S, 22 * HOUR_S),)
    assert found.lift_of(20 * HOUR_S) == 31 * HOUR_S
    with pytest.raises(ValueError, match="not one of the lightings"):
        found.lift_of(18 * HOUR_S)


def test_the_last_lighting_that_can_be_lifted_before_bed_is_lifted_before_bed() -> None:
    home = Spans.of([(0, 10 * HOUR_S), (15 * HOUR_S, 24 * HOUR_S)])
    found = smokes(home, home, duration_s=8 * HOUR_S, longest_s=20 * HOUR_S)
    assert found.lift_of(2 * HOUR_S) == 10 * HOUR_S
    assert found.lift_of(2 * HOUR_S + 1) == 15 * HOUR_S
    assert found.lifts_of(np.array([2.0 * HOUR_S]))[0] == 10 * HOUR_S


def test_with_nobody_up_for_the_lift_there_is_no_lighting() -> None:
    found = smokes(Spans.of([(0, 5)]), Spans.of([(0, 5)]), duration_s=6, longest_s=9)
    assert not found.lightings


# The windows.


@examples(150)
@given(scenes())
def test_the_lightings_that_hold_are_those_that_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    assert whole_minutes(scene.holding.lightings, int(truth.grid[-1])) == truth.holding


@examples(120)
@given(scenes(unknown=False))
def test_the_coolest_lighting_has_the_lowest_peak_of_all_and_is_the_earliest_of_equals(scene: Scene) -> None:
    truth, weather = scene.minutes, read_weather(scene.forecast)
    holding = scene.holding
    best = coolest(weather.air, holding)
    if best is None:
        assert not holding.stretches
        assert not truth.holding
        return
    assert best.light in holding.lightings
    assert best.lift == holding.lift_of(best.light)
    assert best.peak_c == pytest.approx(exact_peak_c(scene, best.light, best.lift), abs=1e-7)
    assume(truth.holding)
    peaks = {m: truth.peak_c(m) for m in truth.holding}
    least = min(peaks.values())
    assert best.peak_c <= least + 1e-7
    # No second beside the coolest minute, and none in the search's own answer, is cooler than what it found.
    for near in (min(peaks, key=peaks.__getitem__) * MINUTE_S, best.light):
        for light in np.arange(near - MINUTE_S, near + MINUTE_S + 1, 1.0):
            if light in holding.lightings:
                assert exact_peak_c(scene, light, holding.lift_of(light)) >= best.peak_c - 1e-7
    assert not [m for m in peaks if m * MINUTE_S < best.light - 1e-3 and peaks[m] <= best.peak_c]


def exact_peak_c(scene: Scene, light: float, lift: float) -> float:
    """Warmest air from lighting to lift: at either end or at a sample between them."""
    times = scene.minutes.samples * MINUTE_S
    air_c = scene.forecast.hourly["air_c"].to_numpy()
    ends = np.interp([light, lift], times, air_c)
    return float(max(*ends, *air_c[(times > light) & (times < lift)], -np.inf))


def test_a_single_dip_has_its_best_lighting_where_both_ends_are_as_warm() -> None:
    # 20 °C at noon falls to 8 °C at midnight and rises again: an 8 h window is coolest from 20:00 to 4:00, at 12 °C.
    air_c = [20.0 - hour if hour <= 12 else hour - 4.0 for hour in range(25)]
    weather = read_weather(weather_of(NOON + np.arange(25) * HOUR_S, air_c))
    day = Spans.of([(NOON, NOON + 24 * HOUR_S)])
    best = coolest(weather.air, smokes(day, day, duration_s=8 * HOUR_S, longest_s=8 * HOUR_S))
    assert best is not None
    assert (best.light, best.lift, best.peak_c) == (NOON + 8 * HOUR_S, NOON + 16 * HOUR_S, 12.0)


def test_even_air_has_its_best_lighting_at_the_first_moment() -> None:
    weather = read_weather(weather_of(NOON + np.arange(25) * HOUR_S, np.full(25, 0.0)))
    day = Spans.of([(NOON + 600, NOON + 24 * HOUR_S)])
    best = coolest(weather.air, smokes(day, day, duration_s=8 * HOUR_S, longest_s=8 * HOUR_S))
    assert best is not None
    assert (best.light, best.peak_c) == (NOON + 600, 0.0)


# The nights.


@examples(120)
@given(scenes())
def test_nights_are_what_a_look_at_every_minute_finds(scene: Scene) -> None:
    truth = scene.minutes
    steps = np.diff(truth.samples)
    assume(not ((steps > 180) & (steps <= 360)).any())  # readings that far apart put a window in doubt
    found = {night.date.toordinal() - DAYS_TO_1970: night for night in scene.nights}
    for n in truth.nights:
        lit = [{m for m in some if truth.night_of(m) == n} for some in (truth.lightings, truth.perhaps_holding)]
        held = {m for m in truth.holding if truth.night_of(m) == n}
        if not lit[0] and n == truth.nights[0]:
            assert n not in found
            continue
        night = found.pop(n)
        if held:
            assert night.verdict is Verdict.GOOD
            assert_is_of(night, truth, held)
        elif in_seconds(scene, n):
            assert night.verdict is Verdict.GOOD  # a window of less than a minute
        else:
            assert night.verdict is (Verdict.UNKNOWN if lit[1] else Verdict.NO)
            assert (night.light_best, night.light_earliest, night.light_latest, night.lift) == (None,) * 4
        assert night.reasons
    assert not found


def in_seconds(scene: Scene, night: int) -> bool:
    """Whether a lighting of that night holds though none on a whole minute does."""
    start = (night * 1440 + 720) * MINUTE_S
    return bool(scene.holding.between(start, start + 24 * HOUR_S - 1).stretches)


def assert_is_of(night: Night, truth: Minutes, held: set[int]) -> None:
    """The night's lighting, span, lift and peak are those of the minutes that hold."""
    assert night.light_best is not None
    assert night.light_earliest is not None
    assert night.light_latest is not None
    assert night.lift is not None
    times = (night.light_best, night.light_earliest, night.light_latest, night.lift)
    best, early, late, lift = (round(t.timestamp()) / MINUTE_S for t in times)
    if best != int(best):
        return  # the best span is shorter than a minute, and is shown as it is
    assert (early, late) in runs(held)
    assert early <= best <= late
    assert lift == truth.lift_of(int(best))
    assert night.peak_c == pytest.approx(truth.peak_c(int(best)), abs=1e-6)
    assert night.ceiling_c == pytest.approx(truth.ceiling_c, abs=1e-9)
    assert night.margin_c == pytest.approx(truth.ceiling_c - truth.peak_c(int(best)), abs=1e-6)
    slope = np.nanmax(truth.air[0] - truth.air[1])
    assert truth.peak_c(int(best)) <= min(truth.peak_c(m) for m in held) + slope + 1e-6


@examples(60)
@given(scenes(), st.sampled_from([0.5, 2.0, 9.0]))
def test_raising_the_ceiling_never_loses_a_window(scene: Scene, more: float) -> None:
    limits = scene.site.limits
    warmer = replace(scene, site=replace(scene.site, limits=replace(limits, ceiling_c=limits.ceiling_c + more)))
    kept = scene.holding.lightings
    assert kept & warmer.holding.lightings == kept


@examples(60)
@given(scenes(), st.sampled_from([0.5, 1.0, 4.0]))
def test_a_longer_smoke_never_gains_a_window_while_somebody_is_always_home(scene: Scene, more: float) -> None:
    home = replace(scene.site, household_hours=ALWAYS_HOME, longest_h=20.0)
    shorter = replace(scene, site=home)
    longer = replace(scene, site=replace(home, duration_h=home.duration_h + more))
    gained = longer.holding.lightings
    assert gained & shorter.holding.lightings == gained


@examples(60)
@given(scenes(), st.integers(1, 400))
def test_moving_everything_by_whole_weeks_moves_the_dates_and_nothing_else(scene: Scene, weeks_on: int) -> None:
    on = timedelta(weeks=weeks_on)
    times = scene.minutes.samples * MINUTE_S + on.total_seconds()
    columns = {name: scene.forecast.hourly[name].to_numpy() for name in ("air_c", "rain_mm")}
    later = replace(scene, forecast=weather_of(times, **columns), now_s=scene.now_s + round(on.total_seconds()))
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
    air_c = scene.forecast.hourly["air_c"].to_numpy()
    rain_mm = scene.forecast.hourly["rain_mm"].to_numpy()
    hidden = np.array(data.draw(st.lists(st.booleans(), min_size=len(air_c), max_size=len(air_c))))
    hidden &= np.arange(len(air_c)) >= data.draw(st.integers(0, len(air_c)))
    times = scene.minutes.samples * MINUTE_S
    assume(not np.isnan(air_c).any())
    partly = replace(scene, forecast=weather_of(times, np.where(hidden, np.nan, air_c), rain_mm=rain_mm))
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
