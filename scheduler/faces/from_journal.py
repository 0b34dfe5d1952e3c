"""A batch as the journal has it, in the shapes that the planner asks for."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.household.batch import Batch
from scheduler.household.process import SALT
from scheduler.planning.adopted import Adopted, Look, Past
from scheduler.planning.answers import Verdict

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scheduler.household.process import Process
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState


def process_of(state: BatchState) -> Process:
    """The process that the batch was opened with: the household's own, or the one that ships for its food."""
    from scheduler.faces import asking

    body = state.opened.body
    own = None if body["process"] is None else Path(body["process"])
    return asking.process_of(asking.Flags(None, False, None, None, own), body["food"])


def batch_of(state: BatchState, process: Process) -> Batch:
    """What was said of it at its opening, and what was done since."""
    body = state.opened.body
    known = {step.name for step in process.steps}
    salted_g = next((one.weight_g for one in state.done if one.step == SALT and one.weight_g is not None), None)
    return Batch(
        food=body["food"],
        name=state.name,
        weight_g=body["weight_g"] if salted_g is None else salted_g,
        largest_pack_g=body["largest_pack_g"],
        state=body["state"],
        frozen_since=moment_of(body["frozen_since"]),
        freezer_c=body["freezer_c"],
        freezer_measured=body["freezer_measured"],
        farmed=body["farmed"],
        done=tuple((one.step, one.at) for one in state.done if one.step in known),
        relit=max(state.relit, default=None),
        identity=state.identity,
    )


def moment_of(text: str | None) -> datetime | None:
    """A time as the journal writes it."""
    return None if text is None else datetime.fromisoformat(text)


def adopted_of(record: Record) -> Adopted:
    """The plan in a record that adopts one or moves it."""
    body = record.body
    return Adopted(
        night=date.fromisoformat(body["night"]),
        light=datetime.fromisoformat(body["light"]),
        lift=datetime.fromisoformat(body["lift"]),
        steps={name: datetime.fromisoformat(at) for name, at in body["steps"].items()},
        verdict=Verdict(body["verdict"]),
        chance=body["chance"],
        peak_c=body["peak_c"],
        peak_at=moment_of(body["peak_at"]),
        issued_at=datetime.fromisoformat(body["issued_at"]),
        adopted_at=record.at,
        committed=body["committed"],
        moved_at=moment_of(body["moved_at"]),
    )


def past_of(state: BatchState) -> Past | None:
    """The plan that stands, and what was seen since; None where none stands."""
    if state.plan is None:
        return None
    return Past(adopted_of(state.plan), tuple(_look(record.body) for record in state.looks), state.no_go)


def _look(body: Mapping[str, Any]) -> Look:
    return Look(datetime.fromisoformat(body["issued_at"]), date.fromisoformat(body["night"]), body["gain"])
