"""Why this night, why not that one, and why none: the answer's reasons as sentences."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from math import isinf
from typing import TYPE_CHECKING, Literal

from scheduler.faces.drying_words import NOT_IN_THIS_WEATHER, why_not_dry
from scheduler.faces.under_way_words import why_under_way
from scheduler.faces.wording import day_words, listed, long_span, one_line, plural, sentence, when
from scheduler.household.process import FREEZE
from scheduler.household.units import show_duration, show_weight
from scheduler.planning.answers import Verdict
from scheduler.planning.backward import Infeasible
from scheduler.planning.clock import night_of
from scheduler.planning.freezing_words import NAME as FREEZING
from scheduler.planning.freezing_words import standing_words
from scheduler.planning.progress import followed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.household.process import Step
    from scheduler.planning.answers import Night
    from scheduler.service import Answer, Question

HOUR = timedelta(hours=1)


def night_name(question: Question, night: Night) -> str:
    """Such as "Sat 17 Oct", or "Tonight (Sat 17 Oct)" for the night that holds now."""
    tonight = night_of(question.now.timestamp(), question.site.zone) == night.date
    return f"Tonight ({day_words(night.date)})" if tonight else day_words(night.date)


def step_word(name: str) -> str:
    """The stable word of a step, as people read it."""
    return name.replace("_", " ")


def why_this_night(answer: Answer) -> tuple[str, ...]:
    """Why the chosen night, in sentences; empty where none was chosen."""
    plan = answer.choice.plan
    if plan is None:
        return ()
    if answer.under_way is not None:
        return tuple(map(sentence, why_under_way(answer, answer.under_way)))
    return tuple(sentence(text) for text in (_why_chosen(answer, plan.night), *plan.night.reasons))


def _why_chosen(answer: Answer, night: Night) -> str:
    """By what rule it was taken."""
    if _only_taken_on(answer, night):
        return "it is the night of the plan that you took on"
    if night.verdict is Verdict.BORDERLINE:
        return (
            "no night of this forecast that you can be ready for is good; of the borderline ones it has the best"
            " chance, weighed against the wait"
        )
    if night is answer.nights[0]:
        return "it is the first night of this forecast, it is good, and you can be ready for it"
    if answer.choice.not_makeable:
        return "it is the first good night that you can be ready for"
    return "it is the first good night"


def _only_taken_on(answer: Answer, night: Night) -> bool:
    """Whether it is a plan's night from before, which would not be chosen anew."""
    adopted = answer.question.adopted
    if adopted is None or adopted.night != night.date:
        return False
    not_makeable = {one.date for one, _ in answer.choice.not_makeable}
    good = [one.date for one in answer.nights if one.verdict is Verdict.GOOD and one.date not in not_makeable]
    rivals = [date for date in good if date < night.date or night.verdict is Verdict.BORDERLINE]
    return not night.verdict.is_offered or bool(rivals)


def why_not_made(answer: Answer) -> tuple[str, ...]:
    """Nights with a window that cannot be made, in sentences; nights with the same obstacle share one."""
    groups: dict[tuple[str, str, str], list[tuple[Night, Infeasible]]] = {}
    chosen = answer.choice.plan
    for night, found in answer.choice.not_makeable:
        groups.setdefault((night.verdict, *_obstacle(answer, found)), []).append((night, found))
    return tuple(
        f"{listed(night_name(answer.question, night) for night, _ in group)} {'is' if len(group) == 1 else 'are'}"
        f" {verdict}{' too' if chosen is not None and chosen.night.verdict == verdict else ''}, but cannot be made:"
        f" {before}{_missing(found for _, found in group)}{after}."
        for (verdict, before, after), group in groups.items()
    )


def _missing(found: Iterable[Infeasible]) -> str:
    """Hours that are missing, of one night or of several; nothing where no number of hours would do."""
    spans = [long_span(each.missing_h) for each in found if not isinf(each.missing_h)]
    return listed(spans) if spans else ""


def cannot_be_made(answer: Answer, found: Infeasible) -> str:
    """What stands in the way of one night: the step, the wait, and the hours missing."""
    before, after = _obstacle(answer, found)
    return f"{before}{_missing([found])}{after}"


def _obstacle(answer: Answer, found: Infeasible) -> tuple[str, str]:
    """What stands before and after the missing hours in words."""
    question = answer.question
    step, other = question.process.step(found.step), question.process.step(found.other)
    if _stays_wet(answer, found):
        return NOT_IN_THIS_WEATHER, ""
    if isinf(found.missing_h):
        return f"no moment is left for {step_word(other.name)}", ""
    if step is other or not other.before:
        return (
            f"nobody is at home for {step_word(other.name)}; {step_word(step.name)} would have to be ",
            " earlier" if found.early else " later",
        )
    what, step_name, missing = _stuff(answer, other), step_word(step.name), " are missing"
    way = _way_through(answer, other)
    if found.early:
        bounded = [each for each in way if each.name != FREEZE] or way  # frozen, it waits as long as it has to
        waits = [f"{_wait(answer, each, 'longest')} after {_told(question, each)}" for each in bounded]
        return f"{what} may wait {listed(waits)} at most; {step_name} would come ", " later than that"
    waits = [f"{_wait(answer, each, 'least')} after {_told(question, each)}" for each in way if _is_ahead(answer, each)]
    if not waits:
        return f"{step_word(other.name)} comes before {step_name}, and ", missing
    return f"{what} needs at least {listed(waits)}, before {step_name}; ", missing


