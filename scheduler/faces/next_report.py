"""The answer to "which night, and what do I do, and when, to be ready": for people, as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces import why
from scheduler.faces.cautions import say_cautions
from scheduler.faces.chamber_words import chamber_words, chance_of_what, margin_words, say_food_hours
from scheduler.faces.drying_words import drying_sentences
from scheduler.faces.flag_words import with_flags
from scheduler.faces.forecast_lines import say_asked, say_forecast, say_invented
from scheduler.faces.process_words import smoke_words
from scheduler.faces.steps import say_steps
from scheduler.faces.terminal import Page
from scheduler.faces.under_way_words import batch_words, missed_words, under_way_headline
from scheduler.faces.ways_out_words import say_ways_out
from scheduler.faces.weights import say_weights
from scheduler.faces.wording import (
    clock,
    day_words,
    inside,
    one_line,
    percent,
    sentence,
    weekday_clock,
    when,
)
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.units import show_temperature, show_weight
from scheduler.planning.freezing_words import standing_words
from scheduler.planning.progress import followed
from scheduler.science.sun import sun_of_night
from scheduler.service import ways_left

if TYPE_CHECKING:
    from datetime import date
    from zoneinfo import ZoneInfo

    from scheduler.planning.adopted import Adopted
    from scheduler.planning.answers import Night, Plan, PlannedStep
    from scheduler.service import Answer, Question


def next_report(answer: Answer, width: int, *, colour: bool) -> str:
    """Lines of at most `width` columns."""
    page = Page.of(width, colour=colour)
    page.say(headline(answer), style="strong")
    for text in why.freezing_open(answer):
        page.say(with_flags(text), style="borderline")
    if answer.choice.plan is None:
        _say_none(page, answer)
    else:
        _say_plan(page, answer, answer.choice.plan)
    say_forecast(page, answer.question)
    return page.text()


def _say_plan(page: Page, answer: Answer, plan: Plan) -> None:
    if plan.tentative:
        page.say("The night is borderline: look again before each step.", style="borderline")
    say_invented(page, answer.question)
    _say_batch(page, answer)
    if not _is_out(answer):  # else no weather counts
        _say_night(page, answer, plan)
    _say_drying(page, answer)
    _say_not_made(page, answer)
    if answer.under_way is not None and answer.under_way.missed:
        page.gap()
        page.say(sentence(missed_words(answer.under_way)), style="borderline")
    marks = say_steps(page, plan.steps, answer.question, plan.cautions)
    if answer.under_way is None:
        say_weights(page, plan, answer.question)
    say_food_hours(page, plan, answer.question)
    say_cautions(page, marks)


def headline(answer: Answer) -> str:
    """The answer in one sentence."""
    plan = answer.choice.plan
    if plan is None:
        return sentence(why.headline_of_none(answer))
    if answer.under_way is not None:
        return sentence(under_way_headline(answer.under_way, answer.question))
    words = light_and_lift(plan, answer.question.site.zone)
    return sentence(f"tentative: {words}" if plan.tentative else words)


def light_and_lift(plan: Plan, zone: ZoneInfo) -> str:
    """When to light and when to lift."""
    light, lift = _step(plan, ANCHOR), _step(plan, LIFT)
    if light.at is None or lift.at is None:
        raise ValueError("a plan has a lighting and a lift")
    then = f"lift from {weekday_clock(lift.at, zone)}"
    if light.leeway is None or inside(light.leeway)[0] == inside(light.leeway)[1]:
        return f"light on {when(light.at, zone)}; {then}"
    first, last = inside(light.leeway)
    day = day_words(first.astimezone(zone).date())
    until = clock(last, zone) if last.astimezone(zone).date() == first.astimezone(zone).date() else when(last, zone)
    return f"light on {day} between {clock(first, zone)} and {until}, best {clock(light.at, zone)}; {then}"


def _step(plan: Plan, name: str) -> PlannedStep:
    return next(planned for planned in plan.steps if planned.step.name == name)


def _say_batch(page: Page, answer: Answer) -> None:
    """What was asked, and where and when."""
    question, freezing = answer.question, answer.freezing
    batch, site = followed(question.batch, question.process), question.site
    weight = "" if batch.weight_g is None else f"{show_weight(batch.weight_g, site.units)} of "
    since = "" if batch.since is None else f" since {when(batch.since, site.zone)}"
    page.gap()
    state = f"{batch.state}{since}" if answer.under_way is None else batch_words(answer.under_way, site.zone)
    named = "" if batch.identity is None else f"{one_line(batch.name)}, from the journal: "
    page.fact("batch", f"{named}{weight}{one_line(batch.food)}, {state}")
    if freezing is not None and freezing.settled:
        page.fact("frozen", standing_words(freezing, site))
    if own_smoke := smoke_words(question):
        page.fact("smoke", own_smoke)
    if question.adopted is not None and not _is_out(answer):
        page.fact("adopted", _adopted_words(question.adopted, answer))
    page.fact("site", one_line(site.name))
    say_asked(page, question.now, site.zone)


def _is_out(answer: Answer) -> bool:
    """Whether the smoke is over, and with it the plan of its night."""
    return answer.under_way is not None and answer.under_way.planned_lift <= answer.question.now


def _adopted_words(adopted: Adopted, answer: Answer) -> str:
    """The plan that stands, and that this answer is another where it is."""
    zone, plan = answer.question.site.zone, answer.choice.plan
    stands = f"light {when(adopted.light, zone)}, lift {when(adopted.lift, zone)}"
    if answer.under_way is not None or (plan is not None and plan.night.date == adopted.night):
        return stands
    other = "" if plan is None else "; the night below is another one"
    return f"{stands}. That plan stands{other}: `smokenight replan` tells whether it moves."


def _say_night(page: Page, answer: Answer, plan: Plan) -> None:
    """Air, margin, chance, sun, and why this night."""
    question, night = answer.question, plan.night
    zone = question.site.zone
    page.gap()
    page.fact("night", f"{day_words(night.date)}: {page.ink(night.verdict, night.verdict)}")
    if night.peak_c is not None and night.peak_at is not None:
        page.fact("air", _air_words(question, night))
    if chamber := chamber_words(night, question.site):
        page.fact("chamber", chamber)
    if night.margin_c is not None and (answer.under_way is None or night.margin_c >= 0.0):
        page.fact("margin", margin_words(night, question.site))
    if night.chance is not None:
        source = f", {night.chance_from}" if night.chance_from else ""
        page.fact("chance", f"{percent(night.chance)} {chance_of_what(night, question.site)}{source}")
    if answer.under_way is not None:
        page.fact("", "(air, margin and chance are for what is left of the smoke)")
    elif night.looked_at is not None and _step(plan, ANCHOR).at != night.looked_at[0]:
        page.fact("", f"(air, margin and chance are for lighting at {clock(night.looked_at[0], zone)})")
    page.fact("sun", sun_words(night.date, question))
    if answer.under_way is None:
        chosen, _air, _chance, *notes = why.why_this_night(answer)  # air and chance have lines of their own
        page.fact("why", chosen)
    else:
        notes = [sentence(text) for text in night.reasons]
    for note in notes:
        page.fact("", note)


def _say_drying(page: Page, answer: Answer) -> None:
    """By when the sawdust is dry, where it has to dry."""
    if answer.drying is None:
        return
    page.gap()
    first, *more = drying_sentences(answer.drying, answer.question.site.zone)
    page.fact("sawdust", first)
    for text in more:
        page.fact("", text)


def _air_words(question: Question, night: Night) -> str:
    """Warmest and coldest outside air, and when."""
    units, zone = question.site.units, question.site.zone
    if night.peak_c is None or night.peak_at is None:
        raise ValueError("a night with known air has a peak")
    warmest = f"warmest {show_temperature(night.peak_c, units)} ({weekday_clock(night.peak_at, zone)})"
    if night.low_c is None or night.low_at is None:
        return warmest
    at = weekday_clock(night.low_at, zone)
    return f"{warmest}, coldest {show_temperature(night.low_c, units)} ({at})"


def sun_words(night: date, question: Question) -> str:
    """Dusk, solar midnight and dawn; near the poles the first and the last may not be."""
    site = question.site
    sun = sun_of_night(night, site.latitude_deg, site.longitude_deg, site.zone)
    dusk = "no dusk" if sun.dusk is None else f"dusk {weekday_clock(sun.dusk, site.zone)}"
    dawn = "no dawn" if sun.dawn is None else f"dawn {weekday_clock(sun.dawn, site.zone)}"
    return f"{dusk}, solar midnight {weekday_clock(sun.solar_midnight, site.zone)}, {dawn}"


def _say_not_made(page: Page, answer: Answer) -> None:
    """Nights that would do but that nobody can be ready for."""
    found = why.why_not_made(answer)
    if not found:
        return
    page.heading("Nights that cannot be made")
    for text in found:
        page.say(f"  {text}", rest="  ")


def _say_none(page: Page, answer: Answer) -> None:
    """Why there is no plan, and what can be done now."""
    question = answer.question
    say_invented(page, question)
    _say_batch(page, answer)
    page.gap()
    for text in why.lead_in(answer):
        page.say(sentence(text))
    say_ways_out(page, ways_left(question), question.site)
    if answer.nights:
        page.heading("The coming nights")
    for nights, verdict, reason in why.why_each(answer):
        title = f"{page.ink('strong', nights)}: {page.ink(verdict, verdict)}{reason}"
        page.say(title, first="  ", rest="    ")
    if why.past_forecast(answer):
        _say_drying(page, answer)
        whole = question.process.cautions
        marks = say_steps(page, answer.earliest, question, whole, title="To be ready at the earliest", leeway=False)
        say_cautions(page, marks)
