"""Households, weathers and moments of any kind, for properties of the search for windows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import strategies as st
from planning_builders import (
    ALL_DAY,
    ALWAYS_HOME,
    HOUR_S,
    MINUTE_S,
    ask,
    at,
    holding_smokes,
    hours_between,
    planning_site,
    possible_smokes,
    smoke_process,
    weather_of,
)
from planning_minutes import Minutes

from scheduler.household.process import ANCHOR, Process, Step, Wait
from scheduler.household.site import Chamber, ClockRange, Limits, Site, Tray
from scheduler.service import Question, look

if TYPE_CHECKING:
    from providers.forecast import Forecast
    from scheduler.planning.answers import Night
    from scheduler.planning.windows import Smokes

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
    def columns(self) -> dict[str, np.ndarray]:
        """What the weather says, by column."""
        return {str(name): values.to_numpy() for name, values in self.forecast.hourly.items()}

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
    columns = {"rain_mm": rain_mm}
    if draw(st.booleans()):
        columns["air_max_c"] = maxima_over(times, air_c, draw(st.sampled_from([0.0, 2.0])))
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
        forecast=weather_of(times, air_c, **columns),
        now_s=NOON + draw(st.sampled_from([0, 0, 17, 6 * 60, 9 * 60 + 5])) * MINUTE_S,
        hands_on_min=draw(st.sampled_from([0, 10])),
        look_min=draw(st.sampled_from([None, (50, 50), (60, 300)])),
    )


def maxima_over(times: np.ndarray, air_c: np.ndarray, more_c: float) -> np.ndarray:
    """Of each period that is hours long, a maximum somewhat over the readings at its ends; NaN of the others."""
    ends = np.append(np.maximum(air_c[:-1], air_c[1:]), np.nan)
    return np.where(np.append(np.diff(times), 0) > HOUR_S, ends + more_c, np.nan)
