"""The air of a forecast at chosen instants, for the faces to show."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.limits import read_weather, without_bias
from scheduler.planning.warming import warming_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    from scheduler.planning.answers import Span
    from scheduler.planning.limits import Weather
    from scheduler.service import Question

HOUR = timedelta(hours=1)


def air_at(question: Question, seconds: Sequence[float]) -> NDArray[np.float64]:
    """Air [degC] at these seconds since 1970 UTC, linear between the hours; NaN where nobody knows."""
    return weather_of(question).air.at(np.array(seconds, dtype=float))[:, 0]


def margins_at(question: Question, seconds: Sequence[float]) -> NDArray[np.float64]:
    """How far the air [K] stays under the ceiling, or under what the chamber leaves of it, at these seconds."""
    site = question.site
    counted = warming_of(weather_of(question), site).counted
    return site.limits.ceiling_c - counted.air.at(np.array(seconds, dtype=float))[:, 0]


def weather_of(question: Question) -> Weather:
    """The forecast as it is judged: less what it has been too warm by."""
    return without_bias(read_weather(question.forecast), question.bias_c)


def hours_of(span: Span, zone: ZoneInfo) -> tuple[datetime, ...]:
    """First and last instant of the window, and every full hour of the clock between them."""
    first, last = span
    local = first.astimezone(zone)
    at = first - timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond) + HOUR
    hours = []
    while at < last:
        hours.append(at)
        at += HOUR
    return first, *hours, last
