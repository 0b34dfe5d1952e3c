"""The few sentences that every face says: look, plan.

A face gathers a site, a process, a batch, a forecast and the moment; what comes back are values to show.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, inf
from typing import TYPE_CHECKING

from scheduler.errors import BadProcess
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.smoking import site_for
from scheduler.planning.adopted import Past
from scheduler.planning.answers import Plan
from scheduler.planning.backward import Infeasible
from scheduler.planning.chain import Chain
from scheduler.planning.clock import HOUR_S, MINUTE_S, seconds
from scheduler.planning.drying_plan import planned_drying
from scheduler.planning.limits import read_weather, without_bias
from scheduler.planning.next_spell import NextSpell, next_spell
from scheduler.planning.nights import OLDEST, Search, find_nights
from scheduler.planning.opinions import with_opinion
from scheduler.planning.plan import Choice, choose_night, earliest_steps, plan_for
from scheduler.planning.plan_notes import with_notes
from scheduler.planning.reasons import too_old
from scheduler.planning.replan import replan as ask_again
from scheduler.planning.replan_case import Case
from scheduler.planning.replan_rules import worth
from scheduler.planning.replan_together import lit_together
from scheduler.planning.room import Guest, full_nights, kept_nights, without_taken
from scheduler.planning.sharing import Candidate, Contender, fit, share_nights
from scheduler.planning.spans import ALWAYS, Spans
from scheduler.planning.spread import spread_of
from scheduler.planning.under_way import UnderWay, under_way
from scheduler.planning.warming import warming_of
from scheduler.planning.ways_out import ways_out

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from providers.forecast import Forecast
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site
    from scheduler.planning.adopted import Adopted
    from scheduler.planning.answers import Night, PlannedStep, Span
    from scheduler.planning.drying_plan import PlannedDrying
    from scheduler.planning.drying_spell import Spell
    from scheduler.planning.freezing import Freezing
    from scheduler.planning.replanned import Replanned
    from scheduler.planning.sharing import Shared
    from scheduler.planning.way_values import WayOut
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
    busy: tuple[Span, ...] = ()
    """When nobody is at home, whatever the household's hours say."""
    bias_c: float = 0.0
    """How much too warm forecasts have been here: taken off every air temperature before anything is judged."""
    adopted: Adopted | None = None
    """The plan that stands for the batch: it is told beside the answer, and decides nothing of it."""

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
    under_way: UnderWay | None = None
    """What is known of a batch whose tray is lit; the choice holds its plan."""


def look(question: Question) -> tuple[Night, ...]:
    """Every coming night of the forecast, judged."""
    chain = chain_of(question)
    return _nights(question, search_of(question, chain))


def plan(question: Question, taken: frozenset[date] = frozenset()) -> Answer:
    """The next night that is good and can be made, with its steps; or why there is none; once lit, what is left.

    taken: nights on which the chamber is another batch's.
    """
    chain = chain_of(question)
    search = search_of(question, chain)
    nights = without_taken(_nights(question, search), taken)
    if chain.progress.lit is not None:
        kept = replace(search, floor_slack_k=question.site.policy.floor_slack_k)
        found = under_way(chain, kept, prefer=_adopted_times(question, chain, search, nights))
        noted = with_notes(found.plan, search.warming, question.site)
        choice = Choice(noted, (), chain.progress.lit)
        return Answer(question, nights, choice, (), chain.freezing, under_way=replace(found, plan=noted))
    choice = choose_night(chain, nights)
    if choice.plan is not None:
        choice = replace(choice, plan=with_notes(choice.plan, search.warming, question.site))
    earliest = () if choice.plan else earliest_steps(chain)
    drying = choice.plan.drying if choice.plan else planned_drying(chain, earliest)
    return Answer(question, nights, choice, earliest, chain.freezing, chain.spell, drying)


def _adopted_times(
    question: Question, chain: Chain, search: Search, nights: tuple[Night, ...]
) -> Mapping[str, float] | None:
    """The times of the adopted plan that are still ahead, which replanning keeps, too; None without such a plan."""
    if question.adopted is None:
        return None
    return Case(chain, search, nights, Past(question.adopted), question.site.policy, frozenset()).wanted


