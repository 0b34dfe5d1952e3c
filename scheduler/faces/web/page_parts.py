"""What the page tells of one batch: the answer and its figures, the steps with their cautions, what to weigh."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from scheduler.faces import why
from scheduler.faces.calendar_events import not_adopted
from scheduler.faces.called_off import off_words
from scheduler.faces.cautions import caution_sentence
from scheduler.faces.chamber_words import (
    FOOD_HOURS,
    PUBLISHED,
    chamber_words,
    chance_of_what,
    food_words,
    margin_words,
)
from scheduler.faces.chart import MARKS
from scheduler.faces.drying_words import drying_lines, drying_sentences
from scheduler.faces.process_words import smoke_words
from scheduler.faces.under_way_words import batch_words, step_of
from scheduler.faces.web.air_svg import draw
from scheduler.faces.web.leeway_svg import Timeline
from scheduler.faces.web.scene import night_picture
from scheduler.faces.weights import cure_words, sawdust_words
from scheduler.faces.wording import clock, day_words, one_line, percent, sentence, span_list, weekday_clock, when
from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT, SALT
from scheduler.household.units import show_duration, show_temperature, show_weight
from scheduler.planning.progress import followed
from scheduler.science.exposure import CAVEAT

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from zoneinfo import ZoneInfo

    from scheduler.faces.keeping import Told
    from scheduler.planning.answers import Night, Plan, PlannedStep
    from scheduler.service import Answer

BORDERLINE = "The night is borderline: look again before each step."
MOST_GROUPS = 4
UNNAMED = Batch().name


@dataclass(slots=True)
class Cautions:
    """Each caution in full where it first belongs, and by its number wherever it does again."""

    part: str
    """Begins the identifiers of this batch's cautions."""
    told: list[str] = field(default_factory=list)

    def tell(self, keys: Sequence[str]) -> list[tuple[str, int, str]]:
        """Identifier, number and sentence of each; no sentence for what stands further up."""
        found = []
        for key in dict.fromkeys(keys):
            text = "" if key in self.told else caution_sentence(key)
            if text:
                self.told.append(key)
            number = self.told.index(key) + 1
            found.append((f"{self.part}-caution-{number}", number, text))
        return found


def part_of(told: Told, number: int) -> dict[str, object]:
    """Everything about one batch that the template asks for."""
    answer, plan, question = told.answer, told.answer.choice.plan, told.answer.question
    name = f"batch-{number}"
    lifted = answer.under_way is not None and step_of(answer.under_way, LIFT).done
    picture = None if lifted else night_picture(answer, name)
    shown = plan.steps if plan is not None else answer.earliest if why.past_forecast(answer) else ()
    line, cautions = Timeline.of(shown, question.now, question.site.zone), Cautions(name)
    return {
        "id": name,
        "name": "" if question.batch.name == UNNAMED else one_line(question.batch.name),
        "headline": told.headline,
        "notices": [
            *([BORDERLINE] if plan is not None and plan.tentative and not told.against else []),
            *([not_adopted(question.batch)] if _is_open(told) else []),
            *why.freezing_open(answer),
        ],
        "news": list(told.news),
        "picture": "" if picture is None else draw(picture),
        "unit": "" if picture is None else picture.unit,
        "facts": _facts(answer, plan, lifted=lifted),
        "lead": [] if told.unanswered else _lead(answer, plan),
        "each": _each(answer),
        "steps_title": "What to do, and when" if plan is not None else "To be ready at the earliest",
        "leeway": plan is not None and any(planned.spans for planned in plan.steps),
        "axis": line.axis() if plan is not None and not told.unanswered else "",
        "whole": cautions.tell(plan.cautions if plan is not None else question.process.cautions),
        "days": _days(shown, told, line, cautions),
        "beside": _beside(plan, answer),
        "weigh": _weigh(plan, answer),
    }


def _is_open(told: Told) -> bool:
    """Whether there is a plan that nobody has taken on."""
    answer = told.answer
    return answer.choice.plan is not None and answer.under_way is None and answer.question.adopted is None


def _each(answer: Answer) -> list[tuple[str, str, str]]:
    """Nights in a row that fail on the same, where that says more in less than the table of nights."""
    found = () if answer.choice.plan is not None else why.why_each(answer)
    return [(dates, str(verdict), sentence(_rest(text))) for dates, verdict, text in found if len(found) <= MOST_GROUPS]


def _rest(text: str) -> str:
    """What follows a verdict, as a sentence of its own."""
    return text.lstrip(".,: ").removeprefix("but ")


def _lead(answer: Answer, plan: Plan | None) -> list[str]:
    """Why this night, and not an earlier one; or when everything could be ready."""
    if plan is None:
        return [*map(sentence, why.lead_in(answer)), *_drying(answer)]
    told = why.why_this_night(answer)
    if answer.under_way is not None:
        return [*told[1:]]  # the first is the headline
    return [told[0], *why.why_not_made(answer)]


def _drying(answer: Answer) -> Sequence[str]:
    """By when sawdust dries, where no step of a plan says so."""
    if answer.drying is None or not why.past_forecast(answer):
        return ()
    return drying_sentences(answer.drying, answer.question.site.zone)