def _way_through(answer: Answer, last: Step) -> list[Step]:
    """The steps that lead to this one, and itself: from the one done last, else from the first."""
    question = answer.question
    way = [last]
    while not _is_done(question, way[0]):
        behind = [each for each in question.process.steps if each.before and each.neighbour == way[0].name]
        if not behind or _is_left_out(answer, behind[-1]):
            break
        way.insert(0, behind[-1])
    return way


def _is_left_out(answer: Answer, step: Step) -> bool:
    """Whether a batch in this state does without the step; what is frozen first is thawed, too."""
    frozen_first = answer.freezing is not None and answer.freezing.needed_h is not None
    return followed(answer.question.batch, answer.question.process).state in step.skip_if and not frozen_first


def _is_done(question: Question, step: Step) -> bool:
    """Whether somebody recorded it, or the food or the sawdust is in the state that comes of this step."""
    recorded = any(name == step.name for name, _ in question.batch.done)
    return recorded or _state(question, step) in (step.during, step.after)


def _state(question: Question, step: Step) -> str:
    """State of what the step is done to."""
    batch = followed(question.batch, question.process)
    return (batch.sawdust or "none") if step.branch == "sawdust" else batch.state


def _since(question: Question, step: Step) -> datetime | None:
    """When the step was done; None where it was not, or where only the end of its wait is known."""
    recorded = dict(question.batch.done).get(step.name)
    if recorded is not None:
        return recorded
    if step.name == FREEZE:
        return question.batch.frozen_since
    if _state(question, step) != step.during:
        return None
    return question.batch.sawdust_since if step.branch == "sawdust" else question.batch.since


def _is_ahead(answer: Answer, step: Step) -> bool:
    """Whether the least wait after the step is not over yet."""
    least_h = _least_h(answer, step)
    if least_h is None or least_h <= 0:
        return False
    since = _since(answer.question, step)
    return not _is_done(answer.question, step) or (since is not None and since + least_h * HOUR > answer.question.now)


def _least_h(answer: Answer, step: Step) -> float | None:
    """The least wait after a step: the process's, or what the freezing record still lacks."""
    if step.name == FREEZE:
        return None if answer.freezing is None else answer.freezing.needed_h
    if answer.spell is not None and step.wait is not None and step.wait.weather:
        since = _since(answer.question, step)
        return answer.spell.takes_h(since.timestamp() if since is not None else None, answer.question.now)
    return None if step.wait is None else step.wait.least_h


def _stays_wet(answer: Answer, found: Infeasible) -> bool:
    """Whether it is the weather that leaves sawdust no time to dry."""
    wait = answer.question.process.step(found.other).wait
    return isinf(found.missing_h) and answer.spell is not None and wait is not None and wait.weather is not None


def _what_stays_wet(answer: Answer, found: Infeasible) -> str:
    """What stands in the way of every night; of sawdust that does not dry, how far it comes."""
    step, question = answer.question.process.step(found.other), answer.question
    if not _stays_wet(answer, found) or answer.spell is None or step.wait is None:
        return cannot_be_made(answer, found)
    return why_not_dry(answer.spell, _spread_from(question, step), step.wait.longest_h, question.site.zone)


def _spread_from(question: Question, step: Step) -> float:
    """From when sawdust lies or can lie out: since it was spread, else from now."""
    batch = followed(question.batch, question.process)
    lies_out = batch.sawdust is not None and batch.sawdust == step.during and batch.sawdust_since is not None
    return (batch.sawdust_since if lies_out and batch.sawdust_since else question.now).timestamp()


def _told(question: Question, step: Step) -> str:
    """The step's word, with the time where it is done."""
    since = _since(question, step)
    return step_word(step.name) + ("" if since is None else f" ({when(since, question.site.zone)})")


def _stuff(answer: Answer, step: Step) -> str:
    """What has to wait."""
    return "the sawdust" if step.branch == "sawdust" else f"the {one_line(answer.question.batch.food)}"


def _wait(answer: Answer, step: Step, which: Literal["least", "longest"]) -> str:
    """A wait of the process in words."""
    wait = step.wait
    if step.name == FREEZE and which == "least":
        return long_span(_least_h(answer, step) or 0.0)
    if wait is None:
        return "its time"
    if wait.weather and which == "least" and answer.spell is not None:
        return f"{long_span(_least_h(answer, step) or 0.0)} in this weather"
    if wait.per_started_g is None:
        return show_duration(wait.least_h if which == "least" else wait.longest_h)
    portion = (
        f"{show_duration(wait.least_h)} for each started {show_weight(wait.per_started_g, answer.question.site.units)}"
    )
    return portion if which == "least" else f"{portion} and {show_duration(wait.longest_h - wait.least_h)} more"


