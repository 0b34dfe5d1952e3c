"""The few sentences that every face says: look, plan.

A face gathers a site, a process, a batch, a forecast and the moment; what comes back are values to show.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from scheduler.planning.chain import Chain
from scheduler.planning.clock import HOUR_S, MINUTE_S, seconds
from scheduler.planning.limits import read_weather
from scheduler.planning.nights import OLDEST, Search, find_nights
from scheduler.planning.opinions import with_opinion
from scheduler.planning.plan import Choice, choose_night, earliest_steps
from scheduler.planning.spread import spread_of

if TYPE_CHECKING:
    from datetime import datetime

    from providers.forecast import Forecast
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night, PlannedStep
    from scheduler.planning.windows import Smokes

FOLLOW_UP_S = 40 * 24 * HOUR_S
"""How far past the last hour of the forecast steps may lie (drying before, ash after)."""


@dataclass(frozen=True, slots=True)
class Question:
    """What a household asks about."""

    site: Site
    process: Process
    batch: Batch
    forecast: Forecast
    now: datetime
    second_opinions: tuple[Forecast, ...] = ()
    """What other services say of the same place; they decide nothing."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The nights of the forecast, the choice among them, and what could be ready when."""

    question: Question
    nights: tuple[Night, ...]
    choice: Choice
    earliest: tuple[PlannedStep, ...]
    """Steps before the smoke at their earliest, where no night of the forecast can be made."""


def look(question: Question) -> tuple[Night, ...]:
    """Every coming night of the forecast, judged."""
    return _nights(question, _chain(question))


def plan(question: Question) -> Answer:
    """The next night that is good and can be made, with its steps; or why there is none."""
    chain = _chain(question)
    nights = _nights(question, chain)
    choice = choose_night(chain, nights)
    return Answer(question, nights, choice, () if choice.plan else earliest_steps(chain))


def _chain(question: Question) -> Chain:
    """The process for this batch; the moment is taken up to the next whole minute."""
    now = ceil(seconds(question.now) / MINUTE_S) * MINUTE_S
    last = question.forecast.hourly.index[-1].timestamp()
    return Chain(question.site, question.process, question.batch, now, max(now, last) + FOLLOW_UP_S)


def _nights(question: Question, chain: Chain) -> tuple[Night, ...]:
    """Search the forecast; a second opinion that is too old to decide a night is none."""
    smokes = chain.smokes()
    nights = _search(question, question.forecast, smokes, chain.now)
    for other in (one for one in question.second_opinions if one.age(question.now) <= OLDEST):
        theirs = _search(question, other, smokes, chain.now)
        nights = with_opinion(nights, theirs, question.forecast.source, other.source)
    return nights


def _search(question: Question, forecast: Forecast, smokes: Smokes, now: float) -> tuple[Night, ...]:
    """Nights by one forecast."""
    weather = read_weather(forecast)
    return find_nights(Search(question.site, weather, spread_of(weather), smokes, now))
