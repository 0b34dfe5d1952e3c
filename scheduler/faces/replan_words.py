"""What became of an adopted plan, in sentences: what moved, from when to when, and why."""

from __future__ import annotations

from datetime import timedelta
from shlex import quote
from typing import TYPE_CHECKING

from scheduler.faces import why
from scheduler.faces.wording import (
    MINUTE,
    clock,
    day_words,
    long_span,
    one_line,
    percent,
    sentence,
    weekday_clock,
    when,
)
from scheduler.household.process import ANCHOR, LIFT
from scheduler.household.units import show_difference, show_temperature
from scheduler.planning.replan_begin import asked_to_begin
from scheduler.planning.replanned import Cause, Change, State

if TYPE_CHECKING:
    from collections.abc import Iterator
    from zoneinfo import ZoneInfo

    from scheduler.planning.answers import Plan, PlannedStep
    from scheduler.planning.replanned import Moved, Overdue, Replanned
    from scheduler.service import Question

HOUR = timedelta(hours=1)


def headline(found: Replanned, question: Question) -> str:
    """What it comes to, in one sentence, with the name of the batch."""
    return f"{one_line(question.batch.name)}: {told(found, question)}."


def told(found: Replanned, question: Question) -> str:
    """The same, for where the batch is named already."""
    own = {
        Change.UNCHANGED: _unchanged,
        Change.MOVED: _moved,
        Change.PROPOSED: _proposed,
        Change.NO_GO: _no_go,
        Change.LIFT_EARLY: _lift_early,
        Change.LOST: _lost,
    }
    return own[found.change](found, question)


def _unchanged(found: Replanned, question: Question) -> str:
    zone, plan = question.site.zone, found.plan
    if found.state is State.LIFTED or plan is None:
        out = dict(question.batch.done).get(LIFT, found.adopted.lift)
        return f"unchanged; the food is out since {when(out, zone)}"
    if found.state is State.SMOKING and found.lift_by is not None:
        return f"unchanged; it warms: lift by {_lift_by(found, zone)}"
    if found.state is State.SMOKING:
        return f"unchanged; lift {when(plan.at(LIFT), zone)}"
    light, lift = (when(at, zone) for at in (found.adopted.light, found.adopted.lift))
    return f"unchanged; light {light}, lift {lift}{_worth(found)}"


def _moved(found: Replanned, question: Question) -> str:
    zone, plan, before = question.site.zone, found.plan, found.adopted
    if plan is None:
        raise ValueError("what moved has a plan")
    if found.state is State.SMOKING:
        lift = plan.at(LIFT)
        if abs(lift - before.lift) < MINUTE:
            return f"the lift stays, {when(lift, zone)}; other steps have other times"
        return f"the lift moves from {when(before.lift, zone)} to {when(lift, zone)}"
    light = plan.at(ANCHOR)
    if plan.night.date == before.night and abs(light - before.light) < MINUTE:
        return f"the night stays, {day_words(before.night)}; other steps have other times"
    must = "has to move" if found.must else "moves"
    return f"{must} from {when(before.light, zone)} to {when(light, zone)}; lift {when(plan.at(LIFT), zone)}"


def _proposed(found: Replanned, question: Question) -> str:
    better, adopted = found.proposed, day_words(found.adopted.night)
    if better is None:
        return f"{adopted} is kept only if the tray is lit: record it. If it is not, no night is left that it can make"
    if found.plan is None:
        return (
            f"{adopted} can be kept only if what was due is done: record it. If it is not,"
            f" {_light_and_lift(better, question)} is next; `smokenight replan --take` moves it there"
        )
    stays = f"stays on {adopted}"
    points = "" if found.gain is None else f" by {100 * found.gain:.0f} points"
    return (
        f"{stays}, but {day_words(better.night.date)} is better{points}: {_light_and_lift(better, question)};"
        " `smokenight replan --take` moves it there"
    )


