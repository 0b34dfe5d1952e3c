"""Small sites, processes, weathers and trees for tests of the planning core; every place and value is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from hypothesis import settings

from providers.forecast import REQUIRED, Credit, Forecast
from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT, Process, Step, Wait
from scheduler.household.site import ClockRange, Limits, Site
from scheduler.planning.backward import Link, Tree
from scheduler.planning.chain import Chain
from scheduler.planning.limits import read_weather, where_met
from scheduler.planning.spans import Spans
from scheduler.planning.warming import warming_of
from scheduler.service import Question, look

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from scheduler.planning.answers import Night
    from scheduler.planning.windows import Smokes

    Numbers = Sequence[float] | np.ndarray

HOUR_S = 3600
MINUTE_S = 60
DAY_S = 24 * HOUR_S
UTC_ZONE = ZoneInfo("UTC")
NEW_YORK = ZoneInfo("America/New_York")

ALL_DAY = ClockRange(0, 24 * 60)
ALWAYS_HOME = ((ALL_DAY,),) * 7
NEVER_HOME: tuple[tuple[ClockRange, ...], ...] = ((),) * 7

CEILING_C = 15.0
FLOOR_C = -40.0
OPEN_LIMITS = Limits(ceiling_c=CEILING_C, floor_c=FLOOR_C)


def examples(count: int) -> settings:
    """Hypothesis with so many examples and no deadline: a busy machine is no failure."""
    return settings(max_examples=count, deadline=None)


def at(text: str, zone: ZoneInfo = UTC_ZONE, *, fold: int = 0) -> float:
    """Seconds since 1970 of a clock time in a zone."""
    return datetime.fromisoformat(text).replace(tzinfo=zone, fold=fold).timestamp()


def moment(seconds: float) -> datetime:
    """The instant in UTC."""
    return datetime.fromtimestamp(seconds, UTC)


def hours_between(start: str, end: str) -> ClockRange:
    """A stretch of the clock: hours_between("06:30", "22:30")."""
    minutes = [int(text[:2]) * 60 + int(text[3:]) for text in (start, end)]
    return ClockRange(minutes[0], minutes[1])


def planning_site(zone: ZoneInfo = UTC_ZONE, **changes: Any) -> Site:
    """Somebody is always at home, any hour is good for lighting, and every chance is good."""
    usual = Site(
        name="Invented yard",
        latitude_deg=1.0,
        longitude_deg=2.0,
        zone=zone,
        household_hours=ALWAYS_HOME,
        lighting_hours=ALL_DAY,
        limits=OPEN_LIMITS,
        good_chance=0.0,
        borderline_chance=0.0,
    )
    return replace(usual, **changes)


def smoke_process(*more: Step, hands_on_min: float = 0.0) -> Process:
    """A lighting and a lift, and whatever else is given."""
    own = (
        Step(ANCHOR, "Light", hands_on_min, None, False, None),
        Step(LIFT, "Lift", hands_on_min, ANCHOR, False, None),
    )
    return Process("invented", "Invented", ("salmon",), None, (*more, *own))


def weather_of(times_s: Numbers, air_c: Numbers, *, issued_s: float | None = None, **columns: Any) -> Forecast:
    """A forecast with these readings; every other column is NaN."""
    times = np.asarray(times_s, dtype=float)
    index = pd.to_datetime(np.round(times).astype("int64"), unit="s", utc=True)
    frame = pd.DataFrame(np.nan, index=index, columns=list(REQUIRED))
    for name, values in {"air_c": air_c, **columns}.items():
        frame[name] = np.asarray(values, dtype=float)
    issued = moment(times[0] if issued_s is None else issued_s)
    return Forecast("invented", Credit("Invented", ""), None, None, None, issued, issued, None, frame)


def ask(
    site: Site, forecast: Forecast, now_s: float, *, process: Process | None = None, batch: Batch | None = None
) -> Question:
    """The question of a household with fish that is ready and sawdust that is dry."""
    ready = Batch(state="fresh", sawdust="dry")
    return Question(site, process or smoke_process(), batch or ready, forecast, moment(now_s))


def nights_of(site: Site, forecast: Forecast, now_s: float, **rest: Any) -> tuple[Night, ...]:
    """Every coming night, judged."""
    return look(ask(site, forecast, now_s, **rest))


def possible_smokes(question: Question) -> Smokes:
    """Every lighting the household could make, weather aside."""
    until = question.forecast.hourly.index[-1].timestamp() + 40 * DAY_S
    return Chain(question.site, question.process, question.batch, question.now.timestamp(), until).smokes()


def holding_smokes(question: Question) -> Smokes:
    """Those whose window is known to meet every limit; no chance is asked."""
    site = question.site
    warming = warming_of(read_weather(question.forecast), site)
    rain_matters = not site.rain_shelter
    met = where_met(warming.weather, site.limits, rain_matters=rain_matters, counted=warming.counted)
    return possible_smokes(question).inside(met.roughly)


def hour_spans(*pieces: tuple[float, float]) -> Spans:
    """Spans given in hours since 1970."""
    return Spans.of((a * HOUR_S, b * HOUR_S) for a, b in pieces)


def in_hours(spans: Spans) -> list[tuple[float, float]]:
    """Spans told in hours since 1970."""
    return [(a / HOUR_S, b / HOUR_S) for a, b in spans]


def hour_link(
    name: str,
    neighbour: str,
    wait_h: tuple[float, float],
    *,
    before: bool,
    hands_on_h: float = 0.0,
    usual_h: float | None = None,
    clock: ZoneInfo | None = None,
) -> Link:
    """A link whose wait is in hours; elapsed, or on the clock of a zone."""
    least, longest = wait_h
    kind = "elapsed" if clock is None else "clock"
    wait = Wait(least, least if usual_h is None else usual_h, longest, kind)
    return Link(name, neighbour, before, hands_on_h * HOUR_S, wait, clock or UTC_ZONE)


def hour_tree(links: Iterable[Link], own_h: Mapping[str, Iterable[tuple[float, float]]]) -> Tree:
    """A tree whose steps may be done in these hours."""
    return Tree(tuple(links), {name: hour_spans(*pieces) for name, pieces in own_h.items()})
