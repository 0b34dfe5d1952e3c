"""The few sentences that every face says: look, plan.

A face gathers a site, a process, a batch, a forecast and the moment; what comes back are values to show.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

from scheduler.errors import BadProcess
from scheduler.household.smoking import site_for
from scheduler.planning.chain import Chain
from scheduler.planning.clock import HOUR_S, MINUTE_S, seconds
from scheduler.planning.drying_plan import planned_drying
from scheduler.planning.limits import read_weather
from scheduler.planning.next_spell import NextSpell, next_spell
from scheduler.planning.nights import OLDEST, Search, find_nights
from scheduler.planning.opinions import with_opinion
from scheduler.planning.plan import Choice, choose_night, earliest_steps
from scheduler.planning.plan_notes import with_notes
from scheduler.planning.reasons import too_old
from scheduler.planning.spread import spread_of
from scheduler.planning.warming import warming_of

if TYPE_CHECKING:
    from datetime import datetime

    from providers.forecast import Forecast
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night, PlannedStep
    from scheduler.planning.backward import Infeasible
    from scheduler.planning.drying_plan import PlannedDrying
    from scheduler.planning.drying_spell import Spell
    from scheduler.planning.freezing import Freezing
    from scheduler.planning.warming import Warming
    from scheduler.planning.windows import Smokes

FOLLOW_UP_S = 40 * 24 * HOUR_S
"""How far past the last hour of the forecast steps may lie (drying before, ash after)."""


@dataclass(frozen=True, slots=True)
class Question:
    """What a household asks about; the site takes on what the process asks of the smoke."""

    site: Site
    process: Process
    batch: Batch
    forecast: Forecast
    now: datetime
    second_opinions: tuple[Forecast, ...] = ()
    """What other services say of the same place; they decide nothing."""

    def __post_init__(self) -> None:
        """The lower of both ceilings, the process's length of smoke; whoever asks, every face shows the same."""
        object.__setattr__(self, "site", site_for(self.site, self.process))


@dataclass(frozen=True, slots=True)
class Answer:
    """The nights of the forecast, the choice among them, and what could be ready when."""

    question: Question
    nights: tuple[Night, ...]
    choice: Choice
    earliest: tuple[PlannedStep, ...]
    """Steps before the smoke at their earliest, where no night of the forecast can be made."""
    freezing: Freezing | None = None
    """The batch's record of freezing against parasites; None where its process asks for none."""
    spell: Spell | None = None
    """The drying weather, where sawdust has to dry and the forecast says enough of it."""
    drying: PlannedDrying | None = None
    """The drying among the steps that are told, of the plan or the earliest ones."""


def look(question: Question) -> tuple[Night, ...]:
    """Every coming night of the forecast, judged."""
    return _nights(question, _chain(question))


def plan(question: Question) -> Answer:
    """The next night that is good and can be made, with its steps; or why there is none."""
    chain = _chain(question)
    nights = _nights(question, chain)
    choice = choose_night(chain, nights)
    if choice.plan is not None:
        choice = replace(choice, plan=with_notes(choice.plan, _warming(question, question.forecast), question.site))
    earliest = () if choice.plan else earliest_steps(chain)
    drying = choice.plan.drying if choice.plan else planned_drying(chain, earliest)
    return Answer(question, nights, choice, earliest, chain.freezing, chain.spell, drying)


@dataclass(frozen=True, slots=True)
class DryAnswer:
    """The next spell that dries a tray's worth of sawdust."""

    question: Question
    next: NextSpell | Infeasible | None
    """The spell, or the first batch that does not dry; what keeps it from being spread; None: nothing is known."""
    spell: Spell | None
    longest_h: float
    """The longest that the process lets it lie."""
    too_old: str | None
    """Why the forecast decides nothing; None where it does."""

    @property
    def dries(self) -> bool:
        """Whether there is such a spell."""
        return isinstance(self.next, NextSpell) and self.next.dries


def dry(question: Question) -> DryAnswer:
    """When to soak and spread sawdust so that it dries soonest; BadProcess where the process dries none."""
    chain = _chain(question)
    step = chain.drying_step
    if step is None or step.wait is None:
        raise BadProcess(f'the process {question.process.name!r} has no step whose wait has weather = "drying"')
    age = question.now - question.forecast.issued_at
    if age > OLDEST:
        return DryAnswer(question, None, None, step.wait.longest_h, too_old(age.total_seconds()))
    return DryAnswer(question, next_spell(chain), chain.drying, step.wait.longest_h, None)


def _chain(question: Question) -> Chain:
    """The process for this batch; the moment is taken up to the next whole minute."""
    now = ceil(seconds(question.now) / MINUTE_S) * MINUTE_S
    last = question.forecast.hourly.index[-1].timestamp()
    until = max(now, last) + FOLLOW_UP_S
    return Chain(question.site, question.process, question.batch, now, until, question.forecast)


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
    warming = _warming(question, forecast)
    return find_nights(Search(question.site, warming, spread_of(warming.counted), smokes, now))


def _warming(question: Question, forecast: Forecast) -> Warming:
    """A forecast at the site's chamber."""
    return warming_of(read_weather(forecast), question.site)
