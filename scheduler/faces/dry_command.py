"""`dry`: the next spell that dries a tray's worth of sawdust."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.faces import asking

if TYPE_CHECKING:
    from scheduler.service import Question


def dry(
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    weather: asking.Weather = None,
    now: asking.Now = None,
    process: asking.ProcessFile = None,
    away: asking.Away = None,
    journal: asking.JournalFile = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """The next spell that dries a tray's worth of sawdust.

    For example: smokenight dry --sample
    """
    from scheduler.faces import cli
    from scheduler.faces.dry_report import dry_json, dry_report
    from scheduler.service import dry as ask

    answer = ask(_question(asking.Flags(site, sample, weather, now, process, journal, away)))
    if as_json:
        cli.say(cli.dump(dry_json(answer)))
    else:
        cli.say(dry_report(answer, cli.width(), colour=cli.colour()))
    if not answer.dries:
        raise typer.Exit(cli.NO)


def _question(flags: asking.Flags) -> Question:
    """Sawdust that has yet to be soaked."""
    return asking.question(flags, asking.BatchFlags(sawdust="none"))
