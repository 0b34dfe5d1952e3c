"""Open batches in words and as JSON: what each is, what was done last, what comes next."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from scheduler.errors import SchedulerError
from scheduler.faces.from_journal import process_of
from scheduler.faces.terminal import Page
from scheduler.faces.why import step_word
from scheduler.faces.wording import day_words, one_line, when
from scheduler.household.process import EAT_BY, LIFT
from scheduler.household.units import show_temperature, show_weight

if TYPE_CHECKING:
    from scheduler.household.site import Site
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, SiteState

Json = dict[str, Any]

NONE_OPEN = "No batch is open; `smokenight batch new` opens one."


def batches_report(state: SiteState, site: Site, now: datetime, width: int, *, colour: bool) -> str:
    """Every open batch."""
    page = Page.of(width, colour=colour)
    if not state.open:
        page.say(NONE_OPEN)
    for batch in state.open:
        page.gap()
        page.say(one_line(batch.name), style="strong")
        page.fact("what", what_words(batch.opened, site))
        page.fact("opened", when(batch.opened.at, site.zone))
        if batch.done:
            last = batch.done[-1]
            page.fact("done", f"{title_of(batch, last.step)}, {when(last.at, site.zone)}")
        page.fact("night", night_words(batch, site))
        if following := next_step(batch):
            page.fact("next", next_words(batch, following, now, site))
    return page.text()


def batches_json(state: SiteState, site: Site) -> Json:
    """The same for programs."""
    return {"site": site.name, "batches": [_batch_json(batch, site) for batch in state.open]}


def _batch_json(batch: BatchState, site: Site) -> Json:
    body, following = batch.opened.body, next_step(batch)
    return {
        "name": batch.name,
        "identity": batch.identity,
        "food": body["food"],
        "weight_g": body["weight_g"],
        "opened_at": _time(batch.opened.at, site),
        "done": [{"step": one.step, "at": _time(one.at, site)} for one in batch.done],
        "night": None if batch.plan is None else batch.plan.body["night"],
        "next": None if following is None else {"step": following[0], "at": _time(following[1], site)},
    }


def _time(at: datetime, site: Site) -> str:
    return at.astimezone(site.zone).isoformat(timespec="seconds")


def opened_words(record: Record, site: Site) -> str:
    """What was opened, in one or two sentences."""
    return f"{one_line(str(record.body['name']))} is open: {what_words(record, site)}."


def what_words(record: Record, site: Site) -> str:
    """Such as "1.3 kg of salmon, frozen since Sun 20 Sep 24:00 at −20.0 °C, measured"."""
    body = record.body
    weight = "" if body["weight_g"] is None else f"{show_weight(body['weight_g'], site.units)} of "
    text = f"{weight}{one_line(body['food'])}, {body['state']}"
    if body["frozen_since"] is not None:
        text += f" since {when(datetime.fromisoformat(body['frozen_since']), site.zone)}"
    if body["freezer_c"] is not None:
        text += f", freezer at {show_temperature(body['freezer_c'], site.units)}"
        text += "" if body["freezer_measured"] else " by its label"
    return text + (", farmed" if body["farmed"] else "")


def night_words(batch: BatchState, site: Site) -> str:
    """The night that was adopted."""
    if batch.plan is None:
        return "none adopted yet; `smokenight plan` adopts one"
    body = batch.plan.body
    light = when(datetime.fromisoformat(body["light"]), site.zone)
    return f"{day_words(date.fromisoformat(body['night']))}, light {light}"


def next_step(batch: BatchState) -> tuple[str, datetime] | None:
    """The first step of the adopted plan that comes after all that were done; None without one."""
    if batch.plan is None:
        return None
    planned = {name: datetime.fromisoformat(at) for name, at in batch.plan.body["steps"].items()}
    lifted = next((one.at for one in batch.done if one.step == LIFT), None)
    if lifted is not None and LIFT in planned and EAT_BY in planned:  # its days count from the lift as it was
        planned[EAT_BY] += lifted - planned[LIFT]
    branches = _branches(batch)
    past = {branches.get(one.step): planned[one.step] for one in batch.done if one.step in planned}
    done = {one.step for one in batch.done}
    ahead = (
        (name, at)
        for name, at in planned.items()
        if name not in done and (branches.get(name) not in past or at > past[branches.get(name)])
    )
    return min(ahead, key=lambda step: step[1], default=None)


def next_words(batch: BatchState, following: tuple[str, datetime], now: datetime, site: Site) -> str:
    """The next step and its time; a time that is past by now is only what the plan had."""
    name, at = following
    the_plan_had = "; the plan had it" if at < now else ","
    return f"{title_of(batch, name)}{the_plan_had} {when(at, site.zone)}"


def _branches(batch: BatchState) -> dict[str, str]:
    """Which steps are about the food, and which about the sawdust; empty where the process cannot be read any more."""
    try:
        return {step.name: step.branch for step in process_of(batch).steps}
    except SchedulerError:  # a process of one's own that has moved since
        return {}


def title_of(batch: BatchState, name: str) -> str:
    """What a person reads of a step; its word where the process cannot be read any more."""
    try:
        return one_line(process_of(batch).step(name).title)
    except (SchedulerError, KeyError):
        return step_word(name)