def answer_with(question: Question, found: Plan, nights: tuple[Night, ...]) -> Answer:
    """An answer whose plan is already chosen, as replanning chose it; nights: all as judged then."""
    chain = chain_of(question)
    if chain.progress.lit is not None:
        return plan(question)
    noted = with_notes(found, search_of(question, chain).warming, question.site)
    return Answer(question, nights, Choice(noted, (), chain.now), (), chain.freezing, chain.spell, noted.drying)


def plan_night(question: Question, night: date) -> Answer:
    """The plan for that night alone, or what stands in its way; ValueError for one that the forecast does not hold."""
    chain = chain_of(question)
    search = search_of(question, chain)
    nights = tuple(one for one in _nights(question, search) if one.date == night)
    if not nights:
        raise ValueError(f"the forecast holds no night of {night}")
    choice = choose_night(chain, nights)
    if choice.plan is not None:
        choice = replace(choice, plan=with_notes(choice.plan, search.warming, question.site))
    drying = None if choice.plan is None else choice.plan.drying
    return Answer(question, nights, choice, (), chain.freezing, chain.spell, drying)


def replan(question: Question, past: Past, taken: frozenset[date] = frozenset()) -> Replanned:
    """What becomes of an adopted plan by the newest forecast and what was done; taken: nights of other batches."""
    chain = chain_of(question)
    search = search_of(question, chain)
    return ask_again(chain, search, _nights(question, search), past, question.site.policy, taken)


@dataclass(frozen=True, slots=True)
class Following:
    """An open batch with an adopted plan."""

    name: str
    """Told apart from the others by it."""
    question: Question
    past: Past


@dataclass(frozen=True, slots=True)
class Followed:
    """What became of its plan."""

    found: Replanned
    ways: tuple[WayOut, ...] = ()
    """The ways out where it is lost, or is so unless somebody says that its tray is lit, or where that must not be."""
    taken: frozenset[date] = frozenset()
    """Nights on which the chamber is another batch's."""


def replan_all(batches: Sequence[Following], guests: Sequence[Guest] = ()) -> tuple[Followed, ...]:
    """What becomes of several plans for one chamber, in the order given; the batch nearest its limit chooses first.

    guests: batches with a plan that are not asked about; their nights stand.
    """
    contenders = _contenders(batches) if len(batches) > 1 else {}
    queue = sorted(batches, key=lambda one: contenders[one.name].limit if one.name in contenders else -inf)
    shared = _shared(contenders, batches)
    wants = {one.name: _guest(one, one.past.adopted.night) for one in queue}
    has = list(guests)
    lit: dict[date, datetime] = {}
    followed: dict[str, Followed] = {}
    for one in queue:
        del wants[one.name]
        # Where the nights were shared out, an old night of those still to come keeps nobody away.
        beside = [*has, *wants.values()] if shared is None else has
        taken = full_nights(one.question.batch.weight_g, beside, one.question.site.chamber.holds_g)
        kept = frozenset() if shared is None else kept_nights(shared, one.name, wants.keys())
        followed[one.name] = _follow(one, taken | kept, lit)
        found = followed[one.name].found
        if found.is_unanswered:  # its tray may burn
            has.append(_guest(one, one.past.adopted.night))
        elif found.plan is not None:
            has.append(_guest(one, found.plan.night.date))
            lit.setdefault(found.plan.night.date, found.plan.at(ANCHOR))
    return tuple(followed[one.name] for one in batches)


def _guest(one: Following, night: date) -> Guest:
    return Guest(one.name, night, one.question.batch.weight_g)


def _follow(one: Following, taken: frozenset[date], lit: Mapping[date, datetime]) -> Followed:
    """One batch; lit: when the tray is lit on nights that others have, as who shares a night shares its lighting."""
    found = replan(one.question, one.past, taken)
    night = None if found.plan is None else found.plan.night.date
    if night is not None and night in lit and ANCHOR not in dict(one.question.batch.done):
        found = together(one.question, found, lit[night]) or replan(one.question, one.past, taken | {night})
    return Followed(found, ways_left(one.question, taken) if found.is_stuck else (), taken)


