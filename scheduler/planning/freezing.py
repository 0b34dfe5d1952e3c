"""What a batch's freezing record meets, and the freezing that is still ahead of the thaw."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from scheduler.errors import BadBatch
from scheduler.household.process import FREEZE
from scheduler.planning.clock import HOUR_S, seconds
from scheduler.science.parasites import (
    CORE_LAG_H,
    DEFAULT_RULES,
    EU_RULES,
    EXTENSION_14_DAYS,
    Finding,
    Frozen,
    Rule,
    any_met,
    findings,
    shortest_way,
)

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site

CAUTION = "parasites"
"""Key of the caution by which a process without a freezing step still asks for the record."""

FRESH_KEEPS_H = 48.0  # FDA consumer advice, read second hand: raw fish is used or frozen within 2 days
"""Fresh fish is in the freezer within this."""

Standing = Literal["met", "exempt", "unfinished", "fresh", "no_way", "no_record", "too_late"]
"""unfinished: in a freezer in which a rule will be met; fresh: all of the freezing is ahead; no_way: in a freezer in
which none will be; no_record: in a freezer, but nobody said since when and how cold; too_late: thawed without."""


@dataclass(frozen=True, slots=True)
class Freezing:
    """A batch's record against each rule that its site selects."""

    standing: Standing
    found: tuple[Finding, ...]
    """Every rule, in order."""
    recorded: bool
    """Whether both the time and the temperature were said."""
    rule: Rule | None = None
    """The rule to follow where freezing is ahead or under way."""
    since: float | None = None
    """When the freezing under way began, seconds since 1970 UTC; None where it has not."""
    until: float | None = None
    """Until when the record is counted; None for fish that is still in its freezer, or never was."""
    until_told: bool = False
    """Whether somebody said so, and it is not reckoned back from a later step."""

    in_plan: bool = True
    """Whether the process has a step for it."""

    @property
    def settled(self) -> bool:
        """Whether a rule is met, or none is asked for."""
        return self.standing in ("met", "exempt")

    @property
    def needed_h(self) -> float | None:
        """Hours from the start of the freezing to the thaw; None where the plan holds no freezing."""
        return None if self.rule is None or not self.in_plan else self.rule.hold_h + CORE_LAG_H


def freezing_of(site: Site, process: Process, batch: Batch, now: float, left: float | None) -> Freezing | None:
    """The batch's record as it stands now; None for a process that asks for none.

    left: the earliest instant at which the fish can have left the freezer; None while it is in it, or never was.
    Raises BadBatch for a record that cannot be.
    """
    if not _asks(process):
        return None
    if batch.farmed:
        return Freezing("exempt", (), recorded=False)
    rules = (*EU_RULES, EXTENSION_14_DAYS) if site.parasite_rule == "eu" else DEFAULT_RULES
    since = None if batch.frozen_since is None else _since(batch, batch.frozen_since, now)
    record = _record(batch, since, now if left is None else left)
    found = findings(record, rules)
    recorded = bool(record) and record[-1].temp_c is not None
    if any_met(found):
        return Freezing("met", found, recorded, until=left)
    if left is not None:
        return Freezing("too_late", found, recorded, until=left)
    ahead = _ahead(batch, Freezing("no_record", found, recorded), since, rules)
    return replace(ahead, in_plan=any(step.name == FREEZE for step in process.steps))


def _ahead(batch: Batch, unmet: Freezing, since: float | None, rules: tuple[Rule, ...]) -> Freezing:
    """What can still be frozen, and by which rule; without a record it stays as it is."""
    if batch.state == "fresh":
        return replace(unmet, standing="fresh", rule=_whole(batch, rules))
    if not unmet.recorded:
        return unmet
    way = shortest_way(unmet.found)
    if way is None:
        return replace(unmet, standing="no_way", rule=EXTENSION_14_DAYS)
    return replace(unmet, standing="unfinished", rule=way.rule, since=since)


def _asks(process: Process) -> bool:
    """Whether freezing against parasites concerns the food at all."""
    named = (*process.cautions, *(key for step in process.steps for key in step.cautions))
    return CAUTION in named or any(step.name == FREEZE for step in process.steps)


def _since(batch: Batch, frozen_since: datetime, now: float) -> float:
    """The start of the record, as it can be."""
    at, said = seconds(frozen_since), f"--frozen-since {frozen_since.isoformat()}"
    if batch.state == "fresh":
        raise BadBatch(f"{said}: fresh fish has not been frozen; leave it out, or say --fish frozen")
    if at > now:
        raise BadBatch(f"{said} lies in the future; fish cannot be frozen since then")
    if batch.since is not None and at > seconds(batch.since):
        raise BadBatch(f"{said} lies after --since {batch.since.isoformat()}; fish is frozen before it is thawed")
    return at


def _record(batch: Batch, since: float | None, until: float) -> tuple[Frozen, ...]:
    """One stretch at what the freezer shows; none where nobody said since when."""
    if since is None:
        return ()
    return (Frozen(max(until - since, 0.0) / HOUR_S, batch.freezer_c, batch.freezer_measured),)


def _whole(batch: Batch, rules: tuple[Rule, ...]) -> Rule:
    """The shortest way from the start in the freezer as it is said to be; else the one that any home freezer has."""
    way = shortest_way(findings((Frozen(0.0, batch.freezer_c, batch.freezer_measured),), rules))
    return EXTENSION_14_DAYS if way is None else way.rule