def _facts(answer: Answer, plan: Plan | None, *, lifted: bool) -> list[tuple[str, str]]:
    """The batch, and the figures of the plan's night as long as the weather counts."""
    question = answer.question
    site, found = question.site, [("batch", _batch_words(answer))]
    if own_smoke := smoke_words(question):
        found.append(("smoke", own_smoke))
    if plan is None or lifted:
        return found
    night = plan.night
    found.append(("night", f"{day_words(night.date)}, {MARKS[night.verdict]} {night.verdict}"))
    if night.chance is not None:
        source = f", {night.chance_from}" if night.chance_from else ""
        found.append(("chance", f"{percent(night.chance)} {chance_of_what(night, site)}{source}"))
    if night.peak_c is not None and night.peak_at is not None:
        at = weekday_clock(night.peak_at, site.zone)
        margin = "" if _is_warm_already(answer, night) else margin_words(night, site)
        air = f"{show_temperature(night.peak_c, site.units)} ({at})"
        found.append(("warmest air", ", ".join(filter(None, (air, margin)))))
    if chamber := chamber_words(night, site):
        found.append(("chamber", chamber))
    return found


def _is_warm_already(answer: Answer, night: Night) -> bool:
    """Whether a smoke under way has its ceiling behind it: a margin below zero would say nothing more."""
    return answer.under_way is not None and night.margin_c is not None and night.margin_c < 0.0


def _batch_words(answer: Answer) -> str:
    """How much of which food, in which state."""
    question = answer.question
    batch, site = followed(question.batch, question.process), question.site
    weight = "" if batch.weight_g is None else f"{show_weight(batch.weight_g, site.units)} of "
    since = "" if batch.since is None else f" since {when(batch.since, site.zone)}"
    state = f"{batch.state}{since}" if answer.under_way is None else batch_words(answer.under_way, site.zone)
    return f"{weight}{one_line(batch.food)}, {state}"


def _days(
    steps: Sequence[PlannedStep], told: Told, line: Timeline, cautions: Cautions
) -> list[tuple[str, list[dict[str, object]]]]:
    """Steps by day, those done at an unknown time first."""
    zone = told.answer.question.site.zone
    upcoming = next((planned for planned in steps if not planned.done), None)
    found: list[tuple[str, list[dict[str, object]]]] = []
    last: date | None = None
    for planned in steps:
        day = None if planned.at is None else planned.at.astimezone(zone).date()
        if not found or day != last:
            found.append(("Before" if day is None else day_words(day), []))
        last = day
        step = _done(planned, zone) if planned.done else _ahead(planned, told, line, cautions)
        step["food"] = "" if step.get("off") else _food(planned, told.answer)
        is_next = planned is upcoming and not step.get("off") and not told.unanswered
        found[-1][1].append({**step, "now": is_next})
    return found


def _done(planned: PlannedStep, zone: ZoneInfo) -> dict[str, object]:
    """One line for what is behind."""
    time = "" if planned.at is None else clock(planned.at, zone)
    return {"done": True, "time": time, "title": one_line(planned.step.title)}


def _ahead(planned: PlannedStep, told: Told, line: Timeline, cautions: Cautions) -> dict[str, object]:
    """A step with everything that one has to know to do it, or that it is not to be done."""
    answer, step = told.answer, planned.step
    plan, zone = answer.choice.plan, answer.question.site.zone
    off = off_words(step, told.off) if told.off else ""
    drying = () if plan is None else drying_lines(plan, step.name, zone)
    return {
        "done": False,
        "time": "" if planned.at is None else clock(planned.at, zone),
        "title": one_line(step.title),
        "fire": step.name in (ANCHOR, LIFT),
        "length": show_duration(step.hands_on_min / 60) if step.hands_on_min > 0 else "",
        "off": off.strip(),
        "leeway": "" if plan is None or off else _leeway(planned, zone),
        "bar": line.bar(planned) if plan is not None and not off else "",
        "texts": list(filter(None, [one_line(step.note), *planned.notes, *drying])),
        "cautions": cautions.tell(step.cautions),
    }


def _food(ends: PlannedStep, answer: Answer) -> str:
    """How long the food is how warm in the stretch that ends with the step; empty where none does."""
    plan = answer.choice.plan
    if plan is None:
        return ""
    sliced = next((one.step.name for one in plan.steps if one.step.neighbour == LIFT and one.step.wait is not None), "")
    stretch = {SALT: "thaw", ANCHOR: "rest", LIFT: "smoke", sliced: "chill"}.get(ends.step.name, "")
    text = food_words(plan, answer.question).get(stretch, "")
    return f"food, {stretch}: {text}" if text else ""


def _beside(plan: Plan | None, answer: Answer) -> tuple[str, ...]:
    """What is published beside those hours."""
    return () if plan is None or not food_words(plan, answer.question) else (FOOD_HOURS, PUBLISHED, CAVEAT)


def _leeway(planned: PlannedStep, zone: ZoneInfo) -> str:
    """When else it can be done; what happens by itself has none."""
    if planned.at is None or not planned.spans or not planned.step.household:
        return ""
    if planned.spans == ((planned.at, planned.at),):
        return "none, only at this time"
    return span_list(planned.spans, zone, planned.at)


def _weigh(plan: Plan | None, answer: Answer) -> list[tuple[str, str]]:
    """Salt, sugar and sawdust; nothing once the tray is lit."""
    if plan is None or answer.under_way is not None:
        return []
    return [*cure_words(plan, answer.question), *sawdust_words(plan, answer.question)]