def _contenders(batches: Sequence[Following]) -> dict[str, Contender]:
    """Those whose tray is not lit yet, as they want the chamber; what is lit has it already."""
    waiting = [one for one in batches if ANCHOR not in dict(one.question.batch.done)]
    return {one.name: contender(one.question, one.name) for one in waiting}


def _shared(contenders: Mapping[str, Contender], batches: Sequence[Following]) -> Shared | None:
    """The nights shared out, where two batches want the same; None where nobody is in the way."""
    nights = [one.past.adopted.night for one in batches if one.name in contenders]
    if len(set(nights)) == len(nights):
        return None
    holds_g = batches[0].question.site.chamber.holds_g
    if fit([one.weight_g for one in contenders.values()], holds_g):
        return None
    return share_nights(list(contenders.values()), holds_g)


def together(question: Question, found: Replanned, light: datetime) -> Replanned | None:
    """A batch at the lighting of another that shares its night and its tray; None where it cannot be lit then."""
    chain = chain_of(question)
    return lit_together(chain, search_of(question, chain), found, seconds(light))


def ways_left(question: Question, taken: frozenset[date] = frozenset()) -> tuple[WayOut, ...]:
    """The ways out where no good night is left, the best first; none for food that has not begun."""
    chain = chain_of(question)
    search = search_of(question, chain)
    return ways_out(chain, search, without_taken(find_nights(search), taken))


def contender(question: Question, name: str) -> Contender:
    """A batch as it wants the chamber: its nights, what each is worth, and until when it can be lit at all."""
    chain = chain_of(question)
    nights = _nights(question, search_of(question, chain))
    plans = (plan_for(chain, one) for one in nights if one.verdict.is_offered)
    candidates = tuple(_candidate(found, chain.now) for found in plans if isinstance(found, Plan))
    reach = chain.tree(chain.site.duration_h).leeway(ALWAYS)
    limit = -inf if isinstance(reach, Infeasible) else reach[ANCHOR].last
    return Contender(name, question.batch.weight_g, limit, candidates)


def _candidate(found: Plan, now: float) -> Candidate:
    """A night that a batch can make."""
    at = {one.step.name: one for one in found.steps}
    lightings = Spans.of((seconds(first), seconds(last)) for first, last in at[ANCHOR].spans)
    lift = max(seconds(last) for _, last in at[LIFT].spans)
    return Candidate(found.night.date, worth(found.night, now) or 0.0, lightings, lift)


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
    chain = chain_of(question)
    step = chain.drying_step
    if step is None or step.wait is None:
        raise BadProcess(f'the process {question.process.name!r} has no step whose wait has weather = "drying"')
    age = question.now - question.forecast.issued_at
    if age > OLDEST:
        return DryAnswer(question, None, None, step.wait.longest_h, too_old(age.total_seconds()))
    return DryAnswer(question, next_spell(chain), chain.drying, step.wait.longest_h, None)


def chain_of(question: Question) -> Chain:
    """The process for this batch; the moment is taken up to the next whole minute."""
    now = ceil(seconds(question.now) / MINUTE_S) * MINUTE_S
    last = question.forecast.hourly.index[-1].timestamp()
    until = max(now, last) + FOLLOW_UP_S
    busy = Spans.of((seconds(first), seconds(last)) for first, last in question.busy)
    return Chain(question.site, question.process, question.batch, now, until, question.forecast, busy)


def search_of(question: Question, chain: Chain) -> Search:
    """All that the search for nights is given, by the question's forecast."""
    return _search(question, question.forecast, chain.smokes(), chain.now)


def _nights(question: Question, search: Search) -> tuple[Night, ...]:
    """Search the forecast; a second opinion that is too old to decide a night is none."""
    nights = find_nights(search)
    for other in (one for one in question.second_opinions if one.age(question.now) <= OLDEST):
        theirs = find_nights(_search(question, other, search.smokes, search.now))
        nights = with_opinion(nights, theirs, question.forecast.source, other.source)
    return nights


def _search(question: Question, forecast: Forecast, smokes: Smokes, now: float) -> Search:
    """One forecast at the site's chamber."""
    warming = warming_of(without_bias(read_weather(forecast), question.bias_c), question.site)
    return Search(question.site, warming, spread_of(warming.counted), smokes, now)
