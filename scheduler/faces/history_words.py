"""Each kind of record as a person reads it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from scheduler.faces.batch_report import title_of, what_words
from scheduler.faces.wording import one_line, percent, plural, when
from scheduler.household.process import ANCHOR
from scheduler.household.units import show_temperature, show_weight
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from scheduler.household.site import Site
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState, SiteState

    Words = Callable[["Record", "BatchState | None", "Site"], str]


def record_line(record: Record, state: SiteState, site: Site) -> str:
    """What happened, when, and to which batch."""
    batch = next((one for one in state.batches if one.identity == record.batch), None)
    of = "" if batch is None or record.kind is Kind.BATCH_OPENED else f" ({one_line(batch.name)})"
    at = "" if record.kind is Kind.READINGS else f", {when(record.at, site.zone)}"  # a log has a first and a last
    return f"{record_words(record, batch, site)}{at}{of}"


def record_words(record: Record, batch: BatchState | None, site: Site) -> str:
    """What happened, without when."""
    return _WORDS[record.kind](record, batch, site)


def _opened(record: Record, _: BatchState | None, site: Site) -> str:
    return f"{one_line(str(record.body['name']))} opened: {what_words(record, site)}"


def _ended(record: Record, _: BatchState | None, __: Site) -> str:
    words = record.body["words"]
    return f"ended: {record.body['how']}{'' if words is None else f', “{one_line(words)}”'}"


def _done(record: Record, batch: BatchState | None, site: Site) -> str:
    body = record.body
    step = str(body["step"])
    words = step if batch is None else title_of(batch, step)
    if body["weight_g"] is not None:
        words += f", {show_weight(body['weight_g'], site.units)}"
    if body["sawdust_g"] is not None:
        kind = "dry sawdust" if step == ANCHOR else "sawdust left"
        words += f", {show_weight(body['sawdust_g'], site.units)} of {kind}"
    return words


def _relit(_: Record, __: BatchState | None, ___: Site) -> str:
    return "the fire was out; the tray lit again"


def _note(record: Record, _: BatchState | None, __: Site) -> str:
    return f"“{one_line(record.body['words'])}”"


def _reading(record: Record, _: BatchState | None, site: Site) -> str:
    return f"{record.body['where']} {show_temperature(record.body['c'], site.units)}"


def _readings(record: Record, _: BatchState | None, site: Site) -> str:
    body = record.body
    first, last = (when(datetime.fromisoformat(body["times"][at]), site.zone) for at in (0, -1))
    return f"{body['where']} {range_words(body['c'], site)} in {one_line(body['name'])}, {first} to {last}"


def range_words(c: list[float], site: Site) -> str:
    """Such as "9.8 °C to 15.1 °C (48 readings)"."""
    low, high = (show_temperature(value, site.units) for value in (min(c), max(c)))
    return f"{low if low == high else f'{low} to {high}'} ({plural(len(c), 'reading')})"


def _adopted(record: Record, _: BatchState | None, site: Site) -> str:
    firm = ", it stands" if record.body["committed"] else ""
    return f"plan: {plan_words(record.body, site)}{firm}"


def _moved(record: Record, _: BatchState | None, site: Site) -> str:
    body = record.body
    if body["from_light"] == body["light"]:
        return f"plan: the lighting stays, other steps moved; {plan_words(body, site)}{_why(body)}"
    was = when(datetime.fromisoformat(body["from_light"]), site.zone)
    return f"plan moved from {was}: {plan_words(body, site)}{_why(body)}"


def _why(body: Mapping[str, Any]) -> str:
    sentences = " ".join(one_line(text) for text in body["why"])
    return f". {sentences}" if sentences else ""


def plan_words(body: Mapping[str, Any], site: Site) -> str:
    """Such as "light Fri 23 Oct 21:25, lift Sat 24 Oct 09:25; good, 96 %"."""
    light, lift = (when(datetime.fromisoformat(body[key]), site.zone) for key in ("light", "lift"))
    return f"light {light}, lift {lift}; {body['verdict']}{_with(body['chance'])}"


def _dropped(record: Record, _: BatchState | None, __: Site) -> str:
    return f"plan dropped{_why(record.body)}"


def _looked(record: Record, _: BatchState | None, __: Site) -> str:
    return f"looked: {record.body['night']} is better by {record.body['gain']:.2f}"


def _go_told(record: Record, _: BatchState | None, __: Site) -> str:
    chance = record.body["chance"]
    return f"told {'to light after all' if record.body['go'] else 'not to light'}{_with(chance)}"


def _with(chance: float | None) -> str:
    return "" if chance is None else f", {percent(chance)}"


def _logged(record: Record, _: BatchState | None, site: Site) -> str:
    return (
        f"forecast of {record.body['source']}, made {when(datetime.fromisoformat(record.body['issued_at']), site.zone)}"
    )


def _undone(_: Record, __: BatchState | None, ___: Site) -> str:
    return "a record taken back"


_WORDS: dict[Kind, Words] = {
    Kind.BATCH_OPENED: _opened,
    Kind.BATCH_ENDED: _ended,
    Kind.STEP_DONE: _done,
    Kind.RELIT: _relit,
    Kind.NOTE: _note,
    Kind.READING: _reading,
    Kind.READINGS: _readings,
    Kind.PLAN_ADOPTED: _adopted,
    Kind.PLAN_MOVED: _moved,
    Kind.PLAN_DROPPED: _dropped,
    Kind.PLAN_LOOKED: _looked,
    Kind.GO_TOLD: _go_told,
    Kind.FORECAST_LOGGED: _logged,
    Kind.UNDONE: _undone,
}
