"""What of its process is behind a batch: by what was recorded, and by what was said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.household.process import FREEZE
from scheduler.planning.progress import DRY, FROZEN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scheduler.household.process import Step
    from scheduler.planning.chain import Chain


@dataclass(frozen=True, slots=True)
class History:
    """Steps by name: those this batch never needs, those behind the last one done, those done and when."""

    not_needed: frozenset[str]
    over: frozenset[str]
    done_at: Mapping[str, float]
    reckoned: frozenset[str]
    """Of those, the ones whose time is reckoned back from the end of their wait: nobody said when they were done."""
    recorded: Mapping[str, float]
    """When steps were done, of those that somebody recorded."""


def history_of(chain: Chain, smoke_h: float) -> History:
    """By the records where there are some, else by the state of food and sawdust."""
    at = chain.progress.at
    sawdust = chain.sawdust_state(chain.fill_g(smoke_h))
    not_needed = _not_needed(chain, sawdust)
    if chain.progress.lit is not None:
        return History(
            not_needed=not_needed,
            over=frozenset(s.name for s in chain.process.steps if s.before) - not_needed,
            done_at={name: when for name, when in at.items() if not chain.process.step(name).before},
            reckoned=frozenset(),
            recorded=at,
        )
    done = _last_done(chain, sawdust)
    over = {s.name for step, _ in done for s in chain.behind(step)} - not_needed
    if FREEZE in at and chain.freezing_h is None:  # it is met, or nobody can say how long it takes
        over.add(FREEZE)
    said = (chain.batch.state, sawdust)
    return History(
        not_needed=not_needed,
        over=frozenset(over),
        done_at={step.name: when for step, when in done if step.name not in over},
        reckoned=frozenset(step.name for step, _ in done if step.after in said and step.name not in at),
        recorded=at,
    )


def _not_needed(chain: Chain, sawdust: str) -> frozenset[str]:
    """Steps this batch never has: by how it began, by its freezing record, by its sawdust; none that was done."""
    # What is frozen first goes on as frozen.
    state = FROZEN if chain.freezing_h is not None or FREEZE in chain.progress.at else chain.batch.state
    found = {s.name for s in chain.process.steps if state in s.skip_if}
    if chain.freezing_h is None:
        found.add(FREEZE)
    if sawdust == DRY:
        found |= {s.name for s in chain.process.steps if s.branch == "sawdust"}
    return frozenset(found) - chain.progress.at.keys()


def _last_done(chain: Chain, sawdust: str) -> list[tuple[Step, float]]:
    """The steps done last, each with the instant its wait counts from: as recorded, else as was said."""
    recorded = [(step, chain.progress.at[step.name]) for step in chain.progress.last if step.name != FREEZE]
    branches = {step.branch for step, _ in recorded}
    said = [
        None if "food" in branches else chain.food_done,
        chain.freezing_done,
        None if sawdust == DRY or "sawdust" in branches else chain.sawdust_done(sawdust),
    ]
    return [*recorded, *(one for one in said if one is not None)]