def _no_go(found: Replanned, question: Question) -> str:
    if found.wait:
        return f"do not begin yet: {_too_unlikely(found, question)}; look again with the next forecast"
    chance = found.plan.night.chance if found.plan is not None else None
    likely = "" if chance is None else f", it holds with {percent(chance)}"
    return f"do not light on {day_words(found.adopted.night)}{likely}, and no other night in reach is likely enough"


def _too_unlikely(found: Replanned, question: Question) -> str:
    """Of a night that is not worth beginning for."""
    chance = found.plan.night.chance if found.plan is not None else None
    likely = "is too unlikely" if chance is None else f"holds with {percent(chance)}"
    return f"{day_words(found.adopted.night)} {likely}, and {percent(asked_to_begin(question.site))} is asked to begin"


def _lift_early(found: Replanned, question: Question) -> str:
    zone = question.site.zone
    return f"it warms: lift by {_lift_by(found, zone)}, not at {weekday_clock(found.adopted.lift, zone)}"


def _lift_by(found: Replanned, zone: ZoneInfo) -> str:
    """The limit of the weather, or the last moment at home before it."""
    if found.lift_by is None:
        raise ValueError("an early lift has a time")
    lift = found.lift_by if found.plan is None else min(found.lift_by, found.plan.at(LIFT))
    return when(lift, zone)


def _lost(_: Replanned, __: Question) -> str:
    return "no night is left that it can make; `smokenight replan --take` drops the plan"


def _light_and_lift(plan: Plan, question: Question) -> str:
    zone = question.site.zone
    return f"light {when(plan.at(ANCHOR), zone)}, lift {when(plan.at(LIFT), zone)}"


def _worth(found: Replanned) -> str:
    """Its verdict and its chance."""
    chance = found.plan.night.chance if found.plan is not None else None
    return "" if found.verdict is None else f"; {found.verdict}{'' if chance is None else f', {percent(chance)}'}"


def why_moved(found: Replanned, question: Question) -> tuple[str, ...]:
    """Why, in sentences: the change of the weather first; empty where nothing is to be explained."""
    return tuple(sentence(text) for text in _whys(found, question))


def _whys(found: Replanned, question: Question) -> Iterator[str]:
    if found.state is not State.LIFTED:
        yield from _weather(found, question)
    yield from _missed_by_little(found, question)
    if found.wait and found.adopted.committed:
        yield f"{_too_unlikely(found, question)}; it stands because you said so, and what is frozen can wait"
    if found.change is Change.UNCHANGED and not found.must:
        return
    if cause := _cause(found, question):
        yield cause
    if found.is_unanswered and found.proposed is None:
        yield "if it was not lit, `smokenight replan --take` drops the plan"
    if found.change is Change.UNCHANGED:
        yield "that is less than a plan should have, but no other night is in reach; look again with the next forecast"
    night = found.plan.night if found.plan is not None else None
    ahead = found.state not in (State.SMOKING, State.LIFTED)
    if night is not None and ahead and found.change is Change.MOVED and night.date != found.adopted.night:
        chance = "" if night.chance is None else f" with {percent(night.chance)}"
        yield f"{day_words(night.date)} is {night.verdict}{chance}"
    elif night is not None and found.change is Change.NO_GO and not found.wait:
        yield from night.reasons[:1]


def _missed_by_little(found: Replanned, question: Question) -> Iterator[str]:
    """By how much a night that stays is under the floor."""
    night, site = found.plan.night if found.plan is not None else None, question.site
    if night is None or night.low_c is None or found.state is State.LIFTED:
        return
    under_k = site.limits.floor_c - night.low_c
    if under_k > 0.0:
        slack = show_difference(site.policy.floor_slack_k, site.units)
        yield (
            f"its coldest air would be {show_difference(under_k, site.units)} under your floor of"
            f" {show_temperature(site.limits.floor_c, site.units)}; a plan that stands is left from {slack} on"
        )