def why_none(answer: Answer) -> tuple[str, ...]:
    """Why there is no plan: the lead-in first where it is what fails, then each coming night."""
    first = [headline_of_none(answer), *lead_in(answer)]
    return tuple(
        sentence(text)
        for text in (
            *first,
            *(f"{nights}: {verdict}{rest}" for nights, verdict, rest in why_each(answer)),
            *freezing_open(answer),
        )
    )


def freezing_open(answer: Answer) -> tuple[str, ...]:
    """How the record of freezing against parasites stands, where no rule is met; else empty."""
    if answer.freezing is None or answer.freezing.settled:
        return ()
    return (f"{FREEZING}: {standing_words(answer.freezing, answer.question.site)}",)


def headline_of_none(answer: Answer) -> str:
    """One sentence for a forecast without a night."""
    nights = answer.nights
    if not nights:
        return "this forecast holds no coming night"
    if len(nights) == 1:
        return _headline_of_one(answer, day_words(nights[0].date))
    if all(night.verdict is Verdict.UNKNOWN for night in nights):
        return f"nothing can be said of {_the_nights(nights)} of this forecast"
    if answer.choice.not_makeable:
        return f"you cannot be ready for any good night among {_the_nights(nights)} of this forecast"
    return f"no good night among {_the_nights(nights)} of this forecast"


def _headline_of_one(answer: Answer, day: str) -> str:
    """The same where one night was asked about, or the forecast holds no other."""
    if answer.nights[0].verdict is Verdict.UNKNOWN:
        return f"nothing can be said of {day} by this forecast"
    if answer.choice.not_makeable:
        return f"{day} is a good night, but you cannot be ready for it"
    return f"{day} is no good night by this forecast"


def _the_nights(nights: Sequence[Night]) -> str:
    return f"the {plural(len(nights), 'coming night')}"


def why_each(answer: Answer) -> tuple[tuple[str, Verdict, str], ...]:
    """What the coming nights fail on, and by how much: nights in a row that share it, their verdict, what follows."""
    groups: list[tuple[list[Night], str]] = []
    for night in answer.nights:
        why = _why_fails(answer, night)
        if groups and groups[-1][1] == why and groups[-1][0][0].verdict is night.verdict:
            groups[-1][0].append(night)
        else:
            groups.append(([night], why))
    return tuple((_from_to(nights), nights[0].verdict, why) for nights, why in groups)


def _why_fails(answer: Answer, night: Night) -> str:
    """What follows the verdict of a night that is not chosen."""
    for other, found in answer.choice.not_makeable:
        if other.date == night.date:
            return f", but cannot be made: {cannot_be_made(answer, found)}."
    return f". {' '.join(map(sentence, night.reasons))}"


def _from_to(nights: Sequence[Night]) -> str:
    """Such as "Sat 17 Oct to Sun 1 Nov"."""
    first, last = day_words(nights[0].date), day_words(nights[-1].date)
    return f"{first} to {last}" if len(nights) > 2 else listed(dict.fromkeys((first, last)))


def lead_in(answer: Answer) -> tuple[str, ...]:
    """When everything could be ready, and from when a night for it can be picked, where that lies past the forecast."""
    choice, question = answer.choice, answer.question
    if isinstance(choice.ready, Infeasible):
        return (f"in no night could everything be ready: {_what_stays_wet(answer, choice.ready)}",)
    ready, zone = datetime.fromtimestamp(choice.ready, UTC), question.site.zone
    if not past_forecast(answer):
        return (f"everything could be ready from {when(ready, zone)}",)
    end = forecast_end(question)
    first = f"everything can be ready from {when(ready, zone)}"
    if end <= question.now:
        return (f"{first}; this forecast ended {when(end, zone)}: take a newer one",)
    pick = ready + question.site.duration_h * HOUR - (end - question.forecast.issued_at)
    picked = f"a night can be picked from {when(pick, zone)}, when a forecast of this length reaches that far"
    if pick <= question.now:
        picked = "a newer forecast of this length reaches that far"
    found = (f"{first}; this forecast ends {when(end, zone)}", picked)
    if not _food_begins_before(answer, pick):
        return found
    food = one_line(question.batch.food)
    return (*found, f"the {food} cannot wait for a night once it is begun: do not start it before a night is picked")


def _food_begins_before(answer: Answer, moment: datetime) -> bool:
    """Whether the food, not begun yet, would be begun before then."""
    first = next((each for each in answer.earliest if each.step.branch != "sawdust"), None)
    return first is not None and not first.done and first.at is not None and first.at < moment


def forecast_end(question: Question) -> datetime:
    """The last hour whose air is known."""
    from scheduler.planning.limits import read_weather

    return datetime.fromtimestamp(read_weather(question.forecast).end, UTC)


def past_forecast(answer: Answer) -> bool:
    """Whether no smoke that could be ready ends before the forecast does."""
    ready, question = answer.choice.ready, answer.question
    if isinstance(ready, Infeasible):
        return False
    return datetime.fromtimestamp(ready, UTC) + question.site.duration_h * HOUR > forecast_end(question)
