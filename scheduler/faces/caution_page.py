"""`cautions`: every caution on one page, with its source and where it applies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.printing import colour, say, width
from scheduler.science.hazards import CAUTIONS, DEFERS, KNOWN, TOPICS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.household.process import Process


def cautions() -> None:
    """Every caution, who says so, and where it applies.

    For example: smokenight cautions | less
    """
    from scheduler.household.process_file import shipped_processes

    say(caution_page(shipped_processes(KNOWN), width(), colour=colour()))


def caution_page(processes: Sequence[Process], width: int, *, colour: bool) -> str:
    """Lines of at most `width` columns."""
    from scheduler.faces.terminal import Page

    page = Page.of(width, colour=colour)
    page.say("Every caution, who says so, and where it applies.", style="strong")
    for topic in TOPICS:
        page.heading(topic.capitalize())
        for key, caution in CAUTIONS.items():
            if caution.topic == topic:
                page.say(caution.text, first="  ")
                page.say(f"source: {caution.source}", first="      ", style="quiet")
                page.say(f"applies: {'; '.join(_where(key, processes))}", first="      ", style="quiet")
    page.gap()
    page.say(DEFERS)
    return page.text()


def _where(key: str, processes: Sequence[Process]) -> list[str]:
    """The processes and steps that name it, and where else it stands."""
    found = []
    for process in processes:
        at = ["throughout"] if key in process.cautions else []
        at += [step.name.replace("_", " ") for step in process.steps if key in step.cautions]
        if at:
            found.append(f"{process.name}: {', '.join(at)}")
    return [*found, *([CAUTIONS[key].where] if CAUTIONS[key].where else [])]
