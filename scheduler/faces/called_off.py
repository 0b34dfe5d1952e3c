"""What of a plan is not to be done by the newest forecast, though the plan still stands: said where it is looked up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.planning.replanned import Change

if TYPE_CHECKING:
    from scheduler.household.process import Step
    from scheduler.planning.replanned import Replanned

NO_GO, NOT_YET = "No go: ", "Not yet: "
"""Before the names of the lighting and what follows, or of the food's steps before it."""


def called_off(found: Replanned) -> str:
    """Which of the two; empty where the plan is to be followed."""
    if found.change is not Change.NO_GO:
        return ""
    return NOT_YET if found.wait else NO_GO


def off_words(step: Step, off: str) -> str:
    """What stands before the step's name; empty where it is to be done."""
    meant = step.before and step.branch == "food" if off == NOT_YET else not step.before
    return off if meant else ""
