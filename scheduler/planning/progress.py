"""How far a batch has come: the steps somebody recorded, held against the order of the process."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from scheduler.errors import BadBatch
from scheduler.household.process import ANCHOR, FREEZE, LIFT
from scheduler.household.toml_file import did_you_mean
from scheduler.planning.clock import HOUR_S, instant, seconds

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from scheduler.household.batch import Batch
    from scheduler.household.process import Process, Step

FROZEN = "frozen"
DRY = "dry"

CHECKS = ("first_check", "last_check")
"""Steps that look whether the tray still burns."""


@dataclass(frozen=True)
class Progress:
    """The recorded steps of one batch; instants in whole seconds since 1970 UTC."""

    process: Process
    at: Mapping[str, float]
    """When each was done, by its name."""
    relit: float | None = None
    """When the tray was last lit again."""

    @property
    def lit(self) -> float | None:
        """When the tray was lit; None before."""
        return self.at.get(ANCHOR)

    @property
    def lifted(self) -> float | None:
        """When the food was lifted out; None before."""
        return self.at.get(LIFT)

    @property
    def fire(self) -> float | None:
        """Since when the tray burns: the last relighting, else the lighting."""
        return self.lit if self.relit is None else self.relit

    @property
    def burnt_h(self) -> float:
        """Hours for which the fire was surely burning before it was lit again: to the last check before that."""
        if self.lit is None or self.relit is None:
            return 0.0
        looks = [self.at[name] for name in CHECKS if name in self.at and self.at[name] < self.relit]
        return (max(looks) - self.lit) / HOUR_S if looks else 0.0

    @cached_property
    def last(self) -> tuple[Step, ...]:
        """Recorded steps before the lighting that no recorded one follows, in order of time."""
        found = [
            step
            for step in self.process.steps
            if step.before and step.name in self.at and not any(s.name in self.at for s in self.way(step))
        ]
        return tuple(sorted(found, key=lambda step: self.at[step.name]))

    def way(self, step: Step) -> list[Step]:
        """The steps from its neighbour on to the lighting: those it leads to, or those it comes from."""
        found: list[Step] = []
        while step.neighbour is not None:
            step = self.process.step(step.neighbour)
            found.append(step)
        return found


def progress_of(process: Process, batch: Batch, now: float) -> Progress:
    """What was recorded, as it can be; BadBatch where it cannot."""
    names = [step.name for step in process.steps]
    for name, at in batch.done:
        if name not in names:
            raise BadBatch(f"done: {name!r} is no step of the process {process.name!r}; {did_you_mean(name, names)}")
        _not_ahead(f"{name} is recorded as done", at, now)
    recorded = Progress(
        process,
        {name: float(round(seconds(at))) for name, at in batch.done},
        None if batch.relit is None else float(round(seconds(batch.relit))),
    )
    for name in recorded.at:
        _check_order(recorded, process.step(name))
    _check_relit(recorded, batch.relit, now)
    return recorded


def _not_ahead(what: str, at: datetime, now: float) -> None:
    if seconds(at) > now:
        raise BadBatch(f"{what} {at.isoformat()}, which lies in the future: nothing is done before it is done")


def _check_order(recorded: Progress, step: Step) -> None:
    """What leads to another is done before it; what comes from another that somebody does, after that was recorded."""
    own = recorded.at[step.name]
    for other in recorded.way(step):
        at = recorded.at.get(other.name)
        if at is None and not step.before and other.household:
            raise BadBatch(
                f"{step.name} is recorded as done, but {other.name}, which comes before it, is not:"
                f" record when {other.name} was done"
            )
        if at is not None and (own > at if step.before else own < at):
            first, then = (step, other) if step.before else (other, step)
            raise BadBatch(
                f"{then.name} is recorded as done {instant(recorded.at[then.name]).isoformat()}, before {first.name},"
                f" {instant(recorded.at[first.name]).isoformat()}; in the process {recorded.process.name!r}"
                f" {first.name} comes first"
            )


def _check_relit(recorded: Progress, said: datetime | None, now: float) -> None:
    """A tray is lit again between its lighting and the lift."""
    relit = recorded.relit
    if relit is None or said is None:
        return
    _not_ahead("the tray is recorded as lit again", said, now)
    if recorded.lit is None or relit < recorded.lit:
        raise BadBatch(f"the tray is recorded as lit again {said.isoformat()}, before it was lit: record the lighting")
    if recorded.lifted is not None and relit > recorded.lifted:
        raise BadBatch(f"the tray is recorded as lit again {said.isoformat()}, after the food was lifted")


def followed(batch: Batch, process: Process) -> Batch:
    """The batch with its state, and since when it is in it, as the recorded steps have it; unchanged without any."""
    at = dict(batch.done)
    if not at:
        return batch
    batch = replace(batch, frozen_since=at.get(FREEZE, batch.frozen_since))
    for step in Progress(process, {name: seconds(when) for name, when in at.items()}).last:
        if step.branch == "sawdust":
            batch = replace(batch, sawdust=step.during or DRY, sawdust_since=at[step.name])
        elif step.name == FREEZE:
            batch = replace(batch, state=FROZEN, since=None)
        elif (named := _names_state(process, step)) is not None and named.during is not None:
            batch = replace(batch, state=named.during, since=at.get(named.name))
    return batch


def _names_state(process: Process, step: Step) -> Step | None:
    """The step itself where it leaves a state, else the nearest one behind it that does."""
    while step.during is None:
        behind = [one for one in process.steps if one.before and one.neighbour == step.name]
        if not behind:
            return None
        step = behind[-1]
    return step