def _cause(found: Replanned, question: Question) -> str:
    """What besides the weather; empty for that."""
    day = day_words(found.adopted.night)
    if found.blocked is not None:
        return f"{day} cannot be made: {_obstacle(found, question)}"
    if found.cause is Cause.FIRE_OUT and question.batch.relit is not None:
        relit = when(question.batch.relit, question.site.zone)
        return f"the tray was lit again {relit}, and the smoke is as long from there"
    return {
        Cause.HOURS: "nobody is at home at a time of the plan",
        Cause.SHARED: f"another batch has the chamber on {day}",
        Cause.LATE: "what was done, and when, leaves the rest no time as it was planned",
    }.get(found.cause or Cause.WEATHER, "")


def _weather(found: Replanned, question: Question) -> Iterator[str]:
    """Such as "Thu 22 Oct now reaches 16.8 °C at 20:00; 3 days ago it was 13.9 °C"."""
    was, now, site = found.was, found.is_now, question.site
    if was is None or now is None or now.issued_at <= was.issued_at or now.night != was.night:
        return
    ago = long_span((question.now - was.issued_at) / HOUR)
    day = day_words(now.night)
    if now.peak_c is None or now.peak_at is None:
        yield f"of {day} the forecast does not say enough any more"
        return
    reaches = show_temperature(now.peak_c, site.units)
    local = now.peak_at.astimezone(site.zone).date()
    at = clock(now.peak_at, site.zone) if local == now.night else weekday_clock(now.peak_at, site.zone)
    before = None if was.peak_c is None else show_temperature(was.peak_c, site.units)
    if before == reaches:
        told = f"{day} still reaches {reaches}, at {at}"
    else:
        told = f"{day} now reaches {reaches} at {at}" + ("" if before is None else f"; {ago} ago it was {before}")
    yield told + _chances(was.chance, now.chance)


def _chances(was: float | None, now: float | None) -> str:
    """The chance of then and of now, where both are known and not the same."""
    if was is None or now is None or percent(was) == percent(now):
        return ""
    return f". Its chance was {percent(was)} and is {percent(now)}"


def _obstacle(found: Replanned, question: Question) -> str:
    """What leaves the adopted night no time."""
    from scheduler.planning.plan import Choice
    from scheduler.service import Answer, chain_of

    if found.blocked is None:
        raise ValueError("nothing stands in the way")
    chain = chain_of(question)
    answer = Answer(question, found.nights, Choice(None, (), found.blocked), (), chain.freezing, chain.spell)
    return why.cannot_be_made(answer, found.blocked)


def moved_words(moved: Moved, question: Question) -> str:
    """Such as "Salt and sugar: from Wed 21 Oct 12:10 to Thu 22 Oct 12:10"."""
    zone = question.site.zone
    title = one_line(moved.title)
    if moved.now is None:
        return f"{title}: was {when(moved.was, zone)}, left out now"
    return f"{title}: from {when(moved.was, zone)} to {when(moved.now, zone)}"


def overdue_words(overdue: Overdue, question: Question, *, named: bool) -> str:
    """The question whether it was done, and how to answer it; `named` where several batches are open."""
    zone, step = question.site.zone, overdue.planned.step
    due = overdue.was_due.astimezone(zone)
    of = f" --batch {quote(one_line(question.batch.name))}" if named else ""
    left = overdue.planned.leeway
    until = "" if left is None else f" If not, do it by {when(left[1], zone)}."
    return (
        f"Was “{one_line(step.title)}” done? It was due {when(due, zone)}."
        f" If so: smokenight did {step.name}{of} --at {due:%Y-%m-%dT%H:%M}{until and '.'}{until}"
    )


def next_words(plan: Plan | None, question: Question) -> str:
    """What comes next by the plan; empty where nothing does."""
    following = _next(plan)
    if following is None or following.at is None:
        return ""
    return f"{one_line(following.step.title)}, {when(following.at, question.site.zone)}"


def _next(plan: Plan | None) -> PlannedStep | None:
    steps = () if plan is None else plan.steps
    return next((one for one in steps if not one.done and one.at is not None), None)
