"""`dry`: the next spell that dries a tray's worth of sawdust."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from scheduler.faces import asking, options
from scheduler.faces.exit_codes import NO
from scheduler.faces.printing import colour, dump, say, width

if TYPE_CHECKING:
    from scheduler.service import Question


def dry(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    weather: options.Weather = None,
    now: options.Now = None,
    process: options.ProcessFile = None,
    away: options.Away = None,
    journal: options.JournalFile = None,
    as_json: options.Json = False,
) -> None:
    """The next spell that dries a tray's worth of sawdust.

    For example: smokenight dry --sample
    """
    from scheduler.faces.dry_report import dry_json, dry_report
    from scheduler.service import dry as ask

    answer = ask(_question(asking.Flags(site, sample, weather, now, process, journal, away)))
    if as_json:
        say(dump(dry_json(answer)))
    else:
        say(dry_report(answer, width(), colour=colour()))
    if not answer.dries:
        raise typer.Exit(NO)


def _question(flags: asking.Flags) -> Question:
    """Sawdust that has yet to be soaked."""
    return asking.question(flags, asking.BatchFlags(sawdust="none"))
